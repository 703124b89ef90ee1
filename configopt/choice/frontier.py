"""Every choice that no other beats in all aims at once, proven complete.

The open region below what is found so far is kept as zones.  In each, a search for the best choice either finds a
point, which no other beats, or proves the zone empty.  Where few choices fit at all, every one is appraised instead.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import VehicleModel
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import Settings, Stopped, run_search
from configopt.choice.weights import AIM_LIMITS, AIMS, Weights
from configopt.choice.zones import Zones

Array = NDArray[np.float64]
#: Quantities count as equal within this share.
EQUAL = 1e-9
#: Share by which a point of a zone must lie below its corner; more than equality and the slack of a limit together.
BELOW = 3e-9
#: Points found at most; where there are more, the trade-off is not complete and says so.
MOST_POINTS = 10_000


@dataclass(frozen=True)
class Point:
    """One point of the trade-off: quantities in the order of the aims [SI], and all choices that reach it."""

    values: Array
    choices: Choices


class Pool:
    """Choices met on the way that meet all limits and that no other beats; equally good ones are kept."""

    def __init__(self, columns: list[int]) -> None:
        self.columns = columns
        self.choices = Choices.join([])
        self.values = np.zeros((0, len(columns)))

    def add(self, choices: Choices, quantities: Array) -> None:
        """Keep what no other beats."""
        every = Choices.join([self.choices, choices])
        values = np.concatenate([self.values, quantities[:, self.columns]])
        keep = unbeaten(values)
        every, values = every.take(keep), values[keep]
        first = every.first_of_each()
        self.choices, self.values = every.take(first), values[first]

    def inside(self, tops: Array) -> Choices | None:
        """Those below a corner."""
        rows = np.flatnonzero((self.values <= tops).all(axis=1))
        return self.choices.take(rows) if rows.size else None

    def points(self, tops: Array) -> list[Point]:
        """Points below a corner, each with all its choices."""
        rows = np.flatnonzero((self.values <= tops).all(axis=1))
        found: list[Point] = []
        while rows.size:
            first = self.values[rows[0]]
            same = equal(self.values[rows], first)
            found.append(Point(first, self.choices.take(rows[same])))
            rows = rows[~same]
        return found


def equal(values: Array, point: Array) -> NDArray[np.bool_]:
    """Which rows are equally good as a point."""
    return np.asarray((np.abs(values - point) <= EQUAL * np.abs(point)).all(axis=1))


def unbeaten(values: Array) -> NDArray[np.int64]:
    """Rows that no other row beats: is at most as large throughout, and smaller somewhere by more than equality.

    >>> unbeaten(np.array([[1.0, 3.0], [2.0, 3.0], [3.0, 1.0], [1.0, 3.0]])).tolist()
    [0, 2, 3]
    """
    order = np.lexsort(values.T[::-1])
    kept: list[int] = []
    front = np.zeros((0, values.shape[1]))
    for row in order:
        point = values[row]
        below = front[(front <= point * (1.0 + EQUAL)).all(axis=1)]
        if not len(below) or equal(below, point).all():
            kept.append(int(row))
            if not len(below):
                front = np.concatenate([front, point[None, :]])
    return np.sort(np.array(kept, dtype=np.int64))


@dataclass(frozen=True)
class Zone:
    """A zone as a search sees it: rates of the aims, ceilings of the quantities, and what the aim comes to there."""

    weights: dict[str, float]
    tops: Array
    model: VehicleModel
    cutoff: float


@dataclass
class FrontierSearch:
    """Search for all points over some aims."""

    candidates: Candidates
    aims: tuple[str, ...]
    settings: Settings
    points: list[Point] = field(default_factory=list)
    complete: bool = False
    rounds: int = 0
    appraised: int = 0
    began: float = field(default_factory=time.monotonic)

    def __post_init__(self) -> None:
        self.columns = [AIMS.index(name) for name in self.aims]
        self.pool = Pool(self.columns)
        self.settings = replace(self.settings, solve=False)
        self.zones = Zones(len(self.aims))

    def run(self) -> None:
        """Find every point, or as many as time allows."""
        if self.candidates.count() <= self.settings.enumerate_at_most:
            for batch in self.candidates.every_choice():
                if self.over():
                    # Points of a part of the choices may be beaten by the rest.
                    return
                self.appraised += len(batch)
                values, met = self.candidates.quantities(batch)
                self.pool.add(batch.take(np.flatnonzero(met)), values[met])
            self.points = self.pool.points(np.full(len(self.aims), np.inf))
            self.complete = True
            return
        while self.zones.corners:
            if len(self.points) >= MOST_POINTS:
                return
            corner = self.next_corner()
            try:
                found = self.best_in(corner)
            except Stopped:
                return
            if found:
                self.points += found
                for point in found:
                    self.zones.add(point.values)
                self.say()
            else:
                self.zones.close(corner)
        self.complete = True

    def say(self) -> None:
        """Progress, if anybody listens."""
        if self.settings.progress is not None:
            self.settings.progress(f"{len(self.points)} points, {len(self.zones.corners)} zones still open")

    def left(self) -> float | None:
        """Seconds left."""
        limit = self.settings.time_limit
        return None if limit is None else limit - (time.monotonic() - self.began)

    def over(self) -> bool:
        """Whether to stop early."""
        left = self.left()
        return self.settings.stop.asked or (left is not None and left <= 0.0)

    def check(self) -> None:
        """End the search where it was asked to."""
        if self.over():
            raise Stopped

    def zone(self, corner: Array) -> Zone:
        """A zone with its rates: by its extent in each aim; an aim without a ceiling does not count."""
        tops = corner * (1.0 - BELOW)
        known = [name for name, top in zip(self.aims, corner, strict=True) if np.isfinite(top)]
        rates = self.candidates.rates
        weights = {name: rates[name] or 1.0 / self.scale(name) for name in self.aims}
        if len(known) > 1:
            lowest = np.min([point.values for point in self.points], axis=0)
            near = self.pool.values[(self.pool.values <= corner * (1.0 + EQUAL)).all(axis=1)]
            extent = corner - (near.min(axis=0) if len(near) > 1 else lowest)
            extent = np.where(extent > 1e-6 * np.abs(corner), extent, corner - lowest)
            if (extent[np.isfinite(corner)] > 0.0).all():
                weights = {name: 1.0 / float(w) for name, w in zip(self.aims, extent, strict=True)}
        if known:
            weights = {name: weights[name] * float(name in known) for name in self.aims}
        by_name = dict(zip(self.aims, tops, strict=True))
        cutoff = sum(weights[name] * float(by_name[name]) for name in known) if known else np.inf
        ceilings = {AIM_LIMITS[name]: float(by_name[name]) for name in known}
        return Zone(weights, tops, self.candidates.model.base.within(ceilings), cutoff)

    def scale(self, name: str) -> float:
        """Size of an aim without a rate in the scenario."""
        return {"mass": 1.0, "rolling_loss": 3.6, "energy": 3.6, "cost": 20.0}[name]

    def best_in(self, corner: Array) -> list[Point]:
        """The point of a zone with the least weighted aim; nothing where the zone is empty."""
        self.check()
        zone = self.zone(corner)
        weights = dict(zone.weights)
        for name, top in zip(self.aims, corner, strict=True):
            # An aim that is open still decides among equals, so that what is found is beaten by nothing.
            if not np.isfinite(top):
                weights[name] = self.candidates.rates[name] or 1.0 / self.scale(name)
        other = self.candidates.variant(zone.model, Weights.of(weights))
        search, proven = run_search(
            other,
            replace(self.settings, time_limit=self.left()),
            start=self.pool.inside(zone.tops),
            cutoff=zone.cutoff if np.isfinite(corner).all() else np.inf,
            watch=self.pool.add,
        )
        self.rounds += search.rounds
        self.appraised += search.appraised
        if not proven:
            raise Stopped
        if search.found is None:
            return []
        values = self.candidates.quantities(search.found)[0][:, self.columns]
        first = values[np.lexsort(values.T[::-1])[0]]
        return [Point(first, search.found.take(np.flatnonzero(equal(values, first))))]

    def next_corner(self) -> Array:
        """The zone to look at next: those with most open sides first, then by extent."""
        corners: Sequence[Array] = self.zones.corners
        if not self.points:
            return corners[0]
        values = np.array([point.values for point in self.points])
        top, lowest = values.max(axis=0), values.min(axis=0)
        span = np.maximum(top - lowest, 1e-12)

        def size(corner: Array) -> tuple[int, float]:
            return int((~np.isfinite(corner)).sum()), float(np.prod((np.minimum(corner, top) - lowest) / span))

        return max(corners, key=size)


def find_frontier(candidates: Candidates, aims: tuple[str, ...], settings: Settings) -> FrontierSearch:
    """Every point over some aims, by the first of them."""
    search = FrontierSearch(candidates, aims, settings)
    search.run()
    search.points.sort(key=lambda point: tuple(point.values))
    return search
