"""Boxes of a search: ranges of masses and radii, and how they are split."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates
from configopt.choice.candidates import Instance, aim_term
from configopt.choice.context import CELLS, Box, Dimension
from configopt.physics.loads import GRAVITY

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: What a box is split by.
Split = Dimension | Literal["drive"]
#: Share of a wheel's load that the radii in a box may leave open before it is split without being narrowed.
WIDE = 0.01
#: A range of masses is cut off where at most this share of it is left.
SHRUNK = 0.7
#: A box whose masses spread less is not split any more [kg].
LEAST_SPREAD = 1e-6


@dataclass
class OpenBox:
    """A box of masses that is not closed yet, with the best row prices so far and the bound they hint at."""

    box: Box
    bound: float
    prices: dict[str, float] = field(default_factory=dict)
    hint: float = -np.inf
    inside: Instance | None = None
    """Bounds of a box around this one: nothing but its nodes is left here."""
    drives: Integers | None = None
    """Final drives of the box, if not all of the box around it."""
    of_all: bool = False
    """Whether it is the box of everything, from which a search begins."""
    patience: int = 0
    """Splits before it is narrowed again: a box around it held far too many packages."""


def full_box(candidates: Candidates) -> Box:
    """The range of package masses of both axles."""
    ranges = {}
    for position, nodes in candidates.nodes().items():
        low, high = nodes.rest_range
        usable = low <= high
        ranges[position] = (
            float((nodes.footing_mass + low)[usable].min()) - 1e-6,
            float((nodes.footing_mass + high)[usable].max()) + 1e-6,
        )
    return Box(ranges["front"], ranges["rear"])


def axle_range(instance: Instance, position: Position) -> tuple[float, float]:
    """Least and most package mass of an axle [kg]."""
    mass = instance.nodes(position).footing_mass
    return float((mass + instance.rest_low[position]).min()), float((mass + instance.rest_high[position]).max())


def spreads(instance: Instance) -> dict[Split, float]:
    """What each range of a box leaves open in the loads of the wheels [N]; nothing where it cannot be split.

    A mass acts through one cell of it, a radius as a whole: it pitches the vehicle and moves its centre of gravity.
    The final drives act by their masses.
    """
    chassis = instance.model.chassis
    found: dict[Split, float] = {}
    drives = instance.model.drive_masses[instance.drives]
    if drives.max() > drives.min():
        found["drive"] = GRAVITY * float(drives.max() - drives.min())
    for position in POSITIONS:
        low, high = axle_range(instance, position)
        if high - low >= LEAST_SPREAD:
            found[position, "mass"] = GRAVITY * (high - low) / CELLS
        radii = instance.nodes(position).footings.radius
        pitch = float(radii.max() - radii.min()) / chassis.wheelbase
        if pitch > 0.0:
            found[position, "radius"] = chassis.mass * GRAVITY * abs(chassis.cg_above_axles) * pitch
    return found


def wide(instance: Instance, most: float = WIDE) -> bool:
    """Whether the radii of an axle leave more than a share of a load open."""
    loads = [float(np.median(instance.contexts[p].loads()[0])) for p in POSITIONS]
    widths = spreads(instance)
    widest = max(widths, key=lambda key: widths[key], default=None)
    return widest is not None and widest != "drive" and widest[1] == "radius" and widths[widest] > most * min(loads)


def halves(entry: OpenBox, instance: Instance, patience: int = 0) -> list[OpenBox]:
    """The box split where its range leaves most open: masses in the middle, radii and drives between two that occur."""
    widths = spreads(instance)
    dimension = max(widths, key=lambda key: widths[key])
    parts: list[tuple[Box, Integers | None]]
    if dimension == "drive":
        by_mass = instance.drives[np.argsort(instance.model.drive_masses[instance.drives], kind="stable")]
        cut = len(by_mass) // 2
        parts = [(entry.box, np.sort(drives)) for drives in (by_mass[:cut], by_mass[cut:])]
    else:
        position, kind = dimension
        if kind == "mass":
            low, high = axle_range(instance, position)
            spans = ((low, 0.5 * (low + high)), (0.5 * (low + high), high))
        else:
            radii = np.unique(instance.nodes(position).footings.radius)
            cut = len(radii) // 2
            spans = (float(radii[0]), float(radii[cut - 1])), (float(radii[cut]), float(radii[-1]))
        parts = [(entry.box.within(dimension, span), None) for span in spans]
    return [
        OpenBox(box, entry.bound, entry.prices, inside=instance, drives=drives, patience=patience)
        for box, drives in parts
    ]


def trimmed(entry: OpenBox, instance: Instance, marginals: dict[Position, Array], ceiling: float) -> Box | None:
    """The box without package masses at which no footing can stay under a ceiling.

    ``None`` where that takes away little.  Only for bounds of one cell: there a footing's bound is affine in the rest
    mass, so it says how heavy the rest may be.
    """
    box, shrunk = entry.box, False
    for position in POSITIONS:
        term = aim_term(instance, position)[0]
        grid = instance.contexts[position].grid
        own = instance.nodes(position).footing_mass
        room = ceiling + 1e-9 * max(abs(ceiling), 1.0) - marginals[position]
        open_to = room >= 0.0
        if not open_to.any():
            return None
        slope = np.where(term.slope > 0.0, term.slope, np.inf)
        heaviest = np.where(term.slope > 0.0, grid[:, 0] + room / slope, grid[:, -1])
        low = float((own + grid[:, 0])[open_to].min())
        high = float((own + np.minimum(heaviest, grid[:, -1]))[open_to].max())
        before = axle_range(instance, position)
        shrunk = shrunk or high - low < SHRUNK * (before[1] - before[0])
        box = box.within((position, "mass"), (max(before[0], low - 1e-9), min(before[1], high + 1e-9)))
    return box if shrunk else None
