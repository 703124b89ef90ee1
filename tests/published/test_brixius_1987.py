"""W. W. Brixius, "Traction prediction equations for bias ply tires", ASAE paper 87-1622, 1987."""

from __future__ import annotations

import math

import pytest

from configopt.physics import mobility_numbers as mobility

POINTS = [(80.0, 0.05), (55.0, 0.10), (40.0, 0.15), (20.0, 0.30)]


@pytest.mark.parametrize(
    "printed", [pytest.param((5, 3), id="Bn = (CI b d/W)(1 + 5 delta/h)/(1 + 3 b/d) - from memory")]
)
def test_mobility_number(printed: tuple[int, int]) -> None:
    """CI 900 kPa, b 0.467 m, d 1.834 m, W 24.5 kN, delta/h 0.19."""
    book = 900 * 0.467 * 1.834 / 24.5 * (1 + printed[0] * 0.19) / (1 + printed[1] * 0.467 / 1.834)
    got = mobility.brixius_numeric(24.5e3, cone_index=900e3, width=0.467, diameter=1.834, deflection_ratio=0.19)
    assert got == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("points", [pytest.param(POINTS, id="0.88 (1 - exp(-0.1 Bn))(1 - exp(-7.5 s)) + 0.04")])
def test_gross_traction_ratio(points: list[tuple[float, float]]) -> None:
    for bn, s in points:
        book = 0.88 * (1 - math.exp(-0.1 * bn)) * (1 - math.exp(-7.5 * s)) + 0.04
        assert mobility.brixius_gross_traction(bn, slip=s) == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("points", [pytest.param(POINTS, id="1/Bn + 0.04 + 0.5 s/sqrt(Bn)")])
def test_motion_resistance_ratio(points: list[tuple[float, float]]) -> None:
    for bn, s in points:
        book = 1 / bn + 0.04 + 0.5 * s / math.sqrt(bn)
        assert mobility.brixius_motion_resistance(bn, slip=s) == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("points", [pytest.param(POINTS, id="undriven wheel: 1/Bn + 0.04")])
def test_motion_resistance_of_an_undriven_wheel(points: list[tuple[float, float]]) -> None:
    for bn, _ in points:
        assert mobility.brixius_motion_resistance(bn) == pytest.approx(1 / bn + 0.04, rel=1e-12)


@pytest.mark.parametrize("points", [pytest.param(POINTS, id="net = gross minus motion resistance")])
def test_net_traction_ratio(points: list[tuple[float, float]]) -> None:
    for bn, s in points:
        book = 0.88 * (1 - math.exp(-0.1 * bn)) * (1 - math.exp(-7.5 * s)) - 1 / bn - 0.5 * s / math.sqrt(bn)
        assert mobility.brixius_net_traction(bn, slip=s) == pytest.approx(book, abs=1e-12)
