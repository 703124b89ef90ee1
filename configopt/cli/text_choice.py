"""The answer of ``choose`` as text: from the ground up, tire first, on one screen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.words import (
    exchange_words,
    fixed,
    limit_words,
    margin_words,
    number,
    proof_words,
    tightest,
    with_unit,
)

Payload = Mapping[str, Any]
#: Least width [characters] at which front and rear stand side by side.
_SIDE_BY_SIDE = 72
_CLOSEST = 6
_REMOVED = 6


def write_choice(sheet: Page, payload: Payload) -> None:
    """Write the whole answer onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a choice (schema configopt/choice/1).
    """
    aim = payload["aim"]
    sheet.heading(f"{payload['scenario']}: {proof_words(payload['status'], aim)}")
    if not payload["vehicles"]:
        _write_refusal(sheet, payload)
    for vehicle in payload["vehicles"]:
        write_packages(sheet, vehicle)
        write_change(sheet, vehicle)
        write_terrains(sheet, vehicle)
        write_margins(sheet, vehicle)
    _write_footing(sheet, payload)


def write_packages(sheet: Page, vehicle: Payload) -> None:
    """Front and rear package of a vehicle, tire first."""
    packages = sorted(vehicle["packages"], key=lambda package: package["position"])
    columns = [_package_cells(package) for package in packages]
    if vehicle.get("final_drive"):
        columns[-1]["drive"] = vehicle["final_drive"]
    labels = [label for label in _LABELS if any(cells.get(label) for cells in columns)]
    heads = [
        package["position"] + (f" (each of {package['wheels']} wheels)" if package["wheels"] > 1 else "")
        for package in packages
    ]
    if sheet.width >= _SIDE_BY_SIDE:
        sheet.heading(vehicle["name"])
        rows = [(label, *(cells.get(label, "") for cells in columns)) for label in labels]
        sheet.table(rows, header=("", *heads), flexible=range(1, len(heads) + 1))
    else:
        for head, cells in zip(heads, columns, strict=True):
            sheet.heading(f"{vehicle['name']}, {head}")
            sheet.table([(label, cells[label]) for label in labels if cells.get(label)], flexible=(1,))


_LABELS = ("tire", "pressure", "inner", "rim", "disc wheel", "spokes", "hub", "rotor", "caliper", "drive")


def _package_cells(package: Payload) -> dict[str, str]:
    names: Payload = package.get("names", {})

    def name(key: str) -> str:
        identifier = package.get(key)
        return "" if identifier is None else str(names.get(key) or identifier)

    cells = {label: name(label.replace(" ", "_")) for label in _LABELS}
    pressure = float(package["pressure_kpa"])
    cells["pressure"] = f"{number(pressure)} kPa" if pressure > 0.0 else "none (foam)"
    if package.get("rim_locks"):
        cells["inner"] += f", {package['rim_locks']} x {name('rim_lock')}"
    if package.get("lacing"):
        cells["spokes"] += f", {package['lacing']}"
        lengths = [package.get("spoke_length_left_mm"), package.get("spoke_length_right_mm")]
        if None not in lengths:
            left, right = (fixed(float(length), 0) for length in lengths if length is not None)
            cells["spokes"] += f", {left} mm" if left == right else f", {left} / {right} mm"
    if package.get("pad"):
        cells["caliper"] += f", pad {name('pad')}"
    return cells


_CHANGES = (
    ("mass of the packages", "mass_kg", "kg", 2),
    ("rolling loss", "rolling_loss_wh_per_km", "Wh/km", 1),
    ("energy", "energy_wh_per_km", "Wh/km", 1),
    ("range", "range_km", "km", 1),
    ("cost", "cost", "currency", 0),
)


def write_change(sheet: Page, vehicle: Payload) -> None:
    """Mass, loss, energy, range and cost, beside today's baseline where the scenario has one."""
    against = vehicle.get("against_baseline")
    currency = vehicle.get("currency", "")
    rows = []
    for label, key, unit, places in _CHANGES:
        row = [label, with_unit(fixed(float(vehicle[key]), places), unit, currency)]
        if against:
            today, change = against.get("baseline", {}).get(key), against.get(key)
            row.append("" if today is None else fixed(float(today), places))
            row.append("" if change is None else fixed(float(change), places, sign=True))
        rows.append(tuple(row))
    if not against:
        sheet.heading("What it comes to")
        sheet.table(rows, right=frozenset({1}))
        return
    sheet.heading("What changes")
    sheet.table(rows, header=("", "this choice", "today", "change"), right=frozenset({1, 2, 3}))
    baseline = against.get("baseline", {})
    for key, words in (("limits_not_met", "today misses"), ("misfits", "today does not fit")):
        if baseline.get(key):
            sheet.text(f"{words}: {'; '.join(plain(text) for text in baseline[key])}", hang="    ")


