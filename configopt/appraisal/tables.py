"""Parts as struct-of-arrays for the physics: one row per footing, built wheel or brake set.

This is one of the two places where catalog meets physics.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from operator import attrgetter
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.appraisal.assumptions import MIDDLE, RANGES, Assumed
from configopt.appraisal.spoked import structure
from configopt.catalog.records import Inner, Tire
from configopt.fit.candidates import PositionCandidates
from configopt.fit.layers import Brakes, BrakeSet, BuiltWheel, Mounts, TireOnRim, Wheels
from configopt.fit.rules import tire_diameter, tire_maximum_load, tire_width
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
from configopt.physics.tire import default_carcass_pressure, foam_equivalent, grown_width, inflation_at
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
    convection_factor: Array
    """Heat carried off over what the correlation says; 0 where the rotor has no test of its own."""
    maximum_temperature: Array
    pad_pressure: Array


def carcass_pressure(tire: Tire) -> tuple[float, float]:
    """The casing's stiffness as a pressure [Pa]: from a deflection reading, and by default; one of them is 0."""
    if tire.carcass_pressure is not None:
        return float(tire.carcass_pressure), 0.0
    heavy = np.asarray(tire.casing == "heavy-duty")
    return 0.0, float(default_carcass_pressure(float(tire.rated_pressure), heavy_duty=heavy))


