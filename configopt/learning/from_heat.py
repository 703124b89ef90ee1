"""Readings from a rotor that cools: how much heat the air carries off, over what the correlation says."""

from __future__ import annotations

from typing import Any

import numpy as np

from configopt.appraisal.assumptions import RANGES, Assumed
from configopt.appraisal.uncertain import UncertainFigure
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position, Rotor
from configopt.errors import FindingsError
from configopt.learning.from_rolling import unsorted
from configopt.learning.log_reading import Log
from configopt.learning.reading import (
    Array,
    Reading,
    Reads,
    Told,
    figure_alone,
    itself,
    mean_of,
    prior_spread,
    stray,
)
from configopt.learning.ridden import ridden
from configopt.learning.student import student_factor
from configopt.physics.constants import STEFAN_BOLTZMANN
from configopt.physics.materials import ROTOR_STEELS
from configopt.physics.rotor_cooling import solid_rotor_convection
from configopt.physics.rotor_heat import heat_capacity, track_area
from configopt.scenario.case import Case

#: Least rise over the air at the start [K], and least share of it lost, for a run to tell the cooling.
LEAST_RISE, LEAST_LOSS = 30.0, 0.3
#: Relative standard uncertainty of the heat that a rotor holds: specific heat, cut-outs (common practice, no source).
_CAPACITY_KNOWN = 0.04
_STEP = 0.5


def cooled(
    time: Array,
    speed: Array,
    *,
    start: float,
    factor: float,
    rotor: Rotor,
    thickness: float,
    ambient: float,
    emissivities: tuple[float, float],
) -> Array:
    """Temperature of a rotor with the brake released [K].

    Parameters
    ----------
    time, speed
        Times of the readings [s], rising, and speeds of the vehicle at them [m/s].
    start
        Temperature at the first of them [K].
    factor
        Convection over the correlation [1].
    rotor, thickness
        The rotor, and the thickness of its track [m].
    ambient
        Of the air [K].
    emissivities
        Of track and carrier [1].

    Notes
    -----
    C dT/dt = -f h A (T - T_a) - sigma (e_1 A_1 + e_2 A_2)(T^4 - T_a^4): the model of the rotor's temperature in the
    appraisal, by the midpoint rule in steps of at most half a second.
    """
    steel = ROTOR_STEELS[rotor.steel]
    area = float(track_area(float(rotor.diameter), float(rotor.track_height)))
    capacity = float(heat_capacity(area, thickness=thickness, density=steel.density, specific_heat=steel.specific_heat))
    rest = max(float(rotor.mass) - area * float(rotor.thickness) * steel.density, 0.0)
    rest_area = 2.0 * rest / (steel.density * float(rotor.thickness))
    whole = 2.0 * area + rest_area
    radiating = STEFAN_BOLTZMANN * (emissivities[0] * 2.0 * area + emissivities[1] * rest_area)
    steps = np.maximum(np.ceil(np.diff(time) / _STEP).astype(int), 1)
    grid = np.concatenate(
        [[time[0]], *(np.linspace(a, b, n + 1)[1:] for a, b, n in zip(time, time[1:], steps, strict=False))]
    )
    middle = 0.5 * (grid[1:] + grid[:-1])
    air = factor * solid_rotor_convection(np.interp(middle, time, speed), diameter=float(rotor.diameter)) * whole

    def slope(t: float, number: int) -> float:
        return float(-(air[number] * (t - ambient) + radiating * (t**4 - ambient**4)) / capacity)

    temperatures = np.empty(len(grid))
    temperatures[0] = start
    lengths = np.diff(grid)
    for number, length in enumerate(lengths.tolist()):
        now = temperatures[number]
        temperatures[number + 1] = now + length * slope(now + 0.5 * length * slope(now, number), number)
    return np.asarray(temperatures[np.concatenate([[0], np.cumsum(steps)])])


