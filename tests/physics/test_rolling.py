"""Rolling loss on firm ground: arithmetic of the formulas, continuity at 1.5 bar, monotonicity, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics import rolling

KMH = 1 / 3.6


@pytest.mark.parametrize(
    ("bar", "kmh", "expected"),
    [(2.5, 0, 0.01570), (2.5, 50, 0.01729), (2.5, 100, 0.02206), (2.5, 180, 0.04491), (2.0, 150, 0.03539)],
)
def test_bradley_formula_arithmetic(bar: float, kmh: float, expected: float) -> None:
    got = rolling.bradley_coefficient(bar * 1e5, speed=kmh * KMH)
    assert got == pytest.approx(expected, abs=6e-6)


def test_the_factor_is_continuous_at_one_and_a_half_bar() -> None:
    below, at, above = rolling.pressure_speed_factor(
        [150e3 * (1 - 1e-9), 150e3, 150e3 * (1 + 1e-9)], carcass_pressure=15e3, speed=12.0
    )
    assert below == pytest.approx(at, rel=2e-9)
    assert above == pytest.approx(at, rel=2e-9)


def test_below_one_and_a_half_bar_the_speed_term_is_frozen() -> None:
    speeds = np.array([0.0, 10.0, 20.0])
    soft = rolling.pressure_speed_factor(60e3, carcass_pressure=15e3, speed=speeds)
    firm = rolling.pressure_speed_factor(150e3, carcass_pressure=15e3, speed=speeds)
    assert soft / soft[0] == pytest.approx(firm / firm[0], rel=1e-14)


@given(
    st.floats(5e3, 4e5),
    st.floats(1.0, 1e5),
    st.floats(0.0, 40.0),
    st.floats(1e3, 5e4),
    st.floats(-0.8, -0.3),
)
def test_more_pressure_never_raises_the_loss_on_firm_ground(
    pressure: float, more: float, speed: float, carcass: float, exponent: float
) -> None:
    low, high = rolling.pressure_speed_factor(
        [pressure, pressure + more], carcass_pressure=carcass, speed=speed, exponent=exponent
    )
    assert high <= low


@given(st.floats(5e3, 4e5), st.floats(0.0, 40.0), st.floats(0.0, 5.0))
def test_more_speed_never_lowers_the_loss(pressure: float, speed: float, more: float) -> None:
    slow, fast = rolling.pressure_speed_factor(pressure, carcass_pressure=1e4, speed=[speed, speed + more])
    assert fast >= slow


def test_the_power_law_holds_between_any_two_low_pressures() -> None:
    low, high = rolling.pressure_speed_factor([30e3, 130e3], carcass_pressure=10e3, speed=8.0, exponent=-0.6)
    assert low / high == pytest.approx((40 / 140) ** -0.6)


REFERENCE = {"reference_pressure": 120e3, "reference_speed": 8.0, "carcass_pressure": 12e3}


def test_the_coefficient_is_the_reading_at_the_reference_condition() -> None:
    assert rolling.rolling_coefficient(0.021, pressure=120e3, speed=8.0, **REFERENCE) == pytest.approx(0.021)


@given(st.floats(1e4, 4e5), st.floats(0.0, 40.0))
def test_going_to_another_condition_and_back_returns_the_reading(pressure: float, speed: float) -> None:
    there = rolling.rolling_coefficient(0.021, pressure=pressure, speed=speed, **REFERENCE)
    back = rolling.rolling_coefficient(
        there,
        pressure=120e3,
        speed=8.0,
        carcass_pressure=12e3,
        reference_pressure=pressure,
        reference_speed=speed,
    )
    assert back == pytest.approx(0.021, rel=1e-12)


@pytest.mark.parametrize(("bar", "kmh", "expected"), [(2.9, 90, 0.01110), (3.5, 90, 0.01006), (1.0, 50, 0.01738)])
def test_car_tire_formula_arithmetic(bar: float, kmh: float, expected: float) -> None:
    """Common practice with no source: arithmetic of the formula only."""
    assert rolling.car_tire_coefficient(bar * 1e5, speed=kmh * KMH) == pytest.approx(expected, abs=6e-6)


J2452 = {"pressure_exponent": -0.4, "load_exponent": 0.95, "constant": 0.08, "linear": 1e-4, "quadratic": 2e-6}


def test_the_regression_form_obeys_its_exponents() -> None:
    base = rolling.sae_j2452_resistance(800.0, pressure=200e3, speed=20.0, **J2452)
    loaded = rolling.sae_j2452_resistance(1600.0, pressure=200e3, speed=20.0, **J2452)
    inflated = rolling.sae_j2452_resistance(800.0, pressure=400e3, speed=20.0, **J2452)
    assert loaded / base == pytest.approx(2**0.95)
    assert inflated / base == pytest.approx(2**-0.4)


@pytest.mark.parametrize(("drum", "factor"), [(1.707, 1.171), (2.0, 1.148)])
def test_drum_factor_of_a_quad_tire_on_the_usual_drums(drum: float, factor: float) -> None:
    assert rolling.drum_to_flat_factor(tire_radius=0.3175, drum_radius=drum / 2) == pytest.approx(factor, abs=6e-4)


def test_a_drum_becomes_flat_as_it_grows() -> None:
    assert rolling.drum_to_flat_factor(tire_radius=0.3, drum_radius=100.0) == pytest.approx(1.0, abs=2e-3)


def test_refusals_name_the_argument() -> None:
    with pytest.raises(DomainError, match=r"pressure is 0 Pa; allowed is above 0"):
        rolling.bradley_coefficient(0.0, speed=1.0)
    with pytest.raises(DomainError, match=r"speed at index \(1,\) is nan m/s"):
        rolling.bradley_coefficient(2e5, speed=[1.0, np.nan])
    with pytest.raises(DomainError, match=r"exponent is 0\.5"):
        rolling.pressure_speed_factor(1e5, carcass_pressure=1e4, speed=1.0, exponent=0.5)
