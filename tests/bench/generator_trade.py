"""What every generated part has: a neutral id and maker, price tiers, orders, delivery, status.

Three suppliers' habits, drawn per part: *stock* (65 %: 10 to 40 days, no minimum order), *made to order* (15 %: 30 to
75 days, 5 % dearer, one-off cost in every other case) and *bulk* (20 %: 55 to 90 days, 25 % cheaper, minimum order 20
or 50, one-off cost 40 to 150).  Price tiers: 2 to 5 of the quantities 1, 20, 100, 500, 2,000; the price at quantity q
is 1 - d log q / log 500 of the first one with d uniform in 0.10 to 0.25.  Of the parts 4 % are last buys, 2 % withdrawn
and 1 % concepts; the first parts of a family are always active, so that small catalogs stay whole.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.records import PriceTier
from configopt.quantities import Figure

Array = NDArray[np.float64]
#: Source of every generated figure, an entry of the shipped catalogs: estimates from like parts.
SOURCE = "parts-estimate"
QUANTITIES = (1, 20, 100, 500, 2_000)
#: So many parts of a family are active whatever is drawn.
ALWAYS_ACTIVE = 20
DAY = 86_400
MAKERS = 12
SUPPLIERS = 9


def figure(value: float, digits: int) -> Figure:
    """A figure rounded to so many decimals of the SI unit, as a data sheet would print it."""
    return Figure(round(float(value), digits))


def stepped(value: float, step: float) -> Figure:
    """A figure that is a whole multiple of a step of at least 1."""
    return Figure(step * round(float(value) / step))


def normal(rng: np.random.Generator, count: int, spread: float) -> Array:
    """Factors exp(spread N), N standard normal and cut at 2.5: noise that never turns a part absurd."""
    return np.exp(spread * np.clip(rng.standard_normal(count), -2.5, 2.5))


def spread_evenly(rng: np.random.Generator, count: int) -> Array:
    """Uniform in 0 to 1, one draw from each of ``count`` equal slices, in random order."""
    return np.asarray((rng.permutation(count) + rng.random(count)) / max(count, 1))


def trade(kind: str, prices: Array, rng: np.random.Generator, *, per_piece: int = 1) -> list[dict[str, Any]]:
    """Fields of :class:`configopt.catalog.records.Part` for parts with these unit prices before the supplier's habit.

    Parameters
    ----------
    kind
        Word in the id, e.g. ``tire`` for ``gen-tire-00042``.
    prices
        Unit price at quantity 1 [currency], shape (n,).
    rng
        Source of the noise.
    per_piece
        Factor on quantities of parts that are used by the dozen, such as spokes.

    Returns
    -------
    list of dict
        One mapping of field names to values a part.
    """
    count = len(prices)
    habit = rng.choice(3, size=count, p=(0.65, 0.15, 0.20))
    days = np.where(habit == 0, rng.integers(10, 41, count), rng.integers(30, 76, count))
    days = np.where(habit == 2, rng.integers(55, 91, count), days)
    minimum = np.where(habit == 2, rng.choice((20, 50), size=count), 1)
    one_off = np.where(habit == 2, 10 * rng.integers(4, 16, count), 0)
    one_off = np.where((habit == 1) & (rng.random(count) < 0.5), 10 * rng.integers(2, 9, count), one_off)
    factor = np.choose(habit, (1.0, 1.05, 0.75))
    tiers, depth = rng.integers(2, len(QUANTITIES) + 1, count), rng.uniform(0.10, 0.25, count)
    status = rng.choice(("active", "last buy", "withdrawn", "concept"), size=count, p=(0.93, 0.04, 0.02, 0.01))
    status[:ALWAYS_ACTIVE] = "active"
    maker, supplier = rng.integers(1, MAKERS + 1, count), rng.integers(1, SUPPLIERS + 1, count)
    rows = []
    for i in range(count):
        first = max(float(prices[i] * factor[i]), 0.02)
        rows.append(
            {
                "id": f"gen-{kind}-{i:05d}",
                "name": f"Gen {kind} {i}",
                "maker": f"gen-maker-{maker[i]}",
                "supplier": f"gen-supplier-{supplier[i]}",
                "status": str(status[i]),
                "lead_time": Figure(int(days[i]) * DAY),
                "minimum_order": int(minimum[i]) * per_piece,
                "one_off_cost": Figure(int(one_off[i])),
                "prices": [
                    PriceTier(
                        quantity=q if q == 1 else q * per_piece,
                        unit_price=figure(first * (1.0 - depth[i] * math.log(q) / math.log(500)), 2),
                    )
                    for q in QUANTITIES[: tiers[i]]
                ],
                "source": SOURCE,
            }
        )
    return rows
