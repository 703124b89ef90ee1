"""Energy along the road."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics.energy import (
    battery_energy,
    coast_down_time,
    epa_road_load,
    grade_force,
    range_from_energy,
    running_resistance_rule,
)

DRIVE = {"drive_efficiency": 0.85, "regeneration_efficiency": 0.6, "regeneration_force_limit": 120.0}
forces = st.floats(-2000.0, 2000.0)


def test_a_grade_pulls_with_the_weight_times_its_sine() -> None:
    assert float(grade_force(200.0, slope_angle=np.pi / 2)) == pytest.approx(200.0 * 9.80665, rel=1e-14)
    assert float(grade_force(200.0, slope_angle=-0.1)) == -float(grade_force(200.0, slope_angle=0.1))


@given(forces, st.floats(0.0, 500.0))
def test_more_traction_never_needs_less_from_the_battery(force: float, more: float) -> None:
    assert battery_energy(force + more, **DRIVE) >= battery_energy(force, **DRIVE)


@given(forces, forces, st.floats(0.0, 1.0))
def test_battery_energy_is_convex_in_the_force(a: float, b: float, share: float) -> None:
    between = float(battery_energy(share * a + (1.0 - share) * b, **DRIVE))
    chord = share * float(battery_energy(a, **DRIVE)) + (1.0 - share) * float(battery_energy(b, **DRIVE))
    assert between <= chord + 1e-9


def test_up_and_down_the_same_hill_never_gains_energy() -> None:
    both = battery_energy(
        [90.0, -90.0], drive_efficiency=1.0, regeneration_efficiency=1.0, regeneration_force_limit=1e9
    )
    assert float(both.sum()) == 0.0
    assert float(battery_energy([90.0, -90.0], **DRIVE).sum()) > 0.0


def test_braking_beyond_the_limit_returns_no_more() -> None:
    energy = battery_energy([-120.0, -121.0, -900.0], **DRIVE)
    np.testing.assert_allclose(energy, -72.0, rtol=1e-14)


@pytest.mark.parametrize(("constant", "quadratic"), [(8.69, 0.33), (0.0, 0.29), (60.0, 0.0), (1e-9, 0.3), (40.0, 1e-9)])
def test_coast_down_time_is_the_integral_of_mass_over_force(constant: float, quadratic: float) -> None:
    expected = quad(lambda v: 200.0 / (constant + quadratic * v * v), 16.0, 20.0, epsabs=0.0, epsrel=1e-11)[0]
    got = coast_down_time(200.0, constant=constant, quadratic=quadratic, begin_speed=20.0, end_speed=16.0)
    assert float(got) == pytest.approx(expected, rel=1e-9)


@given(st.floats(50.0, 400.0), st.floats(0.1, 100.0), st.floats(0.01, 1.0), st.floats(0.0, 1.0))
def test_coasting_in_two_parts_takes_the_time_of_the_whole(m: float, a: float, c: float, share: float) -> None:
    load = {"constant": a, "quadratic": c}
    middle = 5.0 + share * 15.0
    whole = coast_down_time(m, begin_speed=20.0, end_speed=5.0, **load)
    first = coast_down_time(m, begin_speed=20.0, end_speed=middle, **load)
    second = coast_down_time(m, begin_speed=middle, end_speed=5.0, **load)
    assert float(first + second) == pytest.approx(float(whole), rel=1e-9)


def test_a_coasting_machine_without_resistance_is_refused() -> None:
    with pytest.raises(DomainError, match=r"constant \+ quadratic"):
        coast_down_time(200.0, constant=0.0, quadratic=0.0, begin_speed=20.0, end_speed=10.0)


@pytest.mark.parametrize(("mass", "slow", "fast"), [(100.0, 62.6, 146.4), (150.0, 68.8, 155.6), (200.0, 75.1, 164.8)])
def test_the_running_resistance_rule_at_fifty_and_eighty_by_hand(mass: float, slow: float, fast: float) -> None:
    constant, quadratic = running_resistance_rule(mass)
    load = epa_road_load(np.array([50.0, 80.0]) / 3.6, constant=constant, quadratic=quadratic)
    np.testing.assert_allclose(load, [slow, fast], atol=0.051)


def test_range_is_energy_over_consumption() -> None:
    # 2.5 kWh at 25 Wh/km last 100 km.
    assert float(range_from_energy(2500 * 3600.0, energy_per_distance=25 * 3.6)) == pytest.approx(100e3, rel=1e-12)


def test_a_mix_that_only_gains_energy_has_no_range() -> None:
    with pytest.raises(DomainError, match=r"energy_per_distance at index \(1,\) is -5 J/m"):
        range_from_energy(1e6, energy_per_distance=[100.0, -5.0])


@pytest.mark.parametrize(
    ("name", "value"),
    [("drive_efficiency", 0.0), ("regeneration_efficiency", 1.1), ("regeneration_force_limit", float("nan"))],
)
def test_the_drive_names_the_argument_it_refuses(name: str, value: float) -> None:
    with pytest.raises(DomainError, match=f"{name} is "):
        battery_energy(10.0, **(DRIVE | {name: value}))


def test_a_vertical_wall_is_the_end_of_grades() -> None:
    with pytest.raises(DomainError, match=r"slope_angle is 1.6 rad"):
        grade_force(100.0, slope_angle=1.6)
