"""Choice files: which packages and final drive each vehicle gets, as a person or ``configopt choose`` wrote them.

Two forms are read.  JSON is what ``configopt choose --format json -o FILE`` writes.  Strict YAML is for people::

    vehicles:
      - name: warden-two-wheeler
        final_drive: drive-10-6
        front:
          tire: heron-moor-80-100-21
          pressure: 90 kPa
          ...
        rear:
          ...

with the keys of a scenario's baseline.  Both become the same records, and every mistake has its line and column.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from configopt.decisions.json_source import load_json
from configopt.decisions.records import ChoiceFileRecord, DecisionRecord, NamedVehicleChoice
from configopt.errors import Finding, FindingsError
from configopt.files.reading import read_start
from configopt.files.validation import validate
from configopt.files.yaml_source import Document, KeyPath, load_yaml
from configopt.scenario.case import Case, package_findings
from configopt.scenario.records import VehicleChoiceRecord

#: Schemas of JSON whose ``vehicles`` hold packages.
JSON_SCHEMAS = ("configopt/choice/1", "configopt/appraisal/1")
#: Keys of a package that JSON and YAML share.
_SHARED = ("tire", "inner", "rim_lock", "rim_locks", "rim", "spokes", "disc_wheel", "hub", "rotor", "caliper", "pad")


@dataclass(frozen=True)
class ChoiceFile:
    """A choice file: one record per vehicle, with where everything stands."""

    path: Path
    scenario: str | None
    vehicles: tuple[NamedVehicleChoice, ...]
    document: Document

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the vehicles, in file order."""
        return tuple(vehicle.name for vehicle in self.vehicles)


def load_choice(path: str | Path) -> ChoiceFile:
    """Read a choice file, JSON where its text starts with ``{``, else YAML.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    ChoiceFile
        Its vehicles.

    Raises
    ------
    FindingsError
        With every mistake, in file order.
    """
    file = Path(path)
    document = _from_json(file) if _is_json(file) else load_yaml(file)
    decided = isinstance(document.data, dict) and "decision" in document.data
    record = validate(document, DecisionRecord if decided else ChoiceFileRecord)
    names = [vehicle.name for vehicle in record.vehicles]
    twice = [
        document.finding(
            ("vehicles", index, "name"), "DUPLICATE-ID", f'the vehicle "{name}" is here twice', "keep one entry"
        )
        for index, name in enumerate(names)
        if name in names[:index]
    ]
    if twice:
        raise FindingsError(twice)
    return ChoiceFile(file, record.scenario, tuple(record.vehicles), document)


def records_for(choice: ChoiceFile, case: Case, only: str | None = None) -> list[VehicleChoiceRecord]:
    """The records of a choice file in the order of a case's vehicles.

    Parameters
    ----------
    choice
        The choice file.
    case
        The scenario with its catalogs.
    only
        Name of the one vehicle that the case was narrowed to: entries of the family's other vehicles are passed over.

    Returns
    -------
    list of VehicleChoiceRecord
        One per vehicle of the scenario.

    Raises
    ------
    FindingsError
        If a vehicle is missing or unknown, or a part or final drive is not there.
    """
    document = choice.document
    wanted = {vehicle.name: vehicle for vehicle in case.scenario.vehicles}
    findings: list[Finding] = []
    for index, record in enumerate(choice.vehicles):
        if only is not None and record.name != only and only in choice.names:
            continue
        base: KeyPath = ("vehicles", index)
        vehicle = wanted.get(record.name)
        if vehicle is None:
            near = get_close_matches(record.name, wanted, n=1, cutoff=0.3)
            message = f'the scenario has no vehicle "{record.name}"; it has {", ".join(wanted)}'
            fix = f"write {near[0]}" if near else "correct the name"
            findings.append(document.finding((*base, "name"), "REFERENCE", message, fix))
            continue
        drives = [drive.id for drive in vehicle.drive.final_drives]
        if record.final_drive not in drives:
            message = f'there is no final drive "{record.final_drive}"'
            findings.append(
                document.finding((*base, "final_drive"), "REFERENCE", message, f"one of {', '.join(drives)}")
            )
        for position in ("front", "rear"):
            findings += package_findings(document, (*base, position), getattr(record, position), case.catalog)
    missing = [name for name in wanted if name not in choice.names]
    if missing:
        message = f"no packages for {', '.join(missing)}"
        findings.append(document.finding(("vehicles",), "MISSING-KEY", message, "add an entry per vehicle"))
    if findings:
        raise FindingsError(findings)
    by_name = {record.name: record for record in choice.vehicles}
    return [by_name[name] for name in wanted]


