"""Variants of a scenario as text and as a table for spreadsheets."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted, relative
from configopt.cli.words import exchange_words, fixed, margin_words, number, place_words, with_unit
from configopt.sweep.comparing import PACKAGE

Payload = Mapping[str, Any]
_FIGURES = {
    "mass_kg": "mass [kg]",
    "rolling_loss_wh_per_km": "rolling loss [Wh/km]",
    "energy_wh_per_km": "energy [Wh/km]",
    "range_km": "range [km]",
    "cost": "cost",
}
#: What a change of a part is called, where its key does not say it.
_WHAT = {"pressure_kpa": "pressure", "rim_lock": "rim lock", "rim_locks": "rim locks", "disc_wheel": "disc wheel"}
#: Statuses as people read them.
_STATUS = {
    "nothing meets the limits": "nothing meets every limit",
    "not valid": "not valid",
    "failed": "could not be computed",
    "contradiction": "the full model contradicts the search",
    "not computed": "not computed",
}
#: Missed limits that one line names.
_MISSES = 2
#: Switches of a grid that are shown.
_SWITCHES = 12
#: Characters with which a spreadsheet begins a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def write_whatif(sheet: Page, payload: Payload) -> None:
    """Write all variants onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of variants (schema configopt/whatif/1).
    """
    rows = payload["variants"]
    sheet.heading(f"{payload['scenario']}: {counted(len(rows) - 1, 'variant')} - {payload['title']}")
    _write_counts(sheet, payload)
    _write_table(sheet, payload)
    _write_variants(sheet, payload)
    _write_least(sheet, payload)
    _write_switches(sheet, payload)
    for text in payload["remarks"]:
        sheet.text(text, hang="    ")
    sheet.heading("Cautions")
    for text in payload["cautions"]:
        sheet.item(text)


def _write_counts(sheet: Page, payload: Payload) -> None:
    counts = payload["counts"]
    words = []
    if counts["optimal"]:
        words.append(
            f"{counted(counts['optimal'], 'answer')} with the proof that no better choice exists in these catalogs"
        )
    if counts["nothing meets the limits"]:
        words.append(f"nothing meets every limit in {counts['nothing meets the limits']:,}")
    words += [
        f"{counts[key]:,} {_STATUS[key]}"
        for key in ("not valid", "failed", "contradiction", "not computed")
        if counts[key]
    ]
    if payload["status"] == "stopped early":
        words.append("stopped early")
    sheet.text("; ".join(words), hang="    ")
    for place in sorted({aim["place"] for aim in payload["aims"]}):
        terms = {aim["name"]: aim for aim in payload["aims"] if aim["place"] == place}
        for line in exchange_words(terms):
            sheet.text(line if place == 1 else f"then: {line}", hang="    ")


def _write_table(sheet: Page, payload: Payload) -> None:
    rows, one = payload["variants"], _one_vehicle(payload)
    currency = next((v["currency"] for row in rows for v in row["vehicles"]), "cost")
    header = ["variant", "aim", *(("kg", "Wh/km", currency) if one else ()), *(f"keep {n}" for n in _kept(payload))]
    header.append("changed")
    cells = []
    for row in rows:
        if row["status"] != "optimal":
            figures = ["-"] * (4 if one else 1)
            changes = _STATUS[row["status"]]
        else:
            vehicle = row["vehicles"][0]
            figures = [fixed(row["aim"], 2)]
            if one:
                figures += [fixed(vehicle["mass_kg"], 2), fixed(vehicle["energy_wh_per_km"], 2)]
                figures.append(fixed(vehicle["cost"], 0))
            changes = _changed_words(row)
        kept = [_keeping_cell(row, name) for name in payload["kept"]]
        cells.append([_name(row), *figures, *kept, changes])
    width = len(header)
    sheet.heading("Variants")
    sheet.table(cells, header=header, right=frozenset(range(1, width - 1)), flexible=(width - 1,))
    sheet.text(
        "aim: the weighted sum that counts, less is better"
        + ("; keep: by how much the aim is worse if that choice is kept instead" if payload["kept"] else ""),
        hang="    ",
    )
    for letter, name in zip(_kept(payload), payload["kept"], strict=True):
        sheet.text(f"{letter}: {name}", hang="    ")


def _kept(payload: Payload) -> list[str]:
    """A letter for each choice that is kept."""
    return [chr(ord("A") + number) for number in range(len(payload["kept"]))]


def _one_vehicle(payload: Payload) -> bool:
    return all(len(row["vehicles"]) < 2 for row in payload["variants"])


def _name(row: Payload) -> str:
    """Name of a variant; one of a grid with its values."""
    if not row["values"]:
        return str(row["name"])
    return f"{row['name']} ({', '.join(str(value) for value in row['values'].values())})"


def _keeping_cell(row: Payload, name: str) -> str:
    kept = next((one for one in row["kept"] if one["name"] == name), None)
    if kept is None:
        return "-"
    if kept["gone"]:
        return "part gone"
    if kept["misses"]:
        return "misses"
    if kept["regret"] is None:
        return "-"
    return f"+{fixed(kept['regret'], 2)}" if kept["regret"] else "best"


def _changed_words(row: Payload) -> str:
    """Which parts differ from the scenario as it stands, in few words."""
    against = row["against_as_it_stands"]
    if against is None:
        return ""
    if not against["parts"]:
        return "nothing"
    several = len(row["vehicles"]) > 1
    found: dict[str, list[str]] = {}
    for change in against["parts"]:
        where = " ".join(word for word in (change["vehicle"] if several else "", change["position"] or "") if word)
        found.setdefault(where, []).append(_what(change["what"]))
    return "; ".join(f"{where} {', '.join(what)}".strip() for where, what in found.items())


def _what(key: str) -> str:
    return _WHAT.get(key, key.replace("_", " "))


def _write_variants(sheet: Page, payload: Payload) -> None:
    """The named variants one by one, and of the grids what is wrong."""
    rows = [row for row in payload["variants"][1:] if row["grid"] is None or row["findings"] or row["reason"]]
    if not rows:
        return
    sheet.heading("One by one")
    for row in rows:
        sheet.text(f"{_name(row)}{': ' + row['why'] if row['why'] else ''}", hang="    ")
        for line in _lines(row):
            sheet.text(line, indent="    - ", hang="      ")


def _lines(row: Payload) -> list[str]:
    if row["findings"]:
        return [_finding(text) for text in row["findings"]]
    if row["status"] != "optimal":
        lines = [_STATUS[row["status"]] + (f": {row['reason']}" if row["reason"] else "")]
    else:
        against = row["against_as_it_stands"]
        changes = [change_words(change, several=len(row["vehicles"]) > 1) for change in against["parts"]]
        lines = ["; ".join(changes)] if changes else ["the same choice as the scenario as it stands"]
        for vehicle in row["vehicles"]:
            if vehicle["tightest"] is not None:
                lines.append(f"tightest: {margin_words(vehicle['tightest'], vehicle['currency'])}")
    return [*lines, *(text for kept in row["kept"] if (text := keeping_words(kept)))]


def _finding(text: str) -> str:
    path, mark, rest = text.partition(":")
    return f"{relative(path)}{mark}{rest}"


def change_words(change: Payload, *, several: bool = False) -> str:
    """One part that differs.

    >>> change_words({"vehicle": "v", "position": "rear", "what": "pressure_kpa", "from": 90.0, "to": 95.0})
    'rear pressure 90 -> 95 kPa'
    """

    def shown(value: Any) -> str:
        if value is None:
            return "none"
        return f"{value:g}" if isinstance(value, int | float) else str(value)

    where = " ".join(word for word in (change["vehicle"] if several else "", change["position"] or "") if word)
    unit = " kPa" if change["what"] == "pressure_kpa" else ""
    return f"{where} {_what(change['what'])} {shown(change['from'])} -> {shown(change['to'])}{unit}".strip()


def keeping_words(kept: Payload) -> str:
    """What keeping a choice means in a variant, as a sentence.

    >>> keeping_words({"name": "baseline", "gone": ["a", "b"], "misses": [], "regret": None, "aim": None})
    'keeping baseline: a, b cannot be bought'
    """
    start = f"keeping {kept['name']}:"
    if kept["gone"]:
        return f"{start} {', '.join(kept['gone'])} cannot be bought"
    if kept["misses"]:
        named = [one["text"] if "text" in one else _miss(one) for one in kept["misses"]]
        more = f", and {len(named) - _MISSES} more" if len(named) > _MISSES else ""
        return f"{start} misses {'; '.join(named[:_MISSES])}{more}"
    if kept["regret"] is None:
        return ""
    return f"{start} " + (f"worse by {number(kept['regret'])}" if kept["regret"] else "still the best")


def _miss(margin: Payload) -> str:
    unit = margin["unit"]
    value = "no figure" if margin["value"] is None else with_unit(number(margin["value"]), unit)
    return f"{place_words(margin)} ({value}, asked {with_unit(number(margin['required']), unit)})"


def _write_least(sheet: Page, payload: Payload) -> None:
    least = payload["least_regret"]
    if least["status"] == "not looked for":
        sheet.text(f"The least worst regret was not looked for: {least['text']}", hang="    ")
        return
    sheet.heading("The one choice that is never much worse than the best (least worst regret)")
    sheet.text(least["text"], hang="    ")
    if least["vehicles"]:
        worst = max(least["by_variant"], key=lambda row: float(row["regret"]))
        sheet.text(
            f"its aim is worse than the best one's by {number(least['worst_regret'])} at most, in {worst['name']}",
            hang="    ",
        )
        if least["status"] == "not proven":
            sheet.text(f"no choice can stay below {number(least['at_least'])}", hang="    ")
        for vehicle in least["vehicles"]:
            for package in vehicle["packages"]:
                sheet.item(f"{package['position']}: {_package_words(package)}")
            sheet.item(f"final drive {vehicle['final_drive']}")
            figures = [
                with_unit(number(vehicle["mass_kg"], digits=4), "kg"),
                with_unit(number(vehicle["energy_wh_per_km"], digits=4), "Wh/km"),
                with_unit(fixed(vehicle["cost"], 0), "currency", vehicle["currency"]),
            ]
            sheet.item(f"as the scenario stands: {', '.join(figures)}")
    elif least["at_least"]:
        sheet.text(
            f"a choice that meets them all is worse by {number(least['at_least'])} at least in one of them", hang="    "
        )
    if least["left_out"]:
        sheet.text(
            f"left out, because nothing is known to meet every limit there: {_some(least['left_out'])}", hang="    "
        )


def _some(names: Sequence[str], most: int = 8) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return f"{', '.join(names[:most])}{more}"


def _package_words(package: Payload) -> str:
    words = [f"{package['tire']} at {package['pressure_kpa']:.0f} kPa", package["inner"]]
    if package["rim_locks"]:
        words.append(f"{package['rim_locks']} x {package['rim_lock']}")
    wheel = package["disc_wheel"] or f"{package['rim']}, {package['spokes']} {package['lacing']}"
    return ", ".join([*words, wheel, package["hub"], package["rotor"], package["caliper"], package["pad"]])


def _write_switches(sheet: Page, payload: Payload) -> None:
    if not payload["switches"]:
        return
    sheet.heading("Where the answer changes")
    for row in payload["switches"]:
        sheet.text(f"{row['grid']}: {row['field']}", hang="    ")
        sheet.text(row["text"], indent="    - ", hang="      ")
        if row["gave_up"]:
            sheet.text("not looked at more closely, because that takes too long", indent="    - ", hang="      ")
        for one in row["switches"][:_SWITCHES]:
            sheet.text(_switch_words(one, row["unit"]), indent="    - ", hang="      ")
        if len(row["switches"]) > _SWITCHES:
            more = len(row["switches"]) - _SWITCHES
            sheet.text(f"and {more} more; --format json has all", indent="    - ", hang="      ")


def _switch_words(one: Payload, unit: str) -> str:
    if one["at"] is not None:
        where = f"at {_value(one['at'], unit)}"
    else:
        low, high = one["between"]
        where = f"between {_value(low, unit)} and {_value(high, unit)}"
    if not one["after"] or not one["before"]:
        return f"{where}: {'above' if one['before'] else 'below'} it nothing meets every limit"
    return f"{where}: " + "; ".join(change_words(change, several=len(one["after"]) > 1) for change in one["parts"])


def _value(value: float, unit: str) -> str:
    return with_unit(f"{value:.6g}", unit)


def csv_text(payload: Payload) -> str:
    """The variants as a table: one row for each vehicle of a variant, units in the heading.

    A text that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    fields = list(dict.fromkeys(field for row in payload["variants"] for field in row["values"]))
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    ends = ("front", "rear")
    head = ["variant", "grid", *fields, "why", "status", "aim", "vehicle", *_FIGURES.values(), "currency"]
    head += ["tightest limit", "final_drive", *(f"{end}_{part}" for end in ends for part in PACKAGE)]
    head += [f"{what} {name}" for name in payload["kept"] for what in ("aim if kept,", "worse by if kept,", "misses,")]
    writer.writerow([safe_cell(cell) for cell in [*head, "findings"]])
    for row in payload["variants"]:
        for vehicle in row["vehicles"] or [None]:
            cells = [row["name"], row["grid"], *(row["values"].get(field) for field in fields), row["why"]]
            cells += [row["status"], row["aim"], *_vehicle_cells(vehicle), *_kept_cells(row, payload["kept"])]
            wrong = [*row["findings"], *([row["reason"]] if row["reason"] else [])]
            writer.writerow([safe_cell(cell) for cell in [*cells, "; ".join(wrong)]])
    return stream.getvalue()


