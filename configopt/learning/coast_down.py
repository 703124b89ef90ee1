"""Coast-down: from speeds over time, ridden both ways, to the force of the ground and the term of the air.

The vehicle rolls out by itself; what slows it is the ground, the air, a grade and the wind.  A pair of runs over the
same stretch, out and back, meets the grade and the wind once from each side: both are estimated from the pair and so do
not pass into the force of the ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.physics.loads import GRAVITY

Array = NDArray[np.float64]
#: Readings of one run after averaging; a logger at 1 kHz holds no more about a run of half a minute.
MOST_READINGS = 400
#: Steps of the integration over a run.
_STEPS = 64
_ROUNDS = 30
#: Wind along the stretch that a usable test stays below [m/s] (UN GTR 2, coast-down; from memory).
WIND_LIMIT = 3.0
#: What is known about wind and grade along the stretch before a pair is ridden [m/s], [1]: both are usable tests' own
#: limits, and keep a pair that cannot tell them from the ground's force from blowing them up.
_WIND_KNOWN, _GRADE_KNOWN = 2.0, 0.03
#: Relative standard uncertainty above which the term of the air is not taken from a test.
AIR_IDENTIFIED = 0.15


@dataclass(frozen=True)
class Run:
    """One run: times from its start [s], speeds [m/s], which way, and which readings of the log it holds."""

    number: str
    out: bool
    time: Array
    speed: Array


@dataclass(frozen=True)
class Pair:
    """What one pair gives: force of the ground [N], air term [N s2/m2], head wind on the way out [m/s], grade [1]."""

    force: float
    air: float
    wind: float
    grade: float
    scatter: float
    """Root mean square of what the fit leaves of the speeds [m/s]."""
    information: Array
    """Variance of force and air term from the scatter of the speeds alone, (2, 2)."""


@dataclass(frozen=True)
class CoastDown:
    """Result over all pairs."""

    force: float
    """Force of the ground at the reference speed, all wheels [N]."""
    force_uncertainty: float
    """Such that a normal distribution holds 95 % where Student's does, of the few pairs there are [N]."""
    air: float
    """Drag over speed squared [N s2/m2] = half density times drag area."""
    air_uncertainty: float
    air_fitted: bool
    """Whether the air term is the test's own; else it was given."""
    pairs: tuple[Pair, ...]


