"""Everything that fits, one by one: for tests and small catalogs."""

from __future__ import annotations

from collections.abc import Iterator

from configopt.catalog.records import Position
from configopt.choice.audit import Candidates
from configopt.choice.ties import package_at, record_of
from configopt.errors import UsageError
from configopt.scenario.case import Case
from configopt.scenario.records import PackageRecord, Vehicle, VehicleChoiceRecord


def every_choice(case: Case) -> Iterator[VehicleChoiceRecord]:
    """Every whole choice that fits the case's one vehicle, whether it meets the limits or not.

    Raises
    ------
    UsageError
        A case with several vehicles.
    """
    if len(case.scenario.vehicles) != 1:
        raise UsageError(f"{case.path}: choices are listed for one vehicle, this one has {len(case.scenario.vehicles)}")
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    for batch in candidates.every_choice():
        for row in range(len(batch)):
            yield record_of(candidates, batch, row)


def every_package(case: Case, vehicle: str | Vehicle, position: Position) -> Iterator[PackageRecord]:
    """Every package that fits at a position of a vehicle.

    Parameters
    ----------
    case : scenario and catalogs
    vehicle : the vehicle or its name
    position : front or rear

    Raises
    ------
    UsageError
        A vehicle that the scenario does not have.
    """
    name = vehicle if isinstance(vehicle, str) else vehicle.name
    found = next((one for one in case.scenario.vehicles if one.name == name), None)
    if found is None:
        known = ", ".join(one.name for one in case.scenario.vehicles)
        raise UsageError(f'the scenario has no vehicle "{name}"; it has {known}')
    candidates = Candidates(found, case.catalog, case.scenario.aims)
    for triple in candidates.of[position].packages():
        for footing, wheel, brake in zip(*triple, strict=True):
            yield package_at(candidates, position, int(footing), int(wheel), int(brake)).record()
