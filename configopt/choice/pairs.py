"""Pairs of packages, front and rear: which of them rows and ceiling leave open, with every final drive."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Choices, plain_bounds, row_part
from configopt.choice.candidates import Instance, aim_constant
from configopt.choice.context import Nodes
from configopt.choice.packages_below import PackageList
from configopt.choice.terms import ROW_SLACK, Row

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


def best_pairs(
    instance: Instance,
    lists: dict[Position, PackageList],
    bounds: dict[Position, Array],
    count: int,
    ceiling: float,
) -> Choices:
    """Pairs of the ``count`` best packages of each position with every final drive, as far as rows and ceiling allow.

    ``bounds`` are those of the instance with its prices.
    """
    short = {}
    for position in POSITIONS:
        order = np.argsort(bounds[position], kind="stable")[:count]
        short[position] = lists[position].take(order)
    pairs = PairCheck(instance, short["front"], short["rear"])
    front, rear = (axis.ravel() for axis in np.indices((len(short["front"]), len(short["rear"]))))
    i, j = pairs.open(front, rear, ceiling)
    nodes = {p: instance.nodes(p) for p in POSITIONS}
    found = []
    for drive in range(instance.drives.size):
        good = pairs.good(i, j, drive)
        found.append(paired(instance, nodes, short, i[good], j[good], drive))
    return Choices.join(found)


def paired(
    instance: Instance,
    nodes: dict[Position, Nodes],
    lists: dict[Position, PackageList],
    i: Integers,
    j: Integers,
    drive: int,
) -> Choices:
    """Pairs of listed packages as candidate numbers."""
    rows = {}
    for position, index in (("front", i), ("rear", j)):
        packages, here = lists[position], nodes[position]  # type: ignore[index]
        rows[position] = np.stack(
            [
                here.footing[packages.footing[index]],
                here.wheel[packages.wheel[index]],
                here.brake[packages.brake[index]],
            ],
            axis=1,
        )
    return Choices(rows["front"], rows["rear"], np.full(len(i), instance.drives[drive]))


class PairCheck:
    """Rows, forbidden pairs and the whole aim for pairs of packages with a final drive."""

    def __init__(self, instance: Instance, front: PackageList, rear: PackageList) -> None:
        self.instance, self.lists = instance, {"front": front, "rear": rear}
        # Of a pair within its rows the prices on them would only take something away.
        self.plain = {p: plain_bounds(instance, p, self.lists[p]) for p in POSITIONS}
        self.rows: list[tuple[Row, dict[Position, Array]]] = []
        """Rows that some pair can exceed, with both parts."""
        for row in instance.rows:
            parts: dict[Position, Array] = {p: row_part(row, p, self.lists[p]) for p in POSITIONS}
            most = sum(float(part.max(initial=-np.inf)) for part in parts.values())
            if most + (0.0 if row.drive is None else float(row.drive.max())) > row.rhs + ROW_SLACK * row.scale:
                self.rows.append((row, parts))
        self.resist = [
            {p: loss.resist[p].low.at(self.lists[p].footing, self.lists[p].rest, self.lists[p].cell) for p in POSITIONS}
            for _, loss in instance.weighed_losses()
        ]

    def open(self, i: Integers, j: Integers, ceiling: float) -> tuple[Integers, Integers]:
        """Those of some pairs that can meet the ceiling of the aim and the limits that no final drive matters to."""
        for row, parts in self.rows:
            if row.drive is None:
                good = parts["front"][i] + parts["rear"][j] <= row.rhs + ROW_SLACK * row.scale
                i, j = i[good], j[good]
        good = self.bounds(i, j) <= ceiling
        return i[good], j[good]

    def good(self, i: Integers, j: Integers, drive: int) -> NDArray[np.bool_]:
        """Which of some pairs, from :meth:`open`, can meet the limits with a final drive."""
        front, rear = self.lists["front"], self.lists["rear"]
        good = np.ones(len(i), dtype=bool)
        for row, parts in self.rows:
            if row.drive is not None:
                own = float(row.drive[drive])
                good &= parts["front"][i] + parts["rear"][j] + own <= row.rhs + ROW_SLACK * row.scale
        for pairs in self.instance.bad:
            if pairs.right != "drive":
                continue
            side, index = (front, i) if pairs.left.startswith("front") else (rear, j)
            layer = (side.footing if pairs.left.endswith("footing") else side.wheel)[index]
            good &= ~pairs.forbidden(layer, np.full(len(layer), drive))
        return good

    def bounds(self, i: Integers, j: Integers) -> Array:
        """Lower bound of the aim of pairs, with the slip the other axle adds, which the separable bound leaves out."""
        instance = self.instance
        rates = instance.rates
        growth = np.zeros(len(i))
        for (counts, loss), resist in zip(instance.weighed_losses(), self.resist, strict=True):
            if loss.slip_growth is None:
                continue
            other: Position = "rear" if loss.driven == "front" else "front"
            driven_index, other_index = (i, j) if loss.driven == "front" else (j, i)
            above = np.maximum(resist[other][other_index] - loss.other_least, 0.0)
            growth += counts * loss.leg.share * loss.slip_growth[self.lists[loss.driven].footing[driven_index]] * above
        fixed = aim_constant(instance.priced({}))
        return np.asarray(self.plain["front"][i] + self.plain["rear"][j] + fixed + rates["rolling_loss"] * growth)
