"""The terrain of rides as text: what was ridden, what was cleaned, grades, climbs and descents, and the terrains."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted, relative
from configopt.cli.words import fixed, number
from configopt.errors import one_line

Payload = Mapping[str, Any]


def write_terrain(sheet: Page, payload: Payload) -> None:
    """Write the terrain of rides onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a terrain (schema configopt/terrain/1).
    """
    rides = payload["rides"]
    for place, ride in enumerate(rides, start=1):
        times = "once" if ride["weight"] == 1.0 else f"{number(ride['weight'])} times"
        which = f"Ride {place}, counted {times}" if len(rides) > 1 else "Ride"
        sheet.heading(f"{which}: {one_line(relative(ride['file']))}")
        _write_figures(sheet, ride)
        for note in ride["cleaning"]:
            sheet.item(note["text"])
        _write_stretches(sheet, ride["stretches"])
    together = payload["together"]
    if len(rides) > 1:
        sheet.heading("All rides together, by how often they count")
        _write_figures(sheet, together)
    _write_grades(sheet, together["grades"])
    if payload["terrains"]:
        _write_terrains(sheet, payload)
    sheet.heading("Remarks")
    for text in payload["remarks"]:
        sheet.item(text)


def _write_figures(sheet: Page, figures: Payload) -> None:
    way = f"{fixed(figures['length_km'], 2)} km, climb {fixed(figures['climb_m'], 0)} m, "
    way += f"descent {fixed(figures['descent_m'], 0)} m"
    sheet.text(way, hang="    ")
    speed = f", {fixed(figures['speed_km_h'], 1)} km/h" if figures["speed_km_h"] is not None else ""
    stops = figures["stops"]
    stood = f"; {counted(int(stops), 'stop') if stops == int(stops) else number(stops) + ' stops'}"
    stood += f" of {_time(figures['stopped_time_s'])} together" if stops else ""
    sheet.text(f"moving for {_time(figures['moving_time_s'])}{speed}{stood}", hang="    ")


def _time(seconds: float) -> str:
    """A time as people say it.

    Examples
    --------
    >>> _time(45.0), _time(600.0), _time(4980.0)
    ('45 s', '10 min', '1 h 23 min')
    """
    if seconds < 120.0:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60} min"


def _write_stretches(sheet: Page, stretches: list[Any]) -> None:
    for direction, words in (("up", "Climbs"), ("down", "Descents")):
        rows = [
            (
                stretch["what"],
                fixed(stretch["begin_km"], 2),
                f"{stretch['length_m']:.0f}",
                f"{stretch['height_m']:.0f}",
                fixed(stretch["grade_percent"], 1),
                fixed(stretch["speed_km_h"], 0),
            )
            for stretch in stretches
            if stretch["direction"] == direction
        ]
        if rows:
            sheet.text(words)
            header = ("", "from km", "length m", "height m", "grade %", "km/h")
            sheet.table(rows, header=header, right=frozenset(range(1, 6)), indent="    ")


def _write_grades(sheet: Page, grades: list[Any]) -> None:
    sheet.heading("Grades")
    rows = []
    for low in sorted({row["from_percent"] for row in grades}):
        own = {row["direction"]: row for row in grades if row["from_percent"] == low}
        high = next(iter(own.values()))["to_percent"]
        name = f"over {number(low)} %" if high is None else f"{number(low)} to {number(high)} %"
        if "level" in own:
            name = f"level, to {number(high)} %"
        first, second = own.get("level") or own["up"], own.get("down")
        rows.append((name, *_share(first), *(_share(second) if second is not None else ("", ""))))
    sheet.table(rows, header=("", "up %", "km/h", "down %", "km/h"), right=frozenset({1, 2, 3, 4}))
    sheet.text("share of the way in %, and mean speed while moving; level ground in one", hang="    ")


def _share(row: Payload) -> tuple[str, str]:
    speed = row["speed_km_h"]
    return fixed(row["share_percent"], 1), "-" if speed is None else fixed(speed, 1)


def _write_terrains(sheet: Page, payload: Payload) -> None:
    sheet.heading("Terrains for a scenario")
    rows = [
        (
            part["name"],
            part["surface"],
            fixed(part["share_percent"], 2),
            fixed(part["speed_km_h"], 1),
            fixed(part["grade_percent"], 2),
            part["direction"],
        )
        for part in payload["terrains"]
    ]
    header = ("", "surface", "share %", "km/h", "grade %", "ridden")
    sheet.table(rows, header=header, right=frozenset({2, 3, 4}), flexible=(0, 1))
    sheet.text(f"stops: {number(payload['terrains'][0]['stops_per_km'])} in a kilometre, everywhere alike")
    if payload["descents"]:
        sheet.heading("Descents for a scenario")
        rows = [
            (
                part["name"],
                part["surface"],
                fixed(part["grade_percent"], 1),
                fixed(part["speed_km_h"], 0),
                f"{part['height_m']:.0f}",
                f"{part['ride']}, {fixed(part['begin_km'], 2)}",
            )
            for part in payload["descents"]
        ]
        header = ("", "surface", "grade %", "km/h", "height m", "ride, km")
        sheet.table(rows, header=header, right=frozenset({2, 3, 4, 5}), flexible=(0, 1))
