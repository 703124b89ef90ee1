"""What went into brake torque, the torques on bead and hub, and decelerations."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.explain_thrust import grip
from configopt.appraisal.explained import (
    Input,
    Place,
    Reading,
    Rule,
    at,
    at_both_ends,
    both_ends,
    each_terrain,
    given,
    nowhere,
    once,
)
from configopt.appraisal.forces import LEAST_LOAD
from configopt.appraisal.vehicle import POSITIONS, STATUTORY_FRICTION
from configopt.catalog.records import Position
from configopt.physics.loads import GRAVITY
from configopt.physics.materials import PAD_MATERIALS
from configopt.physics.statutory import statutory_row


def _brake_torque(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    circuit, parts = getattr(reading.vehicle, position).brake, reading.appraised.packages[position].brake
    return [
        given("hand force", reading.vehicle.hand_force, "N"),
        given("lever ratio", circuit.lever_ratio),
        given("master piston", circuit.master_diameter, "mm"),
        given("caliper piston", parts.caliper.piston_diameter, "mm"),
        given("pistons on one side", parts.caliper.pistons_per_side, "pieces"),
        given("friction of the pad", parts.pad.friction),
        given("rotor diameter", parts.rotor.diameter, "mm"),
        given("pad height", parts.pad.height, "mm"),
        given("rotors", reading.model.rotors(position), "pieces"),
        given("wheels", reading.model.wheels(position), "pieces"),
    ]


def _grip_torque(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    load = reading.evaluation.dynamic_load(position, reading.ground(terrain))
    return _sliding(reading, position, terrain, load)


def _sliding(reading: Reading, position: Position, terrain: str | None, load: Any) -> list[Input]:
    f = reading.footing(position)
    return [
        *grip(reading, position, terrain, load),
        given("loaded radius", on.loaded_radius(f, load), "mm"),
    ]


def _peak_torque(reading: Reading, place: Place) -> Iterable[Input]:
    position, evaluation = at(place), reading.evaluation
    found = []
    for name, ground in reading.model.grounds.items():
        torque = evaluation.grip_torque(position, ground, evaluation.dynamic_load(position, ground))
        found.append(given(f"grip torque on {name}", torque, "N m"))
    found.append(given("brake torque", evaluation.brake_torque(position), "N m"))
    if position == reading.driven:
        found.append(
            given("motor torque at one wheel", evaluation.motor_torque() / reading.model.wheels(position), "N m")
        )
    return found


def _bead(friction: str) -> Callable[[Reading, Place], Iterable[Input]]:
    """Inputs of the bead's hold at the low end, the middle or the high end of the friction."""

    def inputs(reading: Reading, place: Place) -> Iterable[Input]:
        position = at(place)
        f, mount = reading.footing(position), reading.appraised.packages[position].mount
        ends = RANGES["bead_friction"]
        mu = {"low": ends.low, "middle": reading.model.assumed.bead_friction, "high": ends.high}[friction]
        return [
            given("inflation pressure", f.pressure, "kPa"),
            given("bead radius", f.bead_radius, "mm"),
            given("section height", f.section_height, "mm"),
            given("friction between bead and rim", mu),
            given("share left at the ground", reading.model.assumed.bead_unevenness),
            given("torque of the tight fit", float(mount.tire.bead_fit_torque or 0.0), "N m"),
            given("rim locks", mount.locks, "pieces"),
            given("torque of one rim lock", float(mount.lock.torque) if mount.lock else 0.0, "N m"),
        ]

    return inputs


