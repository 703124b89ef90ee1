"""What one vehicle's appraisal says, with the unit in every key: the part that all answers share."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.chassis_report import chassis_report
from configopt.appraisal.climbing import STEEPEST
from configopt.appraisal.conditions_report import in_conditions
from configopt.appraisal.forces import CAUSES, GROUND_CAUSES, LEAST_LOAD, LegResult
from configopt.appraisal.ground_remarks import terrain_remarks
from configopt.appraisal.model import Evaluation, Margin
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_vehicle, creep_verdict
from configopt.appraisal.packages import Package
from configopt.appraisal.tables import WheelTable
from configopt.appraisal.uncertainty import INTERVAL, Spread, Uncertainty, uncertainty
from configopt.appraisal.vehicle import MET, POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.physics.domain import Array
from configopt.physics.loads import GRAVITY
from configopt.physics.spokes import tension_ratio
from configopt.physics.tire import patch_area, patch_length
from configopt.quantities import to_unit
from configopt.scenario.limits import Limit
from configopt.scenario.records import Terrain

#: A limit whose ratio is below this limits the choice: half a percent is less than any figure is known to.
BINDING_RATIO = 1.005
#: Figures beyond this are shown as this; nothing on a vehicle comes near, and JSON knows no infinity.
LARGEST = 1e9
CLIMB_ENDS = ("ground", "motor", "tipping")
#: Keys compared with the baseline.
COMPARED = ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km", "cost")


def finite(value: Any) -> float | None:
    """A number fit for JSON: nothing where it is not a number, infinities clipped.

    >>> finite(2), finite(float("inf")), finite(float("nan"))
    (2.0, 1000000000.0, None)
    """
    number = float(np.ravel(value)[0])
    return None if math.isnan(number) else min(max(number, -LARGEST), LARGEST)


def shown(value: Any, unit: str) -> float | None:
    """An SI value in a trade unit, fit for JSON."""
    number = finite(value)
    return None if number is None else float(to_unit(number, unit))


def package_report(appraised: VehicleAppraisal, position: Position, cost: float) -> dict[str, Any]:
    """One position's package: parts, figures per wheel, mass and cost over all wheels."""
    evaluation, package, model = appraised.evaluation, appraised.packages[position], appraised.model
    side, record, wheel = evaluation.side[position], package.record(), package.wheel
    load = np.maximum(evaluation.level[position], LEAST_LOAD)
    spoked = wheel.rim is not None
    sag = on.firm_deflection(side.footings, load)
    inertia = side.footings.inertia + side.wheels.inertia
    inertia = inertia + side.brakes.inertia * model.rotors(position) / model.wheels(position)
    return {
        "position": position,
        "wheels": model.wheels(position),
        "tire": record.tire,
        "pressure_kpa": float(to_unit(package.pressure, "kPa")),
        "inner": record.inner,
        "rim_lock": record.rim_lock,
        "rim_locks": record.rim_locks,
        "rim": record.rim,
        "spokes": record.spokes,
        "lacing": lacing(record.crossings),
        "disc_wheel": record.disc_wheel,
        "hub": record.hub,
        "rotor": record.rotor,
        "caliper": record.caliper,
        "pad": record.pad,
        "mass_kg": finite(appraised.outcome.package_mass[position]),
        "cost": finite(cost),
        "static_load_n": finite(evaluation.level[position]),
        "unsprung_mass_kg": finite(evaluation.unsprung[position]),
        "loaded_radius_mm": shown(on.loaded_radius(side.footings, load), "mm"),
        "relative_deflection": finite(evaluation.relative_deflection(position)),
        "width_mm": shown(side.footings.width, "mm"),
        "diameter_mm": shown(side.footings.diameter, "mm"),
        "spoke_length_left_mm": shown(wheel.length_left, "mm") if spoked else None,
        "spoke_length_right_mm": shown(wheel.length_right, "mm") if spoked else None,
        "tension_ratio": _tension_ratio(package) if spoked else None,
        "inertia_kg_m2": finite(inertia),
        "creep": creep_verdict(appraised, position),
        "creep_torque_low_n_m": finite(side.footings.bead_torque_low),
        "creep_torque_n_m": finite(side.footings.bead_torque),
        "creep_torque_high_n_m": finite(side.footings.bead_torque_high),
        "peak_torque_n_m": finite(evaluation.peak_torque(position)),
        "patch_length_mm": shown(patch_length(sag, diameter=side.footings.diameter), "mm"),
        "patch_area_cm2": shown(patch_area(sag, width=side.footings.width, diameter=side.footings.diameter), "cm2"),
        "tire_stiffness_kn_m": shown(on.tire_stiffness(side.footings, sag), "kN/m"),
        "tire_lateral_stiffness_kn_m": shown(evaluation.tire_lateral_stiffness(position), "kN/m"),
        "puncture_protection": finite(side.footings.protection),
        **_structure(side.wheels, spoked),
        "names": _names(package),
    }


