"""One vehicle whose best choice is known, and proven answers to questions that differ from it in one thing."""

from __future__ import annotations

import copy
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_vehicle
from configopt.appraisal.vehicle import POSITIONS, Bound, Scope, VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.choice.alternates import Part
from configopt.choice.audit import Candidates, Choices
from configopt.choice.candidates import Instance, OpenTo
from configopt.choice.checkpoint import checking
from configopt.choice.choose import Search, Settings, footing_marginals, run_search
from configopt.choice.incumbent import Ranked, improved, ranks
from configopt.choice.live import Near, coarse_bounds
from configopt.choice.solve import Stop
from configopt.choice.ties import first_tie, packages_of
from configopt.scenario.records import Aims, Vehicle

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
#: Choices that are kept from the first search, and in all.
NEAR, KEPT = 4_000, 12_000
#: Choices up to which nothing is gained by looking at the most promising first.
FEW = 20_000


class OutOfTime(Exception):
    """The questions were asked to end, or their time is up."""


class Undecided(Exception):
    """A search was more work than its answer was worth."""


class Patience(Stop):
    """Ends a search after so much work: the same on every machine, however busy it is."""

    def __init__(self, of: Stop, most: float) -> None:
        self.of, self.most, self.looks = of, most, 0

    @property
    def asked(self) -> bool:
        """Whether the search is to end; every look at it counts as work."""
        self.looks += 1
        return self.of.asked or self.looks > self.most

    @asked.setter
    def asked(self, value: bool) -> None:
        self.of.asked = value


@dataclass(frozen=True)
class Answer:
    """The best choices under a question: their aim, infinite where nothing meets the limits."""

    candidates: Candidates
    value: float
    ties: Choices

    @property
    def found(self) -> bool:
        """Whether anything meets the limits."""
        return len(self.ties) > 0

    @cached_property
    def first(self) -> Choices:
        """The first of the best choices."""
        return first_tie(self.candidates, self.ties)

    @cached_property
    def appraised(self) -> VehicleAppraisal:
        """The first of the best choices through the full model."""
        return appraised(self.candidates, self.first)


def appraised(candidates: Candidates, choice: Choices) -> VehicleAppraisal:
    """One choice through the full model, from its parts."""
    return appraise_vehicle(candidates.model, packages_of(candidates, choice), int(choice.drive[0]))


