"""M. G. Bekker, "Theory of Land Locomotion", University of Michigan Press 1956: thrust of a track with lugs,
H = b l c (1 + 2 h/b) + W tan phi (1 + 0.64 (h/b) arccot(h/b)).  Every check from memory.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics import grip

LUGS = {"patch_width": 0.10, "land_fraction": 0.0, "packed": False}


@pytest.mark.parametrize("factor", [pytest.param(2.0, id="cohesive part times 1 + 2 h/b - from memory")])
def test_lugs_raise_the_cohesive_part(factor: float) -> None:
    heights = [0.005, 0.013, 0.10]
    expected = [1 + factor * h / 0.10 for h in heights]
    assert grip.grouser_factors(heights, **LUGS)[0] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("factor", [pytest.param(0.64, id="frictional part, 0.64 (h/b) arccot(h/b) - from memory")])
def test_lugs_raise_the_frictional_part(factor: float) -> None:
    heights = [0.005, 0.013, 0.10]
    expected = [1 + factor * h / 0.10 * math.atan(0.10 / h) for h in heights]
    assert grip.grouser_factors(heights, **LUGS)[1] == pytest.approx(expected, rel=1e-12)
