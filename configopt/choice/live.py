"""Choosing again after a change of limits, prices or what is open, as a planner moves them.

What is kept between two answers, and what it assumes:

* what fits and the tables of parts - nothing that may be changed here;
* coarse bounds of everything, made without any limit - they hold whatever the limits are; what they say of costs is
  made again when a price changes;
* choices that came close before - they are appraised again each time, so they only spare work;
* the last answer - where everything asked since is at least as strict at the same prices, and some of its best choices
  still meet it, these are the answer: nothing that was not there before can have come in.

Everything finer is made anew, over what the coarse bounds leave open under the best of those choices.  The answer is
that of a first search: the same bounds, the same appraisal, the same proof.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Part
from configopt.choice.alternates import part_number, without
from configopt.choice.audit import Candidates, Choices
from configopt.choice.boxes import full_box
from configopt.choice.candidates import Instance, make_instance
from configopt.choice.choose import EXACT, Settings, footing_marginals, require_one_vehicle, run_search
from configopt.choice.costing import node_costs
from configopt.choice.incumbent import improved, ranks
from configopt.choice.ties import first_tie, record_of
from configopt.errors import UsageError
from configopt.quantities import Figure
from configopt.scenario.case import Case
from configopt.scenario.records import LimitRecord, VehicleChoiceRecord

Array = NDArray[np.float64]
#: Choices that are kept because they came close.
KEPT = 2_000


@dataclass(frozen=True)
class Change:
    """What differs from the scenario: the limits stated instead, factors on prices by part id, parts that are out."""

    limits: Sequence[LimitRecord] | None = None
    prices: Mapping[str, float] | None = None
    out: Collection[str] = ()


@dataclass(frozen=True)
class Rechosen:
    """An answer: the best choices, which tie, their aim and a proven bound on it.

    ``ties`` is ``None`` where nothing meets the limits or, if not ``proven``, where nothing was found in time.
    """

    proven: bool
    ties: Choices | None
    aim: float
    bound: float
    candidates: Candidates
    appraised: int

    @cached_property
    def choice(self) -> VehicleChoiceRecord | None:
        """The first of the best choices."""
        return None if self.ties is None else record_of(self.candidates, first_tie(self.candidates, self.ties))


def coarse_bounds(candidates: Candidates) -> Instance | None:
    """Bounds of everything that hold whatever the limits are; ``None`` where nothing fits.

    For a vehicle without further conditions.
    """
    if not all(candidates.of[p].package_count() for p in POSITIONS):
        return None
    free = VehicleModel(candidates.model.vehicle, candidates.model.catalog)
    free.bounds = ()
    box, nodes = full_box(candidates), candidates.nodes()
    return make_instance(free, nodes, box, candidates.drives, candidates.weights, cells=1)


class LiveChoice:
    """One vehicle whose choice is asked for again and again."""

    def __init__(self, candidates: Candidates) -> None:
        """Prepare what all answers share.

        Raises
        ------
        UsageError
            A vehicle with several conditions.
        """
        if candidates.model.others:
            raise UsageError("choosing live takes one vehicle as stated, without conditions")
        self.candidates = candidates
        #: Choices that came close in earlier answers; they only spare work.
        self.close_choices = Choices.join([])
        #: What was asked last, with its answer.
        self.last: tuple[Change, Rechosen] | None = None
        self._whole = coarse_bounds(candidates)
        self._priced = self.candidates.model.catalog

    @staticmethod
    def of(case: Case) -> LiveChoice:
        """For the one vehicle of a case.

        Raises
        ------
        UsageError
            A scenario with several vehicles, aims in order, alternates or conditions.
        """
        require_one_vehicle(case)
        if case.scenario.aims.in_order:
            raise UsageError(f"{case.path}: choosing live takes one weighted aim")
        return LiveChoice(Candidates(case.vehicle, case.catalog, case.scenario.aims))

    def choose(self, change: Change, settings: Settings | None = None) -> Rechosen:
        """The best choice under a change of the scenario as it stands in its file.

        Raises
        ------
        UsageError
            A part that the catalogs do not have, or a factor on a price that is not above 0.
        """
        settings = settings or Settings()
        candidates = self._changed(change)
        if self._whole is None:
            return Rechosen(True, None, np.inf, np.inf, candidates, 0)
        answer = self._still(candidates, change)
        if answer is None:
            answer = self._searched(candidates, settings)
        self.last = change, answer
        return answer

    def _still(self, candidates: Candidates, change: Change) -> Rechosen | None:
        """The last answer's best choices as far as they meet what is asked now, if nothing better can have come in."""
        if self.last is None:
            return None
        before, last = self.last
        if not last.proven or last.ties is None or dict(before.prices or {}) != dict(change.prices or {}):
            return None
        if not set(before.out) <= set(change.out) or not stricter(candidates.model, last.candidates.model):
            return None
        if last.bound < last.aim - EXACT * max(abs(last.aim), 1e-9):
            # Within a wide gap there may be better ones, and the ties are not complete.
            return None
        ties = candidates.opened(last.ties)
        ties = ties.take(candidates.meeting(ties)[0])
        if not len(ties):
            return None
        return Rechosen(True, ties, last.aim, last.bound, candidates, len(ties))

    def _searched(self, candidates: Candidates, settings: Settings) -> Rechosen:
        around = self._around(candidates)
        start = candidates.opened(self.close_choices)
        near = Near(KEPT)
        search, proven = run_search(
            candidates, settings, start=self._good(candidates, around, start), around=around, seen=near.keep
        )
        self.close_choices = near.best(self.close_choices)
        return Rechosen(proven, search.found, search.best, search.bound, candidates, search.appraised)

    def _good(self, candidates: Candidates, around: Instance, start: Choices) -> Choices:
        """Choices that came close before, and where none of them meets the limits now, one mended from the best."""
        if not len(start) or candidates.meeting(start)[0].size:
            return start
        ranked = ranks(around, footing_marginals(around))
        rng = np.random.default_rng(1)
        mended, (missed, _) = improved(candidates, around, ranked, start.take(np.array([0])), rng)
        return start if missed else mended

    def _changed(self, change: Change) -> Candidates:
        """The candidates under a change."""
        of, vehicle = self.candidates, self.candidates.model.vehicle
        if change.limits is not None:
            vehicle = vehicle.model_copy(update={"limits": list(change.limits)})
        catalog = repriced(of.model.catalog, change.prices or {})
        parts = [part_number(catalog, identifier) for identifier in change.out]
        model = of.model
        if change.limits is not None or change.prices:
            model = VehicleModel(vehicle, catalog)
        return of.variant(model, open_to=without(of, frozenset(parts)) if parts else {})

    def _around(self, candidates: Candidates) -> Instance:
        """The coarse bounds with the prices of a change."""
        assert self._whole is not None
        if candidates.model.catalog is self._priced:
            return self._whole
        nodes = {p: self._whole.nodes(p) for p in POSITIONS}
        self._whole = replace(self._whole, costs=node_costs(candidates.model, nodes))
        self._priced = candidates.model.catalog
        return self._whole


