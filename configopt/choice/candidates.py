"""Coefficient tables with bounds: everything the optimisation model needs, for one vehicle and one box of masses."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.choice import limits as lim
from configopt.choice.conditions import ConditionBounds, contexts_in, counted_in_bound
from configopt.choice.context import CELLS, Box, Context, Integers, Nodes, contexts
from configopt.choice.costing import NodeCosts, node_costs
from configopt.choice.losses import LegLoss, leg_losses
from configopt.choice.rows import LimitRows, energy_part
from configopt.choice.rows import rows as limit_rows
from configopt.choice.terms import ROW_SLACK, BadPairs, Row, Term
from configopt.choice.weights import Weights
from configopt.scenario.limits import LIMITS

Array = NDArray[np.float64]
LAYERS = ("footings", "wheels", "brake sets")
#: Which footings, wheels and brake sets of a position are open, of all its candidates.
OpenTo = Mapping[Position, tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]]
#: Bounds are made again where no more than this share of the nodes is left.
REMAKE_SHARE = 0.9


@dataclass(frozen=True)
class Instance:
    """One box of the choice: nodes, aim and limits as bounds.

    ``allowed`` says in which cells of rest mass a footing can meet its own limits; ``rest_low`` and ``rest_high``
    are the resulting ranges.
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
    weights: Weights
    others: tuple[ConditionBounds, ...] = ()
    """Further conditions of the vehicle, whose limits are among the rows."""
    prices: dict[str, float] = field(default_factory=dict)
    """What one unit of a row is worth in the aim, by row name: for a choice that meets the limits a row is at most its
    right side, so any price >= 0 times the difference may be added to the aim's lower bound."""

    @property
    def rates(self) -> dict[str, float]:
        """Rates of the aim."""
        return self.weights.rates

    def weighed_losses(self) -> Iterator[tuple[float, LegLoss]]:
        """Losses of every leg in every condition that counts in the aim's bound, and how much it counts."""
        every = (self.losses, *(other.losses for other in self.others))
        for share, losses in zip(counted_in_bound(self.model, self.weights.mix), every, strict=True):
            if share > 0.0:
                yield from ((share, loss) for loss in losses)

    def priced(self, prices: dict[str, float]) -> Instance:
        """The same with prices on its rows."""
        return replace(self, prices=prices)

    def priced_rows(self) -> Iterator[tuple[Row, float]]:
        """Rows that carry a price."""
        for row in self.rows:
            price = self.prices.get(row.name, 0.0)
            if price > 0.0:
                yield row, price

    def nodes(self, position: Position) -> Nodes:
        """Nodes of a position."""
        return self.contexts[position].nodes


