"""Which uncertain figure, moved alone within its range, makes another choice the best, and at which value.

A figure at a value is answered in two ways.  The nearest choices, the pool, are appraised: that finds a flip or none
among them.  A search among all choices proves that there is none, or finds one.  As a search costs a second or so, it
is made for the figures that come nearest to a flip; of the others the answer says that only the pool was looked at.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.model import Margin
from configopt.appraisal.parts import PartRows
from configopt.appraisal.report import margin_report
from configopt.appraisal.uncertain import UncertainFigure, uncertain_figures
from configopt.appraisal.uncertainty import INTERVAL
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.choice.ties import choices_of_record, packages_of, record_of
from configopt.reasons.asking import Answer, Asking, appraised
from configopt.reasons.elsewhere import COLUMNS, can_be_moved, keeps_numbers, record_with, told, unit_of, with_figure
from configopt.reasons.runners_up import swaps
from configopt.reasons.telling import beside
from configopt.scenario.records import Aims, VehicleChoiceRecord

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
#: Choices up to which all of them are the pool, and choices in the pool at most.
WHOLE, POOL = 4_000, 4_000
#: Ways of a figure to one of its ends that are answered by a search.
SEARCHED = 5
#: Choices whose parts count as competing: so many that meet the limits, and so many better ones that miss some; how far
#: above the best the first may lie, as a share.
COMPETING, WITHIN = 12, 0.03
#: A choice is better if its aim is lower by more than this share.
BETTER = 2e-9
#: How near the value of a flip is found: as a share of it, and at least and at most as shares of the way to the end.
CLOSE, LEAST_STEP, MOST_STEP = 2e-4, 1e-4, 1e-3
#: Points on the way to an end at which the pool is looked at, so that a flip that ends before it is seen.
POINTS = 4


@dataclass(frozen=True)
class Flip:
    """What happens to the present choice at a value of a figure: it no longer fits, misses limits, or is beaten."""

    value: float
    candidates: Candidates
    present: Choices | None
    misses: bool = False
    better: Choices | None = None
    """A better choice; where the present one does not fit or misses limits, the best one known that does not."""
    best: bool = False
    """Whether no better one than that exists."""


@dataclass
class Screened:
    """A figure at one of its ends, by the pool: where it flips first, and how near it comes where it does not."""

    figure: UncertainFigure
    end: float
    flip: Flip | None
    nearness: float
    """Below 1 the share of the way to the end at which it flips; from 1 on what is left of the way to a flip."""
    searched: bool = False


@dataclass
class Flipping:
    """One vehicle's best choice, with the nearest other choices."""

    asking: Asking
    best: Answer
    aims: Aims
    pool: Choices
    _users: dict[tuple[str, str], Choices] = field(default_factory=dict)

    @staticmethod
    def of(asking: Asking, best: Answer, aims: Aims) -> Flipping:
        """The nearest choices are all there are, those known and those that differ in one part where there are many."""
        candidates = asking.candidates
        if candidates.count() <= WHOLE:
            return Flipping(asking, best, aims, Choices.join(list(candidates.every_choice())))
        near = Choices.join([best.first, asking.known, *(swap.choices for swap in swaps(candidates, best.first))])
        return Flipping(asking, best, aims, near.take(near.first_of_each()[:POOL]))

    @cached_property
    def whole(self) -> bool:
        """Whether the pool holds every choice."""
        return self.asking.candidates.count() <= WHOLE

    @cached_property
    def today(self) -> tuple[Array, NDArray[np.bool_]]:
        """Aims of the pool, and whether every limit is met."""
        return self.asking.candidates.appraise(self.pool)

    @cached_property
    def record(self) -> VehicleChoiceRecord:
        """The present choice as a file states it."""
        return record_of(self.asking.candidates, self.best.first)

    def figures(self) -> list[UncertainFigure]:
        """The uncertain figures behind the present choice, then those of the parts of competing ones."""
        candidates = self.asking.candidates
        found: dict[Any, UncertainFigure] = {}
        rows = [self.best.first, *(self.pool.take(np.array([row])) for row in self._competing())]
        for choice in rows:
            for figure in uncertain_figures(candidates.model, packages_of(candidates, choice)):
                found.setdefault((figure.part, figure.name), figure)
        return list(found.values())

    def _competing(self) -> Integers:
        """Choices that come nearest, and better ones that miss limits, those that miss them by least first."""
        aims, met = self.today
        close = np.flatnonzero(met & (aims <= self.best.value + WITHIN * abs(self.best.value)))
        nearest = close[np.argsort(aims[close], kind="stable")[:COMPETING]]
        better = np.flatnonzero(~met & (aims < self.best.value))
        outcome = self.asking.candidates.outcome(self.pool.take(better), values=True)
        short = np.zeros(better.size)
        for margin in outcome.margins:
            assert margin.value is not None
            short = np.maximum(short, -_spare(margin, margin.value))
        return np.concatenate([nearest, better[np.argsort(short, kind="stable")[:COMPETING]]])

    def under(self, figure: UncertainFigure, value: float) -> tuple[Candidates, Choices | None, Choices]:
        """Candidates with a figure at a value, in them the present choice, if it still fits, and the pool."""
        candidates = self.asking.candidates
        if keeps_numbers(figure):
            return with_figure(candidates, figure, value), self.best.first, self._moved(figure)
        assert figure.part is not None
        family, identifier = figure.part
        catalog = candidates.model.catalog
        number = next(i for i, part in enumerate(catalog.family(family)) if part.id == identifier)
        record = record_with(figure, catalog.family(family)[number], value)
        other = Candidates(candidates.model.vehicle, catalog.with_parts({family: {number: record}}), self.aims)
        pool = Choices.join(list(other.every_choice())) if self.whole else self.asking.known_to(other, self.pool)
        return other, choices_of_record(other, self.record), pool

    def _moved(self, figure: UncertainFigure) -> Choices:
        """What a figure moves of the pool, with the best of what it leaves as it is."""
        if figure.part is None or figure.part[0] not in COLUMNS:
            return self.pool
        if figure.part not in self._users:
            family, identifier = figure.part
            number = self.asking.candidates.model.costs.number(family, identifier)
            used = np.zeros(len(self.pool), dtype=bool)
            for of in self._parts.values():
                used |= of.index[family] == number
            aims, met = self.today
            rest = np.flatnonzero(~used & met & ~_same(self.pool, self.best.first))
            rows = np.flatnonzero(used)
            if rest.size:
                rows = np.append(rows, rest[np.argmin(aims[rest])])
            self._users[figure.part] = Choices.join([self.best.first, self.pool.take(rows)])
        return self._users[figure.part]

    @cached_property
    def _parts(self) -> dict[Position, PartRows]:
        return self.asking.candidates.part_rows(self.pool)

    def flip_at(self, figure: UncertainFigure, value: float, *, search: bool) -> Flip | None:
        """What happens to the present choice with a figure at a value; ``None`` where it stays the best.

        Raises
        ------
        OutOfTime
            If a search was asked to end.
        """
        candidates, present, pool = self.under(figure, value)
        if present is None:
            return Flip(value, candidates, None)
        aims, met = candidates.appraise(present)
        if not met[0]:
            return Flip(value, candidates, present, True)
        most = _below(float(aims[0]))
        better = self._best_of(candidates, pool, most)
        if better is None and search and not self.whole:
            better = self._searched(candidates, most)
        return None if better is None else Flip(value, candidates, present, better=better)

    def _best_of(self, candidates: Candidates, pool: Choices, most: float) -> Choices | None:
        """The best of the pool that meets the limits with an aim up to a value."""
        met, found = candidates.meeting(pool)
        aims = candidates.weighed(pool.take(met), found)
        if not met.size or aims.min() > most:
            return None
        return pool.take(met[[int(np.argmin(aims))]])

    def _searched(self, candidates: Candidates, most: float) -> Choices | None:
        other = Asking(candidates, self.asking.left())
        other.known = self.asking.known_to(candidates)
        self.asking.searches += 1
        return other.any(candidates.model, cutoff=most)

    def screen(self, figure: UncertainFigure, end: float) -> Screened:
        """A figure on its way to an end, by the pool alone.

        Raises
        ------
        OutOfTime
            If there is no time left.
        """
        self.asking.left()
        flip = self.flip_at(figure, end, search=False)
        if flip is None:
            return Screened(figure, end, None, 1.0 + self._left(figure, end))
        flip = self.nearest(figure, flip, search=False)
        return Screened(figure, end, flip, (flip.value - figure.value) / (end - figure.value))

    def on_the_way(self, figure: UncertainFigure, end: float) -> Flip | None:
        """A flip within the pool before an end, so that one that is none any more at the end is seen."""
        for value in np.linspace(figure.value, end, POINTS + 1)[1:-1].tolist():
            flip = self.flip_at(figure, value, search=False)
            if flip is not None:
                return flip
        return None

    def with_best(self, figure: UncertainFigure, flip: Flip, *, search: bool) -> Flip:
        """A flip by what the present choice is, with the best choice there is instead of it.

        Raises
        ------
        OutOfTime
            If the search was asked to end.
        """
        if flip.present is not None and not flip.misses:
            return replace(flip, best=self.whole)
        _, _, pool = self.under(figure, flip.value)
        better = self._best_of(flip.candidates, pool, np.inf)
        if search and not self.whole:
            other = Asking(flip.candidates, self.asking.left())
            other.known = pool if better is None else Choices.join([better, pool])
            self.asking.searches += 1
            answer = other.ask()
            better = answer.first if answer.found else None
        return replace(flip, better=better, best=search or self.whole)

    def _left(self, figure: UncertainFigure, end: float) -> float:
        """What an end leaves of the way to a flip: of the lead over other choices, or of what is spare of a limit."""
        candidates, present, pool = self.under(figure, end)
        if present is None:
            return 0.0
        left = self._lead(candidates, present, pool) / max(self._lead_today, 1e-9 * max(abs(self.best.value), 1.0))
        for margin in candidates.outcome(present, values=True).margins:
            assert margin.value is not None
            before = self._spare_today.get((margin.bound.scope, margin.bound.condition))
            if before is not None and before > 0.0:
                left = min(left, float(_spare(margin, margin.value)[0]) / before)
        return left

    @cached_property
    def _lead_today(self) -> float:
        return self._lead(self.asking.candidates, self.best.first, self.pool)

    @cached_property
    def _spare_today(self) -> dict[Any, float]:
        margins = self.asking.candidates.outcome(self.best.first, values=True).margins
        return {
            (m.bound.scope, m.bound.condition): float(_spare(m, m.value)[0]) for m in margins if m.value is not None
        }

    def _lead(self, candidates: Candidates, present: Choices, pool: Choices) -> float:
        """By how much the present choice is better than the best other one of the pool."""
        met, found = candidates.meeting(pool)
        others = met[~_same(pool.take(met), present)]
        aims = candidates.weighed(pool.take(met), found)[~_same(pool.take(met), present)]
        own = float(candidates.appraise(present)[0][0])
        return float(aims.min()) - own if others.size else abs(own)

    def nearest(self, figure: UncertainFigure, flip: Flip, *, search: bool) -> Flip:
        """The flip nearest to today's value, from one that is known.

        What flips the choice is followed back to the value at which it begins to.  Just before, either nothing flips
        it, and that is the border, or something else does.  As there may be many of these in a row, the middle of what
        is left is tried in turn.
        """
        stays, beyond = figure.value, True
        while True:
            flip = self._begins(figure, flip, stays)
            size = self._close(figure, flip.value)
            if abs(flip.value - stays) <= 1.01 * size:
                return flip
            step = flip.value + math.copysign(size, stays - flip.value) if beyond else 0.5 * (flip.value + stays)
            other = self.flip_at(figure, step, search=search)
            if other is None:
                stays = step
            else:
                flip = other
            beyond = not beyond

    def _close(self, figure: UncertainFigure, value: float) -> float:
        low, high = ends_of(figure)
        way = max(high - figure.value, figure.value - low)
        return min(max(CLOSE * abs(value), LEAST_STEP * way), MOST_STEP * way)

    def _begins(self, figure: UncertainFigure, flip: Flip, stays: float) -> Flip:
        """Where, between a value at which the choice stays and a flip, the same thing begins to flip it."""
        size = 0.5 * self._close(figure, flip.value)
        while abs(flip.value - stays) > size:
            middle = 0.5 * (flip.value + stays)
            same = self._same_flip(figure, flip, middle)
            if same is None:
                stays = middle
            else:
                flip = same
        return flip

    def _same_flip(self, figure: UncertainFigure, flip: Flip, value: float) -> Flip | None:
        """The same flip at another value; ``None`` where it is none there."""
        candidates, present, _ = self.under(figure, value)
        if present is None:
            return Flip(value, candidates, None)
        if flip.present is None:
            return None
        better = None if flip.misses else flip.better
        if better is not None and not keeps_numbers(figure):
            better = choices_of_record(candidates, record_of(flip.candidates, better))
        # One appraisal of both costs as much as one of either.
        aims, met = candidates.appraise(present if better is None else Choices.join([present, better]))
        if not met[0]:
            return Flip(value, candidates, present, True)
        if better is None or not met[1] or aims[1] > _below(float(aims[0])):
            return None
        return Flip(value, candidates, present, better=better)


