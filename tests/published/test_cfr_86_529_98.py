"""40 CFR 86.529-98, Road load force and inertia weight determination, Figure F98-9: motorcycles.

Each row prints the equivalent mass, A and C of F = A + C V^2 (V in km/h), the force at 65 km/h and the coast-down time
from 70 to 60 km/h.  The tolerance is half a unit of the last printed digit of the result plus what half a unit of the
last printed digits of A and C makes of it.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.learning.coast_down import CoastDown, Run, coast_down
from configopt.physics.energy import coast_down_time, epa_road_load

# mass [kg], A [N], C [N/(km/h)^2], F at 65 km/h [N], time [s]
ROWS = [
    (100, 0.00, 0.0224, 94.8, 2.95),
    (110, 0.82, 0.0227, 96.8, 3.18),
    (120, 1.70, 0.0230, 98.8, 3.39),
    (140, 3.44, 0.0235, 102.9, 3.80),
    (150, 4.32, 0.0238, 104.9, 3.99),
    (160, 5.19, 0.0241, 107.0, None),  # prints 4.10 s, outside its own tolerance band of 4.2 to 4.4 s: a misprint
    (170, 6.06, 0.0244, 109.0, 4.36),
    (180, 6.94, 0.0246, 111.0, 4.53),
    (190, 7.81, 0.0249, 113.1, 4.69),
    (200, 8.69, 0.0252, 115.1, 4.85),
    (220, 10.43, 0.0257, 119.2, 5.15),
    (230, 11.31, 0.0260, 121.2, 5.30),
    (240, 12.18, 0.0263, 123.2, 5.43),
    (250, 13.06, 0.0266, 125.3, 5.57),
    (260, 13.93, 0.0268, 127.3, 5.70),
    (270, 14.80, 0.0271, 129.3, 5.82),
    (280, 15.68, 0.0274, 131.4, 5.95),
    (300, 17.43, 0.0279, 135.4, 6.18),
    (310, 18.30, 0.0282, 137.5, 6.29),
    (320, 19.17, 0.0285, 139.5, 6.40),
    (340, 20.92, 0.0290, 143.6, 6.60),
]
TIMED = [row for row in ROWS if row[4] is not None]
HALF_A, HALF_C = 0.005, 0.00005
PER_SI = 3.6**2


@pytest.mark.parametrize(("mass", "a", "c", "force", "_"), ROWS, ids=[f"{row[0]} kg" for row in ROWS])
def test_road_load_at_65_kmh_is_the_printed_one(mass: int, a: float, c: float, force: float, _: float | None) -> None:
    tolerance = 0.05 + HALF_A + HALF_C * 65**2
    got = epa_road_load(65 / 3.6, constant=a, quadratic=c * PER_SI)
    assert float(got) == pytest.approx(force, abs=tolerance)


@pytest.mark.parametrize(("mass", "a", "c", "force", "time"), TIMED, ids=[f"{row[0]} kg" for row in TIMED])
def test_coast_down_time_is_the_printed_one(mass: int, a: float, c: float, force: float, time: float) -> None:
    tolerance = 0.005 + time * (HALF_A + HALF_C * 65**2) / force
    got = coast_down_time(mass, constant=a, quadratic=c * PER_SI, begin_speed=70 / 3.6, end_speed=60 / 3.6)
    assert float(got) == pytest.approx(time, abs=tolerance)


def ways(mass: int, a: float, c: float) -> tuple[Run, Run]:
    """Runs out and back on the level in still air from 90 to 30 km/h as F = A + C V^2 makes them, in closed form.

    m dv/dt = -(A + C v^2): v(t) = sqrt(A/C) tan(phi - t sqrt(A C)/m), tan(phi) = v(0) sqrt(C/A); without A a hyperbola.
    """
    fast, slow, quadratic = 90 / 3.6, 30 / 3.6, c * PER_SI
    if a == 0.0:
        end = mass / quadratic * (1.0 / slow - 1.0 / fast)
        time = np.linspace(0.0, end, 120)
        speed = 1.0 / (1.0 / fast + quadratic * time / mass)
    else:
        scale, rate = np.sqrt(a / quadratic), np.sqrt(a * quadratic) / mass
        end = (np.arctan(fast / scale) - np.arctan(slow / scale)) / rate
        time = np.linspace(0.0, end, 120)
        speed = scale * np.tan(np.arctan(fast / scale) - rate * time)
    return Run("1", True, time, speed), Run("1", False, time, speed)


def regressed(mass: int, a: float, c: float) -> CoastDown:
    return coast_down([ways(mass, a, c)] * 3, mass=float(mass), equivalent_mass=float(mass))


def ridden_time(mass: int, found: CoastDown) -> float:
    """From 70 to 60 km/h [s]; the row of 100 kg has no constant force, and its regression may end a hair below zero."""
    constant = max(found.force, 0.0)
    assert constant - found.force < HALF_A
    ends = {"begin_speed": 70 / 3.6, "end_speed": 60 / 3.6}
    return float(coast_down_time(mass, constant=constant, quadratic=found.air, **ends))


@pytest.mark.parametrize(("mass", "a", "c", "force", "_"), ROWS, ids=[f"{row[0]} kg" for row in ROWS])
def test_the_regression_of_a_coast_down_recovers_the_printed_coefficients(
    mass: int, a: float, c: float, force: float, _: float | None
) -> None:
    found = regressed(mass, a, c)
    assert found.air_fitted
    assert found.force == pytest.approx(a, abs=HALF_A)
    assert found.air / PER_SI == pytest.approx(c, abs=HALF_C)
    tolerance = 0.05 + HALF_A + HALF_C * 65**2
    assert found.force + found.air * (65 / 3.6) ** 2 == pytest.approx(force, abs=tolerance)


@pytest.mark.parametrize(("mass", "a", "c", "force", "time"), TIMED, ids=[f"{row[0]} kg" for row in TIMED])
def test_the_regressed_coefficients_make_the_printed_time_to_0_3_percent(
    mass: int, a: float, c: float, force: float, time: float
) -> None:
    found = regressed(mass, a, c)
    got = ridden_time(mass, found)
    assert got == pytest.approx(time, rel=0.003)


@pytest.mark.parametrize(("mass", "a", "c", "force", "time"), TIMED, ids=[f"{row[0]} kg" for row in TIMED])
def test_printed_forces_and_times_belong_to_the_equivalent_mass(
    mass: int, a: float, c: float, force: float, time: float
) -> None:
    """m = t / integral of dv/F, the course of F by A and C, its height by the printed force at 65 km/h."""
    speed = np.linspace(60.0, 70.0, 1001)
    per_force = np.trapezoid((a + c * 65.0**2) / (a + c * speed**2), speed / 3.6)
    tolerance = mass * (0.005 / time + 0.05 / force)
    assert time * force / float(per_force) == pytest.approx(mass, abs=tolerance)


def test_the_row_of_160_kg_prints_a_time_outside_its_own_band() -> None:
    """Its A and C make 4.18 s, to the printed digit within the printed band of 4.2 to 4.4 s; 4.10 s is not."""
    mass, a, c, *_ = next(row for row in ROWS if row[0] == 160)
    found = regressed(mass, a, c)
    got = ridden_time(mass, found)
    assert 4.15 <= got < 4.45
    assert abs(got / 4.10 - 1.0) > 0.003
