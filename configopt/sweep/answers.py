"""One variant answered: its best choice, proven, and what keeping today's decision would cost in it.

An answer is a small JSON document that depends on scenario, catalogs and variant alone: no times, no names of what
computed it, and every figure from the full model of one choice, so that all engines give the same text.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from configopt.appraisal.conditions import judged
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_record, appraise_vehicle
from configopt.appraisal.report import figures, report
from configopt.appraisal.vehicle import VehicleModel
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.choose import Settings, run_search
from configopt.choice.family import FamilySearch, Member, Sharing
from configopt.choice.family_result import Chosen, family_value, pieces_of
from configopt.choice.result import audit, choose
from configopt.choice.stages import known_bound
from configopt.choice.ties import choices_of_record, first_tie, packages_of, record_of
from configopt.choice.weights import AIMS
from configopt.errors import AuditError, ConfigoptError, UsageError
from configopt.scenario.case import PACKAGE_PARTS, Case
from configopt.scenario.records import VehicleChoiceRecord
from configopt.sweep.changing import Changed
from configopt.sweep.comparing import FIGURES, PACKAGE

#: Significant digits of figures in an answer: processors differ in the last ones.
DIGITS = 10
#: Share of the aim within which two aims count as equal: answers carry so many digits.
EQUAL = 1e-8

Record = tuple[VehicleChoiceRecord, ...]
"""A choice: packages and final drive of every vehicle of the scenario."""
Json = dict[str, Any]


@dataclass(frozen=True)
class Kept:
    """A choice that is kept in every variant and compared with the best: what it is called, and the choice."""

    name: str
    record: Record


def answer(changed: Changed, kept: Sequence[Kept] = (), starts: Sequence[Record] = ()) -> tuple[Json, Record | None]:
    """Find the best choice of a variant.

    Parameters
    ----------
    changed : the variant as a case
    kept : choices to compare it with; the search begins with them
    starts : more choices to begin with; they make it quicker and change nothing

    Returns
    -------
    tuple
        The answer as JSON, and the choice; ``None`` where nothing meets every limit.
    """
    case = changed.case
    try:
        found = best_of(case, [*starts, *(one.record for one in kept)])
    except AuditError as error:
        return {"status": "contradiction", "reason": str(error)}, None
    if not found.proven:
        raise ConfigoptError("the search ended without a proof")
    record = found.records
    if record is None:
        return {
            "status": "nothing meets the limits",
            "kept": [compared(case, one, None, changed.gone) for one in kept],
        }, None
    if not found.agrees:
        return {"status": "contradiction", "reason": "the full model contradicts the search"}, None
    appraised = appraised_in(case, record)
    value = aim_of(case, appraised)
    return {
        "status": "optimal",
        "aim": rounded(value),
        "vehicles": [vehicle_row(one) for one in appraised],
        "kept": [compared(case, one, value, changed.gone) for one in kept],
    }, record


@dataclass(frozen=True)
class Best:
    """The best choice of a case, as far as it is known."""

    records: Record | None
    """``None`` where nothing is found that meets every limit."""
    proven: bool
    """Whether nothing better exists; without records, that nothing meets the limits."""
    agrees: bool = True
    """Whether the full model, computed apart from the search, says the same."""
    value: float | None = None
    """Of the aim; of aims in order, of the last one."""
    bound: float | None = None
    """No choice goes below this."""
    stages: tuple[Json, ...] = ()
    """Of aims in order: each with its best value and the share that the later ones may give away."""


def best_of(case: Case, starts: Sequence[Record], *, time_limit: float | None = None) -> Best:
    """Search the best choice of a case without all that an answer for people says beside it.

    Parameters
    ----------
    case : scenario and catalogs
    starts : choices to begin with; what does not fit any more is left out
    time_limit : stop after this time [s]
    """
    if case.together or case.scenario.aims.in_order or case.vehicle.alternates:
        start = starts[0] if starts and len(starts[0]) == len(case.scenario.vehicles) else ()
        choice = choose(case, time_limit=time_limit, begin_with=start)
        proven = choice.status in ("optimal", "infeasible")
        agrees = choice.audit.agrees
        return Best(choice.records or None, proven, agrees, choice.value, choice.bound, choice.stages)
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    known = [found for record in starts if (found := choices_of_record(candidates, record[0])) is not None]
    settings = Settings(time_limit=time_limit)
    search, proven = run_search(candidates, settings, start=Choices.join(known) if known else None)
    if search.found is None:
        return Best(None, proven)
    best = first_tie(candidates, search.found)
    appraised = appraise_vehicle(candidates.model, packages_of(candidates, best), int(best.drive[0]))
    agrees = audit(search, best, appraised, None).agrees
    return Best((record_of(candidates, best),), proven, agrees, search.best, known_bound(search))


def appraised_in(case: Case, record: Record) -> list[VehicleAppraisal]:
    """A choice through the full model, every vehicle; what stands beside it today is left out.

    Raises
    ------
    UsageError
        Parts that do not exist or cannot be put together.
    """
    bare = [vehicle.model_copy(update={"baseline": None}) for vehicle in case.scenario.vehicles]
    return [
        appraise_record(VehicleModel(vehicle, case.catalog), one) for vehicle, one in zip(bare, record, strict=True)
    ]


def aim_of(case: Case, appraised: Sequence[VehicleAppraisal]) -> float:
    """The aim of a choice by the full model; of aims in order, that of the last one."""
    if case.together:
        search, chosen = _family(case, appraised)
        return float(family_value(search, chosen))
    stages = case.scenario.aims.in_order
    return weighed(appraised[0], (stages[-1] if stages else case.scenario.aims).own_rates)


def weighed(appraised: VehicleAppraisal, rates: Mapping[str, float]) -> float:
    """A weighted sum of one vehicle's aims by the full model, over its conditions as the scenario says."""
    every = {name: rates.get(name, 0.0) for name in AIMS}
    row = quantities(judged(appraised, every))[0]
    return float(sum(every[name] * float(row[column]) for column, name in enumerate(AIMS)))


