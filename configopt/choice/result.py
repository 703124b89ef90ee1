"""The answer of the main job: the best packages of one vehicle, its proof, and what stands beside them."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from configopt.appraisal.appraise import made_with
from configopt.appraisal.conditions import judged
from configopt.appraisal.conditions_report import in_all_of_them, with_aims
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_vehicle
from configopt.appraisal.packages import Package
from configopt.appraisal.remarks import cautions, general_cautions, remarks
from configopt.appraisal.report import finite, report
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.alternates import WithAlternates, search_with_alternates
from configopt.choice.alternates_report import alternate_rows, losses_of, missing_rows
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.choose import TIE, Interruptible, Search, Settings, require_plain_family, run_search
from configopt.choice.closest import BUDGET, closest
from configopt.choice.removed import removed_rows
from configopt.choice.stages import InOrder, StageEnd, is_exact, known_bound, search_in_order
from configopt.choice.ties import choices_of_record, first_tie, packages_of, record_of
from configopt.choice.weights import AIMS
from configopt.errors import ExitCode
from configopt.quantities import to_unit
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord

Status = Literal["optimal", "feasible", "infeasible", "unknown"]
#: Up to so many whole choices, every one is appraised to count those that meet all limits.
COUNT_AT_MOST = 1_000_000
#: The full model computed apart from the search must agree with it to this share.
AGREE = 1e-9
NO_ALTERNATES = "no choice that meets every limit has an alternate for each of its parts within the losses asked"
ALTERNATES_UNKNOWN = "stopped before it was known which choices have an alternate for each of their parts"
AIM_UNITS = {"mass": "kg", "rolling_loss": "Wh/km", "energy": "Wh/km"}
_EXITS: dict[Status, ExitCode] = {
    "optimal": ExitCode.DONE,
    "feasible": ExitCode.STOPPED_EARLY,
    "infeasible": ExitCode.NOTHING_MEETS_THE_LIMITS,
    "unknown": ExitCode.STOPPED_EARLY,
}


@dataclass(frozen=True)
class Audit:
    """The choice computed again by the full model from its parts, apart from the tables of the search."""

    agrees: bool
    largest_difference: float
    """Share by which it, or a count of all choices, contradicts the search."""
    rounds: int


@dataclass(frozen=True)
class Choice:
    """The best packages of one vehicle, or why there are none.

    ``value`` is the aim by the full model, ``bound`` what no choice in the catalogs goes below; both ``None`` where
    nothing is found or nothing is proven.  ``vehicles`` are entries of the JSON, ``records`` the same choice as a file
    states it, ``packages`` as parts.
    """

    scenario: str
    status: Status
    value: float | None
    bound: float | None
    terms: dict[str, dict[str, Any]]
    vehicles: tuple[dict[str, Any], ...]
    records: tuple[VehicleChoiceRecord, ...]
    packages: tuple[dict[Position, Package], ...]
    counts: dict[str, Any]
    removed: tuple[dict[str, Any], ...]
    closest: tuple[dict[str, Any], ...]
    audit: Audit
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    made_with: dict[str, Any]
    family: dict[str, Any] | None = None
    """What vehicles share, where several are chosen together."""
    stages: tuple[dict[str, Any], ...] = ()
    """Where aims count one after the other: each with the least it can come to and what the answer has.  ``value``,
    ``bound`` and ``terms`` of the choice are then those of the last one, among choices the earlier ones leave."""
    alternates: tuple[dict[str, Any], ...] = ()
    """Where alternates are asked for: the best choice without each part of the answer."""
    stopped: bool = False
    """Whether the search ended before it reached the gap it was asked for."""

    @property
    def gap(self) -> float | None:
        """How far below the value a better choice could still lie, as a share of it."""
        if self.value is None or self.bound is None:
            return None
        return (self.value - self.bound) / max(abs(self.value), 1e-9)

    @property
    def exit_code(self) -> ExitCode:
        """How a command with this answer ends."""
        if not self.audit.agrees:
            return ExitCode.AUDIT_CONTRADICTS
        if self.status == "feasible" and not self.stopped:
            return ExitCode.DONE
        return _EXITS[self.status]

    def to_json(self) -> dict[str, Any]:
        """JSON of schema configopt/choice/1."""
        aim = {"value": self.value, "bound": self.bound, "gap": self.gap, "terms": self.terms}
        shared: dict[str, Any] = {} if self.family is None else {"family": self.family}
        if self.stages:
            shared["stages"] = list(self.stages)
        if self.alternates:
            shared["alternates"] = list(self.alternates)
        return {
            "schema": "configopt/choice/1",
            "scenario": self.scenario,
            "status": self.status,
            "aim": None if self.value is None else aim,
            "vehicles": list(self.vehicles),
            **shared,
            "counts": self.counts,
            "removed": list(self.removed),
            "closest": list(self.closest),
            "audit": {
                "agrees": self.audit.agrees,
                "largest_difference": self.audit.largest_difference,
                "rounds": self.audit.rounds,
            },
            "remarks": list(self.remarks),
            "cautions": list(self.cautions),
            "made_with": self.made_with,
        }


def choose(
    case: Case,
    *,
    time_limit: float | None = None,
    gap: float = 1e-6,
    threads: int = 1,
    begin_with: Sequence[VehicleChoiceRecord] = (),
    progress: Callable[[str], None] | None = None,
) -> Choice:
    """Choose the best packages of a case and prove that none better exist in its catalogs.

    Several vehicles, and one whose parts are shared front and rear, are chosen together; see
    :func:`configopt.choice.family_result.choose_family`.

    Parameters
    ----------
    case : scenario and catalogs
    time_limit : stop after this time with the best so far [s]
    gap : share of the value to which the proof goes
    threads : of the solver
    begin_with : choices known before, such as those of an earlier run that was stopped; the answer is never worse
    progress : called with a line of text now and then

    Returns
    -------
    Choice
        Also where nothing meets the limits, and where it was stopped early (by time or Ctrl-C).

    Raises
    ------
    AuditError
        The search contradicts the full model.
    UsageError
        Vehicles that are chosen together, with aims in order or alternates.
    """
    if case.together:
        require_plain_family(case)
        from configopt.choice.family_result import choose_family

        return choose_family(
            case, time_limit=time_limit, gap=gap, threads=threads, begin_with=begin_with, progress=progress
        )
    began = time.monotonic()
    settings = Settings(time_limit=time_limit, gap=gap, threads=threads, progress=progress)
    with Interruptible(settings.stop):
        candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
        known = [found for record in begin_with if (found := choices_of_record(candidates, record)) is not None]
        start = Choices.join(known) if known else None
        order: InOrder | None = None
        supply: WithAlternates | None = None
        if case.scenario.aims.in_order:
            order = search_in_order(candidates, case.scenario.aims.in_order, settings, start)
            search, proven = order.search, order.proven
        elif case.vehicle.alternates:
            supply = search_with_alternates(candidates, losses_of(candidates), settings, start)
            search, proven = supply.search, supply.proven
        else:
            search, proven = run_search(candidates, settings, start=start)
        if search.found is None:
            return _without_choice(case, search, proven, began, supply)
        return _with_choice(case, search, proven, began, order, supply)


def _with_choice(
    case: Case, search: Search, proven: bool, began: float, order: InOrder | None, supply: WithAlternates | None
) -> Choice:
    candidates, found = search.candidates, search.found
    assert found is not None
    best = first_tie(candidates, found)
    packages = packages_of(candidates, best)
    appraised = appraise_vehicle(candidates.model, packages, int(best.drive[0]))
    exact = is_exact(search, proven) if order is None else all(stage.exact for stage in order.stages)
    counted, lowest = count_all(search) if exact else (None, None)
    return Choice(
        scenario=case.name,
        status="optimal" if exact else "feasible",
        value=search.best,
        bound=known_bound(search) if order is None else order.stages[-1].bound,
        terms=aim_terms(candidates, appraised),
        vehicles=(with_aims(report(appraised), appraised, candidates.rates),),
        records=(record_of(candidates, best),),
        packages=(packages,),
        counts=_counts(candidates, counted, len(found) if exact else None),
        removed=tuple(removed_rows(candidates, search.removed)),
        closest=(),
        audit=audit(search, best, appraised, lowest),
        remarks=tuple(in_all_of_them(appraised, [remarks(one) for one in appraised.in_all])),
        cautions=tuple(in_all_of_them(appraised, [cautions(one) for one in appraised.in_all])),
        made_with=made_with(case, began),
        stages=() if order is None else tuple(stage_row(stage, appraised) for stage in order.stages),
        alternates=() if supply is None else tuple(alternate_rows(supply, best)),
        stopped=not proven,
    )


def _without_choice(case: Case, search: Search, proven: bool, began: float, supply: WithAlternates | None) -> Choice:
    candidates, settings = search.candidates, search.settings
    fits = all(candidates.of[p].package_count() for p in POSITIONS)
    nearest: list[dict[str, Any]] = []
    notes: tuple[str, ...] = ()
    if supply is not None and supply.plain.found is not None:
        nearest = missing_rows(supply) if proven else []
        notes = (NO_ALTERNATES,) if proven else (ALTERNATES_UNKNOWN,)
    elif proven and fits:
        search.say("nothing meets every limit; looking for what comes closest")
        left = search.time_left()
        nearest = closest(candidates, settings, search.removed, BUDGET if left is None else min(left, BUDGET))
    return Choice(
        scenario=case.name,
        status="infeasible" if proven else "unknown",
        value=None,
        bound=None,
        terms={},
        vehicles=(),
        records=(),
        packages=(),
        counts=_counts(candidates, 0 if proven and not notes else None, 0 if proven else None),
        removed=tuple(removed_rows(candidates, search.removed)),
        closest=tuple(nearest),
        audit=Audit(True, 0.0, search.rounds),
        remarks=notes,
        cautions=tuple(general_cautions(case.vehicle)),
        made_with=made_with(case, began),
    )


def stage_row(stage: StageEnd, appraised: VehicleAppraisal) -> dict[str, Any]:
    """One of several aims in order, as JSON: the least it can come to, with proof, and what the answer has."""
    found = quantities(judged(appraised, stage.candidates.rates))
    reached = sum(stage.candidates.rates[name] * float(found[0, column]) for column, name in enumerate(AIMS))
    gap = None if stage.bound is None else (stage.value - stage.bound) / max(abs(stage.value), 1e-9)
    return {
        "value": stage.value,
        "bound": stage.bound,
        "gap": gap,
        "give_up": stage.give_up,
        "reached": reached,
        "terms": aim_terms(stage.candidates, appraised),
    }


def _counts(candidates: Candidates, meeting: int | None, ties: int | None) -> dict[str, Any]:
    return {
        "packages_that_fit": {p: candidates.of[p].package_count() for p in POSITIONS},
        "choices_that_meet_all": meeting,
        "ties": ties,
    }


def count_all(search: Search) -> tuple[int | None, float | None]:
    """How many choices meet every limit, where so few fit that all can be appraised, and the least aim among them.

    Where earlier aims or alternates leave only some of them, the least aim is that of these.
    """
    candidates = search.candidates
    if candidates.count() > COUNT_AT_MOST:
        return None, None
    search.say(f"counting what meets every limit among {candidates.count():,} choices")
    number, lowest = 0, float("inf")
    for batch in candidates.every_choice():
        if search.over():
            return None, None
        found, met = candidates.quantities(batch)
        aims = candidates.weighed(batch, found)
        number += int(met.sum())
        if search.admits is not None:
            met &= search.admits(batch, found)
        lowest = min(lowest, float(aims[met].min(initial=float("inf"))))
    return number, lowest


def audit(search: Search, first: Choices, appraised: VehicleAppraisal, lowest: float | None) -> Audit:
    """Compare the search with the full model computed from the parts, and with a count of all choices if there is one.

    Parameters
    ----------
    search : ended, with an answer
    first : the answer
    appraised : the answer through the full model, from its parts
    lowest : least aim among all choices that meet the limits, where all were appraised
    """
    scale = max(abs(search.best), 1e-9)
    mine = search.candidates.weighed(first, quantities(judged(appraised, search.candidates.rates)))
    difference = abs(float(mine[0]) - search.best) / scale
    agrees = difference <= AGREE and not appraised.unmet and not appraised.misfits
    if lowest is not None:
        better = (search.best - lowest) / scale
        difference = max(difference, abs(better))
        agrees &= abs(better) <= TIE
    return Audit(bool(agrees), difference, search.rounds)


def aim_terms(candidates: Candidates, appraised: VehicleAppraisal) -> dict[str, dict[str, Any]]:
    """What each aim that counts comes to and at which rate; value times rate sums to the aim."""
    outcome = judged(appraised, candidates.rates)
    values = {
        "mass": outcome.packages_mass,
        "rolling_loss": outcome.rolling_loss,
        "energy": outcome.energy,
        "cost": outcome.cost,
    }
    terms = {}
    for name, rate in candidates.rates.items():
        if rate:
            unit = AIM_UNITS.get(name)
            one = 1.0 if unit is None else float(to_unit(1.0, unit))
            terms[name] = {
                "value": finite(values[name] * one),
                "rate": float(f"{rate / one:.12g}"),
                "unit": unit or candidates.model.catalog.currency,
            }
    return terms
