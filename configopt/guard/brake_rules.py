"""Rotors, calipers and pads: what geometry and material allow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from operator import attrgetter

from configopt.catalog.records import Caliper, Rotor
from configopt.fit.rules import mm
from configopt.guard.looking import Broken, Look, each
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Shelf
from configopt.guard.waivers import Found
from configopt.guard.wheel_rules import circle
from configopt.physics.materials import ROTOR_STEELS
from configopt.physics.rotor_heat import track_area, track_mass
from configopt.quantities import format_quantity

#: Share of the track that slots and holes may take away (common practice, no source).
MOST_CUT_AWAY = 0.5
#: Heads of rotor bolts need this much room beside their circle [m] (common practice, no source).
BOLT_ROOM = 0.004
#: Area of the pistons on one side over that of the pad that they press (common practice, no source): the back plate
#: reaches a little further than the friction material.
MOST_PISTON = 1.2
#: Beyond these lengths [m] there is nothing to reckon.
LEAST, MOST = 1e-6, 10.0

ROTOR_TRACK = Rule(
    "ROTOR-TRACK",
    "error",
    "rotor bolts on the track",
    "The bolt circle with the heads of its bolts lies inside the inner edge of the track: diameter less twice the "
    "track height. One of the three figures is wrong.",
    Example("rotors", "track_height: 70 mm", "track_height: 15 mm"),
)
ROTOR_MASS = Rule(
    "ROTOR-MASS",
    "error",
    "a mass that the rotor's dimensions rule out",
    "A full disc of its steel is the most there can be; the track with half of it cut away is the least. Mass, "
    "diameter, thickness or track height is wrong.",
    Example("rotors", "mass: 50 g", "mass: 180 g"),
)
ROTOR_MOUNT = Rule(
    "ROTOR-MOUNT",
    "warning",
    "a rotor that no caliper's mount allows",
    "No caliper of the catalog that can be had takes a rotor of this diameter and thickness: it is larger, smaller, "
    "thicker or thinner than the mounts allow.",
    Example("rotors", "diameter: 320 mm\nmass: 0.5 kg", "diameter: 180 mm\nmass: 180 g"),
    waivable=True,
)
RANGE_ORDER = Rule(
    "RANGE-ORDER",
    "error",
    "a range that ends before it begins",
    "The least value of a range is at most its greatest; otherwise nothing ever fits.",
    Example("calipers", "rotor_diameter_min: 230 mm", "rotor_diameter_min: 160 mm"),
)
PAD_AREA = Rule(
    "PAD-AREA",
    "warning",
    "a pad smaller than the pistons that press it",
    f"The pistons on one side cover at most {MOST_PISTON:g} times the area of a pad. Pad, pistons or pad shape is "
    "another one's.",
    Example("pads", "area: 2 cm2", "area: 4.9 cm2"),
    waivable=True,
)
RULES = (ROTOR_TRACK, ROTOR_MASS, ROTOR_MOUNT, RANGE_ORDER, PAD_AREA)

#: Ranges by family: first and last figure.
_RANGES = {
    "calipers": (
        ("rotor_diameter_min", "rotor_diameter_max"),
        ("rotor_thickness_min", "rotor_thickness_max"),
    ),
    "inners": (("section_width_min", "section_width_max"),),
    "rim-locks": (("rim_width_min", "rim_width_max"),),
}


def _rotor(rotor: Rotor) -> Iterator[Broken]:
    diameter, height = float(rotor.diameter), float(rotor.track_height)
    if not LEAST < diameter < MOST or not LEAST < rotor.thickness < MOST:
        return  # that is unusual enough
    inner, bolts = diameter - 2 * height, circle(rotor.pattern)[1] + 2 * BOLT_ROOM
    if bolts > inner:
        message = f"bolts on {mm(circle(rotor.pattern)[1])} need {mm(bolts)}, the track leaves {mm(inner)}"
        yield ROTOR_TRACK, "track_height", message, "correct diameter, track height or pattern"
        return
    steel = {"thickness": float(rotor.thickness), "density": ROTOR_STEELS[rotor.steel].density}
    low = (1 - MOST_CUT_AWAY) * float(track_mass(track_area(diameter, height), **steel))
    high = float(track_mass(math.pi / 4 * diameter**2, **steel))
    if not low <= rotor.mass <= high:
        stated, least, most = (format_quantity(value, "mass") for value in (rotor.mass, low, high))
        message = f"mass {stated}, its dimensions allow {least} to {most}"
        yield ROTOR_MASS, "mass", message, "correct the mass or the dimensions"


def _ranges(family: str) -> Look:
    def judge(part: object) -> Iterator[Broken]:
        for first, last in _RANGES[family]:
            low, high = (float(attrgetter(name)(part)) for name in (first, last))
            if low > high:
                yield RANGE_ORDER, first, f"from {mm(low)} to {mm(high)}", f"correct {first} or {last}"

    return each(family, judge)


def can_be_had(part: object) -> bool:
    """Whether a part can still be bought."""
    return getattr(part, "status", "active") in ("active", "last buy")


def _mounts(shelf: Shelf) -> Iterator[Found]:
    calipers: list[Caliper] = [caliper for caliper in shelf.catalog.calipers if can_be_had(caliper)]
    spans = {
        tuple(
            float(getattr(caliper, f"rotor_{name}"))
            for name in ("diameter_min", "diameter_max", "thickness_min", "thickness_max")
        )
        for caliper in calipers
    }
    for entry in shelf.entries("rotors") if spans else ():
        diameter, thickness = float(entry.part.diameter), float(entry.part.thickness)
        if not any(d - 1e-9 <= diameter <= e + 1e-9 and t - 1e-9 <= thickness <= u + 1e-9 for d, e, t, u in spans):
            message = f"no caliper takes a rotor of {mm(diameter)} by {mm(thickness)}"
            fix = "correct the rotor, or add the caliper it is made for"
            yield entry, entry.finding(ROTOR_MOUNT, "diameter", message, fix)


def _pads(shelf: Shelf) -> Iterator[Found]:
    for entry in shelf.entries("pads"):
        for caliper in shelf.catalog.calipers:
            if caliper.pad_shape != entry.part.shape:
                continue
            pistons = (
                caliper.pistons_per_side * math.pi / 4 * float(caliper.piston_diameter) * float(caliper.piston_diameter)
            )
            if pistons > MOST_PISTON * entry.part.area:
                covered, area = (format_quantity(value, "area") for value in (pistons, entry.part.area))
                message = f"area {area}, the pistons of {caliper.id} cover {covered}"
                fix = "correct area, pistons or the pad's shape"
                yield entry, entry.finding(PAD_AREA, "area", message, fix)
                break


LOOKS: tuple[Look, ...] = (each("rotors", _rotor), *map(_ranges, _RANGES))
#: Looks that rely on what else is in the catalog.
ACROSS: tuple[Look, ...] = (_mounts, _pads)
