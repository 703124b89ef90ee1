"""Rims, spokes, hubs and disc wheels: what geometry and material allow."""

from __future__ import annotations

import math
from collections.abc import Iterator

from configopt.catalog.records import DiscWheel, Hub, Rim, Spokes
from configopt.fit.layers import rim_class
from configopt.fit.rules import mm
from configopt.guard.looking import Broken, Look, each
from configopt.guard.rule import Example, Rule
from configopt.physics.materials import STRUCTURAL_MATERIALS
from configopt.quantities import format_quantity

#: Widths of motorcycle rims [in]: JIS D 4215:1995, Table 3 up to 3.00 and 5.50; the others from memory.
MOTORCYCLE_WIDTHS = (
    1.10, 1.20, 1.40, 1.50, 1.60, 1.85, 2.15, 2.50, 2.75, 3.00, 3.50, 4.00, 4.25, 4.50, 5.00, 5.50, 6.00, 6.25
)  # fmt: skip
_INCH = 0.0254
#: Depth to which nipple seats may lie below the bead seat [m] (common practice, no source).
DEEPEST_SEAT = 0.080
#: Thinnest wall [m] of flanges and bottom, and how far the section may reach beyond flanges and seats [m] (common
#: practice, no source).
THINNEST_WALL, BEYOND = 0.0006, 0.006
#: Stiffest rim materials: Young's modulus and shear modulus [Pa] (aluminium alloys; carbon laminate with all fibres
#: along the rim, and with all at 45 degrees: common practice, no source).
MODULI = {"aluminium": (73e9, 28e9), "carbon": (160e9, 40e9)}
_MATERIAL = {"aluminium": "aluminium 6061", "carbon": "carbon laminate"}
#: Least distance of spoke holes over their diameter (common practice, no source).
HOLE_PITCH = 2.0
#: Least radial room [m] from a stud circle to the bead seat around it, for nut and wall (common practice, no source).
STUD_ROOM = 0.020

RIM_WIDTH = Rule(
    "RIM-WIDTH",
    "warning",
    "a rim width that is not a standard one",
    "Motorcycle rims come in the standard's width codes, quad rims in half inches, bicycle rims in whole or half "
    "millimetres. Another width is mostly a slip of the designation.",
    Example("rims", "size: WM 1.65x21", "size: WM 1.60x21"),
    waivable=True,
)
RIM_SEAT = Rule(
    "RIM-SEAT",
    "error",
    "nipple seats that do not lie below the bead seat",
    f"The circle of the nipple seats lies inside the bead seat, at most {DEEPEST_SEAT * 1e3:.0f} mm below it on the "
    "radius. The effective diameter or the size is another rim's; the spokes would be cut to the wrong length.",
    Example("rims", "effective_diameter: 539 mm", "effective_diameter: 517 mm"),
    waivable=True,
)
RIM_MASS = Rule(
    "RIM-MASS",
    "error",
    "a mass that the rim's dimensions and material rule out",
    f"Two flanges and the bottom with walls of {THINNEST_WALL * 1e3:.1f} mm are the least that is there; a solid block "
    "of the section's outline is the most. Mass, size, flange height or material is wrong.",
    Example("rims", "mass: 95 g", "mass: 1.32 kg"),
)
RIM_RIGIDITY = Rule(
    "RIM-RIGIDITY",
    "error",
    "a rim stiffer than its material can be",
    "All the rim's material at the edge of its section, of the stiffest alloy or laminate, would be less stiff. The "
    "rigidity, its unit or the axis is wrong.",
    Example("rims", "radial_rigidity: 9000 N m2", "radial_rigidity: 820 N m2"),
    waivable=True,
)
SPOKE_LENGTHS = Rule(
    "SPOKE-LENGTHS",
    "error",
    "spoke lengths that cannot be",
    "The shortest length comes before the longest, a step is no longer than the range between them, and the thick ends "
    "fit into the shortest spoke. Correct the length that is wrong.",
    Example("spokes", "length_min: 320 mm", "length_min: 180 mm"),
)
SPOKE_BUTTING = Rule(
    "SPOKE-BUTTING",
    "error",
    "a spoke that is thicker in its middle than at its ends",
    "Butted spokes are thinner in the middle; plain ones state the same diameter twice.",
    Example("spokes", "middle_diameter: 2.3 mm", "middle_diameter: 1.7 mm"),
    waivable=True,
)
HUB_HOLES = Rule(
    "HUB-HOLES",
    "error",
    "spoke holes that lie too close",
    f"Half the holes lie on each flange, at least {HOLE_PITCH:.0f} hole diameters apart. Hole count, hole circle or "
    "hole diameter is wrong.",
    Example("hubs", "spoke_hole_diameter: 6 mm", "spoke_hole_diameter: 2.6 mm"),
    waivable=True,
)
HUB_WIDTH = Rule(
    "HUB-WIDTH",
    "error",
    "flanges that stand outside the hub",
    "Both flanges stand between the ends of the hub, so their offsets together are at most its width.",
    Example("hubs", "flange_offset_right: 92 mm", "flange_offset_right: 34 mm"),
)
HUB_CIRCLE = Rule(
    "HUB-CIRCLE",
    "error",
    "a circle of holes that the axle fills",
    "Spoke holes, rotor bolts and studs lie around the axle: their circles are wider than axle and hole together.",
    Example("hubs", "rotor_pattern: 6x18", "rotor_pattern: 6x44"),
)
DISC_STUDS = Rule(
    "DISC-STUDS",
    "error",
    "a stud circle for which the disc wheel has no room",
    f"Nuts and wall need {STUD_ROOM * 1e3:.0f} mm between the stud circle and the bead seat. Size or stud circle is "
    "wrong.",
    Example("disc-wheels", "studs: 4x200", "studs: 4x110"),
    waivable=True,
)
RULES = (
    RIM_WIDTH,
    RIM_SEAT,
    RIM_MASS,
    RIM_RIGIDITY,
    SPOKE_LENGTHS,
    SPOKE_BUTTING,
    HUB_HOLES,
    HUB_WIDTH,
    HUB_CIRCLE,
    DISC_STUDS,
)


