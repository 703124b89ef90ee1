"""Models of energy, range, cost and uncertainty."""

from __future__ import annotations

from configopt.appraisal.model_record import Cited, Model
from configopt.appraisal.models_ground import RESISTING

_BALANCE = Cited(None, "Energy balance: a force is an energy per distance, 1 Wh/km = 3.6 N.")
_STEADY = "steady riding plus the stated stops, no wind"
_SUMMED = "per kilometre of the terrain, mean of its directions by distance"

ENERGY_MODELS: tuple[Model, ...] = (
    Model(
        key="wheel_energy",
        subject="energy",
        quantity="energy per distance that the resistance of the wheels takes on a terrain",
        formula="E = n_f R_f + n_r R_r (1 Wh/km = 3.6 N), mean of the directions by distance; R resistance of one "
        "wheel, n wheels",
        sources=(_BALANCE,),
        validity=_STEADY,
        assumed=RESISTING,
        estimates="those of the resistances; without slip the guard bands of light two-wheelers hold",
        functions=("appraisal.forces.Forces.resistances",),
    ),
    Model(
        key="slip_energy",
        subject="energy",
        quantity="energy per distance that slip takes on soft ground",
        formula="E = F i/(1 - i), mean of the directions by distance; F thrust of all driven wheels, i slip",
        sources=(Cited("wong_2008", "Chapter 2, thrust and slip."), _BALANCE),
        validity="slip up to 0.6; on dry sand rather high",
        assumed=RESISTING,
        estimates="those of thrust and slip",
        not_modelled="slip on firm ground",
        functions=("physics.grip.slip_loss_force",),
        checks=("test_wong_2008",),
    ),
    Model(
        key="grade_energy",
        subject="energy",
        quantity="energy per distance for height, as far as the ride does not give it back",
        formula="E = m g sin t + x, mean of the directions by distance; x what brakes and regeneration take downhill",
        sources=(_BALANCE,),
        validity=_STEADY,
        assumed=RESISTING,
        estimates="those of the resistances, which decide what is left downhill",
        functions=("appraisal.forces.Forces.ride",),
    ),
    Model(
        key="air",
        subject="energy",
        quantity="air drag",
        formula="F = rho C_d A V^2/2, rho = p/(R T), p of the standard atmosphere at the altitude, R = 287.05 J/(kg K)",
        sources=(
            Cited("us_standard_atmosphere_1976", "Equation 33a, from memory."),
            Cited("iso_2533_1975", "Clause 2."),
            Cited("urone_2012", "Section 5.2, drag."),
        ),
        validity="below 11 km, dry still air",
        not_modelled="wind, humidity, posture",
        functions=("physics.air.drag_force", "physics.air.air_density"),
        checks=("test_us_standard_atmosphere_1976", "test_urone_2012"),
    ),
    Model(
        key="stop_and_go",
        subject="energy",
        quantity="energy per distance for starting again after stops",
        formula="E = N (m + sum I/R^2) V^2/2; N stops per distance",
        sources=(Cited("urone_2012", "Kinetic energy."), Cited("cossalter_2006", "Equivalent mass, from memory.")),
        validity="full stops from the terrain's speed; nothing recovered",
        not_modelled="regeneration while stopping, resistance while slowing",
        functions=("appraisal.forces.Forces.ride",),
    ),
    Model(
        key="drivetrain",
        subject="energy",
        quantity="energy per distance lost in motor and drive",
        formula="E = (max(F, 0) + E_stops)(1/(eta_m eta_d) - 1), mean of the directions by distance; F traction",
        sources=(_BALANCE,),
        validity="one efficiency for all loads",
        assumed=RESISTING,
        estimates="those of the resistances",
        not_modelled="efficiency over load and speed, idle losses",
        functions=("appraisal.forces.Forces.ride",),
    ),
    Model(
        key="regeneration",
        subject="energy",
        quantity="energy per distance that regeneration gives back",
        formula="E = - eta min(-F, T i/R, F_grip), mean of the directions by distance; F traction downhill, T motor "
        "torque for regeneration, i ratio, R loaded radius",
        sources=(_BALANCE,),
        validity="downhill at steady speed, as far as the driven wheels grip",
        assumed=RESISTING,
        estimates="those of the resistances",
        not_modelled="a full battery, regeneration at stops",
        functions=("appraisal.forces.Forces.ride",),
    ),
    Model(
        key="rolling_loss",
        subject="energy",
        quantity="energy per distance at the wheels lost to the ground",
        formula="rolling + soft ground + roughness + obstacles + slip; of the mix: sum of share x terrain",
        sources=(_BALANCE,),
        validity=_SUMMED,
        assumed=RESISTING,
        estimates="absolute figures are good to about +-40 % until learned from a coast-down; differences are better",
        functions=("appraisal.model.Evaluation.outcome",),
    ),
    Model(
        key="energy",
        subject="energy",
        quantity="energy per distance from the battery",
        formula="sum of the ten causes; of the mix: sum of share x terrain",
        sources=(_BALANCE,),
        validity=_SUMMED,
        assumed=RESISTING,
        estimates="absolute figures are good to about +-40 % until learned from a coast-down; differences are better",
        not_modelled="electronics, lights, heating, self-discharge",
        functions=("appraisal.model.Evaluation.outcome",),
    ),
    Model(
        key="range",
        subject="energy",
        quantity="range on the terrain mix",
        formula="usable energy of the battery/energy per distance",
        sources=(_BALANCE,),
        validity="a battery at its stated usable energy",
        assumed=RESISTING,
        estimates="those of the energy",
        not_modelled="cold, age, load of the battery",
        functions=("appraisal.model.Evaluation.value",),
    ),
    Model(
        key="uncertainty",
        subject="energy",
        quantity="how sure a figure and a margin are",
        formula="every uncertain catalog figure (normal, cut at 3 standard uncertainties) and assumed figure "
        "(triangular over its range) drawn together through the full model; 5 and 95 % of the draws",
        sources=(Cited(None, "Monte Carlo on a scrambled Sobol sequence with a fixed seed."),),
        validity="figures independent of each other; the scenario's own figures stand as given",
        estimates="standard uncertainty by the grade of the source where none is stated; all ranges of assumed figures",
        not_modelled="what the models themselves leave out",
        functions=("appraisal.uncertainty.uncertainty",),
    ),
)

