"""E. B. Maclaurin, "The use of mobility numbers to describe the in-field tractive performance of pneumatic tyres",
10th ISTVS Conference, Kobe 1990.  Every check from memory.
"""

from __future__ import annotations

import pytest

from configopt.physics import mobility_numbers as mobility

NUMERICS = [2.0, 8.0, 30.0]


@pytest.mark.parametrize("deflections", [pytest.param([0.02, 0.04], id="N = CI b^0.8 d^0.8 delta^0.4/W - from memory")])
def test_wheel_numeric(deflections: list[float]) -> None:
    book = [300 * 0.35**0.8 * 1.1**0.8 * x**0.4 / 15.0 for x in deflections]
    got = mobility.maclaurin_numeric(15e3, cone_index=300e3, width=0.35, diameter=1.1, deflection=deflections)
    assert got == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("numerics", [pytest.param(NUMERICS, id="z/d = 0.224/N^1.25 - from memory")])
def test_sinkage(numerics: list[float]) -> None:
    assert mobility.maclaurin_sinkage_ratio(numerics) == pytest.approx([0.224 / n**1.25 for n in numerics], rel=1e-12)


@pytest.mark.parametrize("numerics", [pytest.param(NUMERICS, id="CRR = 0.017 + 0.453/N - from memory")])
def test_rolling_resistance(numerics: list[float]) -> None:
    book = [0.017 + 0.453 / n for n in numerics]
    assert mobility.maclaurin_rolling_resistance(numerics) == pytest.approx(book, rel=1e-12)
