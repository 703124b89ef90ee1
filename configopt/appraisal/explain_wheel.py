"""What went into the built wheel: rating, spokes, inertia."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import Any

from configopt.appraisal.explained import Input, Place, Reading, Rule, at, both_ends, given
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


def spoked_ends(reading: Reading) -> Sequence[Place]:
    """The ends with spoked wheels."""
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


def spoke_mass_of(package: Package) -> float:
    """All spokes of one wheel [kg], without nipples."""
    wheel = package.wheel
    if wheel.rim is None or wheel.spokes is None:
        return 0.0
    figures = partial(getattr, wheel.spokes)
    both = float(spoke_piece_mass(figures, wheel.length_left) + spoke_piece_mass(figures, wheel.length_right))
    return wheel.rim.holes / 2 * both


def lock_mass_of(package: Package) -> float:
    """Rim locks of one wheel [kg]; one alone has its counterweight."""
    lock, locks = package.mount.lock, package.mount.locks
    if lock is None:
        return 0.0
    return locks * float(lock.mass) + (float(lock.counterweight_mass) if locks == 1 else 0.0)


def _inertia(reading: Reading, place: Place) -> Iterable[Input]:
    """Masses and radii of every part that turns."""
    position = at(place)
    package, f = reading.appraised.packages[position], reading.footing(position)
    wheel, rotor = package.wheel, package.brake.rotor
    found = [
        given("tire", package.mount.tire.mass, "kg"),
        given("radius", f.radius, "mm"),
        given("bead radius of the tire", f.bead_radius, "mm"),
        given("inner and rim locks", float(package.mount.inner.mass) + lock_mass_of(package), "kg"),
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
            given("spokes of one wheel", spoke_mass_of(package), "kg"),
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


def disc_remarks(reading: Reading, place: Place) -> Iterable[str]:
    """That a disc wheel has no figures of spokes."""
    spoked = reading.appraised.packages[at(place)].wheel.rim is not None
    return [] if spoked else ["a disc wheel has no spokes: shown as what no limit meets"]


WHEEL_RULES: tuple[Rule, ...] = (
    Rule("wheel_load", _wheel_load, both_ends),
    Rule(
        "spoke_length_left",
        _spoke_length("left"),
        spoked_ends,
        "spoke_length",
        lambda r, p: r.appraised.packages[at(p)].wheel.length_left,
        "mm",
    ),
    Rule(
        "spoke_length_right",
        _spoke_length("right"),
        spoked_ends,
        "spoke_length",
        lambda r, p: r.appraised.packages[at(p)].wheel.length_right,
        "mm",
    ),
    Rule("tension_ratio", _tension, spoked_ends, "tension_ratio", _slacker, "1"),
    Rule("inertia", _inertia, both_ends, "wheel_inertia", lambda r, p: wheel_inertia(r, at(p)), "kg m2"),
)