COST_MODELS: tuple[Model, ...] = (
    Model(
        key="cost",
        subject="cost",
        quantity="cost of the packages of one vehicle, with its final drive",
        formula="sum over the parts of (bought x unit price + one-off cost)/vehicles + final drive; bought and unit "
        "price of the tier that is cheapest for the need, at least the minimum order; a part of both ends is one order",
        sources=(Cited("render_quantitative", "Inventory, quantity discounts on all units."),),
        validity="the stated number of vehicles",
        not_modelled="stock, freight, assembly, taxes",
        functions=("physics.cost.tier_cost", "appraisal.costs.CostBook"),
        checks=("test_render_quantitative",),
    ),
    Model(
        key="running_cost",
        subject="cost",
        quantity="tires, pads and rotors worn off in 1,000 km",
        formula="sum over tires, pads and rotors of (cost per vehicle - one-off cost/vehicles) x 1000 km/life; shown "
        "as 1,000,000 where a tire states no life",
        sources=(Cited(None, "Lives of the catalog."),),
        validity="lives as stated; pads and rotors without a stated life are left out",
        estimates="lives of tread, pads and rotors",
        not_modelled="labour, damage, chain and bearings",
        functions=("appraisal.parts.orders",),
    ),
    Model(
        key="lead_time",
        subject="cost",
        quantity="latest delivery of any part",
        formula="largest of all lead times",
        sources=(Cited(None, "Lead times of the catalog."),),
        validity="all ordered on one day",
        not_modelled="stock",
        functions=("appraisal.parts.orders",),
    ),
)
