"""R. F. Smiley, W. B. Horne, "Mechanical properties of pneumatic tires with special reference to modern aircraft
tires", NASA TR R-64, 1960: vertical force-deflection relation and footprint.  Every check from memory.

The sample tire is 0.16 m wide and 0.64 m tall, so that sqrt(w D) = 0.32 m exactly; inflation and carcass pressure
sum to 100 kPa, so that the scale (q + q_c) w sqrt(w D) is 5120 N.
"""

from __future__ import annotations

import pytest

from configopt.physics import tire

CASING = {"pressure": 88e3, "carcass_pressure": 12e3, "width": 0.16, "diameter": 0.64}


@pytest.mark.parametrize("x", [pytest.param([0.01, 0.05, 0.09], id="0.96 x + 0.216 x^2/C up to 10 C/3 - from memory")])
def test_small_deflections_follow_the_printed_parabola(x: list[float]) -> None:
    expected = [5120.0 * (0.96 * one + 0.216 * one**2 / 0.03) for one in x]
    assert tire.load_at_deflection([0.16 * one for one in x], **CASING) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("x", [pytest.param([0.11, 0.2, 0.4], id="2.4 (x - C) beyond 10 C/3 - from memory")])
def test_large_deflections_follow_the_printed_line(x: list[float]) -> None:
    expected = [5120.0 * 2.4 * (one - 0.03) for one in x]
    assert tire.load_at_deflection([0.16 * one for one in x], **CASING) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("switch", [pytest.param(10 * 0.03 / 3, id="x = 10 C/3 with C = 0.03 - from memory")])
def test_the_law_is_straight_from_the_printed_switch_on(switch: float) -> None:
    at = switch * 0.16
    before, on, after = tire.vertical_stiffness([0.999 * at, at, 2 * at], **CASING)
    assert before < on
    assert on == pytest.approx(after, rel=1e-12)


@pytest.mark.parametrize("factor", [pytest.param(2.4, id="slope 2.4 (q + q_c) sqrt(w D) - from memory")])
def test_the_stiffness_of_the_straight_part(factor: float) -> None:
    assert tire.vertical_stiffness(0.05, **CASING) == pytest.approx(factor * 100e3 * 0.32, rel=1e-12)


@pytest.mark.parametrize("share", [pytest.param(0.08, id="0.08 of the rated pressure - from memory")])
def test_the_casing_adds_its_share_of_the_rated_pressure(share: float) -> None:
    assert tire.default_carcass_pressure(250e3, heavy_duty=False) == pytest.approx(share * 250e3)


@pytest.mark.parametrize("factor", [pytest.param(1.7, id="1.7 D sqrt(d/D - (d/D)^2) - from memory")])
def test_footprint_length(factor: float) -> None:
    """At d/D = 0.1 the root is exactly 0.3."""
    assert tire.patch_length(0.064, diameter=0.64) == pytest.approx(factor * 0.64 * 0.3, rel=1e-12)


@pytest.mark.parametrize("factor", [pytest.param(2.3, id="2.3 d sqrt(w D) - from memory")])
def test_gross_footprint_area(factor: float) -> None:
    assert tire.patch_area(0.02, width=0.16, diameter=0.64) == pytest.approx(factor * 0.02 * 0.32, rel=1e-12)