def _creep(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    f = reading.footing(position)
    return [
        given("bead torque", f.bead_torque, "N m"),
        given("peak wheel torque", reading.evaluation.peak_torque(position), "N m"),
    ]


def _hub(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    return [
        given("rated torque of the hub", reading.wheel(position).hub_torque, "N m"),
        given("peak wheel torque", reading.evaluation.peak_torque(position), "N m"),
    ]


def _brake_reserve(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    evaluation = reading.evaluation
    load = evaluation.dynamic_load("front", reading.ground(terrain)) if position == "front" else reading.load("rear")
    return [
        given("brake torque", evaluation.brake_torque(position), "N m"),
        *_sliding(reading, position, terrain, load),
    ]


def _deceleration(reading: Reading, place: Place) -> Iterable[Input]:
    """Grips at the deceleration itself, so that the balance can be drawn up again."""
    evaluation, ground = reading.evaluation, reading.ground(place[1])
    loads = evaluation.loads(deceleration=reading.limit_value("deceleration", place) * GRAVITY)
    ahead, height = evaluation.center_of_gravity()
    found = [
        given("mass", evaluation.total, "kg"),
        given("wheelbase", reading.model.chassis.wheelbase, "mm"),
        given("centre of gravity ahead of the rear axle", ahead, "mm"),
        given("height of the centre of gravity", height, "mm"),
    ]
    for position in POSITIONS:
        f, load = reading.footing(position), np.maximum(loads[position], LEAST_LOAD)
        found += [
            given(f"wheel load {position} at that deceleration", load, "N"),
            given(f"grip {position} at that load", on.grip_force(f, ground, load), "N"),
            given(f"brake torque {position}", evaluation.brake_torque(position), "N m"),
            given(f"loaded radius {position} at rest", on.loaded_radius(f, reading.load(position)), "mm"),
            given(f"wheels {position}", reading.model.wheels(position), "pieces"),
        ]
    return found


def _statutory(reading: Reading, place: Place) -> Iterable[Input]:
    position, model = at(place), reading.model
    row = statutory_row(str(reading.vehicle.category), position)
    weight = reading.evaluation.loads(deceleration=row.deceleration)
    other: Position = "rear" if position == "front" else "front"
    return [
        given("required deceleration", row.deceleration, "m/s2"),
        given("friction of the road", STATUTORY_FRICTION),
        given("wheel load at that deceleration", weight[position], "N"),
        given("wheel load at the other end", weight[other], "N"),
        given("wheels", model.wheels(position), "pieces"),
        given("rotors", model.rotors(position), "pieces"),
        given("torque of one rotor", reading.brake(position).torque, "N m"),
        given("loaded radius", on.loaded_radius(reading.footing(position), reading.load(position)), "mm"),
        given("mass", reading.evaluation.total, "kg"),
    ]


def _lift_off(reading: Reading, place: Place) -> Iterable[Input]:
    ahead, height = reading.evaluation.center_of_gravity()
    return [
        given("wheelbase", reading.model.chassis.wheelbase, "mm"),
        given("centre of gravity ahead of the rear axle", ahead, "mm"),
        given("height of the centre of gravity", height, "mm"),
    ]


def _pad_remarks(reading: Reading, place: Place) -> Iterable[str]:
    compound = reading.appraised.packages[at(place)].brake.pad.compound
    pressure, material = float(reading.brake(at(place)).pad_pressure[0]), PAD_MATERIALS.get(compound)
    if material is None:
        return [f"no handbook range of pad pressure for {compound}; {pressure / 1e6:.1f} MPa at full hand force"]
    if pressure <= material.working_pressure[1]:
        return []
    return [
        f"pad pressure {pressure / 1e6:.1f} MPa at full hand force, above the handbook's "
        f"{material.working_pressure[1] / 1e6:.2f} MPa for {compound} pads"
    ]


def _fit_remarks(reading: Reading, place: Place) -> Iterable[str]:
    stated = reading.own_reading(place[0], "bead_fit_torque")
    return [] if stated else ["the tire's tight fit on the rim is not stated and counts as nothing"]


def _reserve_remarks(reading: Reading, place: Place) -> Iterable[str]:
    position, evaluation = at(place), reading.evaluation
    found = []
    if position == "front":
        ground, load = reading.ground(place[1]), reading.load("front")
        used = on.grip_force(reading.footing("front"), ground, load) / load * GRAVITY
        if float(evaluation.rear_load(used)[0]) <= 0.0:
            found.append("braking at the front tire's grip lifts the rear wheel")
        if float(reading.limit_value("brake_torque_reserve", place)[0]) >= 1.0:
            found.append(f"{float(reading.vehicle.hand_force):.0f} N of hand force locks the front wheel")
    return found


def _grip_torque_value(reading: Reading, place: Place) -> Any:
    position, ground = at(place), reading.ground(place[1])
    evaluation = reading.evaluation
    return evaluation.grip_torque(position, ground, evaluation.dynamic_load(position, ground))


TORQUE_RULES: tuple[Rule, ...] = (
    Rule(
        "brake_torque",
        _brake_torque,
        both_ends,
        "brake_torque",
        lambda r, p: r.evaluation.brake_torque(at(p)),
        "N m",
        _pad_remarks,
    ),
    Rule("grip_torque", _grip_torque, at_both_ends(each_terrain), "grip_torque", _grip_torque_value, "N m"),
    Rule(
        "peak_torque",
        _peak_torque,
        both_ends,
        "peak_torque",
        lambda r, p: r.evaluation.peak_torque(at(p)),
        "N m",
    ),
    Rule(
        "creep_torque_low",
        _bead("low"),
        both_ends,
        "bead_torque",
        lambda r, p: r.footing(at(p)).bead_torque_low,
        "N m",
        _fit_remarks,
    ),
    Rule(
        "creep_torque",
        _bead("middle"),
        both_ends,
        "bead_torque",
        lambda r, p: r.footing(at(p)).bead_torque,
        "N m",
        _fit_remarks,
    ),
    Rule(
        "creep_torque_high",
        _bead("high"),
        both_ends,
        "bead_torque",
        lambda r, p: r.footing(at(p)).bead_torque_high,
        "N m",
        _fit_remarks,
    ),
    Rule("creep_margin", _creep, both_ends, remarks=_fit_remarks),
    Rule("hub_torque_margin", _hub, both_ends),
    Rule("brake_torque_reserve", _brake_reserve, at_both_ends(each_terrain), remarks=_reserve_remarks),
    Rule("deceleration", _deceleration, each_terrain),
    Rule("statutory_deceleration", _statutory, nowhere),
    Rule("lift_off_deceleration", _lift_off, once),
)
