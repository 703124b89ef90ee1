"""An explanation as text: what limits the choice, what comes next, what a part would have to be to win."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.text_reasons_more import write_concepts, write_flips
from configopt.cli.text_trials import write_ride_verdicts
from configopt.cli.words import (
    difference_words,
    exchange_words,
    fixed,
    limit_words,
    margin_words,
    number,
    second_words,
    with_unit,
)

Payload = Mapping[str, Any]
_SECTION_WORDS = {
    "limits": "which limits matter",
    "runners_up": "choices that differ in one part",
    "losing": "what losing a part would cost",
    "flips": "which uncertain figure could flip the choice",
    "part": "the part",
    "packages": "the packages",
    "concepts": "own parts",
    "gives_way": "which limits have to give way",
}
#: Reasons and differing parts that are named.
_LIMITS_SHOWN, _PARTS_SHOWN = 8, 5


def write_explanation(sheet: Page, payload: Payload) -> None:
    """Write an explanation onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of an explanation (schema configopt/explanation/1).
    """
    _write_head(sheet, payload)
    currency = payload["currency"]
    if payload["part"] is not None:
        _write_part(sheet, payload["part"], currency)
    if payload["packages"] is not None:
        _write_packages(sheet, payload["packages"], currency)
    if payload["limits"] is not None:
        _write_limits(sheet, payload["limits"], currency)
    if payload["runners_up"] is not None:
        _write_runners_up(sheet, payload["runners_up"], currency)
    if payload["losing"] is not None:
        _write_losing(sheet, payload["losing"], currency)
    if payload["flips"] is not None:
        write_flips(sheet, payload)
    if payload["concepts"] is not None:
        write_concepts(sheet, payload)
    if payload["status"] == "infeasible":
        _write_removed(sheet, payload["removed"])
    if payload["gives_way"] is not None:
        _write_gives_way(sheet, payload["gives_way"], currency)
    write_ride_verdicts(sheet, payload.get("ride_verdicts"))
    if payload["not_reached"]:
        names = "; ".join(_SECTION_WORDS[name] for name in payload["not_reached"])
        sheet.heading("Stopped early")
        proven = "" if payload["status"] == "unknown" else ". Everything above is proven"
        sheet.text(f"not looked at to the end: {names}{proven}.")
    sheet.heading("Cautions")
    for text in payload["cautions"]:
        sheet.item(text)


def _write_head(sheet: Page, payload: Payload) -> None:
    choice = payload["choice"]
    sheet.heading(f"{payload['scenario']}: why this choice")
    if payload["status"] == "unknown":
        sheet.text("stopped before the best choice was proven; without it nothing can be explained", hang="    ")
        return
    if choice is None:
        sheet.text("proven: nothing in these catalogs meets every limit", hang="    ")
        return
    for position in ("front", "rear"):
        package = choice["choice"][position]
        kind = package["rim"] or package["disc_wheel"]
        parts = [
            f"{package['tire']} at {number(package['pressure_kpa'])} kPa",
            kind,
            package["hub"],
            package["rotor"],
        ]
        sheet.text(f"{position}: {', '.join(str(part) for part in parts if part)}", hang="    ")
    figures = choice["figures"]
    text = (
        f"{fixed(figures['mass_kg'], 2)} kg, rolling loss {fixed(figures['rolling_loss_wh_per_km'], 1)} Wh/km, "
        f"{with_unit(fixed(figures['cost'], 0), 'currency', payload['currency'])}; the aim "
        f"(less is better) comes to {number(choice['aim'], digits=5)}"
    )
    sheet.text(text, hang="    ")
    for line in exchange_words(choice["terms"]):
        sheet.text(f"in the aim {line}", hang="    ")


def _changes(row: Payload, currency: str) -> str:
    """What a choice changes against the best."""
    change = row["change"]
    found = []
    for key, words, unit, places in (
        ("mass_kg", "mass", "kg", 2),
        ("rolling_loss_wh_per_km", "rolling loss", "Wh/km", 2),
        ("cost", "cost", "currency", 0),
    ):
        if change[key] is not None and fixed(change[key], places).strip("-0.") != "":
            found.append(f"{words} {with_unit(fixed(change[key], places, sign=True), unit, currency)}")
    return ", ".join(found) or "nothing else changes"


def _parts(row: Payload) -> str:
    """Which parts differ, the ground first; where there are many, how many more."""
    found = [difference_words(part) for part in row["parts"]]
    if len(found) > _PARTS_SHOWN:
        found[_PARTS_SHOWN:] = [f"and {len(found) - _PARTS_SHOWN} more that differ"]
    return ", ".join(found) or "the same parts"


def _amount(value: float | None, unit: str, currency: str) -> str:
    return "no figure" if value is None else with_unit(number(value), unit, currency)


def rounded(value: float, *, up: bool) -> str:
    """A figure with four digits, rounded to the side on which it still is enough.

    >>> rounded(41.6825, up=False), rounded(733.25, up=True), rounded(1.0, up=True)
    ('41.68', '733.3', '1')
    """
    size = 10.0 ** (math.floor(math.log10(abs(value))) - 3) if value else 1.0
    # What is off by less than the digits of a float is not pushed to the next figure.
    steps = value / size
    whole = math.ceil(steps - 1e-6) if up else math.floor(steps + 1e-6)
    return number(whole * size, digits=4)


def _write_limits(sheet: Page, rows: list[Any], currency: str) -> None:
    sheet.heading("Limits that keep the choice from being better")
    if not rows:
        sheet.text("none: without any single one of them this choice would still be the best")
        return
    for row in rows:
        words = limit_words(row["limit"], row["terrain"], " and ".join(row["positions"]) or None)
        asked = f"{'at least' if row['at_least'] else 'at most'} {_amount(row['required'], row['unit'], currency)}"
        by_default = "" if row["stated"] else ", by default"
        reached = _amount(row["value"], row["unit"], currency)
        sheet.item(f"{words}: {asked}{by_default}; the choice has {reached}")
        step = row["step"]
        if step is not None:
            bound = _amount(step["required"], row["unit"], currency)
            if step["gain"] > 1e-9:
                gain = f"the aim gains {number(step['gain'])} ({_changes(step, currency)}) with {_parts(step)}"
            else:
                gain = "nothing is gained yet"
            sheet.text(f"at {bound}: {gain}", indent="    ", hang="      ")
        without = row["without"]
        reach = (
            "" if without["reached"] is None else f", which has {_amount(without['reached'], row['unit'], currency)}"
        )
        sheet.text(
            f"without it: the aim gains {number(without['gain'])} with {_parts(without)}{reach}",
            indent="    ",
            hang="      ",
        )
    sheet.text(
        "Every other limit that may be relaxed costs nothing: without it this choice would still be the best.",
        hang="    ",
    )


def _write_runners_up(sheet: Page, rows: list[Any], currency: str) -> None:
    sheet.heading("Choices that differ in one part, at most three of a kind")
    table = []
    for row in rows:
        where = f"{row['position']} {row['what']}" if row["position"] else row["what"]
        for best in row["best"]:
            table.append((where, f"+{number(best['loss'])}", _parts_of(best), _changes(best, currency)))
    if table:
        sheet.table(
            table, header=("instead of", "aim", "it would be", "which changes"), right=frozenset({1}), flexible=(2, 3)
        )
    none = [f"{row['position'] or ''} {row['what']}".strip() for row in rows if not row["best"]]
    if none:
        sheet.text(f"no other would meet every limit: {', '.join(none)}", hang="    ")


def _parts_of(best: Payload) -> str:
    """The part that differs, with the pressure where that had to change too."""
    own = [
        counted(part["second"], "piece") if part["part"] == "rim_locks" else second_words(part)
        for part in best["parts"]
        if part["part"] != "pressure_kpa"
    ]
    pressure = [second_words(part) for part in best["parts"] if part["part"] == "pressure_kpa"]
    return " at ".join([", ".join(own), *pressure]) if own else ", ".join(pressure)


def _write_losing(sheet: Page, rows: list[Any], currency: str) -> None:
    sheet.heading("If a part could not be had")
    table = []
    for row in rows:
        where = " and ".join(row["positions"])
        if row["instead"] is None:
            table.append((row["part"], where, "-", "nothing would meet every limit"))
        else:
            loss = "0" if row["instead"]["loss"] < 1e-9 else f"+{number(row['instead']['loss'])}"
            table.append((row["part"], where, loss, f"{_changes(row['instead'], currency)}; {_parts(row['instead'])}"))
    sheet.table(table, header=("without", "", "aim", "the best that is left"), right=frozenset({2}), flexible=(0, 3))


_VERDICTS = {
    "chosen": "it is in the best choice",
    "ties": "choices with it and without it are equally good",
    "beaten": "it can be used, but better choices exist without it",
    "limits": "it fits, but no choice with it meets every limit",
    "does not fit": "it cannot be used on this vehicle",
}


_GONE = {
    "withdrawn": "it is withdrawn and stays out of every choice",
    "concept": "it is only a concept and stays out of every choice; --with-concepts says what it would be worth",
}


def _write_part(sheet: Page, row: Payload, currency: str) -> None:
    where = f" ({' and '.join(row['chosen_at'])})" if row["chosen_at"] else ""
    gone = _GONE.get(row["status"])
    sheet.heading(f"{row['part']}: {gone or _VERDICTS[row['verdict']]}{where}")
    for place in () if gone else row["places"]:
        if place["reason"] is not None:
            sheet.text(f"{place['position']}: {place['reason']}", hang="    ")
    if row["verdict"] == "beaten":
        best = row["best_with_it"]
        sheet.text(
            f"the best choice with it loses {number(best['loss'])} of the aim: {_changes(best, currency)}; with "
            f"{_parts(best)}",
            hang="    ",
        )
    elif row["verdict"] in ("chosen", "ties"):
        rest = row["best_without_it"]
        if rest is None:
            sheet.text("without it nothing would meet every limit", hang="    ")
        else:
            sheet.text(
                f"the best choice without it loses {number(rest['loss'])} of the aim: {_changes(rest, currency)}; with "
                f"{_parts(rest)}",
                hang="    ",
            )
    for way in row["gives_way"]:
        sheet.text(f"at the {way['position']} it would take:", hang="    ")
        _alternatives(sheet, way["alternatives"], currency)
    if row["turns"]:
        _write_turns(sheet, row, currency)


def _write_turns(sheet: Page, row: Payload, currency: str) -> None:
    inside = row["verdict"] in ("chosen", "ties")
    sheet.heading(
        "What would drive it out, one figure at a time" if inside else "What it would take to win, one figure at a time"
    )
    for turn in row["turns"]:
        today = with_unit(number(turn["today"], digits=4), turn["unit"], currency)
        if turn["why_not"] is not None:
            text = f"no figure helps; {turn['why_not']}" if not inside else turn["why_not"]
        elif turn["turns_at"] is None:
            tried = _amount(turn["tried_to"], turn["unit"], currency)
            text = f"it stays, even at {tried}" if inside else f"it does not win, even at {tried}"
        else:
            up = turn["direction"] in ("at least", "more than")
            bound = with_unit(rounded(turn["turns_at"], up=up), turn["unit"], currency)
            text = f"{turn['direction']} {bound} ({number(turn['change_percent'], sign=True)} %)"
        sheet.item(f"{turn['wording']}, today {today}: {text}")


def _write_packages(sheet: Page, row: Payload, currency: str) -> None:
    sheet.heading("These packages")
    for misfit in row["misfits"]:
        sheet.item(f"{misfit['position']}: does not fit: {misfit['reason']}")
    for margin in row["unmet"]:
        sheet.item(margin_words(margin, currency))
    best = row["beside_best"]
    if best is not None:
        verb = "loses" if best["loss"] >= 0.0 else "would gain"
        sheet.text(
            f"the aim {verb} {number(abs(best['loss']))} against the best choice: {_changes(best, currency)}; what "
            f"differs: {_parts(best)}",
            hang="    ",
        )
    if not row["misfits"] and not row["unmet"]:
        sheet.text("they fit, and meet every limit", hang="    ")
        for margin in row["tightest"]:
            sheet.item(margin_words(margin, currency))


def _write_removed(sheet: Page, rows: list[Any]) -> None:
    for position in ("front", "rear", None):
        own = [row for row in rows if row["position"] == position][:_LIMITS_SHOWN]
        if own:
            sheet.heading(f"What was taken away, {position or 'whole vehicle'}")
            sheet.table([(f"{row['count']:,}", row["what"]) for row in own], right=frozenset({0}), flexible=(1,))


def _write_gives_way(sheet: Page, rows: list[Any], currency: str) -> None:
    sheet.heading("What has to give way")
    if not rows:
        sheet.text(
            "no four limits that may be relaxed are enough: parts are missing, or more would have to give way",
            hang="    ",
        )
        return
    count = len(rows[0]["limits"])
    sheet.text(
        f"at least {counted(count, 'limit')}: no smaller number is enough. {counted(len(rows), 'way')}, the least "
        "change first; changes are relative to each limit and summed.",
        hang="    ",
    )
    _alternatives(sheet, rows, currency)


def _alternatives(sheet: Page, rows: list[Any], currency: str) -> None:
    if not rows:
        sheet.text("no four limits that may be relaxed are enough", indent="    ")
    for row in rows:
        least = row["least_change_percent"]
        near = row["change_percent"] - least <= 0.002 * row["change_percent"]
        sure = (
            "the least that is enough"
            if near
            else f"enough; whether less would do, down to {number(least)} %, is not known"
        )
        sheet.item(f"{number(row['change_percent'])} % in all, {sure}:")
        for limit in row["limits"]:
            words = limit_words(limit["limit"], limit["terrain"], limit["position"])
            word = "at least" if limit["at_least"] else "at most"
            old = _amount(limit["required"], limit["unit"], currency)
            new = with_unit(rounded(limit["allowed"], up=not limit["at_least"]), limit["unit"], currency)
            sheet.text(f"{words}: {word} {new} instead of {old}", indent="    ", hang="      ")
        figures, choice = row["figures"], row["choice"]
        tires = " and ".join(
            f"{choice[p]['tire']} at {number(choice[p]['pressure_kpa'])} kPa" for p in ("front", "rear")
        )
        sheet.text(
            f"then {tires}: {fixed(figures['mass_kg'], 2)} kg, rolling loss "
            f"{fixed(figures['rolling_loss_wh_per_km'], 1)} Wh/km, cost "
            f"{with_unit(fixed(figures['cost'], 0), 'currency', currency)}",
            indent="    ",
            hang="      ",
        )
