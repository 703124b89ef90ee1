"""ANSI/SVIA 1, Four-Wheel All-Terrain Vehicles: pitch and lateral stability coefficients.  Both formulas from memory.

K_p comes from the angle at which the machine balances on its rear wheels, K_st from tracks and height.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics.chassis import lateral_stability_coefficient, wheelie_grade


@pytest.mark.parametrize("angles", [pytest.param([35.0, 45.0, 55.0], id="K_p from the balance angle - from memory")])
def test_the_pitch_coefficient_of_the_balance_test_is_the_wheelie_grade(angles: list[float]) -> None:
    """L1 tan(a)/(L1 + R_r tan(a)), L1 from the rear axle to the centre of gravity, R_r the rear radius."""
    ahead, radius = 0.56, 0.27
    for angle in angles:
        tangent = math.tan(math.radians(angle))
        # Balanced, the centre of gravity stands above the axle; level, it is as high above it as the angle says.
        height = radius + ahead / tangent
        printed = ahead * tangent / (ahead + radius * tangent)
        assert float(wheelie_grade(ahead, cg_height=height)) == pytest.approx(printed, rel=1e-12)


@pytest.mark.parametrize("tracks", [pytest.param((0.80, 0.76), id="K_st of unequal tracks - from memory")])
def test_the_lateral_coefficient_has_the_form_of_the_standard(tracks: tuple[float, float]) -> None:
    """(L t_r + l_r (t_f - t_r))/(2 L h)."""
    (front, rear), base, ahead, height = tracks, 1.2, 0.56, 0.50
    printed = (base * rear + ahead * (front - rear)) / (2 * base * height)
    got = lateral_stability_coefficient(
        front_track=front, rear_track=rear, cg_from_rear=ahead, wheelbase=base, cg_height=height
    )
    assert float(got) == pytest.approx(printed, rel=1e-12)
