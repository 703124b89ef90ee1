"""Parts as struct-of-arrays for the physics: one row per footing, built wheel or brake set.

This is one of the two places where catalog meets physics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.assumptions import MIDDLE, RANGES, Assumed
from configopt.appraisal.spoked import structure
from configopt.catalog.records import Tire
from configopt.fit.candidates import BrakeSet, BuiltWheel, PositionCandidates, TireOnRim
from configopt.fit.rules import tire_diameter, tire_maximum_load, tire_width_on
from configopt.physics.air import atmospheric_pressure
from configopt.physics.brakes import (
    brake_torque,
    clamp_force,
    effective_radius_uniform_wear,
    line_pressure,
)
from configopt.physics.creep import creep_torque
from configopt.physics.inertia import annulus_inertia, ring_inertia, spokes_inertia
from configopt.physics.loads import GRAVITY
from configopt.physics.materials import ROTOR_STEELS
from configopt.physics.puncture import protection_level
from configopt.physics.rotor_heat import heat_capacity, track_area
from configopt.physics.spokes import spoke_mass
from configopt.physics.tire import default_carcass_pressure, foam_equivalent, inflation_at
from configopt.scenario.records import BrakeCircuit, Vehicle
from configopt.sizes import parse_rim_size, parse_tire_size

Array = NDArray[np.float64]
TREADS = ("open", "medium", "closed")
GROUPS = ("firm", "loose", "wet", "rock")


class Table:
    """Rows of equal length; ``take`` picks rows, ``column`` adds a last axis for grids."""

    def take(self, index: Any) -> Self:
        """The rows of an index array, in its order."""
        return type(self)(**{f.name: getattr(self, f.name)[index] for f in fields(self)})  # type: ignore[arg-type]

    def column(self) -> Self:
        """The same rows with one more last axis of length 1, for broadcasting against grids."""
        return type(self)(**{f.name: getattr(self, f.name)[:, None] for f in fields(self)})  # type: ignore[arg-type]

    def __len__(self) -> int:
        return len(getattr(self, fields(self)[0].name))  # type: ignore[arg-type]


@dataclass(frozen=True)
class FootingTable(Table):
    """Footings; all [SI].

    ``pressure`` is the gauge pressure while riding (for foam the equivalent one), ``total_pressure`` adds the casing's;
    ``grip_firm`` ... are the tire's grip factors by group of surface, ``tread`` indexes :data:`TREADS`.
    """

    width: Array
    diameter: Array
    radius: Array
    section_height: Array
    bead_radius: Array
    casing_thickness: Array
    pressure: Array
    carcass_pressure: Array
    total_pressure: Array
    rolling_reference: Array
    rolling_pressure: Array
    rolling_speed: Array
    rolling_exponent: Array
    mass: Array
    inertia: Array
    lug_depth: Array
    land_fraction: Array
    tread: NDArray[np.int64]
    grip_firm: Array
    grip_loose: Array
    grip_wet: Array
    grip_rock: Array
    maximum_load: Array
    bead_torque_low: Array
    bead_torque: Array
    bead_torque_high: Array
    rated_pressure: Array
    protection: Array
    """Protection against punctures, 0 to 3."""
    foam: Array
    """1 for a foam insert, 0 for air."""


@dataclass(frozen=True)
class WheelTable(Table):
    """Built wheels [SI]; ``maximum_load`` [N]; what follows from the spokes as in :mod:`configopt.appraisal.spoked`."""

    mass: Array
    inertia: Array
    maximum_load: Array
    hub_torque: Array
    flange_height: Array
    offset: Array
    lateral_stiffness: Array
    radial_stiffness: Array
    slack_load: Array
    slack_side_load: Array
    slack_torque: Array
    tension_high: Array
    tension_low: Array
    load_share: Array
    spoke_section: Array
    tensile_strength: Array
    buckling_reserve: Array


@dataclass(frozen=True)
class BrakeTable(Table):
    """Brake sets [SI]; ``torque`` at the stated hand force, heat figures with the rotor at its wear limit."""

    mass: Array
    inertia: Array
    torque: Array
    rotor_diameter: Array
    track_area: Array
    rest_area: Array
    heat_capacity: Array
    maximum_temperature: Array
    pad_pressure: Array


def carcass_pressure(tire: Tire) -> tuple[float, float]:
    """The casing's stiffness as a pressure [Pa]: from a deflection reading, and by default; one of them is 0."""
    if tire.carcass_pressure is not None:
        return float(tire.carcass_pressure), 0.0
    heavy = np.asarray(tire.casing == "heavy-duty")
    return 0.0, float(default_carcass_pressure(float(tire.rated_pressure), heavy_duty=heavy))


