"""A vehicle that must serve several conditions: what is different in each, and what the choice comes to there."""

from __future__ import annotations

from configopt.physics.constants import CELSIUS_ZERO
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import Condition
from configopt.sheet.figures import figure_text, shown
from configopt.sheet.given import Given
from configopt.sheet.tables import Cell, Row, Table, columns

#: Figures that a condition may state: words, field, unit, times what.
_FIGURES = (
    ("riders", "rider_mass", "kg", 1.0),
    ("cargo", "cargo_mass", "kg", 1.0),
    ("centre of gravity ahead of the rear axle", "cg_from_rear_axle", "mm", 1e3),
    ("height of the centre of gravity", "cg_height", "mm", 1e3),
    ("ground clearance", "ground_clearance", "mm", 1e3),
    ("altitude", "altitude", "m", 1.0),
)


def asked_conditions(given: Given, number: int) -> Table | None:
    """What is different in each further condition of a vehicle; ``None`` where it has none."""
    vehicle = given.appraised[number].model.vehicle
    if not vehicle.conditions:
        return None
    names = {surface.id: surface.name for surface in given.case.catalog.surfaces}
    rows = [Row((condition.name, _different(condition, names))) for condition in vehicle.conditions]
    note = "What a condition does not name is as stated for the vehicle. Every other limit must be met in each of them."
    return Table(
        "Conditions that the same wheels must serve",
        columns("condition", "what is different"),
        rows=tuple(rows),
        note=note,
    )


def _different(condition: Condition, names: dict[str, str]) -> str:
    told = []
    for words, field, unit, times in _FIGURES:
        value = getattr(condition, field)
        if value is not None:
            told.append(f"{words} {figure_text(times * float(value), unit)}")
    if condition.temperature is not None:
        told.append(f"air at {figure_text(float(condition.temperature) - CELSIUS_ZERO, 'degC')}")
    told += [f"{names[there]} in place of {names[usual]}" for usual, there in condition.surfaces.items()]
    told += [f"without the limit on {LIMITS[key].wording}" for key in condition.without_limits]
    if condition.share is not None:
        told.append(f"{figure_text(100.0 * float(condition.share), '%')} of the distance")
    return "; ".join(told) or "nothing"


def over_words(given: Given, number: int) -> str:
    """Which of the aim's values in the conditions counts; empty where there is one condition."""
    found = given.choice["vehicles"][number].get("conditions")
    if not found:
        return ""
    which = {"worst": "the worst value over the conditions", "mean": "the mean over the conditions, by their shares"}
    part = found["worst_share"]
    worst = "" if part is None else f"the mean over the worst {figure_text(100.0 * part, '%')} of the distance"
    return which.get(found["over"], worst)


def in_each_condition(given: Given, number: int) -> Table | None:
    """The same packages in each condition of the vehicle."""
    found = given.choice["vehicles"][number].get("conditions")
    if not found:
        return None
    path = f"choice/vehicles/{number}/conditions/each"
    aims = all("aim" in one for one in found["each"])
    rows = []
    for at, one in enumerate(found["each"]):
        cells: list[Cell] = [one["name"]]
        cells += [
            given.results.figure(f"{path}/{at}/{key}", unit)
            for key, unit in (("rolling_loss_wh_per_km", "Wh/km"), ("energy_wh_per_km", "Wh/km"), ("range_km", "km"))
        ]
        if aims:
            cells.append(shown(100.0 * one["counts"], "%"))
        cells.append("none" if not one["limits_not_met"] else str(one["limits_not_met"]))
        rows.append(Row(tuple(cells)))
    counts = ["#counts in the aim"] if aims else []
    heads = columns("condition", "#rolling loss", "#energy", "#range", *counts, "limits missed")
    return Table("The same packages in each condition", heads, tuple(rows))
