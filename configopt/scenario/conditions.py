"""Conditions of one vehicle: what it is in each of them, and what is wrong with them in a scenario."""

from __future__ import annotations

from typing import Any

from configopt.errors import Finding
from configopt.files.yaml_source import Document, KeyPath
from configopt.scenario.limits import LIMITS, near_limit_name
from configopt.scenario.records import Condition, Vehicle
from configopt.scenario.scopes import Surfaces, asked

#: What the vehicle is called where it is taken as it is stated, beside its conditions.
AS_STATED = "as stated"
#: Figures of a vehicle that a condition can state anew.
FIGURES = (
    "rider_mass",
    "cargo_mass",
    "cg_from_rear_axle",
    "cg_height",
    "ground_clearance",
    "temperature",
    "altitude",
)
#: Limits on what is bought and built: the same in every condition.
SAME_IN_ALL = frozenset(
    {
        "cost",
        "running_cost",
        "lead_time",
        "package_mass",
        "vehicle_mass",
        "unsprung_mass",
        "puncture_protection",
        "wheel_lateral_stiffness",
    }
)


def vehicle_in(vehicle: Vehicle, condition: Condition) -> Vehicle:
    """The vehicle as it is in one of its conditions; the condition has no conditions of its own."""
    update: dict[str, Any] = {name: value for name in FIGURES if (value := getattr(condition, name)) is not None}
    for group in ("terrains", "descents"):
        update[group] = [
            one.model_copy(update={"surface": condition.surfaces.get(one.surface, one.surface)})
            for one in getattr(vehicle, group)
        ]
    return vehicle.model_copy(update={**update, "conditions": [], "over_conditions": None})


def shares(vehicle: Vehicle) -> tuple[float, ...] | None:
    """Share of the distance ridden as stated and in each condition, or ``None`` where they are not stated."""
    stated = [None if condition.share is None else float(condition.share) for condition in vehicle.conditions]
    given = [share for share in stated if share is not None]
    if len(given) < len(stated):
        return None
    return (max(1.0 - sum(given), 0.0), *given)


def ridden_surfaces(vehicle: Vehicle) -> set[str]:
    """Surfaces of the terrains and descents of a vehicle as it is stated."""
    return {terrain.surface for terrain in vehicle.terrains} | {descent.surface for descent in vehicle.descents}


def named_surfaces(vehicle: Vehicle) -> set[str]:
    """Surfaces that a vehicle meets, in whatever condition."""
    return ridden_surfaces(vehicle).union(*(condition.surfaces.values() for condition in vehicle.conditions))


def condition_findings(document: Document, at: KeyPath, vehicle: Vehicle, surfaces: Surfaces) -> list[Finding]:
    """Every mistake in the conditions of a vehicle, each at its place in the file.

    Parameters
    ----------
    document
        The scenario's file.
    at
        Path of the vehicle in it.
    vehicle, surfaces
        The vehicle, and the surfaces of the catalogs by id.
    """
    found: list[Finding] = []

    def add(path: tuple[str | int, ...], rule: str, message: str, fix: str) -> None:
        found.append(document.finding((*at, *path), rule, message, fix))

    for number, condition in enumerate(vehicle.conditions):
        here = ("conditions", number)
        if condition.name in [other.name for other in vehicle.conditions[:number]]:
            add((*here, "name"), "VALUE", f'there are two conditions "{condition.name}"', "give one another name")
        for path, rule, message, fix in _wrong(condition, vehicle, surfaces):
            add((*here, *path), rule, message, fix)
    for path, message, fix in _wrong_shares(vehicle):
        add(path, "VALUE", message, fix)
    return found


