"""M. G. Bekker, "Introduction to Terrain-Vehicle Systems", University of Michigan Press 1969."""

from __future__ import annotations

import pytest

from configopt.physics import soft_ground


@pytest.mark.parametrize("width", [pytest.param(0.30, id="b is the smaller side of the patch")])
def test_the_modulus_uses_the_smaller_side_of_the_patch(width: float) -> None:
    soil = {"cohesive_modulus": 13.19e3, "frictional_modulus": 692.15e3, "exponent": 0.5}
    state = {"pressure": 30e3, "width": width, "diameter": 0.635}
    wheel = soft_ground.wheel_on_soil(1000.0, firm_patch_length=0.15, **state, **soil)
    assert wheel.sinkage == pytest.approx((30.0 / (13.19 / 0.15 + 692.15)) ** 2.0, rel=1e-10)


@pytest.mark.parametrize("diameter", [pytest.param(0.5, id="wheels below about 0.5 m (20 in) - from memory")])
def test_small_wheels_are_remarked(diameter: float) -> None:
    remark = soft_ground.soil_remarks(0.01, diameter=[diameter - 0.01, diameter + 0.01], exponent=1.0)
    assert remark["small wheel: D below 0.5 m"].tolist() == [True, False]


@pytest.mark.parametrize("share", [pytest.param(6.0, id="sinkage up to D/6 - from memory")])
def test_deep_sinkage_is_remarked(share: float) -> None:
    limit = 0.66 / share
    remark = soft_ground.soil_remarks([0.99 * limit, 1.01 * limit], diameter=0.66, exponent=1.0)
    assert remark["sinkage beyond D/6"].tolist() == [False, True]
