"""Aims that count one after the other: each is decided among the choices that the earlier ones leave.

A stage that gives nothing up leaves its exact ties, which its search has collected: the next one is decided among
these.  A stage that gives something up leaves every choice up to a ceiling of its aim: the next one is searched under
that ceiling, which the bounds know as a row and to which every appraised choice is held.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import EXACT, TIE, Search, Settings, run_search
from configopt.choice.weights import Ceiling, Weights
from configopt.scenario.records import Stage

Array = NDArray[np.float64]
Admits = Callable[[Choices, Array], NDArray[np.bool_]]


@dataclass(frozen=True)
class StageEnd:
    """How one stage ended: the least of its aim that is known, what none goes below, and whether that is the least.

    ``candidates`` are weighed by the stage; ``bound`` is ``None`` where nothing is proven.
    """

    candidates: Candidates
    give_up: float
    value: float
    bound: float | None
    exact: bool

    @property
    def most(self) -> float:
        """What the stage's aim may come to in the answer; its ties always may."""
        return self.value + (self.give_up + TIE) * abs(self.value)

    def aims(self, choices: Choices, found: Array) -> Array:
        """The stage's aim of choices, from quantities that another stage's candidates found."""
        if self.candidates.model.others:
            # Which condition of the vehicle counts depends on the aim, and with it the quantities.
            return self.candidates.appraise(choices)[0]
        return self.candidates.weighed(choices, found)


@dataclass(frozen=True)
class InOrder:
    """All stages, and the search that ended the last one: its choices are the answer and its ties."""

    search: Search
    proven: bool
    stages: tuple[StageEnd, ...]


def is_exact(search: Search, proven: bool) -> bool:
    """Whether a search ended with the best; one that was allowed a wider gap ends with an answer that is good."""
    return proven and search.given_up >= search.best - EXACT * max(abs(search.best), 1e-9)


def known_bound(search: Search) -> float | None:
    """The proven bound of a search, where there is one."""
    return None if search.bound == -float("inf") else min(float(search.bound), search.best)


def search_in_order(
    candidates: Candidates, stages: Sequence[Stage], settings: Settings, start: Choices | None = None
) -> InOrder:
    """Decide stages one after the other.

    Parameters
    ----------
    candidates : of the vehicle
    stages : in the order in which they count
    settings : of all searches together
    start : choices known before

    Returns
    -------
    InOrder
        Without stages where nothing meets the limits or nothing was found.  Stopped early, the best choices of the
        stage that was being searched are kept, and the later stages decide among these without any proof.
    """
    ends: list[StageEnd] = []
    first: Search | None = None
    allowed: Choices | None = None
    rounds, proven, listed_all, found = 0, True, True, start
    for stage in stages:
        ceilings = tuple(Ceiling(Weights.of(end.candidates.rates), end.most) for end in ends)
        weights = replace(Weights.of(stage.own_rates), within=ceilings)
        here = candidates.variant(weights=weights)
        admits = within(tuple(ends)) if ends else None
        if allowed is None:
            left = settings if first is None else replace(settings, time_limit=first.time_left())
            search, proven = run_search(here, left, start=found, admits=admits)
            rounds += search.rounds
            exact, bound = is_exact(search, proven), known_bound(search)
        else:
            search = decided(here, allowed, settings, admits)
            exact, bound = listed_all, search.best if listed_all else None
        first = first or search
        found = search.found
        if found is None:
            return InOrder(search, proven, ())
        ends.append(StageEnd(here, float(stage.give_up), search.best, bound, exact))
        if allowed is None and (not stage.give_up or not proven):
            allowed, listed_all = found, exact
        elif allowed is not None:
            allowed = allowed.take(np.flatnonzero(here.appraise(allowed)[0] <= ends[-1].most))
    assert first is not None
    search.rounds, search.began, search.removed = rounds, first.began, first.removed
    return InOrder(search, proven, tuple(ends))


def within(ends: Sequence[StageEnd]) -> Admits:
    """Which choices lie within what earlier stages leave, from their quantities."""

    def admits(choices: Choices, found: Array) -> NDArray[np.bool_]:
        good = np.ones(len(choices), dtype=bool)
        for end in ends:
            good &= end.aims(choices, found) <= end.most
        return good

    return admits


def decided(candidates: Candidates, allowed: Choices, settings: Settings, admits: Admits | None) -> Search:
    """A stage decided among listed choices, as a search that has ended."""
    search = Search(candidates, settings)
    search.offer(allowed)
    search.admits, search.bound = admits, search.best
    return search
