"""The answer of ``appraise`` as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.text_choice import (
    plain,
    write_change,
    write_list,
    write_margins,
    write_packages,
    write_terrains,
)
from configopt.cli.words import CAUSE_WORDS, fixed, margin_words, number, with_unit

Payload = Mapping[str, Any]


def write_appraisal(sheet: Page, payload: Payload, *, detail: bool = False) -> None:
    """Write an appraisal onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of an appraisal (schema configopt/appraisal/1).
    detail
        Every figure, margin and remark instead of the tightest.
    """
    misfits = misfit_lines(payload)
    unmet = sum(not margin["met"] for vehicle in payload["vehicles"] for margin in vehicle["margins"])
    verdict = "fits" if not misfits else "does not fit"
    limits = "meets every limit" if unmet == 0 else f"misses {unmet} limit{'' if unmet == 1 else 's'}"
    joined = "and" if (not misfits) == (unmet == 0) else "but"
    sheet.heading(f"{payload['scenario']}: the choice {verdict} {joined} {limits}")
    for line in misfits:
        sheet.item(line)
    for vehicle in payload["vehicles"]:
        write_packages(sheet, vehicle)
        write_change(sheet, vehicle)
        write_terrains(sheet, vehicle)
        if detail:
            _write_causes(sheet, vehicle)
            _write_table(sheet, "Per wheel", vehicle["packages"], "position")
            _write_table(sheet, "Per terrain", vehicle["terrains"], "name")
            _write_vehicle(sheet, vehicle)
            sheet.heading("All limits")
            for margin in vehicle["margins"]:
                sheet.item(margin_words(margin, vehicle.get("currency", "")))
        else:
            write_margins(sheet, vehicle)
    write_list(sheet, "Remarks", payload.get("remarks", ()))
    write_list(sheet, "Cautions", payload.get("cautions", ()))


def misfit_lines(payload: Payload) -> list[str]:
    """Every rule of fit that the packages break, as lines."""
    lines = []
    found = payload.get("misfits") or []
    rows = found.items() if isinstance(found, dict) else [("", found)]
    for place, texts in rows:
        for text in texts if isinstance(texts, list) else [texts]:
            lines.append(_misfit(place, text))
    return lines


def _misfit(place: str, entry: Any) -> str:
    if isinstance(entry, dict):
        where = [str(entry[key]) for key in ("vehicle", "position") if entry.get(key)]
        entry, place = entry.get("what") or entry.get("text") or entry.get("reason", ""), " ".join(where)
    return f"{place}: {entry}" if place else str(entry)


def _write_causes(sheet: Page, vehicle: Payload) -> None:
    sheet.heading("Where the energy goes")
    causes = vehicle["energy_by_cause_wh_per_km"]
    rows = [(CAUSE_WORDS.get(key, plain(key)), f"{fixed(value, 1)} Wh/km") for key, value in causes.items()]
    rows.append(("together", f"{fixed(vehicle['energy_wh_per_km'], 1)} Wh/km"))
    sheet.table(rows, right=frozenset({1}))


#: Figures of a package or a terrain: key, what it is called, unit.
_FIGURES = (
    ("mass_kg", "mass", "kg"),
    ("cost", "cost", ""),
    ("static_load_n", "static load", "N"),
    ("unsprung_mass_kg", "unsprung mass", "kg"),
    ("diameter_mm", "diameter", "mm"),
    ("width_mm", "width", "mm"),
    ("loaded_radius_mm", "loaded radius", "mm"),
    ("relative_deflection", "deflection over section height", ""),
    ("tension_ratio", "least spoke tension left", ""),
    ("inertia_kg_m2", "moment of inertia", "kg m2"),
    ("creep", "tire on the rim", ""),
    ("energy_wh_per_km", "energy", "Wh/km"),
    ("rolling_loss_wh_per_km", "rolling loss", "Wh/km"),
    ("slip_percent", "slip", "%"),
    ("sinkage_front_mm", "sinkage front", "mm"),
    ("sinkage_rear_mm", "sinkage rear", "mm"),
    ("ground_pressure_front_kpa", "ground pressure front", "kPa"),
    ("ground_pressure_rear_kpa", "ground pressure rear", "kPa"),
    ("climb_grade_percent", "steepest climb", "%"),
    ("climb_limited_by", "climb limited by", ""),
)


def _write_table(sheet: Page, title: str, entries: list[Any], head: str) -> None:
    """Figures in rows, one column per package or terrain."""
    rows = []
    for key, words, unit in _FIGURES:
        if any(entry.get(key) is not None for entry in entries):
            cells = [entry.get(key) for entry in entries]
            rows.append((f"{words} [{unit}]" if unit else words, *(_cell(cell) for cell in cells)))
    if rows:
        sheet.heading(title)
        header = ("", *(str(entry[head]) for entry in entries))
        sheet.table(rows, header=header, right=frozenset(range(1, len(header))))


def _cell(value: Any) -> str:
    if value is None:
        return "-"
    return number(value) if isinstance(value, int | float) else str(value)


def _write_vehicle(sheet: Page, vehicle: Payload) -> None:
    rows = [
        (words, with_unit(number(vehicle[key]), unit))
        for key, words, unit in (
            ("trail_mm", "trail", "mm"),
            ("ground_clearance_mm", "ground clearance", "mm"),
            ("top_speed_km_h", "top speed", "km/h"),
            ("lift_off_deceleration_g", "deceleration at lift-off", "g"),
        )
        if vehicle.get(key) is not None
    ]
    if rows:
        sheet.heading("The vehicle on these wheels")
        sheet.table(rows, right=frozenset({1}))
