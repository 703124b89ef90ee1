"""Every choice a bound leaves open, found by branching on lists of packages; the last step of a proof.

Two lists, one per position, are bounded with the best row prices; packages that leave no room are dropped.  A part that
both ends may share brings a price-tier discount whose place is unknown while both have a choice: the lists are then
split by that part, so that the discount becomes exact.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.parts import FAMILIES
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import (
    Choices,
    can_exceed,
    coupling_rows,
    packages_below,
    plain_bounds,
    position_least,
    row_part,
)
from configopt.choice.candidates import Instance, aim_constant
from configopt.choice.checkpoint import checkpoint
from configopt.choice.costing import Use, discount, uses_of
from configopt.choice.packages_below import PackageList
from configopt.choice.pairs import PairCheck, paired
from configopt.choice.solve import best_prices
from configopt.choice.terms import ROW_SLACK

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: Pairs of packages looked at one by one.
PAIRS_AT_MOST = 1_500_000
#: Packages of a position that may be listed.
LISTED_AT_MOST = 1_200_000
#: Packages that may be gone through in all lists; beyond that it costs less to split the box.
WORK_AT_MOST = 1_000_000
#: Splits before giving up on a list.
DEEPEST = 60


class TooLong(Exception):
    """More packages than can be listed."""


@dataclass(frozen=True)
class Listed:
    """Packages of a position with what the bounds need: aim bound without cost, row parts, cost alone, parts used."""

    packages: PackageList
    base: Array
    rows: Array
    cost: Array
    codes: Integers
    """Number of the use of each family per package, -1 for none (n, families)."""

    def take(self, index: Integers | NDArray[np.bool_]) -> Listed:
        """Some of them."""
        packages = self.packages.take(index)
        return Listed(packages, self.base[index], self.rows[index], self.cost[index], self.codes[index])

    def __len__(self) -> int:
        return len(self.base)


class Closing:
    """Search for what stays open in one instance below a ceiling."""

    def __init__(self, instance: Instance, ceiling: float, most: int) -> None:
        self.instance, self.ceiling, self.most = instance, ceiling + 1e-9 * max(abs(ceiling), 1.0), most
        self.plain = instance.priced({})
        # A row that no pair can exceed bounds nothing; the cost row is made anew for every pair of lists.
        self.coupling = [row for row in coupling_rows(instance) if row.limit != "cost" and can_exceed(instance, row)]
        self.room = np.array(
            [
                (row.rhs - (0.0 if row.drive is None else float(row.drive.min()))) / row.scale + ROW_SLACK
                for row in self.coupling
            ]
        )
        drives = float(instance.model.drive_costs[instance.drives].min())
        caps = [bound.relaxed for bound in instance.model.bounds if bound.limit.key == "cost"]
        self.cap = (min(caps) - drives) / COST_SCALE + ROW_SLACK if caps else None
        self.rate = instance.rates["cost"]
        self.fixed = aim_constant(self.plain)
        self.uses: list[Use] = []
        self.numbers: dict[Use, int] = {}
        self.same_part: dict[tuple[str, int], dict[int, int]] = {}
        """Uses of a part by their number, with their pieces."""
        self.discounts: dict[tuple[str, int, int, int], float] = {}
        self.discounted: list[int] = []
        """Families in which a part may be bought for both ends."""
        self.found: list[Choices] = []
        self.bounds: list[Array] = []
        self.size = self.work = 0
        self.work_at_most = WORK_AT_MOST if most < sys.maxsize else sys.maxsize

    def listed(self, position: Position, packages: PackageList) -> Listed:
        """Packages with their arrays."""
        cost = self.instance.costs[position]
        numbers = {"footing": packages.footing, "wheel": packages.wheel, "brake": packages.brake}
        alone: Array = np.zeros(len(packages))
        low: Array = np.zeros(len(packages))
        codes = np.full((len(packages), len(FAMILIES)), -1, dtype=np.int64)
        for layer, of in cost.layers:
            checkpoint()
            nodes, at = np.unique(numbers[layer], return_inverse=True)
            alone += of.full[numbers[layer]]
            low += of.low[numbers[layer]]
            for family in of.parts.index:
                uses, number = uses_of(family, of.parts.take(nodes))
                known = np.array([*(self._number(use) for use in uses), -1], dtype=np.int64)
                codes[:, FAMILIES.index(family)] = known[number][at.ravel()]
        base = plain_bounds(self.plain, position, packages) - self.rate * low
        rows = (
            np.stack([row_part(row, position, packages) / row.scale for row in self.coupling], axis=1)
            if self.coupling
            else np.zeros((len(packages), 0))
        )
        return Listed(packages, base, rows, alone, codes)

    def _number(self, use: Use) -> int:
        if use not in self.numbers:
            self.same_part.setdefault(use[:2], {})[len(self.uses)] = use[2]
            self.numbers[use] = len(self.uses)
            self.uses.append(use)
        return self.numbers[use]

    def costs(self, lists: dict[Position, Listed]) -> tuple[dict[Position, Array], tuple[float, int] | None]:
        """Least cost of each package when discounts are shared out, and the family whose discount is least certain.

        A part that one end uses for certain has its discount with the other end; else each end takes half.
        """
        costs = {p: lists[p].cost.copy() for p in POSITIONS}
        doubtful: tuple[float, int] | None = None
        for family in self.discounted:
            checkpoint()
            codes = {p: lists[p].codes[:, family] for p in POSITIONS}
            kinds = {p: self._kinds(codes[p]) for p in POSITIONS}
            for position in POSITIONS:
                other: Position = "rear" if position == "front" else "front"
                mine, theirs = kinds[position], kinds[other]
                # The last entry stands for no part.
                saved = np.zeros(len(self.uses) + 1)
                saved[mine] = [self._saved(int(code), theirs) for code in mine]
                if not saved.any():
                    continue
                if len(theirs) == 1 and (len(mine) > 1 or position == "front"):
                    share = 1.0
                elif len(mine) == 1:
                    share = 0.0
                else:
                    share = 0.5
                    if doubtful is None or float(saved.max()) > doubtful[0]:
                        doubtful = float(saved.max()), family
                costs[position] -= share * saved[codes[position]]
        return costs, doubtful

    def _kinds(self, codes: Integers) -> Integers:
        """Distinct numbers of uses, -1 for none."""
        return np.flatnonzero(np.bincount(codes + 1, minlength=len(self.uses) + 1)) - 1

    def prepare(self, lists: dict[Position, Listed]) -> None:
        """Find the families in which some part may be bought for both ends together, and for less."""
        if self.cap is None and self.rate == 0.0:
            return
        for family in range(len(FAMILIES)):
            front, rear = (self._kinds(lists[p].codes[:, family]) for p in POSITIONS)
            if any(self._saved(int(code), rear) > 0.0 for code in front):
                self.discounted.append(family)

    def _saved(self, code: int, others: Integers) -> float:
        """Most that a use of a part saves with one of some uses at the other end."""
        if code < 0:
            return 0.0
        use = self.uses[code]
        known = self.same_part.setdefault(use[:2], {})
        return max((self._discount(use, known[o]) for o in others.tolist() if o in known), default=0.0)

    def _discount(self, use: Use, pieces: int) -> float:
        key = (*use, pieces)
        if key not in self.discounts:
            self.discounts[key] = discount(self.instance.model, use, pieces)
        return self.discounts[key]

    def close(self, lists: dict[Position, Listed], prices: Array, depth: int = 0) -> bool:
        """Collect the open choices of two lists; False if too many stay open."""
        checkpoint()
        self.work += sum(len(found) for found in lists.values())
        if self.work > self.work_at_most:
            return False
        costs, doubtful = self.costs(lists)
        bounds, parts = [], []
        for position in POSITIONS:
            bounds.append(lists[position].base + self.rate * costs[position])
            rows = lists[position].rows
            parts.append(
                rows if self.cap is None else np.concatenate([rows, costs[position][:, None] / COST_SCALE], axis=1)
            )
        room = self.room if self.cap is None else np.append(self.room, self.cap)
        least, at = best_prices(
            (bounds[0], bounds[1]), (parts[0], parts[1]), room, prices, self.ceiling - self.fixed + 1e-6
        )
        if least + self.fixed > self.ceiling:
            return True
        priced = [bounds[i] + parts[i] @ at for i in (0, 1)]
        left = self.ceiling - self.fixed + float(at @ room)
        kept = {}
        for i, position in enumerate(POSITIONS):
            near = np.flatnonzero(priced[i] + float(priced[1 - i].min()) <= left)
            order = near[np.argsort(priced[i][near], kind="stable")]
            kept[position] = (lists[position].take(order), priced[i][order])
        front, rear = kept["front"], kept["rear"]
        reach = np.searchsorted(rear[1], left - front[1], side="right")
        if int(reach.sum()) <= PAIRS_AT_MOST:
            return self._pairs(front[0], rear[0], reach)
        if depth >= DEEPEST:
            # Where any number is wanted, every pair is looked at.
            return self.most == sys.maxsize and self._many_pairs(front[0], rear[0], reach)
        del bounds, parts, priced, costs
        now = {"front": front[0], "rear": rear[0]}
        if min(len(front[0]) / len(lists["front"]), len(rear[0]) / len(lists["rear"])) < 0.7:
            return self.close(now, at, depth + 1)  # type: ignore[arg-type]
        return all(self.close(part, at, depth + 1) for part in self._split(now, doubtful))  # type: ignore[arg-type]

    def _split(self, lists: dict[Position, Listed], doubtful: tuple[float, int] | None) -> list[dict[Position, Listed]]:
        """Two lists in parts: by the most doubtful shared part, else the longer list by its rest mass."""
        if doubtful is not None:
            family = doubtful[1]
            kinds = {p: self._kinds(lists[p].codes[:, family]) for p in POSITIONS}
            position: Position = "front" if len(kinds["front"]) <= len(kinds["rear"]) else "rear"
            codes = lists[position].codes[:, family]
            return [{**lists, position: lists[position].take(codes == code)} for code in kinds[position]]
        position = "front" if len(lists["front"]) >= len(lists["rear"]) else "rear"
        order = np.argsort(lists[position].packages.rest, kind="stable")
        half = len(order) // 2
        return [{**lists, position: lists[position].take(np.sort(part))} for part in (order[:half], order[half:])]

    def _many_pairs(self, front: Listed, rear: Listed, reach: Integers) -> bool:
        """Look at every pair under the ceiling, a part of the first list at a time."""
        part = np.cumsum(reach) // PAIRS_AT_MOST
        borders = [0, *(np.flatnonzero(np.diff(part)) + 1).tolist(), len(front)]
        return all(
            self._pairs(front.take(np.arange(start, end)), rear, reach[start:end]) for start, end in pairwise(borders)
        )

    def _pairs(self, front: Listed, rear: Listed, reach: Integers) -> bool:
        """Look at the pairs of each package of the first list with as many of the second as it reaches."""
        if not len(front) or not len(rear):
            return True
        check = PairCheck(self.instance, front.packages, rear.packages)
        nodes = {p: self.instance.nodes(p) for p in POSITIONS}
        lists: dict[Position, PackageList] = {"front": front.packages, "rear": rear.packages}
        i = np.repeat(np.arange(len(front)), reach)
        offsets = np.repeat(np.cumsum(reach) - reach, reach)
        j = np.arange(len(i)) - offsets
        if self.cap is not None:
            cost = front.cost[i] + rear.cost[j]
            for family in self.discounted:
                cost = cost - self._joint(front.codes[:, family], rear.codes[:, family], i, j)
            good = cost / COST_SCALE <= self.cap
            i, j = i[good], j[good]
        i, j = check.open(i, j, self.ceiling)
        for drive in range(self.instance.drives.size):
            checkpoint()
            good = check.good(i, j, drive)
            self.size += int(good.sum())
            if self.size > self.most:
                return False
            self.found.append(paired(self.instance, nodes, lists, i[good], j[good], drive))
            self.bounds.append(check.bounds(i[good], j[good]))
        return True

    def _joint(self, front: Integers, rear: Integers, i: Integers, j: Integers) -> Array:
        """Discount of pairs by one family."""
        kinds = self._kinds(front), self._kinds(rear)
        table = np.array([[self._saved(int(a), np.array([b])) for b in kinds[1]] for a in kinds[0]])
        place = [np.zeros(len(self.uses) + 1, dtype=np.int64) for _ in kinds]
        for at, codes in zip(place, kinds, strict=True):
            at[codes] = np.arange(len(codes))
        return np.asarray(table[place[0][front][i], place[1][rear][j]])


#: Scale of the cost row.
COST_SCALE = 500.0


def open_choices(instance: Instance, ceiling: float, *, most: int) -> tuple[Choices, Array] | None:
    """Every choice of a box whose bound is at most ``ceiling``, and its bound, by rising bound.

    ``None`` if more than ``most``, or if that takes too long to find out.

    The answer is complete: a choice that is missing has a bound above the ceiling or breaks a relaxed limit.

    Raises
    ------
    TooLong
        If even the packages of one position are too many.
    """
    closing = Closing(instance, ceiling, most)
    fixed = aim_constant(instance)
    floors = {p: position_least(instance, p) for p in POSITIONS}
    lists: dict[Position, Listed] = {}
    for position in ("rear", "front"):
        here: Position = "rear" if position == "rear" else "front"
        other: Position = "front" if position == "rear" else "rear"
        at_most = max(LISTED_AT_MOST, most)
        packages = packages_below(instance, here, closing.ceiling - fixed - floors[other], most=at_most)
        if packages is None:
            raise TooLong
        if not len(packages):
            return Choices.join([]), np.zeros(0)
        floors[here] = float(packages.bound[0])
        lists[here] = closing.listed(here, packages)
    closing.prepare(lists)
    start = np.array([instance.prices.get(row.name, 0.0) * row.scale for row in closing.coupling])
    if closing.cap is not None:
        priced = [instance.prices.get(row.name, 0.0) for row in instance.rows if row.limit == "cost"]
        start = np.append(start, (priced or [0.0])[0] * COST_SCALE)
    if not closing.close(lists, start):
        return None
    bounds = np.concatenate([*closing.bounds, np.zeros(0)])
    order = np.argsort(bounds, kind="stable")
    return Choices.join(closing.found).take(order), bounds[order]
