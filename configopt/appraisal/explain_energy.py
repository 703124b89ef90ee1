"""What went into energy and range: per terrain by cause, and over the mix."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.explain_resistance import wheel_resistance
from configopt.appraisal.explained import (
    EVERYWHERE,
    Input,
    Place,
    Reading,
    Rule,
    each_terrain,
    given,
    once,
    rough_terrains,
    soft_terrains,
    terrains_with_obstacles,
)
from configopt.appraisal.forces import CAUSES, GROUND_CAUSES, LegResult
from configopt.appraisal.report import sum_of
from configopt.appraisal.uncertain import FARTHEST, uncertain_figures
from configopt.appraisal.uncertainty import INTERVAL, LOG_DRAWS
from configopt.appraisal.vehicle import POSITIONS
from configopt.physics.rough_ride import contact_grip_factor


def _cause(cause: str) -> Callable[[Reading, Place], Any]:
    return lambda reading, place: reading.mean(place[1], lambda leg: leg.battery[cause])


def _wheels(reading: Reading) -> list[Input]:
    return [given(f"wheels {position}", reading.model.wheels(position), "pieces") for position in POSITIONS]


def _by_wheels(cause: str) -> Callable[[Reading, Place], Iterable[Input]]:
    def inputs(reading: Reading, place: Place) -> Iterable[Input]:
        found = _wheels(reading)
        for position in POSITIONS:
            for word, leg in reading.directions(place[1]):
                resistance = wheel_resistance(reading, cause, position, leg)
                found.append(given(f"resistance of one wheel {position}{word}", resistance, "N"))
        return found

    return inputs


def _slip(reading: Reading, place: Place) -> Iterable[Input]:
    found = []
    for word, leg in reading.directions(place[1]):
        found += [given(f"thrust{word}", leg.need, "N"), given(f"slip{word}", leg.slip, "%")]
    return found


def traction(leg: LegResult) -> Any:
    """Force that the wheels need in a direction, stops apart [N]; negative where the vehicle is held back."""
    return sum_of([leg.wheel[cause] for cause in (*GROUND_CAUSES, "grade", "air")])


def _grade(reading: Reading, place: Place) -> Iterable[Input]:
    found = [given("mass", reading.evaluation.total, "kg")]
    for word, leg in reading.directions(place[1]):
        held_back = np.maximum(-traction(leg), 0.0)
        found += [
            given(f"grade angle{word}", leg.leg.angle, "deg"),
            given(f"held back{word}", held_back, "N"),
        ]
    return found


def _air(reading: Reading, place: Place) -> Iterable[Input]:
    model = reading.model
    return [
        given("air density", model.air_density, "kg/m3"),
        given("drag area", reading.vehicle.drag_area, "m2"),
        given("speed", reading.ground(place[1]).speed, "km/h"),
    ]


def _stops(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        given("stops per distance", float(reading.terrain(place[1]).stops_per_km) / 1e3, "per km"),
        given("mass", reading.evaluation.total, "kg"),
        given("mass added by the turning wheels", reading.evaluation.rotating_mass(), "kg"),
        given("speed", reading.ground(place[1]).speed, "km/h"),
    ]


def _drivetrain(reading: Reading, place: Place) -> Iterable[Input]:
    drive = reading.vehicle.drive
    found = [
        given("efficiency of the motor", drive.motor_efficiency),
        given("efficiency of the drive", drive.drive_efficiency),
        given("stops", reading.legs(place[1])[0].wheel["stop_and_go"], "N"),
    ]
    return [*found, *(given(f"traction{word}", traction(leg), "N") for word, leg in reading.directions(place[1]))]


def _regeneration(reading: Reading, place: Place) -> Iterable[Input]:
    drive, driven, ground = reading.vehicle.drive, reading.driven, reading.ground(place[1])
    found = [
        given("efficiency of regeneration", drive.regeneration_efficiency),
        given("motor torque for regeneration", drive.regeneration_torque, "N m"),
        given("ratio", reading.evaluation.ratio),
    ]
    for word, leg in reading.directions(place[1]):
        f, load = reading.footing(driven), reading.leg_load(leg, driven)
        kept = contact_grip_factor(leg.contact[driven].dynamic_load_ratio, load_exponent=ground.figures.load_exponent)
        grip = kept * reading.model.wheels(driven) * on.grip_force(f, ground, load)
        found += [
            given(f"traction{word}", traction(leg), "N"),
            given(f"loaded radius{word}", on.loaded_radius(f, load), "mm"),
            given(f"grip of the driven wheels{word}", grip, "N"),
        ]
    return found


def _regenerating(reading: Reading) -> Sequence[Place]:
    gives = {t: float(reading.mean(t, lambda leg: leg.battery["regeneration"])[0]) for t in reading.terrains}
    return tuple((None, terrain) for terrain, value in gives.items() if value < 0.0)


def _climbing(reading: Reading) -> Sequence[Place]:
    return tuple((None, t) for t in reading.terrains if any(leg.leg.angle != 0.0 for leg in reading.legs(t)))


def _stopping(reading: Reading) -> Sequence[Place]:
    return tuple((None, terrain) for terrain in reading.terrains if float(reading.terrain(terrain).stops_per_km) > 0.0)


def _terrain_energy(reading: Reading, terrain: str | None) -> Any:
    return reading.mean(terrain, lambda leg: sum_of(leg.battery.values()))


def _terrain_loss(reading: Reading, terrain: str | None) -> Any:
    return reading.mean(terrain, lambda leg: sum_of([leg.wheel[cause] for cause in GROUND_CAUSES]))


def _mix(of: Callable[[Reading, str | None], Any]) -> Callable[[Reading, Place], Iterable[Input]]:
    def inputs(reading: Reading, place: Place) -> Iterable[Input]:
        found = []
        for terrain in reading.terrains:
            found += [
                given(f"share of {terrain}", reading.terrain(terrain).share, "%"),
                given(f"on {terrain}", of(reading, terrain), "Wh/km"),
            ]
        return found

    return inputs


def _causes(names: Sequence[str]) -> Callable[[Reading, Place], Iterable[Input]]:
    def inputs(reading: Reading, place: Place) -> Iterable[Input]:
        return [given(name.replace("_", " "), _cause(name)(reading, place), "Wh/km") for name in names]

    return inputs


def _mixed(cause: str) -> Rule:
    """One cause over the mix of terrains."""

    def on_terrain(reading: Reading, terrain: str | None) -> Any:
        return _cause(cause)(reading, (None, terrain))

    def value(reading: Reading, place: Place) -> Any:
        return reading.outcome.energy_by_cause[cause]

    def counts(reading: Reading) -> Sequence[Place]:
        return (EVERYWHERE,) if float(value(reading, EVERYWHERE)[0]) != 0.0 else ()

    return Rule(_figure(cause), _mix(on_terrain), counts, "energy", value, "Wh/km")


def _figure(cause: str) -> str:
    """A cause's name as a figure: slip itself is another one."""
    return "slip_loss" if cause == "slip" else cause


