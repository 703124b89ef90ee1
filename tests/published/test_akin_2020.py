"""D. L. Akin, ENAE 788X "Planetary Surface Robotics", lecture notes on terramechanics, University of Maryland 2020:
the lunar roving vehicle on nominal lunar soil, wheel 0.229 m by 0.813 m under 259 N.
"""

from __future__ import annotations

import pytest

from configopt.physics import soft_ground


@pytest.mark.parametrize("printed", [pytest.param(28.3, id="compression resistance 28.3 N per wheel")])
def test_compaction_resistance_of_a_lunar_wheel(printed: float) -> None:
    k = soft_ground.soil_modulus(1400.0, 820e3, smaller_side=0.229)
    got = soft_ground.rigid_compaction(259.0, width=0.229, diameter=0.813, modulus=k, exponent=1.0)
    assert got == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize("printed", [pytest.param(113.0, id="compression resistance 113 N for four wheels")])
def test_compaction_resistance_of_the_vehicle(printed: float) -> None:
    k = soft_ground.soil_modulus(1400.0, 820e3, smaller_side=0.229)
    got = soft_ground.rigid_compaction(259.0, width=0.229, diameter=0.813, modulus=k, exponent=1.0)
    assert 4 * got == pytest.approx(printed, abs=0.5)