def make_instance(
    model: VehicleModel,
    nodes: dict[Position, Nodes],
    box: Box,
    drives: Integers,
    weights: Weights,
    removed: Counter[str] | None = None,
    *,
    cells: int = CELLS,
) -> Instance | None:
    """Bounds of everything in a box, or ``None`` where nothing in it can meet the limits.

    ``cells`` says how fine the bounds are.  Nodes that fail a limit of their own at every point of the box are
    dropped first; ``removed`` counts them by limit.
    """
    counts: Counter[str] = Counter() if removed is None else removed
    part = dict(nodes)
    while True:
        made = contexts(model, part, box, drives, cells)
        if made is None:
            return None
        others = [contexts_in(other, made) for other in model.others]
        allowed = {position: lim.allowed_cells(made[position], drives, counts) for position in POSITIONS}
        wheels = {position: lim.allowed_wheels(made[position], drives, counts) for position in POSITIONS}
        for other in others:
            for position in POSITIONS:
                allowed[position] = lim.allowed_cells(other[position], drives, counts, allowed[position])
                wheels[position] = lim.allowed_wheels(other[position], drives, counts, wheels[position])
        dropped = False
        for position in POSITIONS:
            here = made[position].nodes
            footing = np.asarray(allowed[position].any(axis=1))
            kept = here.keep(footing, wheels[position], np.ones(here.brake.size, dtype=bool))
            if (
                kept.footing.size < here.footing.size
                or kept.wheel.size < here.wheel.size
                or kept.brake.size < here.brake.size
            ):
                dropped = True
            part[position] = kept
        drives_left = lim.allowed_drives(made, drives, counts)
        for other in others:
            drives_left = lim.allowed_drives(other, drives_left, counts)
        if drives_left.size == 0:
            return None
        if not dropped and drives_left.size == drives.size:
            break
        drives = drives_left
    rest_low, rest_high = {}, {}
    for position in POSITIONS:
        grid, open_cells = made[position].grid, allowed[position]
        first = open_cells.argmax(axis=1)
        last = open_cells.shape[1] - 1 - open_cells[:, ::-1].argmax(axis=1)
        index = np.arange(len(first))
        rest_low[position], rest_high[position] = grid[index, first], grid[index, last + 1]
    costs = node_costs(model, {position: made[position].nodes for position in POSITIONS})
    losses = leg_losses(model, made)
    rows, bad = limit_rows(model, made, drives, losses, costs)
    bounds = []
    for condition, other in zip(model.others, others, strict=True):
        bounds.append(ConditionBounds(condition, other, leg_losses(condition, other)))
        more_rows, more_bad = limit_rows(condition, other, drives, bounds[-1].losses, costs)
        rows += [replace(row, name=f"{row.name} {condition.condition}") for row in more_rows]
        bad += [replace(pairs, name=f"{pairs.name} {condition.condition}") for pairs in more_bad]
    instance = Instance(
        model, box, made, drives, allowed, rest_low, rest_high, costs, losses, tuple(rows), tuple(bad), weights,
        tuple(bounds),
    )  # fmt: skip
    if weights.within:
        instance = replace(instance, rows=(*instance.rows, *ceiling_rows(instance)))
    passing, kept_drives = passing_nodes(instance, counts)
    if passing is None:
        return None
    size = {p: (len(n.footing), len(n.wheel), len(n.brake)) for p, n in passing.items()}
    before = {p: (len(made[p].nodes.footing), len(made[p].nodes.wheel), len(made[p].nodes.brake)) for p in POSITIONS}
    # Making the bounds again costs time; it pays where many nodes have gone.
    left, had = (sum(sum(counts_of) for counts_of in sizes.values()) for sizes in (size, before))
    if left < REMAKE_SHARE * had or kept_drives.size != drives.size:
        return make_instance(model, passing, box, kept_drives, weights, counts, cells=cells)
    return instance


def with_ceilings(instance: Instance, model: VehicleModel, weights: Weights) -> Instance:
    """The same bounds with another aim, and with rows for those ceilings of a model that they do not know."""
    maker = LimitRows(model, instance.contexts, instance.drives, instance.losses, instance.costs)
    for bound in model.bounds:
        if bound.limit.key in model.ceilings and bound not in instance.model.bounds:
            getattr(maker, bound.limit.key)(bound)
    made = replace(instance, model=model, weights=weights, rows=(*instance.rows, *maker.found))
    return replace(made, rows=(*made.rows, *ceiling_rows(made)))


def ceiling_rows(instance: Instance) -> list[Row]:
    """Rows for the aims that must not be exceeded, each from the separable bound of that aim."""
    rows = []
    for number, ceiling in enumerate(instance.weights.within):
        alone = replace(instance, weights=ceiling.weights, prices={})
        terms, wheel, brake = {}, {}, {}
        for position in POSITIONS:
            terms[position], wheel[position], brake[position] = aim_term(alone, position)
        left, scale = ceiling.most - aim_constant(alone), max(abs(ceiling.most), 1e-9)
        rows.append(Row(f"aim {number}", "", "1", terms, wheel, brake, None, left, scale))
    return rows


def tightened(whole: Instance, model: VehicleModel, weights: Weights, open_to: OpenTo) -> Instance | None:
    """Coarse bounds of a box with another aim, within the ceilings of a model and over the candidates that are open.

    ``None`` where nothing can lie there.
    """
    instance = with_ceilings(whole, model, weights)
    nodes, drives = {p: whole.nodes(p) for p in POSITIONS}, whole.drives
    added = instance.rows[len(whole.rows) :]
    if added:
        passing, drives = passing_nodes(replace(instance, rows=added), Counter())
        if passing is None:
            return None
        nodes = passing
    nodes = open_nodes(nodes, open_to)
    if not added and not open_to:
        return instance
    return make_instance(model, nodes, whole.box, drives, weights, cells=1)


def open_nodes(nodes: dict[Position, Nodes], open_to: OpenTo) -> dict[Position, Nodes]:
    """Those of the nodes that are open."""
    kept = dict(nodes)
    for position, (footings, wheels, brakes) in open_to.items():
        here = nodes[position]
        kept[position] = here.keep(footings[here.footing], wheels[here.wheel], brakes[here.brake])
    return kept


