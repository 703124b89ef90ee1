"""S. J. Ling, J. Sanny, W. Moebs, University Physics, volume 1, OpenStax 2016, Example 11.10: precession of a gyroscope
with a disc of 0.30 kg and 5.0 cm at 20 revolutions a second, held 5.0 cm from its tip, g = 9.8 m/s^2.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics.inertia import disc_inertia, gyroscopic_moment

inertia = float(disc_inertia(0.30, radius=0.05))


def test_the_inertia_of_the_disc_is_3_75e_4() -> None:
    assert inertia * 1e4 == pytest.approx(3.75, abs=0.005)


def test_its_weight_makes_it_precess_at_3_12_radians_a_second() -> None:
    per_rate = float(gyroscopic_moment(inertia, wheel_speed=20.0 * 2.0 * math.pi, lean_rate=1.0))
    assert 0.30 * 9.8 * 0.05 / per_rate == pytest.approx(3.12, abs=0.005)
