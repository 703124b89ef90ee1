"""Shigley's Mechanical Engineering Design, 8th ed., section 16-6, Example 16-3: a caliper with annular pads.

From memory.  Two pads of 108 degrees between 3.875 and 5.50 in, friction 0.37, torque capacity 13,000 lbf in, cylinders
of 1.5 in, uniform wear.  Tolerance: half a unit of the last printed digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics.brakes import (
    annular_pad_force,
    annular_pad_torque,
    clamp_force,
    effective_radius_uniform_wear,
    pad_force_radius,
)

INCH = 0.0254
POUND = 4.4482216152605
PSI = POUND / INCH**2
PAD = {"outer": 5.50 * INCH, "inner": 3.875 * INCH, "angle": np.radians(108.0)}
TORQUE_PER_PAD = 13_000 / 2 * POUND * INCH
peak = TORQUE_PER_PAD / float(annular_pad_torque(0.37, peak_pressure=1.0, **PAD))
force = float(annular_pad_force(peak, **PAD))
radius = effective_radius_uniform_wear(PAD["outer"], PAD["inner"])


def test_the_largest_pressure_is_316_psi() -> None:
    assert peak / PSI == pytest.approx(316.0, abs=0.5)


def test_the_actuating_force_is_3748_pounds() -> None:
    assert force / POUND == pytest.approx(3748.0, abs=0.5)


def test_the_effective_radius_is_4_688_inches() -> None:
    assert float(radius) / INCH == pytest.approx(4.688, abs=0.0005 + 1e-9)


def test_the_force_acts_at_4_02_inches() -> None:
    assert float(pad_force_radius(radius, angle=PAD["angle"])) / INCH == pytest.approx(4.02, abs=0.005)


def test_the_hydraulic_pressure_is_2121_psi() -> None:
    per_pressure = float(clamp_force(1.0, piston_diameter=1.5 * INCH, pistons_per_side=1))
    assert force / per_pressure / PSI == pytest.approx(2121.0, abs=0.5)
