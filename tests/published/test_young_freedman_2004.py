"""H. D. Young, R. A. Freedman, "University Physics", 11th ed. 2004, problem 11.72: a wheel pulled over a curb."""

from __future__ import annotations

import math

import pytest

from configopt.physics import obstacles

R, W = 0.345, 250.0
HEIGHTS = [0.01, 0.05, 0.15, 0.30]


@pytest.mark.parametrize("heights", [pytest.param(HEIGHTS, id="a: W sqrt(2Rh - h^2)/(R - h) at the centre")])
def test_force_at_the_centre(heights: list[float]) -> None:
    expected = [W * math.sqrt(2 * R * h - h * h) / (R - h) for h in heights]
    assert obstacles.step_axle_force(W, radius=R, height=heights) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("heights", [pytest.param(HEIGHTS, id="b: W sqrt(2Rh - h^2)/(2R - h) at the top")])
def test_force_at_the_top(heights: list[float]) -> None:
    expected = [W * math.sqrt(2 * R * h - h * h) / (2 * R - h) for h in heights]
    assert obstacles.step_top_force(W, radius=R, height=heights) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("heights", [pytest.param(HEIGHTS, id="c: less force is required at the top")])
def test_less_force_is_required_at_the_top(heights: list[float]) -> None:
    top = obstacles.step_top_force(W, radius=R, height=heights)
    assert (top < obstacles.step_axle_force(W, radius=R, height=heights)).all()