def _vehicle_cells(vehicle: Payload | None) -> list[Any]:
    if vehicle is None:
        return [""] * (4 + len(_FIGURES) + 2 * len(PACKAGE))
    tightest = vehicle["tightest"]
    cells = [vehicle["name"], *(vehicle[key] for key in _FIGURES), vehicle["currency"]]
    cells += ["" if tightest is None else margin_words(tightest, vehicle["currency"]), vehicle["final_drive"]]
    return cells + [package[part] for package in vehicle["packages"] for part in PACKAGE]


def _kept_cells(row: Payload, names: Sequence[str]) -> list[Any]:
    cells: list[Any] = []
    for name in names:
        kept = next((one for one in row["kept"] if one["name"] == name), None)
        if kept is None:
            cells += ["", "", ""]
            continue
        misses = [f"{part} cannot be bought" for part in kept["gone"]]
        misses += [one["text"] if "text" in one else _miss(one) for one in kept["misses"]]
        cells += [kept["aim"], kept["regret"], "; ".join(misses)]
    return cells


def safe_cell(cell: Any) -> Any:
    """A cell that no spreadsheet takes for a formula.

    >>> safe_cell("=1+1"), safe_cell(-2.5), safe_cell(None), safe_cell("plain")
    ("'=1+1", -2.5, '', 'plain')
    """
    if cell is None:
        return ""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