def _family(case: Case, appraised: Sequence[VehicleAppraisal]) -> tuple[FamilySearch, list[Chosen]]:
    """Given choices of all vehicles as a family that has been searched for."""
    stated = case.scenario.sharing
    sharing = Sharing() if stated is None else Sharing(dict(stated.at_most.items()), dict(stated.spares.items()))
    every = [Candidates(vehicle, case.catalog, case.scenario.aims) for vehicle in case.scenario.vehicles]
    built = sum(vehicle.quantity for vehicle in case.scenario.vehicles)
    rate = every[0].rates["cost"]
    members = [Member(one, n, one.model.vehicle.quantity / built, rate) for n, one in enumerate(every)]
    search = FamilySearch(members, sharing, rate, Settings())
    none = np.zeros((1, 3), dtype=np.int64)
    chosen = [
        Chosen(one, member, Choices(none, none, np.array([mine.drive])), mine, None)
        for one, member, mine in zip(every, members, appraised, strict=True)
    ]
    return search, chosen


def vehicle_row(appraised: VehicleAppraisal) -> Json:
    """What an answer keeps of one vehicle: figures, parts, and the limit with least to spare."""
    entry = report(appraised, sure=False)
    margins = [row for row in entry["margins"] if row["ratio"] is not None]
    tightest = min(margins, key=lambda row: float(row["ratio"])) if margins else None
    return {
        "name": entry["name"],
        "final_drive": entry["final_drive"],
        **{key: rounded(entry[key]) for key in FIGURES},
        "currency": entry["currency"],
        "packages": [
            {"position": package["position"], **{key: package[key] for key in PACKAGE}} for package in entry["packages"]
        ],
        "tightest": None if tightest is None else _margin(tightest),
    }


def _margin(row: Json) -> Json:
    kept = ("limit", "terrain", "position", "value", "required", "unit", "ratio", "met")
    found = {key: rounded(row[key]) for key in kept}
    return {**found, "condition": row["condition"]} if row.get("condition") else found


def compared(case: Case, kept: Kept, best: float | None, gone: Collection[str] = ()) -> Json:
    """What keeping a choice means in a case: its figures, what it misses, and its regret against the best.

    Parameters
    ----------
    case : scenario and catalogs
    kept : the choice
    best : the best aim; ``None`` where nothing meets every limit
    gone : ids of parts that cannot be had, though the catalogs have them
    """
    row: Json = {"name": kept.name, "aim": None, "regret": None, "meets": False, "gone": [], "misses": []}
    missing = sorted(part for part in parts_of(kept.record) if part in gone)
    if missing:
        return {**row, "gone": missing}
    try:
        appraised = appraised_in(case, kept.record)
    except (UsageError, ValueError) as error:
        return {**row, "misses": [{"text": f"cannot be put together any more: {error}"}]}
    misses: list[Json] = []
    for one in appraised:
        name = one.model.vehicle.name
        misses += [{"vehicle": name, "text": f"{position}: {text}"} for position, text in one.misfits]
        unmet = [entry for entry in report(one, sure=False)["margins"] if not entry["met"]] if one.unmet else []
        misses += [{"vehicle": name, **_margin(entry)} for entry in unmet]
    value = aim_of(case, appraised)
    misses += _shares_too_little(case, appraised)
    meets = not misses
    # Aims in order and alternates leave choices out that meet every limit, so no loss can be stated against the best.
    comparable = meets and best is not None and one_sum(case)
    regret = loss(value, best) if comparable and best is not None else None
    totals = [figures(one) for one in appraised]
    return {**row, "aim": rounded(value), "regret": regret, "meets": meets, "misses": misses,
            **{key: rounded(totals[0][key]) for key in FIGURES if len(totals) == 1}}  # fmt: skip


def _shares_too_little(case: Case, appraised: Sequence[VehicleAppraisal]) -> list[Json]:
    """Families of parts of which a choice has more different ones than the scenario allows."""
    if case.scenario.sharing is None:
        return []
    _search, chosen = _family(case, appraised)
    used = list(pieces_of(chosen))
    found = []
    for family, most in case.scenario.sharing.at_most.items():
        count = sum(one == family for one, _ in used)
        if count > most:
            found.append({"text": f"{count} different {family}, allowed are {most}"})
    return found


def one_sum(case: Case) -> bool:
    """Whether every choice that meets the limits may be the answer, by one weighted sum."""
    asking = any(vehicle.alternates is not None for vehicle in case.scenario.vehicles)
    return case.scenario.aims.in_order is None and not asking


def parts_of(record: Record) -> set[str]:
    """Ids of all parts of a choice."""
    return {
        str(part)
        for one in record
        for end in (one.front, one.rear)
        for field in PACKAGE_PARTS
        if (part := getattr(end, field)) is not None
    }


def loss(value: float, best: float) -> float:
    """By how much an aim is worse than the best one; what lies within the digits of the answers is nothing."""
    return float(rounded(value - best)) if value - best > EQUAL * max(abs(best), 1e-9) else 0.0


def rounded(value: Any) -> Any:
    """A figure to :data:`DIGITS` significant digits; anything else as it is."""
    return float(f"{value:.{DIGITS}g}") + 0.0 if isinstance(value, float) else value
