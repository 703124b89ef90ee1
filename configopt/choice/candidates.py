"""Coefficient tables with bounds: everything the optimisation model needs, for one vehicle and one box of masses."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.choice import limits as lim
from configopt.choice.context import CELLS, Box, Context, Integers, Nodes, contexts
from configopt.choice.costing import NodeCosts, node_costs
from configopt.choice.losses import LegLoss, leg_losses
from configopt.choice.terms import BadPairs, Row, Term

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Instance:
    """One box of the choice: nodes, aim and limits as bounds.

    ``allowed`` says in which cells of rest mass a footing can meet its own limits; ``rest_low`` and ``rest_high`` are the
    resulting ranges.
    """

    model: VehicleModel
    box: Box
    contexts: dict[Position, Context]
    drives: Integers
    allowed: dict[Position, NDArray[np.bool_]]
    rest_low: dict[Position, Array]
    rest_high: dict[Position, Array]
    costs: dict[Position, NodeCosts]
    losses: tuple[LegLoss, ...]
    rows: tuple[Row, ...]
    bad: tuple[BadPairs, ...]
    rates: dict[str, float]

    def nodes(self, position: Position) -> Nodes:
        """Nodes of a position."""
        return self.contexts[position].nodes


def make_instance(
    model: VehicleModel,
    nodes: dict[Position, Nodes],
    box: Box,
    drives: Integers,
    rates: dict[str, float],
    removed: Counter[str] | None = None,
    *,
    cells: int = CELLS,
    with_rows: bool = True,
) -> Instance | None:
    """Bounds of everything in a box, or ``None`` where nothing in it can meet the limits.

    ``cells`` says how fine the bounds are, ``with_rows`` whether limits over several parts are wanted too.  Nodes that fail a limit of their own at every point of the box are dropped first; ``removed`` counts them by limit.
    """
    counts: Counter[str] = Counter() if removed is None else removed
    part = dict(nodes)
    while True:
        made = contexts(model, part, box, drives, cells)
        if made is None:
            return None
        allowed = {position: lim.allowed_cells(made[position], drives, counts) for position in POSITIONS}
        wheels = {position: lim.allowed_wheels(made[position], drives, counts) for position in POSITIONS}
        dropped = False
        for position in POSITIONS:
            here = made[position].nodes
            footing = allowed[position].any(axis=1)
            kept = here.keep(footing, wheels[position], np.ones(here.brake.size, dtype=bool))
            if kept.footing.size < here.footing.size or kept.wheel.size < here.wheel.size or kept.brake.size < here.brake.size:
                dropped = True
            part[position] = kept
        drives_left = lim.allowed_drives(made, drives, counts)
        if drives_left.size == 0:
            return None
        if not dropped and drives_left.size == drives.size:
            break
        drives = drives_left
    rest_low, rest_high = {}, {}
    for position in POSITIONS:
        grid, cells = made[position].grid, allowed[position]
        first = cells.argmax(axis=1)
        last = cells.shape[1] - 1 - cells[:, ::-1].argmax(axis=1)
        index = np.arange(len(first))
        rest_low[position], rest_high[position] = grid[index, first], grid[index, last + 1]
    costs = {position: node_costs(model, made[position].nodes, position) for position in POSITIONS}
    losses = leg_losses(model, made)
    rows, bad = lim.rows(model, made, drives, losses, costs) if with_rows else ([], [])
    return Instance(
        model, box, made, drives, allowed, rest_low, rest_high, costs, losses, tuple(rows), tuple(bad), rates
    )


def aim_term(instance: Instance, position: Position) -> tuple[Term, Array, Array]:
    """Separable lower bound of the aim per position: a term over footings, and amounts per wheel and brake node.

    Slip is taken at the other axle's least resistance; costs at half of the greatest discount a part could bring.
    Battery energy is bounded by the steepest line of each leg that holds everywhere.
    """
    ctx, rates = instance.contexts[position], instance.rates
    zero = np.zeros(len(ctx.nodes.footing))
    term = Term(zero, zero)
    wheel = np.zeros(len(ctx.nodes.wheel))
    brake = np.zeros(len(ctx.nodes.brake))
    if rates["mass"]:
        term = term + ctx.mass_term(rates["mass"])
    if rates["rolling_loss"]:
        for loss in instance.losses:
            term = term + loss.ground(position).scaled(rates["rolling_loss"] * loss.leg.share)
    if rates["energy"]:
        for loss in instance.losses:
            factor = rates["energy"] * loss.leg.share * loss.safe_slope
            term = term + loss.traction(position).scaled(factor) + loss.stops[position].scaled(
                rates["energy"] * loss.leg.share / instance.model.drive_efficiency
            )
    if rates["cost"]:
        cost = instance.costs[position]
        term = term + Term(rates["cost"] * cost.footing_low, zero)
        wheel = wheel + rates["cost"] * cost.wheel_low
        brake = brake + rates["cost"] * cost.brake_low
    return term, wheel, brake


def aim_constant(instance: Instance) -> float:
    """What the aim holds beside the positions: chassis, air, final drive at its cheapest."""
    rates, model = instance.rates, instance.model
    total = 0.0
    if rates["energy"]:
        for loss in instance.losses:
            total += rates["energy"] * loss.leg.share * (
                loss.safe_slope * loss.constant_least(model.drive_masses[instance.drives])
                + loss.stop_constant(float(model.drive_masses[instance.drives].min())) / model.drive_efficiency
            )
    if rates["cost"]:
        total += rates["cost"] * float(model.drive_costs[instance.drives].min())
    return total


def restrict(instance: Instance, keep: dict[Position, tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]]) -> dict[Position, Nodes]:
    """Nodes of an instance after keeping some."""
    return {position: instance.nodes(position).keep(*keep[position]) for position in POSITIONS}


__all__ = ["Instance", "aim_constant", "aim_term", "make_instance", "replace", "restrict"]