def _mount(mount: TireOnRim) -> dict[str, float]:
    """What does not depend on the pressure."""
    tire, inner, lock = mount.tire, mount.inner, mount.lock
    diameter = tire_diameter(tire)
    bead_radius = parse_tire_size(tire.size).rim_diameter / 2
    lock_mass = 0.0
    if lock is not None:
        # One lock needs its counterweight, two opposite ones balance each other.
        lock_mass = mount.locks * float(lock.mass) + (float(lock.counterweight_mass) if mount.locks == 1 else 0.0)
    inside_mass = float(inner.mass) + lock_mass
    inertia = float(annulus_inertia(float(tire.mass), outer_radius=diameter / 2, inner_radius=bead_radius))
    inertia += float(ring_inertia(inside_mass, radius=bead_radius))
    read, default = carcass_pressure(tire)
    return {
        "width": tire_width_on(tire, mount.rim_width),
        "diameter": diameter,
        "radius": diameter / 2,
        "section_height": diameter / 2 - bead_radius,
        "bead_radius": bead_radius,
        "casing_thickness": float(tire.casing_thickness),
        "carcass_read": read,
        "carcass_default": default,
        "rolling_reference": float(tire.rolling_coefficient) * float(inner.rolling_factor),
        "rolling_pressure": float(tire.rolling_pressure),
        "rolling_speed": float(tire.rolling_speed),
        "rolling_exponent": np.nan if tire.pressure_exponent is None else float(tire.pressure_exponent),
        "mass": float(tire.mass) + inside_mass,
        "inertia": inertia,
        "lug_depth": float(tire.lug_depth),
        "land_fraction": float(tire.land_fraction),
        "tread": TREADS.index(tire.tread),
        "rated_pressure": float(tire.rated_pressure),
        "foam": float(inner.kind == "foam"),
        "grip_firm": float(tire.grip.firm),
        "grip_loose": float(tire.grip.loose),
        "grip_wet": float(tire.grip.wet),
        "grip_rock": float(tire.grip.rock),
    }


def riding_pressure(gauge: Array, vehicle: Vehicle) -> Array:
    """Gauge pressure while riding [Pa] of pressures set at the scenario's inflation temperature and altitude."""
    set_altitude = vehicle.altitude if vehicle.inflation_altitude is None else vehicle.inflation_altitude
    set_temperature = vehicle.temperature if vehicle.inflation_temperature is None else vehicle.inflation_temperature
    return inflation_at(
        gauge,
        temperature_set=float(set_temperature),
        temperature=float(vehicle.temperature),
        ambient_set=float(atmospheric_pressure(float(set_altitude))),
        ambient=float(atmospheric_pressure(float(vehicle.altitude))),
    )


