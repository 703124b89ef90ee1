"""Whole choices against the full model: everything a bound leaves open is appraised, nothing else is decided here."""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.conditions import over_conditions
from configopt.appraisal.forces import Side
from configopt.appraisal.model import ON_OUTCOME, Evaluation, Outcome
from configopt.appraisal.parts import Orders, PartNumbers, PartRows, orders
from configopt.appraisal.tables import PositionTables, position_tables
from configopt.appraisal.vehicle import POSITIONS, Bound, Scope, VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.choice.candidates import Instance, OpenTo, aim_constant, aim_term
from configopt.choice.checkpoint import checkpoint
from configopt.choice.conditions import tables_in
from configopt.choice.context import Nodes
from configopt.choice.packages_below import Layers, PackageList, packages_under
from configopt.choice.solve import best_prices
from configopt.choice.terms import ROW_SLACK, Row
from configopt.choice.weights import AIMS, Weights
from configopt.fit.candidates import PositionCandidates, position_candidates
from configopt.scenario.records import Aims, Vehicle

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: Choices appraised at a time.
BATCH = 10_000
#: Choices from which on a batch is screened by what most choices missed before, and how many missed it.
SCREENED, OFTEN = 1_000, 0.5


def quantities(outcome: Outcome) -> Array:
    """What the aims weigh, (n, aims) in the order of :data:`AIMS` [kg, J/m, J/m, currency]."""
    return np.stack([outcome.packages_mass, outcome.rolling_loss, outcome.energy, outcome.cost], axis=1)


@dataclass(frozen=True)
class Choices:
    """Whole choices as numbers of candidates: one row each."""

    front: Integers
    """(n, 3): footing, wheel, brake."""
    rear: Integers
    drive: Integers

    def __len__(self) -> int:
        return len(self.drive)

    def take(self, rows: NDArray[np.int64] | NDArray[np.bool_] | slice) -> Choices:
        """Some of them."""
        return Choices(self.front[rows], self.rear[rows], self.drive[rows])

    def first_of_each(self) -> Integers:
        """Rows without those that repeat an earlier one."""
        rows = np.concatenate([self.front, self.rear, self.drive[:, None]], axis=1)
        return np.sort(np.unique(rows, axis=0, return_index=True)[1])

    @staticmethod
    def join(parts: list[Choices]) -> Choices:
        """All of several."""
        if not parts:
            empty = np.zeros((0, 3), dtype=np.int64)
            return Choices(empty, empty, np.zeros(0, dtype=np.int64))
        return Choices(
            np.concatenate([part.front for part in parts]),
            np.concatenate([part.rear for part in parts]),
            np.concatenate([part.drive for part in parts]),
        )


