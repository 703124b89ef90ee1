"""The shipped demo rides and their map, made from a seed: ``python tests/tracks/demo_rides.py`` writes them anew.

Everything is invented; the place lies in the open Atlantic.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parents[2] / "scenarios" / "tracks"
START = (47.0, -30.0)
if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))

from rides import Floats, Ride, placed, wandering  # noqa: E402

#: Where the peat and the rock steps lie on the round [m].
PEAT, ROCK = (2600.0, 4100.0), (5600.0, 6500.0)
ROUND = 9000.0


def round_place(s: Floats) -> tuple[Floats, Floats]:
    """The round: a bent circle that closes."""
    angle = 2.0 * np.pi * s / ROUND
    radius = ROUND / (2.0 * np.pi) * (1.0 + 0.18 * np.sin(3.0 * angle))
    return radius * np.sin(angle), radius * (1.0 - np.cos(angle)) + 120.0 * np.sin(2.0 * angle)


def round_height(s: Floats) -> Floats:
    """Up to the peat, over it, down the rock steps and home."""
    stations = np.array([0.0, 1400.0, 2600.0, 3400.0, 4100.0, 4900.0, 5600.0, 6500.0, 7600.0, 8300.0, 9000.0])
    heights = np.array([212.0, 268.0, 342.0, 361.0, 356.0, 402.0, 396.0, 305.0, 262.0, 240.0, 212.0])
    plain = np.interp(np.arange(-300.0, ROUND + 301.0, 10.0) % ROUND, stations, heights)
    return np.interp(
        s, np.arange(-300.0, ROUND + 301.0, 10.0)[8:-8], np.convolve(plain, np.full(17, 1.0 / 17.0), "valid")
    )


def round_speed(s: Floats) -> Floats:
    """Slow on peat and rock, slower up than down."""
    grade = np.gradient(round_height(s), s)
    speed = 8.0 - 22.0 * np.clip(grade, -0.06, 0.12)
    speed = np.where((s > PEAT[0]) & (s < PEAT[1]), 3.9, speed)
    return np.where((s > ROCK[0]) & (s < ROCK[1]), 3.1, speed)


def ride(length: float, place: object, height: object, speed: object, stops: dict[float, float], seed: int) -> Ride:
    """A ride recorded every 3 s, with what recorders do to it."""
    random = np.random.default_rng(seed)
    fine = np.arange(0.0, length + 0.5, 1.0)
    clock = np.concatenate([[0.0], np.cumsum(1.0 / speed(fine[:-1]))])  # type: ignore[operator]
    for at, wait in stops.items():
        clock[fine > at] += wait
    time = np.arange(0.0, clock[-1], 3.0)
    s = np.interp(time, clock, fine)
    for at, wait in stops.items():
        begin = float(clock[int(at)])
        s = np.where((time >= begin) & (time <= begin + wait), at, s)
    x, y = place(s)  # type: ignore[operator]
    x, y = x + wandering(random, time, 1.2, 60.0), y + wandering(random, time, 1.2, 60.0)
    latitude, longitude = placed(x, y, START)
    elevation = height(s) + wandering(random, time, 0.5, 200.0) + random.normal(0.0, 0.2, len(s))  # type: ignore[operator]
    return Ride(latitude, longitude, elevation, time, s)


def fell_round() -> Ride:
    """9 km with a barometer that drifts, one position far off and one elevation that jumps."""
    made = ride(ROUND, round_place, round_height, round_speed, {1800.0: 45.0, 4300.0: 90.0, 7000.0: 30.0}, 7)
    elevation = made.elevation + 6.0 * made.time / made.time[-1]
    elevation[240] += 55.0
    latitude = made.latitude.copy()
    latitude[310] += 0.0009
    return made.changed(elevation=elevation, latitude=latitude)


def depot_road() -> Ride:
    """3.5 km of gravel road out and the same back, with a wait in the middle."""

    def along(s: Floats) -> Floats:
        return 3500.0 - np.abs(3500.0 - s)

    def place(s: Floats) -> tuple[Floats, Floats]:
        way = along(s)
        return -0.94 * way, 260.0 * np.sin(way / 800.0)

    def height(s: Floats) -> Floats:
        way = along(s)
        return (
            212.0 - 58.0 * (1.0 - np.cos(np.pi * way / 3500.0)) / 2.0 + 9.0 * np.sin(way / 260.0) * np.sin(way / 1114.1)
        )

    def speed(s: Floats) -> Floats:
        return np.full(np.shape(s), 8.6)

    return ride(7000.0, place, height, speed, {3500.0: 240.0}, 8)


def areas() -> dict[str, object]:
    """Map: a belt of peat and one of rock steps around their part of the round."""
    features = []
    for surface, (begin, end) in (("wet-peat", PEAT), ("rock-steps", ROCK)):
        s = np.arange(begin, end + 1.0, 50.0)
        x, y = round_place(s)
        across = np.array([np.gradient(y), -np.gradient(x)])
        across = 60.0 * across / np.hypot(*across)
        ring_x = np.concatenate([x + across[0], (x - across[0])[::-1]])
        ring_y = np.concatenate([y + across[1], (y - across[1])[::-1]])
        latitude, longitude = placed(np.concatenate([[0.0], ring_x]), np.concatenate([[0.0], ring_y]), START)
        ring = [[round(a, 6), round(b, 6)] for a, b in zip(longitude[1:].tolist(), latitude[1:].tolist(), strict=True)]
        features.append(
            {
                "type": "Feature",
                "properties": {"surface": surface, "note": "Invented, like the rides."},
                "geometry": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]},
            }
        )
    return {"type": "FeatureCollection", "features": features}


def texts() -> dict[str, str]:
    """The files by name."""
    invented = "<metadata><desc>Invented demo ride; nobody rode it, the place lies in the open sea.</desc></metadata>"
    found = {}
    for name, made in (("fell-round.gpx", fell_round()), ("depot-road.gpx", depot_road())):
        found[name] = made.gpx(decimals=6).replace("<trk>", f"{invented}<trk>", 1)
    found["areas.geojson"] = json.dumps(areas(), indent=1) + "\n"
    return found


if __name__ == "__main__":
    for name, text in texts().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
