"""T. A. McMahon and J. Graham, The Bicycle and the Walkman, 1992: a spoke preloaded to half its yield stress.

300 mm long, 2 mm thick, yield about 400 MPa, E = 210 GPa.  Tolerance: half a unit of the last significant digit.
"""

from __future__ import annotations

import pytest

from configopt.physics.spokes import spoke_extension, spoke_tension


def test_the_section_is_3_14_square_millimetres() -> None:
    assert float(spoke_tension(1.0, diameter=2e-3)) == pytest.approx(3.14e-6, abs=0.005e-6)


def test_the_preload_is_about_630_newtons() -> None:
    assert float(spoke_tension(200e6, diameter=2e-3)) == pytest.approx(630.0, abs=5.0)


def test_the_preload_stretches_the_spoke_by_about_0_29_mm() -> None:
    stretch = spoke_extension(spoke_tension(200e6, diameter=2e-3), length=0.300, diameter=2e-3, modulus=210e9)
    assert float(stretch) * 1e3 == pytest.approx(0.29, abs=0.005)
