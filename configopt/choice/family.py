"""Several vehicles that share parts: the best choice for all of them together, proven.

The family's model holds lists of choices.  Its continuous form prices the parts; with these prices each vehicle is
searched for choices the lists lack, until none is left that would help.  That proves a bound.  Every choice that the
gap to the best family known leaves open is then listed, and the model solved over whole choices; where too many are
left, the question is split by whether a part is used at all.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.costs import CostBook
from configopt.appraisal.parts import FAMILIES
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.alternates import without
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import Settings, Stopped, every_below, run_search
from configopt.choice.model.sharing import Column, Link, Part, PartPrice, SharingModel, build_sharing
from configopt.choice.solve import Priced, price_rows, solve
from configopt.choice.weights import Weights

Array = NDArray[np.float64]
#: Share of the aim to which a family is proven.
EXACT = 1e-6
#: Choices of one vehicle that are listed at most before the question is split.
LISTED_AT_MOST = 60_000
#: The same where there is nothing left to split.
LISTED_AT_LAST = 3_000_000
#: A vehicle without a choice counts as so many times the sum of the vehicles' best.
PENALTY = 100.0
#: The same where it would be missing in part; no family costs a ten-thousandth of that, so what is then still missing
#: more than :data:`MISSING` has no choice within what may be shared.
LAST_PENALTY = 1e6
#: Share of a vehicle without a choice that counts as none.
MISSING = 1e-4
#: Choices of a search that are listed at once.
ENTERED = 40


@dataclass(frozen=True)
class Sharing:
    """What the vehicles of a family may use together: different parts at most, and spares kept of each, by family."""

    at_most: Mapping[str, int] = field(default_factory=dict)
    spares: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Listed:
    """A listed choice: its column, and which choice of its vehicle it is."""

    column: Column
    choice: tuple[int, ...]


@dataclass(frozen=True)
class Branch:
    """A part of the question: parts that are not used, and parts that count as used."""

    out: frozenset[Part] = frozenset()
    within: frozenset[Part] = frozenset()
    bound: float = -np.inf


@dataclass(frozen=True)
class Prices:
    """What the continuous model says a part is worth: per piece, and per vehicle and position that uses it."""

    piece: dict[Part, float]
    link: dict[Link, float]
    number: dict[str, float]
    vehicle: Array

    @cached_property
    def paid(self) -> dict[Part, float]:
        """What all places in the model pay for a part."""
        found: dict[Part, float] = {}
        for (_, _, part), worth in self.link.items():
            found[part] = found.get(part, 0.0) + worth
        return found


class Member:
    """One vehicle of the family, with its candidates and what their parts are."""

    def __init__(self, candidates: Candidates, number: int, share: float, rate: float) -> None:
        self.number, self.share = number, share
        self.quantity = candidates.model.vehicle.quantity
        rates = {name: rate_ for name, rate_ in candidates.rates.items() if name != "cost"}
        self.base = Weights(Weights.of(rates).rates, drives=rate * candidates.model.drive_costs)
        self.candidates = candidates.variant(weights=self.base)

    @cached_property
    def usable(self) -> dict[tuple[Position, str], set[int]]:
        """Parts by position and family that some candidate uses."""
        found = {}
        for position in POSITIONS:
            for layer in self.candidates.parts[position]:
                for family, index in layer.index.items():
                    found[position, family] = {int(i) for i in np.unique(index) if i >= 0}
        return found

    def amounts(self, position: Position, worth: Mapping[str, Array], piece: Mapping[str, Array]) -> tuple[Array, ...]:
        """Amounts on footings, wheels and brake sets from what each part is worth, once and per piece."""
        made = []
        for number, layer in enumerate(self.candidates.parts[position]):
            total: Array = np.zeros(len(next(iter(layer.index.values()))))
            for family, index in layer.index.items():
                if family in worth:
                    # The last entry stands for no part.
                    total = total + worth[family][index] + piece[family][index] * layer.pieces[family]
            made.append(total[self.candidates.of[position].footing_mount] if number == 0 else total)
        return tuple(made)


@dataclass
class FamilySearch:
    """Search for the best family."""

    members: list[Member]
    sharing: Sharing
    rate: float
    settings: Settings
    best: float = np.inf
    found: list[Listed] | None = None
    bound: float = -np.inf
    proven: bool = False
    given_up: float = np.inf
    """Least bound of a part of the question that was left because it was within the permitted gap."""
    unfinished: bool = False
    """Whether a part of the question was left because its choices are too many to list."""
    nothing_for: int | None = None
    """A vehicle that has no choice of its own."""
    rounds: int = 0
    appraised: int = 0
    began: float = field(default_factory=time.monotonic)

    def __post_init__(self) -> None:
        self.single = replace(self.settings, solve=False, gap=EXACT, progress=None)
        self.by_parts: dict[tuple[int, tuple[tuple[str, Part], ...], tuple[tuple[Part, int], ...]], Listed] = {}
        self.built = sum(member.quantity for member in self.members)
        self.costs = CostBook(self.members[0].candidates.model.catalog, 1)
        self.counted = FAMILIES if self.rate else tuple(f for f in FAMILIES if f in self.sharing.at_most)
        self.most_pieces = self._most_pieces()
        self.prices: dict[Part, PartPrice] = {}
        self.penalty = self.last_penalty = 0.0
        self.changes = 0
        self.waiting = np.inf

    # What parts cost

    def _most_pieces(self) -> Counter[Part]:
        most: Counter[Part] = Counter()
        for member in self.members:
            for position in POSITIONS:
                per_part: dict[Part, int] = {}
                for layer in member.candidates.parts[position]:
                    for family, index in layer.index.items():
                        for part, pieces in zip(index.tolist(), layer.pieces[family].tolist(), strict=True):
                            if part >= 0:
                                key = (family, part)
                                per_part[key] = max(per_part.get(key, 0), pieces * member.quantity)
                most.update(per_part)
        return most

    def price(self, part: Part) -> PartPrice:
        """What a part costs in the family's aim."""
        if part not in self.prices:
            family, index = part
            record = self.costs.catalog.family(family)[index]
            per = self.rate / self.built
            spares = self.sharing.spares.get(family, 0)
            tiers = tuple(
                (max(tier.quantity, record.minimum_order), per * float(tier.unit_price)) for tier in record.prices
            )
            self.prices[part] = PartPrice(
                tiers if self.rate else (),
                per * float(record.one_off_cost),
                spares,
                max(self.most_pieces[part] + spares, 1),
            )
        return self.prices[part]

    def least_per_piece(self, part: Part) -> float:
        """The least that one piece of a part can come to in the aim, whatever the quantity, one-off cost included."""
        if not self.rate:
            return 0.0
        price, most = self.price(part), self.most_pieces[part]
        # The cost over the pieces is least at a tier's start or at the most that can be needed.
        least = np.inf
        for start, unit in price.tiers:
            for pieces in {max(min(start - price.spares, most), 1), most}:
                least = min(least, (max(start, pieces + price.spares) * unit + price.once) / pieces)
        return least

    def total_cost(self, columns: Sequence[Column]) -> float:
        """What the parts of whole choices cost in the aim."""
        if not self.rate:
            return 0.0
        needed: Counter[Part] = Counter()
        for column in columns:
            needed.update(dict(column.pieces))
        per = self.rate / self.built
        return sum(self.cost_of(part, pieces) * per for part, pieces in needed.items())

    def cost_of(self, part: Part, pieces: int) -> float:
        """Cost of the pieces of a part with the spares kept of it, and its one-off cost [currency]."""
        return self.costs.per_vehicle(part[0], part[1], pieces + self.sharing.spares.get(part[0], 0))

    # Lists of choices

    def enter(self, member: Member, choices: Choices, quantities: Array) -> None:
        """List choices; of several with the same parts in the same numbers the best is kept."""
        values = member.share * member.candidates.variant(weights=member.base).weighed(choices, quantities)
        rows = member.candidates.part_rows(choices)
        ids = np.concatenate([choices.front, choices.rear, choices.drive[:, None]], axis=1)
        for number in np.argsort(values, kind="stable"):
            uses: list[tuple[str, Part]] = []
            pieces: Counter[Part] = Counter()
            for position in POSITIONS:
                for family in self.counted:
                    index = int(rows[position].index[family][number])
                    if index >= 0:
                        uses.append((position, (family, index)))
                        if self.rate:
                            pieces[family, index] += int(rows[position].pieces[family][number]) * member.quantity
            column = Column(member.number, float(values[number]), tuple(uses), tuple(sorted(pieces.items())))
            # The same parts may be needed in other numbers, such as one rim lock or two.
            key = (column.vehicle, column.uses, column.pieces)
            known = self.by_parts.get(key)
            if known is None or column.value < known.column.value - 1e-12 * abs(known.column.value):
                self.by_parts[key] = Listed(column, tuple(int(i) for i in ids[number]))
                self.changes += 1

    def listed_choices(self, member: Member, branch: Branch) -> Choices | None:
        """What is listed of a vehicle."""
        own = [one.choice for one in self.columns(branch) if one.column.vehicle == member.number]
        if not own:
            return None
        rows = np.array(own, dtype=np.int64)
        return Choices(rows[:, :3], rows[:, 3:6], rows[:, 6])

    def columns(self, branch: Branch) -> list[Listed]:
        """Listed choices without the parts that are out, in an order that does not depend on how they were found."""
        kept = [one for one in self.by_parts.values() if not any(part in branch.out for _, part in one.column.uses)]
        return sorted(kept, key=lambda one: (one.column.vehicle, one.column.value, self.names(one)))

    def names(self, one: Listed) -> tuple[str, ...]:
        """Ids of the parts of a listed choice, so that the order of a catalog decides nothing."""
        return tuple(self.costs.catalog.family(family)[index].id for _, (family, index) in one.column.uses)

    # The search

    def left(self) -> float | None:
        """Seconds left."""
        limit = self.settings.time_limit
        return None if limit is None else limit - (time.monotonic() - self.began)

    def check(self) -> None:
        """End the search where it was asked to."""
        left = self.left()
        if self.settings.stop.asked or (left is not None and left <= 0.0):
            raise Stopped

    def say(self, text: str) -> None:
        """Progress, if anybody listens."""
        if self.settings.progress is not None:
            self.settings.progress(text)

    def run(self) -> None:
        """Find the best family and prove it, as far as time allows."""
        queue = [Branch()]
        try:
            if not self.begin():
                self.proven = True
                return
            while queue:
                queue.sort(key=lambda branch: branch.bound)
                branch = queue.pop(0)
                self.waiting = min((other.bound for other in queue), default=np.inf)
                self.bound = min(branch.bound, self.given_up, self.best)
                if self.closed(branch.bound):
                    break
                queue += self.settle(branch)
            else:
                self.bound = min(self.given_up, self.best)
        except Stopped:
            return
        self.proven = not self.unfinished

    def begin(self) -> bool:
        """The best choice of every vehicle for itself; ``False`` where one has none."""
        total = 0.0
        for member in self.members:
            self.check()
            self.say(f"{member.candidates.model.vehicle.name}: looking for its best choice")
            found = self.search(member, Branch(), self.alone())
            if found is None:
                self.nothing_for = member.number
                return False
            total += found
        self.penalty, self.last_penalty = PENALTY * max(total, 1e-3), LAST_PENALTY * max(total, 1e-3)
        # A family that meets the sharing limits keeps the first prices sensible: all with the parts of one of them.
        for member in self.members if self.sharing.at_most else ():
            best = min(
                (one for one in self.by_parts.values() if one.column.vehicle == member.number),
                key=lambda one: (one.column.value, self.names(one)),
            )
            self.search_with({part for _, part in best.column.uses}, Branch())
        self.solve_whole(Branch())
        return True

    def search_with(self, kept: set[Part], branch: Branch) -> None:
        """Choices that use only some parts, of families that are limited."""
        out = branch.out | {
            (family, index)
            for family in self.sharing.at_most
            for index in range(len(self.costs.catalog.family(family)))
            if (family, index) not in kept
        }
        for member in self.members:
            self.search(member, replace(branch, out=frozenset(out)), self.alone())

    def alone(self) -> Prices:
        """Prices before the model has any: the least that each piece can cost."""
        return Prices({}, {}, {}, np.full(len(self.members), np.inf))

    def closed(self, bound: float) -> bool:
        """Whether nothing better than the best can lie above a bound."""
        return self.found is not None and self.best - bound <= max(EXACT, self.settings.gap) * abs(self.best)

    def settle(self, branch: Branch) -> list[Branch]:
        """Close a part of the question, or split it."""
        prices, own, made, solution = self.priced(branch)
        if sum(solution.of(variable) for variable in made.missing) > MISSING and self.penalty < self.last_penalty:
            # A vehicle may be missing in part because that is cheap, not because nothing else is possible.
            self.penalty = self.last_penalty
            prices, own, made, solution = self.priced(branch)
        if sum(solution.of(variable) for variable in made.missing) > MISSING:
            return []
        bound = max(own, branch.bound)
        self.try_parts(branch, made, solution)
        self.solve_whole(branch)
        if self.closed(bound):
            self.given_up = min(self.given_up, bound)
            return []
        # Prices prove their own bound; what they leave open is counted from there.
        gap = self.best - own
        if np.isfinite(gap) and self.list_all(branch, prices, gap, LISTED_AT_MOST):
            self.solve_whole(branch)
            return []
        split = self.doubtful(branch, made, solution)
        if split is None:
            # Every part is in use or not, and only the choices are left open.
            if np.isfinite(gap) and self.list_all(branch, prices, gap, LISTED_AT_LAST):
                self.solve_whole(branch)
            else:
                self.given_up, self.unfinished = min(self.given_up, bound), True
            return []
        return [
            replace(branch, out=branch.out | {split}, bound=bound),
            replace(branch, within=branch.within | {split}, bound=bound),
        ]

    def priced(self, branch: Branch) -> tuple[Prices, float, SharingModel, Priced]:
        """Prices of the continuous model when no search finds a choice that would help, and the bound they prove."""
        while True:
            self.check()
            self.rounds += 1
            listed = self.columns(branch)
            made = self.build(listed, branch, whole=False)
            solution = price_rows(made.model)
            prices = self.read_prices(made, solution)
            before, lacking = self.changes, 0.0
            for member in self.members:
                least = self.search(member, branch, prices)
                assert least is not None
                lacking += max(float(prices.vehicle[member.number]) - least, 0.0)
            low = solution.value - lacking
            self.say(f"family: {len(listed)} choices listed, at least {low:.6g}, at most {self.best:.6g}")
            if self.found is not None and low > 0.0:
                self.bound = max(self.bound, min(low, self.waiting, self.given_up, self.best))
            if self.changes == before or lacking <= 0.1 * EXACT * abs(solution.value):
                return prices, solution.value - lacking, made, solution

    def try_parts(self, branch: Branch, made: SharingModel, solution: Priced) -> None:
        """Choices that use only those parts that the continuous model uses most, of families that are limited."""
        kept: set[Part] = set()
        for family, number in self.sharing.at_most.items():
            used = sorted((-solution.of(variable), part) for part, variable in made.used.items() if part[0] == family)
            kept |= {part for _, part in used[:number]}
        self.search_with(kept, branch)

    def build(self, listed: Sequence[Listed], branch: Branch, *, whole: bool) -> SharingModel:
        """The model over listed choices."""
        parts = {part for one in listed for part, _ in one.column.pieces}
        return build_sharing(
            [one.column for one in listed],
            len(self.members),
            prices={part: self.price(part) for part in parts},
            at_most=self.sharing.at_most,
            penalty=self.penalty,
            whole=whole,
            out=branch.out,
            within=branch.within,
        )

    def read_prices(self, made: SharingModel, solution: Priced) -> Prices:
        """What the continuous model says parts are worth."""
        return Prices(
            piece={part: max(-solution.dual(row) / self.price(part).most, 0.0) for part, row in made.amounts.items()},
            link={link: max(-solution.dual(row), 0.0) for link, row in made.links.items()},
            number={family: max(-solution.dual(row), 0.0) for family, row in made.numbers.items()},
            vehicle=np.array([solution.dual(row) for row in made.one_each]),
        )

    def weights(self, member: Member, prices: Prices, branch: Branch) -> Weights:
        """The aim of one vehicle with what its parts are worth to the family."""
        catalog = self.costs.catalog
        usable = member.usable
        nodes: dict[Position, tuple[Array, Array, Array]] = {}
        for position in POSITIONS:
            worth, piece = {}, {}
            for family in self.counted:
                size = len(catalog.family(family))
                once, each = np.zeros(size + 1), np.zeros(size + 1)
                for index in usable.get((position, family), ()):
                    part = (family, index)
                    each[index] = prices.piece[part] if part in prices.piece else self.least_per_piece(part)
                    link = (member.number, position, part)
                    if link in prices.link:
                        once[index] = prices.link[link]
                    elif part not in branch.within:
                        once[index] = self.spread(part, prices)
                worth[family], piece[family] = once / member.share, each * member.quantity / member.share
            amounts = member.amounts(position, worth, piece)
            nodes[position] = (amounts[0], amounts[1], amounts[2])
        return Weights(member.base.rates, nodes, member.base.drives)

    def spread(self, part: Part, prices: Prices) -> float:
        """What is left of a part's worth for a place that no listed choice has it in.

        The family gains nothing by a part as long as what all places pay for it stays below what its use costs; what
        the places in the model do not pay is shared out among the others.
        """
        free = self.free_places(part, prices)
        if not free:
            return 0.0
        room = prices.number.get(part[0], 0.0)
        if part in prices.piece:
            price, worth = self.price(part), prices.piece[part]
            # The least that a tier costs beyond what its pieces are worth.
            least = min(
                unit * start - worth * price.most
                if start >= price.most
                else (unit - worth) * (start if unit >= worth else price.most)
                for start, unit in price.tiers
            )
            room += price.once + worth * price.spares + least
        return max(room - prices.paid.get(part, 0.0), 0.0) / free

    def free_places(self, part: Part, prices: Prices) -> int:
        """Vehicles and positions that could use a part and have no listed choice that does."""
        return sum(
            part[1] in member.usable.get((position, part[0]), ()) and (member.number, position, part) not in prices.link
            for member in self.members
            for position in POSITIONS
        )

    def search(self, member: Member, branch: Branch, prices: Prices) -> float | None:
        """The least value of a vehicle's choices with what its parts are worth; what is met on the way is listed."""
        weights = self.weights(member, prices, branch)
        candidates = member.candidates.variant(weights=weights, open_to=without(member.candidates, branch.out))
        limit = float(prices.vehicle[member.number]) / member.share
        met: list[tuple[Choices, Array]] = []
        search, proven = run_search(
            candidates,
            replace(self.single, time_limit=self.left()),
            start=self.listed_choices(member, branch),
            cutoff=limit,
            watch=lambda choices, found: met.append((choices, found)),
        )
        self.appraised += search.appraised
        if not proven:
            raise Stopped
        for choices, found in met:
            values = candidates.weighed(choices, found)
            near = np.flatnonzero(values <= limit)
            near = near[np.argsort(values[near], kind="stable")[:ENTERED]]
            self.enter(member, choices.take(near), found[near])
        if search.found is None:
            return limit * member.share if np.isfinite(limit) else None
        return min(search.best, search.bound) * member.share

    def list_all(self, branch: Branch, prices: Prices, gap: float, most: int) -> bool:
        """List every choice that the gap leaves open; ``False`` where those are too many."""
        for member in self.members:
            self.check()
            weights = self.weights(member, prices, branch)
            candidates = member.candidates.variant(weights=weights, open_to=without(member.candidates, branch.out))
            cutoff = (float(prices.vehicle[member.number]) + gap * (1.0 + 1e-6)) / member.share
            self.say(f"{member.candidates.model.vehicle.name}: listing what the gap leaves open")
            found = every_below(candidates, replace(self.single, time_limit=self.left()), cutoff, most)
            if found is None:
                return False
            self.enter(member, *found)
        return True

    def solve_whole(self, branch: Branch) -> None:
        """The best family over the listed choices."""
        listed = self.columns(branch)
        made = self.build(listed, branch, whole=True)
        solution = solve(
            made.model, time_limit=self.left(), threads=self.settings.threads, stop=self.settings.stop, presolve=True
        )
        if solution.values is not None:
            picked = [listed[i] for i, variable in enumerate(made.chosen) if solution.of(variable) > 0.5]
            if len(picked) == len(self.members):
                columns = [one.column for one in picked]
                value = sum(column.value for column in columns) + self.total_cost(columns)
                if value < self.best - 1e-12 * abs(value):
                    self.best, self.found = value, picked
        if solution.status == "stopped":
            raise Stopped

    def doubtful(self, branch: Branch, made: SharingModel, solution: Priced) -> Part | None:
        """The part whose use the continuous model leaves most open, of limited families if there is one."""
        open_parts = [
            (abs(solution.of(variable) - 0.5), part)
            for part, variable in made.used.items()
            if part not in branch.out and part not in branch.within
        ]
        limited = [row for row in open_parts if row[1][0] in self.sharing.at_most and row[0] < 0.5 - 1e-6]
        rest = [row for row in open_parts if row[0] < 0.5 - 1e-6]
        return min(limited or rest, default=(0.0, None))[1]