def plain(text: Any) -> str:
    """A limit's key inside a text as words."""
    return str(text).replace("_", " ")


def write_terrains(sheet: Page, vehicle: Payload) -> None:
    """Energy per terrain."""
    sheet.heading("On the ground")
    rows = []
    for terrain in vehicle["terrains"]:
        climb = terrain.get("climb_grade_percent")
        remarks = [*([] if terrain["passable"] else ["cannot be passed"]), *map(plain, terrain["remarks"])]
        rows.append(
            (
                terrain["name"],
                f"{fixed(100.0 * terrain['share'], 0)} %",
                f"{fixed(terrain['energy_wh_per_km'], 1)} Wh/km",
                "" if climb is None else f"climbs {fixed(climb, 0)} %",
                "; ".join(remarks),
            )
        )
    sheet.table(rows, right=frozenset({1, 2}), flexible=(4,))


def write_margins(sheet: Page, vehicle: Payload, count: int = 6) -> None:
    """The margins with the least to spare, and what limits the choice."""
    margins = vehicle["margins"]
    currency = vehicle.get("currency", "")
    rows = tightest(margins, count)
    if rows:
        sheet.heading("Tightest limits")
        for margin in rows:
            sheet.item(margin_words(margin, currency))
    binding = [
        limit_words(margin["limit"], margin["terrain"], margin["position"]) for margin in margins if margin["binding"]
    ]
    if binding:
        sheet.text(f"What limits the choice: {'; '.join(dict.fromkeys(binding))}", hang="    ")


def _write_footing(sheet: Page, payload: Payload) -> None:
    aim, counts = payload["aim"], payload.get("counts") or {}
    if aim is not None:
        sheet.heading("How it was weighed")
        rates = exchange_words(aim["terms"])
        ties = counts.get("ties")
        if ties is not None and ties > 1:
            rates.append(f"{counted(ties, 'choice')} are equally good; the cheapest, then lightest, is shown")
        sheet.text("; ".join(rates) or "no aim is stated", hang="    ")
    audit = payload.get("audit")
    if audit and not audit["agrees"]:
        sheet.text(
            f"WARNING: the full model contradicts the search by {number(audit['largest_difference'])}. This is a bug "
            "in this program; please report it.",
            hang="    ",
        )
    write_list(sheet, "Remarks", payload.get("remarks", ()))
    write_list(sheet, "Cautions", payload.get("cautions", ()))


def write_list(sheet: Page, title: str, texts: Sequence[str]) -> None:
    """A titled list; nothing where it is empty."""
    if texts:
        sheet.heading(title)
        for text in texts:
            sheet.item(plain(text) if "_" in text and " " in text else text)


def _write_refusal(sheet: Page, payload: Payload) -> None:
    """Why there is no choice: what came closest and what the rules of fit took away."""
    closest = payload.get("closest") or []
    if closest:
        sheet.heading("What came closest")
        for row in closest[:_CLOSEST]:
            sheet.item(row.get("text") or _closest_words(row))
    fitting = (payload.get("counts") or {}).get("packages_that_fit") or {}
    if fitting:
        sheet.heading("What fits")
        sheet.table(
            [(position, f"{count:,} packages") for position, count in fitting.items()], right=frozenset({1})
        )
    removed = sorted(payload.get("removed") or [], key=lambda row: -row["count"])
    if removed:
        sheet.heading("What took the most away")
        rows = [(row["position"] or "", f"{row['count']:,}", row["what"]) for row in removed[:_REMOVED]]
        sheet.table(rows, right=frozenset({1}), flexible=(2,))


def _closest_words(row: Payload) -> str:
    unit = row["unit"]
    return (
        f"{limit_words(row['limit'], row['terrain'], row['position'])}: {with_unit(number(row['reached']), unit)} "
        f"reached, {with_unit(number(row['required']), unit)} asked"
    )
