"""Boxes of a search: ranges of masses and radii, and how they are split."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates
from configopt.choice.candidates import Instance
from configopt.choice.context import CELLS, Box, Dimension
from configopt.physics.loads import GRAVITY

Array = NDArray[np.float64]
#: Share of a wheel's load that the radii in a box may leave open before it is split without being narrowed.
WIDE = 0.01
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


def spreads(instance: Instance) -> dict[Dimension, float]:
    """What each range of a box leaves open in the loads of the wheels [N]; nothing where it cannot be split.

    A mass acts through one cell of it, a radius as a whole: it pitches the vehicle and moves its centre of gravity.
    """
    chassis = instance.model.chassis
    found: dict[Dimension, float] = {}
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
    return widest is not None and widest[1] == "radius" and widths[widest] > most * min(loads)


def halves(entry: OpenBox, instance: Instance) -> list[OpenBox]:
    """The box split where its range leaves most open: masses in the middle, radii between two that occur."""
    widths = spreads(instance)
    dimension = max(widths, key=lambda key: widths[key])
    position, kind = dimension
    if kind == "mass":
        low, high = axle_range(instance, position)
        parts = ((low, 0.5 * (low + high)), (0.5 * (low + high), high))
    else:
        radii = np.unique(instance.nodes(position).footings.radius)
        cut = len(radii) // 2
        parts = (float(radii[0]), float(radii[cut - 1])), (float(radii[cut]), float(radii[-1]))
    return [OpenBox(entry.box.within(dimension, part), entry.bound, entry.prices, inside=instance) for part in parts]
