"""What went into the masses, and what the wheels do to the vehicle."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.explain_tire import firm_patch_area
from configopt.appraisal.explain_wheel import lock_mass_of, spoke_mass_of, wheel_inertia
from configopt.appraisal.explained import Input, Place, Reading, Rule, at, both_ends, given, nowhere, once
from configopt.appraisal.vehicle import POSITIONS


def _mass(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    package = reading.appraised.packages[position]
    wheel, brake = package.wheel, package.brake
    found = [
        given("tire", package.mount.tire.mass, "kg"),
        given("inner", package.mount.inner.mass, "kg"),
        given("rim locks of one wheel", lock_mass_of(package), "kg"),
    ]
    if wheel.disc_wheel is not None:
        found.append(given("disc wheel", wheel.disc_wheel.mass, "kg"))
    if wheel.rim is not None and wheel.spokes is not None:
        found += [
            given("rim", wheel.rim.mass, "kg"),
            given("spokes of one wheel", spoke_mass_of(package), "kg"),
            given("nipples of one wheel", wheel.rim.holes * float(wheel.spokes.nipple_mass), "kg"),
        ]
    return [
        *found,
        given("hub", wheel.hub.mass, "kg"),
        given("rotor", brake.rotor.mass, "kg"),
        given("caliper", brake.caliper.mass, "kg"),
        given("pads", brake.pad.mass, "kg"),
        given("wheels", reading.model.wheels(position), "pieces"),
        given("rotors", reading.model.rotors(position), "pieces"),
    ]


def _rotating(reading: Reading, place: Place) -> Iterable[Input]:
    found = []
    for position in POSITIONS:
        found += [
            given(f"inertia of one wheel {position}", wheel_inertia(reading, position), "kg m2"),
            given(f"radius {position}", reading.footing(position).radius, "mm"),
            given(f"wheels {position}", reading.model.wheels(position), "pieces"),
        ]
    return found


def _unsprung(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    own = getattr(reading.vehicle, position).suspension.unsprung_mass
    return [
        given("packages of the axle", reading.evaluation.axle_mass[position], "kg"),
        given("wheels", reading.model.wheels(position), "pieces"),
        given("share of fork or swingarm", own, "kg"),
    ]


def _packages(reading: Reading, place: Place) -> Iterable[Input]:
    return [given(f"packages {position}", reading.evaluation.axle_mass[position], "kg") for position in POSITIONS]


def _vehicle_mass(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        given("chassis", reading.vehicle.chassis_mass, "kg"),
        *_packages(reading, place),
        given("final drive", reading.model.drive_masses[reading.evaluation.drive], "kg"),
    ]


def radii(reading: Reading) -> list[Input]:
    """Loaded and reference radii of both wheels, and the wheelbase."""
    found = []
    for position in POSITIONS:
        load = reading.evaluation.level[position]
        reference = getattr(reading.vehicle, position).reference_radius
        found.append(given(f"loaded radius {position}", on.loaded_radius(reading.footing(position), load), "mm"))
        found.append(given(f"reference radius {position}", reference, "mm"))
    return [*found, given("wheelbase", reading.vehicle.wheelbase, "mm")]


def _trail(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        *radii(reading),
        given("caster angle", reading.vehicle.caster_angle, "deg"),
        given("fork offset", reading.vehicle.fork_offset, "mm"),
    ]


def _clearance(reading: Reading, place: Place) -> Iterable[Input]:
    return [given("ground clearance on the reference radii", reading.vehicle.ground_clearance, "mm"), *radii(reading)]


def _break_over(reading: Reading, place: Place) -> Iterable[Input]:
    found = [row for row in radii(reading) if not row.name.startswith("reference")]
    return [given("ground clearance", reading.evaluation.clearance(), "mm"), *found]


def _front_share(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        given("load of the front axle", reading.evaluation.front_load(0.0), "N"),
        given("mass", reading.evaluation.total, "kg"),
    ]


def _steering(reading: Reading, place: Place) -> Iterable[Input]:
    f, load = reading.footing("front"), reading.load("front")
    grips = {name: on.grip_force(f, ground, load) / load for name, ground in reading.model.grounds.items()}
    name = max(grips, key=lambda key: float(grips[key][0]))
    return [
        given("wheels front", reading.model.wheels("front"), "pieces"),
        given("wheel load front", load, "N"),
        given(f"grip over load on {name}", grips[name]),
        given("contact area", firm_patch_area(reading, "front", load), "cm2"),
    ]


def _stability(reading: Reading, place: Place) -> Iterable[Input]:
    ahead, height = reading.evaluation.center_of_gravity()
    offsets = [given(f"wheel offset {p}", reading.wheel(p).offset, "mm") for p in POSITIONS]
    return [
        given("track", reading.vehicle.track or 0.0, "mm"),
        *offsets,
        given("centre of gravity ahead of the rear axle", np.clip(ahead, 0.0, reading.model.chassis.wheelbase), "mm"),
        given("height of the centre of gravity", height, "mm"),
        given("wheelbase", reading.model.chassis.wheelbase, "mm"),
    ]


def _top_speed(reading: Reading, place: Place) -> Iterable[Input]:
    driven = reading.driven
    return [
        given("highest motor speed", reading.vehicle.drive.motor_speed_max, "rpm"),
        given("ratio", reading.evaluation.ratio),
        given("loaded radius", on.loaded_radius(reading.footing(driven), reading.load(driven)), "mm"),
    ]


VEHICLE_RULES: tuple[Rule, ...] = (
    Rule("mass", _mass, both_ends, "mass", lambda r, p: r.outcome.package_mass[at(p)], "kg"),
    Rule("unsprung_mass", _unsprung, both_ends),
    Rule("package_mass", _packages, once),
    Rule("vehicle_mass", _vehicle_mass, once),
    Rule("trail", _trail, once),
    Rule("trail_most", _trail, nowhere),
    Rule("ground_clearance", _clearance, once),
    Rule("break_over_angle", _break_over, once),
    Rule("front_load_share", _front_share, once),
    Rule("front_load_share_most", _front_share, nowhere),
    Rule("steering_moment", _steering, once),
    Rule("lateral_stability", _stability, lambda r: once(r) if r.vehicle.kind == "quad" else ()),
    Rule("top_speed", _top_speed, once),
    Rule(
        "mass_added_by_the_turning_wheels",
        _rotating,
        once,
        "rotating_mass",
        lambda r, _: r.evaluation.rotating_mass(),
        "kg",
    ),
)
