"""The answer of ``compare`` as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.words import fixed, limit_words, number, with_unit
from configopt.sheet.words import CAUSES

Payload = Mapping[str, Any]

#: Figure of a vehicle: key, words, unit, decimals.
_FIGURES = (
    ("mass_kg", "mass of the packages", "kg", 2),
    ("rolling_loss_wh_per_km", "rolling loss", "Wh/km", 1),
    ("energy_wh_per_km", "energy", "Wh/km", 1),
    ("range_km", "range", "km", 1),
    ("cost", "cost", "currency", 0),
)
#: A cause is shown where it changes by more than this [Wh/km].
_LEAST_CHANGE = 0.05


def write_comparison(sheet: Page, payload: Payload) -> None:
    """Write a comparison onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a comparison (schema configopt/comparison/1).
    """
    first, second = payload["choices"]
    sheet.heading(f"{payload['scenario']}: first {first}, second {second}")
    for vehicle in payload["vehicles"]:
        if not vehicle["parts"]:
            sheet.heading(f"{vehicle['name']}: both choices are the same")
            continue
        _write_parts(sheet, vehicle)
        _write_figures(sheet, vehicle)
        _write_steps(sheet, vehicle)
        _write_causes(sheet, vehicle)
        _write_limits(sheet, vehicle)


def _write_parts(sheet: Page, vehicle: Payload) -> None:
    sheet.heading(f"{vehicle['name']}: what differs")
    rows = [
        (
            f"{row['position'] or ''} {_PART_WORDS.get(row['part'], row['part'].replace('_', ' '))}".strip(),
            _part(row["first"]),
            _part(row["second"]),
        )
        for row in vehicle["parts"]
    ]
    sheet.table(rows, header=("", "first", "second"), flexible=(1, 2))


_PART_WORDS = {"pressure_kpa": "pressure [kPa]", "rim_locks": "number of rim locks"}


def _part(value: Any) -> str:
    if value is None:
        return "none"
    return number(value) if isinstance(value, int | float) else str(value)


def _write_figures(sheet: Page, vehicle: Payload) -> None:
    sheet.heading("What it comes to")
    rows = []
    for key, words, unit, places in _FIGURES:
        row = vehicle["figures"][key]
        second = with_unit(fixed(row["second"], places), unit, vehicle["currency"])
        rows.append((words, fixed(row["first"], places), second, fixed(row["change"], places, sign=True)))
    sheet.table(rows, header=("", "first", "second", "change"), right=frozenset({1, 2, 3}))


def _write_steps(sheet: Page, vehicle: Payload) -> None:
    sheet.heading("Where the change comes from, one group of parts after the other")
    header = ("", *(f"{words.split()[0]} {with_unit('', unit, vehicle['currency']).strip()}".strip()
                    for _, words, unit, _ in _FIGURES))  # fmt: skip
    rows = [
        (step["what"], *(fixed(step[key], places, sign=True) for key, _, _, places in _FIGURES))
        for step in vehicle["steps"]
    ]
    sheet.table(rows, header=header, right=frozenset(range(1, len(header))))


def _write_causes(sheet: Page, vehicle: Payload) -> None:
    rows = [
        (CAUSES.get(key, key.replace("_", " ")), f"{fixed(value, 1, sign=True)} Wh/km")
        for key, value in vehicle["energy_by_cause_wh_per_km"].items()
        if abs(value) >= _LEAST_CHANGE
    ]
    if rows:
        sheet.heading("Why the energy changes")
        sheet.table(rows, right=frozenset({1}))


def _write_limits(sheet: Page, vehicle: Payload) -> None:
    rows = []
    for row in vehicle["limits"]:
        first, second = row["first"], row["second"]
        if first["met"] and second["met"]:
            continue
        words = limit_words(row["limit"], row["terrain"], row["position"])
        asked = with_unit(number(row["required"]), row["unit"], vehicle["currency"])
        rows.append((words, asked, _met(first), _met(second)))
    if rows:
        sheet.heading("Limits that one of them misses")
        sheet.table(rows, header=("", "asked", "first", "second"), right=frozenset({1}), flexible=(0,))
    else:
        sheet.heading("Both meet every limit")


def _met(row: Payload) -> str:
    return f"{number(row['value'])} {'met' if row['met'] else 'not met'}"
