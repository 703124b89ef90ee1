"""S. P. Timoshenko, Strength of Materials: a thin ring pressed at both ends of a diameter (from memory)."""

from __future__ import annotations

import pytest

from configopt.physics.rim_press import ring_press_stiffness


def test_the_diameter_of_a_pressed_ring_shortens_by_0_149_p_r3_over_ei() -> None:
    shortening = 1.0 / float(ring_press_stiffness(800.0, radius=0.25))
    assert shortening * 800.0 / 0.25**3 == pytest.approx(0.149, abs=0.0005)
