"""The answer of ``appraise`` as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.text_explanation import write_explanations
from configopt.cli.text_vehicle import write_notes, write_vehicle

Payload = Mapping[str, Any]


def write_appraisal(sheet: Page, payload: Payload, *, detail: bool = False) -> None:
    """Write an appraisal onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of an appraisal (schema configopt/appraisal/1).
    detail
        Every figure, limit and remark instead of one screen, and how each figure comes about.
    """
    misfits = payload["misfits"]
    unmet = sum(not margin["met"] for vehicle in payload["vehicles"] for margin in vehicle["margins"])
    fits = "does not fit" if misfits else "fits"
    meets = f"misses {counted(unmet, 'limit')}" if unmet else "meets every limit"
    joined = "and" if bool(misfits) == bool(unmet) else "but"
    sheet.heading(f"{payload['scenario']}: the choice {fits} {joined} {meets}")
    for misfit in misfits:
        sheet.item(f"{misfit['vehicle']}, {misfit['position']}: {misfit['text']}")
    for vehicle in payload["vehicles"]:
        write_vehicle(sheet, vehicle, detail=detail)
    write_notes(sheet, payload, detail=detail)
    if detail:
        for vehicle in payload["vehicles"]:
            write_explanations(sheet, vehicle)