def _wheel(wheel: BuiltWheel) -> dict[str, float]:
    hub = wheel.hub
    if wheel.disc_wheel is not None:
        disc = wheel.disc_wheel
        assert hub.studs is not None
        stud_radius = float(hub.studs.split("x")[1]) * 0.5e-3
        bead_radius = parse_rim_size(disc.size).bead_diameter / 2
        inertia = float(annulus_inertia(float(disc.mass), outer_radius=bead_radius, inner_radius=stud_radius))
        inertia += float(
            annulus_inertia(float(hub.mass), outer_radius=stud_radius, inner_radius=float(hub.axle_diameter) / 2)
        )
        return {
            "mass": float(disc.mass) + float(hub.mass),
            "inertia": inertia,
            "flange_height": float(disc.flange_height),
            "offset": float(disc.offset),
            "maximum_load": float(disc.maximum_load) * GRAVITY,
            "hub_torque": float(hub.maximum_torque),
        }
    rim, spokes = wheel.rim, wheel.spokes
    assert rim is not None
    assert spokes is not None
    assert hub.flange_diameter_left is not None
    assert hub.flange_diameter_right is not None
    bead_radius = parse_rim_size(rim.size).bead_diameter / 2
    seat_radius = float(rim.effective_diameter) / 2
    flange_radius = (float(hub.flange_diameter_left) + float(hub.flange_diameter_right)) / 4
    spoke_total = (
        rim.holes / 2 * sum(spoke_piece_mass(spokes, length) for length in (wheel.length_left, wheel.length_right))
    )
    nipples = rim.holes * float(spokes.nipple_mass)
    inertia = float(ring_inertia(float(rim.mass), radius=(bead_radius + seat_radius) / 2))
    inertia += float(ring_inertia(nipples, radius=seat_radius))
    inertia += float(spokes_inertia(spoke_total, rim_radius=seat_radius, hub_radius=flange_radius))
    inertia += float(
        annulus_inertia(float(hub.mass), outer_radius=flange_radius, inner_radius=float(hub.axle_diameter) / 2)
    )
    return {
        "mass": float(rim.mass) + float(hub.mass) + spoke_total + nipples,
        "inertia": inertia,
        "flange_height": float(rim.flange_height),
        "offset": 0.0,
        "maximum_load": float(rim.maximum_load) * GRAVITY,
        "hub_torque": float(hub.maximum_torque),
    }


def spoke_piece_mass(spokes: Any, length: float) -> float:
    """Mass of one spoke of a length [kg], without its nipple."""
    middle = max(length - float(spokes.ends_length), 0.0)
    return float(
        spoke_mass(
            float(spokes.end_diameter),
            middle_diameter=float(spokes.middle_diameter),
            length=length,
            middle_length=middle,
        )
    )


def _brake(brake: BrakeSet, circuit: BrakeCircuit, hand_force: float) -> dict[str, float]:
    rotor, caliper, pad = brake.rotor, brake.caliper, brake.pad
    steel = ROTOR_STEELS[rotor.steel]
    outer = float(rotor.diameter) / 2
    height = float(rotor.track_height)
    pressure = line_pressure(
        hand_force, lever_ratio=float(circuit.lever_ratio), master_diameter=float(circuit.master_diameter)
    )
    force = clamp_force(
        pressure, piston_diameter=float(caliper.piston_diameter), pistons_per_side=caliper.pistons_per_side
    )
    radius = effective_radius_uniform_wear(outer, outer - float(pad.height))
    area = float(track_area(float(rotor.diameter), height))
    capacity = float(
        heat_capacity(area, thickness=float(rotor.wear_limit), density=steel.density, specific_heat=steel.specific_heat)
    )
    # What the track does not weigh is spider and carrier: thin steel, both faces radiate.
    track = area * float(rotor.thickness) * steel.density
    rest = max(float(rotor.mass) - track, 0.0)
    return {
        "mass": float(rotor.mass) + float(caliper.mass) + float(pad.mass),
        "inertia": float(
            annulus_inertia(float(rotor.mass), outer_radius=outer, inner_radius=max(outer - 2 * height, 0.0))
        ),
        "torque": float(brake_torque(float(pad.friction), clamp_force=force, effective_radius=radius)),
        "rotor_diameter": float(rotor.diameter),
        "track_area": 2.0 * area,
        "rest_area": 2.0 * rest / (steel.density * float(rotor.thickness)),
        "heat_capacity": capacity,
        "maximum_temperature": min(steel.warning_temperature, float(pad.maximum_temperature)),
        "pad_pressure": float(force) / float(pad.area),
    }


def _table(kind: Any, rows: Sequence[dict[str, float]]) -> Any:
    return kind(
        **{
            f.name: np.array([row[f.name] for row in rows], dtype=np.int64 if f.name == "tread" else np.float64)
            for f in fields(kind)
        }
    )


