"""What went into grip, thrust, slip, steps and side slopes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from configopt.appraisal import ground as on
from configopt.appraisal.explained import (
    Input,
    Place,
    Reading,
    Rule,
    at,
    at_driven,
    each_terrain,
    firm_terrains,
    given,
    soft_terrains,
)
from configopt.appraisal.forces import LegResult
from configopt.appraisal.tables import TREADS
from configopt.appraisal.vehicle import POSITIONS, SLIP_LIMIT
from configopt.catalog.records import Position


def grip(reading: Reading, position: Position, terrain: str | None, load: Any, where: str = "") -> list[Input]:
    """What the grip of one wheel on firm ground follows from."""
    f, ground = reading.footing(position), reading.ground(terrain)
    figures, tread = ground.figures, int(f.tread[0])
    return [
        given(f"wheel load{where}", load, "N"),
        given(f"friction of the surface, {TREADS[tread]} tread", figures.friction[tread]),
        given("grip factor of the tire", getattr(f, f"grip_{ground.surface.group}")),
        given("load exponent m", figures.load_exponent),
        given("reference load", figures.reference_load, "N"),
        given("inflation and casing pressure", f.total_pressure, "kPa"),
        given("reference pressure", figures.reference_pressure, "kPa"),
        given("pressure exponent s", figures.pressure_exponent),
    ]


def full_thrust(reading: Reading, terrain: str | None, leg: LegResult) -> Any:
    """Thrust of one driven wheel at full shear, or its grip, in a direction [N]."""
    f, load = reading.footing(reading.driven), reading.leg_load(leg, reading.driven)
    return on.thrust_ceiling(f, reading.ground(terrain), load, reading.leg_soil(leg, reading.driven))


def _soil_thrust(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    leg, f, ground = reading.hardest(terrain), reading.footing(position), reading.ground(terrain)
    open_share = 0.0 if bool(on.packed(f, ground.surface)[0]) else 1.0 - float(f.land_fraction[0])
    return [
        given("wheel load", reading.leg_load(leg, position), "N"),
        given("ground pressure", leg.ground_pressure[position], "kPa"),
        given("cohesion", ground.figures.cohesion, "kPa"),
        given("friction angle", ground.figures.friction_angle, "deg"),
        given("lug depth", f.lug_depth, "mm"),
        given("section width", f.width, "mm"),
        given("open share of the tread", open_share),
    ]


def _shear(reading: Reading, terrain: str | None, leg: LegResult) -> list[Input]:
    state = reading.leg_soil(leg, reading.driven)
    assert state is not None
    return [
        given("thrust at full shear, one wheel", full_thrust(reading, terrain, leg), "N"),
        given("patch length in the soil", state.patch_length, "mm"),
        given("shear modulus K", reading.ground(terrain).figures.shear_modulus, "mm"),
        given("slip limit", SLIP_LIMIT),
        given("driven wheels", reading.model.wheels(reading.driven), "pieces"),
    ]


def _slip(reading: Reading, place: Place) -> Iterable[Input]:
    leg = reading.worst(place[1], lambda leg: leg.slip)
    return [given("resistance of the terrain", leg.need, "N"), *_shear(reading, place[1], leg)]


def _thrust_reserve(reading: Reading, place: Place) -> Iterable[Input]:
    terrain = place[1]
    leg, driven = reading.hardest(terrain), reading.driven
    need = given("resistance of the terrain", leg.need, "N")
    if reading.ground(terrain).soft:
        return [need, *_shear(reading, terrain, leg)]
    return [
        need,
        given("grip of one driven wheel", full_thrust(reading, terrain, leg), "N"),
        given("driven wheels", reading.model.wheels(driven), "pieces"),
        given("load exponent m", reading.ground(terrain).figures.load_exponent),
        given("rms change of the load over the load", leg.contact[driven].dynamic_load_ratio),
    ]


def _step(reading: Reading, place: Place) -> Iterable[Input]:
    driven, terrain = reading.driven, place[1]
    load = reading.load(driven)
    radius = given("radius", reading.footing(driven).radius, "mm")
    return [radius, *grip(reading, driven, terrain, load)]


def _side_slope(reading: Reading, place: Place) -> Iterable[Input]:
    terrain = place[1]
    states = reading.evaluation.on_ground(reading.ground(terrain), reading.evaluation.level)
    found = []
    for position in POSITIONS:
        load = reading.load(position)
        held_force = on.thrust_ceiling(reading.footing(position), reading.ground(terrain), load, states[position])
        found += [given(f"wheel load {position}", load, "N"), given(f"side force held {position}", held_force, "N")]
    if reading.vehicle.kind == "quad":
        found.append(given("lateral stability", reading.evaluation.lateral_stability()))
    return found


def _thrust_remarks(reading: Reading, place: Place) -> Iterable[str]:
    if all(bool(leg.passable[0]) for leg in reading.legs(place[1])):
        return []
    return ["the thrust at 60 % slip does not overcome the resistance"]


def _lug_remarks(reading: Reading, place: Place) -> Iterable[str]:
    packed = on.packed(reading.footing(at(place)), reading.ground(place[1]).surface)
    return ["mud closes the tread; its lugs do not count"] if bool(packed[0]) else []


def _full_thrust(reading: Reading, place: Place) -> Any:
    return full_thrust(reading, place[1], reading.hardest(place[1]))


def _grip(reading: Reading, place: Place) -> Iterable[Input]:
    return grip(reading, at(place), place[1], reading.leg_load(reading.hardest(place[1]), at(place)))


THRUST_RULES: tuple[Rule, ...] = (
    Rule("grip", _grip, at_driven(firm_terrains), "grip", _full_thrust, "N"),
    Rule(
        "thrust_at_full_shear", _soil_thrust, at_driven(soft_terrains), "soil_thrust", _full_thrust, "N", _lug_remarks
    ),
    Rule(
        "slip",
        _slip,
        soft_terrains,
        "slip",
        lambda r, p: r.worst(p[1], lambda leg: leg.slip).slip,
        "%",
        _thrust_remarks,
    ),
    Rule("thrust_reserve", _thrust_reserve, each_terrain, remarks=_thrust_remarks),
    Rule("step_height", _step, each_terrain),
    Rule("side_slope", _side_slope, each_terrain),
)
