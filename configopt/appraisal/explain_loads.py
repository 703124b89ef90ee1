"""What went into the wheel loads, and into size and pressures of the tires."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from configopt.appraisal.explained import (
    Input,
    Place,
    Reading,
    Rule,
    at,
    both_ends,
    given,
    once,
)
from configopt.appraisal.vehicle import POSITIONS
from configopt.fit.rules import tire_width
from configopt.physics.air import atmospheric_pressure
from configopt.sizes import parse_tire_size


def chassis(reading: Reading) -> list[Input]:
    """What every wheel load starts from."""
    model, evaluation = reading.model, reading.evaluation
    plan = model.chassis
    found = [
        given("mass without packages", plan.mass, "kg"),
        given("wheelbase", plan.wheelbase, "mm"),
        given("centre of gravity ahead of the rear axle, without packages", plan.cg_from_rear_axle, "mm"),
        given("height of the centre of gravity, without packages", plan.cg_height, "mm"),
    ]
    reference = {"front": plan.reference_front_radius, "rear": plan.reference_rear_radius}
    for position in POSITIONS:
        found += [
            given(f"packages {position}", evaluation.axle_mass[position], "kg"),
            given(f"radius {position}", reading.footing(position).radius, "mm"),
            given(f"reference radius {position}", reference[position], "mm"),
            given(f"wheels {position}", model.wheels(position), "pieces"),
        ]
    return [*found, given("final drive, at the rear axle", model.drive_masses[evaluation.drive], "kg")]


def _inflation(reading: Reading, place: Place) -> Iterable[Input]:
    package, vehicle = reading.appraised.packages[at(place)], reading.vehicle
    foam = package.mount.inner.equivalent_pressure
    if foam is not None:
        return [given("equivalent pressure of the foam", foam, "kPa")]
    warm, high = vehicle.inflation_temperature, vehicle.inflation_altitude
    return [
        given("pressure as set", package.pressure, "kPa"),
        given("temperature as set", vehicle.temperature if warm is None else warm, "K"),
        given("temperature", vehicle.temperature, "K"),
        given("atmosphere as set", atmospheric_pressure(float(vehicle.altitude if high is None else high)), "kPa"),
        given("atmosphere", atmospheric_pressure(float(vehicle.altitude)), "kPa"),
    ]


def _casing(reading: Reading, place: Place) -> Iterable[Input]:
    tire = reading.appraised.packages[at(place)].mount.tire
    if tire.carcass_pressure is not None:
        return [given("casing pressure by the tire's own deflection reading", tire.carcass_pressure, "kPa")]
    return [
        given("rated pressure", tire.rated_pressure, "kPa"),
        given("share of the rated pressure", 0.08 * (1.5 if tire.casing == "heavy-duty" else 1.0)),
        given("casing stiffness over its default", reading.model.assumed.carcass_share),
    ]


def _width(reading: Reading, place: Place) -> Iterable[Input]:
    mount = reading.appraised.packages[at(place)].mount
    return [
        given("width on the measuring rim", tire_width(mount.tire), "mm"),
        given("rim width", mount.rim_width, "mm"),
        given("measuring rim width", mount.tire.measuring_rim_width, "mm"),
    ]


def _diameter(reading: Reading, place: Place) -> Iterable[Input]:
    tire = reading.appraised.packages[at(place)].mount.tire
    if tire.diameter is not None:
        return [given("measured diameter", tire.diameter, "mm")]
    size = parse_tire_size(tire.size)
    return [given("rim diameter", size.rim_diameter, "mm"), given("section height", size.section_height, "mm")]


def _casing_remarks(reading: Reading, place: Place) -> Iterable[str]:
    stated = reading.own_reading(place[0], "carcass_pressure")
    return [] if stated else ["a default of the rated pressure, +-40 %"]


def _foam_remarks(reading: Reading, place: Place) -> Iterable[str]:
    foam = reading.appraised.packages[at(place)].mount.inner.kind == "foam"
    return ["the foam counts as air of this pressure, an estimate"] if foam else []


def _gravity_centre(reading: Reading, index: int) -> Any:
    return reading.evaluation.center_of_gravity()[index]


LOAD_RULES: tuple[Rule, ...] = (
    Rule(
        "static_load",
        lambda r, _: chassis(r),
        both_ends,
        "wheel_loads",
        lambda r, p: r.evaluation.level[at(p)],
        "N",
    ),
    Rule(
        "cg_from_rear_axle",
        lambda r, _: chassis(r),
        once,
        "wheel_loads",
        lambda r, _: _gravity_centre(r, 0),
        "mm",
    ),
    Rule(
        "cg_height",
        lambda r, _: chassis(r),
        once,
        "wheel_loads",
        lambda r, _: _gravity_centre(r, 1),
        "mm",
    ),
    Rule(
        "inflation_pressure",
        _inflation,
        both_ends,
        "inflation",
        lambda r, p: r.footing(at(p)).pressure,
        "kPa",
        _foam_remarks,
    ),
    Rule("width", _width, both_ends, "tire_size", lambda r, p: r.footing(at(p)).width, "mm"),
    Rule("diameter", _diameter, both_ends, "tire_size", lambda r, p: r.footing(at(p)).diameter, "mm"),
    Rule(
        "casing_pressure",
        _casing,
        both_ends,
        "casing_pressure",
        lambda r, p: r.footing(at(p)).carcass_pressure,
        "kPa",
        _casing_remarks,
    ),
)
