"""Distance, moving time, stops and gaps against rides whose truth is known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rides import Ride, hills, ridden

from configopt.tracks.cleaning import Note, clean
from configopt.tracks.gpx import load_gpx
from configopt.tracks.motion import Motion, motion
from configopt.tracks.settings import Settings


def moved(ride: Ride, path: Path) -> tuple[Motion, dict[str, Note]]:
    points, notes = clean(load_gpx(ride.write(path / "ride.gpx")), Settings())
    found = motion(points, Settings(), notes)
    return found, {note.what: note for note in notes}


def test_the_way_of_a_clean_ride_is_true_to_a_thousandth_on_every_latitude(tmp_path: Path) -> None:
    for latitude in (-75.0, -30.0, 0.0, 54.2, 75.0):
        found, _ = moved(ridden(8000.0, height=hills, start=(latitude, 20.0)), tmp_path)
        assert found.way.sum() == pytest.approx(8000.0, rel=1e-3)


def test_a_ride_across_the_antimeridian_is_as_long_as_elsewhere(tmp_path: Path) -> None:
    there, _ = moved(ridden(8000.0, height=hills, start=(-17.0, 179.98)), tmp_path)
    here, _ = moved(ridden(8000.0, height=hills, start=(-17.0, 20.0)), tmp_path)
    assert there.way.sum() == pytest.approx(here.way.sum(), rel=1e-9)
    assert not there.breaks.any()


@pytest.mark.parametrize("interval", [0.2, 1.0, 3.0])
def test_stops_are_found_with_their_place_and_time(tmp_path: Path, interval: float) -> None:
    ride = ridden(6000.0, height=hills, stops=((1000.0, 30.0), (4000.0, 120.0)), interval=interval)
    found, _ = moved(ride, tmp_path)
    assert ride.s[found.stop_points] == pytest.approx([1000.0, 4000.0], abs=6.0 * interval + 3.0)
    # A stop may begin or end between two points: an interval at each end.
    assert found.stopped == pytest.approx(150.0, abs=4.0 * interval)
    assert found.duration.sum() + found.stopped == pytest.approx(ride.time[-1], abs=0.01)
    assert found.way.sum() == pytest.approx(6000.0, abs=4.0 * 6.0 * interval)


def test_slow_riding_is_no_stop_and_a_moment_is_none(tmp_path: Path) -> None:
    ride = ridden(300.0, height=hills, speed=0.8, stops=((150.0, 2.0),))
    found, _ = moved(ride, tmp_path)
    assert len(found.stop_points) == 0
    assert found.way.sum() == pytest.approx(300.0, rel=1e-3)


def test_a_recorder_that_pauses_by_itself_makes_a_stop_and_no_way(tmp_path: Path) -> None:
    ride = ridden(6000.0, height=hills, stops=((3000.0, 600.0),))
    standing = (np.diff(ride.s, prepend=-1.0) == 0.0) & (np.diff(ride.s, append=9e9) == 0.0)
    found, notes = moved(ride.only(~standing), tmp_path)
    assert "gaps" not in notes
    assert len(found.stop_points) == 1
    assert found.stopped == pytest.approx(600.0, abs=3.0)
    assert found.way.sum() == pytest.approx(6000.0, rel=2e-3)


def test_over_a_gap_neither_way_nor_time_is_counted(tmp_path: Path) -> None:
    ride = ridden(6000.0, height=hills)
    lost = (ride.s > 2000.0) & (ride.s < 2900.0)
    found, notes = moved(ride.only(~lost), tmp_path)
    assert notes["gaps"].count == 1
    assert "2.5 min" in notes["gaps"].text
    assert found.way.sum() == pytest.approx(5100.0, abs=15.0)
    assert found.duration.sum() == pytest.approx(850.0, abs=3.0)


def test_a_recorder_that_always_writes_rarely_has_no_gaps(tmp_path: Path) -> None:
    found, notes = moved(ridden(20_000.0, height=hills, bend=20_000.0, interval=40.0), tmp_path)
    assert "gaps" not in notes
    assert found.way.sum() == pytest.approx(20_000.0, rel=1e-3)


def test_the_speed_of_the_recorder_goes_before_that_of_its_positions(tmp_path: Path) -> None:
    ride = ridden(3000.0, height=hills)
    speed = np.full(len(ride.time), 6.0)
    speed[100:130] = 0.1
    found, _ = moved(ride.changed(speed=speed), tmp_path)
    assert found.stop_points.tolist() == [100]
    assert found.stopped == pytest.approx(29.0, abs=2.0)


def test_scattered_positions_do_not_lengthen_the_way(tmp_path: Path) -> None:
    ride = ridden(20_000.0, height=hills, stops=((5000.0, 60.0),))
    for seed in range(5):
        random = np.random.default_rng(seed)
        noisy = ride.changed(
            latitude=ride.latitude + random.normal(0.0, 3.0, len(ride.s)) / 111_200.0,
            longitude=ride.longitude + random.normal(0.0, 3.0, len(ride.s)) / 65_200.0,
        )
        found, notes = moved(noisy, tmp_path)
        # Scatter adds 0.2 % at most by design; averaging over 9 points of 6 m cuts bends of 106 m by 0.6 % on average
        # of their half (w^2/(24 R^2)); of the stop a step may count.  Unaveraged it would be 22 % longer.
        assert found.way.sum() == pytest.approx(20_000.0, rel=0.01)
        assert notes["position_noise"].count == pytest.approx(3.0, rel=0.1)
        raw = np.hypot(np.diff(noisy.latitude) * 111_200.0, np.diff(noisy.longitude) * 65_200.0).sum()
        assert raw > 1.15 * 20_000.0
