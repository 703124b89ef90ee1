"""What is known of each figure after the tests: catalog and readings, weighed by their uncertainties."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from configopt.appraisal.uncertain import FARTHEST, UncertainFigure
from configopt.learning.reading import Array, Reading, prior_spread

#: Rounds of linearisation; the second moves figures by a hundredth of what the first does.
_ROUNDS = 6
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
    """Everything after the tests."""

    judged: tuple[Judged, ...]
    learned: tuple[Learned, ...]


def combine(readings: Sequence[Reading]) -> Combined:
    """Weigh readings and what was known before.

    Parameters
    ----------
    readings
        Of all logs together.

    Returns
    -------
    Combined
        Every figure that a reading can tell about, in the order of the readings.

    Notes
    -----
    The figures before are independent and normal, of assumed ones with the spread of their range; readings are
    independent and normal around the full model.  The mean is the most probable point by Gauss and Newton's iteration,
    the uncertainty that of the model made linear there (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, chapter 4,
    normal approximation; from memory).  A reading that agrees with the model moves nothing.
    """
    figures: dict[tuple[tuple[str, str] | None, str], UncertainFigure] = {}
    for reading in readings:
        for figure in reading.figures:
            figures.setdefault((figure.part, figure.name), figure)
    known = list(figures.values())
    numbers = {key: number for number, key in enumerate(figures)}
    if not known:
        return Combined((), ())
    mean = np.array([figure.value for figure in known])
    spread = np.array([prior_spread(figure) for figure in known])
    own = [np.array([numbers[figure.part, figure.name] for figure in reading.figures]) for reading in readings]
    measured = np.array([reading.value for reading in readings])
    noise = np.array([reading.uncertainty for reading in readings])
    point = mean.copy()
    before = np.empty(len(readings))
    first = np.empty((len(readings), len(known)))
    for number in range(_ROUNDS):
        modelled, slopes = _linear(readings, known, own, point, spread)
        if number == 0:
            before, first = modelled, slopes
        gain, _ = _gain(slopes, spread, noise)
        moved = mean + gain @ (measured - modelled - slopes @ (mean - point))
        # What is known to 8 % is not off by 40 %: beyond, the linear model means nothing either.
        moved = np.clip(moved, mean - FARTHEST * spread, mean + FARTHEST * spread)
        done = np.all(np.abs(moved - point) <= 1e-4 * spread)
        point = moved
        if done:
            break
    after, slopes = _linear(readings, known, own, point, spread)
    gain, covariance = _gain(slopes, spread, noise)
    total = np.sqrt((first**2) @ spread**2 + noise**2)
    judged = tuple(
        Judged(reading, float(before[i]), float(after[i]), float((measured[i] - before[i]) / total[i]))
        for i, reading in enumerate(readings)
    )
    learned = tuple(
        Learned(
            figure,
            (float(mean[k]), float(spread[k])),
            (float(point[k]), float(np.sqrt(max(covariance[k, k], 0.0)))),
            tuple(i for i in range(len(readings)) if abs(slopes[i, k]) * spread[k] > _TELLS * total[i]),
        )
        for k, figure in enumerate(known)
    )
    return Combined(judged, learned)


def _linear(
    readings: Sequence[Reading],
    known: Sequence[UncertainFigure],
    own: Sequence[Array],
    point: Array,
    spread: Array,
) -> tuple[Array, Array]:
    """What the model says at a point, and its slopes there by figure."""
    modelled = np.empty(len(readings))
    slopes = np.zeros((len(readings), len(known)))
    for number, (reading, columns) in enumerate(zip(readings, own, strict=True)):
        figures = [known[column] for column in columns]
        count = len(columns)
        values = np.tile(point[columns], (2 * count + 1, 1))
        step = _STEP * spread[columns]
        values[np.arange(1, count + 1), np.arange(count)] += step
        values[np.arange(count + 1, 2 * count + 1), np.arange(count)] -= step
        found = reading.model(figures, values)
        modelled[number] = found[0]
        with np.errstate(invalid="ignore", divide="ignore"):
            slopes[number, columns] = np.where(
                step > 0.0, (found[1 : count + 1] - found[count + 1 :]) / (2.0 * step), 0.0
            )
    return modelled, slopes


def _gain(slopes: Array, spread: Array, noise: Array) -> tuple[Array, Array]:
    """Gain of the readings on the figures, and the figures' covariance after them."""
    prior = np.diag(spread**2)
    across = prior @ slopes.T
    within = slopes @ across + np.diag(noise**2)
    gain = np.linalg.solve(within, across.T).T
    return np.asarray(gain), np.asarray(prior - gain @ across.T)
