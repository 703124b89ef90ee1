"""The trade-off as text and as a table for spreadsheets."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.words import AIM_WORDS, fixed, margin_words, number

Payload = Mapping[str, Any]
#: Parts of a package in the order of the ground up, with their heading in a spreadsheet.
_PARTS = (
    "tire", "pressure_kpa", "inner", "rim_lock", "rim_locks", "rim", "spokes", "lacing", "disc_wheel", "hub", "rotor",
    "caliper", "pad",
)  # fmt: skip
_HEADS = {
    "complete": "proven complete: any other choice is beaten by one of these",
    "partial": "stopped early: there may be more, and each of these is beaten by no choice in the catalogs",
    "infeasible": "proven: nothing in these catalogs meets every limit",
    "unknown": "stopped before any point was found; nothing is proven",
}


def write_tradeoff(sheet: Page, payload: Payload) -> None:
    """Write the trade-off onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a trade-off (schema configopt/tradeoff/1).
    """
    points, aims = payload["points"], payload["aims"]
    names = [AIM_WORDS.get(aim["name"], (aim["name"], ""))[0] for aim in aims]
    sheet.heading(f"{payload['scenario']}: {counted(len(points), 'point')} over {', '.join(names)}")
    sheet.text(_HEADS[payload["status"]], hang="    ")
    if not payload["audit"]["agrees"]:
        sheet.text(
            f"WARNING: the full model contradicts the search by {number(payload['audit']['largest_difference'])}. This "
            "is a bug in this program; please report it.",
            hang="    ",
        )
    if points:
        _write_points(sheet, points, aims, names)
        _write_steps(sheet, points, aims, names)
    for text in payload["remarks"]:
        sheet.text(text, hang="    ")
    sheet.heading("Cautions")
    for text in payload["cautions"]:
        sheet.item(text)


def _write_points(sheet: Page, points: list[Any], aims: list[Any], names: list[str]) -> None:
    header = ["", *(f"{name} {aim['unit']}" for name, aim in zip(names, aims, strict=True)), "front", "rear", "alike"]
    rows = []
    for point in points:
        vehicle = point["vehicles"][0]
        front, rear = (_footing(package) for package in vehicle["packages"])
        mark = f"{point['number']}{'*' if point['best_by_rates'] else ''}"
        values = [fixed(point["values"][aim["name"]], 2) for aim in aims]
        rows.append((mark, *values, front, rear, str(point["ties"])))
    count = len(aims)
    sheet.heading("Points")
    sheet.table(
        rows,
        header=header,
        right=frozenset({*range(1, count + 1), count + 3}),
        flexible=(count + 1, count + 2),
    )
    if any(point["best_by_rates"] for point in points):
        sheet.text("* best by the scenario's exchange rates; alike: choices that reach the point", hang="    ")


def _footing(package: Payload) -> str:
    pressure = float(package["pressure_kpa"])
    return f"{package['tire']} {pressure:.0f} kPa" if pressure else str(package["tire"])


def _write_steps(sheet: Page, points: list[Any], aims: list[Any], names: list[str]) -> None:
    """What the ends and the best by the rates are limited by."""
    sheet.heading("What limits them")
    for point in points:
        values = point["values"]
        best = [
            f"least {name}"
            for name, aim in zip(names, aims, strict=True)
            if values[aim["name"]] <= min(other["values"][aim["name"]] for other in points)
        ]
        if point["best_by_rates"]:
            best.append("best by the rates")
        if best and point["tightest"]:
            words = margin_words(point["tightest"][0], point["vehicles"][0]["currency"])
            sheet.item(f"{point['number']} ({', '.join(best)}): {words}")


def csv_text(payload: Payload) -> str:
    """The points as a table: quantities with units in the heading, then every part of both packages."""
    aims = payload["aims"]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    ends = ("front", "rear")
    writer.writerow(
        [
            "number",
            *(f"{aim['name']} [{aim['unit']}]" for aim in aims),
            "range [km]",
            "alike",
            "best_by_rates",
            "final_drive",
            *(f"{end}_{part}" for end in ends for part in _PARTS),
        ]
    )
    for point in payload["points"]:
        vehicle = point["vehicles"][0]
        parts = [package.get(part) for package in vehicle["packages"] for part in _PARTS]
        writer.writerow(
            [
                point["number"],
                *(point["values"][aim["name"]] for aim in aims),
                vehicle["range_km"],
                point["ties"],
                "yes" if point["best_by_rates"] else "no",
                vehicle["final_drive"],
                *("" if part is None else part for part in parts),
            ]
        )
    return stream.getvalue()
