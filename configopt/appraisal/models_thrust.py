"""Models of grip, thrust, slip, climbs and slopes."""

from __future__ import annotations

from configopt.appraisal.model_record import Cited, Model
from configopt.appraisal.models_ground import CASING, RESISTING, SOIL_RANGE

THRUST_MODELS: tuple[Model, ...] = (
    Model(
        key="grip",
        subject="ground",
        quantity="largest friction force of one wheel on firm ground",
        formula="F = mu y W (W/W_ref)^(m-1) ((q + q_c)/p_ref)^(-s); mu friction of the surface for the tread, y grip "
        "factor of the tire",
        sources=(
            Cited("milliken_1995", "Chapter 2, load sensitivity, figure 2.9 (form)."),
            Cited(None, "Friction of surfaces: as the catalog cites it."),
        ),
        validity="given surface and group of treads, loads near the reference",
        assumed=("carcass_share",),
        estimates="pressure exponent s (0 on pavement to 0.25), grip factors of tires, friction of surfaces as graded",
        not_modelled="speed, temperature, slip on firm ground, combined side and thrust force",
        functions=("physics.grip.friction_force",),
        checks=("test_milliken_1995", "test_berto", "test_noon_1994", "test_wong_1993"),
    ),
    Model(
        key="soil_thrust",
        subject="ground",
        quantity="thrust of one driven wheel at full shear of the soil",
        formula="H = A c_0 (1 + y 2 h/w) + W tan phi (1 + y 0.64 (h/w) arccot(h/w)), A = W/p; c_0 cohesion, h lug "
        "depth, y open share of the tread (0 where mud packs it), p ground pressure",
        sources=(
            Cited("wong_2008", "Chapter 2, maximum thrust."),
            Cited("bekker_1956", "Thrust of a track with lugs, from memory."),
        ),
        validity=SOIL_RANGE,
        assumed=("carcass_share",),
        estimates=f"open share of the tread scales the lugs; {CASING}",
        not_modelled="soil between the lugs that turns with the wheel, rate of shear",
        functions=("physics.grip.maximum_thrust", "physics.grip.grouser_factors"),
        checks=("test_wong_2008", "test_bekker_1956", "test_dwyer_1974"),
    ),
    Model(
        key="slip",
        subject="ground",
        quantity="travel slip on soft ground",
        formula="F = H (1 - K/(i l) (1 - exp(-i l/K))) solved for i; F thrust asked of one wheel, H thrust at full "
        "shear, K shear modulus, l = W/(p w) patch length; it costs i/(1 - i) F",
        sources=(
            Cited("janosi_hanamoto_1961", "Shear stress over displacement."),
            Cited("wong_2008", "Chapter 2, thrust and slip under uniform pressure."),
        ),
        validity="slip up to 0.6, beyond it the ground counts as impassable",
        assumed=RESISTING,
        estimates="slip limit 0.6",
        not_modelled="slip on firm ground, slip sinkage; a short patch of a soft wide tire slips more than it might",
        functions=("physics.grip.slip_for_thrust", "physics.grip.slip_loss_force"),
        checks=("test_wong_2008", "test_janosi_hanamoto_1961"),
    ),
    Model(
        key="terrain_resistance",
        subject="ground",
        quantity="force that a terrain asks of the driven wheels",
        formula="F = rolling + soft ground + roughness + obstacles + m g sin t + air; the hardest direction",
        sources=(Cited(None, "Balance of forces."),),
        validity="steady speed",
        assumed=RESISTING,
        estimates="those of its parts",
        functions=("appraisal.forces.Forces.ride",),
    ),
    Model(
        key="thrust_reserve",
        subject="ground",
        quantity="thrust that the ground gives over the resistance of the terrain",
        formula="soft: n H (1 - K/(i l)(1 - exp(-i l/K)))/F at i = 0.6; firm: n F_grip (1 - m (1 - m) r^2/2)/F, r rms "
        "change of the load over the load; n driven wheels, F resistance in the hardest direction",
        sources=(
            Cited("wong_2008", "Chapter 2, thrust and slip."),
            Cited(None, "Mean of W^m over a varying load: own derivation."),
        ),
        validity="r up to a third",
        assumed=RESISTING,
        estimates="slip limit 0.6",
        functions=("physics.grip.slip_fraction", "physics.rough_ride.contact_grip_factor"),
        checks=("test_wong_2008",),
    ),
    Model(
        key="drive_reserve",
        subject="ground",
        quantity="thrust that the motor gives at the terrain's speed over the resistance of the terrain",
        formula="min(M i eta/R, P eta/V)/F; M, P motor torque and power, i ratio, eta efficiency of the drive, R "
        "loaded radius, V speed",
        sources=(Cited(None, "Balance of torque and power."),),
        validity="short-time torque and power of the motor",
        assumed=RESISTING,
        not_modelled="heat of motor and battery, field weakening between torque and power",
        estimates="those of the resistance",
        functions=("appraisal.climbing.Climbing.drive_reserve",),
    ),
    Model(
        key="climb",
        subject="ground",
        quantity="steepest grade that can be climbed",
        formula="the grade at which min(T_ground, T_motor) = R + m g sin t, or at which the front lifts, tan t = b/h, "
        "whichever is less; T, R at the loads of that grade, slip 0.4, walking pace (2 m/s), no obstacles; "
        "between 0 and 1.05 rad",
        sources=(
            Cited("cossalter_2006", "Tip-over on a grade, from memory."),
            Cited("wong_2008", "Chapter 2, thrust (soft ground)."),
            Cited(None, "Statics."),
        ),
        validity="steady climb, straight up",
        assumed=("carcass_share", "rolling_exponent", "rut_factor"),
        estimates="slip of 0.4 and pace of a climb",
        not_modelled="run-up, the rider's moving about, roughness",
        functions=(
            "appraisal.climbing.Climbing.climb_grade",
            "physics.grip.maximum_thrust",
            "physics.loads.axle_loads",
            "physics.chassis.wheelie_grade",
        ),
        checks=("test_ansi_svia_1", "test_wong_2008", "test_limpert_2008"),
    ),
    Model(
        key="step",
        subject="ground",
        quantity="highest step that the driven wheel climbs from rest by its own grip",
        formula="h = R (1 - 1/sqrt(1 + mu^2)), mu = F_grip/W under the static load",
        sources=(Cited(None, "Statics: the contact force stays inside the friction cone."),),
        validity="rigid wheel at rest, nothing pushes",
        assumed=("carcass_share",),
        estimates="those of the grip",
        not_modelled="run-up, push of the other wheel, the tire's yielding to the edge",
        functions=("physics.obstacles.step_limit_height",),
    ),
    Model(
        key="side_slope",
        subject="ground",
        quantity="side slope that can be crossed without sliding or tipping",
        formula="the least of F/W front and rear, and for a quad the static lateral stability; F grip, or on soft "
        "ground the thrust at full shear, under the static load W",
        sources=(
            Cited("ansi_svia_1", "Lateral stability of quads, from memory."),
            Cited(None, "Statics: the tangent of the slope is the side force over the load."),
        ),
        validity="wheels that roll freely; both axles at their level loads",
        assumed=("carcass_share",),
        estimates="grip sideways as lengthways",
        not_modelled="drive or brake force at the same time, load transfer across the track, suspension",
        functions=("physics.chassis.lateral_stability_coefficient", "physics.grip.friction_force"),
        checks=("test_ansi_svia_1", "test_milliken_1995"),
    ),
)
