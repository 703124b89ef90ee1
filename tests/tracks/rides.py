"""Rides with a known truth: a way, a profile and a speed, ridden, recorded and written as GPX."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Along = Callable[[Floats], Floats]

START = datetime(2026, 3, 2, 8, 0, 0, tzinfo=UTC)
# WGS84.
_A, _F = 6_378_137.0, 1.0 / 298.257223563
_E2 = _F * (2.0 - _F)


@dataclass(frozen=True)
class Ride:
    """Recorded points: degrees, metres, seconds from the start; ``s`` is the true way at each."""

    latitude: Floats
    longitude: Floats
    elevation: Floats
    time: Floats
    s: Floats
    speed: Floats | None = None

    def gpx(self, *, decimals: int = 8) -> str:
        """GPX 1.1; elevations and times that are NaN are left out."""
        rows = []
        for number in range(len(self.time)):
            inner = ""
            if not np.isnan(self.elevation[number]):
                inner += f"<ele>{self.elevation[number]:.3f}</ele>"
            if not np.isnan(self.time[number]):
                moment = START + timedelta(seconds=float(self.time[number]))
                inner += f"<time>{moment.isoformat(timespec='milliseconds').replace('+00:00', 'Z')}</time>"
            if self.speed is not None:
                inner += (
                    "<extensions><r:TrackPointExtension>"
                    f"<r:speed>{self.speed[number]:.3f}</r:speed></r:TrackPointExtension></extensions>"
                )
            place = f'lat="{self.latitude[number]:.{decimals}f}" lon="{self.longitude[number]:.{decimals}f}"'
            rows.append(f"<trkpt {place}>{inner}</trkpt>")
        return (
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1" xmlns:r="urn:recorder">'
            "<trk><trkseg>\n" + "\n".join(rows) + "\n</trkseg></trk></gpx>\n"
        )

    def write(self, path: Path) -> Path:
        path.write_text(self.gpx(), encoding="utf-8")
        return path

    def changed(self, **arrays: Floats | None) -> Ride:
        return replace(self, **arrays)  # type: ignore[arg-type]

    def only(self, keep: NDArray[np.bool_]) -> Ride:
        fields = {name: getattr(self, name)[keep] for name in ("latitude", "longitude", "elevation", "time", "s")}
        return Ride(**fields, speed=None if self.speed is None else self.speed[keep])


def ridden(
    length: float,
    *,
    height: Along,
    speed: float | Along = 6.0,
    stops: tuple[tuple[float, float], ...] = (),
    start: tuple[float, float] = (54.2, -2.3),
    bend: float = 400.0,
    interval: float = 1.0,
) -> Ride:
    """Ride a winding way of a length [m] and record a point each interval [s].

    ``height`` gives the elevation [m] of the way [m], ``speed`` the speed [m/s], ``stops`` where and how long it
    stands.  The heading swings by 0.6 rad over ``bend`` metres.
    """
    fine = np.linspace(0.0, length, max(2, round(length)) + 1)
    pace = np.broadcast_to(speed(fine) if callable(speed) else speed, fine.shape)
    middle = 0.5 * (pace[1:] + pace[:-1])
    clock = np.concatenate([[0.0], np.cumsum(np.diff(fine) / middle)])
    for place, wait in stops:
        at = int(np.searchsorted(fine, place))
        clock = np.concatenate([clock[: at + 1], clock[at:] + wait])
        fine = np.concatenate([fine[: at + 1], fine[at:]])
    time = np.append(np.arange(0.0, clock[-1], interval), clock[-1])
    s = np.interp(time, clock, fine)
    heading = 0.6 * np.sin(2.0 * np.pi * fine / bend) + 0.4
    step = np.diff(fine)
    x = np.concatenate([[0.0], np.cumsum(step * np.cos(0.5 * (heading[1:] + heading[:-1])))])
    y = np.concatenate([[0.0], np.cumsum(step * np.sin(0.5 * (heading[1:] + heading[:-1])))])
    # fine holds each place of a stop twice; interp takes either.
    latitude, longitude = placed(np.interp(s, fine, x), np.interp(s, fine, y), start)
    return Ride(latitude, longitude, height(s), time, s)


def placed(x: Floats, y: Floats, start: tuple[float, float]) -> tuple[Floats, Floats]:
    """Degrees of points by their steps east and north [m], each step at the radii of its own middle."""
    latitude, longitude = [start[0]], [start[1]]
    for east, north in zip(np.diff(x).tolist(), np.diff(y).tolist(), strict=True):
        middle = latitude[-1]
        for _ in range(3):
            w2 = 1.0 - _E2 * np.sin(np.radians(middle)) ** 2
            turn = np.degrees(north / (_A * (1.0 - _E2) / w2**1.5))
            middle = latitude[-1] + 0.5 * turn
        latitude.append(latitude[-1] + float(turn))
        across = _A / np.sqrt(w2) * np.cos(np.radians(middle))
        longitude.append((longitude[-1] + float(np.degrees(east / across)) + 180.0) % 360.0 - 180.0)
    return np.array(latitude), np.array(longitude)


def hills(s: Floats) -> Floats:
    """Hills of 60 m and 24 m, smooth enough that averaging over 40 m leaves them what they are."""
    return 300.0 + 30.0 * np.sin(2.0 * np.pi * s / 2500.0) + 12.0 * np.sin(2.0 * np.pi * s / 900.0 + 1.0)


def climb_of(values: Floats) -> float:
    """Sum of what rises [m]."""
    return float(np.maximum(np.diff(values), 0.0).sum())


def wandering(random: np.random.Generator, time: Floats, size: float, memory: float) -> Floats:
    """Noise that wanders: standard deviation ``size``, forgotten over ``memory`` seconds (Gauss-Markov)."""
    keep = np.exp(-np.diff(time) / memory)
    values = [float(random.normal(0.0, size))]
    for share, draw in zip(keep.tolist(), random.normal(size=len(keep)).tolist(), strict=True):
        values.append(share * values[-1] + size * float(np.sqrt(1.0 - share**2)) * draw)
    return np.array(values)
