"""Choices as packages, and the order among those that are equally good."""

from __future__ import annotations

import numpy as np

from configopt.appraisal.packages import Package
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.fit.layers import BuiltWheel
from configopt.scenario.records import PackageRecord, VehicleChoiceRecord


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


def choices_of_record(candidates: Candidates, record: VehicleChoiceRecord) -> Choices | None:
    """Candidate numbers of a choice that a file states; ``None`` where something in it does not fit any more."""
    drives = [option.id for option in candidates.model.vehicle.drive.final_drives]
    rows = {}
    for position in POSITIONS:
        of, asked = candidates.of[position], getattr(record, position)
        wheel = next((number for number, one in enumerate(of.wheels) if _same_wheel(one, asked)), None)
        wanted = (asked.rotor, asked.caliper, asked.pad)
        brake = next(
            (n for n, one in enumerate(of.brakes) if (one.rotor.id, one.caliper.id, one.pad.id) == wanted), None
        )
        if wheel is None or brake is None or record.final_drive not in drives:
            return None
        mounted = [
            number
            for number, mount in enumerate(of.mounts)
            if (mount.tire.id, mount.inner.id, mount.lock.id if mount.lock else None, mount.locks)
            == (asked.tire, asked.inner, asked.rim_lock, asked.rim_locks)
        ]
        fits = of.mounts_fit[of.footing_class, of.wheel_class[wheel]] & np.isin(of.footing_mount, mounted)
        footing = np.flatnonzero(fits & (np.abs(of.footing_pressure - float(asked.pressure)) < 1.0))
        if not footing.size or not of.seats_fit[of.wheel_seat[wheel], of.brake_class[brake]]:
            return None
        rows[position] = np.array([[int(footing[0]), wheel, brake]])
    return Choices(rows["front"], rows["rear"], np.array([drives.index(record.final_drive)]))


def _same_wheel(wheel: BuiltWheel, asked: PackageRecord) -> bool:
    """Whether a built wheel is the one that a package names."""
    mine = (
        wheel.hub.id,
        wheel.rim.id if wheel.rim else None,
        wheel.spokes.id if wheel.spokes else None,
        wheel.crossings,
        wheel.disc_wheel.id if wheel.disc_wheel else None,
    )
    return mine == (asked.hub, asked.rim, asked.spokes, asked.crossings, asked.disc_wheel)


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