def _below(value: float) -> float:
    """Aim up to which a choice is better than one of a value."""
    return value - BETTER * max(abs(value), 1.0)


def _same(choices: Choices, one: Choices) -> NDArray[np.bool_]:
    """Which of some choices is the one."""
    same = choices.drive == one.drive[0]
    return np.asarray(same & (choices.front == one.front[0]).all(axis=1) & (choices.rear == one.rear[0]).all(axis=1))


def _spare(margin: Margin, value: Array) -> Array:
    """By how much a limit is met, as a share of what is required; below 0 where it is missed."""
    required = margin.bound.required
    over = np.asarray(value, dtype=np.float64) - required
    return np.nan_to_num((over if margin.bound.at_least else -over) / max(abs(required), 1e-9), nan=-np.inf)


def ends_of(figure: UncertainFigure) -> tuple[float, float]:
    """The ends of a figure's range [SI], between which it lies in nine cases of ten."""
    low, high = figure.at(np.array(INTERVAL)).tolist()
    return low, high


def flipping(asking: Asking, best: Answer, aims: Aims, *, every: bool = False) -> dict[str, Any]:
    """Which uncertain figure, moved alone within its range, would flip the choice, and where.

    Parameters
    ----------
    asking : the vehicle
    best : its best choices; the first of them is the present choice
    aims : of the scenario
    every : whether all figures are answered by a search, however long it takes

    Returns
    -------
    dict
        ``rows``: flips, the shortest way first, each the one nearest to today's value in its direction; ``exact``
        where no choice at all is better before it, else none of the near ones.  ``steady``: figures that flip nothing
        at either end of their range, whatever the choice; ``among_near``: those of which only the near choices say so.

    Raises
    ------
    OutOfTime
        If a search was asked to end.
    """
    of = Flipping.of(asking, best, aims)
    figures = of.figures()
    asking.say(f"{len(figures)} uncertain figures among the {len(of.pool):,} nearest choices")
    able = [figure for figure in figures if can_be_moved(asking.candidates, figure)]
    screened = [of.screen(figure, end) for figure in able for end in ends_of(figure) if end != figure.value]
    screened.sort(key=lambda one: one.nearness)
    for number, one in enumerate(screened):
        if every or of.whole or number < SEARCHED:
            asking.say(f"could the {one.figure.wording} flip the choice?")
            _search(of, one)
    flips = sorted((one for one in screened if one.flip is not None), key=lambda one: one.nearness)
    flipped = {_key(one.figure) for one in flips}
    rest = [figure for figure in able if _key(figure) not in flipped]
    open_ = {_key(one.figure) for one in screened if not one.searched}
    catalog = asking.candidates.model.catalog
    return {
        "figures": len(figures),
        "near_choices": len(of.pool),
        "every_choice": of.whole,
        "interval_percent": [100.0 * share for share in INTERVAL],
        "rows": [_row(of, one) for one in flips],
        "steady": [_named(figure, catalog) for figure in rest if _key(figure) not in open_],
        "among_near": [_named(figure, catalog) for figure in rest if _key(figure) in open_],
        "not_looked_at": [_named(figure, catalog) for figure in figures if figure not in able],
    }


