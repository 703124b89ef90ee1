"""What a sheet is made of: the results, the parts behind them, and what was left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.report import report
from configopt.learning.verdicts import VerdictTable
from configopt.scenario.case import Case
from configopt.sheet.figures import Results

Payload = Mapping[str, Any]


@dataclass(frozen=True)
class Given:
    """Everything the sheet's texts, tables and drawings are taken from.

    ``results`` holds ``choice`` (JSON of a choice or an appraisal), ``today`` (reports of today's packages by vehicle,
    ``None`` without) and, where they were made, ``tradeoff``, ``shortlist`` and ``explanation``, each of the first
    vehicle.
    """

    case: Case
    appraised: tuple[VehicleAppraisal, ...]
    results: Results
    searched: bool
    """Whether the choice was searched just now; else it was given in a file."""
    left_out: tuple[str, ...] = ()
    """What the sheet does not hold and why, in sentences."""
    recorded: str = ""
    """What a choice file says of its packages; empty where they were searched just now."""
    files: Mapping[str, str] = field(default_factory=dict)
    """SHA-256 of each file read, by name."""
    vehicle: str | None = None
    """The vehicle that the case was narrowed to; ``None`` where the scenario is taken as it is."""
    before: Mapping[str, str] = field(default_factory=dict)
    """Files of the further results that were made before, by name of the result."""
    verdicts: VerdictTable | None = None
    """What riders said, where the scenario names a table."""

    @property
    def choice(self) -> Payload:
        """JSON of the choice or the appraisal."""
        found: Payload = self.results.documents["choice"]
        return found

    def result(self, name: str) -> Payload | None:
        """A further result, where it was made."""
        return self.results.documents.get(name)


def results_of(
    payload: Payload, appraised: tuple[VehicleAppraisal, ...], further: Mapping[str, Payload | None]
) -> Results:
    """The results by name, with today's packages computed beside them.

    Parameters
    ----------
    payload : JSON of the choice or the appraisal
    appraised : its vehicles
    further : trade-off, short list and explanation where there are any
    """
    today = [report(one.today, sure=False) if isinstance(one.today, VehicleAppraisal) else None for one in appraised]
    made = {name: result for name, result in further.items() if result is not None}
    return Results({"choice": payload, "today": {"vehicles": today}, **made})


def same_packages(mine: Payload, packages: Sequence[Payload]) -> bool:
    """Whether packages of a result are those of a vehicle of the choice."""
    keys = (
        "tire",
        "pressure_kpa",
        "inner",
        "rim_lock",
        "rim",
        "spokes",
        "disc_wheel",
        "hub",
        "rotor",
        "caliper",
        "pad",
    )
    ours = {row["position"]: row for row in mine["packages"]}
    return all(
        abs(row[key] - ours[row["position"]][key]) < 1e-6
        if key == "pressure_kpa"
        else row[key] == ours[row["position"]][key]
        for row in packages
        for key in keys
    )
