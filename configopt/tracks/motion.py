"""From points to distance, moving time and stops."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.tracks.cleaning import Note, Points
from configopt.tracks.geodesy import steps
from configopt.tracks.settings import Settings

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Standing still over a gap: no further than this [m].
_SAME_PLACE = 100.0
#: How much of the way noise of position may add at most: the averaging is chosen by it.
_EXCESS = 0.002
#: Longest averaging of positions [m] and [s].
_AVERAGED_WAY, _AVERAGED_TIME = 60.0, 15.0
#: Speeds are taken over this time [s].
_SPEED_TIME = 5.0
#: Share of points with a speed of their own from which on the recorder's speeds are taken.
_ENOUGH_SPEEDS = 0.9


@dataclass(frozen=True)
class Motion:
    """How the points were ridden.

    Attributes
    ----------
    way
        Horizontal distance of each step between points [m], 0 while standing or unknown, shape (n - 1,).
    duration
        Moving time of each step [s], shape (n - 1,).
    breaks
        Steps about which nothing is known, shape (n - 1,).
    stop_points
        First point of each stop, shape (stops,).
    stopped
        Time of all stops together [s].
    """

    way: Floats
    duration: Floats
    breaks: Flags
    stop_points: NDArray[np.int64]
    stopped: float


def motion(points: Points, settings: Settings, notes: list[Note]) -> Motion:
    """Distances, moving times and stops of cleaned points.

    Parameters
    ----------
    points
        Points in order of time, at least two.
    settings
        What counts as a stop and as a gap.
    notes
        Gaps and averaging are added to them.

    Returns
    -------
    Motion
        Steps between the points.

    Notes
    -----
    Own method.  A step that takes longer than the gap time (or ten times the usual interval, if that is longer) is a
    gap, unless start and end show that the vehicle stood: then it is a stop.  Over a gap neither way nor time nor climb
    is counted.  Noise of position would lengthen the way; its size s follows from third differences (of white noise
    they have the variance 20 s^2; a smooth ride has next to none), and positions are averaged over as many points m as
    bring the excess (s/(m L))^2 at the usual step L to 0.2 %.
    """
    east, north = steps(points.latitude, points.longitude)
    wait = np.diff(points.time)
    straight = np.hypot(east, north)
    long = wait > max(settings.gap, 10.0 * float(np.median(wait)))
    stood = (straight <= _SAME_PLACE) & (straight < settings.stop_speed * wait)
    gap = long & ~stood & ~points.breaks
    breaks = points.breaks | gap
    if gap.any():
        crow, lost = float(straight[gap].sum()), float(wait[gap].sum())
        count = int(gap.sum())
        text = (
            f"{count:,} {'gap' if count == 1 else 'gaps'} of {lost / 60.0:.1f} min and {crow / 1000.0:.2f} km "
            "as the crow flies, not counted"
        )
        notes.append(Note("gaps", count, text))
    if points.breaks.any():
        count = int(points.breaks.sum())
        notes.append(Note("jumps", count, f"{count:,} {'jump' if count == 1 else 'jumps'} of position, not counted"))
    moving_breaks = breaks | long
    x, y = np.concatenate([[0.0], np.cumsum(east)]), np.concatenate([[0.0], np.cumsum(north)])
    x, y = _averaged(x, y, points.time, straight, moving_breaks, notes)
    way = np.hypot(np.diff(x), np.diff(y))
    speed = _speeds(points, x, y, breaks)
    slow = _slow(speed, way, points.time, settings.stop_speed) & ~breaks
    stops, stop_points = _stops(slow, wait, settings)
    still = stops | breaks
    return Motion(
        way=np.where(still, 0.0, way),
        duration=np.where(still, 0.0, wait),
        breaks=breaks,
        stop_points=stop_points,
        stopped=float(wait[stops].sum()),
    )


def _averaged(
    x: Floats, y: Floats, time: Floats, straight: Floats, breaks: Flags, notes: list[Note]
) -> tuple[Floats, Floats]:
    """Positions averaged over as many points as their noise asks for; over none where it is small."""
    if len(x) < 8:
        return x, y
    moving = straight[straight > 0.0]
    step = float(np.median(moving)) if len(moving) else 0.0
    sound = ~(breaks[:-2] | breaks[1:-1] | breaks[2:])
    if not sound.any() or step == 0.0:
        return x, y
    third = np.concatenate([np.diff(x, 3)[sound], np.diff(y, 3)[sound]])
    noise = 1.4826 * float(np.median(np.abs(third))) / math.sqrt(20.0)
    wanted = noise / (step * math.sqrt(_EXCESS))
    most = min(_AVERAGED_WAY / step, _AVERAGED_TIME / float(np.median(np.diff(time))))
    half = int(min(math.ceil(wanted), most)) // 2
    if wanted <= 1.0 or half < 1:
        return x, y
    count = 2 * half + 1
    notes.append(
        Note("position_noise", noise, f"positions scatter by {noise:.2g} m: averaged over {count} points in a row")
    )
    edges = np.concatenate([[0], np.flatnonzero(breaks) + 1, [len(x)]])
    first = np.repeat(edges[:-1], np.diff(edges))
    last = np.repeat(edges[1:] - 1, np.diff(edges))
    place = np.arange(len(x))
    # Near an end the window shrinks on both sides, so that the end itself stays where it is.
    reach = np.minimum(half, np.minimum(place - first, last - place))
    averaged = []
    for values in (x, y):
        total = np.concatenate([[0.0], np.cumsum(values)])
        averaged.append((total[place + reach + 1] - total[place - reach]) / (2 * reach + 1))
    return averaged[0], averaged[1]


def _speeds(points: Points, x: Floats, y: Floats, breaks: Flags) -> Floats:
    """Speed of each step [m/s]: the recorder's own where it states them, else the way over some seconds."""
    stated = ~np.isnan(points.speed)
    if float(stated.mean()) >= _ENOUGH_SPEEDS:
        filled = np.interp(points.time, points.time[stated], points.speed[stated])
        speed = 0.5 * (filled[1:] + filled[:-1])
        # While a recorder pauses its speeds say nothing of the time between.
        wait = np.diff(points.time)
        return np.where(wait > _SPEED_TIME, np.hypot(np.diff(x), np.diff(y)) / wait, speed)
    t = points.time
    middle = 0.5 * (t[1:] + t[:-1])
    half = np.maximum(0.5 * _SPEED_TIME, 0.5 * np.diff(t))
    edges = np.concatenate([[0], np.flatnonzero(breaks) + 1, [len(t)]])
    piece = np.repeat(np.arange(len(edges) - 1), np.diff(edges))[:-1]
    begin = np.maximum(middle - half, t[edges[:-1]][piece])
    end = np.minimum(middle + half, t[edges[1:] - 1][piece])
    way = np.hypot(np.interp(end, t, x) - np.interp(begin, t, x), np.interp(end, t, y) - np.interp(begin, t, y))
    return np.where(end > begin, way / np.where(end > begin, end - begin, 1.0), np.inf)