def _key(figure: UncertainFigure) -> tuple[Any, str]:
    return figure.part, figure.name


def _search(of: Flipping, one: Screened) -> None:
    """Answer a figure on its way to an end for all choices."""
    search = not of.whole
    flip = one.flip or of.on_the_way(one.figure, one.end)
    if flip is None and search:
        flip = of.flip_at(one.figure, one.end, search=True)
    if flip is not None and (search or one.flip is None):
        flip = of.nearest(one.figure, flip, search=search)
    if flip is not None:
        one.flip, one.nearness = flip, (flip.value - one.figure.value) / (one.end - one.figure.value)
    one.searched = True


def _named(figure: UncertainFigure, catalog: Any) -> dict[str, Any]:
    """A figure with its range, in trade units."""
    dimension, unit = unit_of(figure, catalog)
    low, high = ends_of(figure)
    shown = [told(value, dimension, figure.name)[0] for value in (figure.value, low, high)]
    family, part = figure.part or (None, None)
    return {
        "figure": figure.wording,
        "family": family,
        "part": part,
        "unit": unit,
        "today": shown[0],
        "low": shown[1],
        "high": shown[2],
    }


def _row(of: Flipping, one: Screened) -> dict[str, Any]:
    figure = one.figure
    assert one.flip is not None
    flip = of.with_best(figure, one.flip, search=one.searched)
    candidates = flip.candidates
    dimension, _ = unit_of(figure, candidates.model.catalog)
    currency = candidates.model.catalog.currency
    mine = of.best.appraised if flip.present is None else appraised(candidates, flip.present)
    instead = None if flip.better is None else beside(mine, appraised(candidates, flip.better), candidates.rates)
    return {
        **_named(figure, of.asking.candidates.model.catalog),
        "flips_at": told(flip.value, dimension, figure.name)[0],
        "direction": "at least" if one.end > figure.value else "at most",
        "way_percent": 100.0 * one.nearness,
        "no_longer_fits": flip.present is None,
        "misses": [margin_report(margin, currency) for margin in (mine.unmet if flip.present else ())],
        "instead": instead,
        "instead_is_best": flip.best,
        "exact": one.searched,
    }
