"""What went into rotor temperatures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from configopt.appraisal.braking import rotor_convection
from configopt.appraisal.explained import (
    Input,
    Place,
    Reading,
    Rule,
    at,
    both_ends,
    given,
    nowhere,
)
from configopt.appraisal.vehicle import POSITIONS, REPEATED_STOPS
from configopt.catalog.records import Position
from configopt.physics.materials import ROTOR_STEELS


def _heated(reading: Reading) -> list[str]:
    return [descent.name for descent in reading.vehicle.descents]


def _descents(reading: Reading) -> Sequence[Place]:
    return tuple((position, name) for name in _heated(reading) for position in POSITIONS)


def _stops(reading: Reading) -> Sequence[Place]:
    return tuple((position, REPEATED_STOPS) for position in POSITIONS if reading.vehicle.stops is not None)


def _descent(reading: Reading, name: str | None) -> Any:
    return next(descent for descent in reading.vehicle.descents if descent.name == name)


def _descent_heat(reading: Reading, place: Place) -> Iterable[Input]:
    position, evaluation = at(place), reading.evaluation
    descent, ground = _descent(reading, place[1]), reading.ground(place[1])
    angle = -np.arctan(float(descent.grade))
    loads = evaluation.loads(angle=angle)
    helped = evaluation.resistances(ground, loads, evaluation.on_ground(ground, loads))
    return [
        given("mass", evaluation.total, "kg"),
        given("grade", descent.grade, "%"),
        given("resistance of the footings", sum(helped.values()), "N"),
        given("air drag", reading.model.air_force(ground.speed), "N"),
        given("speed", descent.speed, "km/h"),
        given("share of the axle", evaluation.brake_share(position, loads)),
        given("rotors", reading.model.rotors(position), "pieces"),
    ]


def _stop_heat(reading: Reading, place: Place) -> Iterable[Input]:
    position, evaluation, stops = at(place), reading.evaluation, reading.vehicle.stops
    assert stops is not None
    return [
        given("mass", evaluation.total, "kg"),
        given("mass added by the turning wheels", evaluation.rotating_mass(), "kg"),
        given("speed", stops.speed, "km/h"),
        given("share of the axle", evaluation.brake_share(position, evaluation.level)),
        given("rotors", reading.model.rotors(position), "pieces"),
    ]


def _capacity(reading: Reading, place: Place) -> Iterable[Input]:
    rotor = reading.appraised.packages[at(place)].brake.rotor
    steel = ROTOR_STEELS[rotor.steel]
    return [
        given("rotor diameter", rotor.diameter, "mm"),
        given("track height", rotor.track_height, "mm"),
        given("least thickness in service", rotor.wear_limit, "mm"),
        given("density", steel.density, "kg/m3"),
        given("specific heat", steel.specific_heat, "J/(kg K)"),
    ]


def _cooled(reading: Reading, position: Position, speed: float) -> list[Input]:
    brake, assumed = reading.brake(position), reading.model.assumed
    return [
        given("heat capacity", brake.heat_capacity, "J/K"),
        given("convection coefficient", rotor_convection(brake, assumed, speed), "W/(m2 K)"),
        given("area of the track, both faces", brake.track_area, "cm2"),
        given("area of the carrier, both faces", brake.rest_area, "cm2"),
        given("emissivity of the track", assumed.track_emissivity),
        given("emissivity of the carrier", assumed.rest_emissivity),
        given("ambient temperature", reading.vehicle.temperature, "K"),
    ]


def _temperature(reading: Reading, place: Place) -> Iterable[Input]:
    position, evaluation = at(place), reading.evaluation
    if place[1] == REPEATED_STOPS:
        stops = reading.vehicle.stops
        assert stops is not None
        return [
            given("heat of one stop", evaluation.stop_heat(position), "J"),
            given("stops", stops.count, "pieces"),
            given("interval", stops.interval, "s"),
            *_cooled(reading, position, float(stops.speed) / 2),
        ]
    descent = _descent(reading, place[1])
    return [
        given("heat flow", evaluation.descent_heat(descent, position), "W"),
        given("height lost", descent.height, "m"),
        given("grade", descent.grade, "%"),
        given("speed", descent.speed, "km/h"),
        *_cooled(reading, position, float(descent.speed)),
    ]


def _temperature_margin(reading: Reading, place: Place) -> Iterable[Input]:
    position, name = at(place), str(place[1])
    return [
        given("permitted temperature", reading.brake(position).maximum_temperature, "degC"),
        given("temperature reached", reading.evaluation.rotor_temperature(name, position), "degC"),
        given("ambient temperature", reading.vehicle.temperature, "degC"),
    ]


HEAT_RULES: tuple[Rule, ...] = (
    Rule(
        "heat_flow_into_one_rotor",
        _descent_heat,
        _descents,
        "descent_heat",
        lambda r, p: r.evaluation.descent_heat(_descent(r, p[1]), at(p)),
        "W",
    ),
    Rule(
        "heat_of_one_stop_into_one_rotor",
        _stop_heat,
        _stops,
        "stop_heat",
        lambda r, p: r.evaluation.stop_heat(at(p)),
        "J",
    ),
    Rule(
        "heat_capacity_of_the_rotor",
        _capacity,
        lambda r: both_ends(r) if r.vehicle.descents or r.vehicle.stops is not None else (),
        "rotor_heat_capacity",
        lambda r, p: r.brake(at(p)).heat_capacity,
        "J/K",
    ),
    Rule("rotor_temperature", _temperature, lambda r: (*_descents(r), *_stops(r))),
    Rule("rotor_temperature_margin", _temperature_margin, nowhere),
)
