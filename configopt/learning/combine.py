"""What is known of each figure after the tests: catalog and readings, weighed by their uncertainties."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.uncertain import REPLACED, UncertainFigure, range_of
from configopt.catalog.corrections import CORRECTABLE
from configopt.catalog.records import FAMILIES
from configopt.learning.reading import Array, Modelled, Reading, prior_spread

#: Step of the slopes, in standard uncertainties.
_STEP = 0.25
#: Least share of a reading's whole uncertainty that a figure makes up, for the reading to tell about it.
_TELLS = 0.1
#: A reading further off than this many standard uncertainties, catalog and test together, is named.
OUTLYING = 3.0


@dataclass(frozen=True)
class Judged:
    """One reading beside the model: what the model says before and after, and how far the reading lies off [1]."""

    reading: Reading
    before: float
    after: float
    off: float
    """Reading less model before, over the standard uncertainty of both together."""

    @property
    def outlying(self) -> bool:
        """Whether catalog and test do not go together."""
        return abs(self.off) > OUTLYING


@dataclass(frozen=True)
class Learned:
    """One figure before and after."""

    figure: UncertainFigure
    before: tuple[float, float]
    """Value and standard uncertainty [SI]."""
    after: tuple[float, float]
    readings: tuple[int, ...]
    """Numbers of the readings that tell about it."""


@dataclass(frozen=True)
class Combined:
    """Everything after the tests: readings, figures, and the figures' covariance, (figures, figures) [SI]."""

    judged: tuple[Judged, ...]
    learned: tuple[Learned, ...]
    covariance: Array


def can_be_corrected(figure: UncertainFigure) -> bool:
    """Whether a correction can hold the figure: it belongs to a part, and a test may correct it."""
    if figure.part is None:
        return False
    return REPLACED.get(figure.name, figure.name) in CORRECTABLE.get(figure.part[0], ())


def combine(readings: Sequence[Reading]) -> Combined:
    """Weigh readings and what was known before.

    Parameters
    ----------
    readings
        Of all logs together.

    Returns
    -------
    Combined
        Every figure that a correction can hold and a reading can tell about, in the order of the readings.

    Notes
    -----
    The figures before are independent and normal, of assumed ones with the spread of their range; readings are normal
    around the full model.  What no correction can hold (assumed figures of no part) stays where it is, and its doubt
    is added to the readings, which thereby hang together.  The mean is the most probable point within what a catalog
    may say (SciPy's trust-region least squares), the uncertainty that of the model made linear there (Gelman et al.,
    Bayesian Data Analysis, 3rd ed. 2013, chapter 4, normal approximation; from memory).  A reading that agrees with the
    model moves nothing.

    Where a reading hangs on whatever gives way first (a stop on the brake or on the grip), the likelier of both counts
    as certain.  Intervals of 95 % still hold about that share of truths, but the few that lie outside lie far outside.
    """
    from scipy.linalg import solve_triangular
    from scipy.optimize import least_squares

    figures: dict[tuple[tuple[str, str] | None, str], UncertainFigure] = {}
    for reading in readings:
        for figure in reading.figures:
            figures.setdefault((figure.part, figure.name), figure)
    known = [figure for figure in figures.values() if prior_spread(figure) > 0.0 and can_be_corrected(figure)]
    others = [figure for figure in figures.values() if prior_spread(figure) > 0.0 and not can_be_corrected(figure)]
    if not known:
        return Combined((), (), np.zeros((0, 0)))
    mean = np.array([figure.value for figure in known])
    spread = np.array([prior_spread(figure) for figure in known])
    ends = np.array([_ends(figure) for figure in known])
    measured = np.array([reading.value for reading in readings])
    noise = np.array([reading.uncertainty for reading in readings])
    _, doubts = _slopes(readings, others, np.array([figure.value for figure in others]))
    doubt = doubts * np.array([prior_spread(figure) for figure in others])
    # What is sure to nothing at all would leave the matrix without an inverse.
    least = 1e-9 * np.maximum(np.abs(measured), 1e-9)
    scatter = doubt @ doubt.T + np.diag(np.maximum(noise, least) ** 2)
    root = np.linalg.cholesky(scatter)

    def left(z: Array) -> Array:
        modelled = _modelled(readings, known, mean + spread * z)
        return np.concatenate([z, solve_triangular(root, modelled - measured, lower=True)])

    def slopes(z: Array) -> Array:
        _, found = _slopes(readings, known, mean + spread * z)
        return np.vstack([np.eye(len(z)), solve_triangular(root, found * spread, lower=True)])

    start = np.zeros(len(known))
    low, high = (ends[:, 0] - mean) / spread, (ends[:, 1] - mean) / spread
    # A figure that stands at an end of its range already must still be inside for the solver.
    fitted = least_squares(
        left, np.clip(start, low + 1e-9, high - 1e-9), jac=slopes, bounds=(low - 1e-6, high + 1e-6), x_scale=1.0,
        xtol=1e-10, ftol=1e-12, gtol=1e-10, max_nfev=60,
    )  # fmt: skip
    point = np.clip(mean + spread * fitted.x, ends[:, 0], ends[:, 1])
    before, first = _slopes(readings, known, mean)
    after, at_end = _slopes(readings, known, point)
    covariance = _covariance(at_end, spread, scatter)
    total = np.sqrt((first**2) @ spread**2 + np.diag(scatter))
    judged = tuple(
        Judged(reading, float(before[i]), float(after[i]), float((measured[i] - before[i]) / total[i]))
        for i, reading in enumerate(readings)
    )
    learned = tuple(
        Learned(
            figure,
            (float(mean[k]), float(spread[k])),
            (float(point[k]), float(np.sqrt(max(covariance[k, k], 0.0)))),
            tuple(i for i in range(len(readings)) if abs(at_end[i, k]) * spread[k] > _TELLS * total[i]),
        )
        for k, figure in enumerate(known)
    )
    return Combined(judged, learned, covariance)


