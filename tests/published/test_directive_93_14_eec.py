"""Council Directive 93/14/EEC on the braking of two or three-wheel motor vehicles, Annex, Appendix 1.

Sections 2.1.1 (speeds), 2.1.2.2 (front brake alone), 2.1.2.3 (rear brake alone), 2.1.3.1 (unladen), note a.  Each line
prints the divisor of S = 0.1 V + V^2/divisor and a deceleration; the two must be the same requirement within the 3 %
that section 1.1.2 (as amended by 2006/27/EC) allows a measured deceleration.
"""

from __future__ import annotations

import pytest

from configopt.physics.brakes import equivalent_deceleration, statutory_row

# category, control, divisor, deceleration [m/s^2]
ROWS = [
    ("L1", "front", 90, 3.4),
    ("L2", "front", 70, 2.7),
    ("L3", "front", 115, 4.4),
    ("L4", "front", 95, 3.6),
    ("L1", "rear", 70, 2.7),
    ("L2", "rear", 70, 2.7),
    ("L3", "rear", 75, 2.9),
    ("L4", "rear", 95, 3.6),
]


@pytest.mark.parametrize(("category", "control", "divisor", "deceleration"), ROWS, ids=[f"{r[0]} {r[1]}" for r in ROWS])
def test_the_row_holds_the_printed_deceleration_and_a_distance_that_means_the_same(
    category: str, control: str, divisor: int, deceleration: float
) -> None:
    row = statutory_row(category, control)
    assert row.deceleration == deceleration
    assert row.distance_coefficient == pytest.approx(1.0 / divisor, rel=1e-12)
    assert float(equivalent_deceleration(row.distance_coefficient)) == pytest.approx(deceleration, rel=0.03)


@pytest.mark.parametrize(
    ("divisor", "deceleration"), [(65, 2.5), (73, 2.8)], ids=["unladen, each brake", "note a, slow narrow-rim moped"]
)
def test_other_printed_pairs_mean_the_same(divisor: int, deceleration: float) -> None:
    assert float(equivalent_deceleration(1.0 / divisor)) == pytest.approx(deceleration, rel=0.03)


@pytest.mark.parametrize(("category", "speed_kmh"), [("L1", 40), ("L3", 60)], ids=["mopeds", "motorcycles"])
def test_the_test_speed_is_the_printed_one(category: str, speed_kmh: float) -> None:
    assert statutory_row(category, "front").test_speed * 3.6 == pytest.approx(speed_kmh, rel=1e-12)
