"""Decision files: a choice that was accepted, by whom, when and why, and what it rested on.

A decision is a choice file (:mod:`configopt.decisions.choice_file`) that also names its scenario, holds the figures
that mattered, and fingerprints of everything it depended on, so that a later check can tell what changed since.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from configopt.catalog.records import Part, Record, Surface
from configopt.choice.result import Choice
from configopt.decisions.choice_file import ChoiceFile, load_choice
from configopt.decisions.fingerprint import changed_paths, fingerprint
from configopt.decisions.reach import reach
from configopt.decisions.records import DecisionRecord
from configopt.errors import UsageError
from configopt.files.validation import validate
from configopt.files.yaml_source import Document, KeyPath
from configopt.files.yaml_text import yaml_text
from configopt.quantities import write_quantity
from configopt.scenario.case import Case
from configopt.scenario.records import PackageRecord, VehicleChoiceRecord

ENDING = ".decision.yaml"
#: Keys of a scenario that no answer depends on.
_UNUSED = frozenset({"title", "description", "note", "baseline", "trials"})
#: Limits with least to spare that a decision keeps.
_TIGHTEST = 5
_HEAD = """\
# A decision recorded by configopt; appraise, compare and explain read it, check decides it again.
# Record it anew instead of editing it: configopt choose --record, or configopt check --accept.
"""


@dataclass(frozen=True)
class Decision:
    """A decision as its file states it."""

    choice: ChoiceFile
    record: DecisionRecord

    @property
    def path(self) -> Path:
        """Its file."""
        return self.choice.path

    @property
    def document(self) -> Document:
        """Its file with the places of its values."""
        return self.choice.document

    @property
    def scenario_path(self) -> Path:
        """File of its scenario."""
        return self.path.parent / self.record.decision.scenario

    @property
    def records(self) -> tuple[VehicleChoiceRecord, ...]:
        """Packages and final drive of every vehicle."""
        return tuple(self.record.vehicles)


def load_decision(path: str | Path) -> Decision:
    """Read a decision file.

    Raises
    ------
    FindingsError
        With every mistake, in file order.
    """
    choice = load_choice(path)
    return Decision(choice, validate(choice.document, DecisionRecord))


def decision_text(case: Case, choice: Choice, *, acceptance: Mapping[str, Any], target: Path) -> str:
    """The file of a decision.

    Parameters
    ----------
    case
        The scenario with its catalogs.
    choice
        The choice that is accepted.
    acceptance
        Values of :class:`configopt.decisions.records.Acceptance` without the scenario.
    target
        Where the file will lie.

    Returns
    -------
    str
        Strict YAML.

    Raises
    ------
    UsageError
        If there is no choice to accept.
    """
    if not choice.records or choice.value is None:
        raise UsageError("there is no choice to record: nothing was found that meets every limit")
    return (
        _modeline(target)
        + _HEAD
        + yaml_text(
            {
                "decision": {"scenario": _from(target.resolve().parent, case.path.resolve()), **acceptance},
                "scenario": case.name,
                "vehicles": [
                    {"name": vehicle.name, **_vehicle_choice(record)}
                    for vehicle, record in zip(case.scenario.vehicles, choice.records, strict=True)
                ],
                "figures": {
                    "aim": _number(choice.value),
                    "currency": case.scenario.currency,
                    "vehicles": [_figures(vehicle) for vehicle in choice.vehicles],
                },
                "depends_on": {
                    "configopt": choice.made_with["configopt"],
                    "scenario": {
                        name: fingerprint(group, _UNUSED) for name, (_, group) in scenario_groups(case).items()
                    },
                    "parts": {
                        part.id: fingerprint(stated(part))
                        for part in sorted(reach(case).values(), key=lambda one: one.id)
                    },
                },
            }
        )
    )


def _modeline(target: Path) -> str:
    """What tells editors the schema, where it lies beside the scenarios as in this project."""
    schema = target.resolve().parent.parent / ".schemas" / "decision.json"
    return "# yaml-language-server: $schema=../.schemas/decision.json\n" if schema.is_file() else ""


def stated(record: Record) -> dict[str, Any]:
    """What a record states beyond its defaults, in SI, under the keys of its file."""
    return record.model_dump(exclude_defaults=True, by_alias=True)


def scenario_groups(case: Case) -> dict[str, tuple[KeyPath, Any]]:
    """A scenario in groups of values that fit into one fingerprint each: by name, the path and the values."""
    data = stated(case.scenario)
    groups: dict[str, tuple[KeyPath, Any]] = {
        key: ((key,), value) for key, value in data.items() if key not in _UNUSED and key != "vehicles"
    }
    for number, vehicle in enumerate(data["vehicles"]):
        at: KeyPath = ("vehicles", number)
        nested = {key: value for key, value in vehicle.items() if isinstance(value, dict | list) and value}
        # A vehicle may be called like a key of the scenario.
        name = f"vehicles.{vehicle['name']}"
        groups[name] = (at, {key: value for key, value in vehicle.items() if key not in nested})
        for key, value in nested.items():
            if key in _UNUSED:
                continue
            if isinstance(value, list) and isinstance(value[0], dict):
                groups.update({f"{name}.{key}.{item}": ((*at, key, item), one) for item, one in enumerate(value)})
            else:
                groups[f"{name}.{key}"] = ((*at, key), value)
    return groups


def scenario_changes(decision: DecisionRecord, case: Case) -> list[KeyPath]:
    """Paths in the scenario at which it differs from what a decision depended on."""
    old, found = decision.depends_on.scenario, []
    groups = scenario_groups(case)
    for name, (at, group) in groups.items():
        if name not in old:
            found.append(at)
        else:
            found += [(*at, *path) for path in changed_paths(old[name], group, _UNUSED)]
    gone = [name for name in old if name not in groups]
    if gone:
        numbers = {vehicle.name: number for number, vehicle in enumerate(case.scenario.vehicles)}
        _, _, name = gone[0].partition(".")
        number = numbers.get(name.partition(".")[0])
        found.append(() if number is None else ("vehicles", number))
    return list(dict.fromkeys(found))


def part_changes(decision: DecisionRecord, part: Part | Surface) -> list[KeyPath] | None:
    """Paths in a part's entry at which it differs from what a decision depended on; ``None`` where it is new to it."""
    old = decision.depends_on.parts.get(part.id)
    return None if old is None else changed_paths(old, stated(part))


