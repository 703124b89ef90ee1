"""Choices beside each other, as the entries of the JSON that an explanation consists of."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from configopt.appraisal.conditions import judged
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.report import figures, margin_report
from configopt.appraisal.vehicle import POSITIONS
from configopt.choice.audit import quantities
from configopt.choice.weights import AIMS
from configopt.decisions.comparison import FIGURES, part_differences
from configopt.reasons.asking import Answer
from configopt.scenario.records import VehicleChoiceRecord

#: Differences of the aim below this share of it are none.
SAME = 1e-9


def record_of_appraised(appraised: VehicleAppraisal) -> VehicleChoiceRecord:
    """The choice as a file states it."""
    drives = appraised.model.vehicle.drive.final_drives
    packages = appraised.packages
    return VehicleChoiceRecord.model_construct(
        final_drive=drives[appraised.drive].id, front=packages["front"].record(), rear=packages["rear"].record()
    )


def named_parts(appraised: VehicleAppraisal) -> dict[str, Any]:
    """Final drive and the parts of both packages by id, pressures in kPa."""
    record = record_of_appraised(appraised)
    found: dict[str, Any] = {"final_drive": record.final_drive}
    for position in POSITIONS:
        own = dict(getattr(record, position))
        pressure = float(own.pop("pressure"))
        found[position] = {**own, "pressure_kpa": pressure / 1e3}
    return found


def main_figures(appraised: VehicleAppraisal) -> dict[str, float | None]:
    """Mass, rolling loss, energy, range and cost."""
    found = figures(appraised)
    return {key: found[key] for key in FIGURES}


def aim_of(appraised: VehicleAppraisal, rates: dict[str, float]) -> float:
    """The weighted aim of an appraised choice."""
    found = quantities(judged(appraised, rates))
    return sum(rates[name] * float(found[0, column]) for column, name in enumerate(AIMS))


def beside(best: VehicleAppraisal, other: VehicleAppraisal, rates: dict[str, float]) -> dict[str, Any]:
    """Another choice beside the best: its aim, what it loses, the parts that differ, and the change of main figures."""
    mine, its = main_figures(best), main_figures(other)
    aim = aim_of(other, rates)
    return {
        "aim": aim,
        "loss": aim - aim_of(best, rates),
        "figures": its,
        "change": {key: _change(mine[key], its[key]) for key in FIGURES},
        "parts": part_differences(record_of_appraised(best), record_of_appraised(other)),
    }


def _change(before: float | None, after: float | None) -> float | None:
    return None if before is None or after is None else after - before


def answer_beside(best: Answer, other: Answer) -> dict[str, Any]:
    """An answer beside the best choice; where its catalogs differ, its figures are those under its own."""
    return beside(best.appraised, other.appraised, best.candidates.rates)


def margins_of(
    appraised: VehicleAppraisal, scopes: Iterable[tuple[str, str | None, str | None]]
) -> list[dict[str, Any]]:
    """Margins of some limits, in whatever condition is tightest first."""
    wanted, currency = frozenset(scopes), appraised.model.catalog.currency
    rows = [
        margin_report(margin, currency)
        for one in appraised.in_all
        for margin in one.outcome.margins
        if margin.bound.scope in wanted
    ]
    return sorted(rows, key=lambda row: (row["met"], row["ratio"] is None, row["ratio"] or 0.0))


def unmet_of(appraised: VehicleAppraisal) -> list[dict[str, Any]]:
    """The limits that a choice misses."""
    currency = appraised.model.catalog.currency
    return [margin_report(margin, currency) for margin in appraised.unmet]
