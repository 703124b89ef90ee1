"""The answer of ``choose`` as text: from the ground up, tire first, on one screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.text_family import write_family
from configopt.cli.text_vehicle import write_notes, write_vehicle
from configopt.cli.words import exchange_words, limit_words, number, proof_words, with_unit

Payload = Mapping[str, Any]
_CLOSEST = 6
_REMOVED = 6


def write_choice(sheet: Page, payload: Payload, *, detail: bool = False) -> None:
    """Write the whole answer onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a choice (schema configopt/choice/1).
    detail
        Every figure, limit and remark instead of one screen.
    """
    aim = payload["aim"]
    sheet.heading(f"{payload['scenario']}: {proof_words(payload['status'], aim)}")
    _write_weighing(sheet, payload)
    if not payload["vehicles"]:
        _write_refusal(sheet, payload)
        payload = {**payload, "remarks": []}
    if payload.get("family"):
        write_family(sheet, payload["family"])
    for vehicle in payload["vehicles"]:
        write_vehicle(sheet, vehicle, detail=detail)
    write_notes(sheet, payload, detail=detail)


def _write_weighing(sheet: Page, payload: Payload) -> None:
    aim, counts = payload["aim"], payload.get("counts") or {}
    if aim is not None:
        rates = exchange_words(aim["terms"])
        ties = counts.get("ties")
        if ties is not None and ties > 1:
            rates.append(f"{counted(ties, 'choice')} are equally good; the cheapest, then lightest, is shown")
        sheet.text("; ".join(rates), hang="    ")
    audit = payload.get("audit")
    if audit and not audit["agrees"]:
        sheet.text(
            f"WARNING: the full model contradicts the search by {number(audit['largest_difference'])}. This is a bug "
            "in this program; please report it.",
            hang="    ",
        )


def _write_refusal(sheet: Page, payload: Payload) -> None:
    """Why there is no choice: what is known, what came closest and what the rules of fit took away."""
    for text in payload["remarks"]:
        sheet.text(text, hang="    ")
    closest = payload.get("closest") or []
    if closest:
        sheet.heading("What came closest")
        for row in closest[:_CLOSEST]:
            sheet.item(row.get("text") or _closest_words(row))
    fitting = (payload.get("counts") or {}).get("packages_that_fit") or {}
    if fitting:
        sheet.heading("What fits")
        sheet.table([(position, f"{count:,} packages") for position, count in fitting.items()], right=frozenset({1}))
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
