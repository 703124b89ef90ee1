"""A shortlist for riding: choices near the best that differ most, tire first, and what rides would settle.

The pool is, for every tire at the front and for every tire at the rear, the best choice with it, as far as that lies
within the stated loss.  From it those are picked that differ most.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from configopt.appraisal.appraise import made_with
from configopt.appraisal.conditions import judged
from configopt.appraisal.one_vehicle import appraise_vehicle
from configopt.appraisal.packages import Package
from configopt.appraisal.remarks import general_cautions
from configopt.appraisal.report import report
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.boxes import OpenBox, full_box
from configopt.choice.candidates import OpenTo
from configopt.choice.choose import (
    TIE,
    Interruptible,
    Settings,
    footing_marginals,
    require_one_sum,
    require_one_vehicle,
    run_search,
    whole_box,
)
from configopt.choice.result import AGREE, Audit
from configopt.choice.ride_plan import distances, labels, pick, ride_plan, risk
from configopt.choice.ties import first_tie, packages_of, record_of
from configopt.choice.tradeoff import EXITS, KEPT, MARGINS, Status
from configopt.errors import ExitCode, UsageError
from configopt.scenario.case import Case
from configopt.scenario.records import Vehicle, VehicleChoiceRecord

#: Fewest and most candidates of a shortlist, and the loss against the best that is allowed by default.
FEWEST, MOST, WITHIN = 2, 20, 0.03


@dataclass(frozen=True)
class ShortlistEntry:
    """One candidate to ride; ``ridden`` says at which ends its tire is already on today's vehicle, at either end."""

    aim: float
    loss_percent: float
    labels: tuple[str, ...]
    ridden: dict[Position, bool]
    vehicle: dict[str, Any]
    tightest: tuple[dict[str, Any], ...]
    riskiest: dict[str, Any] | None
    """The limit most likely missed; nothing where none can be."""
    record: VehicleChoiceRecord

    def to_json(self, number: int) -> dict[str, Any]:
        """One entry of ``candidates``."""
        return {
            "number": number,
            "aim": self.aim,
            "loss_percent": self.loss_percent,
            "labels": list(self.labels),
            "ridden": dict(self.ridden),
            "vehicles": [self.vehicle],
            "tightest": list(self.tightest),
            "riskiest": self.riskiest,
        }


@dataclass(frozen=True)
class Shortlist:
    """Candidates, the best first, and the plan of rides; ``complete`` where every tire was looked at."""

    scenario: str
    status: Status
    within: float
    candidates: tuple[ShortlistEntry, ...]
    plan: tuple[dict[str, Any], ...]
    counts: dict[str, Any]
    audit: Audit
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    made_with: dict[str, Any]

    @property
    def exit_code(self) -> ExitCode:
        """How a command with this answer ends."""
        return EXITS[self.status] if self.audit.agrees else ExitCode.AUDIT_CONTRADICTS

    def to_json(self) -> dict[str, Any]:
        """JSON of schema configopt/shortlist/1."""
        return {
            "schema": "configopt/shortlist/1",
            "scenario": self.scenario,
            "status": self.status,
            "within_percent": 100.0 * self.within,
            "candidates": [entry.to_json(number) for number, entry in enumerate(self.candidates, start=1)],
            "plan": list(self.plan),
            "counts": self.counts,
            "audit": {
                "agrees": self.audit.agrees,
                "largest_difference": self.audit.largest_difference,
                "rounds": self.audit.rounds,
            },
            "remarks": list(self.remarks),
            "cautions": list(self.cautions),
            "made_with": self.made_with,
        }


@dataclass
class TirePool:
    """The best choice, and the best with every tire at either end that comes near it."""

    choices: Choices
    """The best first, each once, then by rising aim."""
    aims: np.ndarray[Any, np.dtype[np.float64]]
    complete: bool
    found: bool
    rounds: int = 0
    tires: dict[Position, int] = field(default_factory=dict)
    """Tires that some choice within the loss may use, by their bounds."""