def circle(pattern: str) -> tuple[int, float]:
    """Number and circle diameter [m] of a pattern such as 6x44."""
    count, _, millimetres = pattern.partition("x")
    return int(count), float(millimetres) * 1e-3


def _width(part: Rim | DiscWheel) -> Iterator[Broken]:
    seen = rim_class(part)
    if seen.family in ("WM", "MT"):
        found = min(MOTORCYCLE_WIDTHS, key=lambda code: abs(code * _INCH - seen.width))
        sound, shown = (
            abs(found * _INCH - seen.width) < 1e-5,
            f"{seen.width / _INCH:.2f} in, the next is {found:.2f} in",
        )
    elif seen.family == "AT":
        found = round(seen.width / _INCH * 2) / 2
        sound, shown = (
            abs(found * _INCH - seen.width) < 1e-5,
            f"{seen.width / _INCH:.4g} in, the next is {found:.4g} in",
        )
    else:
        found = round(seen.width * 2e3) / 2
        sound, shown = abs(found * 1e-3 - seen.width) < 1e-5, f"{mm(seen.width)}, the next is {found:.4g} mm"
    if not sound:
        message = f"{seen.family} rims are not made {shown}"
        yield RIM_WIDTH, "size", message, "correct the size, or state a waiver with the reason"


def section(rim: Rim) -> tuple[float, float]:
    """Most depth and width of a rim's section [m]: from the flanges to below the nipple seats, and over the flanges."""
    seen = rim_class(rim)
    depth = (seen.bead_diameter - float(rim.effective_diameter)) / 2 + float(rim.flange_height) + BEYOND
    return depth, seen.width + 2 * BEYOND


