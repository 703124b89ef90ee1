"""Revised Code of Washington 46.37.528, performance ability of motorcycle brakes.

Prints three forms of one requirement: 43.5 % of the weight, 14 ft/s^2, and 30 ft from 20 mph.
"""

from __future__ import annotations

import pytest

from configopt.physics.brakes import mean_developed_deceleration, stopping_distance
from configopt.physics.constants import STANDARD_GRAVITY

FOOT = 0.3048
MPH = 0.44704


def test_stopping_at_43_5_percent_of_the_weight_is_14_feet_per_second_squared() -> None:
    distance = stopping_distance(20 * MPH, coefficient=1.0 / (25.92 * 0.435 * STANDARD_GRAVITY), reaction=0.0)
    rate = mean_developed_deceleration(begin_speed=20 * MPH, end_speed=0.0, distance=distance)
    assert float(rate) / FOOT == pytest.approx(14.0, abs=0.5)


def test_stopping_within_30_feet_from_20_mph_is_14_feet_per_second_squared() -> None:
    rate = mean_developed_deceleration(begin_speed=20 * MPH, end_speed=0.0, distance=30 * FOOT)
    assert float(rate) / FOOT == pytest.approx(14.0, abs=0.5)
