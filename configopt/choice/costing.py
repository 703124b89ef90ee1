"""Costs per node, and the discounts that parts used at both ends bring by the price tiers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.parts import MOST_RUNNING_COST, WEARING
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.choice.context import Nodes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Use = tuple[str, int, int]
"""Family, index in the catalog, pieces per vehicle."""


@dataclass(frozen=True)
class NodeCosts:
    """Cost per vehicle of the nodes of a position [currency] when bought for it alone, and its lower bound.

    ``uses`` lists which node uses which part how often: layer, node number, use.
    """

    footing: Array
    wheel: Array
    brake: Array
    footing_low: Array
    wheel_low: Array
    brake_low: Array
    footing_running: Array
    """Lower bound of what wears off in 1,000 km [currency]."""
    brake_running: Array
    footing_uses: tuple[tuple[Use, ...], ...]
    wheel_uses: tuple[tuple[Use, ...], ...]
    brake_uses: tuple[tuple[Use, ...], ...]


def node_uses(model: VehicleModel, nodes: Nodes, position: Position) -> list[list[tuple[Use, ...]]]:
    """Parts used by each footing, wheel and brake node, with pieces per vehicle."""
    index = model.costs.number
    wheels, rotors = model.wheels(position), model.rotors(position)
    of_mount = nodes.candidates.footing_mount[nodes.footing]
    mounts = {}
    for number in np.unique(of_mount):
        mount = nodes.candidates.mounts[number]
        uses: list[Use] = [
            ("tires", index("tires", mount.tire.id), wheels),
            ("inners", index("inners", mount.inner.id), wheels),
        ]
        if mount.lock is not None:
            uses.append(("rim-locks", index("rim-locks", mount.lock.id), wheels * mount.locks))
        mounts[number] = tuple(uses)
    footings = [mounts[i] for i in of_mount]
    built = []
    for number in nodes.wheel:
        wheel = nodes.candidates.wheels[number]
        uses = [("hubs", index("hubs", wheel.hub.id), wheels)]
        if wheel.rim is not None and wheel.spokes is not None:
            uses.append(("rims", index("rims", wheel.rim.id), wheels))
            uses.append(("spokes", index("spokes", wheel.spokes.id), wheels * wheel.rim.holes))
        if wheel.disc_wheel is not None:
            uses.append(("disc-wheels", index("disc-wheels", wheel.disc_wheel.id), wheels))
        built.append(tuple(uses))
    brakes: list[tuple[Use, ...]] = []
    for number in nodes.brake:
        brake = nodes.candidates.brakes[number]
        brakes.append(
            (
                ("rotors", index("rotors", brake.rotor.id), rotors),
                ("calipers", index("calipers", brake.caliper.id), rotors),
                ("pads", index("pads", brake.pad.id), rotors),
            )
        )
    return [footings, built, brakes]


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
    layers = {position: node_uses(model, nodes[position], position) for position in POSITIONS}
    used = {position: {use for layer in layers[position] for uses in layer for use in uses} for position in POSITIONS}
    costs = {}
    for position in POSITIONS:
        other: Position = "rear" if position == "front" else "front"
        pieces: dict[tuple[str, int], set[int]] = {}
        for family, part, count in used[other]:
            pieces.setdefault((family, part), set()).add(count)
        known, worn = {}, {}
        for use in used[position]:
            family, part, count = use
            alone = model.costs.per_vehicle(family, part, count)
            saved = max((discount(model, use, n) for n in pieces.get((family, part), ())), default=0.0)
            # Half of a discount to each position: exact where both use the part, a lower bound where one does.
            known[use] = (alone, alone - 0.5 * saved)
            worn[use] = wear(model, use, alone - 0.5 * saved)
        full, low, running = [], [], []
        for layer in layers[position]:
            full.append(np.array([sum(known[use][0] for use in uses) for uses in layer], dtype=np.float64))
            low.append(np.array([sum(known[use][1] for use in uses) for uses in layer], dtype=np.float64))
            running.append(np.array([sum(worn[use] for use in uses) for uses in layer], dtype=np.float64))
        footings, built, brakes = (tuple(layer) for layer in layers[position])
        costs[position] = NodeCosts(
            full[0], full[1], full[2], low[0], low[1], low[2], running[0], running[2], footings, built, brakes
        )
    return costs


def shared_uses(costs: dict[Position, NodeCosts]) -> dict[str, dict[Use, dict[Position, list[tuple[str, int]]]]]:
    """Nodes by use and position: which nodes of which layer use a part how often."""
    found: dict[str, dict[Use, dict[Position, list[tuple[str, int]]]]] = {}
    for position in POSITIONS:
        cost = costs[position]
        for layer, rows in (("footing", cost.footing_uses), ("wheel", cost.wheel_uses), ("brake", cost.brake_uses)):
            for number, uses in enumerate(rows):
                for use in uses:
                    key = f"{use[0]}:{use[1]}"
                    found.setdefault(key, {}).setdefault(use, {"front": [], "rear": []})[position].append(
                        (layer, number)
                    )
    return found