def _range(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        given("usable energy of the battery", reading.vehicle.battery_energy, "Wh"),
        given("energy", reading.outcome.energy, "Wh/km"),
    ]


def _uncertain(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        given("draws", 2**LOG_DRAWS, "pieces"),
        given("low end of the interval", INTERVAL[0], "%"),
        given("high end of the interval", INTERVAL[1], "%"),
        given("cut, in standard uncertainties", FARTHEST),
    ]


def _by_cause(
    cause: str,
    inputs: Callable[[Reading, Place], Iterable[Input]],
    places: Any,
    model: str = "wheel_energy",
) -> Rule:
    return Rule(_figure(cause), inputs, places, model, _cause(cause), "Wh/km")


ENERGY_RULES: tuple[Rule, ...] = (
    _by_cause("rolling", _by_wheels("rolling"), each_terrain),
    _by_cause("soft_ground", _by_wheels("soft_ground"), soft_terrains),
    _by_cause("roughness", _by_wheels("roughness"), rough_terrains),
    _by_cause("obstacles", _by_wheels("obstacles"), terrains_with_obstacles),
    _by_cause("slip", _slip, soft_terrains, "slip_energy"),
    _by_cause("grade", _grade, _climbing, "grade_energy"),
    _by_cause("air", _air, each_terrain, "air"),
    _by_cause("stop_and_go", _stops, _stopping, "stop_and_go"),
    _by_cause("drivetrain", _drivetrain, each_terrain, "drivetrain"),
    _by_cause("regeneration", _regeneration, _regenerating, "regeneration"),
    Rule(
        "rolling_loss",
        _causes(GROUND_CAUSES),
        each_terrain,
        "rolling_loss",
        lambda r, p: _terrain_loss(r, p[1]),
        "Wh/km",
    ),
    Rule("energy", _causes(CAUSES), each_terrain, "energy", lambda r, p: _terrain_energy(r, p[1]), "Wh/km"),
    Rule("rolling_loss", _mix(_terrain_loss), once),
    Rule("energy", _mix(_terrain_energy), once),
    *(_mixed(cause) for cause in CAUSES),
    Rule("range", _range, once),
    Rule(
        "uncertain_figures",
        _uncertain,
        once,
        "uncertainty",
        lambda r, _: len(uncertain_figures(r.model, r.appraised.packages)),
        "pieces",
    ),
)
