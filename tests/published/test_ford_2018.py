"""M. Ford, Reinventing the Wheel: Stress Analysis, Stability, and Optimization of the Bicycle Wheel.

PhD thesis, Northwestern University, 2018.
"""

from __future__ import annotations

import pytest

from configopt.physics.spokes import effective_spoke_diameter, spoke_length, spoke_rigidity

# Appendix on wheel properties: double-butted spoke, 1.99 mm ends, 1.72 mm over 205 of 276 mm.
EFFECTIVE = effective_spoke_diameter(1.99e-3, middle_diameter=1.72e-3, length=0.276, middle_length=0.205)


def test_the_standard_wheel_is_built_with_276_mm_spokes() -> None:
    # Table of the standard research wheel: radial lacing, R 304 mm, hole circle 58 mm, hub width 50 mm.  R is the
    # radius of the rim's shear centre rather than that of the spoke ends, hence a millimetre.
    length = spoke_length(0.025, flange_radius=0.029, rim_radius=0.304, crossings=0, spokes_per_side=18)
    assert float(length) * 1e3 == pytest.approx(276.0, abs=1.0)


def test_the_effective_diameter_of_the_butted_spoke_is_1_78_mm() -> None:
    assert float(EFFECTIVE) * 1e3 == pytest.approx(1.78, abs=0.005)


def test_the_rigidity_of_the_butted_spoke_is_522_kilonewtons() -> None:
    # Same appendix, table value, E = 210 GPa.
    assert float(spoke_rigidity(EFFECTIVE, modulus=210e9)) / 1e3 == pytest.approx(522.0, abs=0.5)
