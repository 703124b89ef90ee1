"""G. W. Turnage, "Performance of soils under tire loads", US Army Engineer Waterways Experiment Station, Technical
Report 3-666, 1972: dimensionless wheel numerics.  Every check from memory.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics import mobility_numbers as mobility


@pytest.mark.parametrize("ratios", [pytest.param([0.15, 0.25, 0.35], id="clay numeric - from memory")])
def test_clay_numeric(ratios: list[float]) -> None:
    """(CI b d/W) sqrt(delta/h)/(1 + b/(2 d)) with CI 200 kPa, b 0.23 m, d 0.71 m, W 3.0 kN."""
    book = [200 * 0.23 * 0.71 / 3.0 * math.sqrt(r) / (1 + 0.23 / (2 * 0.71)) for r in ratios]
    got = mobility.clay_numeric(3e3, cone_index=200e3, width=0.23, diameter=0.71, deflection_ratio=ratios)
    assert got == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("ratios", [pytest.param([0.15, 0.25, 0.35], id="sand numeric - from memory")])
def test_sand_numeric(ratios: list[float]) -> None:
    """G (b d)^1.5/W delta/h with G 3 MPa/m, b 0.23 m, d 0.71 m, W 3.0 kN."""
    book = [3000 * (0.23 * 0.71) ** 1.5 / 3.0 * r for r in ratios]
    got = mobility.sand_numeric(3e3, cone_index_gradient=3e6, width=0.23, diameter=0.71, deflection_ratio=ratios)
    assert got == pytest.approx(book, rel=1e-12)