@dataclass
class Asking:
    """Candidates of one vehicle, what is known of them, and the time that is left.

    Every answer is proven.  Where a search was asked to end, :class:`OutOfTime` is raised instead of half an answer.
    """

    candidates: Candidates
    settings: Settings
    began: float = field(default_factory=time.monotonic)
    known: Choices = field(default_factory=lambda: Choices.join([]))
    """Choices that were best under some question, or came close; they only spare work."""
    searches: int = 0

    @staticmethod
    def of(vehicle: Vehicle, catalog: Catalog, aims: Aims, settings: Settings) -> Asking:
        """For one vehicle."""
        return Asking(Candidates(vehicle, catalog, aims), settings)

    def say(self, text: str) -> None:
        """Progress, if anybody listens."""
        if self.settings.progress is not None:
            self.settings.progress(text)

    def left(self) -> Settings:
        """Settings of the next search.

        Raises
        ------
        OutOfTime
            If there is no time for one.
        """
        limit = self.settings.time_limit
        rest = None if limit is None else limit - (time.monotonic() - self.began)
        if self.settings.stop.asked or (rest is not None and rest <= 0.0):
            raise OutOfTime
        return replace(self.settings, time_limit=rest, solve=False, progress=None)

    @cached_property
    def few(self) -> bool:
        """Whether all choices that fit may be appraised, rather than bounded step by step."""
        return self.candidates.count() <= FEW

    @cached_property
    def coarse(self) -> Instance | None:
        """Bounds of everything that hold whatever the limits are; ``None`` for a vehicle with several conditions."""
        return None if self.candidates.model.others else coarse_bounds(self.candidates)

    def first(self) -> tuple[Search, bool]:
        """The search for the best choice as asked, and whether it is proven; what came close is kept."""
        near = Near(NEAR)
        settings = replace(self.left(), solve=self.settings.solve, progress=self.settings.progress)
        self.searches += 1
        search, proven = run_search(self.candidates, settings, seen=near.keep)
        self.known = near.best(search.found or Choices.join([]))
        return search, proven

    def ask(
        self,
        *,
        model: VehicleModel | None = None,
        open_to: OpenTo | None = None,
        cutoff: float = np.inf,
        admits: Callable[[Choices, Array], Mask] | None = None,
        watch: Callable[[Choices, Array], None] | None = None,
        patience: float = np.inf,
    ) -> Answer:
        """The best choices under other limits, with fewer candidates, or among those that are admitted.

        Parameters
        ----------
        model : the vehicle with other limits
        open_to : which candidates are open
        cutoff : value of the aim beyond which nothing is looked for; then nothing found means nothing up to it
        admits : which of the choices that meet all limits may be the answer, from their quantities
        watch : is told of every choice that meets all limits
        patience : work after which it stays undecided, in looks at whether to end

        Raises
        ------
        OutOfTime
            If the search was asked to end.
        Undecided
            If its patience ended.
        """
        other = self.candidates.variant(model, open_to=open_to)
        settings = self.left()
        if patience < np.inf and not self.few:
            settings = replace(settings, stop=Patience(settings.stop, patience))
        self.searches += 1
        if model is not None and open_to is None and admits is None:
            self._look_near(other)
        search, proven = run_search(
            other,
            settings,
            start=self.known,
            cutoff=cutoff,
            admits=admits,
            watch=watch,
            around=self.coarse,
            direct=self.few,
        )
        if not proven:
            self.left()
            raise Undecided
        return self._answer(other, search)

    def _answer(self, candidates: Candidates, search: Search) -> Answer:
        if search.found is None:
            return Answer(candidates, np.inf, Choices.join([]))
        self.keep(search.found.take(slice(0, 4)))
        return Answer(candidates, search.best, search.found)

    def _look_near(self, candidates: Candidates) -> None:
        """Keep what the best known choice becomes under other limits, changed one part at a time."""
        if self.coarse is None or not len(self.known):
            return
        met, found = candidates.meeting(self.known)
        if not met.size:
            return
        best = met[int(np.argmin(candidates.weighed(self.known.take(met), found)))]
        start, rng = self.known.take(np.array([best])), np.random.default_rng(1)
        with checking(self._check):
            self.keep(improved(candidates, self.coarse, self._ranked, start, rng)[0])

    @cached_property
    def _ranked(self) -> dict[Position, Ranked]:
        assert self.coarse is not None
        return ranks(self.coarse, footing_marginals(self.coarse))

    def _check(self) -> None:
        self.left()

    def keep(self, choices: Choices) -> None:
        """Remember choices that may be good under another question."""
        joined = Choices.join([choices, self.known])
        self.known = joined.take(joined.first_of_each()[:KEPT])

    def any(
        self,
        model: VehicleModel,
        open_to: OpenTo | None = None,
        *,
        cutoff: float = np.inf,
        patience: float = np.inf,
    ) -> Choices | None:
        """Some choice that meets the limits of a model with an aim up to a cutoff; ``None`` where there is none.

        Parameters
        ----------
        model : the vehicle with other limits
        open_to : which candidates are open
        cutoff : value of the aim beyond which nothing is looked for
        patience : work after which it stays undecided, in looks at whether to end

        Raises
        ------
        OutOfTime
            If the search was asked to end.
        Undecided
            If its patience ended.
        """
        met: list[Choices] = []

        class Enough(Exception):
            pass

        def look(choices: Choices, quantities: Array) -> None:
            good = np.flatnonzero(self.candidates.weighed(choices, quantities) <= cutoff)
            if good.size:
                met.append(choices.take(good[:10]))
                raise Enough

        try:
            self.ask(model=model, open_to=open_to, watch=look, cutoff=cutoff, patience=patience)
        except Enough:
            self.keep(met[0])
            return met[0].take(slice(0, 1))
        return None

    def known_to(self, other: Candidates, choices: Choices | None = None) -> Choices:
        """Some of its own choices, or all that are known, for other candidates in which the same things fit."""
        mine = self.candidates
        same = all(
            len(mine.of[p].footing_mount) == len(other.of[p].footing_mount)
            and len(mine.of[p].wheels) == len(other.of[p].wheels)
            and len(mine.of[p].brakes) == len(other.of[p].brakes)
            for p in POSITIONS
        )
        return (self.known if choices is None else choices) if same else Choices.join([])

    def with_bounds(self, changed: Callable[[Bound], Bound | None]) -> VehicleModel:
        """The vehicle with other limits, in all its conditions: each changed, or left out where that is ``None``."""

        def other(model: VehicleModel) -> VehicleModel:
            made = copy.copy(model)
            made.base = made
            made.bounds = tuple(new for bound in model.bounds if (new := changed(bound)) is not None)
            return made

        found = other(self.candidates.model)
        found.others = tuple(other(one) for one in self.candidates.model.others)
        return found

    def without(self, out: Iterable[Scope]) -> VehicleModel:
        """The vehicle without some limits."""
        scopes = frozenset(out)
        return self.with_bounds(lambda bound: None if bound.scope in scopes else bound)

    def using(self, part: Part, positions: Iterable[Position] = POSITIONS) -> Mapping[Position, OpenTo]:
        """What is open to choices that use a part, for each of some positions at which it can be used."""
        found = {}
        for position in positions:
            open_to = self.only(position, part)
            if all(mask.any() for mask in open_to[position]):
                found[position] = open_to
        return found

    def only(self, position: Position, part: Part) -> OpenTo:
        """Everything, but at one position only candidates that use a part."""
        family, number = part
        open_to = {}
        for place in POSITIONS:
            of = self.candidates.of[place]
            masks = [np.ones(size, dtype=bool) for size in (len(of.footing_mount), len(of.wheels), len(of.brakes))]
            if place == position:
                for layer, rows in enumerate(self.candidates.parts[place]):
                    if family in rows.index:
                        used = rows.index[family] == number
                        masks[layer] = used[of.footing_mount] if layer == 0 else used
            open_to[place] = (masks[0], masks[1], masks[2])
        return open_to

    def best_with(self, part: Part, *, cutoff: float = np.inf, model: VehicleModel | None = None) -> Answer:
        """The best choices that use a part, at whichever end.

        Raises
        ------
        OutOfTime
            If a search was asked to end.
        """
        best = Answer(self.candidates, np.inf, Choices.join([]))
        for open_to in self.using(part).values():
            found = self.ask(model=model, open_to=open_to, cutoff=min(cutoff, best.value))
            if found.found and found.value <= best.value:
                best = found
        return best
