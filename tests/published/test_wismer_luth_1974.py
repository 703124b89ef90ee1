"""R. D. Wismer, H. J. Luth, "Off-road traction prediction for wheeled vehicles", Transactions of the ASAE 17(1), 1974,
8-14.  Every check from memory.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics import mobility_numbers as mobility

POINTS = [(50.0, 0.05), (30.0, 0.10), (20.0, 0.20), (15.0, 0.50)]


@pytest.mark.parametrize("load", [pytest.param([5.0, 20.0], id="Cn = CI b d/W - from memory")])
def test_wheel_numeric(load: list[float]) -> None:
    """CI 700 kPa, b 0.38 m, d 1.27 m; loads in kN."""
    got = mobility.wismer_luth_numeric([1e3 * w for w in load], cone_index=700e3, width=0.38, diameter=1.27)
    assert got == pytest.approx([700 * 0.38 * 1.27 / w for w in load], rel=1e-12)


@pytest.mark.parametrize("points", [pytest.param(POINTS, id="TF/W = 1.2/Cn + 0.04 - from memory")])
def test_towed_force(points: list[tuple[float, float]]) -> None:
    for cn, _ in points:
        assert mobility.wismer_luth_motion_resistance(cn) == pytest.approx(1.2 / cn + 0.04, rel=1e-12)


@pytest.mark.parametrize("points", [pytest.param(POINTS, id="GT/W = 0.75 (1 - exp(-0.3 Cn s)) - from memory")])
def test_gross_traction(points: list[tuple[float, float]]) -> None:
    for cn, s in points:
        book = 0.75 * (1 - math.exp(-0.3 * cn * s))
        assert mobility.wismer_luth_gross_traction(cn, slip=s) == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("points", [pytest.param(POINTS, id="net = gross minus towed force - from memory")])
def test_net_traction(points: list[tuple[float, float]]) -> None:
    for cn, s in points:
        book = 0.75 * (1 - math.exp(-0.3 * cn * s)) - 1.2 / cn - 0.04
        assert mobility.wismer_luth_net_traction(cn, slip=s) == pytest.approx(book, abs=1e-12)
