"""Rides to terrain: each ride read, cleaned and measured, then all of them together by their weights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.tracks.classes import GRADES, SHARE_UNITS, TerrainPart, bands, merged, sums, terrain_parts
from configopt.tracks.cleaning import Note, clean
from configopt.tracks.climbs import Stretch, stretches
from configopt.tracks.gpx import load_gpx
from configopt.tracks.ground import Ground
from configopt.tracks.motion import motion
from configopt.tracks.profile import Profile, profile
from configopt.tracks.settings import Settings

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Json = dict[str, Any]

#: A steep part is another question to the rotors than the highest descent only if it is steeper by this factor.
_STEEPER = 1.1
#: Below this grade nothing is held on the brakes.
_LEAST_DESCENT = 0.03
_MOST_STOPS = 100.0


@dataclass(frozen=True)
class Ride:
    """One ride.

    Attributes
    ----------
    path, sha256, weight
        The file, its hash, and how often the ride counts.
    points
        Points in the file.
    made
        Profile.
    stopped
        Time of all stops [s].
    notes
        What was cleaned.
    stretches
        Climbs and descents that matter.
    """

    path: str
    sha256: str
    weight: float
    points: int
    made: Profile
    stopped: float
    notes: tuple[Note, ...]
    stretches: tuple[Stretch, ...]


def load_ride(path: Path, weight: float, settings: Settings) -> Ride:
    """Read one file and make its profile.

    Raises
    ------
    FindingsError
        If the file is wrong, or there is too little in it.
    """
    recording = load_gpx(path)
    points, notes = clean(recording, settings)
    moved = motion(points, settings, notes)
    made = profile(recording, points, moved, settings, notes)
    return Ride(
        path=recording.path,
        sha256=recording.sha256,
        weight=weight,
        points=len(recording.time),
        made=made,
        stopped=moved.stopped,
        notes=tuple(notes),
        stretches=tuple(stretches(made)),
    )


@dataclass(frozen=True)
class DescentPart:
    """A descent as a scenario states it: grade, speed [m/s], height lost [m]; ``ride`` and ``begin`` [m] say where."""

    name: str
    surface: str
    grade: float
    speed: float
    height: float
    ride: int
    begin: float


@dataclass(frozen=True)
class TerrainResult:
    """Rides, and the terrain that follows from them; ``terrains`` is empty where no surfaces are stated."""

    rides: tuple[Ride, ...]
    settings: Settings
    surfaces: tuple[str, ...]
    surface_totals: tuple[Floats, ...]
    terrains: tuple[TerrainPart, ...]
    descents: tuple[DescentPart, ...]
    remarks: tuple[str, ...]

    def to_json(self) -> Json:
        """JSON of schema configopt/terrain/1."""
        return {
            "schema": "configopt/terrain/1",
            "rides": [_ride_json(ride, totals) for ride, totals in zip(self.rides, self.surface_totals, strict=True)],
            "together": _together_json(self.rides, self.surface_totals),
            "surfaces": self._surfaces_json(),
            "terrains": [_terrain_json(part) for part in self.terrains],
            "descents": [
                {
                    "name": part.name,
                    "surface": part.surface,
                    "grade_percent": 100.0 * part.grade,
                    "speed_km_h": 3.6 * part.speed,
                    "height_m": part.height,
                    "ride": part.ride,
                    "begin_km": part.begin / 1000.0,
                }
                for part in self.descents
            ],
            "remarks": list(self.remarks),
            "settings": {
                "smoothing_m": self.settings.smoothing,
                "undulation_m": self.settings.undulation,
                "fastest_km_h": 3.6 * self.settings.fastest,
                "gap_s": self.settings.gap,
                "stop_speed_km_h": 3.6 * self.settings.stop_speed,
                "stop_time_s": self.settings.stop_time,
            },
            "made_with": {"configopt": version("configopt")},
        }

    def _surfaces_json(self) -> list[Json]:
        if not self.terrains:
            return []
        totals = _weighted(self.rides, self.surface_totals)
        length = totals[..., 0].sum()
        return [
            {
                "surface": name,
                "length_km": float(table[..., 0].sum()) / 1000.0,
                "share_percent": 100.0 * float(table[..., 0].sum() / length),
                "speed_km_h": _speed(table[..., 0].sum(), table[..., 1].sum()),
            }
            for name, table in zip(self.surfaces, totals, strict=True)
        ]


def terrain(rides: Sequence[Ride], ground: Ground, settings: Settings) -> TerrainResult:
    """The terrain of one or more rides.

    Parameters
    ----------
    rides
        At least one.
    ground
        How surfaces are assigned; where it states none, there are profiles but no terrains.
    settings
        What the rides were cleaned with.

    Returns
    -------
    TerrainResult
        Profiles, terrains and descents.

    Raises
    ------
    UsageError
        If a part of a ride has no surface, or there are too many surfaces.
    """
    placed: list[tuple[list[str], Whole]] = []
    for number, ride in enumerate(rides, start=1):
        if ground.stated:
            placed.append(ground.along(ride.made, number))
        else:
            placed.append(([""], np.zeros(len(ride.made.run), dtype=np.int64)))
    names = list(dict.fromkeys(name for own, _ in placed for name in own))
    along = [np.array([names.index(name) for name in own], dtype=np.int64)[which] for own, which in placed]
    totals = [sums(ride.made, which, len(names)) for ride, which in zip(rides, along, strict=True)]
    remarks = ["Obstacles cannot be seen in a recording: state them per terrain, by height and number in a kilometre."]
    parts: list[TerrainPart] = []
    descents: list[DescentPart] = []
    if ground.stated:
        together = _weighted(rides, totals)
        length = float(together[..., 0].sum())
        stops = 1000.0 * sum(ride.weight * len(ride.made.stops) for ride in rides) / length
        if stops > _MOST_STOPS:
            remarks.append(f"There are {stops:.0f} stops in a kilometre; a scenario takes {_MOST_STOPS:.0f}.")
        parts = terrain_parts(merged(bands(names, together)), min(stops, _MOST_STOPS))
        descents = _descents(rides, names, along)
    else:
        remarks.append("No surfaces are stated, so there are no terrains: name them with --ground, --map or --rest.")
    return TerrainResult(
        rides=tuple(rides),
        settings=settings,
        surfaces=tuple(names),
        surface_totals=tuple(totals),
        terrains=tuple(parts),
        descents=tuple(descents),
        remarks=tuple(remarks),
    )


def _weighted(rides: Sequence[Ride], totals: Sequence[Floats]) -> Floats:
    return np.asarray(sum(ride.weight * table for ride, table in zip(rides, totals, strict=True)))


def _descents(rides: Sequence[Ride], names: Sequence[str], along: Sequence[Whole]) -> list[DescentPart]:
    """The highest descent of all rides, and the steepest over 500 and 100 m where they are steeper."""
    down = [
        (number, stretch)
        for number, ride in enumerate(rides, start=1)
        for stretch in ride.stretches
        if stretch.direction == "down" and stretch.grade >= _LEAST_DESCENT
    ]
    found: list[DescentPart] = []
    whole = [pair for pair in down if pair[1].what in ("longest", "highest")]
    chosen = [("descent-highest", max(whole, key=lambda pair: pair[1].height))] if whole else []
    for window in (500, 100):
        steep = [pair for pair in down if pair[1].what == f"steepest over {window} m"]
        if steep:
            chosen.append((f"descent-steepest-{window}-m", max(steep, key=lambda pair: pair[1].grade)))
    for name, (number, stretch) in chosen:
        if found and stretch.grade < _STEEPER * found[-1].grade:
            continue
        part = slice(stretch.first, stretch.last)
        lengths = np.bincount(along[number - 1][part], weights=rides[number - 1].made.length[part])
        surface = names[int(np.argmax(lengths))]
        found.append(DescentPart(name, surface, stretch.grade, stretch.speed, stretch.height, number, stretch.begin))
    return found


def _speed(length: float, time: float) -> float | None:
    """Mean speed [km/h]; None where nothing was ridden."""
    return None if length <= 0.0 or time <= 0.0 else float(3.6 * length / time)


def _figures(totals: Floats, stops: float, stopped: float) -> Json:
    """Figures of sums of shape (surfaces, classes, 2, 3)."""
    table = totals.sum(axis=0)
    length, time = float(table[..., 0].sum()), float(table[..., 1].sum())
    grades = []
    for number in range(len(GRADES) + 1):
        low = 0.0 if number == 0 else 100.0 * GRADES[number - 1]
        high = 100.0 * GRADES[number] if number < len(GRADES) else None
        rows = (
            [("level", table[0].sum(axis=0))] if number == 0 else list(zip(("up", "down"), table[number], strict=True))
        )
        for direction, row in rows:
            grades.append(
                {
                    "direction": direction,
                    "from_percent": low,
                    "to_percent": high,
                    "length_km": float(row[0]) / 1000.0,
                    "share_percent": 100.0 * float(row[0]) / length,
                    "speed_km_h": _speed(row[0], row[1]),
                }
            )
    return {
        "length_km": length / 1000.0,
        "climb_m": float(table[:, 0, 2].sum()),
        "descent_m": float(table[:, 1, 2].sum()),
        "moving_time_s": time,
        "speed_km_h": _speed(length, time),
        "stops": stops,
        "stopped_time_s": stopped,
        "grades": grades,
    }


def _ride_json(ride: Ride, totals: Floats) -> Json:
    return {
        "file": ride.path,
        "sha256": ride.sha256,
        "weight": ride.weight,
        "points": ride.points,
        **_figures(totals, len(ride.made.stops), ride.stopped),
        "cleaning": [asdict(note) for note in ride.notes],
        "stretches": [
            {
                "what": stretch.what,
                "direction": stretch.direction,
                "begin_km": stretch.begin / 1000.0,
                "end_km": (stretch.begin + stretch.length) / 1000.0,
                "length_m": stretch.length,
                "height_m": stretch.height,
                "grade_percent": 100.0 * stretch.grade,
                "speed_km_h": 3.6 * stretch.speed,
            }
            for stretch in ride.stretches
        ],
    }


def _together_json(rides: Sequence[Ride], totals: Sequence[Floats]) -> Json:
    stops = sum(ride.weight * len(ride.made.stops) for ride in rides)
    stopped = sum(ride.weight * ride.stopped for ride in rides)
    return _figures(_weighted(rides, totals), stops, stopped)


def _terrain_json(part: TerrainPart) -> Json:
    return {
        "name": part.name,
        "surface": part.surface,
        "share_percent": 100.0 * part.units / SHARE_UNITS,
        "speed_km_h": 3.6 * part.speed,
        "grade_percent": 100.0 * part.grade,
        "direction": part.direction,
        "stops_per_km": part.stops_per_km,
    }
