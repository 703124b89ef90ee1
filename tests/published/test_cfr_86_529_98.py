"""40 CFR 86.529-98, Road load force and inertia weight determination, Figure F98-9: motorcycles.

Each row prints the equivalent mass, A and C of F = A + C V^2 (V in km/h), the force at 65 km/h and the coast-down time
from 70 to 60 km/h.  The tolerance is half a unit of the last printed digit of the result plus what half a unit of the
last printed digits of A and C makes of it.
"""

from __future__ import annotations

import pytest

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
