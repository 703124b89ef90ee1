"""UN Regulation No. 78, 03 series (= UN GTR 3 = 49 CFR 571.122), Annex 3, sections 3.3 and 5.  From memory.

The regulation prints b of S = 0.1 V + b V^2 to four decimals and a deceleration; a measured deceleration may be
3 % off.
"""

from __future__ import annotations

import pytest

from configopt.physics.brakes import equivalent_deceleration, statutory_row

COEFFICIENTS = [
    ("L1", "front", 0.0111),
    ("L2", "front", 0.0143),
    ("L3", "front", 0.0087),
    ("L4", "front", 0.0105),
    ("L1", "rear", 0.0143),
    ("L2", "rear", 0.0143),
    ("L3", "rear", 0.0133),
    ("L4", "rear", 0.0105),
]
PAIRS = [
    ("L5", "front", 0.0105, 3.7),
    ("L5", "rear", 0.0105, 3.7),
    ("L1", "both", 0.0087, 4.4),
    ("L3", "both", 0.0076, 5.1),
    ("L5", "both", 0.0077, 5.0),
    ("L4", "both", 0.0071, 5.4),
]


@pytest.mark.parametrize(("category", "control", "b"), COEFFICIENTS, ids=[f"{r[0]} {r[1]}" for r in COEFFICIENTS])
def test_the_coefficient_of_the_table_rounds_to_the_printed_one(category: str, control: str, b: float) -> None:
    assert statutory_row(category, control).distance_coefficient == pytest.approx(b, abs=0.00005)


@pytest.mark.parametrize(("category", "control", "b", "deceleration"), PAIRS, ids=[f"{r[0]} {r[1]}" for r in PAIRS])
def test_distance_and_deceleration_of_a_row_mean_the_same(
    category: str, control: str, b: float, deceleration: float
) -> None:
    row = statutory_row(category, control)
    assert row.deceleration == deceleration
    assert row.distance_coefficient == pytest.approx(b, abs=0.00005)
    assert float(equivalent_deceleration(row.distance_coefficient)) == pytest.approx(deceleration, rel=0.03)


@pytest.mark.parametrize(
    ("b", "deceleration"), [(0.0154, 2.5), (0.0067, 5.8)], ids=["secondary system", "high-speed stop"]
)
def test_other_printed_pairs_mean_the_same(b: float, deceleration: float) -> None:
    assert float(equivalent_deceleration(b)) == pytest.approx(deceleration, rel=0.03)
