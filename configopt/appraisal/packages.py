"""Packages named in files turned into parts, and back; with the reasons where they do not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from configopt.appraisal.assumptions import Assumed
from configopt.appraisal.forces import Side
from configopt.appraisal.tables import brake_table, footing_table, wheel_table
from configopt.appraisal.vehicle import VehicleModel
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.errors import UsageError
from configopt.fit import rules
from configopt.fit.layers import BrakeSet, BuiltWheel, TireOnRim, rim_class
from configopt.scenario.records import PackageRecord, Vehicle


@dataclass(frozen=True)
class Package:
    """One package as parts."""

    position: Position
    mount: TireOnRim
    pressure: float
    wheel: BuiltWheel
    brake: BrakeSet

    def parts(self, vehicle: Vehicle) -> list[tuple[str, Any, int]]:
        """(family, part, pieces per vehicle) of everything in the packages of this position."""
        axle = getattr(vehicle, self.position)
        wheels, rotors = axle.wheels, axle.brake.rotors
        rows: list[tuple[str, Any, int]] = [("tires", self.mount.tire, wheels), ("inners", self.mount.inner, wheels)]
        if self.mount.lock is not None:
            rows.append(("rim-locks", self.mount.lock, wheels * self.mount.locks))
        if self.wheel.rim is not None and self.wheel.spokes is not None:
            rows.append(("rims", self.wheel.rim, wheels))
            rows.append(("spokes", self.wheel.spokes, wheels * self.wheel.rim.holes))
        if self.wheel.disc_wheel is not None:
            rows.append(("disc-wheels", self.wheel.disc_wheel, wheels))
        rows.append(("hubs", self.wheel.hub, wheels))
        rows += [
            ("rotors", self.brake.rotor, rotors),
            ("calipers", self.brake.caliper, rotors),
            ("pads", self.brake.pad, rotors),
        ]
        return rows

    def record(self) -> PackageRecord:
        """As a file states it."""
        lock, rim, spokes, disc = self.mount.lock, self.wheel.rim, self.wheel.spokes, self.wheel.disc_wheel
        return PackageRecord.model_construct(
            tire=self.mount.tire.id,
            pressure=self.pressure,
            inner=self.mount.inner.id,
            rim_lock=lock.id if lock else None,
            rim_locks=self.mount.locks,
            rim=rim.id if rim else None,
            spokes=spokes.id if spokes else None,
            crossings=self.wheel.crossings,
            disc_wheel=disc.id if disc else None,
            hub=self.wheel.hub.id,
            rotor=self.brake.rotor.id,
            caliper=self.brake.caliper.id,
            pad=self.brake.pad.id,
        )

    def identifiers(self) -> tuple[str, ...]:
        """Ids as text, for ordering ties."""
        record = self.record()
        names = ("tire", "inner", "rim_lock", "rim", "spokes", "disc_wheel", "hub", "rotor", "caliper", "pad")
        lacing = "" if record.crossings is None else str(record.crossings)
        return (
            *(getattr(record, name) or "" for name in names),
            lacing,
            f"{float(self.pressure):012.1f}",
            str(record.rim_locks),
        )


def package_from_record(catalog: Catalog, position: Position, record: PackageRecord) -> Package:
    """Parts of a package.

    Raises
    ------
    UsageError
        A part that the catalogs do not have.
    """

    def part(family: str, identifier: str | None) -> Any:
        if identifier is None:
            return None
        try:
            return catalog.part(family, identifier)
        except KeyError:
            raise UsageError(f'there is no "{identifier}" in {family}; see configopt parts {family}') from None

    hub, disc, rim, spokes = (
        part("hubs", record.hub),
        part("disc-wheels", record.disc_wheel),
        part("rims", record.rim),
        part("spokes", record.spokes),
    )
    if record.rotor is None:
        raise UsageError(f"the {position} package names no rotor, caliper and pad")
    left = right = 0.0
    if rim is not None and hub.kind == "spoked" and record.crossings is not None:
        left, right = rules.built_spoke_lengths(rim, hub, record.crossings)
    wheel = BuiltWheel(hub, rim, spokes, record.crossings, disc, left, right)
    mount = TireOnRim(
        part("tires", record.tire),
        part("inners", record.inner),
        part("rim-locks", record.rim_lock),
        record.rim_locks,
        rim_class(rim if rim is not None else disc).width,
    )
    brake = BrakeSet(part("rotors", record.rotor), part("calipers", record.caliper), part("pads", record.pad))
    return Package(position, mount, float(record.pressure), wheel, brake)


def misfits(package: Package, vehicle: Vehicle) -> list[str]:
    """Every fit rule the package breaks, with the numbers; empty where it fits."""
    axle = getattr(vehicle, package.position)
    tire, inner, lock = package.mount.tire, package.mount.inner, package.mount.lock
    wheel, brake, hub = package.wheel, package.brake, package.wheel.hub
    seen = wheel.rim_class
    reasons = [
        rules.tire_at_position(tire, vehicle, package.position),
        rules.rim_takes_tire(tire, seen.family, seen.bead_diameter, seen.width),
        rules.width_in_frame(tire, seen.width, axle),
        rules.inner_in_tire(inner, tire),
        rules.inner_on_rim(inner, tubeless=seen.tubeless),
        rules.hub_at_position(hub, vehicle, package.position),
        rules.rotor_on_vehicle(brake.rotor, axle.brake),
        rules.caliper_on_rotor(brake.caliper, brake.rotor, axle.brake),
        rules.pad_in_caliper(brake.pad, brake.caliper, brake.rotor),
    ]
    if lock is not None:
        reasons.append(
            rules.locks_in_package(lock, package.mount.locks, inner, rim_width=seen.width, lock_holes=seen.lock_holes)
        )
    if axle.brake.axle_rotor_pattern is None:
        reasons.append(rules.rotor_in_wheel(brake.rotor, hub, seen.bead_diameter))
    if wheel.rim is not None and wheel.spokes is not None and wheel.crossings is not None:
        reasons.append(rules.spokes_in_wheel(wheel.spokes, wheel.rim, hub, wheel.crossings))
        if wheel.crossings not in wheel.spokes.crossings:
            reasons.append(f"spokes are not made for {wheel.crossings} crossings")
    if wheel.disc_wheel is not None:
        reasons.append(rules.hub_in_disc_wheel(hub, wheel.disc_wheel))
    reasons.append(_pressure_misfit(package))
    return [reason for reason in reasons if reason is not None]


def _pressure_misfit(package: Package) -> str | None:
    seen, tire = package.wheel.rim_class, package.mount.tire
    if package.mount.inner.kind == "foam":
        return None if package.pressure == 0.0 else "a foam insert holds no pressure: write 0 kPa"
    ceiling = rules.pressure_ceiling(tire, rim_pressure=seen.maximum_pressure, hookless=seen.hookless)
    if not float(tire.pressure_min) - 1e-6 <= package.pressure <= ceiling + 1e-6:
        return (
            f"pressure {package.pressure / 1e3:.0f} kPa outside {float(tire.pressure_min) / 1e3:.0f} to "
            f"{ceiling / 1e3:.0f} kPa of tire and rim"
        )
    return None


def side_of(package: Package, model: VehicleModel) -> Side:
    """Tables with this one package."""
    return side_of_rows([package], model, model.assumed)


def side_of_rows(packages: Sequence[Package], model: VehicleModel, assumed: Assumed) -> Side:
    """Tables with a row for each of some packages of one position."""
    vehicle = model.vehicle
    axle = getattr(vehicle, packages[0].position)
    mounts, gauge = [package.mount for package in packages], np.array([package.pressure for package in packages])
    return Side(
        footing_table(mounts, np.arange(len(mounts)), gauge, vehicle, assumed),
        wheel_table([package.wheel for package in packages]),
        brake_table([package.brake for package in packages], axle.brake, float(vehicle.hand_force)),
    )
