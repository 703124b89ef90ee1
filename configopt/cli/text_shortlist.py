"""The shortlist as text: the candidates, what each is best at, and the rides."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from configopt.cli.layout import Page
from configopt.cli.output import counted
from configopt.cli.text_trials import write_ride_verdicts
from configopt.cli.words import fixed, limit_words, margin_words, number, with_unit

Payload = Mapping[str, Any]
_HEADS = {
    "complete": "picked from the best choice with every tire, front and rear, that comes within {loss} of the best",
    "partial": "stopped early: not every tire was looked at; these come within {loss} of the best found",
    "infeasible": "proven: nothing in these catalogs meets every limit",
    "unknown": "stopped before any choice was found; nothing is proven",
}


def write_shortlist(sheet: Page, payload: Payload) -> None:
    """Write the shortlist onto a page.

    Parameters
    ----------
    sheet
        An empty page.
    payload
        JSON of a shortlist (schema configopt/shortlist/1).
    """
    candidates = payload["candidates"]
    sheet.heading(f"{payload['scenario']}: {counted(len(candidates), 'candidate')} to ride")
    loss = f"{number(payload['within_percent'])} %"
    sheet.text(_HEADS[payload["status"]].format(loss=loss), hang="    ")
    if not payload["audit"]["agrees"]:
        sheet.text(
            f"WARNING: the full model contradicts the search by {number(payload['audit']['largest_difference'])}. This "
            "is a bug in this program; please report it.",
            hang="    ",
        )
    if candidates:
        _write_candidates(sheet, candidates)
        for candidate in candidates:
            _write_candidate(sheet, candidate)
        _write_plan(sheet, payload["plan"])
    for text in payload["remarks"]:
        sheet.text(text, hang="    ")
    write_ride_verdicts(sheet, payload.get("ride_verdicts"))
    sheet.heading("Cautions")
    for text in payload["cautions"]:
        sheet.item(text)


def _write_candidates(sheet: Page, candidates: list[Any]) -> None:
    rows = []
    for candidate in candidates:
        vehicle = candidate["vehicles"][0]
        rows.append(
            (
                str(candidate["number"]),
                fixed(candidate["loss_percent"], 2),
                fixed(vehicle["mass_kg"], 2),
                fixed(vehicle["rolling_loss_wh_per_km"], 1),
                fixed(vehicle["cost"], 0),
                *(_tire(candidate, package) for package in _packages(vehicle)),
            )
        )
    currency = candidates[0]["vehicles"][0]["currency"]
    sheet.heading("Candidates")
    sheet.table(
        rows,
        header=("", "loss %", "kg", "Wh/km", currency, "front, kPa", "rear, kPa"),
        right=frozenset({1, 2, 3, 4}),
        flexible=(5, 6),
    )
    note = "loss: of the aim against the best; kg: mass of the packages; Wh/km: rolling loss"
    if any(any(candidate["ridden"].values()) for candidate in candidates):
        note += "; * tire already ridden: it is on today's vehicle"
    sheet.text(note, hang="    ")


def _packages(vehicle: Payload) -> list[Any]:
    return sorted(vehicle["packages"], key=lambda package: package["position"])


def _tire(candidate: Payload, package: Payload) -> str:
    mark = "*" if candidate["ridden"][package["position"]] else ""
    pressure = float(package["pressure_kpa"])
    return f"{package['tire']}{mark} {pressure:.0f}" if pressure else f"{package['tire']}{mark}"


def _write_candidate(sheet: Page, candidate: Payload) -> None:
    vehicle = candidate["vehicles"][0]
    sheet.heading(f"Candidate {candidate['number']}: {', '.join(candidate['labels']) or 'best at nothing alone'}")
    for package in _packages(vehicle):
        parts = [package.get("rim") or package.get("disc_wheel"), package["hub"], package.get("rotor")]
        sheet.text(f"{package['position']}: {', '.join(str(part) for part in parts if part)}", hang="    ")
    if candidate["tightest"]:
        sheet.text(f"tightest: {margin_words(candidate['tightest'][0], vehicle['currency'])}", hang="    ")
    if candidate["riskiest"]:
        sheet.text(f"most at risk: {margin_words(candidate['riskiest'], vehicle['currency'])}", hang="    ")


def _write_plan(sheet: Page, plan: list[Any]) -> None:
    sheet.heading("Rides, what separates most first")
    if not plan:
        sheet.text("no ride would tell these candidates apart")
        return
    sheet.text("Qualified riders only, on closed ground, both of a pair on the same stretch.")
    for row in plan:
        values = " against ".join(_value(value, row["unit"]) for value in row["values"])
        asked = "" if row["required"] is None else f" (asked: {with_unit(number(row['required']), row['unit'])})"
        doubt = row["doubt"] if row["limit"] is None else limit_words(row["limit"], row["place"], row["position"])
        sheet.item(f"{row['first']} and {row['second']}: {doubt}: {values}{asked}; {row['why']}")


def _value(value: float | None, unit: str) -> str:
    return "no figure" if value is None else with_unit(number(value), unit)
