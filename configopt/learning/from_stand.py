"""Readings from scales and stand (masses, deflection, spoke tension) and from the wear of a tread."""

from __future__ import annotations

import numpy as np

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.tables import carcass_pressure
from configopt.appraisal.uncertain import UncertainFigure
from configopt.catalog.corrections import CORRECTABLE
from configopt.catalog.records import Tire
from configopt.errors import Finding, FindingsError
from configopt.fit.rules import tire_diameter, tire_width_on
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
    prior_spread,
    stray,
    strays,
)
from configopt.learning.student import student_factor
from configopt.physics.loads import GRAVITY
from configopt.physics.tire import deflection
from configopt.scenario.case import Case

#: What one reading of the deflection is sure to where its scatter is not known [m] (common practice, no source).
_DEFLECTION_KNOWN = 0.0007
#: What a stand reads [m]: no scatter below it means anything (common practice, no source).
_DEFLECTION_READ = 0.0001
#: Relative standard uncertainty of one weighing (common practice, no source).
_WEIGHING_KNOWN = 0.002
#: Depth of the tread at which a tire counts as worn, over that of a new one (common practice, no source).
WORN_SHARE = 0.3
_EVEN_TENSION = 0.2


def _families(log: Log, case: Case, names: tuple[str, ...]) -> list[str]:
    """Family of the part of each row; parts that are not there are findings."""
    where = {part.id: family for family in names for part in case.catalog.family(family)}
    findings: list[Finding] = []
    found = []
    for row, name in enumerate(log.texts("part")):
        if name not in where and len(findings) < 10:
            message = f'there is no part "{name[:60]}" in {", ".join(names)}'
            findings.append(log.finding(row, "part", "REFERENCE", message, "see configopt parts"))
        found.append(where.get(name, ""))
    if findings:
        raise FindingsError(findings)
    return found


def read_static(log: Log, case: Case) -> Reads:
    """Masses, carcass pressures and spoke tensions of one log."""
    families = _families(log, case, (*(name for name in CORRECTABLE if name != "surfaces"), "spokes"))
    parts = log.texts("part")
    told: list[Told] = []
    readings: list[Reading] = []
    for name in dict.fromkeys(parts):
        rows = np.array([row for row, one in enumerate(parts) if one == name])
        family = families[int(rows[0])]
        weighed = rows[log.has("mass")[rows]]
        if len(weighed):
            readings += _mass(log, case, family, name, weighed, told)
        loaded = rows[log.has("load", "pressure", "deflection")[rows]]
        some = rows[np.any([log.has(name)[rows] for name in ("load", "deflection")], axis=0)]
        if len(some) > len(loaded):
            text = f"{name}: deflections without load, pressure or deflection: {len(some) - len(loaded)}, not used"
            told.append(poor(log, text))
        if len(loaded) and family != "tires":
            told.append(poor(log, f"{name} is no tire: its deflection is not used"))
        elif len(loaded):
            readings += _casing(log, case, case.catalog.part("tires", name), loaded, told)
        tight = rows[log.has("tension")[rows]]
        if len(tight) and family != "spokes":
            told.append(poor(log, f"{name} is no spoke: its tension is not used"))
        elif len(tight):
            told.append(_tension(log, name, log.numbers("tension")[tight]))
    return Reads(tuple(readings), tuple(told))


def _mass(log: Log, case: Case, family: str, name: str, rows: Rows, told: list[Told]) -> list[Reading]:
    if family == "spokes":
        told.append(poor(log, f"the mass of {name} follows from its diameters; the weighing is not used"))
        return []
    figure = figure_alone(case.catalog, family, name, "mass")
    assert figure is not None
    values = log.numbers("mass")[rows]
    told += strays(log, rows, values, "mass", 1e3, "g")
    if len(values) >= 3:
        value, spread = mean_of(values)
    else:
        # Pieces differ, and how much is not known from one or two.
        value, spread = float(values.mean()), 0.01 * float(values.mean())
    spread = float(np.hypot(spread, _WEIGHING_KNOWN * value))
    wording = f"mass of {name} ({len(values)} weighed)"
    line = log.table.lines[int(rows[0])]
    return [Reading(log.table.path, line, wording, value, spread, "mass", itself(figure), (figure,))]


