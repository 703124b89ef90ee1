"""UN Global Technical Regulation No. 2 (motorcycle emissions), running resistance table: a and b of F = a + b V^2.

From memory; also in Directive 97/24/EC and Regulation (EU) No 134/2014.  Tolerance: half a unit of the last digit.
"""

from __future__ import annotations

import pytest

from configopt.physics.energy import running_resistance_rule

# equivalent inertia mass [kg], a [N], b [N/(km/h)^2]
ROWS = [
    (100, 8.8, 0.0215),
    (110, 9.7, 0.0217),
    (120, 10.6, 0.0218),
    (130, 11.4, 0.0220),
    (140, 12.3, 0.0221),
    (150, 13.2, 0.0223),
    (200, 17.6, 0.0230),
]
ROUNDING = 1e-9  # several exact values lie on half a unit


@pytest.mark.parametrize(("mass", "a", "_"), ROWS, ids=[f"{row[0]} kg" for row in ROWS])
def test_the_constant_part_is_the_tabulated_one(mass: int, a: float, _: float) -> None:
    assert float(running_resistance_rule(mass)[0]) == pytest.approx(a, abs=0.05 + ROUNDING)


@pytest.mark.parametrize(("mass", "_", "b"), ROWS, ids=[f"{row[0]} kg" for row in ROWS])
def test_the_quadratic_part_is_the_tabulated_one(mass: int, _: float, b: float) -> None:
    assert float(running_resistance_rule(mass)[1]) / 3.6**2 == pytest.approx(b, abs=0.00005 + ROUNDING)
