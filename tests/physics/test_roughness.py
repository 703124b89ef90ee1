"""Road roughness: classes, the two forms of the density, the velocity noise under a wheel, the patch as a filter."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics import roughness


def test_each_class_is_four_times_as_rough_as_the_one_before() -> None:
    constants = [roughness.roughness_constant(letter) for letter in "ABCDE"]
    assert np.divide(constants[1:], constants[:-1]) == pytest.approx([4.0] * 4, rel=1e-12)


def test_the_constant_is_the_density_at_one_cycle_per_metre() -> None:
    constant = roughness.roughness_constant("C")
    assert roughness.displacement_density(1.0, roughness=constant) == pytest.approx(constant, rel=1e-15)


@pytest.mark.parametrize("letter", ["F", "c", "", "A" * 1000])
def test_other_classes_are_refused_with_the_allowed_ones(letter: str) -> None:
    with pytest.raises(DomainError, match=r'road_class is "[A-Za-z]{0,20}"; allowed is A B C D E \(describe rougher'):
        roughness.roughness_constant(letter)


def test_the_classes_cannot_be_changed_by_accident() -> None:
    with pytest.raises(TypeError):
        roughness.ROAD_CLASSES["A"] = 1.0  # type: ignore[index]


@given(st.floats(0.01, 5.0), st.floats(1.1, 10.0))
def test_both_forms_of_the_density_hold_the_same_height_variance(low: float, times: float) -> None:
    constant = roughness.roughness_constant("D")
    linear, _ = quad(lambda n: roughness.displacement_density(n, roughness=constant), low, low * times)
    angular, _ = quad(
        lambda omega: roughness.angular_displacement_density(omega, roughness=constant),
        2 * np.pi * low,
        2 * np.pi * low * times,
    )
    assert angular == pytest.approx(linear, rel=1e-9)
    assert linear == pytest.approx(constant * (1 / low - 1 / (low * times)), rel=1e-9)


@given(st.floats(0.1, 50.0), st.floats(0.5, 30.0))
def test_the_velocity_under_a_rolling_wheel_is_white(frequency: float, speed: float) -> None:
    """(2 pi f)^2 Gd(f/V)/V is one-sided; half of it is the two-sided density, the same at every frequency."""
    height = roughness.displacement_density(frequency / speed, roughness=4e-6) / speed
    intensity = roughness.road_velocity_intensity(speed, roughness=4e-6)
    assert intensity == pytest.approx(0.5 * (2 * np.pi * frequency) ** 2 * height, rel=1e-12)


@given(st.floats(0.02, 0.4), st.floats(0.5, 30.0))
def test_the_patch_passes_as_much_noise_as_the_mean_over_its_length(length: float, speed: float) -> None:
    corner = 1.0 / roughness.patch_lag(length, speed=speed)
    low_pass, _ = quad(lambda f: 1.0 / (1.0 + (2 * np.pi * f / corner) ** 2), 0.0, np.inf)
    # The mean over a length is sinc^2(f l/V); its integral from 0 to infinity is half of V/l.
    assert low_pass == pytest.approx(speed / (2 * length), rel=1e-6)


def test_the_corner_frequency_is_speed_over_pi_times_length() -> None:
    lag = roughness.patch_lag(0.2, speed=5.0)
    assert 1.0 / (2 * np.pi * lag) == pytest.approx(5.0 / (np.pi * 0.2), rel=1e-12)


def test_a_point_follower_lags_at_no_speed_and_a_standing_patch_for_ever() -> None:
    got = roughness.patch_lag([0.0, 0.0, 0.1, 0.1], speed=[0.0, 5.0, 0.0, 1e-308])
    assert got[:3].tolist() == [0.0, 0.0, np.inf]
    assert got[3] > 1e306


def test_arrays_broadcast() -> None:
    lag = roughness.patch_lag(np.full((3, 1), 0.1), speed=np.full(4, 5.0))
    assert lag.shape == (3, 4)
    assert roughness.road_velocity_intensity(np.ones((2, 1)), roughness=np.ones(3) * 1e-6).shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: roughness.displacement_density([1.0, 0.0], roughness=1e-6), r"spatial_frequency at index \(1,\) is 0"),
        (
            lambda: roughness.displacement_density(1.0, roughness=-1e-6),
            r"roughness is -1e-06 m; allowed is 0 to 0\.1 m",
        ),
        (lambda: roughness.angular_displacement_density(np.nan, roughness=1e-6), r"angular_frequency is nan rad/m"),
        (lambda: roughness.road_velocity_intensity(-1.0, roughness=1e-6), r"speed is -1 m/s; allowed is 0 to 150 m/s"),
        (lambda: roughness.road_velocity_intensity(1.0, roughness=np.nan), r"roughness is nan m"),
        (lambda: roughness.patch_lag(-0.1, speed=5.0), r"patch_length is -0\.1 m; allowed is 0 to 5 m"),
        (lambda: roughness.patch_lag(0.1, speed=[5.0, np.nan]), r"speed at index \(1,\) is nan m/s.*\(1 of 2 values\)"),
    ],
    ids=["no frequency", "negative roughness", "nan", "reverse", "nan roughness", "negative length", "nan speed"],
)
def test_what_lies_outside_is_refused_by_name(call, message: str) -> None:
    with pytest.raises(DomainError, match=message):
        call()