def casing_stiffness(
    load: Array, pressure: Array, deflected: Array, *, width: Array, diameter: float
) -> tuple[float, float, Array]:
    """Carcass pressure from deflections under loads, by least squares.

    Parameters
    ----------
    load, pressure, deflected
        Of the readings [N], [Pa], [m].
    width, diameter
        Width of the tire at each reading [m], and its diameter [m].

    Returns
    -------
    tuple
        Carcass pressure [Pa], its standard uncertainty [Pa] (from the scatter and Student's distribution; from
        three readings on), and what the fit leaves of the deflections [m].
    """
    from scipy.optimize import least_squares

    def left(point: Array) -> Array:
        modelled = deflection(load, pressure=pressure, carcass_pressure=point[0], width=width, diameter=diameter)
        return np.asarray((modelled - deflected) / _DEFLECTION_KNOWN)

    start = np.array([0.1 * float(np.mean(pressure)) + 1e3])
    found = least_squares(left, start, x_scale=1e4, bounds=([0.0], [2e6]))
    slope = float(found.jac[:, 0] @ found.jac[:, 0])
    scatter = 1.0
    if len(load) >= 3:
        free = len(load) - 1
        seen = max(float(np.sqrt(found.fun @ found.fun / free)), _DEFLECTION_READ / _DEFLECTION_KNOWN)
        scatter = seen * student_factor(free)
    spread = scatter / np.sqrt(slope) if slope > 0.0 else np.inf
    return float(found.x[0]), float(spread), np.asarray(found.fun * _DEFLECTION_KNOWN)


def _casing(log: Log, case: Case, tire: Tire, rows: Rows, told: list[Told]) -> list[Reading]:
    load, pressure, deflected = (log.numbers(name)[rows] for name in ("load", "pressure", "deflection"))
    if not (load > 0.0).all() or not (deflected > 0.0).all():
        row = int(rows[np.flatnonzero((load <= 0.0) | (deflected <= 0.0))[0]])
        column = "load" if log.numbers("load")[row] <= 0.0 else "deflection"
        raise FindingsError([log.finding(row, column, "LOG-NUMBER", f"the {column} is not above zero", "correct it")])
    rims = log.numbers("rim width")[rows]
    rims = np.where(np.isfinite(rims), rims, float(tire.measuring_rim_width))
    width = np.array([tire_width_on(tire, float(rim)) for rim in rims])
    value, spread, left = casing_stiffness(
        load * GRAVITY, pressure, deflected, width=width, diameter=tire_diameter(tire)
    )
    if not np.isfinite(spread) or spread > max(value, 1e3) * 3.0:
        told.append(poor(log, f"the deflections of {tire.id} do not tell its casing: load it more"))
        return []
    for number in stray(np.round(left / _DEFLECTION_READ)).tolist():
        text = f"deflection of {1e3 * deflected[number]:.1f} mm stands apart from the others; it is kept"
        told.append(Told(log.table.path, log.table.lines[int(rows[number])], "outlier", text))
    if len(rows) < 3:
        told.append(
            poor(log, f"{len(rows)} deflection{'s' * (len(rows) > 1)} of {tire.id}: taken as sure to 0.7 mm each")
        )
    _, default = carcass_pressure(tire)
    line = log.table.lines[int(rows[0])]
    wording = f"carcass pressure of {tire.id} ({len(rows)} deflections)"
    if tire.carcass_pressure is not None:
        figure = figure_alone(case.catalog, "tires", tire.id, "carcass_pressure")
        assert figure is not None
        return [Reading(log.table.path, line, wording, value, spread, "pressure", itself(figure), (figure,))]
    share = UncertainFigure(
        "carcass_share", ("tires", tire.id), RANGES["carcass_share"].middle, 0.0,
        f"{RANGES['carcass_share'].wording}, {tire.id}",
    )  # fmt: skip
    assert prior_spread(share) > 0.0
    wording = f"casing stiffness of {tire.id} over its default of {default / 1e3:.1f} kPa ({len(rows)} deflections)"
    return [Reading(log.table.path, line, wording, value / default, spread / default, "ratio", itself(share), (share,))]