def cooling_factor(
    time: Array,
    speed: Array,
    temperature: Array,
    *,
    rotor: Rotor,
    thickness: float,
    ambient: float,
    emissivities: tuple[float, float],
) -> tuple[float, float]:
    """Convection over the correlation in one run, and its standard uncertainty from the scatter of the readings [1].

    The uncertainty is such that a normal distribution holds 95 % where Student's does.
    """
    from scipy.optimize import least_squares

    def left(point: Array) -> Array:
        return cooled(
            time, speed, start=float(point[0]), factor=float(point[1]), rotor=rotor, thickness=thickness,
            ambient=ambient, emissivities=emissivities,
        ) - temperature  # fmt: skip

    found = least_squares(
        left, [float(temperature[0]), 1.0], x_scale=[10.0, 0.1], bounds=([ambient, 0.01], [2000.0, 20.0])
    )
    free = max(len(time) - 2, 1)
    variance = np.linalg.inv(found.jac.T @ found.jac) * float(found.fun @ found.fun) / free
    return float(found.x[1]), student_factor(free) * float(np.sqrt(variance[1, 1]))


def read_cooling(log: Log, case: Case) -> Reads:
    """Convection factor of one rotor."""
    vehicle = ridden(log, case)
    stated = str(log.head["position"]).casefold()
    position: Position = "rear" if stated == "rear" else "front"
    if stated not in POSITIONS:
        message = f'"{log.head["position"]}" is no position'
        raise FindingsError([log.table.head_finding("position", "LOG-HEAD", message, "write front or rear")])
    rotor: Rotor = vehicle.packages[position].brake.rotor
    thickness = float(log.head.get("rotor_thickness", rotor.thickness))
    ambient = float(vehicle.vehicle.temperature)
    told: list[Told] = []
    time, speed, temperature = log.numbers("time"), log.numbers("speed"), log.numbers("temperature")
    runs: dict[str, list[int]] = {}
    for row, number in enumerate(log.texts("run")):
        runs.setdefault(number, []).append(row)
    findings = [found for rows in runs.values() for found in unsorted(log, rows, time)]
    if findings:
        raise FindingsError(findings)
    assumed = Assumed()
    middle = (float(assumed.track_emissivity), float(assumed.rest_emissivity))
    given: dict[str, Any] = {"rotor": rotor, "ambient": ambient}
    factors, spreads, moved, used = [], [], [], []
    for number, rows in runs.items():
        t, v, hot = time[rows], speed[rows], temperature[rows]
        rise = hot[0] - ambient
        if len(rows) < 6 or rise < LEAST_RISE or hot[0] - hot[-1] < LEAST_LOSS * rise:
            text = f"run {number}: {len(rows)} readings from {rise:.0f} K over the air; too short to tell, not used"
            told.append(Told(log.table.path, log.table.lines[rows[0]], "poor", text))
            continue
        factor, spread = cooling_factor(t, v, hot, thickness=thickness, emissivities=middle, **given)
        used.append(number)
        factors.append(factor)
        spreads.append(spread)
        other = []
        for which in (0, 1):
            name = ("track_emissivity", "rest_emissivity")[which]
            sure = prior_spread(UncertainFigure(name, None, RANGES[name].middle, 0.0, ""))
            shifted = tuple(e + sure * (i == which) for i, e in enumerate(middle))
            other.append(
                cooling_factor(t, v, hot, thickness=thickness, emissivities=(shifted[0], shifted[1]), **given)[0]
                - factor
            )
        moved.append(other)
    if not factors:
        return Reads((), tuple(told))
    values = np.array(factors)
    if len(values) >= 3:
        value, spread = mean_of(values)
    else:
        value, spread = float(values.mean()), 2.0 * float(np.mean(spreads)) / float(np.sqrt(len(values)))
        told.append(Told(log.table.path, log.table.header_line, "poor", f"usable runs: {len(values)}, make at least 3"))
    for number in stray(values).tolist():
        text = f"run {used[number]} stands apart with a factor of {values[number]:.2f}; it is kept"
        told.append(Told(log.table.path, log.table.header_line, "outlier", text))
    by_emissivity = np.abs(np.mean(moved, axis=0))
    spread = float(np.sqrt(spread**2 + (by_emissivity**2).sum() + (_CAPACITY_KNOWN * value) ** 2))
    prior = prior_spread(UncertainFigure("convection", None, 1.0, 0.0, ""))
    figure = figure_alone(case.catalog, "rotors", rotor.id, "convection_factor", otherwise=(1.0, prior))
    assert figure is not None
    wording = f"convection of {rotor.id} over the correlation ({len(values)} runs)"
    reading = Reading(log.table.path, log.table.header_line, wording, value, spread, "ratio", itself(figure), (figure,))
    return Reads((reading,), tuple(told))