def _structure(wheels: WheelTable, spoked: bool) -> dict[str, float | None]:
    """The spoked wheel as built to the tension its rim permits; nothing for a disc wheel."""
    figures = {
        "spoke_tension_tight_n": finite(wheels.tension_high),
        "spoke_tension_slack_n": finite(wheels.tension_low),
        "wheel_lateral_stiffness_kn_m": shown(wheels.lateral_stiffness, "kN/m"),
        "wheel_radial_stiffness_kn_m": shown(wheels.radial_stiffness, "kN/m"),
        "first_slack_load_n": finite(wheels.slack_load),
        "first_slack_side_load_n": finite(wheels.slack_side_load),
        "first_slack_torque_n_m": finite(wheels.slack_torque),
        "rim_folding_reserve": finite(wheels.buckling_reserve),
    }
    return {key: value if spoked else None for key, value in figures.items()}


def lacing(crossings: int | None) -> str | None:
    """Crossings as people say them.

    >>> lacing(3), lacing(0), lacing(None)
    ('3-cross', 'radial', None)
    """
    if crossings is None:
        return None
    return f"{crossings}-cross" if crossings else "radial"


def _tension_ratio(package: Package) -> float | None:
    """Tension of the slacker side over that of the tighter one."""
    hub, wheel = package.wheel.hub, package.wheel
    assert hub.flange_offset_left is not None
    assert hub.flange_offset_right is not None
    ratio = float(
        tension_ratio(
            left_offset=float(hub.flange_offset_left),
            right_offset=float(hub.flange_offset_right),
            left_length=wheel.length_left,
            right_length=wheel.length_right,
        )
    )
    return min(ratio, 1.0 / ratio)


def _names(package: Package) -> dict[str, str]:
    mount, wheel, brake = package.mount, package.wheel, package.brake
    parts = {
        "tire": mount.tire,
        "inner": mount.inner,
        "rim_lock": mount.lock,
        "rim": wheel.rim,
        "spokes": wheel.spokes,
        "disc_wheel": wheel.disc_wheel,
        "hub": wheel.hub,
        "rotor": brake.rotor,
        "caliper": brake.caliper,
        "pad": brake.pad,
    }
    return {key: str(part.name) for key, part in parts.items() if part is not None}


def margin_report(margin: Margin, currency: str, spread: Spread | None = None) -> dict[str, Any]:
    """One limit in its own unit; ``ratio`` at least 1 where it is met, and ``binding`` below :data:`BINDING_RATIO`.

    With a spread also the interval of its value, how likely it is missed and the figures that matter most.
    """
    bound, limit = margin.bound, margin.bound.limit
    met = bool(margin.met[0])
    required = float(limit.shown(bound.required))
    raw = None if margin.value is None else finite(margin.value)
    value = None if raw is None else finite(limit.shown(raw))
    ratio: float | None = None
    if value is not None and value > 0.0 and required > 0.0:
        ratio = finite(value / required if bound.at_least else required / value)
        assert ratio is not None
        # What is met within the slack of the definition reads 1, never 0.9999999995.
        ratio = max(ratio, 1.0) if met else min(ratio, 1.0 - MET)
    return {
        "limit": limit.key,
        "terrain": bound.terrain,
        "position": bound.position,
        "value": value,
        "required": required,
        "unit": currency if limit.unit == "currency" else limit.unit,
        "ratio": ratio,
        "met": met,
        "binding": ratio is not None and ratio < BINDING_RATIO,
        **({} if spread is None else _spread_report(spread, limit)),
    }


def _spread_report(spread: Spread, limit: Limit) -> dict[str, Any]:
    """Interval in the limit's unit, share of the draws that miss it, and what moves it most."""
    # A temperature has an origin, a difference of temperatures has none.
    zero = limit.shown(0.0)
    return {
        "low": finite(limit.shown(spread.low)),
        "high": finite(limit.shown(spread.high)),
        "chance_missed": finite(spread.missed),
        "matters_most": [
            {"figure": figure.wording, "moves": finite(limit.shown(moved) - zero)} for figure, moved in spread.matters
        ],
    }


def _uncertainty_report(spread: Uncertainty) -> dict[str, Any]:
    """How the draws were made, and what they make of the energies."""
    return {
        "interval_percent": [100.0 * end for end in INTERVAL],
        "draws": spread.draws,
        "figures": spread.figures,
        "rolling_loss_wh_per_km": _energy_spread(spread.rolling_loss),
        "energy_wh_per_km": _energy_spread(spread.energy),
    }


