"""D. Halliday, R. Resnick, J. Walker, "Fundamentals of Physics", chapter 12 (equilibrium), problem 21."""

from __future__ import annotations

import pytest

from configopt.physics import obstacles


@pytest.mark.parametrize("force", [pytest.param(13.6, id="wheel of 6.00 cm and 0.800 kg at a step of 3.00 cm, g 9.80")])
def test_horizontal_axle_force_over_a_step(force: float) -> None:
    got = obstacles.step_axle_force(0.800 * 9.80, radius=0.0600, height=0.0300)
    assert got == pytest.approx(force, abs=0.05)