def shortlist(
    case: Case,
    *,
    count: int = 5,
    within: float = WITHIN,
    time_limit: float | None = None,
    threads: int = 1,
    progress: Callable[[str], None] | None = None,
) -> Shortlist:
    """Pick choices of the case's one vehicle that come near the best and differ most, tire first, for riding.

    For every tire at the front, and for every tire at the rear, the best choice with it is found, if it lies within
    the loss; from these the candidates are picked, the best always among them.

    Parameters
    ----------
    case : scenario and catalogs
    count : candidates, 2 to 20
    within : how far the aim may lie above the best, as a share of it
    time_limit : stop after this time with what is found so far [s]
    threads : of the solver
    progress : called with a line of text now and then

    Returns
    -------
    Shortlist
        Also where nothing meets the limits, and where it was stopped early (by time or Ctrl-C).

    Raises
    ------
    UsageError
        A scenario with several vehicles or aims in order, a count out of range, or a loss that is none.
    """
    require_one_vehicle(case)
    require_one_sum(case)
    if not FEWEST <= count <= MOST:
        raise UsageError(f"a shortlist has {FEWEST} to {MOST} candidates, not {count}")
    if not 0.0 <= within < np.inf:
        raise UsageError(f"the loss against the best is a share of at least 0, not {within:g}")
    began = time.monotonic()
    settings = Settings(time_limit=time_limit, threads=threads, progress=progress, solve=False)
    with Interruptible(settings.stop):
        candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
        pool = tire_pool(candidates, settings, within)
    return _answer(case, candidates, pool, count, within, began)


def tire_pool(candidates: Candidates, settings: Settings, within: float) -> TirePool:
    """For every tire at either end the best choice with it, where it lies within a loss of the best.

    Parameters
    ----------
    candidates : everything that fits
    settings : of the searches; the time limit is for all of them together
    within : how far the aim may lie above the best, as a share of it
    """
    began = time.monotonic()

    def left() -> Settings:
        limit = settings.time_limit
        rest = None if limit is None else limit - (time.monotonic() - began)
        return replace(settings, time_limit=rest, solve=False, progress=None)

    def say(text: str) -> None:
        if settings.progress is not None:
            settings.progress(text)

    say("looking for the best choice")
    search, proven = run_search(candidates, replace(left(), progress=settings.progress))
    if search.found is None:
        return TirePool(Choices.join([]), np.zeros(0), proven, found=False, rounds=search.rounds)
    best, rounds = search.best, search.rounds
    parts = [first_tie(candidates, search.found)]
    if not proven:
        return TirePool(parts[0], np.array([best]), complete=False, found=True, rounds=rounds)
    cutoff = best + within * abs(best)
    tires = near_tires(candidates, cutoff)
    complete = True
    for position in POSITIONS:
        own = int(_tire_of_footings(candidates, position)[getattr(parts[0], position)[0, 0]])
        for number, tire in enumerate(tires[position], start=1):
            if tire == own:
                continue
            rest = left()
            if settings.stop.asked or (rest.time_limit is not None and rest.time_limit <= 0.0):
                complete = False
                break
            name = candidates.model.catalog.tires[tire].id
            say(f"{position} tire {number} of {len(tires[position])}: the best choice with {name}")
            search, proven = run_search(
                candidates.variant(open_to=only_tire(candidates, position, tire)), rest, cutoff=cutoff
            )
            rounds += search.rounds
            complete &= proven
            if search.found is not None:
                parts.append(first_tie(candidates, search.found))
    together = Choices.join(parts)
    aims, _ = candidates.appraise(together)
    first = together.first_of_each()[1:]
    order = np.concatenate([[0], first[np.argsort(aims[first], kind="stable")]]).astype(np.int64)
    looked_at = {position: len(tires[position]) for position in POSITIONS}
    return TirePool(together.take(order), aims[order], complete, found=True, rounds=rounds, tires=looked_at)


def near_tires(candidates: Candidates, cutoff: float) -> dict[Position, list[int]]:
    """Tires that some choice up to a cutoff may use by its coarse bound, the most promising first."""
    whole = whole_box(candidates, OpenBox(full_box(candidates), -np.inf), Counter(), np.inf)
    if whole is None:
        return {position: [] for position in POSITIONS}
    marginals, found = footing_marginals(whole), {}
    for position in POSITIONS:
        tires = _tire_of_footings(candidates, position)[whole.nodes(position).footing]
        least: dict[int, float] = {}
        for tire, bound in zip(tires.tolist(), marginals[position].tolist(), strict=True):
            if bound <= cutoff + TIE * max(abs(cutoff), 1.0):
                least[tire] = min(bound, least.get(tire, np.inf))
        found[position] = sorted(least, key=lambda tire: (least[tire], tire))
    return found


def _tire_of_footings(candidates: Candidates, position: Position) -> np.ndarray[Any, np.dtype[np.int64]]:
    """Number of the tire of every footing of a position."""
    return candidates.parts[position][0].index["tires"][candidates.of[position].footing_mount]


def only_tire(candidates: Candidates, position: Position, tire: int) -> OpenTo:
    """Everything, but at one position only one tire."""
    open_to = {}
    for place in POSITIONS:
        of = candidates.of[place]
        footings = np.ones(len(of.footing_mount), dtype=bool)
        if place == position:
            footings = _tire_of_footings(candidates, place) == tire
        open_to[place] = (footings, np.ones(len(of.wheels), dtype=bool), np.ones(len(of.brakes), dtype=bool))
    return open_to


