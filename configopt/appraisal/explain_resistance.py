"""What went into resistance, motor thrust and climbs: forces at the wheels of each terrain."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.explain_ground import obstacles, road, soil, suspended
from configopt.appraisal.explain_tire import firm_patch_length
from configopt.appraisal.explained import (
    Input,
    Place,
    Reading,
    Rule,
    at,
    at_both_ends,
    each_terrain,
    firm_terrains,
    given,
    rough_terrains,
    soft_terrains,
    terrains_with_obstacles,
)
from configopt.appraisal.forces import LEAST_NEED, RESISTING, LegResult
from configopt.appraisal.ground_remarks import second_opinion
from configopt.appraisal.vehicle import CLIMB_SLIP, CLIMB_SPEED, POSITIONS
from configopt.catalog.records import Position


def wheel_resistance(reading: Reading, cause: str, position: Position, leg: LegResult) -> Any:
    """Resistance of one wheel by one cause in a direction [N]."""
    f, ground, load = reading.footing(position), leg.leg.ground, reading.leg_load(leg, position)
    if cause == "roughness":
        return leg.contact[position].resistance
    if cause == "obstacles":
        suspension = getattr(reading.vehicle, position).suspension
        return on.obstacle_resistance(
            f,
            ground,
            load,
            unsprung_mass=reading.evaluation.unsprung[position],
            damping=float(suspension.damping),
            suspended=not suspension.rigid,
        )
    state = reading.leg_soil(leg, position)
    if cause == "soft_ground":
        return on.soil_resistance(ground, state, load, follows=position == "rear")
    return on.rolling_resistance(f, ground, load, state, on.coefficient(f, ground))


def _of(cause: str) -> Any:
    def value(reading: Reading, place: Place) -> Any:
        return wheel_resistance(reading, cause, at(place), reading.hardest(place[1]))

    return value


def _rolling(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    leg = reading.hardest(terrain)
    found = [
        given("rolling coefficient", on.coefficient(reading.footing(position), reading.ground(terrain))),
        given("wheel load", reading.leg_load(leg, position), "N"),
    ]
    state = reading.leg_soil(leg, position)
    if state is None:
        return found
    return [
        *found,
        given("inflation and casing pressure", reading.footing(position).total_pressure, "kPa"),
        given("pressure under a rigid wheel", state.critical_pressure, "kPa"),
    ]


def _compaction(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    leg = reading.hardest(terrain)
    follows = position == "rear"
    return [
        given("sinkage", leg.sinkage[position], "mm"),
        given("section width", reading.footing(position).width, "mm"),
        given("firm patch length", firm_patch_length(reading, position, reading.leg_load(leg, position)), "mm"),
        *soil(reading, terrain),
        given("rut factor", reading.ground(terrain).assumed.rut_factor if follows else 1.0),
    ]


def _roughness(reading: Reading, place: Place) -> Iterable[Input]:
    leg = reading.hardest(place[1])
    found = road(reading, at(place), leg)
    if getattr(reading.vehicle, at(place)).suspension.rigid:
        return found
    return [*found, given("stiffness with the contact kept", leg.contact[at(place)].effective_stiffness, "kN/m")]


def _obstacles(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    load = reading.leg_load(reading.hardest(terrain), position)
    damper = [row for row in suspended(reading, position) if row.name == "damping"]
    found = [*obstacles(reading, position, terrain, load), *damper]
    for number, obstacle in enumerate(reading.ground(terrain).obstacles, start=1):
        found += [
            given(f"height of obstacle {number}", obstacle.height, "mm"),
            given(f"obstacles {number} per distance", float(obstacle.per_km) / 1e3, "per km"),
        ]
    return found


def _terrain(reading: Reading, place: Place) -> Iterable[Input]:
    leg = reading.hardest(place[1])
    causes: Mapping[str, Any] = leg.wheel
    return [given(cause.replace("_", " "), causes[cause], "N") for cause in (*RESISTING, "grade", "air")]


def _drive_reserve(reading: Reading, place: Place) -> Iterable[Input]:
    drive, driven, evaluation = reading.vehicle.drive, reading.driven, reading.evaluation

    def reserve(leg: LegResult) -> float:
        by_power = float(drive.motor_power) * float(drive.drive_efficiency) / leg.leg.ground.speed
        thrust = np.minimum(evaluation.motor_thrust(leg.loads[driven]), by_power)
        return float((thrust / np.maximum(leg.need, LEAST_NEED))[0])

    leg = min(reading.legs(place[1]), key=reserve)
    radius = on.loaded_radius(reading.footing(driven), reading.leg_load(leg, driven))
    return [
        *_motor(reading),
        given("loaded radius", radius, "mm"),
        given("motor power", drive.motor_power, "W"),
        given("speed", leg.leg.ground.speed, "km/h"),
        given("resistance of the terrain", leg.need, "N"),
    ]


def _motor(reading: Reading) -> list[Input]:
    drive = reading.vehicle.drive
    return [
        given("motor torque", drive.motor_torque, "N m"),
        given("ratio", reading.evaluation.ratio),
        given("efficiency of the drive", drive.drive_efficiency),
    ]


def _climb(reading: Reading, place: Place) -> Iterable[Input]:
    """Forces at the steepest grade itself, so that the balance can be drawn up again."""
    evaluation, ground, driven = reading.evaluation, reading.ground(place[1]), reading.driven
    grade = reading.limit_value("climb_grade", place)
    loads = evaluation.loads(angle=np.arctan(grade))
    states = evaluation.on_ground(ground, loads)
    resisted = sum(evaluation.resistances(ground, loads, states, speed=CLIMB_SPEED, obstacles=False).values())
    ahead, height = evaluation.center_of_gravity()
    thrust = evaluation.thrust(ground, loads[driven], states[driven], CLIMB_SLIP)
    found = [
        given("thrust of the ground on that grade", thrust, "N"),
        given("thrust of the motor on that grade", evaluation.motor_thrust(loads[driven]), "N"),
        given("resistance on that grade", resisted, "N"),
        given("mass", evaluation.total, "kg"),
        given("centre of gravity ahead of the rear axle", ahead, "mm"),
        given("height of the centre of gravity", height, "mm"),
    ]
    for position in POSITIONS:
        found.append(given(f"wheel load {position} on that grade", loads[position], "N"))
    return found


def _second_opinion(reading: Reading, place: Place) -> Iterable[str]:
    position, ground = at(place), reading.ground(place[1])
    if ground.surface.cone_index is None:
        return []
    return second_opinion(reading.evaluation, ground, position, reading.load(position))


RESISTANCE_RULES: tuple[Rule, ...] = (
    Rule(
        "rolling_resistance_of_one_wheel",
        _rolling,
        at_both_ends(firm_terrains),
        "rolling_resistance",
        _of("rolling"),
        "N",
    ),
    Rule(
        "rolling_resistance_of_one_wheel",
        _rolling,
        at_both_ends(soft_terrains),
        "flexing_on_soil",
        _of("rolling"),
        "N",
    ),
    Rule(
        "soft_ground_resistance_of_one_wheel",
        _compaction,
        at_both_ends(soft_terrains),
        "compaction",
        _of("soft_ground"),
        "N",
        _second_opinion,
    ),
    Rule(
        "roughness_resistance_of_one_wheel",
        _roughness,
        at_both_ends(rough_terrains),
        "roughness",
        _of("roughness"),
        "N",
    ),
    Rule(
        "obstacle_resistance_of_one_wheel",
        _obstacles,
        at_both_ends(terrains_with_obstacles),
        "obstacles",
        _of("obstacles"),
        "N",
    ),
    Rule(
        "resistance_of_the_terrain",
        _terrain,
        each_terrain,
        "terrain_resistance",
        lambda r, p: r.hardest(p[1]).need,
        "N",
    ),
    Rule("drive_reserve", _drive_reserve, each_terrain),
    Rule("climb_grade", _climb, each_terrain),
)
