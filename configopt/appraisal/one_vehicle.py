"""One vehicle with its packages through the full model: what reports, remarks and the audit start from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from configopt.appraisal.model import Evaluation, Margin, Outcome
from configopt.appraisal.packages import Package, misfits, package_from_record, side_of
from configopt.appraisal.parts import FAMILIES, PartNumbers, PartRows, orders
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.errors import ConfigoptError, UsageError
from configopt.scenario.records import VehicleChoiceRecord

Creep = Literal["holds", "holds at the middle of the range", "does not hold"]


@dataclass(frozen=True)
class VehicleAppraisal:
    """One vehicle with its packages through the full model."""

    model: VehicleModel
    packages: dict[Position, Package]
    drive: int
    evaluation: Evaluation
    outcome: Outcome
    rows: dict[Position, PartRows]
    others: tuple[VehicleAppraisal, ...] = ()
    """The same packages in the vehicle's other conditions."""

    @property
    def in_all(self) -> tuple[VehicleAppraisal, ...]:
        """The packages in every condition, as stated first."""
        return (self, *self.others)

    @property
    def misfits(self) -> list[tuple[Position, str]]:
        """Rules of fit that the packages break."""
        return [(p, text) for p in POSITIONS for text in misfits(self.packages[p], self.model.vehicle)]

    @property
    def unmet(self) -> list[Margin]:
        """Limits that are not met, in whatever condition."""
        return [margin for one in self.in_all for margin in one.outcome.margins if not bool(margin.met[0])]

    @cached_property
    def peak_torque(self) -> dict[Position, float]:
        """Largest torque one wheel sees [N m]."""
        return {p: float(self.evaluation.peak_torque(p)[0]) for p in POSITIONS}

    @cached_property
    def today(self) -> VehicleAppraisal | str | None:
        """Today's packages of the same vehicle; see :func:`appraise_baseline`."""
        return appraise_baseline(self.model)

    def package_costs(self) -> dict[Position, float]:
        """Cost of each position's packages [currency]; a part bought for both ends is shared out by pieces."""
        costs: dict[Position, float] = {}
        for position in POSITIONS:
            other: Position = "rear" if position == "front" else "front"
            total = 0.0
            for family in FAMILIES:
                index, pieces = (int(a[family][0]) for a in (self.rows[position].index, self.rows[position].pieces))
                if index < 0:
                    continue
                both = pieces
                if int(self.rows[other].index[family][0]) == index:
                    both += int(self.rows[other].pieces[family][0])
                total += self.model.costs.per_vehicle(family, index, both) * pieces / both
            costs[position] = total
        return costs


def appraise_vehicle(model: VehicleModel, packages: dict[Position, Package], drive: int) -> VehicleAppraisal:
    """Run the full model on one vehicle.

    Parameters
    ----------
    model : the vehicle
    packages : of both positions
    drive : number of the final drive in the vehicle's list

    Raises
    ------
    UsageError
        Parts that cannot even be put together on paper, with the rules they break.
    """
    for position in POSITIONS:
        _require_buildable(packages[position])
    numbers = PartNumbers(model)
    rows: dict[Position, PartRows] = {}
    for position in POSITIONS:
        package = packages[position]
        rows[position] = (
            numbers.mounts(position, [package.mount])
            .joined(numbers.wheels(position, [package.wheel]))
            .joined(numbers.brakes(position, [package.brake]))
        )
    drives = np.array([drive], dtype=np.int64)
    bought = orders(model, rows["front"], rows["rear"], drives)
    evaluation = Evaluation(model, side_of(packages["front"], model), side_of(packages["rear"], model), drives)
    outcome = evaluation.outcome(bought, values=True)
    others = tuple(appraise_vehicle(other, packages, drive) for other in model.others)
    return VehicleAppraisal(model, packages, drive, evaluation, outcome, rows, others)


def _require_buildable(package: Package) -> None:
    hub, wheel = package.wheel.hub, package.wheel
    if wheel.disc_wheel is not None and hub.studs is None:
        disc = wheel.disc_wheel.id
        raise UsageError(f"{package.position} disc wheel {disc} needs a hub with studs, {hub.id} has none")
    if wheel.rim is not None and hub.kind != "spoked":
        raise UsageError(f"{package.position} rim {wheel.rim.id} needs a hub with spoke flanges, {hub.id} has none")


def appraise_record(model: VehicleModel, record: VehicleChoiceRecord) -> VehicleAppraisal:
    """Run the full model on packages and final drive as a file names them.

    Raises
    ------
    UsageError
        A part or final drive that does not exist, or parts that cannot be computed together.
    """
    drives = [option.id for option in model.vehicle.drive.final_drives]
    if record.final_drive not in drives:
        known = ", ".join(drives)
        raise UsageError(f'there is no final drive "{record.final_drive}"; {model.vehicle.name} has {known}')
    try:
        packages = {p: package_from_record(model.catalog, p, getattr(record, p)) for p in POSITIONS}
        return appraise_vehicle(model, packages, drives.index(record.final_drive))
    except UsageError:
        raise
    except ConfigoptError as error:
        raise UsageError(f"{model.vehicle.name}: these parts cannot be computed together: {error}") from error


def creep_verdict(appraised: VehicleAppraisal, position: Position) -> Creep:
    """Whether the bead (with its locks) holds the peak torque at the low end of its range, at the middle, or not."""
    footing = appraised.evaluation.side[position].footings
    peak = appraised.peak_torque[position]
    if float(footing.bead_torque_low[0]) >= peak:
        return "holds"
    return "holds at the middle of the range" if float(footing.bead_torque[0]) >= peak else "does not hold"


def appraise_baseline(model: VehicleModel) -> VehicleAppraisal | str | None:
    """Today's packages through the full model; the reason where they cannot be computed; ``None`` without any."""
    record = model.vehicle.baseline
    if record is None:
        return None
    try:
        return appraise_record(model, record)
    except UsageError as error:
        return str(error)
