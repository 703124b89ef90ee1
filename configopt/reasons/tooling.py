"""From which number of vehicles an own part is no dearer than what it replaces, price tiers and tooling included."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.parts import FAMILIES
from configopt.choice.audit import Candidates, Choices
from configopt.physics.cost import tier_cost

Array = NDArray[np.float64]
#: Differences of the cost of an order below this share of it are none.
SAME_COST = 1e-9


@dataclass(frozen=True)
class Bought:
    """A part of a choice, and its pieces per vehicle."""

    part: Any
    pieces: int


def bought(candidates: Candidates, choice: Choices) -> list[Bought]:
    """What one choice buys; a part used at both ends counts once, with all its pieces."""
    rows = candidates.part_rows(choice)
    found = []
    for family in FAMILIES:
        pieces: dict[int, int] = {}
        for of in rows.values():
            index, count = int(of.index[family][0]), int(of.pieces[family][0])
            if index >= 0 and count:
                pieces[index] = pieces.get(index, 0) + count
        parts = candidates.model.catalog.family(family)
        found += [Bought(parts[index], count) for index, count in pieces.items()]
    return found


def order_costs(candidates: Candidates, choice: Choices, vehicles: NDArray[np.int64]) -> Array:
    """Cost of all packages and final drives [currency] for numbers of vehicles, with what carrying each part costs."""
    total = float(candidates.model.drive_costs[int(choice.drive[0])]) * vehicles
    for one in bought(candidates, choice):
        cost, _ = tier_cost(
            one.pieces * vehicles,
            tier_quantities=[tier.quantity for tier in one.part.prices],
            tier_prices=[float(tier.unit_price) for tier in one.part.prices],
            minimum_order=one.part.minimum_order,
        )
        total = total + cost + float(one.part.one_off_cost)
    return np.asarray(total, dtype=np.float64)


@dataclass(frozen=True)
class Pays:
    """``first``: smallest number of vehicles for which a choice is no dearer than another; ``from_``: from which on it
    stays so however many are built; ``None`` where there is none."""

    first: int | None
    from_: int | None


def pays(with_it: tuple[Candidates, Choices], without: tuple[Candidates, Choices]) -> Pays:
    """From which number of vehicles one choice is no dearer than another, both as they are.

    Notes
    -----
    Every number up to the last price tier and minimum order of any part is looked at.  Beyond, both costs are straight
    lines, so the border is where they cross.
    """
    last = 1
    for candidates, choice in (with_it, without):
        for one in bought(candidates, choice):
            last = max(last, math.ceil(max(one.part.prices[-1].quantity, one.part.minimum_order) / one.pieces))
    vehicles = np.arange(1, last + 3)
    mine, other = order_costs(*with_it, vehicles), order_costs(*without, vehicles)
    more = mine - other
    more[np.abs(more) <= SAME_COST * other] = 0.0
    slope = float(more[-1] - more[-2])
    slope = 0.0 if abs(slope) <= SAME_COST * float(other[-1]) else slope
    good = np.flatnonzero(more <= 0.0)
    first = int(vehicles[good[0]]) if good.size else None
    end = int(vehicles[-1])
    if more[-1] > 0.0 and slope < 0.0:
        crossing = end + math.ceil(float(more[-1]) / -slope - SAME_COST)
        return Pays(crossing if first is None else first, crossing)
    if more[-1] > 0.0 or slope > 0.0:
        return Pays(first, None)
    dear = np.flatnonzero(more > 0.0)
    return Pays(first, 1 if not dear.size else int(vehicles[dear[-1]]) + 1)