def _tension(log: Log, name: str, values: Array) -> Told:
    mean, low, high = float(values.mean()), float(values.min()), float(values.max())
    text = f"{len(values)} spokes {name}: mean {mean:.0f} N, {low:.0f} to {high:.0f} N"
    if high - low > _EVEN_TENSION * mean:
        return Told(log.table.path, log.table.header_line, "poor", f"{text}; uneven by more than 20 %: true the wheel")
    return Told(log.table.path, log.table.header_line, "remark", f"{text}; told only, the build sets it")


def read_tread(log: Log, case: Case) -> Reads:
    """Distance a tread lasts, from its depth over the distance."""
    _families(log, case, ("tires",))
    parts, distance, depth = log.texts("part"), log.numbers("distance"), log.numbers("tread depth")
    told: list[Told] = []
    readings: list[Reading] = []
    for name in dict.fromkeys(parts):
        rows = np.array([row for row, one in enumerate(parts) if one == name])
        tire: Tire = case.catalog.part("tires", name)
        figure = figure_alone(case.catalog, "tires", name, "tread_life")
        if len(rows) < 3:
            told.append(poor(log, f"{name}: {len(rows)} depths, at least 3 are needed to see the wear"))
            continue
        worn = float(log.head.get("worn_depth", WORN_SHARE * float(tire.lug_depth)))
        found = tread_life(distance[rows], depth[rows], worn=worn)
        if found is None:
            told.append(
                poor(log, f"{name}: no wear down to {1e3 * worn:.1f} mm stands out from the scatter of the depths")
            )
            continue
        life, spread = found
        if figure is None:
            figure = UncertainFigure("tread_life", ("tires", name), life, 10.0 * life, f"tread life of {name}")
        wording = f"tread life of {name} down to {1e3 * worn:.1f} mm ({len(rows)} depths)"
        line = log.table.lines[int(rows[0])]
        readings.append(Reading(log.table.path, line, wording, life, spread, "length", itself(figure), (figure,)))
    return Reads(tuple(readings), tuple(told))


def tread_life(distance: Array, depth: Array, *, worn: float) -> tuple[float, float] | None:
    """Distance at which a tread is worn down, and its standard uncertainty [m]; None where no wear can be told.

    Parameters
    ----------
    distance, depth
        Distances since new [m], and depths there [m]; at least three.
    worn
        Depth at which it counts as worn [m].

    Notes
    -----
    A straight line by least squares, carried on to the worn depth; the uncertainty by the delta method, widened to
    Student's distribution.
    """
    matrix = np.column_stack([np.ones_like(distance), distance])
    if np.ptp(distance) <= 0.0:
        return None
    answer, *_ = np.linalg.lstsq(matrix, depth, rcond=None)
    left = depth - matrix @ answer
    free = len(depth) - 2
    # Calipers do not read better than a tenth of a millimetre.
    scatter = max(float(left @ left) / free, 1e-8)
    variance = np.linalg.inv(matrix.T @ matrix) * scatter
    wear = -float(answer[1])
    if wear <= 3.0 * float(np.sqrt(variance[1, 1])):
        return None
    life = (float(answer[0]) - worn) / wear
    if life <= 0.0:
        return None
    slope = np.array([1.0 / wear, life / wear])
    return life, student_factor(free) * float(np.sqrt(slope @ variance @ slope))
