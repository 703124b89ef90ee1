"""The profile: what smoothing and levelling leave alone, what they take out, and what stays true under noise."""

from __future__ import annotations

import itertools
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rides import Ride, climb_of, hills, ridden, wandering

from configopt.errors import FindingsError
from configopt.tracks.climbs import stretches
from configopt.tracks.profile import Profile, levelled, turning_points
from configopt.tracks.settings import Settings
from configopt.tracks.terrain import load_ride


def profile_of(ride: Ride, path: Path, settings: Settings = Settings()) -> Profile:  # noqa: B008
    return load_ride(ride.write(path / "ride.gpx"), 1.0, settings).made


HEIGHTS = st.lists(st.floats(-100.0, 100.0), min_size=2, max_size=60).map(np.array)


@given(HEIGHTS, st.floats(0.5, 20.0))
def test_levelling_keeps_the_turning_points_and_leaves_no_turn_lower_than_the_height(
    height: np.ndarray, least: float
) -> None:
    level = levelled(height, least)
    turns = turning_points(height, least)
    inner = turns[1:-1]
    np.testing.assert_allclose(level[inner], height[inner])
    for begin, end in itertools.pairwise(turns):
        steps = np.diff(level[begin : end + 1])
        assert (steps >= -1e-9).all() or (steps <= 1e-9).all()
    for first, second in itertools.pairwise(inner):
        assert abs(height[first] - height[second]) >= least


@given(HEIGHTS)
def test_without_a_height_nothing_is_levelled(height: np.ndarray) -> None:
    np.testing.assert_array_equal(levelled(height, 0.0), height)


def test_a_steady_slope_stays_what_it_is_up_to_its_ends(tmp_path: Path) -> None:
    made = profile_of(ridden(3000.0, height=lambda s: 100.0 + 0.07 * s), tmp_path)
    np.testing.assert_allclose(made.rise / made.run, 0.07, rtol=2e-3)
    assert made.length.sum() == pytest.approx(3000.0 * np.hypot(1.0, 0.07), rel=1e-3)


def test_a_known_profile_comes_back_from_a_recorded_ride(tmp_path: Path) -> None:
    ride = ridden(20_000.0, height=hills, stops=((5000.0, 60.0),))
    made = profile_of(ride, tmp_path)
    s = np.arange(0.0, 20_001.0)
    true = hills(s)
    assert made.length.sum() == pytest.approx(np.hypot(1.0, np.diff(true)).sum(), rel=1e-3)
    # Turning points lower than 2 m apart are levelled: of the true climb as well.
    assert np.maximum(made.rise, 0.0).sum() == pytest.approx(climb_of(levelled(true, 2.0)), rel=5e-3)
    assert made.rise.sum() == pytest.approx(true[-1] - true[0], abs=0.1)
    assert made.duration.sum() == pytest.approx(20_000.0 / 6.0, abs=2.0)
    place = np.cumsum(made.run) - 0.5 * made.run
    slope = np.gradient(true, s)
    inside = (place > 50.0) & (place < 19_950.0)
    # Averaging twice over nine steps takes (pi 45/900)^2/3 off the slope of waves of 900 m, which is 0.084: 0.0007.
    # The stop may lose 2 m of way, over which that slope changes by 0.0006 a metre.
    assert np.abs(made.smooth_rise / made.run - np.interp(place, s, slope))[inside].max() < 0.002


def test_without_smoothing_and_levelling_climb_and_length_are_those_of_a_general_library(tmp_path: Path) -> None:
    ride = ridden(9000.0, height=hills, start=(10.0, 20.0))
    made = profile_of(ride, tmp_path, Settings(smoothing=0.0, undulation=0.0))
    other = gpxpy.parse(ride.gpx())
    plain = np.diff([point.elevation for point in other.tracks[0].segments[0].points])
    # A grid of 5 m cuts at most some centimetres off each summit.
    assert np.maximum(made.rise, 0.0).sum() == pytest.approx(np.maximum(plain, 0.0).sum(), rel=2e-3)
    assert np.minimum(made.rise, 0.0).sum() == pytest.approx(np.minimum(plain, 0.0).sum(), rel=2e-3)
    # That library works on a sphere, half a percent at most from the ellipsoid.
    assert made.length.sum() == pytest.approx(other.length_3d(), rel=5e-3)


def test_ripples_below_the_height_are_levelled_and_dips_above_it_stay(tmp_path: Path) -> None:
    def ripples(size: float) -> Profile:
        return profile_of(
            ridden(4000.0, height=lambda s: 300.0 + 0.5 * size * np.sin(2.0 * np.pi * s / 400.0)), tmp_path
        )

    # Smoothing takes 2 % off waves of 400 m.
    assert np.maximum(ripples(1.8).rise, 0.0).sum() == pytest.approx(0.0, abs=1.8)
    assert np.maximum(ripples(6.0).rise, 0.0).sum() == pytest.approx(60.0, rel=0.05)