def stricter(now: VehicleModel, before: VehicleModel) -> bool:
    """Whether every limit that held before still holds, at least as strict."""
    bounds = {bound.scope: bound for bound in now.bounds}
    for old in before.bounds:
        new = bounds.get(old.scope)
        if new is None or (new.required < old.required if old.at_least else new.required > old.required):
            return False
    return True


@dataclass
class Near:
    """Keeps the open choices of the least bounds."""

    most: int
    choices: Choices | None = None
    bounds: Array | None = None

    def keep(self, choices: Choices, bounds: Array) -> None:
        """Look at more choices."""
        if self.choices is not None and self.bounds is not None:
            choices, bounds = Choices.join([self.choices, choices]), np.concatenate([self.bounds, bounds])
        order = np.argsort(bounds, kind="stable")[: self.most]
        self.choices, self.bounds = choices.take(order), bounds[order]

    def best(self, others: Choices) -> Choices:
        """The kept choices and, after them, others up to the same number, each once."""
        joined = Choices.join([self.choices, others] if self.choices is not None else [others])
        return joined.take(joined.first_of_each()[: self.most])


def repriced(catalog: Catalog, factors: Mapping[str, float]) -> Catalog:
    """The catalog with the unit prices of some parts times a factor."""
    if not factors:
        return catalog
    changed: dict[str, dict[int, Part]] = {}
    for identifier, factor in factors.items():
        family, number = part_number(catalog, identifier)
        part = catalog.family(family)[number]
        if not 0.0 < factor < np.inf:
            raise UsageError(f"the price of {identifier} is to be multiplied by {factor:g}: give a factor above 0")
        tiers = [
            tier.model_copy(update={"unit_price": Figure(float(tier.unit_price) * factor)}) for tier in part.prices
        ]
        changed.setdefault(family, {})[number] = part.model_copy(update={"prices": tiers})
    return catalog.with_parts(changed)
