"""What the errands compute, each as plain data."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from configopt.appraisal.one_vehicle import appraise_vehicle
from configopt.appraisal.report import report
from configopt.choice.alternates import part_number
from configopt.choice.audit import Candidates, Choices, quantities
from configopt.choice.choose import Settings, require_one_sum
from configopt.choice.frontier import find_frontier
from configopt.choice.result import choose
from configopt.choice.shortlist import shortlist
from configopt.choice.solve import Stop
from configopt.choice.ties import first_tie, packages_of, record_of
from configopt.choice.tradeoff import AIM_UNITS, aims_of, shown_values
from configopt.desk.answer import asked_of, chosen_whole
from configopt.desk.candidate_text import text_of
from configopt.desk.choosing import held, require_size
from configopt.desk.errands import Errand
from configopt.desk.project import Opened
from configopt.errors import UsageError
from configopt.reasons.asking import Answer, Asking, OutOfTime
from configopt.reasons.part import explain_part
from configopt.reasons.relaxing import relaxing

Say = Callable[[str], None]
#: Points of a trade-off that the page draws and lists.
MOST_POINTS = 400


def tradeoff(opened: Opened, errand: Errand, stop: Stop, say: Say) -> dict[str, Any]:
    """Every choice that no other beats in mass, rolling loss and whatever else counts."""
    case = opened.with_goods(errand.state)
    if case.vehicle.conditions:
        raise UsageError("a trade-off weighs one value of each aim, and this vehicle has several conditions")
    if case.vehicle.alternates:
        raise UsageError("a trade-off does not know alternates")
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    require_size(candidates)
    asked = asked_of(errand.state, case)
    if asked.holds or asked.pressures:
        candidates = candidates.variant(open_to=held(candidates, asked))
    aims = aims_of(candidates, ())
    search = find_frontier(candidates, aims, Settings(time_limit=errand.time_limit, stop=stop, progress=say))
    points = []
    for point in search.points[:MOST_POINTS]:
        first: Choices = first_tie(candidates, point.choices)
        appraised = appraise_vehicle(candidates.model, packages_of(candidates, first), int(first.drive[0]))
        found = quantities(appraised.outcome)
        entry = report(appraised, sure=False)
        points.append(
            {
                "values": shown_values(aims, list(found[0, search.columns])),
                "aim": float(candidates.weighed(first, found)[0]),
                "ties": len(point.choices),
                "tires": [package["names"]["tire"] for package in entry["packages"]],
                "cost": entry["cost"],
                "text": text_of(record_of(candidates, first)),
            }
        )
    currency = case.catalog.currency
    return {
        "aims": [
            {"name": name, "unit": currency if AIM_UNITS[name] == "currency" else AIM_UNITS[name]} for name in aims
        ],
        "points": points,
        "complete": search.complete,
        "more": max(0, len(search.points) - MOST_POINTS),
        "currency": currency,
    }


def short_list(opened: Opened, errand: Errand, stop: Stop, say: Say) -> dict[str, Any]:
    """Choices near the best that differ most, as JSON, with a text of each; what is held is set aside."""
    case = opened.with_goods(errand.state)
    found = shortlist(case, time_limit=errand.time_limit, progress=say)
    return {**found.to_json(), "texts": [text_of(entry.record) for entry in found.candidates]}


def _asking(opened: Opened, errand: Errand, stop: Stop, say: Say) -> tuple[Asking, Answer]:
    case = opened.with_goods(errand.state)
    require_one_sum(case)
    asking = Asking.of(
        case.vehicle,
        case.catalog,
        case.scenario.aims,
        Settings(time_limit=errand.time_limit, stop=stop, progress=say, solve=False),
    )
    require_size(asking.candidates)
    search, proven = asking.first()
    if not proven:
        raise UsageError("ended before the best choice was proven; without it nothing can be said")
    found = Choices.join([]) if search.found is None else search.found
    return asking, Answer(asking.candidates, search.best, found)


def why_not(opened: Opened, errand: Errand, stop: Stop, say: Say) -> Mapping[str, Any]:
    """Why a part is in the choice or not, and what would change that; parts that are held are set aside."""
    if errand.part in errand.state.out:
        raise UsageError("this part is left out on the page: let it in again, then ask")
    case = opened.with_goods(errand.state)
    part = part_number(case.catalog, errand.part)
    asking, best = _asking(opened, errand, stop, say)
    try:
        told = explain_part(asking, best, case.scenario.aims, part)
    except OutOfTime:
        raise UsageError("ended before the answer was known") from None
    return {**told, "currency": case.catalog.currency, "searches": asking.searches}


def gives_way(opened: Opened, errand: Errand, stop: Stop, say: Say) -> Mapping[str, Any]:
    """Which limits have to give way where nothing meets them all; parts that are held are set aside."""
    asking, best = _asking(opened, errand, stop, say)
    if best.found:
        return {"found": True, "alternatives": [], "currency": asking.candidates.model.catalog.currency}
    try:
        rows = relaxing(asking, None)
    except OutOfTime:
        raise UsageError("ended before it was known") from None
    return {"found": False, "alternatives": rows, "currency": asking.candidates.model.catalog.currency}


def whole(opened: Opened, errand: Errand, stop: Stop, say: Say) -> Any:
    """A choice that cannot be made live."""
    state = errand.state
    if state.holds or state.pressures:
        raise UsageError(
            "parts and pressures can be held where one vehicle is chosen as stated: this scenario has several "
            "conditions, aims in order or alternates"
        )
    return chosen_whole(opened.with_goods(state), errand.time_limit, say)


def decide(opened: Opened, errand: Errand, stop: Stop, say: Say) -> Any:
    """The choice of the scenario as its file has it, with everything that a decision records."""
    found = choose(opened.case, time_limit=errand.time_limit, progress=say)
    if found.value is None or not np.isfinite(found.value):
        raise UsageError("there is no choice to record: nothing was found that meets every limit")
    return found


KINDS: Mapping[str, Callable[[Opened, Errand, Stop, Say], Any]] = {
    "tradeoff": tradeoff,
    "shortlist": short_list,
    "why": why_not,
    "gives way": gives_way,
    "whole": whole,
    "decide": decide,
}
