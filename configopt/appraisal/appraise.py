"""The full model for packages that somebody names: every number, margin, remark and caution."""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from configopt.appraisal.conditions_report import in_all_of_them, with_aims
from configopt.appraisal.explanation import explanations_report
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_record
from configopt.appraisal.remarks import cautions, remarks
from configopt.appraisal.report import report
from configopt.appraisal.vehicle import VehicleModel
from configopt.errors import UsageError
from configopt.scenario.case import Case
from configopt.scenario.records import Aims, VehicleChoiceRecord

#: What a scenario says to people and to other files: nothing that is asked. The catalogs have a hash of their own.
_NOT_ASKED = {"title", "description", "note", "catalogs", "trials"}


@dataclass(frozen=True)
class Appraisal:
    """Given packages through the full model; ``vehicles`` are entries of the JSON, each figure explained."""

    scenario: str
    vehicles: tuple[dict[str, Any], ...]
    misfits: tuple[dict[str, str], ...]
    """Rules of fit that the packages break: vehicle, position, text."""
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    made_with: dict[str, Any]

    def to_json(self) -> dict[str, Any]:
        """JSON of schema configopt/appraisal/1."""
        return {
            "schema": "configopt/appraisal/1",
            "scenario": self.scenario,
            "vehicles": list(self.vehicles),
            "misfits": list(self.misfits),
            "remarks": list(self.remarks),
            "cautions": list(self.cautions),
            "made_with": self.made_with,
        }


def appraise(
    case: Case,
    records: Sequence[VehicleChoiceRecord],
    names: Sequence[str] | None = None,
    *,
    explained: bool = True,
) -> Appraisal:
    """Appraise packages and final drives; nothing is searched, and what does not fit is computed all the same.

    Parameters
    ----------
    case : scenario and catalogs
    records : packages and final drive, one per vehicle
    names : the vehicles they belong to; without it, the scenario's vehicles in order
    explained : with how sure each margin is, and how each figure comes about; both take time

    Returns
    -------
    Appraisal
        Whose limits may be missed and whose parts may not fit; both are said.

    Raises
    ------
    UsageError
        A vehicle, part or final drive that does not exist, a package without rotor, or parts that cannot be computed
        together.
    """
    began = time.monotonic()
    by_name = {vehicle.name: vehicle for vehicle in case.scenario.vehicles}
    wanted = list(by_name) if names is None else list(names)
    if len(wanted) != len(records):
        raise UsageError(f"{len(records)} choices for {len(wanted)} vehicles ({', '.join(wanted)})")
    unknown = [name for name in wanted if name not in by_name]
    if unknown:
        raise UsageError(f'the scenario has no vehicle "{unknown[0]}"; it has {", ".join(by_name)}')
    appraised = [
        appraise_record(VehicleModel(by_name[name], case.catalog), record)
        for name, record in zip(wanted, records, strict=True)
    ]
    return Appraisal(
        scenario=case.name,
        vehicles=tuple(_entry(one, case.scenario.aims, explained) for one in appraised),
        misfits=tuple(
            {"vehicle": one.model.vehicle.name, "position": position, "text": text}
            for one in appraised
            for position, text in one.misfits
        ),
        remarks=tuple(
            _all(appraised, [in_all_of_them(one, [remarks(each) for each in one.in_all]) for one in appraised])
        ),
        cautions=tuple(
            _all(appraised, [in_all_of_them(one, [cautions(each) for each in one.in_all]) for one in appraised])
        ),
        made_with=made_with(case, began),
    )


def _entry(one: VehicleAppraisal, aims: Aims, explained: bool) -> dict[str, Any]:
    """One vehicle's entry; where aims count one after the other, it has no aim of its own."""
    rates = {name: float(getattr(aims, name) or 0.0) for name in ("mass", "rolling_loss", "energy", "cost")}
    entry = report(one, sure=explained)
    if any(rates.values()):
        entry = with_aims(entry, one, rates)
    return {**entry, "explanations": explanations_report(one)} if explained else entry


def _all(appraised: Sequence[VehicleAppraisal], texts: Sequence[Sequence[str]]) -> list[str]:
    """Texts of all vehicles, each once; those that not every vehicle shares say whose they are."""
    found: list[str] = []
    for one, mine in zip(appraised, texts, strict=True):
        for text in mine:
            shared = all(text in other for other in texts)
            found.append(text if shared else f"{one.model.vehicle.name}: {text}")
    return list(dict.fromkeys(found))


@cache
def version_of(distribution: str) -> str:
    """Version of an installed distribution, or "unknown"."""
    try:
        return version(distribution)
    except PackageNotFoundError:
        return "unknown"


def made_with(case: Case, began: float) -> dict[str, Any]:
    """What an answer was made with, and how long it took since ``began`` [s of the monotonic clock]."""
    return {
        "configopt": version_of("configopt"),
        "highs": version_of("highspy"),
        "pyomo": version_of("pyomo"),
        "catalogs_sha256": case.catalog.sha256,
        "scenario_sha256": scenario_sha256(case),
        "seconds": round(time.monotonic() - began, 3),
    }


def scenario_sha256(case: Case) -> str:
    """SHA-256 of all that a scenario asks: two answers with the same one had the same question.

    Titles, comments, layout and the units of figures do not count; the amount of a limit counts as it is written.

    Parameters
    ----------
    case : a scenario; one that was narrowed to one of its vehicles is another question
    """
    asked = case.scenario.model_dump(exclude=_NOT_ASKED, exclude_defaults=True, by_alias=True)
    return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()
