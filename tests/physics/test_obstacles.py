"""Single obstacles: geometry, what the tire swallows, strike energy with its ceiling, steps from rest."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics import obstacles, tire
from configopt.physics.constants import STANDARD_GRAVITY

RADII = [0.3335, 0.346, 0.365, 0.345, 0.3175]


def test_attack_angles_of_common_wheels_at_five_centimetres() -> None:
    """Arithmetic of cos theta = 1 - h/R, rounded to 0.01 deg."""
    got = np.degrees(obstacles.attack_angle(0.05, radius=RADII))
    assert got == pytest.approx([31.78, 31.19, 30.34, 31.23, 32.59], abs=0.006)


def test_loss_fractions_of_common_wheels_at_five_centimetres() -> None:
    """Arithmetic of 2 h/R - (h/R)^2, rounded to 0.001."""
    got = obstacles.impact_loss_fraction(0.05, radius=RADII)
    assert got == pytest.approx([0.277, 0.268, 0.255, 0.269, 0.290], abs=6e-4)


@given(st.floats(0.0, 0.3), st.floats(0.3, 0.4))
def test_the_loss_fraction_is_the_squared_sine_of_the_attack_angle(height: float, radius: float) -> None:
    sine = np.sin(obstacles.attack_angle(height, radius=radius))
    assert obstacles.impact_loss_fraction(height, radius=radius) == pytest.approx(sine**2, rel=1e-9, abs=1e-15)


def test_flat_ground_is_no_obstacle_and_a_wall_is_a_right_angle() -> None:
    assert obstacles.attack_angle([0.0, 0.345, 0.9], radius=0.345) == pytest.approx([0.0, np.pi / 2, np.pi / 2])
    assert obstacles.impact_loss_fraction([0.0, 0.345, 0.9], radius=0.345) == pytest.approx([0.0, 1.0, 1.0])


def test_a_flat_obstacle_keeps_its_digits() -> None:
    assert obstacles.attack_angle(1e-12, radius=0.345) == pytest.approx(np.sqrt(2e-12 / 0.345), rel=1e-9)


@pytest.mark.parametrize(
    ("height", "expected"), [(0.004, 0.004), (0.009, 0.009), (0.05, 0.009)], ids=["low", "equal", "high"]
)
def test_a_tire_swallows_no_more_than_the_obstacle_or_its_reserve(height: float, expected: float) -> None:
    got = obstacles.enveloped_height(height, deflection_at_double_load=0.024, deflection=0.015)
    assert got == pytest.approx(expected)


def test_the_factor_scales_the_reserve_only() -> None:
    got = obstacles.enveloped_height(0.05, deflection_at_double_load=0.024, deflection=0.015, factor=[0.5, 1.5])
    assert got == pytest.approx([0.0045, 0.0135])


def test_a_softer_tire_swallows_more() -> None:
    casing = {"carcass_pressure": 10e3, "width": 0.09, "diameter": 0.69}
    pressures = np.array([40e3, 80e3, 160e3])
    single = tire.deflection(700.0, pressure=pressures, **casing)
    double = tire.deflection(1400.0, pressure=pressures, **casing)
    swallowed = obstacles.enveloped_height(0.10, deflection_at_double_load=double, deflection=single)
    assert np.all(np.diff(swallowed) < 0.0)


def test_a_tire_that_shortens_under_load_the_wrong_way_is_refused() -> None:
    with pytest.raises(DomainError, match=r"deflection_at_double_load - deflection is -0\.01 m"):
        obstacles.enveloped_height(0.05, deflection_at_double_load=0.01, deflection=0.02)


def test_the_residual_is_what_is_left_and_never_negative() -> None:
    assert obstacles.residual_height([0.05, 0.01], enveloped=0.02) == pytest.approx([0.03, 0.0])


STRIKE = {
    "radius": 0.345,
    "load": 800.0,
    "unsprung_mass": 12.0,
    "speed": 6.0,
    "damping": 600.0,
    "suspended": True,
}


def strike(height: float, residual: object, **change: object) -> np.ndarray:
    return obstacles.strike_energy(height, residual=residual, **(STRIKE | change))


def test_a_swallowed_obstacle_takes_no_energy() -> None:
    assert strike(0.02, 0.0) == 0.0


def test_a_standing_wheel_loses_nothing() -> None:
    assert strike(0.05, 0.04, speed=0.0) == 0.0


def test_without_damping_the_impact_of_the_unsprung_mass_remains() -> None:
    impact = 0.5 * 12.0 * 36.0 * obstacles.impact_loss_fraction(0.04, radius=0.345)
    assert strike(0.05, 0.04, damping=0.0) == pytest.approx(impact)


def test_the_damper_term_is_the_work_over_a_half_sine_path() -> None:
    """Own derivation: z = h sin(pi x/L), the damper's force times its speed, integrated over the crossing time."""
    h, speed, damping = 0.03, 2.0, 300.0
    length = 2 * np.sqrt(2 * 0.345 * h - h * h)
    work, _ = quad(
        lambda t: damping * (np.pi * h * speed / length * np.cos(np.pi * speed * t / length)) ** 2, 0, length / speed
    )
    got = strike(0.04, h, speed=speed, damping=damping) - strike(0.04, h, speed=speed, damping=0.0)
    assert got == pytest.approx(work, rel=1e-9)


