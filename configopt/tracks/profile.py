"""The elevation over the way: evenly spaced, smoothed and levelled, with moving time and place of every step."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from configopt.tracks.cleaning import Note, Points
from configopt.tracks.gpx import Recording
from configopt.tracks.motion import Motion
from configopt.tracks.settings import Settings

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

#: Spacing of the profile [m]; a piece without gaps is divided evenly by about this.
SPACING = 5.0
#: Pieces between gaps that are shorter say nothing of grades [m].
SHORTEST = 20.0
#: Pieces of one ride; each is smoothed for itself.
PIECE_LIMIT = 10_000
#: Longest way of one ride [m].
LONGEST = 20_000_000.0


@dataclass(frozen=True)
class Profile:
    """Steps of even horizontal length in riding order; pieces between gaps follow each other.

    Attributes
    ----------
    run
        Horizontal length of each step [m], shape (n,).
    smooth_rise, rise
        Rise of each step [m], shape (n,): smoothed, and levelled as well.
    duration
        Moving time of each step [s], shape (n,).
    latitude, longitude
        Middle of each step [deg], shape (n,).
    piece
        Number of the piece of each step, shape (n,).
    stops
        Step at which each stop lies, shape (stops,).
    """

    run: Floats
    smooth_rise: Floats
    rise: Floats
    duration: Floats
    latitude: Floats
    longitude: Floats
    piece: Whole
    stops: Whole

    @property
    def length(self) -> Floats:
        """Length of each step along the ground [m], shape (n,)."""
        return np.asarray(np.hypot(self.run, self.rise))

    @property
    def ends(self) -> Floats:
        """Way ridden at the end of each step, along the ground from the start [m], shape (n,)."""
        return np.asarray(np.cumsum(self.length))


def profile(recording: Recording, points: Points, moved: Motion, settings: Settings, notes: list[Note]) -> Profile:
    """Profile of a cleaned ride.

    Parameters
    ----------
    recording
        For its name in findings.
    points, moved
        Cleaned points and how they were ridden.
    settings
        How far elevations are smoothed and levelled.
    notes
        What was smoothed is added.

    Returns
    -------
    Profile
        The steps.

    Raises
    ------
    FindingsError
        If no piece is long enough, or the ride is longer than any.

    Notes
    -----
    Own method.  Elevations are put on an even grid over the horizontal way and averaged twice over the smoothing
    length, which weighs them by a triangle; at the ends of a piece they are mirrored through the end point, so that a
    steady slope stays what it is.  Then undulations lower than the stated height are levelled: between turning
    points that differ by at least this height the elevation is replaced by the nearest one in squares that only rises
    or only falls.  Climb and descent of the result are those between the turning points.
    """
    if float(moved.way.sum()) > LONGEST:
        raise recording.whole("GPX-LIMIT", f"the ride is longer than {LONGEST / 1000.0:,.0f} km", "split the file")
    edges = np.concatenate([[0], np.flatnonzero(moved.breaks) + 1, [len(points.time)]])
    along = np.concatenate([[0.0], np.cumsum(moved.way)])
    short = along[edges[1:] - 1] - along[edges[:-1]] < SHORTEST
    if short.all():
        message = f"nowhere were {SHORTEST:g} m ridden without a gap, stops left out"
        raise recording.whole("GPX-EMPTY", message, "name a ride that goes somewhere")
    count = int((~short).sum())
    if count > PIECE_LIMIT:
        message = f"the ride falls into {count:,} pieces between gaps, at most are {PIECE_LIMIT:,}"
        raise recording.whole("GPX-LIMIT", message, "record without so many gaps, or split the file")
    pieces = [
        _piece(points, moved, begin, end, settings)
        for begin, end in zip(edges[:-1][~short].tolist(), edges[1:][~short].tolist(), strict=True)
    ]
    if short.any():
        lost = float((along[edges[1:] - 1] - along[edges[:-1]])[short].sum())
        count = int(short.sum())
        text = (
            f"{count:,} {'piece' if count == 1 else 'pieces'} between gaps, together {lost:.0f} m, too short to count"
        )
        notes.append(Note("short_pieces", count, text))
    joined = {name: np.concatenate([piece[name] for piece in pieces]) for name in pieces[0]}
    sizes = [len(piece["run"]) for piece in pieces]
    made = Profile(
        **joined,
        piece=np.repeat(np.arange(len(pieces)), sizes),
        stops=_stop_steps(along, moved, edges, short, sizes),
    )
    _tell(made, settings, notes)
    steep = float(np.max(np.abs(made.rise) / made.run))
    if steep > 1.0:
        message = f"after smoothing the steepest grade is {100.0 * steep:.0f} %, allowed are 100 %"
        raise recording.whole("GPX-ELEVATION", message, "smooth further with --smoothing, or record better elevations")
    return made


def _piece(points: Points, moved: Motion, begin: int, end: int, settings: Settings) -> dict[str, Floats]:
    """The grid of one piece: points ``begin`` to ``end`` (not included)."""
    way = np.concatenate([[0.0], np.cumsum(moved.way[begin : end - 1])])
    time = np.concatenate([[0.0], np.cumsum(moved.duration[begin : end - 1])])
    # Points of a stop lie at one place: their elevations are averaged, and moving time does not pass there.
    first = np.concatenate([[True], np.diff(way) > 0.0])
    group = np.cumsum(first) - 1
    sizes = np.bincount(group)
    place = way[first]
    elevation = np.bincount(group, weights=points.elevation[begin:end]) / sizes
    count = max(1, round(float(way[-1]) / SPACING))
    grid = np.linspace(0.0, float(way[-1]), count + 1)
    run = float(way[-1]) / count
    smooth = _smoothed(np.interp(grid, place, elevation), settings.smoothing / run)
    level = levelled(smooth, settings.undulation)
    middle = 0.5 * (grid[1:] + grid[:-1])
    longitude = np.unwrap(points.longitude[begin:end], period=360.0)[first]
    turned = (np.interp(middle, place, longitude) + 180.0) % 360.0 - 180.0
    return {
        "run": np.full(count, run),
        "smooth_rise": np.diff(smooth),
        "rise": np.diff(level),
        "duration": np.diff(np.interp(grid, place, time[first])),
        "latitude": np.interp(middle, place, points.latitude[begin:end][first]),
        "longitude": turned,
    }


def _smoothed(values: Floats, length: float) -> Floats:
    """Averaged twice over a length in steps, to the nearest odd number of values."""
    half = min(max(round(0.5 * (length - 1.0)), 0), len(values) - 1)
    if half == 0:
        return values
    for _ in range(2):
        padded = np.pad(values, half, mode="reflect", reflect_type="odd")
        # About the mean, because a long sum of high elevations is less exact.
        middle = float(padded.mean())
        total = np.concatenate([[0.0], np.cumsum(padded - middle)])
        values = middle + (total[2 * half + 1 :] - total[: -2 * half - 1]) / (2 * half + 1)
    return values


def turning_points(height: Floats, least: float) -> list[int]:
    """Places where a profile turns, each at least a height from the next, with the first and the last place.

    Parameters
    ----------
    height
        Elevations [m], shape (n,).
    least
        Height by which turning points differ at least [m]; the first and the last may differ by less.

    Returns
    -------
    list of int
        Rising places.

    Examples
    --------
    >>> turning_points(np.array([0.0, 5.0, 4.5, 9.0, 2.0, 2.5]), 2.0)
    [0, 3, 5]
    """
    low = high = direction = 0
    turns: list[int] = []
    values = height.tolist()
    for place, value in enumerate(values):
        if direction >= 0 and value > values[high]:
            high = place
        if direction <= 0 and value < values[low]:
            low = place
        if direction >= 0 and values[high] - value >= least:
            turns.append(high)
            direction, low = -1, place
        elif direction <= 0 and value - values[low] >= least:
            turns.append(low)
            direction, high = 1, place
    return sorted({0, *turns, len(values) - 1})


def levelled(height: Floats, least: float) -> Floats:
    """A profile without undulations lower than a height.

    Between turning points it only rises or only falls, and is the nearest such profile in squares.

    References
    ----------
    Pool of adjacent violators: R. E. Barlow et al., Statistical Inference under Order Restrictions, 1972 (from memory),
    as in SciPy's ``isotonic_regression``.

    Examples
    --------
    >>> levelled(np.array([0.0, 5.0, 4.0, 9.0]), 2.0).tolist()
    [0.0, 4.5, 4.5, 9.0]
    """
    if least <= 0.0:
        return height
    from scipy.optimize import isotonic_regression

    level = height.copy()
    turns = turning_points(height, least)
    for begin, end in pairwise(turns):
        part = height[begin : end + 1]
        if end - begin > 1:
            level[begin : end + 1] = isotonic_regression(part, increasing=bool(part[-1] >= part[0])).x
    return level


def _stop_steps(along: Floats, moved: Motion, edges: Whole, short: NDArray[np.bool_], sizes: list[int]) -> Whole:
    """The step of the profile at which each stop lies; stops in pieces that do not count fall out."""
    piece = np.searchsorted(edges, moved.stop_points, side="right") - 1
    offsets = np.cumsum([0, *sizes])
    numbers = np.cumsum(~short) - 1
    found = []
    for point, place in zip(moved.stop_points.tolist(), piece.tolist(), strict=True):
        if short[place]:
            continue
        number = int(numbers[place])
        begin, end = along[edges[place]], along[edges[place + 1] - 1]
        step = int((along[point] - begin) / (end - begin) * sizes[number])
        found.append(int(offsets[number]) + min(step, sizes[number] - 1))
    return np.array(found, dtype=np.int64)


def _tell(made: Profile, settings: Settings, notes: list[Note]) -> None:
    before = float(np.maximum(made.smooth_rise, 0.0).sum())
    after = float(np.maximum(made.rise, 0.0).sum())
    text = (
        f"elevations averaged twice over {settings.smoothing:g} m; undulations below {settings.undulation:g} m "
        f"levelled, which takes {before - after:.0f} m off a climb of {before:.0f} m"
    )
    notes.append(Note("levelled", before - after, text))
