"""Tubes and foam: a mass that their size allows."""

from __future__ import annotations

import math
from collections.abc import Iterator

from configopt.catalog.records import Inner
from configopt.fit.rules import mm
from configopt.guard.looking import Broken, Look, each
from configopt.guard.rule import Example, Rule
from configopt.quantities import format_quantity

#: Wall of a tube [m], density of its rubber or plastic and of foam [kg/m3] (common practice, no source).
TUBE_WALL, TUBE_DENSITY = (0.00015, 0.006), 1000.0
FOAM_DENSITY = (40.0, 700.0)

INNER_MASS = Rule(
    "INNER-MASS",
    "warning",
    "a mass unlike that of a tube or foam of this size",
    f"A tube of the smallest section has a wall of {TUBE_WALL[0] * 1e3:g} to {TUBE_WALL[1] * 1e3:g} mm, a foam insert "
    f"that fills it a density of {FOAM_DENSITY[0]:.0f} to {FOAM_DENSITY[1]:.0f} kg/m3 (common practice, no source). "
    "Mass or size is another one's.",
    Example("inners", "mass: 3.4 kg", "mass: 0.46 kg"),
    waivable=True,
)
RULES = (INNER_MASS,)


def _inner(inner: Inner) -> Iterator[Broken]:
    if inner.kind == "tubeless":
        return
    width = float(inner.section_width_min)
    bead = sum(map(float, inner.bead_diameters)) / len(inner.bead_diameters)
    around = math.pi * (bead + width)
    if inner.kind == "tube":
        low, high = (TUBE_DENSITY * math.pi * width * around * wall for wall in TUBE_WALL)
    else:
        low, high = (density * math.pi / 4 * width * width * around for density in FOAM_DENSITY)
    if not low <= inner.mass <= high:
        stated, least, most = (format_quantity(value, "mass") for value in (inner.mass, low, high))
        message = f"mass {stated}, a {inner.kind} for {mm(width)} on {mm(bead)} has {least} to {most}"
        yield INNER_MASS, "mass", message, "check mass and size"


LOOKS: tuple[Look, ...] = (each("inners", _inner),)
