"""ISO 898-1:2013, nominal stress areas of metric coarse threads, in square millimetres to three figures."""

from __future__ import annotations

import pytest

from configopt.physics.drive_interface import thread_stress_area

# thread [mm], pitch [mm], area [mm^2], half a unit of its last digit
AREAS = (
    (3.0, 0.5, 5.03, 0.005),
    (4.0, 0.7, 8.78, 0.005),
    (5.0, 0.8, 14.2, 0.05),
    (6.0, 1.0, 20.1, 0.05),
    (8.0, 1.25, 36.6, 0.05),
    (10.0, 1.5, 58.0, 0.05),
    (12.0, 1.75, 84.3, 0.05),
    (16.0, 2.0, 157.0, 0.5),
)


def test_the_stress_areas_of_coarse_threads_are_the_tabled_ones() -> None:
    for diameter, pitch, area, half in AREAS:
        assert float(thread_stress_area(diameter * 1e-3, pitch=pitch * 1e-3)) * 1e6 == pytest.approx(area, abs=half)
