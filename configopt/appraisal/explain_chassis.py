"""What went into what the chassis designer takes from the packages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from configopt.appraisal.chassis_report import LEAN_RATE, required
from configopt.appraisal.explain_vehicle import radii
from configopt.appraisal.explain_wheel import wheel_inertia
from configopt.appraisal.explained import EVERYWHERE, Input, Place, Reading, Rule, at, both_ends, given, once
from configopt.catalog.records import Position

#: Ends of the window of the chassis, by their keys in its report.
_WINDOW = ("cg_from_rear_least", "cg_from_rear_most", "wheelbase_least", "wheelbase_most")


def _window(reading: Reading, place: Place) -> Iterable[Input]:
    evaluation, model, chassis = reading.evaluation, reading.model, reading.chassis
    _, height = evaluation.center_of_gravity()
    loaded = [row for row in radii(reading) if row.name.startswith("loaded")]
    return [
        given("height of the centre of gravity", height, "mm"),
        given("wheelbase", reading.vehicle.wheelbase, "mm"),
        given("climb asked for", chassis["asked_climb_percent"] / 100.0, "%"),
        given("deceleration asked for, over gravity", chassis["asked_deceleration_g"]),
        given("least share of the front load", required(model, "front_load_share") or 0.0, "%"),
        given("largest share of the front load", required(model, "front_load_share_most") or 1.0, "%"),
        given("break-over angle asked for", required(model, "break_over_angle") or 0.0, "deg"),
        given("ground clearance", evaluation.clearance(), "mm"),
        *loaded,
    ]


def _end(key: str) -> Callable[[Reading, Place], Any]:
    return lambda reading, _: reading.chassis[f"{key}_mm"] / 1e3


def _known(key: str) -> Callable[[Reading], Sequence[Place]]:
    return lambda reading: () if reading.chassis[f"{key}_mm"] is None else (EVERYWHERE,)


def _set_by(key: str) -> Callable[[Reading, Place], Iterable[str]]:
    def remarks(reading: Reading, place: Place) -> Iterable[str]:
        name = reading.chassis.get(f"{key}_set_by")
        return [] if name is None else [f"set by: {name}"]

    return remarks


def wheel_mass(reading: Reading, position: Position) -> Any:
    """Mass of one wheel with its share of the brakes [kg]."""
    shared = reading.model.rotors(position) / reading.model.wheels(position)
    return reading.footing(position).mass + reading.wheel(position).mass + reading.brake(position).mass * shared


def _spinning(reading: Reading, place: Place) -> list[Input]:
    position = at(place)
    return [
        given("inertia about the axle", wheel_inertia(reading, position), "kg m2"),
        given("mass of one wheel with its brake", wheel_mass(reading, position), "kg"),
    ]


def _diametral(reading: Reading, place: Place) -> Iterable[Input]:
    return [*_spinning(reading, place), given("section width", reading.footing(at(place)).width, "mm")]


def _equivalent(reading: Reading, place: Place) -> Iterable[Input]:
    return [*_spinning(reading, place), given("radius", reading.footing(at(place)).radius, "mm")]


def _gyroscopic(reading: Reading, place: Place) -> Iterable[Input]:
    return [
        given("inertia about the axle", wheel_inertia(reading, at(place)), "kg m2"),
        given("highest speed of the terrains", max(float(t.speed) for t in reading.vehicle.terrains), "km/h"),
        given("radius", reading.footing(at(place)).radius, "mm"),
        given("rate of lean or steer", LEAN_RATE, "rad/s"),
    ]


def _of_wheel(key: str, unit: str) -> Callable[[Reading, Place], Any]:
    return lambda reading, place: reading.chassis[f"{key}_{at(place)}_{unit}"]


def _pitch(reading: Reading, place: Place) -> Iterable[Input]:
    return radii(reading)


CHASSIS_RULES: tuple[Rule, ...] = (
    Rule("pitch", _pitch, once, "pitch", lambda r, _: r.evaluation.pitch(), "deg"),
    *(Rule(key, _window, _known(key), "chassis_window", _end(key), "mm", _set_by(key)) for key in _WINDOW),
    Rule(
        "diametral_inertia",
        _diametral,
        both_ends,
        "diametral_inertia",
        _of_wheel("diametral_inertia", "kg_m2"),
        "kg m2",
    ),
    Rule("equivalent_mass", _equivalent, both_ends, "rotating_mass", _of_wheel("equivalent_mass", "kg"), "kg"),
    Rule(
        "gyroscopic_moment",
        _gyroscopic,
        both_ends,
        "gyroscopic_moment",
        _of_wheel("gyroscopic_moment", "n_m"),
        "N m",
    ),
)
