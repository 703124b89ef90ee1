"""A. C. Ugural, Mechanical Design: An Integrated Approach, Example 13.6: a disc brake with two pads.

Pads of 60 degrees between 5 and 10 in diameter, friction 0.2, 200 psi at most.  Tolerance: half a unit of the
last digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics.brakes import (
    annular_pad_force,
    annular_pad_torque,
    brake_torque,
    effective_radius_uniform_wear,
)

INCH = 0.0254
POUND = 4.4482216152605
PAD = {"outer": 5.0 * INCH, "inner": 2.5 * INCH, "angle": np.radians(60.0)}
PEAK = 200 * POUND / INCH**2


def test_the_normal_force_is_1309_pounds() -> None:
    assert float(annular_pad_force(PEAK, **PAD)) / POUND == pytest.approx(1309.0, abs=0.5)


def test_the_torque_of_one_pad_is_982_pound_inches() -> None:
    assert float(annular_pad_torque(0.2, peak_pressure=PEAK, **PAD)) / (POUND * INCH) == pytest.approx(982.0, abs=0.5)


def test_the_torque_of_both_pads_is_1964_pound_inches() -> None:
    # Twice the rounded torque of one pad, hence twice its tolerance.
    radius = effective_radius_uniform_wear(PAD["outer"], PAD["inner"])
    both = brake_torque(0.2, clamp_force=annular_pad_force(PEAK, **PAD), effective_radius=radius)
    assert float(both) / (POUND * INCH) == pytest.approx(1964.0, abs=1.0)
