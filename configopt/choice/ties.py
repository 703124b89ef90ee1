"""Choices as packages, and the order among those that are equally good."""

from __future__ import annotations

import numpy as np

from configopt.appraisal.packages import Package
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.scenario.records import VehicleChoiceRecord


def package_at(candidates: Candidates, position: Position, footing: int, wheel: int, brake: int) -> Package:
    """The package of candidate numbers."""
    of = candidates.of[position]
    return Package(
        position,
        of.mounts[int(of.footing_mount[footing])],
        float(of.footing_pressure[footing]),
        of.wheels[wheel],
        of.brakes[brake],
    )


def packages_of(candidates: Candidates, choices: Choices, row: int = 0) -> dict[Position, Package]:
    """Both packages of one choice."""
    rows = {"front": choices.front, "rear": choices.rear}
    return {p: package_at(candidates, p, *(int(number) for number in rows[p][row])) for p in POSITIONS}


def record_of(candidates: Candidates, choices: Choices, row: int = 0) -> VehicleChoiceRecord:
    """One choice as a file states it."""
    packages = packages_of(candidates, choices, row)
    drives = candidates.model.vehicle.drive.final_drives
    return VehicleChoiceRecord.model_construct(
        final_drive=drives[int(choices.drive[row])].id,
        front=packages["front"].record(),
        rear=packages["rear"].record(),
    )


def first_tie(candidates: Candidates, ties: Choices) -> Choices:
    """The first of equally good choices: cheapest, then lightest, then by the ids as text.

    Cost and mass count as equal within a millionth and a microgram, so that rounding never decides.
    """
    outcome = candidates.outcome(ties)
    cost, mass = np.round(outcome.cost, 6), np.round(outcome.packages_mass, 9)
    cheapest = np.flatnonzero(cost == cost.min())
    lightest = cheapest[mass[cheapest] == mass[cheapest].min()]
    drives = candidates.model.vehicle.drive.final_drives

    def names(row: int) -> tuple[str, ...]:
        packages = packages_of(candidates, ties, row)
        drive = drives[int(ties.drive[row])].id
        return (*packages["front"].identifiers(), *packages["rear"].identifiers(), drive)

    first = min((int(row) for row in lightest), key=names)
    return ties.take(np.array([first]))
