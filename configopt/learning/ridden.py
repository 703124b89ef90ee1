"""What was ridden in a test: the vehicle of the scenario with what the head of the log states otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic_core import PydanticCustomError

from configopt.appraisal.model import Evaluation
from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.packages import Package
from configopt.appraisal.rows import evaluation_of_rows
from configopt.appraisal.uncertain import UncertainFigure, uncertain_figures
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.corrections import quantity_of_figure
from configopt.catalog.records import Position
from configopt.decisions.choice_file import load_choice, records_for
from configopt.errors import ConfigoptError, Finding, FindingsError
from configopt.files.validation import validate
from configopt.files.yaml_source import Document
from configopt.learning.log_kinds import PACKAGE_KEYS
from configopt.learning.log_reading import Log
from configopt.physics.domain import Array
from configopt.quantities import Figure, write_quantity
from configopt.scenario.case import Case, package_findings
from configopt.scenario.records import PackageRecord, Terrain, Vehicle, VehicleChoiceRecord

#: Speed at which ground is computed where a test has none of its own [m/s].
WALKING = 2.0

_CIRCUMSTANCES = ("rider_mass", "cargo_mass", "temperature", "altitude")


@dataclass(frozen=True)
class Ridden:
    """A vehicle as it was ridden in one test."""

    vehicle: Vehicle
    model: VehicleModel
    packages: dict[Position, Package]
    drive: int

    @property
    def figures(self) -> list[UncertainFigure]:
        """Uncertain figures behind what is computed of it."""
        return uncertain_figures(self.model, self.packages)

    def at(self, legs: Sequence[tuple[float, float]], surface: str, **changes: Any) -> Ridden:
        """The same on one surface, at speeds and grades [m/s, 1]; one terrain each, named leg-1, leg-2, ..."""
        terrains = [
            Terrain.model_construct(
                name=f"leg-{number}",
                surface=surface,
                share=Figure(1.0 / len(legs)),
                speed=Figure(speed),
                grade=Figure(grade),
                direction="both ways",
                obstacles=[],
                stops_per_km=Figure(0.0),
            )
            for number, (speed, grade) in enumerate(legs, 1)
        ]
        vehicle = self.vehicle.model_copy(update={"terrains": terrains, **changes})
        return Ridden(vehicle, VehicleModel(vehicle, self.model.catalog), self.packages, self.drive)

    def rows(self, figures: Sequence[UncertainFigure], values: Array) -> Evaluation:
        """The full model with figures at values [SI], (rows, figures)."""
        return evaluation_of_rows(self.model, self.packages, self.drive, figures, values)

    def once(self) -> Evaluation:
        """The full model with every figure as in the catalog; one row."""
        return self.rows([], np.empty((1, 0)))


def surface_of(log: Log, case: Case) -> str:
    """Surface that a log's head names.

    Raises
    ------
    FindingsError
        If it names none, or one that the catalog does not have.
    """
    name = log.head.get("surface")
    known = [surface.id for surface in case.catalog.surfaces]
    if name in known:
        return str(name)
    if name is None:
        message, fix = 'the head lacks "surface"', "write a line: # surface: ... (see configopt parts surfaces)"
        raise FindingsError([log.table.head_finding(None, "LOG-HEAD", message, fix)])
    message = f'there is no surface "{name}"'
    raise FindingsError([log.table.head_finding("surface", "REFERENCE", message, "see configopt parts surfaces")])


def ridden(log: Log, case: Case) -> Ridden:
    """What was ridden.

    Raises
    ------
    FindingsError
        If the head names a vehicle, file, part or final drive that is not there, or parts that cannot be computed.
    """
    table, head = log.table, log.head
    names = [vehicle.name for vehicle in case.scenario.vehicles]
    name = head.get("vehicle", names[0])
    if name not in names:
        message = f'there is no vehicle "{name}" in the question'
        fix = f"one of {', '.join(names)}; --vehicle leaves out the scenario's others"
        raise FindingsError([table.head_finding("vehicle", "REFERENCE", message, fix)])
    stated = case.scenario.vehicles[names.index(name)]
    record = _record(log, case, stated)
    record = _with_parts(log, case, record)
    changes = _circumstances(log)
    drives = [drive.id for drive in stated.drive.final_drives]
    if head.get("final_drive", drives[0]) not in drives:
        message = f'{name} has no final drive "{head["final_drive"]}"'
        raise FindingsError([table.head_finding("final_drive", "REFERENCE", message, f"one of {', '.join(drives)}")])
    # Pressures are set where and when the test is ridden; conditions, limits and descents belong to the question.
    nothing: dict[str, Any] = {"conditions": [], "limits": [], "descents": [], "stops": None, "alternates": None}
    nothing |= {"inflation_temperature": None, "inflation_altitude": None, "baseline": None}
    vehicle = stated.model_copy(update={**changes, **nothing})
    try:
        appraised = appraise_record(VehicleModel(vehicle, case.catalog), record)
    except FindingsError:
        raise
    except ConfigoptError as error:
        raise FindingsError([table.head_finding("ridden", "LOG-HEAD", str(error), "correct what was ridden")]) from None
    return Ridden(vehicle, appraised.model, appraised.packages, appraised.drive)


def _circumstances(log: Log) -> dict[str, Any]:
    """What the head states otherwise of rider, cargo, air and place, where a scenario may say it, too."""
    changes: dict[str, Any] = {}
    findings: list[Finding] = []
    for key in _CIRCUMSTANCES:
        accepted = quantity_of_figure(Vehicle, key)
        if key not in log.head or accepted is None:
            continue
        try:
            changes[key] = accepted.read(Figure(log.head[key]))
        except PydanticCustomError as error:
            message = f"{key}: {(error.context or {}).get('message', '')}"
            findings.append(log.table.head_finding(key, "LOG-HEAD", message, "correct it, or remove the line"))
    if findings:
        raise FindingsError(findings)
    return changes


def _record(log: Log, case: Case, stated: Vehicle) -> VehicleChoiceRecord:
    """Packages by the file that the head names, else the baseline."""
    named = log.head.get("ridden", "baseline")
    if named == "baseline":
        if stated.baseline is None:
            message = f"{stated.name} has no baseline, and the head does not say what was ridden"
            fix = "write a line: # ridden: FILE (a choice or decision file)"
            raise FindingsError([log.table.head_finding(None, "LOG-HEAD", message, fix)])
        return stated.baseline
    path = log.path.parent / named
    if not path.is_file():
        message = f'there is no file "{named}"'
        raise FindingsError([log.table.head_finding("ridden", "REFERENCE", message, "a path seen from the log")])
    choice = load_choice(path)
    narrowed = case.only(stated.name)
    return records_for(choice, narrowed, only=stated.name)[0]


def _with_parts(log: Log, case: Case, record: VehicleChoiceRecord) -> VehicleChoiceRecord:
    """The record with what the head states otherwise."""
    head, changes = log.head, {}
    findings: list[Finding] = []
    if "final_drive" in head:
        changes["final_drive"] = head["final_drive"]
    for position in POSITIONS:
        written = getattr(record, position).model_dump(mode="json", exclude_none=True)
        lines = {}
        for key in PACKAGE_KEYS:
            value = head.get(f"{key}_{position}")
            if value is None:
                continue
            lines[key] = log.table.head_lines[f"{key}_{position}"]
            if value == "none":
                written.pop(key, None)
            elif key == "pressure":
                written[key] = write_quantity(value, "pressure")
            else:
                written[key] = int(value) if key in ("rim_locks", "crossings") and value.isdigit() else value
        if not lines:
            continue
        first = min(lines.values())
        places = {(): (first, 1)} | {(key,): (line, 1) for key, line in lines.items()}
        document = Document(log.table.path, written, places)  # type: ignore[arg-type]
        try:
            changes[position] = validate(document, PackageRecord)
        except FindingsError as error:
            findings += error.findings
            continue
        findings += package_findings(document, (), changes[position], case.catalog)
    if findings:
        raise FindingsError(findings)
    return record.model_copy(update=changes)
