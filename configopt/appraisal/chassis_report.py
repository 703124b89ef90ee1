"""What the chassis designer takes from the packages: centre of gravity, window of the geometry, inertias."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.forces import LEAST_LOAD
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.physics.chassis_window import chassis_window
from configopt.physics.inertia import diametral_inertia, equivalent_mass, gyroscopic_moment
from configopt.physics.loads import GRAVITY
from configopt.quantities import to_unit

#: Rate of lean or steer at which the gyroscopic moment is stated [rad/s]; own convention.
LEAN_RATE = 1.0
#: Ends of what the window is defined for: grade [1], deceleration [m/s2], share of the front load [1], clearance [m].
STEEPEST_GRADE, MOST_DECELERATION, MOST_SHARE, MOST_CLEARANCE = 10.0, 30.0, 0.99, 2.0


def required(model: VehicleModel, key: str) -> float | None:
    """The hardest bound stated on a limit [SI], or nothing."""
    bounds = [bound for bound in model.bounds if bound.limit.key == key]
    if not bounds:
        return None
    values = [bound.required for bound in bounds]
    return max(values) if bounds[0].at_least else min(values)


def chassis_report(appraised: VehicleAppraisal) -> dict[str, Any]:
    """Centre of gravity with the packages, and where wheelbase and centre of gravity may lie with these wheels.

    The window holds for what the scenario asks: its steepest required climb (else its steepest grade), its required
    deceleration at lift-off, its shares of the front load and its break-over angle; what it does not ask is open.
    A demand beyond what the window is defined for counts as the hardest that it is; a window that nothing meets has its
    ends crossed.
    """
    evaluation, model, vehicle = appraised.evaluation, appraised.model, appraised.model.vehicle
    ahead, height = (float(value[0]) for value in evaluation.center_of_gravity())
    radius = {
        p: float(on.loaded_radius(evaluation.side[p].footings, np.maximum(evaluation.level[p], LEAST_LOAD))[0])
        for p in POSITIONS
    }
    climb = required(model, "climb_grade") or max(float(terrain.grade) for terrain in vehicle.terrains)
    slowing = max(required(model, key) or 0.0 for key in ("lift_off_deceleration", "deceleration"))
    least = required(model, "front_load_share") or 0.0
    most = required(model, "front_load_share_most") or 1.0
    window = chassis_window(
        float(vehicle.wheelbase),
        cg_height=height,
        climb_grade=min(climb, STEEPEST_GRADE),
        deceleration=min(slowing * GRAVITY, MOST_DECELERATION),
        front_share_min=min(least, most, MOST_SHARE),
        front_share_max=max(most, 1.0 - MOST_SHARE),
        front_radius=radius["front"],
        rear_radius=radius["rear"],
        breakover_angle=min(required(model, "break_over_angle") or 0.0, 0.5 * math.pi),
        # A chassis that the wheels let down to the ground clears no crest.
        clearance=min(max(float(evaluation.clearance()[0]), 0.0), MOST_CLEARANCE),
    )
    longest = float(window.largest_wheelbase)
    return {
        "cg_from_rear_axle_mm": 1e3 * ahead,
        "cg_height_mm": 1e3 * height,
        "pitch_deg": float(to_unit(evaluation.pitch()[0], "deg")),
        "wheelbase_mm": 1e3 * float(vehicle.wheelbase),
        "asked_climb_percent": 100.0 * climb,
        "asked_deceleration_g": slowing,
        "cg_from_rear_least_mm": 1e3 * float(window.low),
        "cg_from_rear_least_set_by": str(window.low_set_by),
        "cg_from_rear_most_mm": 1e3 * float(window.high),
        "cg_from_rear_most_set_by": str(window.high_set_by),
        "wheelbase_least_mm": 1e3 * float(window.least_wheelbase),
        "wheelbase_least_set_by": str(window.least_set_by),
        "wheelbase_most_mm": 1e3 * longest if math.isfinite(longest) else None,
        "feasible": least <= most and bool(window.open) and float(window.low) <= ahead <= float(window.high),
        **{f"{key}_{p}_{unit}": value for p in POSITIONS for key, unit, value in _inertias(appraised, p)},
    }


def _inertias(appraised: VehicleAppraisal, position: Position) -> list[tuple[str, str, float]]:
    """Of one wheel with its rotor: about its diameter, as mass, and the moment of a leaning wheel."""
    evaluation, model = appraised.evaluation, appraised.model
    side = evaluation.side[position]
    footing = side.footings
    rotors = model.rotors(position) / model.wheels(position)
    spin = footing.inertia + side.wheels.inertia + rotors * side.brakes.inertia
    mass = footing.mass + side.wheels.mass + rotors * side.brakes.mass
    speed = max(float(terrain.speed) for terrain in model.vehicle.terrains)
    values = (
        ("diametral_inertia", "kg_m2", diametral_inertia(spin, mass=mass, width=footing.width)),
        ("equivalent_mass", "kg", equivalent_mass(mass, inertia=spin, radius=footing.radius)),
        ("gyroscopic_moment", "n_m", gyroscopic_moment(spin, wheel_speed=speed / footing.radius, lean_rate=LEAN_RATE)),
    )
    return [(key, unit, float(np.ravel(value)[0])) for key, unit, value in values]
