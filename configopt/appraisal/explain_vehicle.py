"""What went into the built wheel, the masses, and what the wheels do to the vehicle."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.explain_tire import firm_patch_area
from configopt.appraisal.explained import Input, Place, Reading, Rule, at, both_ends, given, nowhere, once
from configopt.appraisal.packages import Package
from configopt.appraisal.tables import spoke_piece_mass
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.physics.spokes import tension_ratio
from configopt.sizes import parse_rim_size


def _wheel_load(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    return [
        given("permitted load", reading.wheel(position).maximum_load, "N"),
        given("wheel load", reading.load(position), "N"),
    ]


def _spoked(reading: Reading) -> Sequence[Place]:
    return tuple((p, None) for p in POSITIONS if reading.appraised.packages[p].wheel.rim is not None)


def _spoke_length(side: str) -> Any:
    def inputs(reading: Reading, place: Place) -> Iterable[Input]:
        wheel = reading.appraised.packages[at(place)].wheel
        assert wheel.rim is not None
        assert wheel.crossings is not None
        return [
            given("flange offset", getattr(wheel.hub, f"flange_offset_{side}"), "mm"),
            given("flange diameter", getattr(wheel.hub, f"flange_diameter_{side}"), "mm"),
            given("diameter of the nipple seats", wheel.rim.effective_diameter, "mm"),
            given("crossings", wheel.crossings, "pieces"),
            given("spokes on one side", wheel.rim.holes // 2, "pieces"),
            given("spoke hole", wheel.hub.spoke_hole_diameter, "mm"),
        ]

    return inputs


def _tension(reading: Reading, place: Place) -> Iterable[Input]:
    wheel = reading.appraised.packages[at(place)].wheel
    return [
        given("flange offset left", wheel.hub.flange_offset_left, "mm"),
        given("flange offset right", wheel.hub.flange_offset_right, "mm"),
        given("spoke length left", wheel.length_left, "mm"),
        given("spoke length right", wheel.length_right, "mm"),
    ]


def _slacker(reading: Reading, place: Place) -> Any:
    wheel = reading.appraised.packages[at(place)].wheel
    ratio = float(
        tension_ratio(
            left_offset=float(wheel.hub.flange_offset_left or 0.0),
            right_offset=float(wheel.hub.flange_offset_right or 0.0),
            left_length=wheel.length_left,
            right_length=wheel.length_right,
        )
    )
    return min(ratio, 1.0 / ratio)


def _spoke_mass(package: Package) -> float:
    """All spokes of one wheel [kg], without nipples."""
    wheel = package.wheel
    if wheel.rim is None or wheel.spokes is None:
        return 0.0
    both = spoke_piece_mass(wheel.spokes, wheel.length_left) + spoke_piece_mass(wheel.spokes, wheel.length_right)
    return wheel.rim.holes / 2 * both


def _lock_mass(package: Package) -> float:
    """Rim locks of one wheel [kg]; one alone has its counterweight."""
    lock, locks = package.mount.lock, package.mount.locks
    if lock is None:
        return 0.0
    return locks * float(lock.mass) + (float(lock.counterweight_mass) if locks == 1 else 0.0)


def _mass(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    package = reading.appraised.packages[position]
    wheel, brake = package.wheel, package.brake
    found = [
        given("tire", package.mount.tire.mass, "kg"),
        given("inner", package.mount.inner.mass, "kg"),
        given("rim locks of one wheel", _lock_mass(package), "kg"),
    ]
    if wheel.disc_wheel is not None:
        found.append(given("disc wheel", wheel.disc_wheel.mass, "kg"))
    if wheel.rim is not None and wheel.spokes is not None:
        found += [
            given("rim", wheel.rim.mass, "kg"),
            given("spokes of one wheel", _spoke_mass(package), "kg"),
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


def _inertia(reading: Reading, place: Place) -> Iterable[Input]:
    """Masses and radii of every part that turns."""
    position = at(place)
    package, f = reading.appraised.packages[position], reading.footing(position)
    wheel, rotor = package.wheel, package.brake.rotor
    found = [
        given("tire", package.mount.tire.mass, "kg"),
        given("radius", f.radius, "mm"),
        given("bead radius of the tire", f.bead_radius, "mm"),
        given("inner and rim locks", float(package.mount.inner.mass) + _lock_mass(package), "kg"),
        given("hub", wheel.hub.mass, "kg"),
        given("axle radius", float(wheel.hub.axle_diameter) / 2, "mm"),
    ]
    if wheel.disc_wheel is not None:
        disc = wheel.disc_wheel
        found += [
            given("disc wheel", disc.mass, "kg"),
            given("bead radius of the rim", parse_rim_size(disc.size).bead_diameter / 2, "mm"),
            given("stud circle radius", float(str(wheel.hub.studs).split("x")[1]) * 0.5e-3, "mm"),
        ]
    if wheel.rim is not None and wheel.spokes is not None:
        flanges = float(wheel.hub.flange_diameter_left or 0.0) + float(wheel.hub.flange_diameter_right or 0.0)
        found += [
            given("rim", wheel.rim.mass, "kg"),
            given("bead radius of the rim", parse_rim_size(wheel.rim.size).bead_diameter / 2, "mm"),
            given("radius of the nipple seats", float(wheel.rim.effective_diameter) / 2, "mm"),
            given("spokes of one wheel", _spoke_mass(package), "kg"),
            given("nipples of one wheel", wheel.rim.holes * float(wheel.spokes.nipple_mass), "kg"),
            given("mean flange radius", flanges / 4, "mm"),
        ]
    return [
        *found,
        given("rotor", rotor.mass, "kg"),
        given("rotor radius", float(rotor.diameter) / 2, "mm"),
        given("inner radius of the rotor", max(float(rotor.diameter) / 2 - 2 * float(rotor.track_height), 0.0), "mm"),
        given("rotors per wheel", reading.model.rotors(position) / reading.model.wheels(position)),
    ]


def wheel_inertia(reading: Reading, position: Position) -> Any:
    """Moment of inertia of one wheel with its share of the rotors [kg m2]."""
    shared = reading.model.rotors(position) / reading.model.wheels(position)
    return (
        reading.footing(position).inertia + reading.wheel(position).inertia + reading.brake(position).inertia * shared
    )


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


def _radii(reading: Reading) -> list[Input]:
    found = []
    for position in POSITIONS:
        load = reading.evaluation.level[position]
        reference = getattr(reading.vehicle, position).reference_radius
        found.append(given(f"loaded radius {position}", on.loaded_radius(reading.footing(position), load), "mm"))
        found.append(given(f"reference radius {position}", reference, "mm"))
    return [*found, given("wheelbase", reading.vehicle.wheelbase, "mm")]


def _trail(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        *_radii(reading),
        given("caster angle", reading.vehicle.caster_angle, "deg"),
        given("fork offset", reading.vehicle.fork_offset, "mm"),
    ]


def _clearance(reading: Reading, place: Place) -> Iterable[Input]:
    return [given("ground clearance on the reference radii", reading.vehicle.ground_clearance, "mm"), *_radii(reading)]


def _break_over(reading: Reading, place: Place) -> Iterable[Input]:
    radii = [row for row in _radii(reading) if not row.name.startswith("reference")]
    return [given("ground clearance", reading.evaluation.clearance(), "mm"), *radii]


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
    Rule("wheel_load", _wheel_load, both_ends),
    Rule(
        "spoke_length_left",
        _spoke_length("left"),
        _spoked,
        "spoke_length",
        lambda r, p: r.appraised.packages[at(p)].wheel.length_left,
        "mm",
    ),
    Rule(
        "spoke_length_right",
        _spoke_length("right"),
        _spoked,
        "spoke_length",
        lambda r, p: r.appraised.packages[at(p)].wheel.length_right,
        "mm",
    ),
    Rule("tension_ratio", _tension, _spoked, "spoke_tension", _slacker, "1"),
    Rule("inertia", _inertia, both_ends, "wheel_inertia", lambda r, p: wheel_inertia(r, at(p)), "kg m2"),
    Rule("mass", _mass, both_ends, "mass", lambda r, p: r.outcome.package_mass[at(p)], "kg"),
    Rule("unsprung_mass", _unsprung, both_ends),
    Rule("package_mass", _packages, once),
    Rule("vehicle_mass", _vehicle_mass, once),
    Rule("trail", _trail, once),
    Rule("trail_most", _trail, nowhere),
    Rule("ground_clearance", _clearance, once),
    Rule("break_over_angle", _break_over, nowhere),
    Rule("front_load_share", _front_share, once),
    Rule("front_load_share_most", _front_share, nowhere),
    Rule("steering_moment", _steering, nowhere),
    Rule("lateral_stability", _stability, nowhere),
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
