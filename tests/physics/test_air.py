"""The standard atmosphere and air drag."""

from __future__ import annotations

import numpy as np
import pytest
from fluids import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.air import air_density, atmospheric_pressure, drag_force, standard_temperature

ALTITUDES = np.array([-400.0, 0.0, 250.0, 1500.0, 4300.0, 8000.0, 10900.0])


def test_temperature_agrees_with_an_independent_implementation_at_every_altitude() -> None:
    expected = [ATMOSPHERE_1976(z).T for z in ALTITUDES]
    np.testing.assert_allclose(standard_temperature(ALTITUDES), expected, rtol=1e-9)


def test_pressure_agrees_with_an_independent_implementation_at_every_altitude() -> None:
    # The gas constant and the lapse rate leave a different seventh digit in the exponent of either implementation.
    expected = [ATMOSPHERE_1976(z).P for z in ALTITUDES]
    np.testing.assert_allclose(atmospheric_pressure(ALTITUDES), expected, rtol=1e-5)


def test_density_agrees_with_an_independent_implementation_at_every_altitude() -> None:
    expected = [ATMOSPHERE_1976(z).rho for z in ALTITUDES]
    np.testing.assert_allclose(air_density(ALTITUDES), expected, rtol=1e-5)


def test_the_pressure_gradient_is_the_weight_of_the_air() -> None:
    # Geometric altitude: gravity falls with height as the geopotential altitude assumes.
    z, step = 2000.0, 1.0
    gradient = (atmospheric_pressure(z + step) - atmospheric_pressure(z - step)) / (2.0 * step)
    gravity = 9.80665 * (6356766.0 / (6356766.0 + z)) ** 2
    assert float(gradient) == pytest.approx(-float(air_density(z)) * gravity, rel=1e-6)


@given(st.floats(-500.0, 10990.0), st.floats(1.0, 10.0))
def test_air_thins_with_altitude(altitude: float, step: float) -> None:
    assert air_density(altitude + step) < air_density(altitude)
    assert atmospheric_pressure(altitude + step) < atmospheric_pressure(altitude)


def test_warm_air_is_thinner_in_inverse_proportion_to_temperature() -> None:
    assert float(air_density(0.0, 300.0) * 300.0) == pytest.approx(float(air_density(0.0, 250.0) * 250.0), rel=1e-12)


def test_density_broadcasts_altitude_against_temperature() -> None:
    assert air_density(np.zeros((3, 1)), np.full(4, 290.0)).shape == (3, 4)


@given(st.floats(0.0, 60.0), st.floats(0.1, 1.0))
def test_drag_grows_with_the_square_of_speed(speed: float, area: float) -> None:
    single = float(drag_force(speed, drag_area=area, density=1.2))
    assert float(drag_force(2.0 * speed, drag_area=area, density=1.2)) == pytest.approx(4.0 * single, rel=1e-12)


def test_drag_of_a_common_size_at_eighty_kilometres_an_hour() -> None:
    # 0.6 m^2, 1.225 kg/m^3: 0.5 * 1.225 * 0.6 * 22.222^2 by hand.
    assert float(drag_force(80 / 3.6, drag_area=0.6, density=1.225)) == pytest.approx(181.5, abs=0.05)


def test_an_altitude_above_the_tropopause_is_refused_by_name_and_value() -> None:
    with pytest.raises(DomainError, match=r"altitude at index \(1,\) is 12000 m"):
        air_density([0.0, 12000.0])


@pytest.mark.parametrize("temperature", [float("nan"), -20.0, 400.0])
def test_a_temperature_that_is_not_of_this_planet_is_refused(temperature: float) -> None:
    with pytest.raises(DomainError, match=r"temperature is .* K"):
        air_density(0.0, temperature)


def test_a_negative_speed_is_refused() -> None:
    with pytest.raises(DomainError, match=r"speed at index \(0, 1\) is -1 m/s"):
        drag_force([[1.0, -1.0]], drag_area=0.5, density=1.2)
