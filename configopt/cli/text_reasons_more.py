"""What could flip a choice, and what own parts would be worth, as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.words import difference_words, fixed, limit_words, margin_words, number, percent, with_unit

Payload = Mapping[str, Any]
#: Differing parts that are named.
_NAMED = 4
#: Aims that differ by less than this share are told as equal: it is a border that is described.
_EQUAL = 1e-4
_CHANGES = (
    ("mass_kg", "mass", "kg", 3),
    ("rolling_loss_wh_per_km", "rolling loss", "Wh/km", 2),
    ("energy_wh_per_km", "energy", "Wh/km", 2),
    ("range_km", "range", "km", 1),
)


def write_flips(sheet: Page, payload: Payload) -> None:
    """Write which uncertain figures could flip the choice onto a page.

    Parameters
    ----------
    sheet
        A page.
    payload
        JSON of an explanation with ``flips``.
    """
    flips = payload["flips"]
    currency = payload["currency"]
    sheet.heading("Uncertain figures that could flip the choice, the nearest first")
    low, high = (number(share) for share in flips["interval_percent"])
    sheet.text(
        f"{counted(flips['figures'], 'figure')} moved one at a time, each from its {low} % to its {high} % value",
        hang="    ",
    )
    if not flips["rows"]:
        sheet.text("none does")
    for row in flips["rows"]:
        sheet.item(_flip(row, currency))
    if any(not row["exact"] for row in flips["rows"]):
        near = counted(flips["near_choices"], "choice")
        sheet.text(f"* only the {near} nearest to the best were looked at; another may come in before", hang="    ")
    _write_rest(sheet, flips)


def _write_rest(sheet: Page, flips: Payload) -> None:
    near = counted(flips["near_choices"], "choice")
    for rows, words in (
        (flips["steady"], "proven at both ends of their range that nothing better comes in"),
        (flips["among_near"], f"no flip among the {near} nearest to the best, the rest not looked at"),
        (flips["not_looked_at"], "not looked at: the tires of some conditions have other pressures"),
    ):
        if rows:
            named = ", ".join(row["figure"] for row in rows[:_NAMED])
            more = f" and {len(rows) - _NAMED} more" if len(rows) > _NAMED else ""
            sheet.text(f"{words}: {named}{more}", hang="    ")


def _flip(row: Payload, currency: str) -> str:
    unit = row["unit"]
    today = with_unit(number(row["today"]), unit, currency)
    mark = "" if row["exact"] else "*"
    ends = f"{number(row['low'])} to {number(row['high'])}"
    at = with_unit(number(row["flips_at"], digits=4), unit, currency)
    head = f"{row['figure']} ({today}, {ends}): {row['direction']} {at}{mark}"
    if row["no_longer_fits"]:
        return f"{head} the choice no longer fits; {_instead(row)}"
    if row["misses"]:
        limits = {limit_words(one["limit"], one["terrain"], one["position"]) for one in row["misses"]}
        return f"{head} the choice misses: {', '.join(sorted(limits))}; {_instead(row)}"
    return f"{head} another is better: {_differing(row['instead'])}"


def _instead(row: Payload) -> str:
    other = row["instead"]
    if other is None:
        return "nothing meets every limit then" if row["instead_is_best"] else "none of the near choices does then"
    words = "best then" if row["instead_is_best"] else "best of the near ones then"
    return f"{words}: {_differing(other)}"


def _differing(other: Payload) -> str:
    """The parts in which another choice differs, and what it costs in the aim."""
    parts = [difference_words(part) for part in other["parts"]]
    named = ", ".join(parts[:_NAMED]) + (f" and {len(parts) - _NAMED} more" if len(parts) > _NAMED else "")
    loss = other["loss"]
    if loss is None or abs(loss) <= _EQUAL * max(abs(other["aim"]), 1.0):
        return named or "the same parts"
    return f"{named} (aim {number(loss, sign=True)})"


def write_concepts(sheet: Page, payload: Payload) -> None:
    """Write what own parts would be worth, and their requirement sheets, onto a page.

    Parameters
    ----------
    sheet
        A page.
    payload
        JSON of an explanation with ``concepts``.
    """
    sheet.heading("Own parts, each alone as if it could be had")
    if not payload["concepts"]:
        sheet.text("the catalogs hold no part whose status is concept")
    for row in payload["concepts"]:
        sheet.heading(f"{row['part']} ({row['name']}): {_verdict(row)}")
        _write_worth(sheet, row)
        _write_sheet(sheet, row)


def _verdict(row: Payload) -> str:
    if not row["fits"]:
        return "fits nowhere on this vehicle"
    if row["chosen"]:
        return "would be chosen"
    return "no choice with it meets every limit" if row["with_it"] is None else "would not be chosen"


def _write_worth(sheet: Page, row: Payload) -> None:
    currency = row["currency"]
    for place in row["places"]:
        if not place["fits"]:
            sheet.text(f"{place['position']}: does not fit: {place['reason']}", hang="    ")
    if row["with_it"] is not None:
        sheet.text(f"best with it: {_worth(row['with_it'], currency)}", hang="    ")
    if row["closest"] is not None:
        limits = ", ".join(margin_words(margin, currency) for margin in row["closest"]["misses"])
        sheet.text(f"in place of today's part it misses: {limits}", hang="    ")
    for margin in row["margins"]:
        before = with_unit(number(margin["before"]), margin["unit"], currency)
        sheet.text(f"{margin_words(margin, currency)}; {before} without it", hang="    ")
    for end in ("low", "high") if row["at_ends"] else ():
        one = row["at_ends"][end]
        verdict = "would be chosen" if one["chosen"] else "would not be chosen"
        worth = "nothing meets every limit" if one["with_it"] is None else _worth(one["with_it"], currency)
        sheet.text(f"all its ranges at the {end} end: {verdict}: {worth}", hang="    ")
    if row["tooling"] is not None:
        sheet.text(_tooling(row["tooling"], currency), hang="    ")


def _worth(other: Payload, currency: str) -> str:
    if other["loss"] is None:
        return f"aim {number(other['aim'], digits=4)}; without it nothing meets every limit"
    changes = [
        f"{words} {fixed(other['change'][key], places, sign=True)} {unit}"
        for key, words, unit, places in _CHANGES
        if other["change"][key] is not None
    ]
    if other["change"]["cost"] is not None:
        changes.append(f"cost {fixed(other['change']['cost'], 2, sign=True)} {currency}")
    share = f"{percent(other['loss'] / (other['aim'] - other['loss']))} " if other["aim"] != other["loss"] else ""
    word = "better" if other["loss"] < 0.0 else "worse"
    verdict = "as good as the best without it" if other["loss"] == 0.0 else f"aim {share}{word} than without it"
    return f"{verdict}; {', '.join(changes)}; {_differing({**other, 'loss': None})}"


def _tooling(tooling: Payload, currency: str) -> str:
    once = with_unit(number(tooling["one_off_cost"], digits=4), currency)
    change = tooling["cost_change_per_vehicle"]
    each = with_unit(fixed(abs(change), 2), currency)
    count, first = tooling["pays_from"], tooling["pays_first_at"]
    now = f"{each} a vehicle {'dearer' if change > 0 else 'cheaper'} at {counted(tooling['vehicles'], 'vehicle')}"
    if count is None:
        pays = (
            "it never stays the cheaper one" if first is not None else "at no number of vehicles is it the cheaper one"
        )
    else:
        pays = f"no dearer from {counted(count, 'vehicle')} on"
    if first is not None and first != count:
        pays += f", and first at {counted(first, 'vehicle')}"
    return f"tooling {once}: {now}; {pays} ({tooling['assumption']})"


def _write_sheet(sheet: Page, row: Payload) -> None:
    if not row["sheet"]:
        return
    currency = row["currency"]
    sheet.text("Requirement sheet: it would be chosen within these windows, one figure at a time", hang="    ")
    rows = []
    for line in row["sheet"]:
        unit = {"1": "", "currency": currency}.get(line["unit"], line["unit"])
        low, high = number(line["stated_low"], digits=4), number(line["stated_high"], digits=4)
        stated = low if low == high else f"{low} to {high}"
        windows = " or ".join(_window(window, line) for window in line["windows"]) or "none found"
        rows.append((line["figure"], unit, stated, windows, "yes" if line["stated_inside"] else "no"))
    sheet.table(rows, header=("figure", "unit", "stated", "would be chosen", "inside"), flexible=(0, 3))


def _window(window: Payload, line: Payload) -> str:
    low, high = window["low"], window["high"]
    if low is None and high is None:
        return f"anywhere from {number(line['tried_low'], digits=4)} to {number(line['tried_high'], digits=4)}"
    if low is None:
        return f"up to {number(high, digits=4)} (no low end down to {number(line['tried_low'], digits=4)})"
    if high is None:
        return f"from {number(low, digits=4)} (no high end up to {number(line['tried_high'], digits=4)})"
    return f"{number(low, digits=4)} to {number(high, digits=4)}"
