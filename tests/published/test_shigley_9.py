"""Shigley's Mechanical Engineering Design, 9th ed., chapter 8 on screws and fasteners.

Example 8-6: a butt joint of two bolts of 3/4 in, each cut in two planes, through bars 1 in thick; proof strength of the
bolts 85 kpsi, yield of the bars 54 kpsi, design factor 1.5.  A force at a circle of unit radius is a torque.
Tolerance: half a unit of the last printed digit.
"""

from __future__ import annotations

import pytest

from configopt.physics.drive_interface import (
    NUT_FACTOR,
    SHEAR_YIELD_SHARE,
    bolt_preload,
    pin_bearing_stress,
    pin_shear_stress,
)

INCH = 0.0254
POUND = 4.4482216152605
KPSI = 1e3 * POUND / INCH**2
BOLTS = {"pins": 2, "pin_diameter": 0.75 * INCH, "circle_radius": 1.0}


def test_the_bolts_bear_85_kilopounds() -> None:
    stress = float(pin_bearing_stress(1e3 * POUND, thickness=INCH, **BOLTS))
    assert 85.0 * KPSI / 1.5 / stress == pytest.approx(85.0, abs=0.5)


def test_the_bars_bear_54_kilopounds() -> None:
    stress = float(pin_bearing_stress(1e3 * POUND, thickness=INCH, **BOLTS))
    assert 54.0 * KPSI / 1.5 / stress == pytest.approx(54.0, abs=0.5)


def test_the_bolts_are_sheared_by_57_8_kilopounds() -> None:
    stress = float(pin_shear_stress(1e3 * POUND, planes=2, **BOLTS))
    assert SHEAR_YIELD_SHARE * 85.0 * KPSI / 1.5 / stress == pytest.approx(57.8, abs=0.05)


def test_the_torque_factor_of_zinc_plated_bolts_is_0_20() -> None:
    # Table 8-15.
    assert pytest.approx(0.20, abs=0.005) == NUT_FACTOR


def test_a_preload_of_25_kilopounds_takes_3750_pound_inches() -> None:
    # Example 8-3 (b), equation 8-27, K = 0.2; the torque from memory.
    preload = bolt_preload(3750.0 * POUND * INCH, diameter=0.75 * INCH, nut_factor=0.2)
    assert float(preload) / POUND / 1e3 == pytest.approx(25.0, abs=0.5)
