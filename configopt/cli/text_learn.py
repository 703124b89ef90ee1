"""What was learned, as text."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted, relative
from configopt.cli.text_compare import write_comparison
from configopt.cli.words import fixed, margin_words, number, proof_words

Payload = Mapping[str, Any]


def write_learning(sheet: Page, payload: Payload) -> None:
    """Write what was learned onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of schema configopt/learning/1.
    """
    lesson = payload["lesson"]
    if lesson is None:
        sheet.heading(f"{payload['scenario']}: no logs given")
    else:
        sheet.heading(f"{payload['scenario']}: learned from {counted(len(lesson['logs']), 'log')}")
        _write_logs(sheet, lesson)
        _write_readings(sheet, lesson["readings"])
        _write_corrections(sheet, lesson)
    if payload["choice_again"] is not None:
        _write_again(sheet, payload["choice_again"])
    if payload["next_tests"] is not None:
        _write_next(sheet, payload["next_tests"])
    elif payload.get("next_tests_remark"):
        sheet.heading("Next test")
        sheet.text(payload["next_tests_remark"])
    sheet.heading("Cautions")
    for text in payload["cautions"]:
        sheet.item(text)


def _write_logs(sheet: Page, lesson: Payload) -> None:
    rows = [(relative(log["file"]), log["kind"], log["when"], f"{log['rows']:,}") for log in lesson["logs"]]
    sheet.table(rows, header=("log", "kind", "day", "rows"), right=frozenset({3}), flexible=(0,))
    for kind, title in (("poor", "Poor tests"), ("outlier", "Outliers, kept"), ("remark", "Remarks")):
        told = [one for one in lesson["told"] if one["kind"] == kind]
        if told:
            sheet.heading(title)
        for one in told:
            sheet.item(f"{os.path.basename(one['file'])}:{one['line']}: {one['text']}")


def _write_readings(sheet: Page, readings: list[Any]) -> None:
    sheet.heading("Readings beside the model")
    if not readings:
        sheet.text("none: no log holds a test that is good enough")
        return
    rows = [
        (
            row["reading"],
            _figure(row["test"]),
            number(row["model_before"]),
            number(row["model_after"]),
            _unit(row["unit"]),
            fixed(row["off"], 1, sign=True),
        )
        for row in readings
    ]
    header = ("reading", "test", "model", "after", "unit", "off")
    sheet.table(rows, header=header, right=frozenset({2, 3, 5}), flexible=(0,))
    sheet.text(
        "model: what it says before and after; off: test less model before, in standard uncertainties of both together",
        hang="    ",
    )


def _write_corrections(sheet: Page, lesson: Payload) -> None:
    sheet.heading("Corrections")
    telling = [one for one in lesson["corrections"] if one["tells"]]
    if not lesson["corrections"]:
        sheet.text("none: the tests tell nothing about a figure of the catalog")
        return
    rows = [
        (
            f"{one['figure'].replace('_', ' ').replace('.', ' ')} of {one['part']}",
            f"{_figure(one['before'])}{'' if one['in_catalog'] else ' (assumed)'}",
            _figure(one["after"]),
            _unit(one["unit"]),
        )
        for one in telling
    ]
    if rows:
        sheet.table(rows, header=("figure", "before", "after", "unit"), flexible=(0,))
    rest = len(lesson["corrections"]) - len(telling)
    if rest:
        sheet.text(f"{counted(rest, 'more figure')} hardly moved; the file has {'it' if rest == 1 else 'them'} too.")
    sheet.text(
        "Catalog and tests, weighed by their uncertainties; a pressure exponent or carcass pressure that was only "
        "assumed becomes the tire's own.",
        hang="    ",
    )


def _write_again(sheet: Page, again: Payload) -> None:
    before, after = again["before"], again["after"]
    sheet.heading("The choice, made again with the corrections")
    for title, one in (("before", before), ("after", after)):
        words = proof_words(one["status"], one["aim"])
        aim = "" if one["aim"] is None else f"aim {number(one['aim']['value'], digits=5)}, "
        sheet.text(f"{title}: {aim}{words}", hang="    ")
    for margin in again["missed_by_the_choice_before"]:
        sheet.item(f"by the corrected figures the choice before misses: {margin_words(margin)}")
    if again["comparison"] is not None:
        write_comparison(sheet, again["comparison"])
    elif before["aim"] is not None and after["aim"] is not None:
        sheet.text("The same packages as before.")


def _write_next(sheet: Page, found: Payload) -> None:
    sheet.heading("Which test next")
    for one in found["candidates"]:
        tires = ", ".join(
            f"{position} {of['tire']} at {number(of['pressure_kpa'])} kPa" for position, of in one["tires"].items()
        )
        sheet.text(f"candidate {one['number']}: {tires}", hang="    ")
    sheet.text(
        f"With what is known now, candidate {found['least_expected_loss_with']} has the least expected loss; knowing "
        f"everything would avoid {number(found['expected_loss_percent'])} % of the aim.",
        hang="    ",
    )
    if not found["tests"]:
        sheet.text("No single test is worth its name: none would change which candidate to take.", hang="    ")
    else:
        rows = [
            (one["kind"], one["about"], number(one["loss_avoided_percent"]), fixed(one["switches_percent"], 0))
            for one in found["tests"]
        ]
        sheet.table(
            rows, header=("test", "of", "worth, % of aim", "changes, %"), right=frozenset({2, 3}), flexible=(1,)
        )
    if found["figures"]:
        sheet.text(
            "Figures that threaten the choice most: "
            + "; ".join(f"{one['about']} ({number(one['loss_avoided_percent'])} %)" for one in found["figures"])
            + ".",
            hang="    ",
        )
    sheet.text(
        "worth: expected loss avoided by choosing after the test; changes: how often it would change the candidate. "
        f"Model: {found['model']}; {found['draws']:,} draws. Source: {found['source']}.",
        hang="    ",
    )


def _figure(of: Payload) -> str:
    return f"{number(of['value'], digits=4)} +- {number(of['standard_uncertainty'], digits=2)}"


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit
