"""German Road Traffic Licensing Regulations (StVZO), section 41: motorcycles, each brake at least 2.5 m/s^2."""

from __future__ import annotations

import pytest

from configopt.physics.brakes import stopping_distance


def test_each_brake_of_a_motorcycle_stops_it_from_100_kmh_in_about_154_metres() -> None:
    distance = stopping_distance(100 / 3.6, coefficient=1.0 / (25.92 * 2.5), reaction=0.0)
    assert float(distance) == pytest.approx(154.0, abs=0.5)
