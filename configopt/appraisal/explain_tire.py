"""What went into the figures of the tire under its load."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
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
)
from configopt.appraisal.remarks import STIFF
from configopt.catalog.records import Position
from configopt.physics.domain import Array
from configopt.physics.puncture import UNDER_TREAD
from configopt.physics.rolling import PRESSURE_SWITCH
from configopt.physics.tire import deflection_remarks, patch_area, patch_length


def air(reading: Reading, position: Position) -> list[Input]:
    """The tire as a spring: pressures and size."""
    f = reading.footing(position)
    return [
        given("inflation pressure", f.pressure, "kPa"),
        given("casing pressure", f.carcass_pressure, "kPa"),
        given("section width", f.width, "mm"),
        given("diameter", f.diameter, "mm"),
    ]


def sag(reading: Reading, position: Position, load: Any) -> Input:
    """The deflection under a load."""
    return given("deflection", on.firm_deflection(reading.footing(position), load), "mm")


def firm_patch_length(reading: Reading, position: Position, load: Any) -> Array:
    """Length of the contact patch on firm ground [m]."""
    f = reading.footing(position)
    return patch_length(on.firm_deflection(f, load), diameter=f.diameter)


def firm_patch_area(reading: Reading, position: Position, load: Any) -> Array:
    """Area of the contact patch on firm ground [m2]."""
    f = reading.footing(position)
    return patch_area(on.firm_deflection(f, load), width=f.width, diameter=f.diameter)


def _deflection(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    height = reading.footing(position).section_height
    load = reading.evaluation.level[position]
    return [given("wheel load", load, "N"), *air(reading, position), given("section height", height, "mm")]


def _loaded_radius(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    return [given("diameter", reading.footing(position).diameter, "mm"), sag(reading, position, reading.load(position))]


def _patch(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    f = reading.footing(position)
    return [
        sag(reading, position, reading.load(position)),
        given("diameter", f.diameter, "mm"),
        given("section width", f.width, "mm"),
    ]


def _stiffness(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    return [sag(reading, position, reading.load(position)), *air(reading, position)]


def _lateral(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    f = reading.footing(position)
    return [
        given("section width", f.width, "mm"),
        given("inflation pressure", f.pressure, "kPa"),
        given("rated pressure", f.rated_pressure, "kPa"),
        sag(reading, position, reading.load(position)),
    ]


def _rating(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    f = reading.footing(position)
    return [given("permitted load", f.maximum_load, "N"), given("wheel load", reading.load(position), "N")]


def _protection(reading: Reading, place: Place) -> Iterable[Input]:
    mount = reading.appraised.packages[at(place)].mount
    return [
        given("casing thickness", mount.tire.casing_thickness, "mm"),
        given("under-tread", UNDER_TREAD, "mm"),
        given("lug depth", mount.tire.lug_depth, "mm"),
        given("land fraction", mount.tire.land_fraction),
        given("heavy-duty casing (1 yes, 0 no)", float(mount.tire.casing == "heavy-duty")),
        given("foam (1 yes, 0 no)", float(mount.inner.kind == "foam")),
    ]


def _coefficient(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    f, mount = reading.footing(position), reading.appraised.packages[position].mount
    ground = reading.ground(place[1])
    surface = (
        given("texture factor of the surface", ground.figures.texture)
        if ground.figures.excess is None
        else given("published total less its own tires' coefficient", ground.figures.excess)
    )
    return [
        given("coefficient of the data sheet", mount.tire.rolling_coefficient),
        given("factor of the inner", mount.inner.rolling_factor),
        surface,
        given("inflation pressure", f.pressure, "kPa"),
        given("casing pressure", f.carcass_pressure, "kPa"),
        given("speed", ground.speed, "km/h"),
        given("pressure of the data sheet", f.rolling_pressure, "kPa"),
        given("speed of the data sheet", f.rolling_speed, "km/h"),
        given("exponent below 1.5 bar", f.rolling_exponent),
    ]


def _deflection_remarks(reading: Reading, place: Place) -> Iterable[str]:
    position = at(place)
    floors = [
        bound.required
        for bound in reading.model.bounds
        if bound.limit.key == "least_relative_deflection" and bound.position == position
    ]
    height = reading.footing(position).section_height
    sunk = reading.evaluation.relative_deflection(position) * height
    found = deflection_remarks(sunk, section_height=height, floor=max([STIFF, *floors]))
    return [text for text, holds in found.items() if bool(np.any(holds))]


def _rating_remarks(reading: Reading, place: Place) -> Iterable[str]:
    tire = reading.appraised.packages[at(place)].mount.tire
    return [] if tire.load_at_pressure else ["rated at its reference pressure"]


def _coefficient_remarks(reading: Reading, place: Place) -> Iterable[str]:
    position, ground = at(place), reading.ground(place[1])
    soft = float(reading.footing(position).pressure[0]) < PRESSURE_SWITCH
    found = []
    if soft and not reading.own_reading(position, "pressure_exponent"):
        found.append("below 1.5 bar an estimate (pressure exponent -0.5, range -0.3 to -0.8)")
    if ground.figures.excess is not None:
        found.append("the surface's published total contains roughness and soil")
    return found


TIRE_RULES: tuple[Rule, ...] = (
    Rule("relative_deflection", _deflection, both_ends, remarks=_deflection_remarks),
    Rule("least_relative_deflection", _deflection, nowhere, remarks=_deflection_remarks),
    Rule(
        "loaded_radius",
        _loaded_radius,
        both_ends,
        "loaded_radius",
        lambda r, p: on.loaded_radius(r.footing(at(p)), r.load(at(p))),
        "mm",
    ),
    Rule(
        "patch_length",
        _patch,
        both_ends,
        "contact_patch",
        lambda r, p: firm_patch_length(r, at(p), r.load(at(p))),
        "mm",
    ),
    Rule(
        "patch_area",
        _patch,
        both_ends,
        "contact_patch",
        lambda r, p: firm_patch_area(r, at(p), r.load(at(p))),
        "cm2",
    ),
    Rule(
        "tire_stiffness",
        _stiffness,
        both_ends,
        "tire_stiffness",
        lambda r, p: on.tire_stiffness(r.footing(at(p)), on.firm_deflection(r.footing(at(p)), r.load(at(p)))),
        "kN/m",
    ),
    Rule("lateral_stiffness", _lateral, both_ends),
    Rule("tire_load", _rating, both_ends, remarks=_rating_remarks),
    Rule("puncture_protection", _protection, both_ends),
    Rule(
        "rolling_coefficient",
        _coefficient,
        at_both_ends(each_terrain),
        "rolling_coefficient",
        lambda r, p: on.coefficient(r.footing(at(p)), r.ground(p[1])),
        "1",
        _coefficient_remarks,
    ),
)