def _from(folder: Path, path: Path) -> str:
    return Path(os.path.relpath(path, folder)).as_posix()


def _vehicle_choice(record: VehicleChoiceRecord) -> dict[str, Any]:
    return {"final_drive": record.final_drive, "front": _package(record.front), "rear": _package(record.rear)}


def _package(package: PackageRecord) -> dict[str, Any]:
    stated = {name: getattr(package, name) for name in PackageRecord.model_fields}
    stated["pressure"] = write_quantity(float(package.pressure), "pressure", unit="kPa")
    if not package.rim_locks:
        del stated["rim_locks"]
    return {name: value for name, value in stated.items() if value is not None}


def _figures(vehicle: Mapping[str, Any]) -> dict[str, Any]:
    margins = sorted((row for row in vehicle["margins"] if row["ratio"] is not None), key=lambda row: row["ratio"])
    keys = ("mass_kg", "cost", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km")
    return {
        "name": vehicle["name"],
        **{key: _number(vehicle[key]) for key in keys},
        "tightest": [
            {
                **{key: row[key] for key in ("limit", "terrain", "position", "condition") if row.get(key) is not None},
                "value": _number(row["value"]),
                "required": _number(row["required"]),
                "unit": row["unit"],
            }
            for row in margins[:_TIGHTEST]
        ],
    }


def _number(value: float) -> float:
    """Ten significant digits: processors differ in the last ones."""
    return float(f"{float(value):.10g}")