def test_noise_of_a_receiver_moves_climb_and_length_by_no_more_than_the_stated_band(tmp_path: Path) -> None:
    ride = ridden(20_000.0, height=hills, stops=((5000.0, 60.0),))
    clean = profile_of(ride, tmp_path)
    true, length = float(np.maximum(clean.rise, 0.0).sum()), float(clean.length.sum())
    climbs = []
    for seed in range(8):
        random = np.random.default_rng(seed)
        x, y = (wandering(random, ride.time, 3.0, 60.0) + random.normal(0.0, 0.5, len(ride.s)) for _ in range(2))
        up = wandering(random, ride.time, 2.0, 120.0) + random.normal(0.0, 0.5, len(ride.s))
        noisy = ride.changed(
            latitude=ride.latitude + y / 111_200.0,
            longitude=ride.longitude + x / 65_200.0,
            elevation=ride.elevation + up,
        )
        made = profile_of(noisy, tmp_path)
        climbs.append(float(np.maximum(made.rise, 0.0).sum()))
        assert made.length.sum() == pytest.approx(length, rel=0.01)
    # There are about 22 climbs of 29 m.  The ends of each lie 75 s apart, so their wandering errors differ by
    # 2 m sqrt(2 (1 - exp(-75/120))) = 1.9 m, together 1.9 m sqrt(22) = 9 m or 1.4 %, one standard deviation; picking
    # summits and hollows as turning points gains up to 1 m a climb, 3.4 %.  Two deviations and the gain: -3 % to +6 %.
    assert min(climbs) > 0.97 * true
    assert max(climbs) < 1.06 * true
    # Unsmoothed, the white part alone would climb 0.5 m sqrt(2)/sqrt(2 pi) a second on the level.
    rough = climb_of(noisy.elevation)
    assert rough > 1.3 * true


def test_a_ride_of_a_stop_only_is_no_ride(tmp_path: Path) -> None:
    ride = ridden(6.0, height=hills, stops=((3.0, 600.0),))
    with pytest.raises(FindingsError, match="nowhere were 20 m ridden"):
        profile_of(ride, tmp_path)


def test_a_ride_that_is_mostly_gaps_is_refused_before_it_takes_long(tmp_path: Path) -> None:
    ride = ridden(10_001 * 90.0, height=lambda s: 0.0 * s, speed=30.0, bend=1e9)
    # Three points a second and 30 m apart each, then half a minute and 30 m to the next.
    count = len(ride.time)
    ride = ride.changed(time=np.arange(count) + 30.0 * (np.arange(count) // 3))
    with pytest.raises(FindingsError, match=r"falls into 10,00\d pieces between gaps"):
        profile_of(ride, tmp_path)


def test_a_wall_is_refused(tmp_path: Path) -> None:
    ride = ridden(2000.0, height=lambda s: 300.0 + np.where(s > 1000.0, 400.0, 0.0))
    with pytest.raises(FindingsError, match="the steepest grade is"):
        profile_of(ride, tmp_path)


def test_climbs_that_matter_are_found_with_their_place(tmp_path: Path) -> None:
    def height(s: np.ndarray) -> np.ndarray:
        # Up 60 m over 3 km, down 90 m over 1 km, a ramp of 300 m at 16 % from km 5, level before, between and after.
        return np.interp(s, [0, 500, 3500, 4000, 5000, 5600, 5900, 7000], [300, 300, 360, 360, 270, 270, 318, 318.0])

    made = profile_of(ridden(7000.0, height=height), tmp_path)
    found = {(one.what, one.direction): one for one in stretches(made)}
    longest, down = found["longest", "up"], found["longest", "down"]
    assert (longest.begin, longest.length, longest.height) == pytest.approx((500.0, 3000.6, 60.0), abs=60.0)
    assert longest.height == pytest.approx(60.0, abs=0.5)
    assert down.height == pytest.approx(90.0, abs=0.5)
    assert down.begin == pytest.approx(4000.0, abs=60.0)
    assert found["steepest over 100 m", "up"].grade == pytest.approx(0.16, abs=0.002)
    assert found["steepest over 100 m", "up"].begin == pytest.approx(5600.0, abs=210.0)
    # The whole ramp, and 200 m of level ground around it.
    assert found["steepest over 500 m", "up"].grade == pytest.approx(48.0 / 500.0, abs=0.002)
    assert found["steepest over 500 m", "down"].grade == pytest.approx(0.09, abs=0.001)
    assert found["steepest over 20 m", "up"].speed == pytest.approx(6.0, rel=0.03)
    assert ("highest", "up") not in found


def test_a_level_ride_has_no_climbs(tmp_path: Path) -> None:
    assert [
        one for one in stretches(profile_of(ridden(3000.0, height=lambda s: 0.0 * s), tmp_path)) if one.height
    ] == []