def _rim(rim: Rim) -> Iterator[Broken]:
    seen, seat = rim_class(rim), float(rim.effective_diameter)
    below = (seen.bead_diameter - seat) / 2
    if not 0 < below <= DEEPEST_SEAT:
        least, most = mm(seen.bead_diameter - 2 * DEEPEST_SEAT), mm(seen.bead_diameter)
        message = f"effective diameter {mm(seat)}, {rim.size} has nipple seats between {least} and {most}"
        yield RIM_SEAT, "effective_diameter", message, "correct the diameter or the size"
        return
    depth, width = section(rim)
    density = STRUCTURAL_MATERIALS[_MATERIAL[rim.material]].density
    around = density * math.pi * seat
    low = around * THINNEST_WALL * (2 * float(rim.flange_height) + seen.width)
    high = around * depth * width
    if not low <= rim.mass <= high:
        stated, least, most = (format_quantity(value, "mass") for value in (rim.mass, low, high))
        message = f"mass {stated}, its section of {rim.material} allows {least} to {most}"
        yield RIM_MASS, "mass", message, "correct the mass, the dimensions or the material"
        return
    area, (stretch, shear) = float(rim.mass) / around, MODULI[rim.material]
    most_rigid = (
        ("radial_rigidity", stretch * area * depth * depth / 4),
        ("lateral_rigidity", stretch * area * width * width / 4),
        ("torsional_rigidity", shear * area * (depth * depth + width * width) / 4),
    )
    for name, most_of_it in most_rigid:
        rigidity = float(getattr(rim, name))
        if rigidity > most_of_it:
            words = name.replace("_", " ")
            message = (
                f"{words} {rigidity:.4g} N m2, {rim.material} of this mass and section reaches {most_of_it:.3g} N m2"
            )
            yield RIM_RIGIDITY, name, message, "correct the rigidity or the dimensions"


def _spokes(spokes: Spokes) -> Iterator[Broken]:
    low, high, step = (float(getattr(spokes, f"length_{name}")) for name in ("min", "max", "step"))
    if low > high:
        yield SPOKE_LENGTHS, "length_min", f"lengths from {mm(low)} to {mm(high)}", "write the shorter one first"
    elif low < high and step > high - low + 1e-9:
        message = f"steps of {mm(step)} in a range of {mm(high - low)}"
        yield SPOKE_LENGTHS, "length_step", message, "correct the step or the range"
    if spokes.ends_length > low:
        message = f"thick ends of {mm(float(spokes.ends_length))} together on spokes from {mm(low)} on"
        yield SPOKE_LENGTHS, "ends_length", message, "correct ends_length or length_min"
    if spokes.middle_diameter > spokes.end_diameter + 1e-9:
        message = f"middle {mm(float(spokes.middle_diameter))}, ends {mm(float(spokes.end_diameter))}"
        yield SPOKE_BUTTING, "middle_diameter", message, "correct one of the two"


def _hub(hub: Hub) -> Iterator[Broken]:
    axle, hole = float(hub.axle_diameter), float(hub.spoke_hole_diameter or 0.0)
    for side in ("left", "right"):
        flange = getattr(hub, f"flange_diameter_{side}")
        if flange is None or hub.holes is None:
            continue
        pitch = math.pi * float(flange) / (hub.holes / 2)
        if flange < axle + hole:
            message = f"spoke holes of {mm(hole)} on {mm(float(flange))} around an axle of {mm(axle)}"
            yield HUB_CIRCLE, f"flange_diameter_{side}", message, "correct flange or axle"
        elif pitch < HOLE_PITCH * hole:
            message = f"{hub.holes // 2} holes of {mm(hole)} on {mm(float(flange))} lie {mm(pitch)} apart"
            yield (
                HUB_HOLES,
                "spoke_hole_diameter",
                message,
                f"at least {mm(HOLE_PITCH * hole)}: correct one of them",
            )
    if hub.flange_offset_left is not None and hub.flange_offset_right is not None:
        apart = float(hub.flange_offset_left) + float(hub.flange_offset_right)
        if apart > hub.width + 1e-9:
            message = f"flanges {mm(apart)} apart in a hub of {mm(float(hub.width))}"
            yield HUB_WIDTH, "flange_offset_right", message, "correct the width or an offset"
    for name, words in (("rotor_pattern", "rotor bolts"), ("studs", "studs")):
        pattern = getattr(hub, name)
        if pattern is not None and circle(pattern)[1] <= axle:
            message = f"{words} on {mm(circle(pattern)[1])} around an axle of {mm(axle)}"
            yield HUB_CIRCLE, name, message, "correct the pattern or the axle"


def _disc_wheel(wheel: DiscWheel) -> Iterator[Broken]:
    most = rim_class(wheel).bead_diameter - 2 * STUD_ROOM
    if circle(wheel.studs)[1] > most:
        message = f"studs on {mm(circle(wheel.studs)[1])}, {wheel.size} has room for {mm(most)}"
        yield DISC_STUDS, "studs", message, "correct the size or the studs"


LOOKS: tuple[Look, ...] = (
    each("rims", _width),
    each("rims", _rim),
    each("spokes", _spokes),
    each("hubs", _hub),
    each("disc-wheels", _width),
    each("disc-wheels", _disc_wheel),
)
