"""What happens on the ground, terrain by terrain, and every margin."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from configopt.sheet.contents_cautions import rated_at
from configopt.sheet.figures import NOT_HERE, Results, figure_text, shown
from configopt.sheet.given import Given
from configopt.sheet.tables import Cell, Row, Table, columns
from configopt.sheet.words import CAUSES, asked_words, chance_words, limit_words, verdict_words

#: Figures of a terrain: words, key, unit.
_TERRAIN = (
    ("sinkage, front", "sinkage_front_mm", "mm"),
    ("sinkage, rear", "sinkage_rear_mm", "mm"),
    ("slip of the driven wheels", "slip_percent", "%"),
    ("ground pressure, front", "ground_pressure_front_kpa", "kPa"),
    ("ground pressure, rear", "ground_pressure_rear_kpa", "kPa"),
    ("steepest climb", "climb_grade_percent", "%"),
    ("highest step from rest, by its own grip", "step_height_mm", "mm"),
    ("steepest side slope", "side_slope_percent", "%"),
    ("deceleration, both brakes", "deceleration_g", "g"),
    ("reserve against rim strikes, front", "strike_margin_front", "1"),
    ("reserve against rim strikes, rear", "strike_margin_rear", "1"),
    ("changes of the load over the load, front", "dynamic_load_front", "1"),
    ("changes of the load over the load, rear", "dynamic_load_rear", "1"),
    ("time off the ground, front", "time_off_ground_front_percent", "%"),
    ("time off the ground, rear", "time_off_ground_rear_percent", "%"),
)


@dataclass(frozen=True)
class Ground:
    """Terrains of one vehicle."""

    terrains: Table
    """What is ridden on."""
    braking: Table | None
    """Descents and stops that size the brakes."""
    energy: Table
    """Energy by cause."""
    figures: Table
    remarks: tuple[tuple[str, tuple[str, ...]], ...]
    """By terrain."""
    tightest: Table
    margins: Table


def ground(given: Given, number: int) -> Ground:
    """What happens on the ground with one of the vehicles."""
    entry = given.choice["vehicles"][number]
    return Ground(
        terrains=_terrains(given, number),
        braking=_braking(given, number),
        energy=_energy(given.results, number, entry),
        figures=_figures(given, number, entry),
        remarks=tuple((row["name"], tuple(row["remarks"])) for row in entry["terrains"] if row["remarks"]),
        tightest=_margins(given, number, entry, count=8),
        margins=_margins(given, number, entry),
    )


def _terrains(given: Given, number: int) -> Table:
    """The question: where the vehicle is ridden."""
    vehicle, catalog = given.appraised[number].model.vehicle, given.case.catalog
    names = {surface.id: surface.name for surface in catalog.surfaces}
    rows = []
    for terrain in vehicle.terrains:
        obstacles = "; ".join(
            f"{figure_text(1e3 * float(one.height), 'mm')}, {float(one.per_km):g} per km" for one in terrain.obstacles
        )
        grade = (
            "level"
            if not float(terrain.grade)
            else f"{figure_text(100.0 * float(terrain.grade), '%')}, {terrain.direction}"
        )
        rows.append(
            Row(
                (
                    terrain.name,
                    names[terrain.surface],
                    shown(100.0 * float(terrain.share), "%"),
                    shown(3.6 * float(terrain.speed), "km/h"),
                    grade,
                    obstacles or "none",
                    f"{float(terrain.stops_per_km):g} per km" if float(terrain.stops_per_km) else "none",
                )
            )
        )
    heads = columns("terrain", "surface", "#share", "#speed", "grade", "obstacles", "stops")
    return Table("Where it is ridden", heads, tuple(rows))


def _braking(given: Given, number: int) -> Table | None:
    """What the brakes are sized for, where anything is stated."""
    vehicle = given.appraised[number].model.vehicle
    names = {surface.id: surface.name for surface in given.case.catalog.surfaces}
    rows = [
        Row(
            (
                descent.name,
                f"descent on {names[descent.surface]}, {figure_text(100.0 * float(descent.grade), '%')}",
                shown(3.6 * float(descent.speed), "km/h"),
                f"{figure_text(float(descent.height), 'm')} of height",
            )
        )
        for descent in vehicle.descents
    ]
    if vehicle.stops is not None:
        stops = vehicle.stops
        every = figure_text(float(stops.interval), "s")
        rows.append(
            Row(("stops", "from this speed", shown(3.6 * float(stops.speed), "km/h"), f"{stops.count}, one in {every}"))
        )
    heads = columns("case", "what", "#speed", "how much")
    return Table("What the brakes are sized for", heads, tuple(rows)) if rows else None


def _energy(results: Results, number: int, entry: Mapping[str, Any]) -> Table:
    base = f"choice/vehicles/{number}"
    names = [row["name"] for row in entry["terrains"]]
    rows = []
    for cause, words in CAUSES.items():
        cells: list[Cell] = [results.figure(f"{base}/energy_by_cause_wh_per_km/{cause}", "Wh/km")]
        cells += [
            results.figure(f"{base}/terrains/{at}/energy_by_cause_wh_per_km/{cause}", "Wh/km")
            for at in range(len(names))
        ]
        rows.append(Row((words, *cells)))
    whole: list[Cell] = [results.figure(f"{base}/energy_wh_per_km", "Wh/km")]
    whole += [results.figure(f"{base}/terrains/{at}/energy_wh_per_km", "Wh/km") for at in range(len(names))]
    rows.append(Row(("from the battery", *whole), marked=True))
    if results.documents["today"]["vehicles"][number] is not None:
        base = f"today/vehicles/{number}"
        whole = [results.figure(f"{base}/energy_wh_per_km", "Wh/km")]
        whole += [results.figure(f"{base}/terrains/{at}/energy_wh_per_km", "Wh/km") for at in range(len(names))]
        rows.append(Row(("today, from the battery", *whole)))
    heads = columns("cause", "#all, by their shares", *(f"#{name}" for name in names))
    return Table(f"Energy of a kilometre by cause{_as_stated(entry)}", heads, tuple(rows), _spread_words(entry))


def _as_stated(entry: Mapping[str, Any]) -> str:
    """For captions: figures that are not those of every condition."""
    return ", the vehicle as stated" if entry.get("conditions") else ""


def _spread_words(entry: Mapping[str, Any]) -> str:
    """Between which ends the energy lies for all that is uncertain."""
    spread = entry.get("uncertainty")
    if spread is None:
        return ""
    energy = spread["energy_wh_per_km"]
    low, high = (figure_text(energy[end], "Wh/km") for end in ("low", "high"))
    moved = ", ".join(f"{row['figure']} ({figure_text(row['moves'], 'Wh/km')})" for row in energy["matters_most"])
    return (
        f"90 % of the draws lie between {low} and {high} from the battery, moved most by {moved or 'nothing notable'}."
    )


def _figures(given: Given, number: int, entry: Mapping[str, Any]) -> Table:
    results, base = given.results, f"choice/vehicles/{number}"
    names = [row["name"] for row in entry["terrains"]]
    rows = [Row(("can be ridden", *("yes" if row["passable"] else "no" for row in entry["terrains"])))]
    legs = given.appraised[number].outcome.legs
    need: list[Cell] = []
    over: list[Cell] = []
    for name in names:
        mine = [leg for leg in legs if leg.leg.terrain.name == name]
        # The direction that leaves least.
        hardest = min(mine, key=lambda leg: float(leg.reserve[0]))
        need.append(shown(float(hardest.need[0]), "N"))
        over.append(shown(float(hardest.reserve[0]), "1"))
    rows += [Row(("thrust needed", *need)), Row(("thrust the ground gives, over the need", *over))]
    for words, key, unit in _TERRAIN:
        if all(row[key] is None for row in entry["terrains"]):
            continue
        cells = [
            NOT_HERE if row[key] is None else results.figure(f"{base}/terrains/{at}/{key}", unit)
            for at, row in enumerate(entry["terrains"])
        ]
        rows.append(Row((words, *cells)))
    ends = [row["climb_limited_by"] or "not reached" for row in entry["terrains"]]
    rows.append(Row(("what ends the climb", *ends)))
    note = f"{NOT_HERE}: does not apply there. Ratios have no unit; 1 is the border."
    return Table(f"On each terrain{_as_stated(entry)}", columns("", *(f"#{name}" for name in names)), tuple(rows), note)


def _margins(given: Given, number: int, entry: Mapping[str, Any], count: int | None = None) -> Table:
    """Margins with what is missed first, then by what is left; the tightest only where a count is given."""
    order = sorted(
        enumerate(entry["margins"]),
        key=lambda row: (row[1]["met"], math.inf if row[1]["ratio"] is None else row[1]["ratio"]),
    )
    results, rows = given.results, []
    for at, margin in order[:count]:
        path, unit = f"choice/vehicles/{number}/margins/{at}", margin["unit"]
        low, high = margin.get("low"), margin.get("high")
        span: Cell = "not computed"
        if low is not None and high is not None:
            ends = (figure_text(low, unit), figure_text(high, unit))
            span = " to ".join(dict.fromkeys(ends))
        rows.append(
            Row(
                (
                    limit_words(margin),
                    "no figure" if margin["value"] is None else results.figure(f"{path}/value", unit),
                    asked_words(margin),
                    _verdict(given, number, margin),
                    span,
                    chance_words(margin.get("chance_missed")),
                    _moved(margin),
                ),
                marked=not margin["met"],
            )
        )
    heads = columns("limit", "#reached", "asked", "verdict", "90 % of the draws", "chance of a miss", "moved most by")
    total = len(entry["margins"])
    caption = f"Every limit, {total} in all" if count is None else "The limits with least to spare"
    return Table(caption, heads, tuple(rows))


def _verdict(given: Given, number: int, margin: Mapping[str, Any]) -> str:
    """The verdict on a limit; a tire's load is only known at the pressure of its rating."""
    words, position = verdict_words(margin), margin.get("position")
    rated = rated_at(given.appraised[number], position) if margin["limit"] == "tire_load" and position else ""
    return f"{words}; {rated}" if rated else words


def _moved(margin: Mapping[str, Any]) -> str:
    """The figures that move a margin most, where they move it at all."""
    nothing, unit = figure_text(0.0, margin["unit"]), margin["unit"]
    rows = [(row["figure"], figure_text(row["moves"], unit)) for row in margin.get("matters_most") or ()]
    return ", ".join(f"{name} ({moved})" for name, moved in rows if moved != nothing) or "nothing notable"
