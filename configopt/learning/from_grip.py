"""Readings from climbs and hardest stops."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.uncertain import UncertainFigure
from configopt.appraisal.vehicle import POSITIONS
from configopt.errors import FindingsError
from configopt.learning.log_reading import Log
from configopt.learning.reading import Array, Modelled, Reading, Reads, Told, mean_of, poor, stray
from configopt.learning.ridden import WALKING, Ridden, ridden, surface_of
from configopt.physics.brakes import line_pressure
from configopt.quantities import Figure
from configopt.scenario.case import Case

#: How much the steepest grade differs from attempt to attempt, relative (rider, line; common practice, no source).
ATTEMPTS_DIFFER = 0.06
#: Relative standard uncertainty of a mean deceleration, and standard uncertainty of a mean slip [1], however little the
#: readings scatter (common practice, no source).
_SLOWING_KNOWN, _SLIP_KNOWN = 0.02, 0.01
_GRID = 2001
ENDS = ("grip", "motor", "tipping")


def climbed_grade(grades: Array, held: NDArray[np.bool_], differ: float = ATTEMPTS_DIFFER) -> tuple[float, float]:
    """Steepest grade that attempts speak for, and its standard uncertainty [1].

    Parameters
    ----------
    grades
        Of the attempts [1].
    held
        Whether each was climbed.
    differ
        Standard deviation of the steepest grade from attempt to attempt, relative.

    Returns
    -------
    tuple
        Mean and standard deviation of the likelihood over the grade.

    Raises
    ------
    ValueError
        If all were held or all lost: then the steepest grade has one bound only.

    Notes
    -----
    Probability of holding a grade g: Phi((G - g)/(differ g)) with the steepest grade G (probit model of all-or-none
    responses; Finney, Probit Analysis, 1947, from memory).

    >>> mean, spread = climbed_grade(np.array([0.2, 0.3]), np.array([True, False]))
    >>> round(mean, 2)
    0.25
    """
    from scipy.special import log_ndtr

    if held.all() or not held.any():
        raise ValueError("attempts on both sides of the steepest grade are needed")
    grid = np.linspace(0.3 * grades.min(), 2.0 * grades.max(), _GRID)
    off = (grid[:, None] - grades) / (differ * grades)
    logs = np.where(held, log_ndtr(off), log_ndtr(-off)).sum(axis=1)
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    mean = float(weight @ grid)
    return mean, float(np.sqrt(weight @ (grid - mean) ** 2))


def read_climb(log: Log, case: Case) -> Reads:
    """Steepest grade of one log of climbs, and the slip at which grades on soft ground were held."""
    surface, vehicle = surface_of(log, case), ridden(log, case)
    grades, held = log.numbers("grade"), np.array(log.columns["held"], dtype=np.bool_)
    if (grades <= 0.0).any():
        row = int(np.flatnonzero(grades <= 0.0)[0])
        raise FindingsError([log.finding(row, "grade", "LOG-NUMBER", "a climb needs a grade above zero", "correct it")])
    told: list[Told] = []
    readings: list[Reading] = []
    one = vehicle.at([(WALKING, 0.0)], surface)
    end = ENDS[int(one.once().climb_grade("leg-1")[1][0])]
    if held.all() or not held.any():
        word = "held: the steepest grade is at least" if held.all() else "lost: the steepest grade is at most"
        edge = float(grades.max() if held.all() else grades.min())
        modelled = float(one.once().climb_grade("leg-1")[0][0])
        text = f"all attempts were {word} {edge:.1%}, the model says {modelled:.1%}; a figure cannot be learned from it"
        told.append(poor(log, text))
    elif end != "grip":
        told.append(poor(log, f"by the model {end}, not the ground, ends this climb: it tells nothing about grip"))
    else:
        value, spread = climbed_grade(grades, held)
        for row in np.flatnonzero(np.where(held, grades > 1.25 * value, grades < 0.8 * value)).tolist():
            text = (
                f"a grade of {grades[row]:.1%} was {'held' if held[row] else 'lost'}, far from the others; it is kept"
            )
            told.append(Told(log.table.path, log.table.lines[row], "outlier", text))

        def model(figures: Sequence[UncertainFigure], values: Array) -> Array:
            return one.rows(figures, values).climb_grade("leg-1")[0]

        wording = f"steepest grade on {surface} ({len(grades)} attempts)"
        readings.append(_reading(log, 0, wording, value, spread, "ratio", model, one))
    readings += _slips(log, vehicle, surface, told)
    return Reads(tuple(readings), tuple(told))


def _slips(log: Log, vehicle: Ridden, surface: str, told: list[Told]) -> list[Reading]:
    """Slip at grades that were held, one reading per grade."""
    rows = np.flatnonzero(log.has("slip") & np.array(log.columns["held"], dtype=np.bool_))
    if not len(rows):
        return []
    grades, slips = log.numbers("grade"), log.numbers("slip")
    readings = []
    for grade in np.unique(grades[rows]).tolist():
        here = rows[grades[rows] == grade]
        one = vehicle.at([(WALKING, grade)], surface)
        up = next(number for number, leg in enumerate(one.model.legs) if leg.angle > 0.0)
        if not one.model.legs[up].ground.soft:
            told.append(poor(log, f"slip on {surface} is not used: the model has none on firm ground"))
            return []
        if len(here) >= 3:
            value, spread = mean_of(slips[here])
            spread = float(np.hypot(spread, _SLIP_KNOWN))
        else:
            value, spread = float(slips[here].mean()), 0.03

        def model(figures: Sequence[UncertainFigure], values: Array, one: Ridden = one, up: int = up) -> Array:
            evaluation = one.rows(figures, values)
            return np.asarray(evaluation.ride(evaluation.model.legs[up]).slip)

        wording = f"slip on {surface} at {grade:.1%}"
        readings.append(_reading(log, int(here[0]), wording, value, spread, "ratio", model, one))
    return readings


def read_brake(log: Log, case: Case) -> Reads:
    """Hardest deceleration of one log of stops."""
    surface, vehicle = surface_of(log, case), ridden(log, case)
    slowing = log.numbers("deceleration")
    ends = [end.casefold() for end in log.texts("ended by")]
    for row, end in enumerate(ends):
        if end not in ("", "grip", "brake", "lift"):
            message, fix = f'"{end[:40]}" ends no stop', "write grip, brake or lift"
            raise FindingsError([log.finding(row, "ended by", "LOG-CELL", message, fix)])
    told: list[Told] = []
    readings: list[Reading] = []
    for end in ("grip", "brake"):
        rows = np.flatnonzero([one in (("", "grip") if end == "grip" else (end,)) for one in ends])
        if not len(rows):
            continue
        values = slowing[rows]
        if len(rows) < 3:
            told.append(poor(log, f"{len(rows)} stop{'s' * (len(rows) > 1)} ended by {end}: too few, make at least 3"))
            continue
        value, spread = mean_of(values)
        spread = float(np.hypot(spread, _SLOWING_KNOWN * value))
        for number in stray(values).tolist():
            text = f"{values[number]:.2f} m/s2 stands apart from the other stops; it is kept"
            told.append(Told(log.table.path, log.table.lines[rows[number]], "outlier", text))
        changes = _hand_force(log, vehicle, rows) if end == "brake" else {"hand_force": Figure(1e5)}
        one = vehicle.at([(WALKING, 0.0)], surface, **changes)
        wording = f"hardest stop on {surface}, ended by {end} ({len(rows)} stops)"
        readings.append(_reading(log, int(rows[0]), wording, value, spread, "acceleration", _stops(one), one))
    if "lift" in ends:
        told.append(
            Told(log.table.path, log.table.header_line, "remark", "stops ended by the lifting wheel are not used")
        )
    return Reads(tuple(readings), tuple(told))


def _stops(one: Ridden) -> Modelled:
    def model(figures: Sequence[UncertainFigure], values: Array) -> Array:
        return one.rows(figures, values).deceleration("leg-1")

    return model


def _hand_force(log: Log, vehicle: Ridden, rows: NDArray[np.int64]) -> dict[str, Figure]:
    """The hand force that makes the mean of the measured line pressures; the scenario's where none was measured."""
    pressure = log.numbers("pressure")[rows]
    pressure = pressure[np.isfinite(pressure)]
    if not len(pressure):
        return {}
    circuit = getattr(vehicle.vehicle, POSITIONS[0]).brake
    per_newton = float(
        line_pressure(1.0, lever_ratio=float(circuit.lever_ratio), master_diameter=float(circuit.master_diameter))
    )
    return {"hand_force": Figure(float(pressure.mean()) / per_newton)}


def _reading(
    log: Log, row: int, wording: str, value: float, spread: float, dimension: str, model: Modelled, one: Ridden
) -> Reading:
    return Reading(log.table.path, log.table.lines[row], wording, value, spread, dimension, model, tuple(one.figures))
