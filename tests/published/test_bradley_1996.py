"""J. Bradley, "The Racing Motorcycle: a technical guide for constructors", 1996; the formula is also used by
V. Cossalter, "Motorcycle Dynamics".  Pressure in bar, speed in km/h.
"""

from __future__ import annotations

import pytest

from configopt.physics import rolling


def coefficient(bar: float, kmh: float) -> float:
    return float(rolling.bradley_coefficient(bar * 1e5, speed=kmh / 3.6))


@pytest.mark.parametrize("constant", [pytest.param(0.0085, id="constant 0.0085 up to 165 km/h")])
def test_the_part_that_neither_pressure_nor_speed_changes(constant: float) -> None:
    """Solved from two pressures at rest."""
    assert 2 * coefficient(4.0, 0.0) - coefficient(2.0, 0.0) == pytest.approx(constant, abs=1e-12)


@pytest.mark.parametrize("factor", [pytest.param(0.018, id="0.018/p up to 165 km/h")])
def test_the_part_that_falls_with_pressure(factor: float) -> None:
    assert (coefficient(1.0, 0.0) - coefficient(2.0, 0.0)) * 2 == pytest.approx(factor, abs=1e-12)


@pytest.mark.parametrize("factor", [pytest.param(1.59e-6, id="1.59e-6 V^2/p up to 165 km/h")])
def test_the_part_that_grows_with_speed(factor: float) -> None:
    rise = (coefficient(2.0, 100.0) - coefficient(2.0, 0.0)) * 2.0 / 100.0**2
    assert rise == pytest.approx(factor, abs=1e-14)


@pytest.mark.parametrize("factors", [pytest.param((0.018, 2.91e-6), id="0.018/p + 2.91e-6 V^2/p above 165 km/h")])
def test_the_branch_for_high_speed(factors: tuple[float, float]) -> None:
    for bar, kmh in ((2.0, 170.0), (2.5, 180.0), (3.0, 250.0)):
        assert coefficient(bar, kmh) == pytest.approx((factors[0] + factors[1] * kmh**2) / bar, rel=1e-12)


@pytest.mark.parametrize("switch", [pytest.param(165.0, id="branches change at 165 km/h")])
def test_the_branches_change_with_a_jump(switch: float) -> None:
    """0.0391 below and 0.0486 above at 2 bar: the source's own step, not smoothed."""
    assert coefficient(2.0, switch - 0.01) == pytest.approx(0.0391, abs=6e-5)
    assert coefficient(2.0, switch + 0.01) == pytest.approx(0.0486, abs=6e-5)
