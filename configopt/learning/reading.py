"""One reading: what a test says, with its uncertainty, and what the full model says in its place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.uncertain import UncertainFigure, known_figure, range_of
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import FAMILIES
from configopt.learning.log_reading import Log
from configopt.learning.student import student_factor

Array = NDArray[np.float64]
#: Numbers of rows of a log.
Rows = NDArray[np.int64]
#: The full model in place of a test: figures and their values, (rows, figures), to the modelled reading per row.
Modelled = Callable[[Sequence[UncertainFigure], Array], Array]


@dataclass(frozen=True)
class Reading:
    """One number out of a log."""

    path: str
    line: int
    wording: str
    value: float
    uncertainty: float
    """Standard uncertainty of the test alone [SI]."""
    dimension: str
    model: Modelled
    figures: tuple[UncertainFigure, ...]
    """What it can tell about."""

    @property
    def figure(self) -> str:
        """Name of the figure that it reads directly, for the unit in which the trade thinks of it; else empty."""
        return self.figures[0].name if len(self.figures) == 1 else ""


@dataclass(frozen=True)
class Told:
    """Something said about a log: a poor test, an outlier, or a plain remark."""

    path: str
    line: int
    kind: Literal["remark", "poor", "outlier"]
    text: str


@dataclass(frozen=True)
class Reads:
    """What one log gives."""

    readings: tuple[Reading, ...] = ()
    told: tuple[Told, ...] = ()


def prior_spread(figure: UncertainFigure) -> float:
    """Standard uncertainty of a figure before the test [SI]; of an assumed one that of its triangular range.

    What may only lie between two ends is at least as sure as if it were spread evenly between them.

    >>> round(prior_spread(UncertainFigure("rut_factor", None, 0.6, 0.0, "")), 3)
    0.143
    """
    if figure.name not in RANGES:
        if figure.part is None:
            return figure.uncertainty
        low, high = range_of(FAMILIES[figure.part[0]], figure.name, figure.value)
        return min(figure.uncertainty, float(high - low) / float(np.sqrt(12.0)))
    of = RANGES[figure.name]
    a, b, c = of.low, of.high, of.middle
    return float(np.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18.0))


def figure_alone(
    catalog: Catalog, family: str, part: str, name: str, *, otherwise: tuple[float, float] | None = None
) -> UncertainFigure | None:
    """A figure that a test reads directly, with what the catalog says of it.

    ``otherwise`` is value and standard uncertainty where the catalog says nothing; without it there is no such figure.
    """
    known = known_figure(catalog, family, catalog.part(family, part), name)
    if known is None and otherwise is not None:
        return UncertainFigure(name, (family, part), *otherwise, f"{name.replace('_', ' ')} of {part}")
    return known


def itself(figure: UncertainFigure) -> Modelled:
    """The model of a reading that is a figure itself."""

    def model(figures: Sequence[UncertainFigure], values: Array) -> Array:
        for number, one in enumerate(figures):
            if (one.part, one.name) == (figure.part, figure.name):
                return np.asarray(values[:, number])
        return np.full(len(values), figure.value)

    return model


def mean_of(values: Array) -> tuple[float, float]:
    """Mean of three or more values, and its uncertainty: a normal distribution holds 95 % where Student's does.

    >>> mean, spread = mean_of(np.array([1.0, 2.0, 3.0]))
    >>> round(mean, 3), round(spread, 3)
    (2.0, 1.267)
    """
    count = len(values)
    return float(values.mean()), student_factor(count - 1) * float(values.std(ddof=1)) / float(np.sqrt(count))


def stray(values: Array, *, chance: float = 0.01) -> NDArray[np.int64]:
    """Numbers of values that stand apart from the others, in rising order.

    Notes
    -----
    The value furthest from the mean is one where a normal sample would hold such a one with less than ``chance``; then
    the next among the rest.  Below five values none is.

    References
    ----------
    F. E. Grubbs, Technometrics 11 (1969) 1-21; ISO 5725-2 (both from memory).

    >>> stray(np.array([10.1, 9.9, 10.0, 10.2, 9.8, 14.0])).tolist()
    [5]
    """
    from scipy.special import stdtrit

    left = np.arange(len(values))
    found: list[int] = []
    while len(left) >= 5:
        off = np.abs(values[left] - values[left].mean())
        spread, count = float(values[left].std(ddof=1)), len(left)
        t = float(stdtrit(count - 2, 1.0 - chance / (2.0 * count)))
        critical = (count - 1) / np.sqrt(count) * np.sqrt(t * t / (count - 2 + t * t))
        worst = int(off.argmax())
        if spread <= 0.0 or off[worst] <= critical * spread:
            break
        found.append(int(left[worst]))
        left = np.delete(left, worst)
    return np.array(sorted(found), dtype=np.int64)


def poor(log: Log, text: str) -> Told:
    """Tell that a test, or part of it, is too poor to learn from."""
    return Told(log.table.path, log.table.header_line, "poor", text)


def strays(log: Log, rows: NDArray[np.int64], values: Array, name: str, factor: float, unit: str) -> list[Told]:
    """Tell values of rows that stand apart from the others, in a unit [SI times factor]; they are kept."""
    return [
        Told(
            log.table.path,
            log.table.lines[int(rows[number])],
            "outlier",
            f"{name} of {factor * values[number]:.1f} {unit} stands apart from the others; it is kept",
        )
        for number in stray(values).tolist()
    ]
