"""Readings from coast-downs and from energy over distance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from configopt.appraisal.forces import RESISTING
from configopt.appraisal.model import Evaluation
from configopt.appraisal.uncertain import UncertainFigure
from configopt.errors import Finding, FindingsError
from configopt.learning.coast_down import WIND_LIMIT, CoastDown, Run, coast_down
from configopt.learning.log_reading import Log
from configopt.learning.reading import Array, Modelled, Reading, Reads, Told, mean_of, poor, stray
from configopt.learning.ridden import Ridden, ridden, surface_of
from configopt.physics.loads import GRAVITY
from configopt.quantities import to_unit
from configopt.scenario.case import Case

#: Shortest run [s] and least share of its speed that a run loses, for its force to be told from the noise.
SHORTEST, LEAST_LOSS = 5.0, 0.25
#: Relative standard uncertainty of the scenario's drag area where the runs do not tell it (common practice, no source).
_AIR_KNOWN = 0.10
#: How far the fitted drag area may lie from the scenario's, in standard uncertainties of both.
OUTLYING_AREA = 2.0
#: Speeds at which the ground's force is computed between a coast-down's fastest and slowest reading.
_SPEEDS = 9
#: Relative standard uncertainty of one energy reading: meter, efficiency of the drive (common practice, no source).
_ENERGY_KNOWN = 0.03
#: Relative standard uncertainty of a force from a coast-down beyond its scatter: speed and mass (common practice).
_FORCE_KNOWN = 0.01
#: A gap is this many times the usual interval, and at least so long [s].
_GAP, _GAP_TIME = 5.0, 1.0


def read_coast_down(log: Log, case: Case) -> Reads:
    """Force of the ground in one log of coast-downs.

    Raises
    ------
    FindingsError
        Unsorted times, unknown ways, what the head names and is not there.
    """
    surface, vehicle = surface_of(log, case), ridden(log, case)
    told: list[Told] = []
    pairs = list(_pairs(log, told))
    wind = log.head.get("wind")
    if wind is not None and wind > WIND_LIMIT:
        told.append(poor(log, f"too windy: {wind:.1f} m/s measured, at most {WIND_LIMIT:g} m/s; not used"))
        pairs = []
    if not pairs:
        told.append(poor(log, "no pair of usable runs out and back: wind and grade cannot be told from rolling"))
        return Reads((), tuple(told))
    fast = max(float(run.speed.max()) for pair in pairs for run in pair)
    slow = max(min(float(run.speed.min()) for pair in pairs for run in pair), 0.3)
    reference = 0.5 * (fast + slow)
    speeds = np.linspace(slow, fast, _SPEEDS)
    on_it = vehicle.at([(float(v), 0.0) for v in (reference, *speeds)], surface)
    now = on_it.once()
    forces = np.array([_ground_force(now, number)[0] for number in range(len(speeds) + 1)])
    shape = (speeds, forces[1:] / forces[0])
    mass = float(now.total[0])
    drag = 0.5 * on_it.model.air_density * float(vehicle.vehicle.drag_area)
    found = coast_down(
        pairs,
        mass=mass,
        equivalent_mass=mass + float(now.rotating_mass()[0]),
        shape=shape,
        air=(drag, _AIR_KNOWN * drag),
        drive_drag=float(log.head.get("drive_drag", 0.0)),
    )
    if found.force <= 2.0 * found.force_uncertainty:
        told.append(poor(log, f"the ground's force comes out at {found.force:.1f} N: look at drive_drag; not used"))
        return Reads((), tuple(told))
    told += _apart(log, pairs, found)
    told += _remarks(log, found, drag, on_it.model.air_density)
    one = vehicle.at([(reference, 0.0)], surface)

    def model(figures: Sequence[UncertainFigure], values: Array) -> Array:
        return _ground_force(one.rows(figures, values), 0)

    kmh = to_unit(reference, "km/h")
    coefficient = found.force / (mass * GRAVITY)
    reading = Reading(
        log.table.path,
        log.table.header_line,
        f"force of {surface} on all wheels at {kmh:.1f} km/h (a coefficient of {coefficient:.4f})",
        found.force,
        float(np.hypot(found.force_uncertainty, _FORCE_KNOWN * found.force)),
        "force",
        model,
        tuple(one.figures),
    )
    return Reads((reading,), tuple(told))


def _ground_force(evaluation: Evaluation, number: int) -> Array:
    """Resistance of the ground on one leg [N] by row, rolling, soil and roughness together."""
    leg = evaluation.ride(evaluation.model.legs[number])
    return np.asarray(sum((leg.wheel[cause] for cause in RESISTING), np.zeros_like(evaluation.total)))


def _pairs(log: Log, told: list[Told]) -> Iterator[tuple[Run, Run]]:
    """Usable runs out and back under the same number."""
    runs: dict[tuple[str, bool], list[int]] = {}
    ways = {"out": True, "back": False}
    findings: list[Finding] = []
    numbers, way_texts = log.texts("run"), log.texts("way")
    for row, (number, way) in enumerate(zip(numbers, way_texts, strict=True)):
        if way.casefold() not in ways:
            findings.append(log.finding(row, "way", "LOG-CELL", f'"{way[:40]}" is no way', "write out or back"))
            if len(findings) == 10:
                break
            continue
        runs.setdefault((number, ways[way.casefold()]), []).append(row)
    time, speed = log.numbers("time"), log.numbers("speed")
    findings += [found for rows in runs.values() for found in unsorted(log, rows, time)]
    if findings:
        raise FindingsError(findings)
    usable = {}
    for (number, out), rows in runs.items():
        t, v = time[rows] - time[rows[0]], speed[rows]
        line = log.table.lines[rows[0]]
        name = f"run {number} {'out' if out else 'back'}"
        steps = np.diff(t)
        if len(rows) < 8 or t[-1] < SHORTEST or v[-max(1, len(v) // 10) :].mean() > (1.0 - LEAST_LOSS) * v[0]:
            text = f"{name} is too short: {t[-1]:.1f} s, {v[0] * 3.6:.1f} to {v[-1] * 3.6:.1f} km/h; not used"
            told.append(Told(log.table.path, line, "poor", text))
            continue
        gaps = np.flatnonzero((steps > _GAP * np.median(steps)) & (steps > _GAP_TIME))
        for gap in gaps[:3].tolist():
            text = f"{name} has a gap of {steps[gap]:.1f} s"
            told.append(Told(log.table.path, log.table.lines[rows[gap + 1]], "remark", text))
        usable[number, out] = Run(number, out, t, v)
    for number in dict.fromkeys(number for number, _ in runs):
        if (number, True) in usable and (number, False) in usable:
            yield usable[number, True], usable[number, False]
        elif (number, True) in usable or (number, False) in usable:
            way = "back" if (number, True) in usable else "out"
            told.append(poor(log, f"run {number} has no usable run {way}; not used"))


def unsorted(log: Log, rows: Sequence[int], time: Array) -> list[Finding]:
    """Where the time of a run does not go on."""
    back = np.flatnonzero(np.diff(time[list(rows)]) <= 0.0)
    return [
        log.finding(
            rows[at + 1], "time", "LOG-TIME", "the time does not go on from the row before", "sort the run by time"
        )
        for at in back[:3].tolist()
    ]


def _apart(log: Log, pairs: Sequence[tuple[Run, Run]], found: CoastDown) -> Iterator[Told]:
    """Pairs that were ridden in too much wind, and those far from the others; they stay in."""
    for (out, _), pair in zip(pairs, found.pairs, strict=True):
        if abs(pair.wind) > WIND_LIMIT:
            yield poor(log, f"run {out.number}: {abs(pair.wind):.1f} m/s of wind along the stretch by the fit")
    for number in stray(np.array([pair.force for pair in found.pairs])).tolist():
        force = found.pairs[number].force
        text = f"run {pairs[number][0].number} stands apart with {force:.1f} N; it is kept"
        yield Told(log.table.path, log.table.header_line, "outlier", text)


def _remarks(log: Log, found: CoastDown, drag: float, density: float) -> Iterator[Told]:
    count = len(found.pairs)
    if count < 3:
        yield poor(log, f"{count} pair{'s' * (count > 1)} of runs: how much they scatter is not known; ride at least 5")
    if "drive_drag" not in log.head:
        text = "the head does not state drive_drag: what motor and chain drag counts as rolling"
        yield Told(log.table.path, 1, "remark", text)
    if found.air_fitted:
        area, own = 2.0 * found.air / density, 2.0 * drag / density
        spread = 2.0 * found.air_uncertainty / density
        text = f"drag area by these runs {area:.3f} +- {spread:.3f} m2; the scenario has {own:.3f} m2"
        if abs(area - own) > OUTLYING_AREA * float(np.hypot(spread, _AIR_KNOWN * own)):
            text += "; too far apart: correct drag_area in the scenario, or look for what else slows with the speed"
            yield poor(log, text)
            return
    else:
        text = "the runs are too slow to tell the drag area; the scenario's is taken, +- 10 %"
    yield Told(log.table.path, log.table.header_line, "remark", text)


def read_energy(log: Log, case: Case) -> Reads:
    """Energy per distance on one surface, one reading per speed."""
    surface, vehicle = surface_of(log, case), ridden(log, case)
    distance, energy, speed = log.numbers("distance"), log.numbers("energy"), log.numbers("speed")
    per_distance = energy / distance
    groups = _alike(speed)
    readings, told = [], []
    for rows in groups:
        at = float(speed[rows].mean())
        one = vehicle.at([(at, float(log.head.get("grade", 0.0)))], surface)
        values = per_distance[rows]
        if len(rows) >= 3:
            value, spread = mean_of(values)
        else:
            value, spread = float(values.mean()), 0.0
            kmh = to_unit(at, "km/h")
            told.append(poor(log, f"{len(rows)} reading{'s' * (len(rows) > 1)} at {kmh:.0f} km/h: scatter not known"))
        for number in stray(values).tolist():
            text = f"{to_unit(float(values[number]), 'Wh/km'):.1f} Wh/km stands apart from the others; it is kept"
            told.append(Told(log.table.path, log.table.lines[rows[number]], "outlier", text))
        readings.append(
            Reading(
                log.table.path,
                log.table.lines[rows[0]],
                f"energy on {surface} at {to_unit(at, 'km/h'):.0f} km/h",
                value,
                float(np.sqrt(spread**2 + (_ENERGY_KNOWN * value) ** 2 + (_AIR_KNOWN * _air_of(one)) ** 2)),
                "energy_per_distance",
                _energy_of(one),
                tuple(one.figures),
            )
        )
    return Reads(tuple(readings), tuple(told))


def _air_of(one: Ridden) -> float:
    """Battery energy for the air [J/m], of which the drag area is not sure."""
    evaluation = one.once()
    legs = evaluation.model.legs
    air = sum(leg.share * float(evaluation.ride(leg).battery["air"][0]) for leg in legs)
    return air / one.model.drive_efficiency


def _energy_of(one: Ridden) -> Modelled:
    def model(figures: Sequence[UncertainFigure], values: Array) -> Array:
        evaluation = one.rows(figures, values)
        total: Array = np.zeros_like(evaluation.total)
        for leg in evaluation.model.legs:
            total = total + leg.share * sum(evaluation.ride(leg).battery.values(), np.zeros_like(total))
        return total

    return model


def _alike(speed: Array) -> list[list[int]]:
    """Rows by speeds that differ by less than a tenth."""
    groups: list[list[int]] = []
    for row in np.argsort(speed, kind="stable").tolist():
        if groups and speed[row] <= 1.1 * speed[groups[-1][0]]:
            groups[-1].append(row)
        else:
            groups.append([row])
    return [sorted(rows) for rows in groups]
