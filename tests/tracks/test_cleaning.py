"""Mistakes of recorders: each is put into a ride whose truth is known, is counted, and does no harm."""

from __future__ import annotations

import itertools
from bisect import bisect_left
from pathlib import Path

import numpy as np
import pytest
from rides import Floats, Ride, hills, ridden

from configopt.errors import FindingsError
from configopt.tracks.cleaning import Note, Points, _longest_rising, clean
from configopt.tracks.gpx import load_gpx
from configopt.tracks.settings import Settings

SOUND = ridden(6000.0, height=hills)


def cleaned(ride: Ride, path: Path) -> tuple[Points, dict[str, Note]]:
    points, notes = clean(load_gpx(ride.write(path / "ride.gpx")), Settings())
    return points, {note.what: note for note in notes}


def refused(ride: Ride, path: Path) -> str:
    with pytest.raises(FindingsError) as caught:
        cleaned(ride, path)
    return str(caught.value)


def with_gaps(values: Floats, *places: int) -> Floats:
    changed = values.copy()
    changed[list(places)] = np.nan
    return changed


def test_a_sound_ride_stays_as_it_is_and_nothing_is_told(tmp_path: Path) -> None:
    points, notes = cleaned(SOUND, tmp_path)
    assert notes == {}
    np.testing.assert_allclose(points.elevation, SOUND.elevation, atol=6e-4)
    assert not points.breaks.any()


def test_points_without_time_are_left_out_and_counted(tmp_path: Path) -> None:
    points, notes = cleaned(SOUND.changed(time=with_gaps(SOUND.time, 3, 50, 51)), tmp_path)
    assert notes["without_time"].count == 3
    assert len(points.time) == len(SOUND.time) - 3


def test_a_second_point_of_one_time_is_left_out(tmp_path: Path) -> None:
    time = SOUND.time.copy()
    time[101], time[400] = time[100], time[399]
    points, notes = cleaned(SOUND.changed(time=time), tmp_path)
    assert notes["same_time"].count == 2
    assert (np.diff(points.time) > 0.0).all()


def test_some_points_out_of_order_are_left_out_and_told_with_their_line(tmp_path: Path) -> None:
    time = SOUND.time.copy()
    time[200:203] -= 60.5
    points, notes = cleaned(SOUND.changed(time=time), tmp_path)
    assert notes["backward_time"].count == 3
    assert "(first at line 203)" in notes["backward_time"].text
    assert len(points.time) == len(SOUND.time) - 3
    assert (np.diff(points.time) > 0.0).all()


def test_one_time_far_ahead_costs_one_point_and_not_all_that_follow(tmp_path: Path) -> None:
    time = SOUND.time.copy()
    time[200] += 1e6
    points, notes = cleaned(SOUND.changed(time=time), tmp_path)
    assert notes["backward_time"].count == 1
    assert "(first at line 204)" in notes["backward_time"].text
    assert len(points.time) == len(SOUND.time) - 1


def test_a_ride_whose_time_runs_backward_is_refused_at_the_first_such_point(tmp_path: Path) -> None:
    half = len(SOUND.time) // 2
    time = np.concatenate([SOUND.time[half:], SOUND.time[:half]])
    message = refused(SOUND.changed(time=time), tmp_path)
    assert f"ride.gpx:{len(SOUND.time) - half + 3}:1: GPX-TIME error: time runs backward here" in message


@pytest.mark.parametrize("seed", range(30))
def test_no_more_points_are_left_out_for_their_order_than_must_be(seed: int) -> None:
    values = np.random.default_rng(seed).integers(0, 12, size=9).astype(float)
    best = 0
    for chosen in range(1 << len(values)):
        part = [value for number, value in enumerate(values.tolist()) if chosen >> number & 1]
        if all(first < second for first, second in itertools.pairwise(part)):
            best = max(best, len(part))
    kept = values[_longest_rising(values)]
    assert len(kept) == best
    assert (np.diff(kept) > 0.0).all()
    assert bisect_left(kept.tolist(), kept[-1]) == best - 1


@pytest.mark.parametrize("off", [60.0, 3000.0])
def test_a_single_position_far_off_is_left_out(tmp_path: Path, off: float) -> None:
    latitude = SOUND.latitude.copy()
    latitude[300] += off / 111_000.0
    points, notes = cleaned(SOUND.changed(latitude=latitude), tmp_path)
    assert notes["position_spikes"].count == 1
    assert len(points.time) == len(SOUND.time) - 1
    assert not points.breaks.any()


def test_a_short_excursion_that_nobody_can_have_ridden_is_left_out(tmp_path: Path) -> None:
    latitude = SOUND.latitude.copy()
    latitude[300:308] += 0.02
    points, notes = cleaned(SOUND.changed(latitude=latitude), tmp_path)
    assert notes["position_jumps"].count == 8
    assert not points.breaks.any()


