"""From what was learned to a file of corrections."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pydantic_core import PydanticCustomError

from configopt.appraisal.tables import carcass_pressure
from configopt.catalog.corrections import CORRECTABLE, figure_of, quantity_of_figure
from configopt.catalog.records import FAMILIES
from configopt.files.yaml_text import yaml_text
from configopt.learning.combine import Combined, Learned
from configopt.quantities import Figure
from configopt.reasons.elsewhere import told
from configopt.scenario.case import Case

#: Fields of a tire that stand for figures which the model assumes where a tire has none of its own.
_OWN_TEST = {"carcass_share": "carcass_pressure", "rolling_exponent": "pressure_exponent"}
#: A figure is corrected where it moves by more than so many standard uncertainties, or narrows below this share.
_MOVED, _NARROWED = 0.1, 0.97
_HEAD = """\
# Corrections learned from tests: figures that stand over those of the catalogs where a scenario names this file.
# Look through every line before the file counts; the catalogs themselves are not changed.
"""


@dataclass(frozen=True)
class Correction:
    """One figure of a part as it comes out of the tests, or why it is not corrected."""

    family: str
    part: str
    figure: str
    dimension: str
    before: tuple[float, float]
    """Value and standard uncertainty [SI]; as assumed, where the catalog has none."""
    after: tuple[float, float]
    in_catalog: bool
    readings: tuple[int, ...]
    problem: str = ""

    @property
    def shift(self) -> float:
        """How far the value moves, in standard uncertainties of what was known before [1]."""
        return (self.after[0] - self.before[0]) / self.before[1] if self.before[1] > 0.0 else 0.0


def corrections(case: Case, combined: Combined) -> tuple[tuple[Correction, ...], tuple[Learned, ...]]:
    """Figures to be corrected, and assumed figures that the tests speak about but that belong to no part.

    Parameters
    ----------
    case
        The scenario with the catalogs before.
    combined
        What was learned.
    """
    found, assumed = [], []
    for one in combined.learned:
        if not one.readings or not _worth_writing(one):
            continue
        made = _correction(case, one)
        if made is None:
            assumed.append(one)
        else:
            found.append(made)
    return tuple(found), tuple(assumed)


def _worth_writing(one: Learned) -> bool:
    """Whether the tests say something of a figure that is not lost in what was known before."""
    (before, spread), (after, left) = one.before, one.after
    return abs(after - before) > _MOVED * spread or left < _NARROWED * spread


def _correction(case: Case, one: Learned) -> Correction | None:
    if one.figure.part is None:
        return None
    family, part = one.figure.part
    name = _OWN_TEST.get(one.figure.name, one.figure.name)
    if name not in CORRECTABLE.get(family, ()):
        return None
    record = case.catalog.part(family, part)
    known = figure_of(record, name) is not None
    scale = carcass_pressure(record)[1] if one.figure.name == "carcass_share" else 1.0
    before, after = ((value * scale, spread * scale) for value, spread in (one.before, one.after))
    accepted = quantity_of_figure(FAMILIES[family], name)
    assert accepted is not None
    problem = ""
    try:
        accepted.read(Figure(after[0]))
    except PydanticCustomError as error:
        problem = (
            f"outside what a catalog may say: {error.message_template and (error.context or {}).get('message', '')}"
        )
    return Correction(family, part, name, accepted.dimension, before, after, known, one.readings, problem)


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
        What is corrected; those with a problem are left out.
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
        if one.problem:
            continue
        entry: dict[str, Any] = {"family": one.family, "part": one.part, "figure": one.figure}
        entry["value"] = written_figure(*one.after, one.dimension, one.figure)
        if one.in_catalog:
            entry["instead_of"] = written_figure(*one.before, one.dimension, one.figure)
        entry["learned_from"] = ", ".join(dict.fromkeys(readings[number] for number in one.readings))[:200]
        entries.append(entry)
    body = {"day": day, "note": f"learned from {', '.join(logs)}"[:1900], "corrections": entries}
    return _HEAD + yaml_text(body)