def _mounts(of: Mounts) -> dict[str, Array]:
    """What does not depend on the pressure, per mount."""
    tire, inner = of.tire.values, of.inner.values
    diameter = of.tire.each(tire_diameter)
    bead_radius = of.tire.each(lambda tire: parse_tire_size(tire.size).rim_diameter / 2)
    # One lock needs its counterweight, two opposite ones balance each other.
    lock_mass = of.locks * of.lock.values("mass") + np.where(of.locks == 1, of.lock.values("counterweight_mass"), 0.0)
    inside_mass = inner("mass") + np.where(of.locks > 0, lock_mass, 0.0)
    inertia = annulus_inertia(tire("mass"), outer_radius=diameter / 2, inner_radius=bead_radius)
    return {
        "width": grown_width(
            of.tire.each(tire_width), rim_width=of.rim_width, measuring_rim_width=tire("measuring_rim_width")
        ),
        "diameter": diameter,
        "radius": diameter / 2,
        "section_height": diameter / 2 - bead_radius,
        "bead_radius": bead_radius,
        "casing_thickness": tire("casing_thickness"),
        "carcass_read": of.tire.each(lambda tire: carcass_pressure(tire)[0]),
        "carcass_default": of.tire.each(lambda tire: carcass_pressure(tire)[1]),
        "rolling_reference": tire("rolling_coefficient") * inner("rolling_factor"),
        "rolling_pressure": tire("rolling_pressure"),
        "rolling_speed": tire("rolling_speed"),
        "rolling_exponent": tire("pressure_exponent"),
        "mass": tire("mass") + inside_mass,
        "inertia": inertia + ring_inertia(inside_mass, radius=bead_radius),
        "lug_depth": tire("lug_depth"),
        "land_fraction": tire("land_fraction"),
        "tread": of.tire.each(lambda tire: TREADS.index(tire.tread)).astype(np.int64),
        "rated_pressure": tire("rated_pressure"),
        "foam": of.inner.each(lambda inner: inner.kind == "foam"),
        **{f"grip_{group}": of.tire.each(attrgetter(f"grip.{group}")) for group in GROUPS},
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


def _disc_wheels(of: Wheels) -> dict[str, Array]:
    """Disc wheels on studded hubs."""
    disc, hub = of.disc_wheel.values, of.hub.values
    stud_radius = of.hub.each(lambda hub: float(hub.studs.split("x")[1]) * 0.5e-3)
    bead_radius = of.disc_wheel.each(lambda disc: parse_rim_size(disc.size).bead_diameter / 2)
    inertia = annulus_inertia(disc("mass"), outer_radius=bead_radius, inner_radius=stud_radius)
    return {
        "mass": disc("mass") + hub("mass"),
        "inertia": inertia
        + annulus_inertia(hub("mass"), outer_radius=stud_radius, inner_radius=hub("axle_diameter") / 2),
        "flange_height": disc("flange_height"),
        "offset": disc("offset"),
        "maximum_load": disc("maximum_load") * GRAVITY,
        "hub_torque": hub("maximum_torque"),
    }


def _laced_wheels(of: Wheels) -> dict[str, Array]:
    """Rims laced to hubs."""
    rim, hub = of.rim.values, of.hub.values
    bead_radius = of.rim.each(lambda rim: parse_rim_size(rim.size).bead_diameter / 2)
    seat_radius = rim("effective_diameter") / 2
    flange_radius = (hub("flange_diameter_left") + hub("flange_diameter_right")) / 4
    spoke_total = (
        rim("holes")
        / 2
        * sum(spoke_piece_mass(of.spokes.values, length) for length in (of.length_left, of.length_right))
    )
    nipples = rim("holes") * of.spokes.values("nipple_mass")
    inertia = ring_inertia(rim("mass"), radius=(bead_radius + seat_radius) / 2)
    inertia = inertia + ring_inertia(nipples, radius=seat_radius)
    inertia = inertia + spokes_inertia(spoke_total, rim_radius=seat_radius, hub_radius=flange_radius)
    return {
        "mass": rim("mass") + hub("mass") + spoke_total + nipples,
        "inertia": inertia
        + annulus_inertia(hub("mass"), outer_radius=flange_radius, inner_radius=hub("axle_diameter") / 2),
        "flange_height": rim("flange_height"),
        "offset": np.zeros(len(of)),
        "maximum_load": rim("maximum_load") * GRAVITY,
        "hub_torque": hub("maximum_torque"),
    }


def spoke_piece_mass(spokes: Callable[[str], Any], length: ArrayLike) -> Array:
    """Mass of one spoke of a length [m] without its nipple [kg]; ``spokes`` gives the catalog's figures by name."""
    return spoke_mass(
        spokes("end_diameter"),
        middle_diameter=spokes("middle_diameter"),
        length=length,
        middle_length=np.maximum(length - spokes("ends_length"), 0.0),
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
        "convection_factor": 0.0 if rotor.convection_factor is None else float(rotor.convection_factor),
        "maximum_temperature": min(steel.warning_temperature, float(pad.maximum_temperature)),
        "pad_pressure": float(force) / float(pad.area),
    }


def footing_table(
    mounts: Sequence[TireOnRim],
    mount_of: NDArray[np.int64],
    gauge: Array,
    vehicle: Vehicle,
    assumed: Assumed = MIDDLE,
) -> FootingTable:
    """Table of footings: footing i is mount ``mount_of[i]`` at gauge pressure ``gauge[i]`` [Pa]."""
    of = Mounts.of(mounts)
    columns: dict[str, Any] = {name: values[mount_of] for name, values in _mounts(of).items()}
    foam = of.inner.each(_foam_pressure)[mount_of]
    pressure = np.where(foam > 0.0, foam, riding_pressure(gauge, vehicle))
    fit_torque = of.tire.each(lambda tire: tire.bead_fit_torque or 0.0)[mount_of]
    lock_torque = np.where(of.locks > 0, of.locks * of.lock.values("torque"), 0.0)[mount_of]
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
    capacity = np.zeros(len(rated))
    tire = of.tire.number[mount_of]
    by_tire = np.argsort(tire, kind="stable")
    for rows in np.split(by_tire, np.flatnonzero(np.diff(tire[by_tire])) + 1):
        if rows.size:
            capacity[rows] = tire_maximum_load(of.tire.parts[tire[rows[0]]], rated[rows])
    kinds = np.array([inner.kind for inner in of.inner.parts])
    protection = protection_level(
        columns["casing_thickness"],
        lug_depth=columns["lug_depth"],
        land_fraction=columns["land_fraction"],
        heavy_duty=of.tire.each(lambda tire: tire.casing == "heavy-duty")[mount_of] > 0.0,
        inner=kinds[of.inner.number][mount_of],
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


def _foam_pressure(inner: Inner) -> float:
    """Air pressure to which a foam insert is equivalent [Pa], 0 for air."""
    if inner.equivalent_pressure is None:
        return 0.0
    return float(foam_equivalent(0.0, equivalent_pressure=float(inner.equivalent_pressure)))


def wheel_table(wheels: Sequence[BuiltWheel]) -> WheelTable:
    """Table of built wheels."""
    of = Wheels.of(wheels)
    names = ("mass", "inertia", "maximum_load", "hub_torque", "flange_height", "offset")
    columns = {name: np.zeros(len(of)) for name in names}
    laced = of.rim.number >= 0
    for rows, made in ((np.flatnonzero(laced), _laced_wheels), (np.flatnonzero(~laced), _disc_wheels)):
        if rows.size:
            for name, values in made(of.take(rows)).items():
                columns[name][rows] = values
    return WheelTable(**columns, **structure(of))


def brake_table(brakes: Sequence[BrakeSet], circuit: BrakeCircuit, hand_force: float) -> BrakeTable:
    """Table of brake sets at a hand force [N]."""
    rows = [_brake(brake, circuit, hand_force) for brake in Brakes.of(brakes)]
    return BrakeTable(**{f.name: np.array([row[f.name] for row in rows]) for f in fields(BrakeTable)})


@dataclass(frozen=True)
class PositionTables:
    """The three tables of a position, rows as in its candidates."""

    footings: FootingTable
    wheels: WheelTable
    brakes: BrakeTable

    @cached_property
    def radii(self) -> Array:
        """Free radii that occur [m]."""
        return np.unique(self.footings.radius)

    @cached_property
    def radius_kind(self) -> NDArray[np.int64]:
        """Number of each footing's free radius among :attr:`radii`."""
        return np.searchsorted(self.radii, self.footings.radius)


def position_tables(candidates: PositionCandidates) -> PositionTables:
    """Tables of everything that fits at a position."""
    vehicle = candidates.vehicle
    return PositionTables(
        footing_table(candidates.mounts, candidates.footing_mount, candidates.footing_pressure, vehicle),
        wheel_table(candidates.wheels),
        brake_table(candidates.brakes, candidates.axle.brake, float(vehicle.hand_force)),
    )