def _energy_spread(spread: Spread) -> dict[str, Any]:
    return {
        "low": shown(spread.low, "Wh/km"),
        "high": shown(spread.high, "Wh/km"),
        "matters_most": [
            {"figure": figure.wording, "moves": shown(moved, "Wh/km")} for figure, moved in spread.matters
        ],
    }


def sum_of(values: Iterable[Array]) -> Array:
    """Sum of arrays."""
    return np.asarray(np.sum(np.array(list(values)), axis=0))


def _mean(legs: list[LegResult], values: list[Array]) -> Array:
    """Mean over the directions of a terrain, by distance."""
    total = sum(leg.leg.share for leg in legs)
    return np.asarray(sum(leg.leg.share * value for leg, value in zip(legs, values, strict=True)) / total)


def terrain_report(appraised: VehicleAppraisal, terrain: Terrain) -> dict[str, Any]:
    """One terrain: energies per kilometre ridden on it (mean of its directions), the rest in its hardest direction."""
    evaluation = appraised.evaluation
    legs = [leg for leg in appraised.outcome.legs if leg.leg.terrain.name == terrain.name]
    soft = legs[0].leg.ground.soft
    causes = {cause: shown(_mean(legs, [leg.battery[cause] for leg in legs]), "Wh/km") for cause in CAUSES}
    energy = _mean(legs, [sum_of(leg.battery.values()) for leg in legs])
    lost = _mean(legs, [sum_of(leg.wheel[cause] for cause in GROUND_CAUSES) for leg in legs])
    passable = all(bool(leg.passable[0]) for leg in legs)
    if soft:
        passable &= all(bool(evaluation.sinkage_reserve(terrain.name, p, legs)[0] >= 1.0 - MET) for p in POSITIONS)
    grade, ended_by = evaluation.climb_grade(terrain.name)
    steepest = float(np.arctan(grade[0])) >= STEEPEST * (1.0 - 1e-9)

    def worst(what: str, position: Position) -> Array:
        return evaluation.worst_over_legs(terrain.name, position, what, legs)

    return {
        "name": terrain.name,
        "share": float(terrain.share),
        "energy_wh_per_km": shown(energy, "Wh/km"),
        "passable": passable,
        "remarks": terrain_remarks(evaluation, legs),
        "rolling_loss_wh_per_km": shown(lost, "Wh/km"),
        "energy_by_cause_wh_per_km": causes,
        "slip_percent": shown(np.max([leg.slip for leg in legs], axis=0), "%") if soft else None,
        "sinkage_front_mm": shown(worst("sinkage", "front"), "mm") if soft else None,
        "sinkage_rear_mm": shown(worst("sinkage", "rear"), "mm") if soft else None,
        "ground_pressure_front_kpa": shown(worst("ground_pressure", "front"), "kPa"),
        "ground_pressure_rear_kpa": shown(worst("ground_pressure", "rear"), "kPa"),
        "roughness_class": legs[0].leg.ground.surface.roughness_class,
        **{
            f"{key}_{position}{unit}": value
            for position in POSITIONS
            for key, unit, value in _contact(evaluation, legs, position)
        },
        "strike_margin_front": _strike(evaluation, terrain, "front"),
        "strike_margin_rear": _strike(evaluation, terrain, "rear"),
        "deceleration_g": finite(evaluation.deceleration(terrain.name) / GRAVITY),
        "side_slope_percent": shown(evaluation.side_slope(terrain.name), "%"),
        "step_height_mm": shown(evaluation.step_height(terrain.name), "mm"),
        "climb_grade_percent": shown(grade, "%"),
        "climb_limited_by": None if steepest else CLIMB_ENDS[int(ended_by[0])],
    }


def _contact(evaluation: Evaluation, legs: list[LegResult], position: Position) -> list[tuple[str, str, float | None]]:
    """Contact on rough ground, in the harder direction; nothing on smooth ground or without a suspension."""
    known = legs[0].leg.ground.figures.roughness > 0.0
    known = known and not getattr(evaluation.vehicle, position).suspension.rigid
    terrain = legs[0].leg.terrain.name

    def worst(name: str) -> float | None:
        return finite(evaluation.worst_contact(terrain, position, name, legs)) if known else None

    share = worst("off_ground_share")
    return [
        ("dynamic_load", "", worst("dynamic_load_ratio")),
        ("time_off_ground", "_percent", None if share is None else 100.0 * share),
        ("ride_acceleration", "_m_s2", worst("ride_acceleration")),
    ]


def _strike(evaluation: Evaluation, terrain: Terrain, position: Position) -> float | None:
    return finite(evaluation.strike_margin(terrain.name, position)) if terrain.obstacles else None


