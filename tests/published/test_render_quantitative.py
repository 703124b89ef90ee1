"""B. Render, R. M. Stair, M. E. Hanna, Quantitative Analysis for Management, quantity discount example.

5,000 a year, 49 an order, holding 20 % of the unit price; 5.00 each, 4.80 from 1,000, 4.75 from 2,000.  The totals from
memory.
"""

from __future__ import annotations

import pytest

from configopt.physics.cost import tier_cost

TIERS = {"tier_quantities": [1, 1000, 2000], "tier_prices": [5.00, 4.80, 4.75], "minimum_order": 1}


@pytest.mark.parametrize(
    ("order", "printed"),
    [
        pytest.param(700, 25_700.00, id="700 at a time: 25,700 - from memory"),
        pytest.param(1000, 24_725.00, id="1,000 at a time: 24,725, the cheapest - from memory"),
        pytest.param(2000, 24_822.50, id="2,000 at a time: 24,822.50 - from memory"),
    ],
)
def test_yearly_cost_of_an_order_quantity(order: int, printed: float) -> None:
    cost, bought = (float(x) for x in tier_cost(order, **TIERS))
    unit = cost / bought
    assert bought == order
    assert 5000 * unit + 5000 / order * 49 + order / 2 * 0.20 * unit == pytest.approx(printed, abs=0.005)