class Candidates:
    """Everything that fits on one vehicle, with tables; appraises whole choices in batches."""

    def __init__(self, vehicle: Vehicle, catalog: Catalog, aims: Aims) -> None:
        self.model = VehicleModel(vehicle, catalog)
        self.weights = Weights.of(aims.rates)
        self.missed: dict[Scope, float] = {}
        """Share of the choices last appraised that missed a limit."""
        self.open_to: OpenTo = {}
        """What is open, where not everything is."""
        self.of: dict[Position, PositionCandidates] = {
            position: position_candidates(catalog, vehicle, position) for position in POSITIONS
        }

        self.whole: list[tuple[Instance | None, Counter[str]]] = []
        """Coarse bounds of everything, once they are made, and what the limits took away; for all variants of them."""
        self.mixes: list[tuple[float, ...]] = []
        """What each condition counts in the aim's bound, once that is chosen; for all variants."""

    @cached_property
    def tables(self) -> dict[Position, PositionTables]:
        """Tables of both positions."""
        return {position: position_tables(self.of[position]) for position in POSITIONS}

    @cached_property
    def parts(self) -> dict[Position, tuple[PartRows, PartRows, PartRows]]:
        """Part rows of both positions: mounts, wheels, brakes."""
        numbers = PartNumbers(self.model)
        return {
            p: (
                numbers.mounts(p, self.of[p].mounts),
                numbers.wheels(p, self.of[p].wheels),
                numbers.brakes(p, self.of[p].brakes),
            )
            for p in POSITIONS
        }

    def removed_by_limits(self) -> Counter[str]:
        """What the limits took away over all that fits, once that is known."""
        return self.whole[0][1] if self.whole else Counter()

    def nodes(self) -> dict[Position, Nodes]:
        """All nodes."""
        return {
            p: Nodes(
                self.of[p],
                self.tables[p],
                np.arange(len(self.of[p].footing_mount)),
                np.arange(len(self.of[p].wheels)),
                np.arange(len(self.of[p].brakes)),
            )
            for p in POSITIONS
        }

    @property
    def drives(self) -> Integers:
        """All final drives."""
        return np.arange(len(self.model.vehicle.drive.final_drives))

    def side(self, position: Position, rows: Integers, condition: VehicleModel | None = None) -> Side:
        """Tables of packages given as (footing, wheel, brake)."""
        tables = self.tables[position]
        if condition is not None:
            tables = tables_in(condition, self.of[position], tables)
        return Side(tables.footings.take(rows[:, 0]), tables.wheels.take(rows[:, 1]), tables.brakes.take(rows[:, 2]))

    def evaluation(
        self,
        choices: Choices,
        masses: tuple[Array, Array] | None = None,
        condition: VehicleModel | None = None,
    ) -> Evaluation:
        """The full model on choices, of the vehicle as stated or in a condition."""
        return Evaluation(
            condition or self.model,
            self.side("front", choices.front, condition),
            self.side("rear", choices.rear, condition),
            choices.drive,
            masses=masses,
        )

    def part_rows(self, choices: Choices) -> dict[Position, PartRows]:
        """Parts and pieces of choices at both positions."""
        found: dict[Position, PartRows] = {}
        for position in POSITIONS:
            numbers = choices.front if position == "front" else choices.rear
            mounts, wheels, brakes = self.parts[position]
            mount = self.of[position].footing_mount[numbers[:, 0]]
            found[position] = mounts.take(mount).joined(wheels.take(numbers[:, 1])).joined(brakes.take(numbers[:, 2]))
        return found

    def orders(self, choices: Choices) -> Orders:
        """What buying the parts comes to."""
        rows = self.part_rows(choices)
        return orders(self.model, rows["front"], rows["rear"], choices.drive)

    def outcome(self, choices: Choices, *, values: bool = False) -> Outcome:
        """The whole appraisal of choices, in all conditions of the vehicle."""
        every = self.outcomes(choices, values=values)
        return every[0] if len(every) == 1 else over_conditions(self.model, every, self.rates)

    def outcomes(self, choices: Choices, *, values: bool = False) -> list[Outcome]:
        """The appraisal of choices in each condition of the vehicle, as stated first."""
        bought = self.orders(choices)
        found = [self.evaluation(choices).outcome(bought, values=values)]
        for other in self.model.others:
            found.append(self.evaluation(choices, condition=other).outcome(bought, values=values))
        return found

    @property
    def rates(self) -> dict[str, float]:
        """Rates of the aim."""
        return self.weights.rates

    def weighed(self, choices: Choices, found: Array) -> Array:
        """The weighted aim of choices from their quantities (n, aims) [1]."""
        total = np.asarray(sum(self.rates[name] * found[:, column] for column, name in enumerate(AIMS)))
        for position, rows in (("front", choices.front), ("rear", choices.rear)):
            added = self.weights.nodes.get(position)  # type: ignore[call-overload]
            if added is not None:
                total = total + sum(amounts[rows[:, layer]] for layer, amounts in enumerate(added))
        return total if self.weights.drives is None else total + self.weights.drives[choices.drive]

    def quantities(self, choices: Choices) -> tuple[Array, NDArray[np.bool_]]:
        """What the aims weigh (n, aims), in SI and the order of :data:`AIMS`, and whether every limit is met."""
        found, met = [np.zeros((0, len(AIMS)))], [np.zeros(0, dtype=bool)]
        for start in range(0, len(choices), BATCH):
            checkpoint()
            outcome = self.outcome(choices.take(slice(start, start + BATCH)))
            found.append(quantities(outcome))
            met.append(outcome.met)
        return np.concatenate(found), np.concatenate(met)

    def meeting(self, choices: Choices) -> tuple[Integers, Array]:
        """Which choices meet every limit, and their quantities.

        What most choices missed before is looked at first, and what misses it is not computed any further.
        """
        rows, found = [np.zeros(0, dtype=np.int64)], [np.zeros((0, len(AIMS)))]
        for start in range(0, len(choices), BATCH):
            checkpoint()
            batch = choices.take(slice(start, start + BATCH))
            left = np.arange(len(batch))
            screens = self._screens() if len(batch) >= SCREENED else []
            for bound in screens:
                met = self.evaluation(batch.take(left)).meets_alone(bound)
                self.missed[bound.scope] = 1.0 - float(np.mean(met))
                left = left[met]
                if not left.size:
                    break
            if not left.size:
                continue
            outcome = self.outcome(batch.take(left))
            for margin in outcome.margins:
                if margin.bound.condition is None and margin.bound not in screens:
                    self.missed[margin.bound.scope] = 1.0 - float(np.mean(margin.met))
            good = np.flatnonzero(outcome.met)
            rows.append(start + left[good])
            found.append(quantities(outcome)[good])
        return np.concatenate(rows), np.concatenate(found)

    def _screens(self) -> list[Bound]:
        """Limits that most choices missed when they were last looked at, the most missed first."""
        often = [
            (self.missed[bound.scope], number, bound)
            for number, bound in enumerate(self.model.bounds)
            if self.missed.get(bound.scope, 0.0) > OFTEN and bound.limit.key not in ON_OUTCOME
        ]
        return [bound for _, _, bound in sorted(often, key=lambda row: (-row[0], row[1]))[:2]]

    def appraise(self, choices: Choices) -> tuple[Array, NDArray[np.bool_]]:
        """Aim and whether every limit is met, over any number of choices."""
        found, met = self.quantities(choices)
        return self.weighed(choices, found), met

    def opened(self, choices: Choices) -> Choices:
        """Those of some choices that use only what is open."""
        good = np.ones(len(choices), dtype=bool)
        for position, rows in (("front", choices.front), ("rear", choices.rear)):
            masks = self.open_to.get(position)  # type: ignore[call-overload]
            for layer, mask in enumerate(masks or ()):
                good &= mask[rows[:, layer]]
        return choices.take(good)

    def variant(
        self,
        model: VehicleModel | None = None,
        weights: Weights | None = None,
        open_to: OpenTo | None = None,
    ) -> Candidates:
        """The same candidates with other limits, another aim, or fewer of them open; tables are shared."""
        other = copy.copy(self)
        if model is not None:
            other.model = model
            if model.base is not self.model.base:
                other.whole, other.mixes = [], []
        if weights is not None:
            other.weights = weights
        if open_to is not None:
            other.open_to = open_to
        return other

    def count(self) -> int:
        """Number of whole choices that fit."""
        return self.of["front"].package_count() * self.of["rear"].package_count() * len(self.drives)

    def every_package(self, position: Position) -> Integers:
        """All packages of a position as (footing, wheel, brake)."""
        parts = [np.stack(triple, axis=1) for triple in self.of[position].packages()]
        return np.concatenate(parts) if parts else np.zeros((0, 3), dtype=np.int64)

    def every_choice(self, batch: int = BATCH) -> Iterator[Choices]:
        """All whole choices, a batch at a time."""
        front, rear = self.every_package("front"), self.every_package("rear")
        drives = len(self.drives)
        total = len(front) * len(rear) * drives
        for start in range(0, total, batch):
            number = np.arange(start, min(start + batch, total))
            pair, drive = number // drives, number % drives
            yield Choices(front[pair // len(rear)], rear[pair % len(rear)], drive)


def row_part(row: Row, position: Position, packages: PackageList) -> Array:
    """This position's part of a row for packages."""
    checkpoint()
    total = np.zeros(len(packages))
    if position in row.terms:
        total = total + row.terms[position].at(packages.footing, packages.rest, packages.cell)
    if position in row.wheel:
        total = total + row.wheel[position][packages.wheel]
    if position in row.brake:
        total = total + row.brake[position][packages.brake]
    return total


def row_least(row: Row, position: Position, grid: Array) -> float:
    """Least part a position can have in a row."""
    total = 0.0
    if position in row.terms:
        total += float(row.terms[position].least(grid).min())
    for values in (row.wheel.get(position), row.brake.get(position)):
        if values is not None:
            total += float(values.min())
    return total


def row_most(row: Row, position: Position, grid: Array) -> float:
    """Largest part a position can have in a row."""
    total = 0.0
    if position in row.terms:
        total += row.terms[position].greatest(grid)
    for values in (row.wheel.get(position), row.brake.get(position)):
        if values is not None:
            total += float(values.max())
    return total


def footing_least(instance: Instance, position: Position) -> Array:
    """Least separable bound of the aim over a position, for each footing."""
    term, wheel, brake = aim_term(instance, position)
    return np.asarray(term.least(instance.contexts[position].grid) + float(wheel.min()) + float(brake.min()))


def position_least(instance: Instance, position: Position) -> float:
    """Least separable bound of the aim over a position."""
    return float(footing_least(instance, position).min())


def packages_below(instance: Instance, position: Position, ceiling: float, *, most: int) -> PackageList | None:
    """Packages with a separable bound up to ``ceiling`` that no row rules out; ``None`` if more than ``most``."""
    ctx = instance.contexts[position]
    other: Position = "rear" if position == "front" else "front"
    layers = Layers(ctx.nodes, ctx.grid, instance.allowed[position], *aim_term(instance, position))
    packages = packages_under(layers, ceiling, most)
    if packages is None:
        return None
    good = np.ones(len(packages), dtype=bool)
    for row in instance.rows:
        if position in row.terms or position in row.wheel or position in row.brake:
            left = row.rhs + ROW_SLACK * row.scale - row_least(row, other, instance.contexts[other].grid)
            left -= float(row.drive.min()) if row.drive is not None else 0.0
            if row_most(row, position, ctx.grid) > left:
                good &= row_part(row, position, packages) <= left
    for pairs in instance.bad:
        if pairs.right == f"{position} brake":
            layer = packages.footing if pairs.left.endswith("footing") else packages.wheel
            good &= ~pairs.forbidden(layer, packages.brake)
    order = np.flatnonzero(good)
    order = order[np.argsort(packages.bound[order], kind="stable")]
    return packages.take(order)


def priced_bounds(instance: Instance, position: Position, packages: PackageList) -> Array:
    """Separable bound of packages with the instance's prices."""
    term, wheel, brake = aim_term(instance, position)
    value = term.at(packages.footing, packages.rest, packages.cell)
    return np.asarray(value + wheel[packages.wheel] + brake[packages.brake])


def plain_bounds(instance: Instance, position: Position, packages: PackageList) -> Array:
    """Separable bound of packages without prices."""
    return priced_bounds(instance.priced({}), position, packages)


def coupling_rows(instance: Instance) -> list[Row]:
    """Rows that hold parts of both positions."""
    return [row for row in instance.rows if all(p in row.terms or p in row.brake or p in row.wheel for p in POSITIONS)]


def can_exceed(instance: Instance, row: Row) -> bool:
    """Whether some pair of packages with some final drive can exceed a row."""
    most = 0.0 if row.drive is None else float(row.drive.max())
    most += sum(row_most(row, p, instance.contexts[p].grid) for p in POSITIONS)
    return most > row.rhs


def coupling_prices(
    instance: Instance,
    lists: dict[Position, PackageList],
    bounds: tuple[Array, ...],
    start: dict[str, float],
    enough: float,
) -> tuple[float, dict[str, float]]:
    """Prices on the rows that couple both positions, and with them the least bound of any listed pair."""
    # A row that no pair can exceed has no price; most rows go by what their nodes can reach at all.
    rows = [row for row in coupling_rows(instance) if can_exceed(instance, row)]
    parts = tuple(
        np.stack([row_part(row, p, lists[p]) / row.scale for row in rows], axis=1)
        if rows
        else np.zeros((len(lists[p]), 0))
        for p in POSITIONS
    )
    room = np.array(
        [(row.rhs - (0.0 if row.drive is None else float(row.drive.min()))) / row.scale + ROW_SLACK for row in rows]
    )
    tight = parts[0].max(axis=0) + parts[1].max(axis=0) > room if rows else np.zeros(0, dtype=bool)
    names = [(row.name, row.scale) for row, keep in zip(rows, tight, strict=True) if keep]
    least, found = best_prices(
        (bounds[0], bounds[1]),
        (parts[0][:, tight], parts[1][:, tight]),
        room[tight],
        np.array([start.get(name, 0.0) * scale for name, scale in names]),
        enough - aim_constant(instance.priced({})),
    )
    prices = {name: float(price) / scale for (name, scale), price in zip(names, found, strict=True) if price > 0.0}
    return least + aim_constant(instance.priced({})), prices
