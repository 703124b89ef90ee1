"""The climbs and descents that matter: the longest, the highest, and the steepest over some lengths."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from configopt.tracks.profile import Profile, turning_points

Floats = NDArray[np.float64]
Direction = Literal["up", "down"]

#: Lengths over which the steepest mean grade is looked for [m].
WINDOWS = (20.0, 100.0, 500.0)
#: What comes back from a climb by less than this does not end it, and what is lower is none [m].
LEAST_HEIGHT = 10.0
#: Ground that differs by less is level [m].
_SAME_HEIGHT = 0.1


@dataclass(frozen=True, slots=True)
class Stretch:
    """A climb or descent, or the steepest part of one.

    Attributes
    ----------
    what
        ``longest``, ``highest``, or ``steepest over 100 m``.
    direction
        Up or down.
    first, last
        Its steps in the profile; ``last`` is the first one after it.
    begin
        Way from the start [m].
    length
        Along the ground [m].
    height
        Net height won or lost [m].
    grade
        Mean: height over horizontal length.
    speed
        Mean while moving [m/s].
    """

    what: str
    direction: Direction
    first: int
    last: int
    begin: float
    length: float
    height: float
    grade: float
    speed: float


def stretches(made: Profile) -> list[Stretch]:
    """Climbs, then descents, each: longest, highest where it is another, steepest over 20, 100 and 500 m.

    Parameters
    ----------
    made
        Profile of a ride.

    Returns
    -------
    list of Stretch
        Those that are there; a ride on the level has none.

    Notes
    -----
    Own method.  Climbs and descents lie between turning points of the levelled profile that differ by 10 m or more.
    The steepest mean grade is that of the smoothed profile over the stated horizontal length, to the nearest step of
    about 5 m; what is shorter than the smoothing is steeper than shown.
    """
    found: list[Stretch] = []
    legs = list(_legs(made))
    for direction in ("up", "down"):
        own = [leg for leg in legs if leg[2] == direction]
        if own:
            longest = _stretch(made, "longest", *max(own, key=lambda leg: made.run[leg[0] : leg[1]].sum()))
            highest = _stretch(made, "highest", *max(own, key=lambda leg: abs(made.rise[leg[0] : leg[1]].sum())))
            found.append(longest)
            if highest.first != longest.first:
                found.append(highest)
        for window in WINDOWS:
            place = _steepest(made, window, direction)
            if place is not None:
                found.append(_stretch(made, f"steepest over {window:.0f} m", *place, smooth=True))
    return found


def _pieces(made: Profile) -> Iterator[tuple[int, int]]:
    edges = np.concatenate([[0], np.flatnonzero(np.diff(made.piece)) + 1, [len(made.run)]]).tolist()
    yield from pairwise(edges)


def _legs(made: Profile) -> Iterator[tuple[int, int, Direction]]:
    for begin, end in _pieces(made):
        height = np.concatenate([[0.0], np.cumsum(made.rise[begin:end])])
        turns = turning_points(height, LEAST_HEIGHT)
        for first, last in pairwise(turns):
            change = float(height[last] - height[first])
            if abs(change) >= LEAST_HEIGHT:
                first, last = _without_level_ends(height, first, last)
                yield begin + first, begin + last, "up" if change > 0.0 else "down"


def _without_level_ends(height: Floats, first: int, last: int) -> tuple[int, int]:
    """A climb begins where the ground last was as low as at its foot, and ends where it first is as high as its top."""
    part = height[first : last + 1]
    foot = np.flatnonzero(np.abs(part - part[0]) < _SAME_HEIGHT)
    top = np.flatnonzero(np.abs(part - part[-1]) < _SAME_HEIGHT)
    return first + int(foot[-1]), first + int(top[0])


def _steepest(made: Profile, window: float, direction: Direction) -> tuple[int, int, Direction] | None:
    best: tuple[float, int, int] | None = None
    for begin, end in _pieces(made):
        count = max(1, round(window / float(made.run[begin])))
        if count > end - begin:
            continue
        height = np.concatenate([[0.0], np.cumsum(made.smooth_rise[begin:end])])
        grades = (height[count:] - height[:-count]) / (count * float(made.run[begin]))
        signed = grades if direction == "up" else -grades
        place = int(np.argmax(signed))
        if signed[place] > 0.0 and (best is None or signed[place] > best[0]):
            best = float(signed[place]), begin + place, begin + place + count
    return None if best is None else (best[1], best[2], direction)


def _stretch(made: Profile, what: str, first: int, last: int, direction: Direction, smooth: bool = False) -> Stretch:
    part = slice(first, last)
    rise = abs(float((made.smooth_rise if smooth else made.rise)[part].sum()))
    run, time = float(made.run[part].sum()), float(made.duration[part].sum())
    length = float(made.length[part].sum())
    return Stretch(
        what=what,
        direction=direction,
        first=first,
        last=last,
        begin=float(made.length[:first].sum()),
        length=length,
        height=rise,
        grade=rise / run,
        speed=length / time if time > 0.0 else 0.0,
    )
