"""Classes of grade: how much of the way lies in each, and terrains of a scenario that have the same climb and way."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from configopt.errors import UsageError
from configopt.tracks.profile import Profile

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Direction = Literal["both ways", "up", "down"]

#: Grades at which classes meet; below the first it is level ground.  Own choice: about where a light vehicle begins to
#: notice the grade, has to change how it rides, climbs slowly, and comes near its limits.
GRADES = (0.01, 0.06, 0.12, 0.20)
#: Terrains that a scenario may hold.
TERRAIN_LIMIT = 20
#: Classes with a smaller share of the way go into a neighbour.
LEAST_SHARE = 0.02
#: Shares are written in this unit, so that they sum to 1 exactly as written.
SHARE_UNITS = 1_000_000
#: Net rise of level ground by its length below which it is rounding of numbers.
_ROUNDING = 1e-12
_SIDES: tuple[Direction, ...] = ("up", "down")


@dataclass(frozen=True, slots=True)
class Band:
    """Way of one surface, direction and range of grades.

    Attributes
    ----------
    surface, direction
        Where, and whether it rises or falls.
    low, high
        First and last class of grade, 0 for level ground.
    length
        Along the ground [m].
    rise
        Height won or lost, or both added where it is ridden both ways [m].
    time
        Moving [s].
    """

    surface: str
    direction: Direction
    low: int
    high: int
    length: float
    rise: float
    time: float

    def with_other(self, other: Band) -> Band:
        """Both together."""
        return replace(
            self,
            low=min(self.low, other.low),
            high=max(self.high, other.high),
            length=self.length + other.length,
            rise=self.rise + other.rise,
            time=self.time + other.time,
        )

    def share_of(self, share: float) -> Band:
        """A share of it."""
        return replace(self, length=share * self.length, rise=share * self.rise, time=share * self.time)


def class_of(made: Profile) -> Whole:
    """Class of grade of each step, 0 for level ground, shape (n,)."""
    return np.asarray(np.searchsorted(np.array(GRADES), np.abs(made.rise) / made.run, side="right"))


def sums(made: Profile, surface: Whole, surfaces: int) -> Floats:
    """Way, moving time and rise of each surface, class of grade and direction.

    Parameters
    ----------
    made
        Profile of a ride.
    surface
        Number of the surface of each step, shape (n,).
    surfaces
        How many there are.

    Returns
    -------
    ndarray
        Shape (surfaces, classes, 2, 3): up (and level) or down; length [m], moving time [s], rise [m].
    """
    classes = len(GRADES) + 1
    place = (surface * classes + class_of(made)) * 2 + (made.rise < 0.0)
    figures = (made.length, made.duration, np.abs(made.rise))
    counted = [np.bincount(place, weights=figure, minlength=surfaces * classes * 2) for figure in figures]
    made_of: Floats = np.stack(counted, axis=-1).astype(np.float64)
    return made_of.reshape(surfaces, classes, 2, 3)


def bands(names: Sequence[str], totals: Floats) -> list[Band]:
    """Bands of all surfaces, the small ones not yet merged.

    Parameters
    ----------
    names
        Surfaces.
    totals
        Sums as :func:`sums` gives them, those of several rides added by their weights.

    Returns
    -------
    list of Band
        Those that have any length.

    Notes
    -----
    Level ground ridden both ways has as much climb as descent.  What it has more of one than of the other, often
    centimetres, is counted as way at the lowest grade of the class above: so climb, descent, way and time all stay what
    they are, and flat ground stays in one.
    """
    lowest = math.sin(math.atan(GRADES[0]))
    found: list[Band] = []
    for name, table in zip(names, totals.tolist(), strict=True):
        (level_up, level_down), *graded = table
        length, time = level_up[0] + level_down[0], level_up[1] + level_down[1]
        up, down = level_up[2], level_down[2]
        net = abs(up - down) if abs(up - down) > _ROUNDING * length else 0.0
        sloping = net / lowest
        share = sloping / length if length > 0.0 else 0.0
        found.append(Band(name, "both ways", 0, 0, length - sloping, up + down - net, (1.0 - share) * time))
        for number, pair in enumerate(graded, start=1):
            for side, (its_length, its_time, rise) in zip(_SIDES, pair, strict=True):
                band = Band(name, side, number, number, its_length, rise, its_time)
                if number == 1 and (side == "up") == (up > down):
                    band = band.with_other(Band(name, side, 1, 1, sloping, net, share * time))
                found.append(band)
    return [band for band in found if band.length > 0.0]


def merged(given: Sequence[Band], limit: int = TERRAIN_LIMIT) -> list[Band]:
    """Few enough bands for a scenario: small ones go into a neighbour of the same surface and direction.

    Parameters
    ----------
    given
        The bands.
    limit
        How many are allowed.

    Returns
    -------
    list of Band
        With the same length, climb, descent and time together: surfaces by their length, each level, up, down.

    Raises
    ------
    UsageError
        If there are too many surfaces.
    """
    total = sum(band.length for band in given)
    kept = list(given)
    while True:
        kept.sort(key=lambda band: band.length)
        for band in kept:
            if band.length >= LEAST_SHARE * total and len(kept) <= limit:
                return _ordered(kept)
            into = _into(band, kept)
            if into is not None:
                kept = [other for other in kept if other is not band and all(other is not old for old, _ in into)]
                kept += [new for _, new in into]
                break
        else:
            if len(kept) > limit:
                count = len({band.surface for band in kept})
                raise UsageError(
                    f"{count} surfaces make {len(kept)} terrains, a scenario has at most {limit}; name fewer surfaces"
                )
            return _ordered(kept)


def _into(band: Band, kept: Sequence[Band]) -> list[tuple[Band, Band]] | None:
    """Which bands take a band up, and what they become; None where there is no neighbour."""
    own = [other for other in kept if other.surface == band.surface and other is not band]
    if band.direction == "both ways":
        halves = []
        for direction in ("up", "down"):
            beside = [other for other in own if other.direction == direction]
            if not beside:
                return None
            lowest = min(beside, key=lambda other: other.low)
            halves.append((lowest, lowest.with_other(band.share_of(0.5))))
        return halves
    beside = [other for other in own if other.direction == band.direction]
    if not beside:
        return None
    nearest = min(beside, key=lambda other: (max(band.low - other.high, other.low - band.high), other.low))
    return [(nearest, nearest.with_other(band))]


def _ordered(kept: Sequence[Band]) -> list[Band]:
    lengths: dict[str, float] = {}
    for band in kept:
        lengths[band.surface] = lengths.get(band.surface, 0.0) + band.length
    directions = ("both ways", "up", "down")
    return sorted(
        kept, key=lambda band: (-lengths[band.surface], band.surface, directions.index(band.direction), band.low)
    )


@dataclass(frozen=True, slots=True)
class TerrainPart:
    """One terrain as a scenario states it.

    Attributes
    ----------
    name, surface, direction
        As in a scenario.
    units
        Share of the distance in millionths.
    speed
        Mean while moving [m/s].
    grade
        At which share and length of all give exactly the climb.
    stops_per_km
        Stops in 1 km [1/km].
    """

    name: str
    surface: str
    direction: Direction
    units: int
    speed: float
    grade: float
    stops_per_km: float


def terrain_parts(kept: Sequence[Band], stops_per_km: float) -> list[TerrainPart]:
    """Terrains of bands: shares that sum to 1 exactly, and grades that keep the climb.

    Parameters
    ----------
    kept
        The bands, in the order in which they are to stand.
    stops_per_km
        Stops, spread evenly over all of the way [1/km].

    Returns
    -------
    list of TerrainPart
        One for each band.

    Notes
    -----
    Shares are rounded by largest remainders, and each is one unit at least.  The grade is
    ``tan(asin(rise / (share length)))``, so that ``share x length x sin(atan(grade))`` is the rise of the band whatever
    the rounding of its share.
    """
    total = sum(band.length for band in kept)
    exact = [SHARE_UNITS * band.length / total for band in kept]
    units = [max(1, math.floor(share)) for share in exact]
    rest = SHARE_UNITS - sum(units)
    by_need = sorted(range(len(kept)), key=lambda number: units[number] - exact[number])
    for number in by_need[: max(rest, 0)]:
        units[number] += 1
    units[exact.index(max(exact))] += min(rest, 0)  # what the shortest got beyond their length
    parts = []
    for band, name, share in zip(kept, _names(kept), units, strict=True):
        slope = band.rise / (share / SHARE_UNITS * total)
        parts.append(
            TerrainPart(
                name=name,
                surface=band.surface,
                direction=band.direction,
                units=share,
                speed=band.length / band.time,
                grade=math.tan(math.asin(slope)),
                stops_per_km=stops_per_km,
            )
        )
    return parts


def _names(kept: Sequence[Band]) -> list[str]:
    """Names of terrains: surface, direction, and the grades in percent where a direction has several."""
    several: Mapping[tuple[str, str], int] = {
        key: len(list(group)) for key, group in groupby(kept, key=lambda band: (band.surface, band.direction))
    }
    names = []
    for band in kept:
        short = band.surface[:36].rstrip("-")
        if band.direction == "both ways":
            names.append(f"{short}-level")
        elif several[band.surface, band.direction] == 1:
            names.append(f"{short}-{band.direction}")
        else:
            names.append(f"{short}-{band.direction}-{grade_range(band.low, band.high)}")
    for number, name in enumerate(names):
        if name in names[:number]:  # two long names of surfaces that begin alike
            names[number] = f"{name}-{number + 1}"
    return names


def grade_range(low: int, high: int) -> str:
    """Range of grades of classes, in percent: ``2-6`` or ``over-20``."""
    begin = 0.0 if low == 0 else 100.0 * GRADES[low - 1]
    return f"over-{begin:.0f}" if high == len(GRADES) else f"{begin:.0f}-{100.0 * GRADES[high]:.0f}"