def _wrong(
    condition: Condition, vehicle: Vehicle, surfaces: Surfaces
) -> list[tuple[tuple[str | int, ...], str, str, str]]:
    """Path inside the condition, rule, message and fix of each of its mistakes."""
    wrong: list[tuple[tuple[str | int, ...], str, str, str]] = []
    path: tuple[str | int, ...]
    ridden = sorted(ridden_surfaces(vehicle))
    for old, new in condition.surfaces.items():
        path = ("surfaces", old)
        if old not in ridden:
            message = f'no terrain or descent of this vehicle has the surface "{old}"'
            wrong.append((path, "REFERENCE", message, f"one of {', '.join(ridden)}"))
        if new not in surfaces:
            wrong.append((path, "REFERENCE", f'there is no surface "{new}"', "see configopt parts surfaces"))
    known = bool(condition.without_limits) and surfaces.keys() >= named_surfaces(vehicle)
    keys = {key for key, _, _ in asked(vehicle_in(vehicle, condition), surfaces)} if known else set()
    for index, name in enumerate(condition.without_limits):
        path = ("without_limits", index)
        if name not in LIMITS:
            wrong.append((path, "REFERENCE", f'unknown limit "{name}"{near_limit_name(name)}', "correct the name"))
        elif not LIMITS[name].relaxable:
            message = f"limit {name} must be met in every condition: it is the law, a rating or a matter of getting by"
            wrong.append((path, "LIMIT", message, "remove it here"))
        elif name in SAME_IN_ALL:
            message = f"limit {name} is on what is the same in every condition"
            wrong.append((path, "LIMIT", message, "remove it here, or remove the limit from the vehicle"))
        elif known and name not in keys:
            wrong.append((path, "LIMIT", f"no limit {name} is asked of this vehicle", "remove it here"))
    if not _changed(condition, vehicle) and not condition.without_limits:
        message = f"condition {condition.name} changes nothing of the vehicle as it is stated"
        wrong.append(((), "VALUE", message, "state what is different in it, or remove it"))
    elif not _changed(condition, vehicle):
        message = f"condition {condition.name} only leaves limits out, and they must be met as the vehicle is stated"
        wrong.append((("without_limits",), "VALUE", message, "state what is different in it, or remove it"))
    loaded = [name for name in ("rider_mass", "cargo_mass") if name in _changed(condition, vehicle)]
    missing = [name for name in ("cg_from_rear_axle", "cg_height") if getattr(condition, name) is None]
    if loaded and missing:
        message = f"with another {loaded[0]} the centre of gravity lies elsewhere, and {' and '.join(missing)} "
        message += "is not stated" if len(missing) == 1 else "are not stated"
        wrong.append(((loaded[0],), "VALUE", message, "state both, measured or estimated with this load"))
    if condition.cg_from_rear_axle is not None and condition.cg_from_rear_axle >= vehicle.wheelbase:
        message = "cg_from_rear_axle lies outside the wheelbase"
        wrong.append((("cg_from_rear_axle",), "VALUE", message, "give a length below the wheelbase"))
    return wrong


def _changed(condition: Condition, vehicle: Vehicle) -> list[str]:
    """What a condition changes."""
    changed = [
        name
        for name in FIGURES
        if getattr(condition, name) is not None and getattr(condition, name) != getattr(vehicle, name)
    ]
    ridden = ridden_surfaces(vehicle)
    # A surface that nothing is ridden on is a mistake of its own.
    if any(new != old or old not in ridden for old, new in condition.surfaces.items()):
        changed.append("surfaces")
    return changed


def _wrong_shares(vehicle: Vehicle) -> list[tuple[tuple[str | int, ...], str, str]]:
    """Path inside the vehicle, message and fix of each mistake in the shares."""
    over, conditions = vehicle.over_conditions, vehicle.conditions
    if not conditions:
        if over is None:
            return []
        return [
            (("over_conditions",), "over_conditions is stated without conditions", "state conditions, or remove it")
        ]
    given = [number for number, condition in enumerate(conditions) if condition.share is not None]
    wrong: list[tuple[tuple[str | int, ...], str, str]] = []
    weighed = over not in (None, "worst")
    if (given and len(given) < len(conditions)) or (weighed and not given):
        first = next(number for number, condition in enumerate(conditions) if condition.share is None)
        message = f"condition {conditions[first].name} states no share"
        message += ", and over_conditions needs all of them" if weighed else ", others do"
        wrong.append((("conditions", first), message, "state the share of every condition"))
    total = sum(float(conditions[number].share or 0.0) for number in given)
    if total > 1.0 + 1e-9:
        message = f"the shares of the conditions sum to {total:g}; with what is ridden as stated they must sum to 1"
        wrong.append((("conditions", given[-1], "share"), message, "lower the shares"))
    return wrong
