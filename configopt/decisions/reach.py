"""What a choice can depend on: every part of some package that fits, and the surfaces ridden on."""

from __future__ import annotations

import numpy as np

from configopt.catalog.records import Part, Position, Surface
from configopt.fit.candidates import position_candidates
from configopt.scenario.case import Case
from configopt.scenario.conditions import named_surfaces

_POSITIONS: tuple[Position, ...] = ("front", "rear")


def reach(case: Case) -> dict[str, Part | Surface]:
    """Parts of a case that occur in some whole package that fits, and its surfaces, by id.

    The answer to a case depends on no other entry of its catalogs: what fits nowhere is in no choice.

    Parameters
    ----------
    case
        The scenario with its catalogs.

    Returns
    -------
    dict
        Records by id, in no particular order.
    """
    found: dict[str, Part | Surface] = {}
    for vehicle in case.scenario.vehicles:
        for position in _POSITIONS:
            of = position_candidates(case.catalog, vehicle, position)
            columns = (
                of.mounts.tire, of.mounts.inner, of.mounts.lock,
                of.wheels.hub, of.wheels.rim, of.wheels.spokes, of.wheels.disc_wheel,
                of.brakes.rotor, of.brakes.caliper, of.brakes.pad,
            )  # fmt: skip
            for column in columns:
                numbers = np.unique(column.number)
                found.update({column.parts[n].id: column.parts[n] for n in numbers[numbers >= 0].tolist()})
        named = named_surfaces(vehicle)
        found.update({surface.id: surface for surface in case.catalog.surfaces if surface.id in named})
    return found
