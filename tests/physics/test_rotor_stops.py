"""Repeated stops with radiation, and the air and the boundary layer behind the convection coefficients."""

from __future__ import annotations

import numpy as np
import pytest
from fluids import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import sigma
from scipy.integrate import solve_bvp, solve_ivp

from configopt.errors import DomainError
from configopt.physics.rotor_cooling import (
    AIR_CONDUCTIVITY,
    AIR_VISCOSITY,
    free_disc_laminar_convection,
)
from configopt.physics.rotor_descent import descent_temperature, stops_temperature
from configopt.physics.rotor_heat import repeated_stops_rise

ROTOR = {
    "heat_capacity": 60.0,
    "convection_conductance": 0.6,
    "track_area": 0.0174,
    "track_emissivity": 0.4,
    "rest_area": 0.004,
    "rest_emissivity": 0.8,
    "ambient": 283.15,
}


@pytest.mark.parametrize("stops", [1, 2, 5, 12])
@pytest.mark.parametrize("rise", [20.0, 150.0, 400.0])
@pytest.mark.parametrize("interval", [3.0, 40.0, 400.0])
def test_repeated_stops_agree_with_a_general_solver(stops: int, rise: float, interval: float) -> None:
    """Each stop heats the rotor at once; in between it cools by convection and radiation."""
    radiation = sigma * (0.4 * 0.0174 + 0.8 * 0.004)

    def rate(_: float, temperature: np.ndarray) -> np.ndarray:
        return (0.6 * (283.15 - temperature) + radiation * (283.15**4 - temperature**4)) / 60.0

    now = 283.15 + rise
    for _ in range(stops - 1):
        now = rise + float(solve_ivp(rate, (0.0, interval), [now], method="LSODA", rtol=1e-10, atol=1e-8).y[0, -1])
    assert float(stops_temperature(rise, stops=stops, interval=interval, **ROTOR)) == pytest.approx(now, abs=0.05)


def test_without_radiation_repeated_stops_are_the_geometric_series() -> None:
    dull = ROTOR | {"track_area": 0.0, "rest_area": 0.0}
    got = stops_temperature(80.0, stops=9, interval=[1.0, 30.0, 300.0], **dull)
    series = repeated_stops_rise(80.0, stops=9, interval=[1.0, 30.0, 300.0], time_constant=60.0 / 0.6)
    np.testing.assert_allclose(got - 283.15, series, rtol=1e-9)


def test_without_a_pause_stops_add_up_and_a_long_pause_forgets_them() -> None:
    pauses = stops_temperature(50.0, stops=7, interval=[0.0, 1e5], **ROTOR)
    np.testing.assert_allclose(pauses - 283.15, [350.0, 50.0], rtol=1e-9)


@given(st.floats(1.0, 300.0), st.floats(1.0, 300.0), st.integers(1, 10), st.floats(1.001, 3.0))
def test_hotter_more_frequent_and_more_stops_never_cool_a_rotor(
    rise: float, interval: float, stops: int, factor: float
) -> None:
    base = stops_temperature(rise, stops=stops, interval=interval, **ROTOR)
    assert stops_temperature(factor * rise, stops=stops, interval=interval, **ROTOR) > base
    assert stops_temperature(rise, stops=stops + 1, interval=interval, **ROTOR) >= base * (1 - 1e-12)
    assert stops_temperature(rise, stops=stops, interval=factor * interval, **ROTOR) <= base * (1 + 1e-12)
    better = ROTOR | {"convection_conductance": 0.6 * factor, "track_emissivity": min(0.4 * factor, 1.0)}
    assert stops_temperature(rise, stops=stops, interval=interval, **better) <= base * (1 + 1e-12)


def test_one_stop_needs_no_cooling_but_refuses_what_is_no_rotor() -> None:
    assert float(stops_temperature(90.0, stops=1, interval=1.0, **ROTOR)) == pytest.approx(373.15, rel=1e-15)
    with pytest.raises(DomainError, match=r"^heat_capacity is nan J/K"):
        stops_temperature(90.0, stops=1, interval=1.0, **(ROTOR | {"heat_capacity": np.nan}))
    with pytest.raises(DomainError, match=r"^interval is -1 s"):
        stops_temperature(90.0, stops=2, interval=-1.0, **ROTOR)


def test_a_power_that_varies_ends_where_its_parts_in_a_row_end() -> None:
    """A descent with a flat in the middle, by a general solver in one piece."""
    parts = ((800.0, 60.0), (0.0, 30.0), (500.0, 90.0))
    radiation = sigma * (0.4 * 0.0174 + 0.8 * 0.004)
    now = expected = 283.15
    for power, duration in parts:
        now = float(descent_temperature(power, duration=duration, initial=now, **ROTOR))

        def rate(_: float, temperature: np.ndarray, heat: float = power) -> np.ndarray:
            lost = 0.6 * (temperature - 283.15) + radiation * (temperature**4 - 283.15**4)
            return (heat - lost) / 60.0

        solved = solve_ivp(rate, (0.0, duration), [expected], method="LSODA", rtol=1e-10, atol=1e-8)
        expected = float(solved.y[0, -1])
    assert now == pytest.approx(expected, abs=0.05)


def test_the_air_of_the_correlations_is_that_of_an_independent_library_at_twenty_degrees() -> None:
    """To the three digits that are printed."""
    assert pytest.approx(ATMOSPHERE_1976.thermal_conductivity(293.15), abs=5e-5) == AIR_CONDUCTIVITY
    kinematic = ATMOSPHERE_1976.viscosity(293.15) / ATMOSPHERE_1976.density(293.15, 101325.0)
    assert pytest.approx(kinematic, abs=5e-8) == AIR_VISCOSITY


def disc_nusselt(prandtl: float) -> float:
    """Heat transfer of a disc spinning in still air over the square root of its Reynolds number, von Karman's layer."""

    def layer(height: np.ndarray, y: np.ndarray) -> np.ndarray:
        radial, radial_slope, turning, turning_slope, axial, _, heat_slope = y
        return np.array(
            [
                radial_slope,
                radial**2 - turning**2 + radial_slope * axial,
                turning_slope,
                2 * radial * turning + axial * turning_slope,
                -2 * radial,
                heat_slope,
                prandtl * axial * heat_slope,
            ]
        )

    def ends(disc: np.ndarray, air: np.ndarray) -> np.ndarray:
        return np.array([disc[0], disc[2] - 1, disc[4], disc[5] - 1, air[0], air[2], air[5]])

    z = np.linspace(0.0, 14.0, 200)
    fade, slow = np.exp(-z), np.exp(-0.3 * z)
    guess = np.array([0.5 * z * fade, 0.5 * (1 - z) * fade, fade, -fade, -0.9 * (1 - fade), slow, -0.3 * slow])
    solved = solve_bvp(layer, ends, z, guess, tol=1e-8, max_nodes=20_000)
    assert solved.success
    return float(-solved.y[6, 0])


def test_the_laminar_disc_coefficients_lie_just_above_the_exact_boundary_layer_of_air() -> None:
    """Wagner's within 3 %, Kreith's a tenth above; both were published for air without further digits."""
    exact = disc_nusselt(0.71)
    reynolds_root = np.sqrt(30.0 * 0.1**2 / AIR_VISCOSITY)
    wagner, kreith = (
        float(free_disc_laminar_convection(30.0, coefficient=c)) * 0.1 / AIR_CONDUCTIVITY / reynolds_root
        for c in (0.335, 0.36)
    )
    assert wagner == pytest.approx(exact, rel=0.03)
    assert exact < wagner < kreith < 1.11 * exact
