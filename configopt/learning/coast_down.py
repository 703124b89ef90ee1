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

from configopt.learning.student import student_factor
from configopt.physics.loads import GRAVITY

Array = NDArray[np.float64]
#: Readings of one run after averaging; a logger at 1 kHz holds no more about a run of half a minute.
MOST_READINGS = 400
#: Steps of the integration over a run.
_STEPS = 32
_ROUNDS = 30
#: Wind along the stretch that a usable test stays below [m/s] (UN GTR 2, coast-down; from memory).
WIND_LIMIT = 3.0
#: What is known about wind and grade along the stretch before a pair is ridden [m/s], [1]: both are usable tests' own
#: limits, and keep a pair that cannot tell them from the ground's force from blowing them up.
_WIND_KNOWN, _GRADE_KNOWN = 2.0, 0.03
#: By how much the wind differs from pair to pair [m/s] (common practice, no source), and how well one pair has to tell
#: its wind for the others not to be asked [m/s].
_GUSTS, _WIND_TOLD = 0.5, 0.3
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
    wind_uncertainty: float
    """Standard uncertainty of the wind by this pair and what was known of it before [m/s]."""


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
    drive_drag: float = 0.0,
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
        speed, joined by a smooth curve; None for a constant force.
    air
        Term of the air and its standard uncertainty [N s2/m2], used where the runs do not tell it.
    fixed_air
        True to use it in any case.
    drive_drag
        Of motor and chain at the wheel, the same at all speeds [N]: no part of the ground's force.

    Returns
    -------
    CoastDown

    Raises
    ------
    ValueError
        Without pairs, or without ``air`` where it is needed.

    Notes
    -----
    m_e dv/dt = -(A s(v) + D +- m g i + C (v +- w)|v +- w|), fitted to the speeds of each pair by least squares in A, C,
    w, i and both starting speeds; the pairs' mean is the result, and their scatter, which holds gusts, lines and
    riders, its uncertainty (Student's distribution).  With fewer than three pairs the scatter of the speeds has to do,
    doubled.

    Wind slows both ways by C w^2, which no opposite run cancels.  Where single pairs hardly tell their wind, it is
    first found over all of them, and each then taken to differ from that by gusts only: else a wind that is drawn to
    zero in every pair would pass into the force of the ground.

    References
    ----------
    Opposite runs and at least five each way: 40 CFR 86.529-98; own estimator.
    """
    if not pairs:
        raise ValueError("a coast-down needs at least one pair of runs out and back")
    rolling = _Rolling(mass, equivalent_mass, None if shape is None else _smooth(*shape), drive_drag)

    def fits(known: float | None) -> tuple[list[Pair], float]:
        """Each pair, and what a wind that is not known to all of them leaves unknown of the force [N]."""
        alone = [_fit(pair, rolling, known, (0.0, _WIND_KNOWN)) for pair in pairs]
        if len(pairs) < 3 or max(pair.wind_uncertainty for pair in alone) <= _WIND_TOLD:
            return alone, 0.0
        wind, uncertain = _common_wind(alone)
        by_wind = 2.0 * float(np.mean([pair.air for pair in alone])) * abs(wind) * uncertain
        return [_fit(pair, rolling, known, (wind, _GUSTS)) for pair in pairs], by_wind

    count = len(pairs)
    if not fixed_air:
        fitted, by_wind = fits(None)
        mean, spread = _mean(fitted)
        force_uncertainty, air_uncertainty = _widened(spread[0], by_wind, count), _widened(spread[1], 0.0, count)
        if air_uncertainty <= AIR_IDENTIFIED * mean[1]:
            return CoastDown(mean[0], force_uncertainty, mean[1], air_uncertainty, True, tuple(fitted))
    if air is None:
        raise ValueError("the runs do not tell the term of the air: give it")
    given, uncertain = air
    fixed, by_wind = fits(given)
    mean, spread = _mean(fixed)
    # What is not known of the air passes into the force of the ground.
    moved, _ = fits(given + uncertain)
    by_air = _mean(moved)[0][0] - mean[0]
    force_uncertainty = _widened(spread[0], float(np.hypot(by_air, by_wind)), count)
    return CoastDown(mean[0], force_uncertainty, given, uncertain, False, tuple(fixed))


def _common_wind(pairs: Sequence[Pair]) -> tuple[float, float]:
    """Wind over all pairs, and its standard uncertainty [m/s], from what each says with the same knowledge before."""
    before = 1.0 / _WIND_KNOWN**2
    after = np.array([1.0 / pair.wind_uncertainty**2 for pair in pairs])
    # What a pair itself tells is what it has beyond the knowledge before; that counts once, not once per pair.
    told = float((after - before).sum()) + before
    return float(after @ np.array([pair.wind for pair in pairs])) / told, float(told**-0.5)


def _mean(pairs: Sequence[Pair]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Mean force and air term over pairs, and the standard deviations of these means."""
    values = np.array([(pair.force, pair.air) for pair in pairs])
    count = len(pairs)
    mean = values.mean(axis=0)
    if count >= 3:
        spread = values.std(axis=0, ddof=1) / np.sqrt(count)
    else:
        within = np.mean([np.diag(pair.information) for pair in pairs], axis=0)
        spread = 2.0 * np.sqrt(within / count)
    return (float(mean[0]), float(mean[1])), (float(spread[0]), float(spread[1]))


def _widened(scatter: float, known: float, count: int) -> float:
    """Both together, such that a normal distribution holds 95 % where Student's does: only the scatter is of few pairs.

    References
    ----------
    Effective degrees of freedom by Welch and Satterthwaite: JCGM 100:2008, G.4 (from memory).
    """
    both = float(np.hypot(scatter, known))
    if count < 3 or scatter <= 0.0:
        return both
    free = (count - 1) * (both / scatter) ** 4
    return both * student_factor(free)


@dataclass(frozen=True)
class _Rolling:
    """What all runs have in common: masses [kg], course of the ground's force over the speed, drag of the drive [N]."""

    mass: float
    equivalent_mass: float
    shape: tuple[Array, Array] | None
    drive_drag: float


def _smooth(speed: Array, ratio: Array) -> tuple[Array, Array]:
    """A course through few points, at so many that straight lines between them do."""
    from scipy.interpolate import PchipInterpolator

    fine = np.linspace(speed[0], speed[-1], 16 * (len(speed) - 1) + 1)
    course: Any = PchipInterpolator(speed, ratio)
    return fine, np.asarray(course(fine))


def _fit(pair: tuple[Run, Run], rolling: _Rolling, air: float | None, wind: tuple[float, float]) -> Pair:
    """Least squares over one pair, Gauss and Newton's way; ``wind`` and its uncertainty as known before [m/s]."""
    runs = [averaged(run.time, run.speed) for run in pair]
    measured = np.concatenate([speed for _, speed in runs])
    starts = [float(speed[: max(1, len(speed) // 20)].mean()) for _, speed in runs]
    slowing = np.mean([(speed[0] - speed[-1]) / max(time[-1] - time[0], 1e-9) for time, speed in runs])
    middle = float(np.mean([speed.mean() for _, speed in runs]))
    drag = 0.3 if air is None else air
    whole = rolling.equivalent_mass * float(slowing)
    force = max(whole - drag * middle**2 - rolling.drive_drag, 0.1 * max(whole, 0.01 * rolling.equivalent_mass))
    point = np.array([force, drag, wind[0], 0.0, *starts])
    before = np.array([0.0, 0.0, wind[0], 0.0, 0.0, 0.0])
    free = np.array([True, air is None, True, True, True, True])
    step = np.array([1e-3 * max(force, 1.0), 1e-4, 1e-3, 1e-5, 1e-3, 1e-3])
    known = np.array([0.0, 0.0, 1.0 / wind[1], 1.0 / _GRADE_KNOWN, 0.0, 0.0])
    scatter = 0.05

    def speeds(points: Array) -> Array:
        return np.concatenate(
            [_rolled(run[0], points, way, rolling) for run, way in zip(runs, (1.0, -1.0), strict=True)], axis=1
        )

    for _ in range(_ROUNDS):
        shifted = np.vstack([point, point + np.diag(step)])
        found = speeds(shifted)
        residual = measured - found[0]
        scatter = max(float(np.sqrt(np.mean(residual**2))), 1e-7)
        slope = (found[1:] - found[0]).T / step
        left = np.concatenate([residual / scatter, -known * (point - before)])
        matrix = np.vstack([slope / scatter, np.diag(known)])[:, free]
        move, *_ = np.linalg.lstsq(matrix, left, rcond=None)
        point = point.copy()
        point[free] += move
        if np.all(np.abs(move) <= 0.02 * step[free]):
            break
    variance = np.zeros((6, 6))
    variance[np.ix_(free, free)] = np.linalg.pinv(matrix.T @ matrix) * _correlated(runs, residual)
    wind_uncertainty = min(float(np.sqrt(variance[2, 2])), wind[1])
    return Pair(
        float(point[0]),
        float(point[1]),
        float(point[2]),
        float(point[3]),
        scatter,
        np.asarray(variance[:2, :2]),
        wind_uncertainty,
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


def _rolled(time: Array, points: Array, way: float, rolling: _Rolling) -> Array:
    """Speeds at times for each row of A, C, w, i and the starting speeds of both runs; (rows, times) [m/s]."""
    from scipy.interpolate import CubicHermiteSpline

    force, air, wind, grade = (points[:, column] for column in range(4))
    speed = points[:, 4 if way > 0 else 5].copy()
    constant = rolling.drive_drag + way * rolling.mass * GRAVITY * grade
    shape = rolling.shape

    def slowing(v: Array) -> Array:
        ground = force if shape is None else force * np.interp(v, *shape)
        through = v + way * wind
        return np.asarray(-(ground + constant + air * through * np.abs(through)) / rolling.equivalent_mass)

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