def footing_table(
    mounts: Sequence[TireOnRim],
    mount_of: NDArray[np.int64],
    gauge: Array,
    vehicle: Vehicle,
    assumed: Assumed = MIDDLE,
) -> FootingTable:
    """Table of footings: footing i is mount ``mount_of[i]`` at gauge pressure ``gauge[i]`` [Pa]."""
    rows = [_mount(mount) for mount in mounts]
    columns: dict[str, Any] = {
        name: np.array([row[name] for row in rows], dtype=np.int64 if name == "tread" else np.float64)[mount_of]
        for name in rows[0]
    }
    foam = np.array(
        [
            float(foam_equivalent(0.0, equivalent_pressure=float(mount.inner.equivalent_pressure)))
            if mount.inner.equivalent_pressure is not None
            else 0.0
            for mount in mounts
        ]
    )[mount_of]
    pressure = np.where(foam > 0.0, foam, riding_pressure(gauge, vehicle))
    fit_torque = np.array([float(mount.tire.bead_fit_torque or 0.0) for mount in mounts])[mount_of]
    lock_torque = np.array([mount.locks * float(mount.lock.torque) if mount.lock else 0.0 for mount in mounts])[
        mount_of
    ]
    friction = RANGES["bead_friction"]
    low, middle, high = (
        creep_torque(
            pressure,
            bead_radius=columns["bead_radius"],
            section_height=columns["section_height"],
            friction=mu,
            unevenness=assumed.bead_unevenness,
            fit_torque=fit_torque,
        )
        for mu in (friction.low, assumed.bead_friction, friction.high)
    )
    exponent = columns["rolling_exponent"]
    columns["rolling_exponent"] = np.where(np.isnan(exponent), assumed.rolling_exponent, exponent)
    casing = columns.pop("carcass_read") + columns.pop("carcass_default") * assumed.carcass_share
    rated = np.where(foam > 0.0, foam, gauge)
    capacity = np.array(
        [tire_maximum_load(mounts[m].tire, q) for m, q in zip(mount_of.tolist(), rated.tolist(), strict=True)]
    )
    heavy = np.array([mount.tire.casing == "heavy-duty" for mount in mounts])[mount_of]
    protection = protection_level(
        columns["casing_thickness"],
        lug_depth=columns["lug_depth"],
        land_fraction=columns["land_fraction"],
        heavy_duty=heavy,
        inner=np.array([mount.inner.kind for mount in mounts])[mount_of],
    )
    return FootingTable(
        **columns,
        protection=protection.astype(np.float64),
        pressure=pressure,
        carcass_pressure=casing,
        total_pressure=pressure + casing,
        maximum_load=capacity * GRAVITY,
        bead_torque_low=low + lock_torque,
        bead_torque=middle + lock_torque,
        bead_torque_high=high + lock_torque,
    )


def wheel_table(wheels: Sequence[BuiltWheel]) -> WheelTable:
    """Table of built wheels."""
    rows = [_wheel(wheel) for wheel in wheels]
    names = ("mass", "inertia", "maximum_load", "hub_torque", "flange_height", "offset")
    return WheelTable(**{name: np.array([row[name] for row in rows]) for name in names}, **structure(wheels))


def brake_table(brakes: Sequence[BrakeSet], circuit: BrakeCircuit, hand_force: float) -> BrakeTable:
    """Table of brake sets at a hand force [N]."""
    table: BrakeTable = _table(BrakeTable, [_brake(brake, circuit, hand_force) for brake in brakes])
    return table


@dataclass(frozen=True)
class PositionTables:
    """The three tables of a position, rows as in its candidates."""

    footings: FootingTable
    wheels: WheelTable
    brakes: BrakeTable


def position_tables(candidates: PositionCandidates) -> PositionTables:
    """Tables of everything that fits at a position."""
    vehicle = candidates.vehicle
    return PositionTables(
        footing_table(candidates.mounts, candidates.footing_mount, candidates.footing_pressure, vehicle),
        wheel_table(candidates.wheels),
        brake_table(candidates.brakes, candidates.axle.brake, float(vehicle.hand_force)),
    )