def _ends(figure: UncertainFigure) -> tuple[float, float]:
    """What a catalog may say of a figure [SI]."""
    if figure.name in RANGES:
        # The default that the share is of has no name here; a stiffness as a pressure is at least nothing.
        return (0.05 * figure.value, 20.0 * figure.value) if figure.name == "carcass_share" else (-0.8, -0.1)
    assert figure.part is not None
    return range_of(FAMILIES[figure.part[0]], figure.name, figure.value)


def _modelled(readings: Sequence[Reading], known: Sequence[UncertainFigure], point: Array) -> Array:
    return np.array([float(reading.model(known, point[None, :])[0]) for reading in readings])


def _slopes(readings: Sequence[Reading], known: Sequence[UncertainFigure], point: Array) -> tuple[Array, Array]:
    """What the model says at a point, and its slopes there by figure, (readings, figures)."""
    own = {(figure.part, figure.name): number for number, figure in enumerate(known)}
    modelled = np.empty(len(readings))
    slopes = np.zeros((len(readings), len(known)))
    for number, reading in enumerate(readings):
        columns = [own[key] for figure in reading.figures if (key := (figure.part, figure.name)) in own]
        modelled[number], slopes[number, columns] = _slope(reading.model, known, point, columns)
    return modelled, slopes


def _slope(
    model: Modelled, known: Sequence[UncertainFigure], point: Array, columns: Sequence[int]
) -> tuple[float, Array]:
    """Value and slopes of one reading in some figures, by differences that stay within what a catalog may say."""
    count = len(columns)
    values = np.tile(point, (2 * count + 1, 1))
    width = np.empty(count)
    for number, column in enumerate(columns):
        figure, step = known[column], _STEP * prior_spread(known[column])
        low, high = _ends(figure) if can_be_corrected(figure) else (-np.inf, np.inf)
        below, above = max(point[column] - step, low), min(point[column] + step, high)
        values[1 + number, column], values[1 + count + number, column] = above, below
        width[number] = above - below
    found = model(known, values)
    return float(found[0]), (found[1 : count + 1] - found[count + 1 :]) / width


def _covariance(slopes: Array, spread: Array, scatter: Array) -> Array:
    """The figures' covariance after the readings."""
    prior = np.diag(spread**2)
    across = prior @ slopes.T
    within = slopes @ across + scatter
    return np.asarray(prior - across @ np.linalg.solve(within, across.T))