def passing_nodes(instance: Instance, counts: Counter[str]) -> tuple[dict[Position, Nodes] | None, Integers]:
    """Nodes that pass every row with the most favourable rest of the choice."""
    keep = {
        p: [np.ones(n, dtype=bool) for n in (len(nodes.footing), len(nodes.wheel), len(nodes.brake))]
        for p, nodes in ((p, instance.nodes(p)) for p in POSITIONS)
    }
    keep_drive = np.ones(instance.drives.size, dtype=bool)
    for row in instance.rows:
        limit = LIMITS[row.limit].wording if row.limit else "an aim that counts before"
        parts = {}
        for p in POSITIONS:
            nodes = instance.nodes(p)
            sizes = (len(nodes.footing), len(nodes.wheel), len(nodes.brake))
            parts[p] = row.layer_parts(p, instance.contexts[p].grid, sizes)
        drive = row.drive if row.drive is not None else np.zeros(instance.drives.size)
        least = sum(float(part.min()) for p in POSITIONS for part in parts[p]) + float(drive.min())
        most = row.rhs + ROW_SLACK * row.scale
        for p in POSITIONS:
            for layer, part in enumerate(parts[p]):
                good = part - part.min() + least <= most
                lost = int((keep[p][layer] & ~good).sum())
                if lost:
                    counts[f"{p} {LAYERS[layer]}: {limit}"] += lost
                keep[p][layer] &= good
        good = drive - drive.min() + least <= most
        if (keep_drive & ~good).any():
            counts[f"final drives: {limit}"] += int((keep_drive & ~good).sum())
        keep_drive &= good
    kept = {}
    for p in POSITIONS:
        kept[p] = instance.nodes(p).keep(*keep[p])
        if not (kept[p].footing.size and kept[p].wheel.size and kept[p].brake.size):
            return None, instance.drives
    if not keep_drive.any():
        return None, instance.drives
    return kept, instance.drives[keep_drive]


def aim_term(instance: Instance, position: Position) -> tuple[Term, Array, Array]:
    """Separable lower bound of the aim per position: a term over footings, and amounts per wheel and brake node.

    Slip is taken at the other axle's least resistance; costs at half of the greatest discount a part could bring.
    Battery energy is bounded by the steepest line of each leg that holds everywhere.
    """
    ctx, rates = instance.contexts[position], instance.rates
    zero = np.zeros(len(ctx.nodes.footing))
    added = instance.weights.nodes.get(position)
    term = Term(zero if added is None else added[0][ctx.nodes.footing], zero)
    wheel = np.zeros(len(ctx.nodes.wheel)) if added is None else added[1][ctx.nodes.wheel]
    brake = np.zeros(len(ctx.nodes.brake)) if added is None else added[2][ctx.nodes.brake]
    if rates["mass"]:
        term = term + ctx.mass_term(rates["mass"])
    if rates["rolling_loss"]:
        for counts, loss in instance.weighed_losses():
            term = term + loss.ground(position).scaled(counts * rates["rolling_loss"] * loss.leg.share)
    if rates["energy"]:
        for counts, loss in instance.weighed_losses():
            term = term + energy_part(loss, position, instance.model).scaled(counts * rates["energy"])
    if rates["cost"]:
        cost = instance.costs[position]
        term = term + Term(rates["cost"] * cost.footing.low, zero)
        wheel = wheel + rates["cost"] * cost.wheel.low
        brake = brake + rates["cost"] * cost.brake.low
    for row, price in instance.priced_rows():
        if position in row.terms:
            term = term + row.terms[position].scaled(price)
        if position in row.wheel:
            wheel = wheel + price * row.wheel[position]
        if position in row.brake:
            brake = brake + price * row.brake[position]
    return term, wheel, brake


def aim_constant(instance: Instance) -> float:
    """What the aim holds beside the positions: chassis, air, final drive at its cheapest."""
    rates, model = instance.rates, instance.model
    total = 0.0 if instance.weights.drives is None else float(instance.weights.drives[instance.drives].min())
    if rates["energy"]:
        for counts, loss in instance.weighed_losses():
            total += (
                counts
                * rates["energy"]
                * loss.leg.share
                * (
                    loss.safe_slope * loss.constant_least(model.drive_masses[instance.drives])
                    + loss.stop_constant(float(model.drive_masses[instance.drives].min())) / model.drive_efficiency
                )
            )
    if rates["cost"]:
        total += rates["cost"] * float(model.drive_costs[instance.drives].min())
    for row, price in instance.priced_rows():
        drive = 0.0 if row.drive is None else float(row.drive.min())
        total += price * (drive - row.rhs - ROW_SLACK * row.scale)
    return total
