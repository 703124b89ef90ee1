"""From what was learned to a file of corrections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from configopt.appraisal.tables import carcass_pressure
from configopt.appraisal.uncertain import REPLACED
from configopt.catalog.corrections import figure_of, quantity_of_figure
from configopt.catalog.records import FAMILIES
from configopt.files.yaml_text import yaml_text
from configopt.learning.combine import Combined, Learned
from configopt.learning.reading import Array
from configopt.reasons.elsewhere import told
from configopt.scenario.case import Case

#: A figure is corrected where it moves by more than so many standard uncertainties, or narrows below this share.
_MOVED, _NARROWED = 0.005, 0.9995
#: Which of these are worth looking at first.
_MUCH_MOVED, _MUCH_NARROWED = 0.1, 0.95
_HEAD = """\
# Corrections learned from tests: figures that stand over those of the catalogs where a scenario names this file.
# Look through every line before the file counts; the catalogs themselves are not changed.
"""


@dataclass(frozen=True)
class Correction:
    """One figure of a part as it comes out of the tests."""

    family: str
    part: str
    figure: str
    dimension: str
    before: tuple[float, float]
    """Value and standard uncertainty [SI]; as assumed, where the catalog has none."""
    after: tuple[float, float]
    in_catalog: bool
    readings: tuple[int, ...]
    number: int
    """Of the figure among those that were weighed."""
    scale: float = 1.0
    """Figure over what was weighed in its place [SI]."""

    @property
    def tells(self) -> bool:
        """Whether it moves or narrows so much that it is worth looking at."""
        return abs(self.shift) > _MUCH_MOVED or self.after[1] < _MUCH_NARROWED * self.before[1]

    @property
    def shift(self) -> float:
        """How far the value moves, in standard uncertainties of what was known before [1]."""
        return (self.after[0] - self.before[0]) / self.before[1] if self.before[1] > 0.0 else 0.0


def corrections(case: Case, combined: Combined) -> tuple[Correction, ...]:
    """Figures to be corrected: all that the tests move or narrow at all, so that the file says what was weighed.

    Parameters
    ----------
    case
        The scenario with the catalogs before.
    combined
        What was learned.
    """
    return tuple(_correction(case, number, one) for number, one in enumerate(combined.learned) if _worth_writing(one))


def _worth_writing(one: Learned) -> bool:
    """Whether the tests say something of a figure that is not lost in what was known before."""
    (before, spread), (after, left) = one.before, one.after
    return abs(after - before) > _MOVED * spread or left < _NARROWED * spread


def _correction(case: Case, number: int, one: Learned) -> Correction:
    assert one.figure.part is not None
    family, part = one.figure.part
    name = REPLACED.get(one.figure.name, one.figure.name)
    record = case.catalog.part(family, part)
    known = figure_of(record, name) is not None
    scale = carcass_pressure(record)[1] if one.figure.name == "carcass_share" else 1.0
    before, after = ((value * scale, spread * scale) for value, spread in (one.before, one.after))
    accepted = quantity_of_figure(FAMILIES[family], name)
    assert accepted is not None
    return Correction(family, part, name, accepted.dimension, before, after, known, one.readings, number, scale)


@dataclass(frozen=True)
class Joint:
    """Corrected figures together: family and part with the name of each figure, means and covariance [SI]."""

    keys: tuple[tuple[tuple[str, str], str], ...]
    mean: Array
    covariance: Array


def joint_of(found: Sequence[Correction], combined: Combined) -> Joint:
    """What is known of corrected figures together."""
    numbers = np.array([one.number for one in found], dtype=np.int64)
    scales = np.array([one.scale for one in found])
    covariance = combined.covariance[np.ix_(numbers, numbers)] * np.outer(scales, scales)
    keys = tuple(((one.family, one.part), one.figure) for one in found)
    return Joint(keys, np.array([one.after[0] for one in found]), covariance)


def written_figure(value: float, spread: float | None, dimension: str, name: str) -> str:
    """A figure with its standard uncertainty as a file of the project holds it.

    >>> written_figure(0.020304, 0.000412, "ratio", "rolling_coefficient")
    '0.020304 +- 0.00041'
    >>> written_figure(17512.0, 830.0, "pressure", "carcass_pressure")
    '17.512 kPa +- 0.83 kPa'
    """
    shown, unit = told(value, dimension, name)
    suffix = "" if unit == "1" else f" {unit}"
    text = f"{float(f'{shown:.6g}'):.10g}{suffix}"
    if spread is None:
        return text
    high, _ = told(value + spread, dimension, name)
    return f"{text} +- {float(f'{high - shown:.2g}'):.10g}{suffix}"


def corrections_text(found: Sequence[Correction], *, day: str, logs: Sequence[str], readings: Sequence[str]) -> str:
    """The file of corrections.

    Parameters
    ----------
    found
        What is corrected.
    day
        Day on which it is written, YYYY-MM-DD.
    logs, readings
        Names of the logs, and by number which log each reading came from.

    Returns
    -------
    str
        Strict YAML.
    """
    entries: list[dict[str, Any]] = []
    for one in found:
        entry: dict[str, Any] = {"family": one.family, "part": one.part, "figure": one.figure}
        entry["value"] = written_figure(*one.after, one.dimension, one.figure)
        if one.in_catalog:
            entry["instead_of"] = written_figure(*one.before, one.dimension, one.figure)
        entry["learned_from"] = ", ".join(dict.fromkeys(readings[number] for number in one.readings))[:200]
        entries.append(entry)
    body = {"day": day, "note": f"learned from {', '.join(logs)}"[:1900], "corrections": entries}
    return _HEAD + yaml_text(body)