def ridden(vehicle: Vehicle, packages: dict[Position, Package]) -> dict[Position, bool]:
    """At which positions the tire is on today's vehicle, front or rear."""
    today = vehicle.baseline
    known = set() if today is None else {today.front.tire, today.rear.tire}
    return {position: packages[position].mount.tire.id in known for position in POSITIONS}


def _answer(case: Case, candidates: Candidates, pool: TirePool, count: int, within: float, began: float) -> Shortlist:
    status: Status
    if pool.found:
        status = "complete" if pool.complete else "partial"
    else:
        status = "infeasible" if pool.complete else "unknown"
    packages = [packages_of(candidates, pool.choices, row) for row in range(len(pool.choices))]
    apart = distances(packages)
    picked, exact = pick(apart, pool.aims, count) if packages else ([], True)
    made = [_appraised(candidates, pool, row) for row in picked]
    largest = max((difference for _, _, difference, _ in made), default=0.0)
    agrees = largest <= AGREE and all(sound for _, _, _, sound in made)
    reports = [vehicle for vehicle, _, _, _ in made]
    aims = [aim for _, aim, _, _ in made]
    best_at = labels(aims, reports)
    entries = tuple(
        _entry(candidates, pool, row, vehicle, aim, aims[0], tuple(best))
        for row, vehicle, aim, best in zip(picked, reports, aims, best_at, strict=True)
    )
    least = min((float(apart[i, j]) for n, i in enumerate(picked) for j in picked[:n]), default=None)
    return Shortlist(
        scenario=case.name,
        status=status,
        within=within,
        candidates=entries,
        plan=tuple(ride_plan(reports)),
        counts={
            "packages_that_fit": {p: candidates.of[p].package_count() for p in POSITIONS},
            "tires_that_may_come_near": {p: pool.tires.get(p, 0) for p in POSITIONS},
            "choices_to_pick_from": len(pool.choices),
            "least_distance": least,
            "no_other_set_differs_more": exact,
        },
        audit=Audit(agrees, largest, pool.rounds),
        remarks=_remarks(pool, count, within, exact),
        cautions=tuple(general_cautions(case.vehicle)),
        made_with=made_with(case, began),
    )


def _remarks(pool: TirePool, count: int, within: float, exact: bool) -> tuple[str, ...]:
    notes = []
    if pool.found and not pool.tires:
        notes.append("the search for the best was stopped: a better choice may exist, and no other tire was looked at")
    elif pool.found and pool.complete and len(pool.choices) < count:
        notes.append(f"there are no more: no other tire, front or rear, comes within {100.0 * within:g} % of the best")
    if not exact:
        notes.append(
            "picked one after the other, each farthest from the last: another set may differ more, by a factor of 2 at "
            "most"
        )
    return tuple(notes)


def _appraised(candidates: Candidates, pool: TirePool, row: int) -> tuple[dict[str, Any], float, float, bool]:
    """A choice through the full model: its report, its aim, how far that is from the search, whether it is sound."""
    choice = pool.choices.take(np.array([row]))
    appraised = appraise_vehicle(candidates.model, packages_of(candidates, choice), int(choice.drive[0]))
    aim = float(candidates.weighed(choice, quantities(judged(appraised, candidates.rates)))[0])
    difference = abs(aim - float(pool.aims[row])) / max(abs(float(pool.aims[row])), 1e-9)
    return report(appraised), aim, difference, not appraised.unmet and not appraised.misfits


def _entry(
    candidates: Candidates,
    pool: TirePool,
    row: int,
    vehicle: dict[str, Any],
    aim: float,
    best: float,
    best_at: Sequence[str],
) -> ShortlistEntry:
    margins = vehicle["margins"]
    known = [margin for margin in margins if margin["ratio"] is not None]
    riskiest = max(margins, key=lambda margin: margin.get("chance_missed") or 0.0, default=None)
    return ShortlistEntry(
        aim=aim,
        loss_percent=max(100.0 * (aim - best) / max(abs(best), 1e-9), 0.0),
        labels=tuple(best_at),
        ridden=ridden(candidates.model.vehicle, packages_of(candidates, pool.choices, row)),
        vehicle={key: vehicle[key] for key in KEPT},
        tightest=tuple(sorted(known, key=lambda margin: float(margin["ratio"]))[:MARGINS]),
        riskiest=riskiest if risk(margins) > 0.0 else None,
        record=record_of(candidates, pool.choices, row),
    )
