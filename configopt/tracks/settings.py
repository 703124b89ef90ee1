"""What is taken as a stop, a gap, a mistake of the recorder; how far elevations are smoothed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Settings:
    """Figures of the cleaning, all of them own choices without a published source.

    Attributes
    ----------
    smoothing
        Length over which elevations are averaged, twice [m].
    undulation
        Undulations lower than this are levelled [m]: a vehicle carries 2 m of height as speed at 22 km/h
        (v^2 = 2 g h), so they cost neither climbing nor braking.
    fastest
        What no ride exceeds [m/s].
    gap
        Time without points from which on nothing is known about the way between [s].
    stop_speed, stop_time
        Slower than this speed [m/s] for at least this time [s] is a stop.
    """

    smoothing: float = 40.0
    undulation: float = 2.0
    fastest: float = 120.0 / 3.6
    gap: float = 20.0
    stop_speed: float = 2.0 / 3.6
    stop_time: float = 5.0