def _is_json(path: Path) -> bool:
    try:
        return read_start(path, 4096).lstrip()[:1] in (b"{", b"[")
    except (OSError, ValueError):
        return False  # the YAML loader says what is wrong with it


def _from_json(path: Path) -> Document:
    """JSON of a choice in the shape of the YAML form, each value with its place in the JSON text."""
    source = load_json(path)
    data = source.data
    if not isinstance(data, dict) or data.get("schema") not in JSON_SCHEMAS:
        message = f"found schema {_shown(data)}, a choice has {' or '.join(JSON_SCHEMAS)}"
        fix = "write it with: configopt choose SCENARIO --format json -o FILE"
        raise FindingsError([source.finding(("schema",), "CHOICE", message, fix)])
    vehicles = data.get("vehicles")
    if not isinstance(vehicles, list) or not vehicles:
        status = data.get("status")
        message = "the file holds no packages" + (f": its status is {status}" if isinstance(status, str) else "")
        raise FindingsError([source.finding(("vehicles",), "CHOICE", message, "name a file that holds a choice")])
    positions = {**source.positions}
    findings: list[Finding] = []
    listed = []
    for index, vehicle in enumerate(vehicles):
        base: KeyPath = ("vehicles", index)
        if not isinstance(vehicle, dict):
            findings.append(source.finding(base, "TYPE", "expected an object with name and packages"))
            continue
        entry: dict[str, Any] = {key: vehicle[key] for key in ("name", "final_drive") if key in vehicle}
        packages = vehicle.get("packages")
        for number, package in enumerate(packages if isinstance(packages, list) else []):
            at = (*base, "packages", number)
            position = package.get("position") if isinstance(package, dict) else None
            if position not in ("front", "rear") or position in entry:
                message = "expected one package with position front and one with position rear"
                findings.append(source.finding((*at, "position"), "CHOICE", message))
                continue
            entry[position], wrong = _package(source, at, package)
            findings += wrong
            positions[(*base, position)] = source.position(at)
            for key in (*_SHARED, "pressure", "crossings"):
                origin = {"pressure": "pressure_kpa", "crossings": "lacing"}.get(key, key)
                positions[(*base, position, key)] = source.position((*at, origin))
        listed.append(entry)
    if findings:
        raise FindingsError(findings)
    converted = {"scenario": data.get("scenario"), "vehicles": listed}
    return Document(str(path), converted, positions, source.key_positions)


def _package(source: Document, at: KeyPath, package: Mapping[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    entry: dict[str, Any] = {key: package[key] for key in _SHARED if key in package}
    findings = []
    pressure = package.get("pressure_kpa")
    if isinstance(pressure, int | float) and not isinstance(pressure, bool):
        entry["pressure"] = f"{pressure!r} kPa"
    else:
        findings.append(source.finding((*at, "pressure_kpa"), "TYPE", "expected a number of kPa", "write a number"))
    lacing = package.get("lacing")
    if lacing is not None:
        crossings = crossings_of(lacing) if isinstance(lacing, str) else None
        if crossings is None:
            message = "expected a lacing such as 3-cross or radial"
            findings.append(source.finding((*at, "lacing"), "VALUE", message, "write the number of crossings"))
        entry["crossings"] = crossings
    return entry, findings


def crossings_of(lacing: str) -> int | None:
    """Crossings of a lacing as the answer prints it.

    Examples
    --------
    >>> crossings_of("3-cross"), crossings_of("radial"), crossings_of("woven")
    (3, 0, None)
    """
    if lacing.strip().lower() == "radial":
        return 0
    numbers = re.findall(r"\d+", lacing)
    return int(numbers[0]) if len(numbers) == 1 and len(numbers[0]) == 1 else None


def _shown(data: Any) -> str:
    name = data.get("schema") if isinstance(data, dict) else None
    return f'"{name[:60]}"' if isinstance(name, str) else "none"
