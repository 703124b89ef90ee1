"""P. P. Urone, R. Hinrichs, College Physics, OpenStax 2012: worked examples and answers to problems.

Section 2.5 stopping distances, 5.2 drag, 6.3 turns, 13.3 tire pressure, 14.2 brake heat.  g = 9.80 m/s^2.  The
tolerance is half a unit of the last digit printed, of the answer or, where the answer is given, of the question.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics.air import drag_force
from configopt.physics.brakes import stopping_distance
from configopt.physics.handling import lean_friction, turn_lean_angle
from configopt.physics.rotor_heat import single_stop_rise
from configopt.physics.tire import inflation_at

G = 9.80
AIR = 101_325.0


def lean(speed: float, radius: float) -> float:
    """Lean angle [deg]."""
    return float(np.degrees(turn_lean_angle(speed, radius=radius, gravity=G)))


@pytest.mark.parametrize(
    ("deceleration", "reaction", "printed", "half"),
    [
        pytest.param(7.00, 0.0, 64.3, 0.05, id="dry concrete: 64.3 m"),
        pytest.param(5.00, 0.0, 90.0, 0.05, id="wet concrete: 90.0 m"),
        pytest.param(7.00, 0.500, 79.3, 0.05, id="dry, 0.500 s to react: 79.3 m"),
        pytest.param(5.00, 0.500, 105.0, 0.5, id="wet, 0.500 s to react: 105 m"),
    ],
)
def test_a_car_stops_from_30_metres_a_second_within(
    deceleration: float, reaction: float, printed: float, half: float
) -> None:
    distance = stopping_distance(30.0, coefficient=1.0 / (25.92 * deceleration), reaction=reaction)
    assert float(distance) == pytest.approx(printed, abs=half)


def test_a_skydiver_of_85_kilograms_spread_out_falls_at_44_metres_a_second() -> None:
    """Area 0.70 m^2, drag coefficient 1.0, air of 1.21 kg/m^3."""
    per_square = float(drag_force(1.0, drag_area=0.70 * 1.0, density=1.21))
    assert np.sqrt(85.0 * G / per_square) == pytest.approx(44.0, abs=0.5)


@pytest.mark.parametrize(
    ("kmh", "radius", "printed"), [pytest.param(105.0, 1200.0, 4.14, id="105 km/h, 1.20 km: 4.14 degrees")]
)
def test_the_ideal_bank_of_a_highway_turn(kmh: float, radius: float, printed: float) -> None:
    assert lean(kmh / 3.6, radius) == pytest.approx(printed, abs=0.005)


def test_a_bobsled_turn_of_24_6_metres_at_30_metres_a_second_is_banked_75_degrees() -> None:
    assert lean(30.0, 24.6 - 0.05) >= 75.0 - 0.05
    assert lean(30.0, 24.6 + 0.05) <= 75.0 + 0.05


def test_a_bank_of_15_degrees_and_100_metres_is_ideal_for_16_2_metres_a_second() -> None:
    assert lean(16.2 - 0.05, 100.0) <= 15.0 <= lean(16.2 + 0.05, 100.0)


def test_at_20_kilometres_an_hour_the_same_bank_needs_a_friction_of_0_234() -> None:
    force_line = np.radians(15.0 - lean(20.0 / 3.6, 100.0))
    assert float(lean_friction(force_line)) == pytest.approx(0.234, abs=0.0005)


def test_a_flat_turn_of_50_metres_at_30_metres_a_second_needs_a_friction_of_1_84() -> None:
    assert float(lean_friction(np.radians(lean(30.0, 50.0)))) == pytest.approx(1.84, abs=0.005)


def test_a_bicycle_at_12_metres_a_second_on_30_metres_leans_26_1_degrees() -> None:
    """Question as printed, answer from memory."""
    assert lean(12.0, 30.0) == pytest.approx(26.1, abs=0.05)


def test_a_bicycle_tire_at_7_00e5_pascals_absolute_warmed_from_18_to_35_degrees_has_7_41e5() -> None:
    gauge = inflation_at(7.00e5 - AIR, temperature_set=291.0, temperature=308.0, ambient_set=AIR, ambient=AIR)
    assert (float(gauge) + AIR) / 1e5 == pytest.approx(7.41, abs=0.005)


def test_a_car_tire_at_2_50e5_pascals_cooled_from_35_to_minus_40_degrees_has_1_62_atmospheres() -> None:
    gauge = inflation_at(2.50e5, temperature_set=308.15, temperature=233.15, ambient_set=AIR, ambient=AIR)
    assert float(gauge) / AIR == pytest.approx(1.62, abs=0.005)


def test_the_brakes_of_a_truck_that_descends_75_metres_warm_by_92_degrees() -> None:
    """10,000 kg, 100 kg of brake material of 800 J/(kg K).  From memory."""
    rise = single_stop_rise(10_000.0 * G * 75.0, mass=100.0, specific_heat=800.0)
    assert float(rise) == pytest.approx(92.0, abs=0.5)
