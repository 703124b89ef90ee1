"""Coast-downs with a known truth, and what is asked of an estimate over many seeds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import binom

from configopt.learning.coast_down import CoastDown, Run, coast_down

GRAVITY = 9.80665
#: Between the ends of an interval that holds 95 % of a normal distribution, in standard deviations, halved.
NORMAL_95 = 1.959963984540054


def require_unbiased(errors: Sequence[float]) -> None:
    """The mean error lies within three of its own standard errors."""
    found = np.asarray(errors)
    assert abs(found.mean()) < 3.0 * found.std(ddof=1) / np.sqrt(len(found)), summary(found)


def coverage(errors: Sequence[float], spreads: Sequence[float]) -> float:
    return float(np.mean(np.abs(errors) <= NORMAL_95 * np.asarray(spreads)))


def require_coverage(errors: Sequence[float], spreads: Sequence[float]) -> None:
    """95 % intervals hold the truth in 92.5 to 97.5 % of 500 seeds; of fewer as often as chance has it (1 in 1,000)."""
    count, found = len(errors), coverage(errors, spreads)
    if count >= 500:
        assert 0.925 <= found <= 0.975, f"{summary(errors)}: {found:.1%}"
    else:
        assert round(found * count) >= binom.ppf(0.001, count, 0.95), f"{summary(errors)}: {found:.1%}"
        # What no count of so few can show: intervals far too wide.
        assert np.median(np.abs(errors) / np.asarray(spreads)) > 0.25, summary(errors)


def require_sound(errors: Sequence[float], spreads: Sequence[float]) -> None:
    require_unbiased(errors)
    require_coverage(errors, spreads)


def summary(errors: Sequence[float]) -> str:
    found = np.asarray(errors)
    return f"mean error {found.mean():.4g} +- {found.std(ddof=1) / np.sqrt(len(found)):.2g}"


@dataclass(frozen=True)
class Track:
    """How the coast-downs of one study are ridden."""

    pairs: int = 5
    fast: float = 14.0
    slow: float = 2.0
    rate: float = 5.0
    """Readings per second."""
    noise: float = 0.05
    """Standard deviation of one speed reading [m/s]."""
    scatter: float = 0.0
    """Relative standard deviation of the ground's force from run to run."""
    wind: tuple[float, float] = (0.0, 0.0)
    """Mean wind of a test is drawn between these [m/s]."""
    gusts: float = 0.0
    """Standard deviation of the wind from pair to pair [m/s]."""
    grade: tuple[float, float] = (0.0, 0.0)
    force: float = 85.0
    air: float = 0.37
    air_known: float = 0.0
    """Relative standard deviation of the true term of the air around the one given; 0 to have it fitted."""
    mass: float = 170.0
    inertia: float = 179.0
    shape: tuple[np.ndarray, np.ndarray] | None = None


def ridden(track: Track, seeds: int, first: int = 0) -> tuple[list[CoastDown], np.ndarray]:
    """What is estimated from each of many tests, and the true term of the air in each."""
    rng = np.random.default_rng([20260514, first])
    runs = seeds * track.pairs * 2
    way = np.tile([1.0, -1.0], seeds * track.pairs)
    force = track.force * (1.0 + track.scatter * rng.normal(size=runs))
    air = track.air * (1.0 + track.air_known * rng.normal(size=seeds))
    wind = np.repeat(rng.uniform(*track.wind, seeds), track.pairs) + track.gusts * rng.normal(size=runs // 2)
    grade = np.repeat(rng.uniform(*track.grade, seeds), track.pairs * 2)
    time, speed = rolled_out(track, force, np.repeat(air, track.pairs * 2), np.repeat(wind, 2), grade, way)
    found = []
    for seed in range(seeds):
        pairs = []
        for pair in range(track.pairs):
            columns = [(seed * track.pairs + pair) * 2 + which for which in (0, 1)]
            out, back = (_read(track, str(pair), which == 0, time, speed[:, c], rng) for which, c in enumerate(columns))
            pairs.append((out, back))
        found.append(
            coast_down(
                pairs,
                mass=track.mass,
                equivalent_mass=track.inertia,
                shape=track.shape,
                air=(track.air, track.air_known * track.air) if track.air_known else None,
                fixed_air=bool(track.air_known),
            )
        )
    return found, air


def rolled_out(
    track: Track, force: np.ndarray, air: np.ndarray, wind: np.ndarray, grade: np.ndarray, way: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Times, and speeds of many runs at them, until all are slow: fine steps of the classical fourth-order rule."""
    step = 0.02

    def slowing(v: np.ndarray) -> np.ndarray:
        through = v + way * wind
        ground = force if track.shape is None else force * np.interp(v, *track.shape)
        along = ground + way * track.mass * GRAVITY * grade + air * through * np.abs(through)
        return -along / track.inertia

    speed = [np.full(len(force), track.fast)]
    while (speed[-1] > track.slow).any() and len(speed) < 10_000:
        v = speed[-1]
        a = slowing(v)
        b = slowing(v + 0.5 * step * a)
        c = slowing(v + 0.5 * step * b)
        d = slowing(v + step * c)
        speed.append(v + step / 6.0 * (a + 2.0 * b + 2.0 * c + d))
    return step * np.arange(len(speed)), np.array(speed)


def _read(track: Track, number: str, out: bool, time: np.ndarray, speed: np.ndarray, rng: np.random.Generator) -> Run:
    end = time[int(np.argmax(speed <= track.slow))]
    at = np.arange(0.0, end, 1.0 / track.rate)
    return Run(number, out, at, np.interp(at, time, speed) + track.noise * rng.normal(size=len(at)))