def averaged(time: Array, speed: Array, most: int = MOST_READINGS) -> tuple[Array, Array]:
    """Readings averaged in groups of neighbours, so that no more than ``most`` are left.

    >>> t, v = averaged(np.arange(1000.0), np.arange(1000.0), 100)
    >>> len(t), float(t[0]), float(v[0])
    (100, 4.5, 4.5)
    """
    group = -(-len(time) // most)
    whole = len(time) // group * group
    return time[:whole].reshape(-1, group).mean(axis=1), speed[:whole].reshape(-1, group).mean(axis=1)


def coast_down(
    pairs: Sequence[tuple[Run, Run]],
    *,
    mass: float,
    equivalent_mass: float,
    shape: tuple[Array, Array] | None = None,
    air: tuple[float, float] | None = None,
    fixed_air: bool = False,
) -> CoastDown:
    """Estimate the force of the ground and the term of the air.

    Parameters
    ----------
    pairs
        Runs out and back over the same stretch.
    mass
        Ridden mass [kg].
    equivalent_mass
        With what the turning parts add [kg].
    shape
        How the ground's force varies with the speed: rising speeds [m/s] and ratios to the force at the reference
        speed; None for a constant force.
    air
        Term of the air and its standard uncertainty [N s2/m2], used where the runs do not tell it.
    fixed_air
        True to use it in any case.

    Returns
    -------
    CoastDown

    Raises
    ------
    ValueError
        Without pairs, or without ``air`` where it is needed.

    Notes
    -----
    m_e dv/dt = -(A s(v) +- m g i + C (v +- w)|v +- w|), fitted to the speeds of each pair by least squares in A, C, w,
    i and both starting speeds; the pairs' mean is the result, and their scatter, which holds gusts, lines and riders,
    its uncertainty (Student's distribution).  With fewer than three pairs the scatter of the speeds has to do, doubled.

    References
    ----------
    Opposite runs and at least five each way: 40 CFR 86.529-98; own estimator.
    """
    if not pairs:
        raise ValueError("a coast-down needs at least one pair of runs out and back")
    fitted = [] if fixed_air else [_fit(pair, mass, equivalent_mass, shape, None) for pair in pairs]
    if fitted:
        mean, spread = _mean(fitted)
        if spread[1] <= AIR_IDENTIFIED * mean[1]:
            return CoastDown(mean[0], spread[0], mean[1], spread[1], True, tuple(fitted))
    if air is None:
        raise ValueError("the runs do not tell the term of the air: give it")
    given, uncertain = air
    fixed = [_fit(pair, mass, equivalent_mass, shape, given) for pair in pairs]
    mean, spread = _mean(fixed)
    # What is not known of the air passes into the force of the ground.
    moved = [_fit(pair, mass, equivalent_mass, shape, given + uncertain).force for pair in pairs]
    by_air = float(np.mean(moved)) - mean[0]
    return CoastDown(mean[0], float(np.hypot(spread[0], by_air)), given, uncertain, False, tuple(fixed))


def _mean(pairs: Sequence[Pair]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Mean force and air term over pairs, and their uncertainties."""
    from scipy.special import stdtrit

    values = np.array([(pair.force, pair.air) for pair in pairs])
    count = len(pairs)
    mean = values.mean(axis=0)
    if count >= 3:
        factor = float(stdtrit(count - 1, 0.975)) / 1.959964
        spread = factor * values.std(axis=0, ddof=1) / np.sqrt(count)
    else:
        within = np.mean([np.diag(pair.information) for pair in pairs], axis=0)
        spread = 2.0 * np.sqrt(within / count)
    return (float(mean[0]), float(mean[1])), (float(spread[0]), float(spread[1]))


def _fit(
    pair: tuple[Run, Run],
    mass: float,
    equivalent_mass: float,
    shape: tuple[Array, Array] | None,
    air: float | None,
) -> Pair:
    """Least squares over one pair, Gauss and Newton's way with a damped first step."""
    runs = [averaged(run.time, run.speed) for run in pair]
    measured = np.concatenate([speed for _, speed in runs])
    starts = [float(speed[: max(1, len(speed) // 20)].mean()) for _, speed in runs]
    slowing = np.mean([(speed[0] - speed[-1]) / max(time[-1] - time[0], 1e-9) for time, speed in runs])
    middle = float(np.mean([speed.mean() for _, speed in runs]))
    drag = 0.3 if air is None else air
    force = max(equivalent_mass * float(slowing) - drag * middle**2, 0.1 * equivalent_mass * max(float(slowing), 0.01))
    point = np.array([force, drag, 0.0, 0.0, *starts])
    free = np.array([True, air is None, True, True, True, True])
    step = np.array([1e-3 * max(force, 1.0), 1e-4, 1e-3, 1e-5, 1e-3, 1e-3])
    known = np.array([0.0, 0.0, 1.0 / _WIND_KNOWN, 1.0 / _GRADE_KNOWN, 0.0, 0.0])
    scatter = 0.05

    def speeds(points: Array) -> Array:
        return np.concatenate(
            [
                _rolled(run[0], points, way, mass, equivalent_mass, shape)
                for run, way in zip(runs, (1.0, -1.0), strict=True)
            ],
            axis=1,
        )

    best = np.inf
    for _ in range(_ROUNDS):
        shifted = np.vstack([point, point + np.diag(step)])
        found = speeds(shifted)
        residual = measured - found[0]
        scatter = max(float(np.sqrt(np.mean(residual**2))), 1e-7)
        slope = (found[1:] - found[0]).T / step
        left = np.concatenate([residual / scatter, -known * point])
        matrix = np.vstack([slope / scatter, np.diag(known)])[:, free]
        move, *_ = np.linalg.lstsq(matrix, left, rcond=None)
        point = point.copy()
        point[free] += move
        if abs(best - scatter) <= 1e-9 * scatter and np.all(np.abs(move) <= 1e-3 * step[free]):
            break
        best = scatter
    variance = np.zeros((6, 6))
    variance[np.ix_(free, free)] = np.linalg.pinv(matrix.T @ matrix) * _correlated(runs, residual)
    return Pair(
        float(point[0]), float(point[1]), float(point[2]), float(point[3]), scatter, np.asarray(variance[:2, :2])
    )


def _correlated(runs: Sequence[tuple[Array, Array]], residual: Array) -> float:
    """By how much neighbours that err alike widen variances: (1 + r)/(1 - r) of the first autocorrelation r."""
    at, products, squares = 0, 0.0, 0.0
    for time, _ in runs:
        own = residual[at : at + len(time)]
        products += float(own[:-1] @ own[1:])
        squares += float(own @ own)
        at += len(time)
    r = min(max(products / squares, 0.0), 0.95) if squares > 0.0 else 0.0
    return (1.0 + r) / (1.0 - r)


def _rolled(
    time: Array, points: Array, way: float, mass: float, equivalent_mass: float, shape: tuple[Array, Array] | None
) -> Array:
    """Speeds at times for each row of A, C, w, i and the starting speeds of both runs; (rows, times) [m/s]."""
    from scipy.interpolate import CubicHermiteSpline

    force, air, wind, grade = (points[:, column] for column in range(4))
    speed = points[:, 4 if way > 0 else 5].copy()
    constant = way * mass * GRAVITY * grade

    def slowing(v: Array) -> Array:
        ground = force if shape is None else force * np.interp(v, *shape)
        through = v + way * wind
        return np.asarray(-(ground + constant + air * through * np.abs(through)) / equivalent_mass)

    grid = np.linspace(time[0], time[-1], _STEPS + 1)
    length = grid[1] - grid[0]
    values, slopes = np.empty((len(points), _STEPS + 1)), np.empty((len(points), _STEPS + 1))
    for number in range(_STEPS + 1):
        first = slowing(speed)
        values[:, number], slopes[:, number] = speed, first
        if number == _STEPS:
            break
        second = slowing(speed + 0.5 * length * first)
        third = slowing(speed + 0.5 * length * second)
        fourth = slowing(speed + length * third)
        speed = speed + length / 6.0 * (first + 2.0 * second + 2.0 * third + fourth)
    spline: Any = CubicHermiteSpline(grid, values, slopes, axis=1)
    return np.asarray(spline(time))