def _running_cost(appraised: VehicleAppraisal) -> float | None:
    """Tires, pads and rotors worn off in 1,000 km [currency]; nothing where a tire states no life."""
    cost = float(appraised.outcome.bought.running_cost[0])
    return finite(1e6 * cost) if math.isfinite(cost) else None


def figures(appraised: VehicleAppraisal) -> dict[str, Any]:
    """The figures that are compared with the baseline."""
    outcome = appraised.outcome
    reach = float(appraised.model.vehicle.battery_energy) / np.maximum(outcome.energy, 1e-3)
    return {
        "mass_kg": finite(outcome.packages_mass),
        "rolling_loss_wh_per_km": shown(outcome.rolling_loss, "Wh/km"),
        "energy_wh_per_km": shown(outcome.energy, "Wh/km"),
        "range_km": shown(reach, "km"),
        "cost": finite(outcome.cost),
    }


def against_baseline(appraised: VehicleAppraisal, mine: dict[str, Any]) -> dict[str, Any] | None:
    """Differences to today's packages (this choice less today's) and today's own figures."""
    today = appraised.today
    if not isinstance(today, VehicleAppraisal):
        return None
    theirs = figures(today)
    limits = []
    as_stated = {margin.bound.scope for margin in today.unmet if margin.bound.condition is None}
    for margin in today.unmet:
        bound = margin.bound
        if bound.condition and bound.scope in as_stated:
            continue
        limits.append(
            bound.limit.key
            + (f", {bound.position}" if bound.position else "")
            + (f" on {bound.terrain}" if bound.terrain else "")
            + (f" ({bound.condition})" if bound.condition else "")
        )
    return {
        **{key: mine[key] - theirs[key] for key in COMPARED},
        "baseline": {
            **theirs,
            "limits_not_met": limits,
            "misfits": [f"{position}: {text}" for position, text in today.misfits],
        },
    }


def report(appraised: VehicleAppraisal, *, sure: bool = True) -> dict[str, Any]:
    """One vehicle's part of an answer; without ``sure`` it does not say how sure its margins are."""
    model, outcome, evaluation = appraised.model, appraised.outcome, appraised.evaluation
    vehicle, currency = model.vehicle, model.catalog.currency
    own, costs = figures(appraised), appraised.package_costs()
    spread = uncertainty(appraised) if sure else None
    margins = _margins(appraised, spread)
    others = [_margins(one, uncertainty(one) if sure else None) for one in appraised.others]
    return {
        "name": vehicle.name,
        "final_drive": vehicle.drive.final_drives[appraised.drive].id,
        **own,
        "currency": currency,
        "energy_by_cause_wh_per_km": {cause: shown(outcome.energy_by_cause[cause], "Wh/km") for cause in CAUSES},
        "terrains": [terrain_report(appraised, terrain) for terrain in vehicle.terrains],
        "packages": [package_report(appraised, position, costs[position]) for position in POSITIONS],
        "margins": margins,
        "uncertainty": None if spread is None else _uncertainty_report(spread),
        "against_baseline": against_baseline(appraised, own),
        "trail_mm": shown(evaluation.trail_length(), "mm"),
        "ground_clearance_mm": shown(evaluation.clearance(), "mm"),
        "top_speed_km_h": shown(evaluation.top_speed(), "km/h"),
        "lift_off_deceleration_g": finite(evaluation.lift_off()),
        "front_load_share_percent": shown(evaluation.front_load_share(), "%"),
        "break_over_angle_deg": shown(evaluation.break_over_angle(), "deg"),
        "steering_moment_n_m": finite(evaluation.steering_moment()),
        "lateral_stability": finite(evaluation.lateral_stability()) if vehicle.kind == "quad" else None,
        "running_cost_per_1000_km": _running_cost(appraised),
        "chassis": chassis_report(appraised),
        **in_conditions(appraised, [margins, *others], [own, *map(figures, appraised.others)]),
    }


def _margins(appraised: VehicleAppraisal, spread: Uncertainty | None) -> list[dict[str, Any]]:
    """Every limit in one condition."""
    margins = appraised.outcome.margins
    spreads = [None] * len(margins) if spread is None else spread.margins
    currency = appraised.model.catalog.currency
    return [margin_report(margin, currency, one) for margin, one in zip(margins, spreads, strict=True)]


def vehicle_report(model: VehicleModel, packages: dict[Position, Package], drive_index: int) -> dict[str, Any]:
    """One vehicle's part of an answer, from its packages.

    Parameters
    ----------
    model : the vehicle
    packages : of both positions
    drive_index : number of the final drive in the vehicle's list

    Returns
    -------
    dict
        An entry of ``vehicles``: figures, causes, terrains, packages, margins and the difference to the baseline.

    Raises
    ------
    UsageError
        Parts that cannot be put together.
    """
    return report(appraise_vehicle(model, packages, drive_index))
