"""Sheets that the tests look at, with what they were made of."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.scenario.case import Case
from configopt.sheet.contents import Contents, contents
from configopt.sheet.given import Given, results_of
from configopt.sheet.page import sheet_page

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Sheet:
    """A sheet with what it was made of."""

    case: Case
    payload: dict[str, Any]
    made: Contents
    html: str


def sheet_of(case: Case, payload: dict[str, Any], records: Any, *, searched: bool, **further: Any) -> Sheet:
    """Lay out a sheet."""
    appraised = tuple(
        appraise_record(VehicleModel(vehicle, case.catalog), record)
        for vehicle, record in zip(case.scenario.vehicles, records, strict=True)
    )
    recorded = "" if searched else "The packages are those of a file."
    made = contents(Given(case, appraised, results_of(payload, appraised, further), searched, recorded=recorded))
    return Sheet(case, payload, made, sheet_page(made))
