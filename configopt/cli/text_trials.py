"""What riders said as text: the ranking with its uncertainty, what was dropped, what to compare next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.learning.ride_words import dropped_words, preference_words, said, share

Payload = Mapping[str, Any]
#: Rankings, tires of a group and dropped rides that are shown; the JSON has all of them.
_RANKINGS, _ITEMS, _DROPPED = 8, 30, 20


def write_trials(sheet: Page, payload: Payload) -> None:
    """Write what a table of verdicts says onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a table of verdicts (schema configopt/trials/1).
    """
    sheet.heading(f"{payload['file']}: what riders said")
    if not payload["rides"]:
        sheet.text("the table holds no ride yet", hang="    ")
    else:
        sheet.text(
            f"{counted(payload['rides'], 'ride')} by {counted(payload['riders'], 'rider')}, {payload['first_day']} to "
            f"{payload['last_day']}; {counted(payload['verdicts'], 'comparison')}",
            hang="    ",
        )
    if payload["rides"] and not payload["rankings"]:
        sheet.text("nothing was compared, so there is nothing to rank", hang="    ")
    for number, ranking in enumerate(payload["rankings"][:_RANKINGS]):
        _write_ranking(sheet, ranking, payload["by_pressure"], first=number == 0)
    if len(payload["rankings"]) > _RANKINGS:
        more = counted(len(payload["rankings"]) - _RANKINGS, "purpose")
        sheet.text(f"{more} more: --for WORD, or --format json")
    if payload["rankings"]:
        _write_next(sheet, payload["rankings"][0]["teaches_most"])
    _write_dropped(sheet, payload["dropped"])
    if payload["remarks"] or payload["notes"]:
        sheet.heading("Remarks")
        for text in (*payload["remarks"], *payload["notes"]):
            sheet.item(text)
    sheet.heading("Cautions")
    for text in payload["cautions"]:
        sheet.item(text)


def _write_ranking(sheet: Page, ranking: Payload, by_pressure: bool, *, first: bool) -> None:
    name = "all purposes together" if ranking["for"] is None else ranking["for"]
    told = f"{counted(ranking['verdicts'], 'verdict')} of {counted(ranking['riders'], 'rider')}"
    alike = f", {ranking['alike']} alike" if ranking["alike"] else ""
    sheet.heading(f"For {name}: {told}{alike}")
    groups = ranking["groups"]
    for number, group in enumerate(groups, start=1):
        if len(groups) > 1:
            sheet.text(f"group {number} of {len(groups)}, never compared with the others:")
        rows = []
        for place, item in enumerate(group["items"][:_ITEMS], start=1):
            record = f"{item['better']}/{item['alike']}/{item['worse']}"
            spread = f"{share(item['chance_over_middle_low'])} to {share(item['chance_over_middle_high'])}"
            rows.append(
                (
                    str(place),
                    item["name"],
                    record,
                    share(item["chance_over_middle"]),
                    spread,
                    share(item["chance_best"]),
                )
            )
        what = "tire, pressure" if by_pressure else "tire"
        sheet.table(
            rows,
            header=("", what, "b/a/w", "preferred", "90 % interval", "best"),
            right=frozenset({3, 4, 5}),
            flexible=(1,),
        )
        if len(group["items"]) > _ITEMS:
            sheet.text(f"and {len(group['items']) - _ITEMS} more: --format json")
        if len(group["items"]) > 1:
            top = next(row for row in group["pairs"] if row["second"] == group["items"][1]["name"])
            sheet.text(preference_words(top["first"], top["second"], top), hang="    ")
    if first:
        sheet.text(
            "b/a/w: verdicts better, alike, worse; preferred: to one in the middle of its group, in decided verdicts; "
            "best: chance to be the best of its group",
            hang="    ",
        )


def _write_next(sheet: Page, rows: list[Any]) -> None:
    sheet.heading("Comparing these next would teach most")
    if not rows:
        sheet.text("no two tires are left that are on offer and that nobody gave up")
    for row in rows:
        joins = ", never compared so far" if row["never_compared"] else ""
        sheet.item(
            f"{row['first']} and {row['second']}{joins}: one more verdict takes away {share(row['share'])} of what is "
            "unknown about the order"
        )


def _write_dropped(sheet: Page, rows: list[Any]) -> None:
    if not rows:
        return
    sheet.heading("Dropped, the latest first")
    for row in rows[:_DROPPED]:
        sheet.item(dropped_words(row))
    if len(rows) > _DROPPED:
        sheet.text(f"and {len(rows) - _DROPPED} more: --format json")


def write_ride_verdicts(sheet: Page, told: Payload | None) -> None:
    """Write what riders said of the tires of an answer; nothing where its scenario names no table.

    Parameters
    ----------
    sheet
        A page.
    told
        ``ride_verdicts`` of an answer.
    """
    if told is None:
        return
    sheet.heading("What riders said")
    first, *others = said(told)
    sheet.text(first, hang="    ")
    for text in others:
        sheet.item(text)