def test_without_suspension_the_whole_load_is_struck_and_no_damper_works() -> None:
    loss = obstacles.impact_loss_fraction(0.04, radius=0.345)
    expected = 0.5 * 800.0 / STANDARD_GRAVITY * 36.0 * loss
    assert strike(0.05, 0.04, suspended=False) == pytest.approx(expected)
    assert strike(0.05, 0.04, suspended=False, damping=0.0) == strike(0.05, 0.04, suspended=False)


def test_lift_and_whole_impact_are_the_ceiling() -> None:
    ceiling = 800.0 * 0.04 + 0.5 * 800.0 / STANDARD_GRAVITY * 36.0 * obstacles.impact_loss_fraction(0.05, radius=0.345)
    assert strike(0.05, 0.04, damping=1e5) == pytest.approx(ceiling)


@given(st.floats(0.0, 0.6), st.floats(0.0, 0.1), st.booleans(), st.floats(0.0, 2e3), st.floats(0.5, 20.0))
def test_a_higher_residual_never_costs_less(
    residual: float, more: float, suspended: bool, damping: float, speed: float
) -> None:
    low, high = strike(0.8, [residual, residual + more], suspended=suspended, damping=damping, speed=speed)
    assert high >= low - 1e-9


def test_nothing_jumps_where_the_residual_reaches_the_axle() -> None:
    below, above = strike(0.5, [0.345 * (1 - 1e-9), 0.345 * (1 + 1e-9)], damping=50.0)
    assert below == pytest.approx(above, rel=1e-7)


def test_a_taller_wheel_loses_less_on_the_same_obstacle() -> None:
    small, tall = obstacles.strike_energy(0.05, residual=0.04, **(STRIKE | {"radius": [0.30, 0.35]}))
    assert tall < small


def test_a_residual_above_the_obstacle_is_refused() -> None:
    with pytest.raises(DomainError, match="height - residual"):
        strike(0.02, 0.05)


def test_step_heights_of_common_grips() -> None:
    """Arithmetic of 1 - 1/sqrt(1 + mu^2), rounded to 0.0001."""
    got = obstacles.step_limit_height(1.0, friction=[0.3, 0.5, 0.6, 0.8, 1.0])
    assert got == pytest.approx([0.0422, 0.1056, 0.1425, 0.2191, 0.2929], abs=6e-5)


