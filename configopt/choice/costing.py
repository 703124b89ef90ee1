"""Costs per node, and the discounts that parts used at both ends bring by the price tiers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.parts import MOST_RUNNING_COST, WEARING, PartNumbers, PartRows
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.choice.context import Nodes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Use = tuple[str, int, int]
"""Family, index in the catalog, pieces per vehicle."""


LAYERS = ("footing", "wheel", "brake")


@dataclass(frozen=True)
class LayerCosts:
    """Cost per vehicle of the nodes of a layer [currency] when bought for the position alone, and its lower bound."""

    full: Array
    low: Array
    running: Array
    """Lower bound of what wears off in 1,000 km [currency]."""
    parts: PartRows
    """Parts and pieces of each node."""


@dataclass(frozen=True)
class NodeCosts:
    """Costs of the nodes of a position."""

    footing: LayerCosts
    wheel: LayerCosts
    brake: LayerCosts

    @property
    def layers(self) -> tuple[tuple[str, LayerCosts], ...]:
        """The layers by name."""
        return tuple((name, getattr(self, name)) for name in LAYERS)


def node_parts(model: VehicleModel, nodes: Nodes, position: Position) -> list[tuple[PartRows, Integers]]:
    """Parts of the mounts, wheels and brake sets of a position, and which of these rows each node has."""
    numbers, of = PartNumbers(model), nodes.candidates
    mounts, mount_of = np.unique(of.footing_mount[nodes.footing], return_inverse=True)
    return [
        (numbers.mounts(position, of.mounts.take(mounts)), mount_of.ravel()),
        (numbers.wheels(position, of.wheels.take(nodes.wheel)), np.arange(len(nodes.wheel))),
        (numbers.brakes(position, of.brakes.take(nodes.brake)), np.arange(len(nodes.brake))),
    ]


def uses_of(family: str, parts: PartRows) -> tuple[list[Use], Integers]:
    """Distinct uses of a family, and which of them each row has, -1 for none."""
    index, pieces = parts.index[family], parts.pieces[family]
    most = int(pieces.max(initial=0)) + 1
    codes, numbers = np.unique(np.where(index >= 0, index * most + pieces, -1), return_inverse=True)
    none = int((codes < 0).sum())
    return [(family, int(code) // most, int(code) % most) for code in codes[none:]], numbers.ravel() - none


def discount(model: VehicleModel, use: Use, other_pieces: int) -> float:
    """What buying for both positions together saves per vehicle [currency], at least 0."""
    family, part, pieces = use
    book = model.costs
    alone = book.per_vehicle(family, part, pieces) + book.per_vehicle(family, part, other_pieces)
    return max(alone - book.per_vehicle(family, part, pieces + other_pieces), 0.0)


def wear(model: VehicleModel, use: Use, cost: float) -> float:
    """Lower bound of what a use of a part wears off in 1,000 km [currency], from a lower bound of its cost.

    The one-off cost is taken off at each position although it falls on both together.
    """
    family, index, _ = use
    if family not in WEARING:
        return 0.0
    part = model.catalog.family(family)[index]
    life = getattr(part, WEARING[family])
    if life is None:
        return MOST_RUNNING_COST if family == "tires" else 0.0
    worn = cost - float(part.one_off_cost) / model.costs.quantity
    return min(max(worn, 0.0) / float(life) * 1e6, MOST_RUNNING_COST)


def node_costs(model: VehicleModel, nodes: dict[Position, Nodes]) -> dict[Position, NodeCosts]:
    """Costs of all nodes of both positions."""
    layers = {position: node_parts(model, nodes[position], position) for position in POSITIONS}
    uses = {p: [[uses_of(family, parts) for family in parts.index] for parts, _ in layers[p]] for p in POSITIONS}
    costs = {}
    for position in POSITIONS:
        other: Position = "rear" if position == "front" else "front"
        pieces: dict[tuple[str, int], set[int]] = {}
        for use in (use for layer in uses[other] for known, _ in layer for use in known):
            pieces.setdefault(use[:2], set()).add(use[2])
        made = []
        for (parts, rows), by_family in zip(layers[position], uses[position], strict=True):
            totals = np.zeros((3, len(next(iter(parts.index.values())))))
            for known, number in by_family:
                # The last entry stands for no part.
                figures = np.zeros((3, len(known) + 1))
                for place, use in enumerate(known):
                    family, part, count = use
                    alone = model.costs.per_vehicle(family, part, count)
                    saved = max((discount(model, use, n) for n in pieces.get((family, part), ())), default=0.0)
                    # Half of a discount to each position: exact where both use the part, a lower bound where one does.
                    low = alone - 0.5 * saved
                    figures[:, place] = alone, low, wear(model, use, low)
                totals += figures[:, number]
            full, low, running = totals[:, rows]
            made.append(LayerCosts(full, low, running, parts.take(rows)))
        costs[position] = NodeCosts(*made)
    return costs


def shared_uses(costs: dict[Position, NodeCosts]) -> dict[str, dict[Use, dict[Position, list[tuple[str, int]]]]]:
    """Nodes by use and position: which nodes of which layer use a part how often."""
    found: dict[str, dict[Use, dict[Position, list[tuple[str, int]]]]] = {}
    for position in POSITIONS:
        for layer, cost in costs[position].layers:
            for family in cost.parts.index:
                known, number = uses_of(family, cost.parts)
                for node in np.flatnonzero(number >= 0):
                    use = known[number[node]]
                    where = found.setdefault(f"{use[0]}:{use[1]}", {}).setdefault(use, {"front": [], "rear": []})
                    where[position].append((layer, int(node)))
    return found
