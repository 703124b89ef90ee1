"""Distances on the ellipsoid against an independent iteration, which itself is held to a published line."""

from __future__ import annotations

import math

import gpxpy.geo
import numpy as np
import pytest

from configopt.tracks.geodesy import steps


def vincenty(latitude1: float, longitude1: float, latitude2: float, longitude2: float) -> float:
    """Distance [m] by T. Vincenty's inverse iteration, Survey Review 23(176), 1975, eq. 14 to 21 (from memory)."""
    a, f = 6_378_137.0, 1.0 / 298.257223563
    b = a * (1.0 - f)
    u1, u2 = (math.atan((1.0 - f) * math.tan(math.radians(value))) for value in (latitude1, latitude2))
    turn = math.radians((longitude2 - longitude1 + 180.0) % 360.0 - 180.0)
    bow = turn
    for _ in range(200):
        sine = math.hypot(
            math.cos(u2) * math.sin(bow),
            math.cos(u1) * math.sin(u2) - math.sin(u1) * math.cos(u2) * math.cos(bow),
        )
        if sine == 0.0:
            return 0.0
        cosine = math.sin(u1) * math.sin(u2) + math.cos(u1) * math.cos(u2) * math.cos(bow)
        sigma = math.atan2(sine, cosine)
        azimuth = math.cos(u1) * math.cos(u2) * math.sin(bow) / sine
        square = 1.0 - azimuth**2
        middle = cosine - 2.0 * math.sin(u1) * math.sin(u2) / square if square else 0.0
        c = f / 16.0 * square * (4.0 + f * (4.0 - 3.0 * square))
        old, bow = (
            bow,
            turn + (1.0 - c) * f * azimuth * (sigma + c * sine * (middle + c * cosine * (2.0 * middle**2 - 1.0))),
        )
        if abs(old - bow) < 1e-13:
            break
    k = square * (a**2 - b**2) / b**2
    big_a = 1.0 + k / 16384.0 * (4096.0 + k * (-768.0 + k * (320.0 - 175.0 * k)))
    big_b = k / 1024.0 * (256.0 + k * (-128.0 + k * (74.0 - 47.0 * k)))
    part = big_b / 6.0 * middle * (4.0 * sine**2 - 3.0) * (4.0 * middle**2 - 3.0)
    return b * big_a * (sigma - big_b * sine * (middle + big_b / 4.0 * (cosine * (2.0 * middle**2 - 1.0) - part)))


def degrees(whole: int, minutes: int, seconds: float) -> float:
    return math.copysign(abs(whole) + minutes / 60.0 + seconds / 3600.0, whole)


#: Flinders Peak to Buninyong, the worked line of the Geocentric Datum of Australia Technical Manual (from memory):
#: 54 972.271 m on GRS80, whose flattening differs from that of WGS84 by 1e-10.
FLINDERS = degrees(-37, 57, 3.72030), degrees(144, 25, 29.52440)
BUNINYONG = degrees(-37, 39, 10.15610), degrees(143, 55, 35.38390)


def own(first: tuple[float, float], second: tuple[float, float]) -> float:
    east, north = steps(np.array([first[0], second[0]]), np.array([first[1], second[1]]))
    return float(np.hypot(east, north)[0])


def test_the_independent_iteration_gives_the_published_line_to_its_printed_millimetre() -> None:
    assert vincenty(*FLINDERS, *BUNINYONG) == pytest.approx(54_972.271, abs=0.0006)


def test_a_published_line_of_55_km_comes_out_to_a_ten_thousandth() -> None:
    assert own(FLINDERS, BUNINYONG) == pytest.approx(54_972.271, rel=1e-4)


def test_steps_of_a_ride_agree_with_the_iteration_to_a_millionth_between_85_degrees_south_and_north() -> None:
    random = np.random.default_rng(4)
    for _ in range(500):
        latitude, longitude = random.uniform(-85.0, 85.0), random.uniform(-180.0, 180.0)
        length, heading = random.uniform(1.0, 1000.0), random.uniform(0.0, 2.0 * math.pi)
        other = (
            latitude + math.degrees(length * math.cos(heading) / 6.37e6),
            longitude + math.degrees(length * math.sin(heading) / 6.37e6 / math.cos(math.radians(latitude))),
        )
        # The iteration itself loses digits on short lines: some hundredths of a millimetre.
        expected = vincenty(latitude, longitude, *other)
        assert own((latitude, longitude), other) == pytest.approx(expected, rel=1e-6, abs=1e-4)


def test_the_sphere_of_a_general_library_agrees_to_half_a_percent() -> None:
    first, second = (54.2, -2.3), (54.203, -2.294)
    assert own(first, second) == pytest.approx(gpxpy.geo.haversine_distance(*first, *second), rel=5e-3)


def test_a_step_across_the_antimeridian_is_as_long_as_elsewhere() -> None:
    east, _ = steps(np.array([-17.0, -17.0, -17.0]), np.array([179.9999, -179.9999, 179.9999]))
    same, _ = steps(np.array([-17.0, -17.0]), np.array([12.0, 12.0002]))
    np.testing.assert_allclose(east, [same[0], -same[0]], rtol=1e-9)