def test_a_first_point_at_the_end_of_the_world_does_not_throw_the_ride_away(tmp_path: Path) -> None:
    latitude, longitude = SOUND.latitude.copy(), SOUND.longitude.copy()
    latitude[0], longitude[0] = 0.0, 0.0
    points, notes = cleaned(SOUND.changed(latitude=latitude, longitude=longitude), tmp_path)
    assert notes["position_jumps"].count == 1
    assert len(points.time) == len(SOUND.time) - 1


def test_between_two_rides_in_one_file_nothing_is_taken_as_ridden(tmp_path: Path) -> None:
    latitude = SOUND.latitude.copy()
    latitude[500:] += 0.3
    points, notes = cleaned(SOUND.changed(latitude=latitude), tmp_path)
    assert len(points.time) == len(SOUND.time)
    assert np.flatnonzero(points.breaks).tolist() == [499]
    assert "position_jumps" not in notes


def test_positions_that_are_mostly_nonsense_are_refused(tmp_path: Path) -> None:
    latitude = SOUND.latitude.copy()
    latitude[::7] += 0.01
    assert "the rest cannot be trusted" in refused(SOUND.changed(latitude=latitude), tmp_path)


def test_missing_elevations_are_put_between_the_others(tmp_path: Path) -> None:
    points, notes = cleaned(SOUND.changed(elevation=with_gaps(SOUND.elevation, 10, 11, 12, 200)), tmp_path)
    assert notes["without_elevation"].count == 4
    # On these hills a straight line over 4 s of riding differs by centimetres.
    np.testing.assert_allclose(points.elevation, SOUND.elevation, atol=0.1)


@pytest.mark.parametrize("share", [1.0, 0.6])
def test_a_ride_mostly_without_elevations_is_refused(tmp_path: Path, share: float) -> None:
    elevation = SOUND.elevation.copy()
    elevation[: round(share * len(elevation))] = np.nan
    assert "grades need elevations" in refused(SOUND.changed(elevation=elevation), tmp_path)


def test_elevations_that_jump_for_a_moment_are_put_between_the_others(tmp_path: Path) -> None:
    elevation = SOUND.elevation.copy()
    elevation[[100, 101, 600]] += (40.0, 35.0, -80.0)
    points, notes = cleaned(SOUND.changed(elevation=elevation), tmp_path)
    assert notes["elevation_spikes"].count == 3
    np.testing.assert_allclose(points.elevation, SOUND.elevation, atol=0.1)


def test_steep_ground_and_summits_are_no_spikes(tmp_path: Path) -> None:
    ride = ridden(2000.0, height=lambda s: 300.0 + 0.4 * np.abs(1000.0 - s), speed=3.0)
    _, notes = cleaned(ride, tmp_path)
    assert "elevation_spikes" not in notes


def there_and_back(drift: float) -> Ride:
    out = ridden(4000.0, height=hills)
    fields = [np.concatenate([values, values[-2::-1]]) for values in (out.latitude, out.longitude, out.elevation)]
    way = np.concatenate([out.s, 2.0 * out.s[-1] - out.s[-2::-1]])
    double = Ride(*fields, np.arange(2 * len(out.time) - 1.0), way)
    return double.changed(elevation=double.elevation + drift * double.time / double.time[-1])


def test_drift_on_a_loop_is_taken_out_and_the_true_elevations_come_back(tmp_path: Path) -> None:
    points, notes = cleaned(there_and_back(8.0), tmp_path)
    truth = there_and_back(0.0)
    assert notes["drift"].count == pytest.approx(8.0, abs=0.1)
    np.testing.assert_allclose(points.elevation, truth.elevation, atol=0.2)


def test_what_is_more_than_drift_stands_and_is_told(tmp_path: Path) -> None:
    points, notes = cleaned(there_and_back(60.0), tmp_path)
    assert "more than drift" in notes["no_drift"].text
    assert points.elevation[-1] - points.elevation[0] == pytest.approx(60.0, abs=0.1)


def test_a_ride_that_ends_elsewhere_keeps_its_difference_in_height(tmp_path: Path) -> None:
    _, notes = cleaned(ridden(6000.0, height=lambda s: 300.0 + 0.002 * s), tmp_path)
    assert notes == {}


@pytest.mark.parametrize(("count", "said"), [(0, "no point with a time"), (1, "one point with a time")])
def test_one_point_or_none_is_no_ride(tmp_path: Path, count: int, said: str) -> None:
    time = np.full(len(SOUND.time), np.nan)
    time[:count] = 0.0
    message = refused(SOUND.changed(time=time), tmp_path)
    assert (said in message) if count else ("no point has a time" in message)
