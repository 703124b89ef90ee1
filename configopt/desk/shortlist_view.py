"""The short list in words: its candidates, what each is best at, and the rides that tell them apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from configopt.desk.cells import figure_or_ratio
from configopt.sheet.figures import figure_text
from configopt.sheet.words import limit_words, side_words

Payload = Mapping[str, Any]
HEADS = ("worse than the best", "mass of the packages", "rolling loss", "cost of the packages")
_STATUS = {
    "complete": "Picked from the best choice with every tire, front and rear, that comes within {within} of the best: "
    "those that differ most, the best always among them.",
    "partial": "It was ended early: not every tire was looked at. These come within {within} of the best found.",
    "infeasible": "Proven: nothing in these catalogs meets every limit.",
    "unknown": "It was ended before anything was found.",
}


@dataclass(frozen=True)
class CandidateView:
    """One candidate; ``text`` lays it over the choice."""

    text: str
    cells: tuple[str, ...]
    tires: str
    best: str


@dataclass(frozen=True)
class ShortlistView:
    """A short list."""

    words: str
    heads: tuple[str, ...]
    candidates: tuple[CandidateView, ...]
    rides: tuple[str, ...]
    remarks: tuple[str, ...]


def shortlist_view(told: Payload) -> ShortlistView:
    """A short list as the JSON of ``shortlist`` has it, with ``texts`` of its candidates."""
    rows = zip(told["candidates"], told["texts"], strict=True)
    return ShortlistView(
        _STATUS[told["status"]].format(within=figure_text(told["within_percent"], "%")),
        HEADS,
        tuple(_candidate(one, text) for one, text in rows),
        tuple(_ride(row) for row in told["plan"]),
        tuple(f"{one[0].upper()}{one[1:]}." for one in told["remarks"]),
    )


def _candidate(one: Payload, text: str) -> CandidateView:
    vehicle = one["vehicles"][0]
    cells = (
        figure_text(one["loss_percent"], "%"),
        figure_text(vehicle["mass_kg"], "kg"),
        figure_text(vehicle["rolling_loss_wh_per_km"], "Wh/km"),
        figure_text(vehicle["cost"], vehicle["currency"]),
    )
    tires = [
        f"{package['names']['tire']} at {figure_text(package['pressure_kpa'], 'kPa')}"
        + (", on the vehicle today" if one["ridden"][package["position"]] else "")
        for package in vehicle["packages"]
    ]
    return CandidateView(text, cells, "; ".join(tires), ", ".join(one["labels"]) or "nothing alone")


def _ride(row: Payload) -> str:
    doubt = row["doubt"] if row["limit"] is None else limit_words({**row, "terrain": row["place"]})
    values = " against ".join(figure_or_ratio(value, row["unit"], row["unit"]) for value in row["values"])
    asked = ""
    if row["required"] is not None:
        asked = f" (asked: {side_words(row['limit'])} {figure_or_ratio(row['required'], row['unit'], row['unit'])})"
    return f"candidates {row['first']} and {row['second']}, {doubt}: {values}{asked}; {row['why']}."
