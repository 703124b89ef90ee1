"""L. Zuo, P.-S. Zhang, "Energy harvesting, ride comfort, and road handling of regenerative vehicle suspensions",
Journal of Vibration and Acoustics 135(1), 2013, 011002: mean power of a quarter car on an ISO road."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import solve_continuous_lyapunov

from configopt.physics import quarter_car
from configopt.physics.roughness import roughness_constant

#: A middle-size car on a road of class C at 60 mph.
CAR = {
    "stiffness": 190e3,
    "unsprung_mass": 40.0,
    "sprung_mass": 350.0,
    "suspension_rate": 16e3,
    "damping": 1.5e3,
    "patch_length": 0.0,
    "speed": 26.82,
    "roughness": roughness_constant("C"),
}


def power(**change: float) -> float:
    return float(quarter_car.filtered_resistance(**(CAR | change)) * (CAR | change)["speed"])


def damper_power(*, k: float, mu: float, ms: float, ks: float, c: float, intensity: float) -> float:
    """Four states (tire and suspension compression, both velocities), the road's velocity white: scipy alone."""
    system = np.array(
        [
            [0.0, -1.0, 0.0, 0.0],
            [k / mu, -c / mu, -ks / mu, c / mu],
            [0.0, 1.0, 0.0, -1.0],
            [0.0, c / ms, ks / ms, -c / ms],
        ]
    )
    road = np.array([[1.0], [0.0], [0.0], [0.0]])
    covariance = solve_continuous_lyapunov(system, -intensity * road @ road.T)
    stroke = np.array([0.0, 1.0, 0.0, -1.0])
    return float(c * stroke @ covariance @ stroke)


@pytest.mark.parametrize("factor", [pytest.param(np.pi**2, id="mean power pi^2 G V k_t - from memory")])
@pytest.mark.parametrize("damping", [300.0, 1.5e3, 9e3])
@pytest.mark.parametrize("unsprung", [10.0, 40.0])
def test_mean_power_of_a_point_follower(factor: float, damping: float, unsprung: float) -> None:
    expected = factor * CAR["roughness"] * CAR["speed"] * CAR["stiffness"]
    # Two-sided density of the velocity, from the one-sided height density G/n^2 with n = f/V.
    intensity = 0.5 * 4 * np.pi**2 * CAR["roughness"] * CAR["speed"]
    independent = damper_power(
        k=CAR["stiffness"],
        mu=unsprung,
        ms=CAR["sprung_mass"],
        ks=CAR["suspension_rate"],
        c=damping,
        intensity=intensity,
    )
    assert independent == pytest.approx(expected, rel=1e-9)
    assert power(damping=damping, unsprung_mass=unsprung) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "argument",
    [
        pytest.param("suspension_rate", id="abstract: insensitive to the suspension stiffness"),
        pytest.param("damping", id="abstract: insensitive to the absorber's damping"),
        pytest.param("unsprung_mass", id="abstract: insensitive to the wheel's mass"),
        pytest.param("sprung_mass", id="abstract: insensitive to the chassis' mass"),
    ],
)
def test_what_the_mean_power_does_not_depend_on(argument: str) -> None:
    assert power(**{argument: 2 * CAR[argument]}) == power()


@pytest.mark.parametrize(
    "argument",
    [
        pytest.param("roughness", id="abstract: great influence of the road's roughness"),
        pytest.param("stiffness", id="abstract: great influence of the tire's stiffness"),
        pytest.param("speed", id="abstract: great influence of the driving speed"),
    ],
)
def test_what_the_mean_power_grows_with(argument: str) -> None:
    assert power(**{argument: 2 * CAR[argument]}) == pytest.approx(2 * power(), rel=1e-12)
