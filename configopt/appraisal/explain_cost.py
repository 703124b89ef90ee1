"""What went into cost, running cost and delivery."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from configopt.appraisal.explained import Input, Place, Reading, Rule, at, both_ends, given, once
from configopt.appraisal.parts import FAMILIES, WEARING
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position


def _used(reading: Reading, position: Position, family: str) -> tuple[int, int]:
    """Number of a part in its family (-1 for none) and pieces per vehicle."""
    rows = reading.appraised.rows[position]
    return int(rows.index[family][0]), int(rows.pieces[family][0])


def _money(reading: Reading, name: str, value: Any) -> Input:
    return Input(name, float(np.ravel(value)[0]), reading.currency)


def _order(reading: Reading, family: str, index: int, pieces: int) -> str:
    """A part with what one order of it comes to."""
    part, bought = reading.model.catalog.family(family)[index], reading.model.costs.bought(family, index, pieces)
    price = [float(tier.unit_price) for tier in part.prices if tier.quantity <= bought][-1]
    once = f" and {float(part.one_off_cost):.2f} once" if float(part.one_off_cost) else ""
    return f"{part.id} ({bought} bought at {price:.2f}{once})"


def _package_cost(reading: Reading, place: Place) -> Iterable[Input]:
    """Each part at its share of one order for both ends."""
    position = at(place)
    other: Position = "rear" if position == "front" else "front"
    costs, found = reading.model.costs, []
    for family in FAMILIES:
        index, pieces = _used(reading, position, family)
        if index < 0:
            continue
        there, more = _used(reading, other, family)
        both = pieces + (more if there == index else 0)
        share = costs.per_vehicle(family, index, both) * pieces / both
        found.append(_money(reading, f"{pieces} x {_order(reading, family, index, both)}", share))
    return found


def _cost(reading: Reading, place: Place) -> Iterable[Input]:
    shares = reading.appraised.package_costs()
    drive = reading.model.drive_costs[reading.evaluation.drive]
    found = [_money(reading, f"packages {position}", shares[position]) for position in POSITIONS]
    return [*found, _money(reading, "final drive", drive)]


def _running_cost(reading: Reading, place: Place) -> Iterable[Input]:
    """What wears, at its cost per vehicle without what carrying it costs once."""
    model, found = reading.model, []
    for family, field in WEARING.items():
        seen: dict[int, int] = {}
        for position in POSITIONS:
            index, pieces = _used(reading, position, family)
            if index >= 0:
                seen[index] = seen.get(index, 0) + pieces
        for index, pieces in seen.items():
            part = model.catalog.family(family)[index]
            life = getattr(part, field)
            if life is None:
                continue
            cost = model.costs.per_vehicle(family, index, pieces) - float(part.one_off_cost) / model.costs.quantity
            found += [
                _money(reading, f"{pieces} x {part.id}, one-off cost apart", cost),
                given(f"life of {part.id}", life, "km"),
            ]
    return found


def _lifeless(reading: Reading, place: Place) -> Iterable[str]:
    missing: dict[str, list[str]] = {}
    for family, field in WEARING.items():
        for position in POSITIONS:
            index, _ = _used(reading, position, family)
            if index >= 0 and getattr(reading.model.catalog.family(family)[index], field) is None:
                missing.setdefault(family, []).append(reading.model.catalog.family(family)[index].id)
    words = {family: ", ".join(dict.fromkeys(names)) for family, names in missing.items()}
    found = []
    if "tires" in words:
        found.append(f"no tread life is stated for {words.pop('tires')}: shown as 1,000,000")
    if words:
        found.append(f"left out, no life is stated: {', '.join(words.values())}")
    return found


def _lead_time(reading: Reading, place: Place) -> Iterable[Input]:
    found: dict[str, Input] = {}
    for position in POSITIONS:
        for family, part, _pieces in reading.appraised.packages[position].parts(reading.vehicle):
            assert family in FAMILIES
            found[part.id] = given(part.id, part.lead_time, "days")
    return list(found.values())


COST_RULES: tuple[Rule, ...] = (
    Rule(
        "cost",
        _package_cost,
        both_ends,
        "cost",
        lambda r, p: r.appraised.package_costs()[at(p)],
        "currency",
    ),
    Rule("cost", _cost, once),
    Rule("running_cost", _running_cost, once, remarks=_lifeless),
    Rule("lead_time", _lead_time, once),
)
