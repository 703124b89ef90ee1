"""What a recorder got wrong: times out of order, jumps and spikes of position, spikes and drift of elevation.

Everything that is changed or left out is counted and told; what cannot be mended is an error.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from configopt.errors import FindingsError
from configopt.tracks.geodesy import steps
from configopt.tracks.gpx import Recording
from configopt.tracks.settings import Settings

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Of normally distributed values the median absolute deviation times this is the standard deviation.
_MAD = 1.4826
#: Deviations beyond so many standard deviations are spikes (Hampel identifier; common practice is 3 and more).
_SPIKE = 6.0
#: What no tire gives: sideways or along [m/s2], and how far a point must lie off at least [m].
_ACCELERATION, _OFF_LINE = 15.0, 10.0
#: A run of points between two jumps that is shorter than this is a mistake, a longer one a ride with a gap [s].
_RUN_TIME = 30.0
_JUMP = 20.0
#: Points on each side of an elevation with which it is compared, and how far it must lie off at least [m].
_NEIGHBOURS, _OFF_HEIGHT = 5, 5.0
#: Start and end no further apart than this [m] are the same place.
_SAME_PLACE = 50.0
#: Drift of a barometer: 10 m an hour is a change of the weather by 1.2 hPa an hour; beyond it the loop does not close.
_DRIFT, _DRIFT_PER_SECOND = 15.0, 10.0 / 3600.0
#: Share of points that may be left out; with more, the recording is not trusted.
_MOST_DROPPED = 0.05
_LEAST_WITH_ELEVATION = 0.5


@dataclass(frozen=True, slots=True)
class Note:
    """One thing that was cleaned: a key, how many points or metres, and words for people."""

    what: str
    count: float
    text: str


@dataclass(frozen=True)
class Points:
    """Points in order of time; all arrays have shape (n,), ``breaks`` (n - 1,).

    ``breaks`` is true for a step about which nothing is known.  Units as in :class:`Recording`.
    """

    latitude: Floats
    longitude: Floats
    elevation: Floats
    time: Floats
    speed: Floats
    breaks: Flags

    def only(self, keep: Flags, breaks: Flags | None = None) -> Points:
        """Some of the points; a break stays where a step that had one is left or bridged."""
        place = np.flatnonzero(keep)
        if breaks is None:
            passed = np.concatenate([[0], np.cumsum(self.breaks)])
            breaks = np.diff(passed[place]) > 0
        fields = {name: getattr(self, name)[keep] for name in ("latitude", "longitude", "elevation", "time", "speed")}
        return Points(**fields, breaks=breaks)


def clean(recording: Recording, settings: Settings) -> tuple[Points, list[Note]]:
    """Points of a recording without the recorder's mistakes, and what was done.

    Parameters
    ----------
    recording
        The points as they are in the file.
    settings
        What counts as a mistake.

    Returns
    -------
    tuple
        The points, at least two, and notes in the order of the work.

    Raises
    ------
    FindingsError
        If too little is left, or so much is wrong that the rest cannot be trusted.
    """
    notes: list[Note] = []
    points = _in_order(recording, notes)
    if len(points.time) < 2:
        message = f"there {'is one point' if len(points.time) else 'is no point'} with a time in it"
        raise recording.whole("GPX-EMPTY", message, "a ride needs at least two")
    points = _without_spikes(recording, points, settings, notes)
    points = _without_jumps(recording, points, settings, notes)
    points = _with_elevation(recording, points, notes)
    points = _without_elevation_spikes(points, notes)
    points = _without_drift(points, notes)
    return points, notes


def _in_order(recording: Recording, notes: list[Note]) -> Points:
    """Points with rising times; the fewest are left out that can be."""
    timed = ~np.isnan(recording.time)
    if not timed.any():
        raise recording.whole(
            "GPX-TIME", "no point has a time, so no speed is known", "name a recorded ride, not a planned route"
        )
    if not timed.all():
        _tell(notes, "without_time", int((~timed).sum()), "without a time, left out")
    place = np.flatnonzero(timed)
    time = recording.time[place]
    rise = np.diff(time)
    kept = _longest_rising(time) if (rise < 0.0).any() else np.concatenate([[True], rise > 0.0])
    same = np.isin(time[~kept], time[kept])
    if same.any():
        _tell(notes, "same_time", int(same.sum()), "with the time of another, left out")
    backward = int((~same).sum())
    if backward:
        first = int(place[1:][rise < 0.0][0])
        if backward > _MOST_DROPPED * len(time):
            message = f"time runs backward here, and {backward:,} of {len(time):,} points are out of order"
            raise FindingsError(
                [recording.finding(first, "GPX-TIME", message, "give each ride a file of its own, or save it anew")]
            )
        where = f"first at line {int(recording.line[first])}"
        _tell(notes, "backward_time", backward, f"out of order in time, left out ({where})")
    chosen = place[kept]
    return Points(
        recording.latitude[chosen],
        recording.longitude[chosen],
        recording.elevation[chosen],
        recording.time[chosen],
        recording.speed[chosen],
        np.zeros(max(len(chosen) - 1, 0), dtype=bool),
    )


def _longest_rising(values: Floats) -> Flags:
    """The longest subsequence that rises strictly (patience sorting, as in Knuth, TAOCP vol. 3, 5.1.4)."""
    ends: list[float] = []
    end_places: list[int] = []
    before = np.full(len(values), -1, dtype=np.int64)
    for place, value in enumerate(values.tolist()):
        length = bisect_left(ends, value)
        if length:
            before[place] = end_places[length - 1]
        if length == len(ends):
            ends.append(value)
            end_places.append(place)
        else:
            ends[length], end_places[length] = value, place
    kept = np.zeros(len(values), dtype=bool)
    place = end_places[-1]
    while place >= 0:
        kept[place] = True
        place = int(before[place])
    return kept


def _without_jumps(recording: Recording, points: Points, settings: Settings, notes: list[Note]) -> Points:
    """Short runs of points that lie where nobody can have ridden are left out; between long ones nothing is known."""
    jumps = _is_jump(points, settings)
    if not jumps.any():
        return points
    edges = np.concatenate([[0], np.flatnonzero(jumps) + 1, [len(points.time)]])
    spans = points.time[edges[1:] - 1] - points.time[edges[:-1]]
    good = spans >= _RUN_TIME
    good[int(np.argmax(spans))] = True
    keep = np.repeat(good, np.diff(edges))
    dropped = int((~keep).sum())
    _require_few(recording, dropped, len(keep), "lie where nobody can have ridden")
    if dropped:
        _tell(notes, "position_jumps", dropped, f"further off than {settings.fastest * 3.6:g} km/h allows, left out")
    points = points.only(keep)
    return replace(points, breaks=points.breaks | _is_jump(points, settings))


def _is_jump(points: Points, settings: Settings) -> Flags:
    length = np.hypot(*steps(points.latitude, points.longitude))
    return np.asarray((length > settings.fastest * np.diff(points.time)) & (length > _JUMP))


def _without_spikes(recording: Recording, points: Points, settings: Settings, notes: list[Note]) -> Points:
    """Single points far off the line between their neighbours: more than a vehicle can turn or brake."""
    if len(points.time) < 5:
        return points
    east, north = steps(points.latitude, points.longitude)
    x, y = np.concatenate([[0.0], np.cumsum(east)]), np.concatenate([[0.0], np.cumsum(north)])
    t = points.time
    before, after = np.diff(t)[:-1], np.diff(t)[1:]
    share = before / (before + after)
    off = np.hypot(x[1:-1] - x[:-2] - share * (x[2:] - x[:-2]), y[1:-1] - y[:-2] - share * (y[2:] - y[:-2]))
    turn = 2.0 * off / (before * after)  # for steady acceleration a: off = a before after / 2
    limit = max(_ACCELERATION, _SPIKE * _MAD * float(np.median(turn)))
    padded = np.concatenate([[0.0], turn, [0.0]])
    peak = (turn >= padded[:-2]) & (turn >= padded[2:])
    # Beside a jump of the whole ride points lie off the line as well, but leaving one out does not mend it.
    mended = np.hypot(x[2:] - x[:-2], y[2:] - y[:-2]) <= settings.fastest * (t[2:] - t[:-2])
    spike = (turn > limit) & (off > _OFF_LINE) & peak & mended
    count = int(spike.sum())
    if not count:
        return points
    _require_few(recording, count, len(t), "are spikes of position")
    _tell(notes, "position_spikes", count, "far off the line between their neighbours, left out")
    return points.only(np.concatenate([[True], ~spike, [True]]))


def _with_elevation(recording: Recording, points: Points, notes: list[Note]) -> Points:
    known = ~np.isnan(points.elevation)
    share = float(known.mean())
    if share < _LEAST_WITH_ELEVATION:
        found = "no point has an elevation" if not known.any() else f"only {100.0 * share:.0f} % of the points have one"
        raise recording.whole(
            "GPX-ELEVATION", f"grades need elevations: {found}", "record with elevations, or add them from a map"
        )
    if known.all():
        return points
    _tell(notes, "without_elevation", int((~known).sum()), "without an elevation, which is put between the others")
    filled = np.interp(points.time, points.time[known], points.elevation[known])
    return replace(points, elevation=filled)


def _without_elevation_spikes(points: Points, notes: list[Note]) -> Points:
    """Elevations far from the median of their neighbours are put between those (Hampel identifier).

    References
    ----------
    R. K. Pearson, Outliers in process modeling and identification, IEEE Transactions on Control Systems Technology
    10(1), 2002 (from memory): median and median absolute deviation of a moving window.
    """
    width = 2 * _NEIGHBOURS + 1
    if len(points.time) < width:
        return points
    padded = np.pad(points.elevation, _NEIGHBOURS, mode="reflect", reflect_type="odd")
    spike = np.zeros(len(points.time), dtype=bool)
    block = 100_000  # medians of a window copy it eleven times
    for begin in range(0, len(points.time), block):
        end = min(begin + block, len(points.time))
        windows = sliding_window_view(padded[begin : end + 2 * _NEIGHBOURS], width)
        middle = np.median(windows, axis=1)
        spread = _MAD * np.median(np.abs(windows - middle[:, None]), axis=1)
        off = np.abs(points.elevation[begin:end] - middle)
        spike[begin:end] = off > np.maximum(_SPIKE * spread, _OFF_HEIGHT)
    if not spike.any() or spike.all():
        return points
    _tell(notes, "elevation_spikes", int(spike.sum()), "with an elevation far off, which is put between the others")
    filled = np.interp(points.time, points.time[~spike], points.elevation[~spike])
    return replace(points, elevation=filled)


def _without_drift(points: Points, notes: list[Note]) -> Points:
    """On a loop the elevation at the end is that at the start; the difference is taken out evenly in time."""
    few = min(_NEIGHBOURS, len(points.time) // 2)
    ends = np.array([0, -1])
    apart = float(np.hypot(*steps(points.latitude[ends], points.longitude[ends]))[0])
    duration = float(points.time[-1] - points.time[0])
    if apart > _SAME_PLACE or duration < 600.0:
        return points
    drift = float(np.median(points.elevation[-few:]) - np.median(points.elevation[:few]))
    if abs(drift) < 0.5:
        return points
    if abs(drift) > _DRIFT + _DRIFT_PER_SECOND * duration:
        text = f"start and end are {apart:.0f} m apart, but {drift:+.0f} m in height: more than drift, so it stands"
        notes.append(Note("no_drift", drift, text))
        return points
    text = f"drift of {drift:+.1f} m: start and end are {apart:.0f} m apart; taken out evenly in time"
    notes.append(Note("drift", drift, text))
    share = (points.time - points.time[0]) / duration
    return replace(points, elevation=points.elevation - drift * share)


def _require_few(recording: Recording, dropped: int, of: int, what: str) -> None:
    if dropped > _MOST_DROPPED * of and dropped > 2:
        message = f"{dropped:,} of {of:,} points {what}; with so many the rest cannot be trusted"
        raise recording.whole("GPX-POSITION", message, "record the ride again, or raise --fastest")


def _tell(notes: list[Note], what: str, count: int, text: str) -> None:
    notes.append(Note(what, count, f"{count:,} {'point' if count == 1 else 'points'} {text}"))
