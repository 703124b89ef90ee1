"""The trade-off and the short list on the sheet, with the rides that tell candidates apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from configopt.appraisal.vehicle import POSITIONS
from configopt.sheet.figures import Shown, figure_text
from configopt.sheet.given import Given, same_packages
from configopt.sheet.tables import Cell, Row, Table, columns
from configopt.sheet.words import AIMS, PARTS, differing_words, limit_words, side_words

_TRADE = {
    "complete": "Proven complete: any other choice in these catalogs is beaten by one of these, or equal to it.",
    "partial": "The search was stopped: these were found, others may be missing.",
    "infeasible": "Proven: nothing in these catalogs meets every limit.",
    "unknown": "The search was stopped before anything was found.",
}
#: Captions of the points by the state of their search.
TRADE_CAPTIONS = {
    "complete": "Choices that no other beats",
    "partial": "Choices found until the search was stopped",
}
_SHORT = {
    "complete": "Picked from the best choice with every tire, front and rear, that comes within {loss} of the best.",
    "partial": "The search was stopped: not every tire was looked at. These come within {loss} of the best found.",
    "infeasible": "Proven: nothing in these catalogs meets every limit.",
    "unknown": "The search was stopped before anything was found.",
}


#: Figures of a point beside its aims: words, key, unit (empty: the currency).
_OTHERS = (("energy", "energy_wh_per_km", "Wh/km"), ("range", "range_km", "km"), ("cost", "cost", ""))
#: What a candidate is best at, as far as it is named.
_LABELS = 4


@dataclass(frozen=True)
class Trade:
    """A trade-off: what is proven of it, and its points."""

    proof: str
    points: Table
    parts: Table
    """What to buy for a point: its parts that are not those of the decision."""


@dataclass(frozen=True)
class Candidates:
    """A short list: what is proven of it, its candidates, and the rides."""

    proof: str
    candidates: Table
    parts: Table
    """What to buy for a candidate: its parts that are not those of the decision."""
    rides: Table
    remarks: tuple[str, ...]


def trade(given: Given) -> Trade | None:
    """The trade-off, where one was made."""
    payload = given.result("tradeoff")
    if payload is None:
        return None
    results, aims = given.results, payload["aims"]
    currency = given.case.scenario.currency
    # What is an aim stands among the aims.
    named = {aim["name"] for aim in aims}
    others = [row for row in _OTHERS if row[0] not in named]
    rows = []
    for at, point in enumerate(payload["points"]):
        path, vehicle = f"tradeoff/points/{at}", point["vehicles"][0]
        cells: list[Cell] = [results.figure(f"{path}/values/{aim['name']}", _unit(aim, currency)) for aim in aims]
        cells += [results.figure(f"{path}/vehicles/0/{key}", unit or currency) for _, key, unit in others]
        cells += [_tire(vehicle, position) for position in POSITIONS]
        here = same_packages(given.choice["vehicles"][0], vehicle["packages"])
        told = [*(["best by the rates"] if point["best_by_rates"] else []), *(["the decision"] if here else [])]
        rows.append(Row((", ".join([str(point["number"]), *told]), *cells), marked=here))
    heads = columns(
        "point", *(f"#{AIMS.get(aim['name'], aim['name'])}" for aim in aims), *(f"#{name}" for name, _, _ in others),
        "front tire", "rear tire",
    )  # fmt: skip
    caption = TRADE_CAPTIONS.get(payload["status"], TRADE_CAPTIONS["partial"])
    parts = _parts(given, "point", payload["points"])
    return Trade(_proof(given, "tradeoff", _TRADE[payload["status"]]), Table(caption, heads, tuple(rows)), parts)


def _proof(given: Given, name: str, words: str) -> str:
    """What is proven of a result; of one made before, that it was so then."""
    file = given.before.get(name)
    return words if file is None else f"From {file}, made before; what it said then: {words[0].lower()}{words[1:]}"


def _unit(aim: Mapping[str, Any], currency: str) -> str:
    return currency if aim["name"] == "cost" else str(aim["unit"])


def _tire(vehicle: Mapping[str, Any], position: str, ridden: bool = False) -> str:
    package = next(row for row in vehicle["packages"] if row["position"] == position)
    pressure = f" at {figure_text(package['pressure_kpa'], 'kPa')}" if package["pressure_kpa"] else ""
    return f"{package['names']['tire']}{pressure}{', on the vehicle today' if ridden else ''}"


def short_list(given: Given) -> Candidates | None:
    """The short list, where one was made."""
    payload = given.result("shortlist")
    if payload is None:
        return None
    results, currency = given.results, given.case.scenario.currency
    rows = []
    for at, one in enumerate(payload["candidates"]):
        path, vehicle = f"shortlist/candidates/{at}", one["vehicles"][0]
        figures = (("mass_kg", "kg"), ("rolling_loss_wh_per_km", "Wh/km"), ("range_km", "km"), ("cost", currency))
        cells: list[Cell] = [results.figure(f"{path}/loss_percent", "%")]
        cells += [results.figure(f"{path}/vehicles/0/{key}", unit) for key, unit in figures]
        cells += [_tire(vehicle, position, one["ridden"][position]) for position in POSITIONS]
        cells.append(_best_at(one["labels"]))
        rows.append(Row((str(one["number"]), *cells), marked=one["loss_percent"] == 0.0))
    heads = columns(
        "candidate",
        "#loss of the aim",
        "#mass",
        "#rolling loss",
        "#range",
        "#cost",
        "front tire",
        "rear tire",
        "best at",
    )
    loss = figure_text(payload["within_percent"], "%")
    table = Table("Candidates worth buying and riding", heads, tuple(rows))
    proof = _proof(given, "shortlist", _SHORT[payload["status"]].format(loss=loss))
    return Candidates(
        proof,
        table,
        _parts(given, "candidate", payload["candidates"]),
        _rides(given, payload),
        tuple(payload["remarks"]),
    )


def _parts(given: Given, what: str, found: Sequence[Mapping[str, Any]]) -> Table:
    """Every part of points or candidates that is not the decision's."""
    mine = given.choice["vehicles"][0]
    rows = []
    for one in found:
        theirs = one["vehicles"][0]
        cells = [differing_words(_changes(mine, theirs, position), most=None) for position in POSITIONS]
        drive = "the same" if mine["final_drive"] == theirs["final_drive"] else str(theirs["final_drive"])
        rows.append(Row((str(one["number"]), *cells, drive)))
    heads = columns(what, "front", "rear", "final drive")
    return Table(f"Parts of the {what}s that are not those of the decision", heads, tuple(rows))


