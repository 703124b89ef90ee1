"""Wheel numerics: arithmetic, identities, limits, dimension scaling, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics import mobility_numbers as mobility

BN = np.array([80.0, 55.0, 40.0, 20.0])
CN = np.array([50.0, 30.0, 20.0, 15.0])


def test_brixius_arithmetic_at_ten_percent_slip() -> None:
    """Computed from the printed equations at B_n = 80, 55, 40, 20, rounded to 0.0001."""
    at = {"slip": 0.10}
    got = [
        mobility.brixius_gross_traction(BN, **at),
        mobility.brixius_motion_resistance(BN, **at),
        mobility.brixius_net_traction(BN, **at),
        mobility.brixius_tractive_efficiency(BN, **at),
    ]
    expected = [
        [0.5042, 0.5024, 0.4958, 0.4415],
        [0.0581, 0.0649, 0.0729, 0.1012],
        [0.4461, 0.4375, 0.4229, 0.3403],
        [0.7963, 0.7837, 0.7677, 0.6937],
    ]
    assert np.array(got) == pytest.approx(np.array(expected), abs=6e-5)


def test_tractive_efficiency_has_its_optimum_where_the_equations_put_it() -> None:
    """0.8000 at 8.0 %, 0.7859 at 8.5 %, 0.7686 at 9.0 %, 0.6953 at 11.3 %; computed from the printed equations."""
    slips = np.linspace(0.02, 0.3, 2801)[:, np.newaxis]
    efficiency = mobility.brixius_tractive_efficiency(BN, slip=slips)
    assert efficiency.max(axis=0) == pytest.approx([0.8000, 0.7859, 0.7686, 0.6953], abs=6e-5)
    assert slips[efficiency.argmax(axis=0), 0] == pytest.approx([0.080, 0.085, 0.090, 0.113], abs=6e-4)


def test_wismer_luth_arithmetic_at_ten_percent_slip() -> None:
    """Computed from the printed equations at C_n = 50, 30, 20, 15, rounded to 0.0001."""
    assert mobility.wismer_luth_motion_resistance(CN) == pytest.approx([0.064, 0.080, 0.100, 0.120], abs=6e-5)
    gross = mobility.wismer_luth_gross_traction(CN, slip=0.10)
    net = mobility.wismer_luth_net_traction(CN, slip=0.10)
    assert gross == pytest.approx([0.5827, 0.4451, 0.3384, 0.2718], abs=6e-5)
    assert net == pytest.approx([0.5187, 0.3651, 0.2384, 0.1518], abs=6e-5)


@given(st.floats(1.0, 200.0), st.floats(0.0, 0.6))
def test_the_tires_own_share_cancels_in_the_net_traction(numeric: float, slip: float) -> None:
    envelope = 0.88 * (1 - np.exp(-0.1 * numeric)) * (1 - np.exp(-7.5 * slip))
    ground = 1 / numeric + 0.5 * slip / np.sqrt(numeric)
    assert mobility.brixius_net_traction(numeric, slip=slip) == pytest.approx(envelope - ground, abs=1e-12)


WHEEL = {"cone_index": 400e3, "width": 0.20, "diameter": 0.635}
NUMERICS = {
    "wismer-luth": lambda load, **wheel: mobility.wismer_luth_numeric(load, **wheel),
    "brixius": lambda load, **wheel: mobility.brixius_numeric(load, deflection_ratio=0.2, **wheel),
    "clay": lambda load, **wheel: mobility.clay_numeric(load, deflection_ratio=0.2, **wheel),
    "maclaurin": lambda load, **wheel: mobility.maclaurin_numeric(load, deflection=wheel["diameter"] * 0.05, **wheel),
}


@pytest.mark.parametrize("name", NUMERICS)
@given(scale=st.floats(0.3, 3.0))
def test_a_numeric_is_dimensionless(name: str, scale: float) -> None:
    """Lengths times s and loads times s^2 at the same soil leave every numeric unchanged."""
    scaled = WHEEL | {"width": 0.20 * scale, "diameter": 0.635 * scale}
    assert NUMERICS[name](1000.0 * scale**2, **scaled) == pytest.approx(NUMERICS[name](1000.0, **WHEEL), rel=1e-12)


@pytest.mark.parametrize("name", NUMERICS)
def test_stronger_ground_and_less_load_raise_every_numeric(name: str) -> None:
    base = NUMERICS[name](1000.0, **WHEEL)
    assert NUMERICS[name](1000.0, **(WHEEL | {"cone_index": 800e3})) == pytest.approx(2 * base)
    assert NUMERICS[name](500.0, **WHEEL) == pytest.approx(2 * base)


def test_the_sand_numeric_scales_with_the_gradient_and_the_cube_of_size() -> None:
    state = {"cone_index_gradient": 3e6, "deflection_ratio": 0.2}
    base = mobility.sand_numeric(1000.0, width=0.2, diameter=0.6, **state)
    assert mobility.sand_numeric(8000.0, width=0.4, diameter=1.2, **state) == pytest.approx(base)


@pytest.mark.parametrize("name", mobility.MOTION_RESISTANCE)
def test_every_motion_resistance_falls_towards_the_tires_own_share(name: str) -> None:
    model = mobility.MOTION_RESISTANCE[name]
    values = model.function(model.lowest + np.geomspace(0.5, 1e6, 40))
    assert np.all(np.diff(values) < 0.0)
    assert 0.01 < values[-1] < 0.05


@pytest.mark.parametrize("name", mobility.MOTION_RESISTANCE)
def test_every_motion_resistance_refuses_a_numeric_at_its_lowest_value(name: str) -> None:
    model = mobility.MOTION_RESISTANCE[name]
    with pytest.raises(DomainError, match="numeric is"):
        model.function(model.lowest)


def test_no_slip_gives_no_traction() -> None:
    assert mobility.wismer_luth_gross_traction(30.0, slip=0.0) == 0.0
    assert mobility.gee_clough_traction(10.0, slip=0.0) == 0.0
    assert mobility.brixius_gross_traction(55.0, slip=0.0) == pytest.approx(0.04)


def test_gee_clough_traction_tends_to_its_maximum() -> None:
    top = mobility.gee_clough_maximum_traction(10.0)
    assert mobility.gee_clough_traction(10.0, slip=1.0) == pytest.approx(top, rel=1e-3)


def test_ground_without_traction_is_outside_the_gee_clough_curve() -> None:
    assert mobility.gee_clough_maximum_traction(1.0) < 0.0
    with pytest.raises(DomainError, match="numeric is 1 1; allowed is above"):
        mobility.gee_clough_traction(1.0, slip=0.1)


def test_light_slender_wheels_are_remarked_as_extrapolation() -> None:
    quad = mobility.brixius_remarks(1000.0, width=0.20, diameter=0.635, deflection_ratio=0.2)
    bicycle = mobility.brixius_remarks(700.0, width=0.055, diameter=0.72, deflection_ratio=0.35)
    assert [name.split(" outside")[0] for name, holds in quad.items() if holds] == ["load over width and diameter"]
    assert [name.split(" outside")[0] for name, holds in bicycle.items() if holds] == [
        "width over diameter",
        "deflection",
    ]


def test_refusals_name_argument_index_and_value() -> None:
    with pytest.raises(DomainError, match=r"load at index \(1,\) is 0 N; allowed is above 0"):
        mobility.wismer_luth_numeric([1.0, 0.0], **WHEEL)
    with pytest.raises(DomainError, match="cone_index is nan Pa"):
        mobility.clay_numeric(1000.0, deflection_ratio=0.2, **(WHEEL | {"cone_index": np.nan}))
    with pytest.raises(DomainError, match=r"slip is 1\.2 1"):
        mobility.brixius_gross_traction(55.0, slip=1.2)
