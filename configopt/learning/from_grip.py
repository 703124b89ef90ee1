"""Readings from climbs and hardest stops."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.uncertain import UncertainFigure
from configopt.errors import FindingsError
from configopt.learning.log_reading import Log
from configopt.learning.reading import Array, Modelled, Reading, Reads, Rows, Told, mean_of, poor, strays
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
#: Gain in log-likelihood from which attempts differ by more than the least.
_CONTRADICT = 2.0
#: A hand force at which no brake ends a stop [N], and the share of its load that a rear wheel has left which lifts.
HARD, LIFTED = 1e5, 0.02
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
        What the steepest grade differs by from attempt to attempt at least, relative standard deviation.

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
    Probability of holding a grade g: Phi((G - g)/(d g)) with the steepest grade G and the difference d (probit model of
    all-or-none responses; Finney, Probit Analysis, 1947, from memory).  Where attempts contradict each other so much
    that a greater difference explains them better by a factor of e^2, all differences from the least on count by what
    they explain.

    >>> mean, spread = climbed_grade(np.array([0.2, 0.3]), np.array([True, False]))
    >>> round(mean, 2)
    0.25
    """
    from scipy.special import log_ndtr

    if held.all() or not held.any():
        raise ValueError("attempts on both sides of the steepest grade are needed")
    grid = np.linspace(0.3 * grades.min(), 2.0 * grades.max(), _GRID)
    differs = differ * np.geomspace(1.0, 8.0, 10)
    off = (grid[:, None] - grades) / grades
    logs = np.stack([np.where(held, log_ndtr(off / d), log_ndtr(-off / d)).sum(axis=1) for d in differs])
    if logs.max() <= logs[0].max() + _CONTRADICT:
        logs = logs[:1]
    weight = np.exp(logs - logs.max()).sum(axis=0)
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
    ends = [end.casefold() for end in log.texts("ended by")]
    for row, end in enumerate(ends):
        if end not in ("grip", "brake", "lift"):
            message, fix = f'"{end[:40]}" ends no stop', "write grip, brake or lift"
            raise FindingsError([log.finding(row, "ended by", "LOG-CELL", message, fix)])
    told: list[Told] = []
    readings: list[Reading] = []
    for end in ("grip", "brake"):
        rows = np.flatnonzero([one == end for one in ends])
        if len(rows):
            readings += _stopped(log, vehicle, surface, end, rows, told)
    if "lift" in ends:
        text = "stops ended by the lifting wheel are not used: they tell about masses and heights"
        told.append(Told(log.table.path, log.table.header_line, "remark", text))
    return Reads(tuple(readings), tuple(told))


def _stopped(log: Log, vehicle: Ridden, surface: str, end: str, rows: Rows, told: list[Told]) -> list[Reading]:
    """One reading of the stops that one thing ended, where by the model the same ends them."""
    values, pressures = log.numbers("deceleration")[rows], log.numbers("pressure")[rows]
    if len(rows) < 3:
        told.append(poor(log, f"stops ended by {end}: {len(rows)}, too few; make at least 3"))
        return []
    if end == "brake" and not np.isfinite(pressures).all():
        told.append(poor(log, "stops ended by the brake without the pressure in its lines tell nothing; not used"))
        return []
    hard = vehicle.at([(WALKING, 0.0)], surface, hand_force=Figure(HARD))
    one = vehicle.at([(WALKING, 0.0)], surface, **_lines(vehicle, float(pressures.mean()))) if end == "brake" else hard
    by_grip, modelled = (float(each.once().deceleration("leg-1")[0]) for each in (hard, one))
    lifts = float(hard.once().rear_load(by_grip)[0]) < LIFTED * float(hard.once().rear_load(0.0)[0])
    if end == "brake" and modelled >= 0.999 * by_grip:
        told.append(poor(log, "by the model the ground, not the brake, ends these stops; not used"))
        return []
    if end == "grip" and lifts:
        told.append(poor(log, "by the model the lifting rear wheel, not the ground, ends these stops; not used"))
        return []
    value, spread = mean_of(values)
    spread = float(np.hypot(spread, _SLOWING_KNOWN * value))
    told += strays(log, rows, values, "a stop", 1.0, "m/s2")
    wording = f"hardest stop on {surface}, ended by {end} ({len(rows)} stops)"
    return [_reading(log, int(rows[0]), wording, value, spread, "acceleration", _stops(one), one)]


def _stops(one: Ridden) -> Modelled:
    def model(figures: Sequence[UncertainFigure], values: Array) -> Array:
        return one.rows(figures, values).deceleration("leg-1")

    return model


def _lines(vehicle: Ridden, pressure: float) -> dict[str, Any]:
    """The vehicle with both brake lines at one pressure [Pa]: the front's lever and master at both ends."""
    circuit = vehicle.vehicle.front.brake
    per_newton = float(
        line_pressure(1.0, lever_ratio=float(circuit.lever_ratio), master_diameter=float(circuit.master_diameter))
    )
    lever = {"lever_ratio": circuit.lever_ratio, "master_diameter": circuit.master_diameter}
    rear = vehicle.vehicle.rear
    alike = rear.model_copy(update={"brake": rear.brake.model_copy(update=lever)})
    return {"hand_force": Figure(pressure / per_newton), "rear": alike}


def _reading(
    log: Log, row: int, wording: str, value: float, spread: float, dimension: str, model: Modelled, one: Ridden
) -> Reading:
    return Reading(log.table.path, log.table.lines[row], wording, value, spread, dimension, model, tuple(one.figures))