def _slow(speed: Floats, way: Floats, time: Floats, limit: float) -> Flags:
    """Steps below a speed; beside one, where the speed over some seconds still holds the ride, its own speed counts."""
    slow = speed < limit
    if not slow.any():
        return slow
    middle = 0.5 * (time[1:] + time[:-1])
    places = middle[slow]
    after = np.searchsorted(places, middle)
    near = np.minimum(
        np.abs(middle - places[np.maximum(after - 1, 0)]), np.abs(places[np.minimum(after, len(places) - 1)] - middle)
    )
    return np.asarray(slow | ((near <= 0.5 * _SPEED_TIME) & (way < limit * np.diff(time))))


def _stops(slow: Flags, wait: Floats, settings: Settings) -> tuple[Flags, NDArray[np.int64]]:
    """Which steps belong to a stop, and the point at which each stop begins."""
    change = np.diff(np.concatenate([[False], slow, [False]]).astype(np.int8))
    begins, ends = np.flatnonzero(change == 1), np.flatnonzero(change == -1)
    elapsed = np.concatenate([[0.0], np.cumsum(wait)])
    # Half a thousandth, because a sum of many intervals is not exact.
    enough = elapsed[ends] - elapsed[begins] >= settings.stop_time - 0.0005
    marks = np.zeros(len(slow) + 1, dtype=np.int64)
    np.add.at(marks, begins[enough], 1)
    np.add.at(marks, ends[enough], -1)
    stops = np.cumsum(marks)[:-1] > 0
    return stops, begins[enough]
