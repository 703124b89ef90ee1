"""What went into pressure and sinkage, contact on rough ground, and strikes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.contact import ROWLAND_HALF_DRIVEN
from configopt.appraisal.explain_tire import air, firm_patch_area, firm_patch_length
from configopt.appraisal.explained import (
    EVERYWHERE,
    Input,
    Place,
    Reading,
    Rule,
    at,
    at_both_ends,
    each_terrain,
    given,
    rough_terrains,
    soft_terrains,
    terrains_with_obstacles,
)
from configopt.appraisal.forces import LegResult
from configopt.appraisal.ground_remarks import held
from configopt.appraisal.spoked import MOST_MARGIN
from configopt.appraisal.vehicle import BOGGED_SHARE, POSITIONS
from configopt.catalog.records import Position
from configopt.physics.rough_ride import roughness_remarks
from configopt.physics.soft_ground import soil_remarks


def soil(reading: Reading, terrain: str | None) -> list[Input]:
    """How a soil gives way under pressure."""
    figures = reading.ground(terrain).figures
    return [
        given("cohesive modulus k_c", figures.cohesive_modulus, "kN/m^(n+1)"),
        given("frictional modulus k_phi", figures.frictional_modulus, "kN/m^(n+2)"),
        given("sinkage exponent n", figures.exponent),
    ]


def suspended(reading: Reading, position: Position) -> list[Input]:
    """Masses, spring and damper of one wheel."""
    model, suspension = reading.model, getattr(reading.vehicle, position).suspension
    found = [given("unsprung mass", reading.evaluation.unsprung[position], "kg")]
    if not suspension.rigid:
        found.append(given("spring rate", model.suspension_stiffness(position), "kN/m"))
        found.append(given("damping", model.suspension_damping(position), "N s/m"))
    return found


def road(reading: Reading, position: Position, leg: LegResult) -> list[Input]:
    """A wheel on the roughness of its ground in one direction."""
    load, f, ground = reading.leg_load(leg, position), reading.footing(position), leg.leg.ground
    found = [
        given("wheel load", load, "N"),
        given("vertical stiffness", on.tire_stiffness(f, on.firm_deflection(f, load)), "kN/m"),
        given("patch length", firm_patch_length(reading, position, load), "mm"),
        *suspended(reading, position),
    ]
    if not getattr(reading.vehicle, position).suspension.rigid:
        found.append(given("sprung mass", on.sprung_mass(load, reading.evaluation.unsprung[position]), "kg"))
    return [*found, given("speed", ground.speed, "km/h"), given("roughness constant G", ground.figures.roughness, "um")]


def obstacles(reading: Reading, position: Position, terrain: str | None, load: Any) -> list[Input]:
    """A wheel of a load against the obstacles of a terrain."""
    f, ground = reading.footing(position), reading.ground(terrain)
    return [
        given("wheel load", load, "N"),
        given("radius", f.radius, "mm"),
        given("speed", ground.speed, "km/h"),
        given("unsprung mass", reading.evaluation.unsprung[position], "kg"),
        given("deflection", on.firm_deflection(f, load), "mm"),
        given("deflection under twice the load", on.firm_deflection(f, 2.0 * np.asarray(load)), "mm"),
        given("share of the tire's reserve that swallows", ground.assumed.envelopment),
    ]


def _suspended(reading: Reading) -> Sequence[Place]:
    """Where a suspended wheel runs on rough ground."""
    places = at_both_ends(rough_terrains)(reading)
    return tuple(place for place in places if not getattr(reading.vehicle, at(place)).suspension.rigid)


def _worst_pressure(reading: Reading, place: Place) -> LegResult:
    return reading.worst(place[1], lambda leg: leg.ground_pressure[at(place)])


def _ground_pressure(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    leg, f = _worst_pressure(reading, place), reading.footing(position)
    load = reading.leg_load(leg, position)
    if not reading.ground(terrain).soft:
        area = firm_patch_area(reading, position, load)
        return [given("wheel load", load, "N"), given("area of the firm patch", area, "cm2")]
    return [
        given("wheel load", load, "N"),
        *air(reading, position),
        given("firm patch length", firm_patch_length(reading, position, load), "mm"),
        given("inflation and casing pressure", f.total_pressure, "kPa"),
        *soil(reading, terrain),
    ]


def _sinkage(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    leg = reading.worst(place[1], lambda leg: leg.sinkage[position])
    return [
        given("ground pressure", leg.ground_pressure[position], "kPa"),
        given("section width", reading.footing(position).width, "mm"),
        given("firm patch length", firm_patch_length(reading, position, reading.leg_load(leg, position)), "mm"),
        *soil(reading, place[1]),
    ]


def _bogging(reading: Reading, place: Place) -> Iterable[Input]:
    position = at(place)
    leg = reading.worst(place[1], lambda leg: leg.sinkage[position])
    return [
        given("sinkage", leg.sinkage[position], "mm"),
        given("diameter", reading.footing(position).diameter, "mm"),
        given("share of the diameter", BOGGED_SHARE),
        given("ground clearance", reading.evaluation.clearance(), "mm"),
    ]


def _contact(what: str) -> Callable[[Reading, Place], Iterable[Input]]:
    def inputs(reading: Reading, place: Place) -> Iterable[Input]:
        position = at(place)
        leg = reading.worst(place[1], lambda leg: getattr(leg.contact[position], what))
        return road(reading, position, leg)

    return inputs


def _strike(reading: Reading, place: Place) -> Iterable[Input]:
    position, terrain = at(place), place[1]
    f = reading.footing(position)
    highest = max(float(obstacle.height) for obstacle in reading.ground(terrain).obstacles)
    return [
        given("height of the highest obstacle", highest, "mm"),
        *obstacles(reading, position, terrain, reading.load(position)),
        given("suspension (1 yes, 0 no)", float(not getattr(reading.vehicle, position).suspension.rigid)),
        *air(reading, position),
        given("section height", f.section_height, "mm"),
        given("flange height", reading.wheel(position).flange_height, "mm"),
        given("casing thickness", f.casing_thickness, "mm"),
        given("share of the force that an edge mobilises", reading.ground(terrain).assumed.edge_share),
        given("foam (1 yes, 0 no)", f.foam),
    ]


def _mean_maximum(reading: Reading, place: Place) -> Iterable[Input]:
    found = [given("axle factor", ROWLAND_HALF_DRIVEN)]
    for position in POSITIONS:
        f = reading.footing(position)
        found += [
            given(f"wheel load {position}", reading.evaluation.level[position], "N"),
            given(f"section width {position}", f.width, "mm"),
            given(f"diameter {position}", f.diameter, "mm"),
            given(f"deflection over section height {position}", reading.evaluation.relative_deflection(position)),
        ]
    return found


def _soil_remarks(reading: Reading, place: Place) -> Iterable[str]:
    position, ground = at(place), reading.ground(place[1])
    if not ground.soft:
        return []
    found = soil_remarks(
        reading.worst(place[1], lambda leg: leg.sinkage[position]).sinkage[position],
        diameter=reading.footing(position).diameter,
        exponent=ground.figures.exponent,
        ground_clearance=reading.evaluation.clearance(),
    )
    rigid = all(bool(leg.rigid[position][0]) for leg in reading.legs(place[1]))
    more = ["runs as a rigid wheel, harder than the ground"] if rigid else []
    return [*held(found), *more]


def _contact_remarks(reading: Reading, place: Place) -> Iterable[str]:
    contact = reading.worst(place[1], lambda leg: leg.contact[at(place)].dynamic_load_ratio).contact[at(place)]
    return held(roughness_remarks(contact.dynamic_load_ratio, off_ground_share=contact.off_ground_share))


def _strike_remarks(reading: Reading, place: Place) -> Iterable[str]:
    if bool((reading.footing(at(place)).foam > 0.0)[0]):
        return ["a foam insert does not strike through: shown as 1000"]
    margin = float(reading.evaluation.strike_margin(str(place[1]), at(place))[0])
    return ["asks next to nothing of the tire: shown as 1000"] if margin >= MOST_MARGIN else []


GROUND_RULES: tuple[Rule, ...] = (
    Rule("ground_pressure", _ground_pressure, at_both_ends(each_terrain), remarks=_soil_remarks),
    Rule("sinkage", _sinkage, at_both_ends(soft_terrains), remarks=_soil_remarks),
    Rule("sinkage_over_passable", _bogging, at_both_ends(soft_terrains), remarks=_soil_remarks),
    Rule("mean_maximum_pressure", _mean_maximum, lambda _: (EVERYWHERE,)),
    Rule("time_off_ground", _contact("off_ground_share"), _suspended, remarks=_contact_remarks),
    Rule("dynamic_load", _contact("dynamic_load_ratio"), _suspended, remarks=_contact_remarks),
    Rule("ride_acceleration", _contact("ride_acceleration"), _suspended, remarks=_contact_remarks),
    Rule("strike_margin", _strike, at_both_ends(terrains_with_obstacles), remarks=_strike_remarks),
)
