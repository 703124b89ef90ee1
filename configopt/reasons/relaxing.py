"""Where nothing meets every limit: the fewest limits that have to give way, by how little, and what they then allow.

A set of limits that cannot all be met together is a clash; what gives way has to take a limit out of every clash.  So
clashes are collected until every smallest set that takes one out of each of them has been tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.model import Margin
from configopt.appraisal.vehicle import Bound, Scope, VehicleModel
from configopt.choice.audit import Choices
from configopt.choice.candidates import OpenTo
from configopt.choice.closest import Asked, asked_limits
from configopt.reasons.asking import Answer, Asking, Undecided
from configopt.reasons.telling import main_figures, margins_of, named_parts

Array = NDArray[np.float64]
#: Sets of limits that are told at most, and limits in a set.
ALTERNATIVES, LARGEST = 12, 4
#: How near the least sum of changes is found, as a share of it, and searches that may take for all alternatives.
CLOSE, TESTS = 1e-3, 160
#: Work after which it stays open whether limits clash, in looks at whether to end; some seconds.
PATIENCE = 300


@dataclass(frozen=True)
class Giving:
    """A smallest set of limits that gives way, by how much in all, and the best choice that this allows."""

    limits: tuple[Asked, ...]
    change: float
    """Sum of the relative changes that is enough."""
    least: float
    """What the sum cannot be less than."""
    answer: Answer


@dataclass
class Relaxing:
    """The limits of one vehicle of which some have to give way; ``open_to`` are the candidates that are asked about."""

    asking: Asking
    open_to: OpenTo = field(default_factory=dict)
    clashes: list[frozenset[int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.asked = asked_limits(self.asking.candidates.model)

    def _some(self, out: Iterable[int], patience: float = np.inf) -> Choices | None:
        """Some choice that meets all limits but those that are out."""
        scopes = frozenset[Scope]().union(*(self.asked[number].scopes for number in out))
        return self.asking.any(self.asking.without(scopes), self._open, patience=patience)

    def smallest(self) -> list[tuple[int, ...]]:
        """Every smallest set of limits without which something meets the others, as numbers; the first stated first.

        Empty where leaving out all that may be relaxed does not help either, or it takes more than :data:`LARGEST`.

        Raises
        ------
        OutOfTime
            If a search was asked to end.
        """
        every = range(len(self.asked))
        if self._some(every) is None:
            return []
        known: list[frozenset[int]] = []
        for size in range(1, LARGEST + 1):
            found: list[tuple[int, ...]] = []
            while (tried := self._next(size, found)) is not None:
                self.asking.say(f"would {self._names(tried)} do?")
                if any(one <= frozenset(tried) for one in known) or self._allows(tried, known):
                    found.append(tried)
                    if len(found) == ALTERNATIVES:
                        return found
                else:
                    self.clashes.append(self._clash([number for number in every if number not in tried], known))
            if found:
                return found
        return []

    def _names(self, numbers: Iterable[int]) -> str:
        return " and ".join(f"leaving out {self.asked[number].bounds[0].limit.wording}" for number in numbers)

    def _allows(self, out: Sequence[int], known: list[frozenset[int]], patience: float = np.inf) -> bool:
        """Whether leaving these out lets something through; what that misses is kept, it may miss even fewer."""
        choice = self._some(out, patience)
        if choice is None:
            return False
        known.append(self._missed(choice))
        return True

    def _missed(self, choice: Choices) -> frozenset[int]:
        scopes = {
            margin.bound.scope
            for one in self.asking.candidates.outcomes(choice)
            for margin in one.margins
            if not bool(margin.met[0])
        }
        return frozenset(number for number, asked in enumerate(self.asked) if asked.scopes & scopes)

    def _next(self, size: int, found: Sequence[tuple[int, ...]]) -> tuple[int, ...] | None:
        """A set of a size that takes a limit out of every clash and was not found yet."""
        worth = sorted(frozenset[int]().union(*self.clashes)) or list(range(len(self.asked)))
        if not self.clashes:
            return (worth[0],) if size == 1 and (worth[0],) not in found else None
        for tried in combinations(worth, size):
            if tried not in found and all(clash.intersection(tried) for clash in self.clashes):
                return tried
        return None

    def _clash(self, kept: list[int], known: list[frozenset[int]]) -> frozenset[int]:
        """A small set within some limits that cannot be met together, halving what may be left out."""
        every = frozenset(range(len(self.asked)))

        def clashing(limits: Iterable[int]) -> bool:
            out = every.difference(limits)
            try:
                return not any(one <= out for one in known) and not self._allows(sorted(out), known, PATIENCE)
            except Undecided:
                return False

        return _smallest(clashing, kept)

    def least(self, numbers: Sequence[int], tries: int = TESTS) -> Giving:
        """The least sum of relative changes of some limits that lets something through, and the best choice it allows.

        Raises
        ------
        OutOfTime
            If a search was asked to end.

        Notes
        -----
        Changes of the limits are points of a box, one side per limit.  Where nothing meets the limits moved to the far
        corner of a box, the box is empty; else the choice found needs some point in it, and the box is cut in two.
        """
        limits = tuple(self.asked[number] for number in numbers)
        scopes = [one.scopes for one in limits]
        some = self._some(numbers)
        assert some is not None
        best = (float(self._changes(some, scopes).sum()), some)
        start = np.zeros(len(limits))
        for place in range(len(limits)):
            start[place], other = self._least_alone(numbers, place, scopes, max(tries // (2 * len(limits)), 1))
            if other is not None:
                best = min(best, (float(self._changes(other, scopes).sum()), other), key=lambda one: one[0])
        boxes = [(start, start + best[0])]
        tests, low, undecided = tries // 2, 0.0, np.inf
        while boxes:
            boxes.sort(key=lambda box: float(box[0].sum()))
            low = float(boxes[0][0].sum())
            if low >= best[0] * (1.0 - CLOSE) or tests >= tries:
                break
            start, end = boxes.pop(0)
            end = np.minimum(end, best[0] * (1.0 - CLOSE) - (start.sum() - start))
            side = int(np.argmax(end - start))
            middle = end.copy()
            middle[side] = 0.5 * (start[side] + end[side])
            rest = start.copy()
            rest[side] = middle[side]
            tests += 1
            model = self.asking.with_bounds(partial(_moved, scopes=scopes, shares=middle))
            boxes.append((rest, end))
            try:
                found = self.asking.any(model, self._open, patience=PATIENCE)
            except Undecided:
                undecided = min(undecided, float(start.sum()))
                continue
            if found is not None:
                needed = self._changes(found, scopes)
                best = min(best, (float(needed.sum()), found), key=lambda one: one[0])
                boxes.append((start, middle))
            boxes = [box for box in boxes if float(box[0].sum()) < best[0] * (1.0 - CLOSE)]
        if not boxes:
            low = best[0] * (1.0 - CLOSE)
        low = min(low, undecided)
        needed = self._changes(best[1], scopes) * (1.0 + 1e-12)
        model = self.asking.with_bounds(partial(_moved, scopes=scopes, shares=needed))
        answer = self.asking.ask(model=model, open_to=self._open)
        return Giving(limits, best[0], min(low, best[0]), answer)

    def _least_alone(
        self, numbers: Sequence[int], place: int, scopes: Sequence[frozenset[Scope]], tries: int
    ) -> tuple[float, Choices | None]:
        """What one limit has to give way at least, however much the others do, and the choice with the least found."""
        free = frozenset[Scope]().union(*(own for at, own in enumerate(scopes) if at != place))
        low, high, least = 0.0, np.inf, None
        some = self._some(numbers)
        if some is not None:
            high = float(self._changes(some, scopes)[place])
        for _ in range(tries):
            if high - low <= CLOSE * high:
                break
            middle = 0.5 * (low + high)
            moved = partial(_moved, scopes=[scopes[place]], shares=np.array([middle]))
            model = self.asking.with_bounds(partial(_kept, free=free, moved=moved))
            try:
                found = self.asking.any(model, self._open, patience=PATIENCE)
            except Undecided:
                break
            if found is None:
                low = middle
            else:
                high, least = min(float(self._changes(found, scopes)[place]), middle), found
        return low, least

    @property
    def _open(self) -> OpenTo | None:
        return self.open_to or None

    def _changes(self, choice: Choices, scopes: Sequence[frozenset[Scope]]) -> Array:
        """By how much each of some limits has to give way for a choice, as a share of it."""
        needed = np.zeros(len(scopes))
        for outcome in self.asking.candidates.outcomes(choice, values=True):
            for margin in outcome.margins:
                for place, own in enumerate(scopes):
                    if margin.bound.scope in own:
                        needed[place] = max(needed[place], short(margin))
        return needed


def short(margin: Margin) -> float:
    """By how much a limit is missed, as a share of what is required; 0 where it is met."""
    bound = margin.bound
    if bool(margin.met[0]):
        return 0.0
    assert margin.value is not None
    gap = bound.required - float(margin.value[0])
    return max(gap if bound.at_least else -gap, 0.0) / max(abs(bound.required), 1e-9)


def _moved(bound: Bound, scopes: Sequence[frozenset[Scope]], shares: Array) -> Bound:
    """A limit less strict by a share of itself, if it is among some."""
    for own, share in zip(scopes, shares, strict=True):
        if bound.scope in own:
            move = float(share) * max(abs(bound.required), 1e-9)
            return replace(bound, required=bound.required + (-move if bound.at_least else move))
    return bound


def _kept(bound: Bound, free: frozenset[Scope], moved: Callable[[Bound], Bound]) -> Bound | None:
    """A limit as it is moved; nothing if it is free."""
    return None if bound.scope in free else moved(bound)


def _smallest(clashing: Callable[[Iterable[int]], bool], of: list[int]) -> frozenset[int]:
    """A small part of a clashing set that clashes by itself; the smallest if it is always known what clashes.

    Half of the set is dropped at a time where the rest still clashes, as in the method known as QuickXplain (Junker,
    AAAI 2004; from memory).
    """

    def need(base: list[int], added: bool, rest: list[int]) -> list[int]:
        if added and clashing(base):
            return []
        if len(rest) == 1:
            return rest
        middle = len(rest) // 2
        first, second = rest[:middle], rest[middle:]
        of_second = need([*base, *first], bool(first), second)
        of_first = need([*base, *of_second], bool(of_second), first)
        return of_first + of_second

    return frozenset(need([], False, of))


def giving_row(giving: Giving) -> dict[str, Any]:
    """A set of limits that gives way, as JSON."""
    answer = giving.answer
    appraised = answer.appraised
    limits = []
    model: VehicleModel = answer.candidates.model
    asked = {bound.scope: bound for bound in model.bounds}
    for one in giving.limits:
        bound, limit = one.bounds[0], one.bounds[0].limit
        reached = margins_of(appraised, one.scopes)[0]
        limits.append(
            {
                "limit": limit.key,
                "terrain": bound.terrain,
                "position": reached["position"],
                "unit": reached["unit"],
                "at_least": bound.at_least,
                "required": limit.shown(bound.required),
                "allowed": limit.shown(asked[bound.scope].required),
                "reached": reached["value"],
            }
        )
    return {
        "limits": limits,
        "change_percent": 100.0 * giving.change,
        "least_change_percent": 100.0 * giving.least,
        "aim": answer.value,
        "figures": main_figures(appraised),
        "choice": named_parts(appraised),
    }


def relaxing(asking: Asking, open_to: OpenTo | None = None) -> list[dict[str, Any]]:
    """Every smallest set of limits that has to give way, the least sum of relative changes first.

    Parameters
    ----------
    asking : a vehicle for which nothing that is open meets every limit
    open_to : which candidates are open

    Returns
    -------
    list of dict
        Empty where no :data:`LARGEST` limits that may be relaxed are enough.

    Raises
    ------
    OutOfTime
        If a search was asked to end.
    """
    of = Relaxing(asking, open_to or {})
    found, smallest = [], of.smallest()
    for numbers in smallest:
        asking.say(f"by how little? {of._names(numbers)}")
        found.append(of.least(numbers, TESTS // len(smallest)))
    return [giving_row(one) for one in sorted(found, key=lambda one: one.change)]
