"""Whole-vehicle soft-ground measures: branches, scaling, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics import vehicle_cone_index as vci

VEHICLE = {
    "axles": 2,
    "wheels": 4,
    "width": 0.20,
    "diameter": 0.635,
    "clearance": 0.20,
    "power": 10e3,
}
TIRES = {"wheels": 4, "width": 0.20, "diameter": 0.635}


def test_the_one_pass_branches_nearly_meet() -> None:
    """34.15 and 34.03 psi at MI = 115, computed from the printed equations."""
    below, above = vci.one_pass_cone_index([115.0, 115.0 + 1e-9]) / vci.PSI
    assert below == pytest.approx(34.15, abs=0.006)
    assert above == pytest.approx(34.03, abs=0.006)


@given(st.floats(0.0, 1000.0), st.floats(1.0, 100.0))
def test_a_worse_mobility_index_needs_stronger_ground(index: float, more: float) -> None:
    low, high = vci.one_pass_cone_index([index, index + more])
    assert high > low or index <= 115.0 < index + more


def test_more_deflection_needs_weaker_ground() -> None:
    low, high = vci.one_pass_cone_index(50.0, deflection_ratio=[0.15, 0.30])
    assert high / low == pytest.approx(0.5**0.25)


def test_a_light_vehicle_never_gets_a_negative_index() -> None:
    assert vci.mobility_index(1500.0, **(VEHICLE | {"clearance": 0.35})) == 0.0


def test_more_weight_worsens_the_mobility_index() -> None:
    index = vci.mobility_index(np.array([2500.0, 3500.0, 4500.0]), **VEHICLE)
    assert np.all(np.diff(index) > 0.0)


def test_an_axle_beyond_the_known_table_is_refused() -> None:
    with pytest.raises(DomainError, match=r"weight per axle is .* lb; allowed is above 0 to 13500 lb"):
        vci.mobility_index(2e5, **VEHICLE)


@given(st.floats(0.3, 3.0))
def test_mean_maximum_pressure_keeps_its_dimension(scale: float) -> None:
    state = {"axle_factor": 3.65, "wheels": 4, "deflection_ratio": 0.2}
    base = vci.rowland_wheel_pressure(4000.0, width=0.2, diameter=0.635, **state)
    big = vci.rowland_wheel_pressure(4000.0 * scale**2, width=0.2 * scale, diameter=0.635 * scale, **state)
    assert big == pytest.approx(base)


@given(st.floats(0.3, 3.0))
def test_the_limiting_cone_index_keeps_its_dimension(scale: float) -> None:
    base = vci.vehicle_limiting_cone_index(4000.0, deflection=0.03, **TIRES)
    big = vci.vehicle_limiting_cone_index(
        4000.0 * scale**2, wheels=4, width=0.2 * scale, diameter=0.635 * scale, deflection=0.03 * scale
    )
    assert big == pytest.approx(base)


def test_limiting_cone_index_of_a_quad_arithmetic() -> None:
    """39.2 kPa for 1 kN per wheel at 30 mm deflection; computed from the printed equation."""
    got = vci.vehicle_limiting_cone_index(4000.0, deflection=0.03, **TIRES)
    assert got / 1e3 == pytest.approx(39.2, abs=0.051)


@pytest.mark.parametrize("ground", vci.ROWLAND_LIMITS)
def test_pressure_limits_rise_from_ideal_to_maximum(ground: str) -> None:
    limits = vci.ROWLAND_LIMITS[ground]
    assert 0.0 < limits.ideal < limits.satisfactory < limits.maximum


def test_refusals_name_argument_index_and_value() -> None:
    with pytest.raises(DomainError, match=r"deflection_ratio at index \(0,\) is 0 1; allowed is above 0"):
        vci.deflection_correction([0.0, 0.2])
    with pytest.raises(DomainError, match="mobility_index is nan"):
        vci.one_pass_cone_index(np.nan)
    with pytest.raises(DomainError, match="remolding_index is -1"):
        vci.rating_cone_index(1e5, remolding_index=-1.0)
