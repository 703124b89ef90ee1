"""One part, or whole packages: in the best choice or not, why, and what it would take to change that."""

from __future__ import annotations

from typing import Any

from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.report import margin_report
from configopt.appraisal.vehicle import POSITIONS
from configopt.choice.alternates import Part, uses
from configopt.choice.choose import TIE
from configopt.fit.partners import places
from configopt.reasons.asking import Answer, Asking
from configopt.reasons.losing import best_without
from configopt.reasons.relaxing import relaxing
from configopt.reasons.telling import answer_beside, beside, unmet_of
from configopt.reasons.winning import Turn, Winning
from configopt.scenario.records import Aims

#: Margins that are told of packages that meet every limit.
TIGHTEST = 3


def explain_part(asking: Asking, best: Answer, aims: Aims, part: Part) -> dict[str, Any]:
    """Whether a part is in the best choice and why, and at which figures that would change.

    Parameters
    ----------
    asking : the vehicle
    best : its best choices, with nothing found where nothing meets the limits
    aims : what counts
    part : its family and number

    Returns
    -------
    dict
        ``verdict``: ``chosen`` (in every best choice), ``ties`` (in some), ``beaten``, ``limits`` (no choice with it
        meets them all) or ``does not fit``.

    Raises
    ------
    OutOfTime
        If a search was asked to end.
    """
    candidates = asking.candidates
    catalog = candidates.model.catalog
    record = catalog.family(part[0])[part[1]]
    row: dict[str, Any] = {
        "part": record.id,
        "family": part[0],
        "status": record.status,
        "places": [
            {"position": place.position, "reason": place.reason}
            for place in places([candidates.model.vehicle], catalog, part[0], record)
        ],
        "chosen_at": [],
        "best_with_it": None,
        "best_without_it": None,
        "gives_way": [],
        "turns": [],
    }
    if not asking.using(part):
        return {**row, "verdict": "does not fit"}
    asking.say(f"the best choice with {record.id}")
    with_it = asking.best_with(part)
    rest = best_without(asking, best, part) if best.found else best
    if best.found and with_it.found:
        row["best_with_it"] = answer_beside(best, with_it)
    if best.found and rest.found:
        row["best_without_it"] = answer_beside(best, rest)
    if best.found:
        rows = candidates.part_rows(best.first)
        row["chosen_at"] = [p for p in POSITIONS if int(rows[p].index[part[0]][0]) == part[1]]
    row["verdict"] = _verdict(asking, best, part, with_it)
    if not with_it.found:
        row["gives_way"] = [
            {"position": position, "alternatives": relaxing(asking, open_to)}
            for position, open_to in asking.using(part).items()
        ]
    if best.found:
        winning = Winning(asking, aims, part, rest)
        row["turns"] = [turn_row(winning, turn) for turn in winning.turns(with_it)]
    return row


def _verdict(asking: Asking, best: Answer, part: Part, with_it: Answer) -> str:
    if not with_it.found:
        return "limits"
    if with_it.value > best.value + TIE * max(abs(best.value), 1.0):
        return "beaten"
    return "chosen" if bool(uses(asking.candidates, best.ties, part).all()) else "ties"


def turn_row(winning: Winning, turn: Turn) -> dict[str, Any]:
    """Where one figure turns the answer, as JSON, in the figure's trade unit."""
    figure = turn.figure
    currency = winning.model.catalog.currency
    unit = currency if figure.unit == "currency" else figure.unit
    return {
        "figure": figure.name,
        "wording": figure.wording,
        "unit": unit,
        "today": figure.shown(turn.today),
        "turns_at": None if turn.factor is None else figure.shown(turn.today * turn.factor),
        "change_percent": None if turn.factor is None else 100.0 * (turn.factor - 1.0),
        "tried_to": figure.shown(turn.today * turn.tried),
        "direction": turn.direction,
        "why_not": turn.why_not,
    }


def explain_packages(best: Answer, own: VehicleAppraisal) -> dict[str, Any]:
    """Whole packages beside the best choice: rules they break, limits they miss, or by how much they lose."""
    currency = own.model.catalog.currency
    met = [margin_report(margin, currency) for margin in own.outcome.margins if bool(margin.met[0])]
    known = [one for one in met if one["ratio"] is not None]
    return {
        "misfits": [{"position": position, "reason": reason} for position, reason in own.misfits],
        "unmet": unmet_of(own),
        "beside_best": beside(best.appraised, own, best.candidates.rates) if best.found else None,
        "tightest": sorted(known, key=lambda one: float(one["ratio"]))[:TIGHTEST],
    }
