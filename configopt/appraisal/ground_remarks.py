"""Remarks on one terrain: where a model of the ground leaves its validity, and what the ground does to a wheel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.forces import LEAST_LOAD, LegResult
from configopt.appraisal.model import Evaluation
from configopt.appraisal.vehicle import LEAST_DAMPING, POSITIONS
from configopt.catalog.records import Position
from configopt.physics.domain import Array
from configopt.physics.mobility_numbers import brixius_motion_resistance, brixius_numeric, brixius_remarks
from configopt.physics.puncture import required_level
from configopt.physics.rough_ride import roughness_remarks
from configopt.physics.soft_ground import soil_remarks


def held(remarks: Mapping[str, NDArray[np.bool_]]) -> list[str]:
    """Names of the remarks that hold."""
    return [name for name, holds in remarks.items() if bool(np.any(holds))]


def places(positions: Sequence[str]) -> str:
    """Front, rear, or both, for the head of a remark.

    >>> places(["front", "rear"]), places(["rear"])
    ('front and rear', 'rear')
    """
    return " and ".join(positions)


def grouped(texts: Mapping[Position, Sequence[str]]) -> list[str]:
    """Remarks of both positions, each once, with where it holds.

    >>> grouped({"front": ["too stiff"], "rear": ["too stiff", "bogged"]})
    ['front and rear: too stiff', 'rear: bogged']
    """
    where: dict[str, list[str]] = {}
    for position, remarks in texts.items():
        for remark in remarks:
            where.setdefault(remark, []).append(position)
    return [f"{places(positions)}: {remark}" for remark, positions in where.items()]


def terrain_remarks(evaluation: Evaluation, legs: Sequence[LegResult]) -> list[str]:
    """Remarks on one terrain.

    Parameters
    ----------
    evaluation : the vehicle's pass of the full model, one choice
    legs : the directions in which the terrain is ridden

    Returns
    -------
    list of str
        Short texts, each once, headed by the position where it holds for one.
    """
    ground = legs[0].leg.ground
    texts: dict[Position, list[str]] = {position: [] for position in POSITIONS}
    whole: list[str] = []
    if not all(bool(leg.passable[0]) for leg in legs):
        whole.append("the thrust at 60 % slip does not overcome the resistance")
    if any(float(leg.loads["front"][0]) <= LEAST_LOAD for leg in legs):
        whole.append("the front wheel lifts on the grade")
    for position in POSITIONS:
        texts[position] += _on_rough(evaluation, legs, position)
    soil = ground.surface.soil
    if soil is None:
        return [*whole, *grouped(texts)]
    clearance = evaluation.clearance()
    for position in POSITIONS:
        footing = evaluation.side[position].footings
        sinkage = np.max([leg.sinkage[position] for leg in legs], axis=0)
        texts[position] += held(
            soil_remarks(sinkage, diameter=footing.diameter, exponent=float(soil.exponent), ground_clearance=clearance)
        )
        if all(bool(leg.rigid[position][0]) for leg in legs):
            texts[position].append("runs as a rigid wheel, harder than the ground")
        if bool(np.any(on.packed(footing, ground.surface))):
            texts[position].append("mud closes the tread; its lugs do not count")
        if ground.surface.cone_index is not None:
            load = np.maximum(evaluation.level[position], LEAST_LOAD)
            texts[position] += second_opinion(evaluation, ground, position, load)
    return [*whole, *grouped(texts)]


def _on_rough(evaluation: Evaluation, legs: Sequence[LegResult], position: Position) -> list[str]:
    """Contact lost, strikes and punctures."""
    ground = legs[0].leg.ground
    found: list[str] = []
    for leg in legs:
        ride = leg.contact[position]
        found += held(roughness_remarks(ride.dynamic_load_ratio, off_ground_share=ride.off_ground_share))
    suspension = getattr(evaluation.vehicle, position).suspension
    if ground.figures.roughness > 0.0 and not suspension.rigid and float(suspension.damping) < LEAST_DAMPING:
        found.append(f"a damper below {LEAST_DAMPING:.0f} N s/m counts as one of {LEAST_DAMPING:.0f} N s/m")
    if ground.obstacles:
        margin = float(evaluation.strike_margin(legs[0].leg.terrain.name, position)[0])
        if margin < 1.0:
            found.append("obstacles may strike the rim")
    needed = int(required_level(ground.surface.hazard))
    level = int(evaluation.side[position].footings.protection[0])
    if level < needed:
        found.append(f"{ground.surface.hazard} may puncture the tire")
    return list(dict.fromkeys(found))


def second_opinion(evaluation: Evaluation, ground: on.Ground, position: Position, load: Array) -> list[str]:
    """Rolling resistance by the cone index beside that of the soil model, and where the former leaves its range.

    References
    ----------
    W. W. Brixius, ASAE paper 87-1622 (1987); ASAE D497.
    """
    footing, surface = evaluation.side[position].footings, ground.surface
    deflection = np.clip(evaluation.relative_deflection(position), 0.0, 1.0)
    numeric = brixius_numeric(
        load,
        cone_index=float(surface.cone_index or 0.0),
        width=footing.width,
        diameter=footing.diameter,
        deflection_ratio=deflection,
    )
    other = float(brixius_motion_resistance(numeric)[0])
    state = on.on_soil(footing, ground, load)
    own = on.rolling_resistance(footing, ground, load, state, on.coefficient(footing, ground))
    own = own + on.soil_resistance(ground, state, load, follows=False)
    share = float((own / load)[0])
    text = f"by the cone index it resists with {other:.2f} of its load, by the soil model with {share:.2f}"
    outside = held(brixius_remarks(load, width=footing.width, diameter=footing.diameter, deflection_ratio=deflection))
    return [f"{text} ({'; '.join(outside)})" if outside else text]