@given(st.floats(0.05, 2.0))
def test_at_the_step_limit_the_contact_force_lies_on_the_friction_cone(friction: float) -> None:
    height = obstacles.step_limit_height(0.345, friction=friction)
    assert np.tan(obstacles.attack_angle(height, radius=0.345)) == pytest.approx(friction, rel=1e-9)


def test_axle_force_over_load_is_the_tangent_of_the_attack_angle() -> None:
    angle = obstacles.attack_angle(0.08, radius=0.345)
    assert obstacles.step_axle_force(500.0, radius=0.345, height=0.08) == pytest.approx(500.0 * np.tan(angle))


@given(st.floats(0.001, 0.3))
def test_pushing_at_the_top_needs_less_force_than_at_the_axle(height: float) -> None:
    axle = obstacles.step_axle_force(500.0, radius=0.345, height=height)
    assert obstacles.step_top_force(500.0, radius=0.345, height=height) < axle


def test_a_step_as_high_as_the_axle_is_refused_at_the_axle_but_not_at_the_top() -> None:
    with pytest.raises(DomainError, match=r"radius - height is 0 m; allowed is above 0"):
        obstacles.step_axle_force(500.0, radius=0.345, height=0.345)
    assert obstacles.step_top_force(500.0, radius=0.345, height=0.345) == pytest.approx(500.0)


def test_free_travel_is_what_lies_between_casing_and_flange() -> None:
    got = obstacles.free_travel([0.080, 0.015], flange_height=0.012, casing_thickness=0.003)
    assert got == pytest.approx([0.062, 0.0])


def test_more_pressure_raises_the_strike_capacity_in_proportion() -> None:
    casing = {"carcass_pressure": 0.0, "width": 0.09, "diameter": 0.69}
    low, high = obstacles.strike_capacity(tire.deflection_work(0.06, pressure=[50e3, 100e3], **casing))
    assert high == pytest.approx(2 * low)


def test_strike_demand_of_a_standing_wheel_is_its_load_over_what_is_not_swallowed_and_at_most_the_travel() -> None:
    still = {"radius": 0.345, "unsprung_mass": 12.0, "speed": 0.0, "load": 800.0, "free_travel": 0.06}
    assert obstacles.strike_demand([0.0, 0.04, 0.08], **still, suspended=True) == pytest.approx([0.0, 32.0, 48.0])


def test_an_edge_that_is_swallowed_asks_nothing_at_any_speed() -> None:
    fast = {"radius": 0.345, "unsprung_mass": 12.0, "speed": 20.0, "load": 800.0, "free_travel": 0.06}
    assert (obstacles.strike_demand(0.0, **fast, suspended=[True, False]) == 0.0).all()


def test_a_wheel_without_suspension_meets_the_edge_with_the_mass_of_its_load() -> None:
    rigid = {"radius": 0.345, "speed": 6.0, "load": 800.0, "free_travel": 0.06}
    heavy = obstacles.strike_demand(0.04, unsprung_mass=800.0 / 9.80665, suspended=True, **rigid)
    assert obstacles.strike_demand(0.04, unsprung_mass=12.0, suspended=False, **rigid) == pytest.approx(heavy)


def test_strike_demand_grows_with_the_square_of_speed() -> None:
    rolling = {"radius": 0.345, "unsprung_mass": 12.0, "load": 0.0, "free_travel": 0.06}
    slow, fast = obstacles.strike_demand(0.04, speed=[3.0, 6.0], suspended=True, **rolling)
    assert fast == pytest.approx(4 * slow)


def test_refusals_name_argument_index_and_value() -> None:
    with pytest.raises(DomainError, match=r"height at index \(1,\) is -0.01 m"):
        obstacles.attack_angle([0.01, -0.01], radius=0.345)
    with pytest.raises(DomainError, match="radius is nan m"):
        obstacles.attack_angle(0.01, radius=np.nan)
    with pytest.raises(DomainError, match=r"friction is 3\.1"):
        obstacles.step_limit_height(0.345, friction=3.1)
