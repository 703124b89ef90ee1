"""Readings of what the soil carries: plates, cone and ruts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from configopt.appraisal.uncertain import UncertainFigure
from configopt.appraisal.vehicle import POSITIONS
from configopt.learning.log_reading import Log
from configopt.learning.reading import (
    Array,
    Reading,
    Reads,
    Rows,
    Told,
    figure_alone,
    itself,
    mean_of,
    poor,
    stray,
    strays,
)
from configopt.learning.ridden import WALKING, ridden, surface_of
from configopt.learning.student import student_factor
from configopt.scenario.case import Case

#: Figures of the soil that a plate tells about.
PLATE_FIGURES = ("soil.exponent", "soil.cohesive_modulus", "soil.frictional_modulus")
#: Relative standard uncertainty of one plate reading where there are too few to tell (common practice, no source).
_PLATE_KNOWN = 0.15
#: What a plate reading is not surer than, relative: gauge, edge of the plate (common practice, no source).
_PLATE_FLOOR = 0.03
#: The same of the mean of cone readings and of rut depths, however little they scatter (common practice, no source).
_CONE_KNOWN, _RUT_KNOWN = 0.03, 0.05


def read_ground(log: Log, case: Case) -> Reads:
    """Soil figures from plates, cone index, sinkage of the vehicle from ruts."""
    surface = surface_of(log, case)
    record = case.catalog.part("surfaces", surface)
    told: list[Told] = []
    readings: list[Reading] = []
    plates = log.has("plate width", "plate pressure", "plate sinkage")
    some = np.any([log.has(f"plate {name}") for name in ("width", "pressure", "sinkage")], axis=0)
    if (some & ~plates).any():
        told.append(poor(log, f"plate readings without width, pressure or sinkage: {(some & ~plates).sum()}, not used"))
    ruts = np.flatnonzero(log.has("rut depth"))
    cones = np.flatnonzero(log.has("cone index"))
    if record.soil is None and (plates.any() or len(ruts)):
        told.append(poor(log, f"{surface} states no soil in the catalog: plates and ruts cannot correct it"))
    elif record.soil is not None:
        readings += _plates(log, case, surface, np.flatnonzero(plates), told)
        readings += _ruts(log, case, surface, ruts, told)
    if len(cones):
        figure = figure_alone(case.catalog, "surfaces", surface, "cone_index")
        values = log.numbers("cone index")[cones]
        if figure is None:
            told.append(
                poor(log, f"{surface} states no cone index in the catalog; readings mean {values.mean() / 1e3:.0f} kPa")
            )
        elif len(values) < 3:
            told.append(poor(log, f"{len(values)} cone readings: too few, take at least 3"))
        else:
            told += strays(log, cones, values, "cone index", 1e-3, "kPa")
            value, spread = mean_of(values)
            spread = float(np.hypot(spread, _CONE_KNOWN * value))
            wording = f"cone index of {surface} ({len(values)} readings)"
            line = log.table.lines[cones[0]]
            readings.append(
                Reading(log.table.path, line, wording, value, spread, "pressure", itself(figure), (figure,))
            )
    return Reads(tuple(readings), tuple(told))


def _plates(log: Log, case: Case, surface: str, rows: Rows, told: list[Told]) -> list[Reading]:
    """One reading per plate reading: its pressure."""
    if not len(rows):
        return []
    figures = [figure_alone(case.catalog, "surfaces", surface, name) for name in PLATE_FIGURES]
    known = tuple(figure for figure in figures if figure is not None)
    widths, pressures, sinkages = (log.numbers(f"plate {name}")[rows] for name in ("width", "pressure", "sinkage"))
    keep = (widths > 0.0) & (pressures > 0.0) & (sinkages > 0.0)
    if not keep.all():
        told.append(
            poor(log, f"{(~keep).sum()} plate readings without width, pressure or sinkage above zero; not used")
        )
    rows = rows[keep]
    widths, pressures, sinkages = (values[keep] for values in (widths, pressures, sinkages))
    if not len(rows):
        return []
    if len(np.unique(widths)) < 2:
        told.append(
            Told(log.table.path, log.table.header_line, "remark", "one plate width: kc and kphi cannot be told apart")
        )
    if len(np.unique(sinkages)) < 2:
        told.append(poor(log, "one depth of the plates: the exponent cannot be told from the modulus"))
    # Free fit of ln p = ln k + n ln z by width: what one reading is worth.
    columns = [(widths == width).astype(float) for width in np.unique(widths)]
    matrix = np.column_stack([np.log(sinkages), *columns])
    free = len(rows) - matrix.shape[1]
    answer, *_ = np.linalg.lstsq(matrix, np.log(pressures), rcond=None)
    # Readings that came out low must not count for more: each is as sure as the pressure it scatters around.
    level = np.exp(matrix @ answer)
    spread = _PLATE_KNOWN
    if free >= 3:
        left = np.log(pressures / level)
        spread = max(student_factor(free) * float(np.sqrt(left @ left / free)), _PLATE_FLOOR)
        for number in stray(np.round(left, 3)).tolist():
            text = f"plate reading {pressures[number] / 1e3:.1f} kPa stands apart from the others; it is kept"
            told.append(Told(log.table.path, log.table.lines[int(rows[number])], "outlier", text))
    else:
        told.append(poor(log, f"{len(rows)} plate readings: too few to see their scatter, taken as 15 % each"))
    return [
        Reading(
            log.table.path,
            log.table.lines[int(row)],
            f"pressure under a plate of {1e3 * width:.0f} mm at {1e3 * sinkage:.0f} mm in {surface}",
            float(pressure),
            spread * float(around),
            "pressure",
            _PlateModel(known, float(width), float(sinkage)),
            known,
        )
        for row, width, pressure, sinkage, around in zip(rows, widths, pressures, sinkages, level, strict=True)
    ]


class _PlateModel:
    """p = (kc/b + kphi) z^n with the soil's figures by row."""

    def __init__(self, figures: Sequence[UncertainFigure], width: float, sinkage: float) -> None:
        self.models = [itself(figure) for figure in figures]
        self.width, self.sinkage = width, sinkage

    def __call__(self, figures: Sequence[UncertainFigure], values: Array) -> Array:
        n, cohesive, frictional = (model(figures, values) for model in self.models)
        modulus = cohesive / self.width + frictional
        return np.asarray(np.maximum(modulus, 1e-9) * self.sinkage**n)


def _ruts(log: Log, case: Case, surface: str, rows: Rows, told: list[Told]) -> list[Reading]:
    """Sinkage of the deeper wheel from the depth of the rut."""
    if not len(rows):
        return []
    values = log.numbers("rut depth")[rows]
    if len(values) < 3:
        told.append(poor(log, f"{len(values)} rut readings: too few, take at least 3"))
        return []
    told += strays(log, rows, values, "rut", 1e3, "mm")
    one = ridden(log, case).at([(WALKING, 0.0)], surface)

    def model(figures: Sequence[UncertainFigure], at: Array) -> Array:
        evaluation = one.rows(figures, at)
        leg = evaluation.ride(evaluation.model.legs[0])
        return np.maximum(*(leg.sinkage[position] for position in POSITIONS))

    value, spread = mean_of(values)
    spread = float(np.hypot(spread, _RUT_KNOWN * value))
    wording = f"sinkage of the deeper wheel in {surface} ({len(values)} rut readings)"
    line = log.table.lines[int(rows[0])]
    return [Reading(log.table.path, line, wording, value, spread, "length", model, tuple(one.figures))]
