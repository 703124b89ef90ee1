"""49 CFR 571.116, Motor vehicle brake fluids, S5.1.1 and S5.1.2: least equilibrium reflux boiling points.

Fresh and wet (3.7 % water).  A DOT 5.1 fluid meets the figures the rule prints for DOT 5.
"""

from __future__ import annotations

import pytest

from configopt.physics.materials import BRAKE_FLUIDS

ROWS = [("DOT 3", 205, 140), ("DOT 4", 230, 155), ("DOT 5.1", 260, 180)]


@pytest.mark.parametrize(("grade", "celsius"), [row[:2] for row in ROWS], ids=[row[0] for row in ROWS])
def test_the_dry_boiling_point_is_the_printed_one(grade: str, celsius: float) -> None:
    assert BRAKE_FLUIDS[grade].dry_boiling_point - 273.15 == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize(("grade", "celsius"), [(row[0], row[2]) for row in ROWS], ids=[row[0] for row in ROWS])
def test_the_wet_boiling_point_is_the_printed_one(grade: str, celsius: float) -> None:
    assert BRAKE_FLUIDS[grade].wet_boiling_point - 273.15 == pytest.approx(celsius, abs=1e-9)