def _changes(mine: Mapping[str, Any], theirs: Mapping[str, Any], position: str) -> list[dict[str, Any]]:
    (first,) = (row for row in mine["packages"] if row["position"] == position)
    (second,) = (row for row in theirs["packages"] if row["position"] == position)
    return [
        {"position": "", "part": key, "second": second[key]}
        for key in (*PARTS, "rim_locks")
        if first[key] != second[key]
    ]


def _best_at(labels: Sequence[str]) -> str:
    """What a candidate is best at; much is counted after the first."""
    named = list(labels)
    if len(named) > _LABELS:
        named[_LABELS:] = [f"and {len(named) - _LABELS} more"]
    return ", ".join(named) or "nothing alone"


def _rides(given: Given, payload: Mapping[str, Any]) -> Table:
    rows = []
    for at, ride in enumerate(payload["plan"]):
        path, unit = f"shortlist/plan/{at}", ride["unit"]
        values: list[Shown | str] = [
            "no figure" if value is None else given.results.figure(f"{path}/values/{number}", unit)
            for number, value in enumerate(ride["values"])
        ]
        asked = "" if ride["required"] is None else f"{side_words(ride['limit'])} {figure_text(ride['required'], unit)}"
        doubt = ride["doubt"] if ride["limit"] is None else limit_words({**ride, "terrain": ride["place"]})
        rows.append(Row((f"{ride['first']} and {ride['second']}", doubt, *values, asked or "nothing", ride["why"])))
    heads = columns("candidates", "doubt", "#the first", "#the second", "asked", "why")
    return Table("Rides that tell them apart, the most telling first", heads, tuple(rows))
