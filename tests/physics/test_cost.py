"""Purchase cost under price tiers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.cost import tier_cost

TIERS = {"tier_quantities": [1, 100, 500], "tier_prices": [5.0, 4.5, 4.0]}

tiers = st.lists(st.integers(1, 60), min_size=1, max_size=5, unique=True).flatmap(
    lambda starts: st.tuples(
        st.just(sorted(starts)),
        st.lists(st.integers(1, 1000), min_size=len(starts), max_size=len(starts)),
    )
)


def by_trying(need: int, starts: list[int], prices: list[int], minimum: int) -> tuple[int, int]:
    """Cheapest purchase by trying every quantity up to beyond the last tier."""
    if need == 0:
        return 0, 0
    best: tuple[int, int] | None = None
    for quantity in range(max(need, minimum, starts[0]), max(need, minimum, starts[-1]) + 2):
        unit = next(p for s, p in zip(reversed(starts), reversed(prices), strict=True) if s <= quantity)
        if best is None or quantity * unit < best[0]:
            best = (quantity * unit, quantity)
    assert best is not None
    return best


@given(st.integers(0, 90), tiers, st.integers(0, 70))
def test_the_cost_is_what_trying_every_quantity_finds(
    need: int, offer: tuple[list[int], list[int]], minimum: int
) -> None:
    starts, prices = offer
    cost, bought = tier_cost(need, tier_quantities=starts, tier_prices=prices, minimum_order=minimum)
    assert (float(cost), float(bought)) == by_trying(need, starts, prices, minimum)


def test_just_below_a_tier_buying_more_is_cheaper() -> None:
    cost, bought = tier_cost([89, 90, 95, 100, 101], minimum_order=1, **TIERS)
    # At 90 the tier costs exactly the same: no more is bought than needed.
    np.testing.assert_array_equal(bought, [89, 90, 100, 100, 101])
    np.testing.assert_allclose(cost, [445.0, 450.0, 450.0, 450.0, 454.5], rtol=1e-14)


def test_a_minimum_order_raises_the_purchase_and_its_tier() -> None:
    cost, bought = tier_cost(3, minimum_order=120, **TIERS)
    assert (float(cost), float(bought)) == (540.0, 120.0)


def test_a_first_tier_above_one_is_a_minimum_order() -> None:
    cost, bought = tier_cost(3, tier_quantities=[10], tier_prices=[2.0], minimum_order=1)
    assert (float(cost), float(bought)) == (20.0, 10.0)


def test_nothing_needed_costs_nothing() -> None:
    cost, bought = tier_cost([0, 1], minimum_order=50, **TIERS)
    np.testing.assert_array_equal(cost, [0.0, 250.0])
    np.testing.assert_array_equal(bought, [0.0, 50.0])


@given(st.integers(1, 200), st.integers(1, 50), tiers)
def test_needing_more_never_costs_less(need: int, more: int, offer: tuple[list[int], list[int]]) -> None:
    cost, _ = tier_cost([need, need + more], tier_quantities=offer[0], tier_prices=offer[1], minimum_order=1)
    assert cost[1] >= cost[0]


def test_tables_of_parts_and_quantities_broadcast() -> None:
    cost, bought = tier_cost(
        np.array([[1], [200]]),
        tier_quantities=np.array([[1, 100], [1, 50], [10, 20]]),
        tier_prices=np.array([[5.0, 4.0], [3.0, 2.0], [1.0, 0.5]]),
        minimum_order=1,
    )
    assert cost.shape == bought.shape == (2, 3)
    np.testing.assert_array_equal(cost, [[5.0, 3.0, 10.0], [800.0, 400.0, 100.0]])


def test_tiers_that_do_not_ascend_are_refused() -> None:
    with pytest.raises(DomainError, match=r"step between tier_quantities at index \(1,\) is -50"):
        tier_cost(1, tier_quantities=[1, 100, 50], tier_prices=[3.0, 2.0, 1.0], minimum_order=1)


def test_a_missing_price_is_refused() -> None:
    with pytest.raises(DomainError, match=r"tier_prices at index \(1,\) is nan"):
        tier_cost(1, tier_quantities=[1, 100], tier_prices=[3.0, float("nan")], minimum_order=1)
