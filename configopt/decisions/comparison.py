"""Two choices for one scenario, line by line, with what each difference comes from.

The second choice is reached from the first one part group at a time, from the ground up: tire (with pressure, inner
and rim locks), wheel, brake, at the front and at the rear, then the final drive.  Each step is appraised with the full
model, so the steps add up exactly to the whole difference.  What a step is worth depends on the order, since the parts
work on each other; the order is always the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from configopt.appraisal.appraise import appraise
from configopt.catalog.catalog import Catalog
from configopt.fit.rules import tire_on_rim
from configopt.scenario.case import Case
from configopt.scenario.records import PackageRecord, VehicleChoiceRecord

#: Figures of a vehicle that are compared, by their keys in an appraisal.
FIGURES = ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km", "cost")

_GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("tire", ("tire", "pressure", "inner", "rim_lock", "rim_locks")),
    ("wheel", ("rim", "spokes", "crossings", "disc_wheel", "hub")),
    ("brake", ("rotor", "caliper", "pad")),
)


@dataclass(frozen=True)
class Step:
    """One group of parts that changes, and the records once it has."""

    vehicle: str
    what: str
    records: tuple[VehicleChoiceRecord, ...]


@dataclass(frozen=True)
class Comparison:
    """Two choices compared."""

    scenario: str
    titles: tuple[str, str]
    vehicles: tuple[Mapping[str, Any], ...]

    def to_json(self) -> dict[str, Any]:
        """JSON of schema configopt/comparison/1."""
        return {
            "schema": "configopt/comparison/1",
            "scenario": self.scenario,
            "choices": list(self.titles),
            "vehicles": [dict(vehicle) for vehicle in self.vehicles],
        }


def compare(
    case: Case,
    first: Sequence[VehicleChoiceRecord],
    second: Sequence[VehicleChoiceRecord],
    *,
    titles: tuple[str, str],
) -> Comparison:
    """Compare two choices.

    Parameters
    ----------
    case
        The scenario with its catalogs.
    first, second
        One record per vehicle, in the order of the scenario.
    titles
        What the two are called.

    Returns
    -------
    Comparison
        Parts that differ, figures, steps, causes of the energy and limits.
    """
    names = [vehicle.name for vehicle in case.scenario.vehicles]

    def vehicles(records: Sequence[VehicleChoiceRecord]) -> list[dict[str, Any]]:
        listed: list[dict[str, Any]] = appraise(case, list(records), names, explained=False).to_json()["vehicles"]
        return listed

    before, after = vehicles(first), vehicles(second)
    stages = [before]
    steps = list(walk(case.catalog, names, first, second))
    for step in steps[:-1]:
        stages.append(vehicles(step.records))
    stages.append(after)
    rows: list[Mapping[str, Any]] = []
    for index, name in enumerate(names):
        worth = [
            {
                "what": step.what,
                **{key: _change(stages[at][index], stages[at + 1][index], key) for key in FIGURES},
            }
            for at, step in enumerate(steps)
            if step.vehicle == name
        ]
        rows.append(
            {
                "name": name,
                "currency": after[index]["currency"],
                "parts": part_differences(first[index], second[index]),
                "figures": {
                    key: {
                        "first": before[index][key],
                        "second": after[index][key],
                        "change": _change(before[index], after[index], key),
                    }
                    for key in FIGURES
                },
                "steps": worth,
                "energy_by_cause_wh_per_km": {
                    cause: after[index]["energy_by_cause_wh_per_km"][cause] - value
                    for cause, value in before[index]["energy_by_cause_wh_per_km"].items()
                },
                "limits": _limits(before[index]["margins"], after[index]["margins"]),
            }
        )
    return Comparison(case.name, titles, tuple(rows))


def walk(
    catalog: Catalog,
    names: Sequence[str],
    first: Sequence[VehicleChoiceRecord],
    second: Sequence[VehicleChoiceRecord],
) -> Iterator[Step]:
    """The steps from the first choice to the second; the last one ends at the second.

    Parameters
    ----------
    catalog
        The parts.
    names
        Names of the vehicles.
    first, second
        Their records.

    Yields
    ------
    Step
        One per group of parts that differs.
    """
    current = list(first)
    for index, name in enumerate(names):
        for position in ("front", "rear"):
            target: PackageRecord = getattr(second[index], position)
            for group, fields in _groups(catalog, getattr(current[index], position), target):
                package: PackageRecord = getattr(current[index], position)
                update = {field: getattr(target, field) for field in fields}
                if all(getattr(package, field) == value for field, value in update.items()):
                    continue
                changed = package.model_copy(update=update)
                current[index] = current[index].model_copy(update={position: changed})
                yield Step(name, f"{position} {group}", tuple(current))
        if current[index].final_drive != second[index].final_drive:
            current[index] = current[index].model_copy(update={"final_drive": second[index].final_drive})
            yield Step(name, "final drive", tuple(current))


def _groups(catalog: Catalog, package: PackageRecord, target: PackageRecord) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The groups of a package; tire and wheel go together where the new tire does not sit on the old wheel."""
    tire = catalog.part("tires", target.tire)
    family = "rims" if package.rim is not None else "disc-wheels"
    if tire_on_rim(tire, catalog.part(family, str(package.rim or package.disc_wheel))) is None:
        return _GROUPS
    (first, first_fields), (second, second_fields), brake = _GROUPS
    return (f"{first} and {second}", first_fields + second_fields), brake


def part_differences(first: VehicleChoiceRecord, second: VehicleChoiceRecord) -> list[dict[str, Any]]:
    """What the two records name differently, from the ground up; pressures in kPa.

    Parameters
    ----------
    first, second
        Records of one vehicle.

    Returns
    -------
    list of dict
        ``position``, ``part``, ``first`` and ``second``.
    """
    rows: list[dict[str, Any]] = []
    for position in ("front", "rear"):
        one, other = getattr(first, position), getattr(second, position)
        for _, fields in _GROUPS:
            for field in fields:
                a, b = getattr(one, field), getattr(other, field)
                if a == b:
                    continue
                if field == "pressure":
                    field, a, b = "pressure_kpa", float(a) / 1e3, float(b) / 1e3
                rows.append({"position": position, "part": field, "first": a, "second": b})
    if first.final_drive != second.final_drive:
        rows.append({"position": None, "part": "final_drive", "first": first.final_drive, "second": second.final_drive})
    return rows


def _change(before: Mapping[str, Any], after: Mapping[str, Any], key: str) -> float:
    return float(after[key]) - float(before[key])


def _limits(before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    keys = ("limit", "terrain", "position")
    others = {tuple(row[key] for key in keys): row for row in after}
    rows = []
    for row in before:
        other = others[tuple(row[key] for key in keys)]
        rows.append(
            {
                **{key: row[key] for key in keys},
                "required": row["required"],
                "unit": row["unit"],
                "first": {key: row[key] for key in ("value", "ratio", "met")},
                "second": {key: other[key] for key in ("value", "ratio", "met")},
            }
        )
    return rows
