"""What one wheel does on one ground: the pieces of the full model that depend on a footing and its load.

Every piece states how it depends on the load; the bounds of the optimisation rest on these statements and a test
samples them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.appraisal.assumptions import MIDDLE, Assumed
from configopt.appraisal.spoked import MOST_MARGIN
from configopt.appraisal.tables import GROUPS, TREADS, FootingTable
from configopt.catalog.records import Surface
from configopt.physics.domain import Array
from configopt.physics.grip import friction_force, grouser_factors, maximum_thrust, slip_fraction
from configopt.physics.handling import lateral_stiffness as tire_lateral_stiffness
from configopt.physics.loads import GRAVITY
from configopt.physics.obstacles import (
    enveloped_height,
    free_travel,
    residual_height,
    strike_capacity,
    strike_demand,
    strike_energy,
)
from configopt.physics.quarter_car import rigid_wheel_resistance
from configopt.physics.rolling import rolling_coefficient
from configopt.physics.rough_ride import RoughRide
from configopt.physics.rough_ride import rough_ride as quarter_car_ride
from configopt.physics.roughness import roughness_constant
from configopt.physics.soft_ground import WheelOnSoil, flexing_resistance, wheel_on_soil
from configopt.physics.tire import deflection, deflection_work, patch_area, patch_length, vertical_stiffness
from configopt.scenario.records import Obstacle

#: Least mass that a wheel carries above its suspension [kg], where its load hardly exceeds its own weight.
LEAST_SPRUNG_MASS = 1.0


@dataclass(frozen=True)
class SurfaceFigures:
    """What the physics takes from a surface [SI], each a number or one per row; ``None`` where the surface has none.

    ``friction`` has one entry per tread, in the order of :data:`TREADS`; ``excess`` is what a published total
    coefficient exceeds its own tires' by; ``roughness`` is the constant of the surface's ISO 8608 class.
    """

    friction: tuple[Any, ...]
    load_exponent: Any
    pressure_exponent: Any
    reference_load: Any
    reference_pressure: Any
    excess: Any
    texture: Any
    roughness: float
    exponent: Any = None
    cohesive_modulus: Any = None
    frictional_modulus: Any = None
    cohesion: Any = None
    friction_angle: Any = None
    shear_modulus: Any = None


def surface_figures(surfaces: Sequence[Surface]) -> SurfaceFigures:
    """Figures of one surface, or of as many variants of it as there are rows."""

    def column(values: list[Any]) -> Any:
        if values[0] is None:
            return None
        return float(values[0]) if len(values) == 1 else np.array([float(value) for value in values])

    first = surfaces[0]
    soil = {
        name: column([getattr(surface.soil, name) for surface in surfaces])
        for name in (type(first.soil).model_fields if first.soil is not None else ())
    }
    total = first.total_coefficient is not None
    return SurfaceFigures(
        friction=tuple(column([getattr(surface.friction, tread) for surface in surfaces]) for tread in TREADS),
        load_exponent=column([surface.load_exponent for surface in surfaces]),
        pressure_exponent=column([surface.pressure_exponent for surface in surfaces]),
        reference_load=column([surface.reference_load for surface in surfaces]),
        reference_pressure=column([surface.reference_pressure for surface in surfaces]),
        excess=column(
            [
                float(surface.total_coefficient or 0.0) - float(surface.total_reference_coefficient or 0.0)
                for surface in surfaces
            ]
        )
        if total
        else None,
        texture=column([surface.texture_factor for surface in surfaces]),
        roughness=0.0 if first.roughness_class is None else roughness_constant(first.roughness_class),
        **soil,
    )


@dataclass(frozen=True)
class Ground:
    """A surface at a speed [m/s] with its obstacles."""

    surface: Surface
    speed: float
    obstacles: tuple[Obstacle, ...] = ()
    assumed: Assumed = MIDDLE
    variants: tuple[Surface, ...] = ()
    """The surface with other figures, one per row; without them every row has its own figures."""
    figures: SurfaceFigures = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "figures", surface_figures(self.variants or (self.surface,)))

    @property
    def soft(self) -> bool:
        """Whether the wheel sinks in."""
        return self.surface.soil is not None


def firm_deflection(f: FootingTable, load: ArrayLike) -> Array:
    """Deflection on firm ground [m]; increasing in the load."""
    return deflection(
        load, pressure=f.pressure, carcass_pressure=f.carcass_pressure, width=f.width, diameter=f.diameter
    )


def loaded_radius(f: FootingTable, load: ArrayLike) -> Array:
    """Loaded radius on firm ground [m]; decreasing in the load."""
    return np.asarray(f.radius - firm_deflection(f, load))


def coefficient(f: FootingTable, ground: Ground, speed: float | None = None) -> Array:
    """Rolling coefficient of the footing on the ground [1]; does not depend on the load.

    A surface with a total coefficient contributes what the published total exceeds its tires' own figure by.
    """
    own = rolling_coefficient(
        f.rolling_reference,
        pressure=f.pressure,
        carcass_pressure=f.carcass_pressure,
        speed=ground.speed if speed is None else speed,
        reference_pressure=f.rolling_pressure,
        reference_speed=f.rolling_speed,
        exponent=f.rolling_exponent,
    )
    figures = ground.figures
    if figures.excess is not None:
        return np.asarray(own + figures.excess)
    return np.asarray(own * figures.texture)


def on_soil(f: FootingTable, ground: Ground, load: ArrayLike) -> WheelOnSoil:
    """Sinkage, ground pressure, patch and compaction on soil; all of them increase with the load."""
    figures = ground.figures
    length = patch_length(firm_deflection(f, load), diameter=f.diameter)
    return wheel_on_soil(
        load,
        pressure=f.total_pressure,
        width=f.width,
        diameter=f.diameter,
        firm_patch_length=length,
        cohesive_modulus=figures.cohesive_modulus,
        frictional_modulus=figures.frictional_modulus,
        exponent=figures.exponent,
    )


def rolling_resistance(f: FootingTable, ground: Ground, load: Array, soil: WheelOnSoil | None, c: Array) -> Array:
    """Resistance from the flexing tire [N]: c W on firm ground, its flexing share on soil; increasing in the load."""
    if soil is None:
        return np.asarray(c * load)
    return flexing_resistance(load, rolling_coefficient=c, carrying_fraction=soil.carrying_fraction)


def soil_resistance(ground: Ground, soil: WheelOnSoil | None, load: Array, *, follows: bool) -> Array:
    """Compaction resistance [N], with the rut factor for a following wheel; increasing in the load."""
    if soil is None:
        return np.zeros_like(load)
    return np.asarray(soil.compaction * (ground.assumed.rut_factor if follows else 1.0))


def residual_obstacle(f: FootingTable, ground: Ground, obstacle: Obstacle, load: ArrayLike) -> Array:
    """Obstacle height the tire does not swallow [m]; decreasing in the load."""
    height = float(obstacle.height)
    single = firm_deflection(f, load)
    double = firm_deflection(f, 2.0 * np.asarray(load))
    # An obstacle higher than the wheel is a wall; the model's domain ends at the radius.
    swallowed = enveloped_height(
        height, deflection_at_double_load=double, deflection=single, factor=ground.assumed.envelopment
    )
    return residual_height(height, enveloped=swallowed)


def obstacle_resistance(
    f: FootingTable,
    ground: Ground,
    load: Array,
    *,
    unsprung_mass: ArrayLike,
    damping: float,
    suspended: bool,
    residual_load: ArrayLike | None = None,
) -> Array:
    """Mean resistance of the obstacles [N = J/m].

    Increasing in the load, in the unsprung mass and in the residual height.  ``residual_load`` lets a bound take the
    residual height at another load than the rest.
    """
    total = np.zeros_like(load)
    for obstacle in ground.obstacles:
        residual = residual_obstacle(f, ground, obstacle, load if residual_load is None else residual_load)
        energy = strike_energy(
            float(obstacle.height),
            residual=residual,
            radius=f.radius,
            load=load,
            unsprung_mass=unsprung_mass,
            speed=ground.speed,
            damping=damping,
            suspended=np.asarray(suspended),
        )
        total = total + energy * float(obstacle.per_km) / 1000.0
    return total


def rough_ride(
    f: FootingTable,
    ground: Ground,
    load: Array,
    *,
    unsprung_mass: Array,
    stiffness: float | None,
    damping: float,
) -> RoughRide:
    """A wheel on the ground's roughness; without a stiffness it has no suspension, and only its loss is known.

    At a given effective stiffness the loss increases in that and in the masses above and below the suspension, and
    decreases in the patch length; stiffness, sprung mass and patch length increase in the load.
    """
    if ground.figures.roughness == 0.0:
        return _still(np.zeros_like(load))
    deflected = firm_deflection(f, load)
    length = patch_length(deflected, diameter=f.diameter)
    tire = tire_stiffness(f, deflected)
    road = {"speed": ground.speed, "roughness": ground.figures.roughness}
    if stiffness is None:
        return _still(rigid_wheel_resistance(stiffness=tire, load=load, patch_length=length, **road))
    return quarter_car_ride(
        load=load,
        stiffness=tire,
        unsprung_mass=unsprung_mass,
        sprung_mass=sprung_mass(load, unsprung_mass),
        suspension_rate=stiffness,
        damping=damping,
        patch_length=length,
        **road,
    )


def _still(resistance: Array) -> RoughRide:
    """A wheel of which only a resistance is known."""
    none = np.zeros_like(resistance)
    return RoughRide(resistance, none, none, none, none, none, none > 0.0)


def tire_stiffness(f: FootingTable, deflected: ArrayLike) -> Array:
    """Vertical stiffness of the tire [N/m]; increasing in the load."""
    return vertical_stiffness(
        deflected, pressure=f.pressure, carcass_pressure=f.carcass_pressure, width=f.width, diameter=f.diameter
    )


def sprung_mass(load: ArrayLike, unsprung_mass: ArrayLike) -> Array:
    """Mass above the suspension that a wheel carries [kg]; increasing in the load."""
    above = np.asarray(load, dtype=np.float64) / GRAVITY - np.asarray(unsprung_mass, dtype=np.float64)
    return np.maximum(above, LEAST_SPRUNG_MASS)


def strike_margin(
    f: FootingTable,
    ground: Ground,
    load: Array,
    *,
    flange_height: ArrayLike,
    unsprung_mass: ArrayLike,
    suspended: bool,
    residual_load: ArrayLike | None = None,
) -> Array:
    """Energy the tire takes up before the rim strikes over what the worst obstacle asks, at most :data:`MOST_MARGIN`.

    Decreasing in the load, the unsprung mass, the flange height and the residual height; a foam insert does not strike
    through, and an obstacle that the tire swallows asks nothing.  ``residual_load`` lets a bound take the residual
    height at another load than the rest.
    """
    travel = free_travel(f.section_height, flange_height=flange_height, casing_thickness=f.casing_thickness)
    work = deflection_work(
        travel, pressure=f.pressure, carcass_pressure=f.carcass_pressure, width=f.width, diameter=f.diameter
    )
    capacity = strike_capacity(work, edge_share=ground.assumed.edge_share)
    margin = np.full(np.broadcast_shapes(np.shape(load), np.shape(capacity)), MOST_MARGIN)
    for obstacle in ground.obstacles:
        demand = strike_demand(
            residual_obstacle(f, ground, obstacle, load if residual_load is None else residual_load),
            radius=f.radius,
            unsprung_mass=unsprung_mass,
            speed=ground.speed,
            load=load,
            free_travel=travel,
            suspended=suspended,
        )
        margin = np.where(demand > 0.0, np.minimum(margin, capacity / np.maximum(demand, 1e-12)), margin)
    return np.where(f.foam > 0.0, MOST_MARGIN, margin)


def lateral_stiffness(f: FootingTable, load: ArrayLike) -> Array:
    """Lateral stiffness of the tire [N/m]; decreasing in the load, as far as the tire is flat at all."""
    deflected = np.minimum(firm_deflection(f, load), f.width)
    return tire_lateral_stiffness(deflected, pressure=f.pressure, rated_pressure=f.rated_pressure, width=f.width)


def friction(f: FootingTable, ground: Ground) -> Array:
    """Peak friction of the footing's tread and compound on the ground at the surface's reference load [1]."""
    factor: Array = getattr(f, f"grip_{GROUPS[GROUPS.index(ground.surface.group)]}")
    return np.asarray(np.choose(f.tread, ground.figures.friction) * factor)


def grip_force(f: FootingTable, ground: Ground, load: Array) -> Array:
    """Largest friction force [N]; increasing in the load (exponent between 0.7 and 1)."""
    figures = ground.figures
    return friction_force(
        load,
        friction=friction(f, ground),
        load_exponent=figures.load_exponent,
        reference_load=figures.reference_load,
        pressure=f.total_pressure,
        reference_pressure=figures.reference_pressure,
        pressure_exponent=figures.pressure_exponent,
    )


def packed(f: FootingTable, surface: Surface) -> NDArray[np.bool_]:
    """Whether mud has closed the tread."""
    return np.asarray((f.tread == TREADS.index("closed")) & surface.packs_tread)


def thrust_ceiling(f: FootingTable, ground: Ground, load: Array, soil: WheelOnSoil | None) -> Array:
    """Thrust at full shear of the soil, or the grip on firm ground [N]; increasing in the load."""
    if soil is None:
        return grip_force(f, ground, load)
    cohesive, frictional = grouser_factors(
        f.lug_depth, patch_width=f.width, land_fraction=f.land_fraction, packed=packed(f, ground.surface)
    )
    return maximum_thrust(
        load,
        area=soil.patch_area,
        cohesion=ground.figures.cohesion,
        friction_angle=ground.figures.friction_angle,
        cohesion_factor=cohesive,
        friction_factor=frictional,
    )


def thrust_at_slip(f: FootingTable, ground: Ground, load: Array, soil: WheelOnSoil | None, slip: float) -> Array:
    """Thrust at a slip [N]; increasing in the load."""
    ceiling = thrust_ceiling(f, ground, load, soil)
    if soil is None:
        return ceiling
    return np.asarray(ceiling * slip_fraction(slip * soil.patch_length / ground.figures.shear_modulus))


def ground_pressure(f: FootingTable, load: Array, soil: WheelOnSoil | None) -> Array:
    """Mean ground pressure [Pa]; increasing in the load."""
    if soil is not None:
        return soil.ground_pressure
    area = patch_area(firm_deflection(f, load), width=f.width, diameter=f.diameter)
    return np.asarray(load / area)
