"""Z. Janosi, B. Hanamoto, "Analytical determination of drawbar pull as a function of slip for tracked vehicles in
deformable soils", 1st International Conference on the Mechanics of Soil-Vehicle Systems, Turin 1961.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics import grip


@pytest.mark.parametrize("pressures", [pytest.param([0.0, 20.0, 50.0], id="tau = (c + p tan phi)(1 - exp(-j/K))")])
def test_shear_stress_against_displacement(pressures: list[float]) -> None:
    """Dry sand: c = 1.04 kPa, phi = 28 deg, K = 25 mm, at 10 mm of displacement."""
    expected = [(1.04 + p * math.tan(math.radians(28))) * (1 - math.exp(-10 / 25)) for p in pressures]
    got = grip.janosi_shear_stress(
        [1e3 * p for p in pressures],
        displacement=0.010,
        cohesion=1040.0,
        friction_angle=math.radians(28),
        shear_modulus=0.025,
    )
    assert got / 1e3 == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("shares", [pytest.param([0.6321, 0.8647, 0.9817], id="share at j = K, 2 K, 4 K")])
def test_share_of_the_shear_strength_at_multiples_of_the_modulus(shares: list[float]) -> None:
    got = grip.janosi_shear_stress(
        0.0, displacement=[0.02, 0.04, 0.08], cohesion=1.0, friction_angle=0.0, shear_modulus=0.02
    )
    assert got == pytest.approx(shares, abs=5e-5)