def choices_of(listed: Sequence[Listed], vehicle: int) -> Choices:
    """The choice of a vehicle."""
    one = next(one for one in listed if one.column.vehicle == vehicle)
    return Choices(
        np.array([one.choice[:3]], dtype=np.int64),
        np.array([one.choice[3:6]], dtype=np.int64),
        np.array([one.choice[6]], dtype=np.int64),
    )


def find_family(
    candidates: Sequence[Candidates],
    sharing: Sharing,
    settings: Settings,
    known: Sequence[Choices | None] = (),
) -> FamilySearch:
    """Search for the best choices of several vehicles together.

    Parameters
    ----------
    candidates : of every vehicle, of one catalog and with the same rates
    sharing : what is limited or kept in common
    settings : of the searches
    known : a choice of each vehicle to begin with, where there is one

    Notes
    -----
    The aim is the mean over all vehicles built: each vehicle's rates times its quantities, and the rate of the cost
    times what all parts of the family cost together.
    """
    built = sum(one.model.vehicle.quantity for one in candidates)
    rate = candidates[0].rates["cost"]
    members = [Member(one, number, one.model.vehicle.quantity / built, rate) for number, one in enumerate(candidates)]
    search = FamilySearch(members, sharing, rate, settings)
    for member, choice in zip(members, known, strict=False):
        if choice is not None:
            rows, quantities = member.candidates.meeting(choice)
            search.enter(member, choice.take(rows), quantities)
    search.run()
    return search
