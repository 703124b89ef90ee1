"""G. W. Turnage, "A synopsis of tire design and operational considerations aimed at increasing in-soil tire drawbar
performance", 6th ISTVS Conference, Vienna 1978.  Every check from memory.
"""

from __future__ import annotations

import pytest

from configopt.errors import DomainError
from configopt.physics import mobility_numbers as mobility


@pytest.mark.parametrize("numerics", [pytest.param([3.5, 7.5, 22.5], id="0.04 + 0.20/(Nc - 2.50) - from memory")])
def test_rolling_resistance(numerics: list[float]) -> None:
    book = [0.04 + 0.20 / (n - 2.50) for n in numerics]
    assert mobility.turnage_rolling_resistance(numerics) == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("lowest", [pytest.param(2.5, id="valid for Nc above 2.5 - from memory")])
def test_the_relation_ends_where_it_would_turn_infinite(lowest: float) -> None:
    assert mobility.turnage_rolling_resistance(lowest + 1e-6) > 1e4
    with pytest.raises(DomainError, match=r"numeric is 2\.5 1; allowed is above 2\.5"):
        mobility.turnage_rolling_resistance(lowest)
