"""What one wheel does on one ground: the pieces of the full model that depend on a footing and its load.

Every piece states how it depends on the load; the bounds of the optimisation rest on these statements and a test
samples them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.appraisal.tables import GROUPS, TREADS, FootingTable
from configopt.catalog.records import Surface
from configopt.physics.domain import Array
from configopt.physics.grip import friction_force, grouser_factors, maximum_thrust, slip_fraction
from configopt.physics.obstacles import enveloped_height, residual_height, strike_energy
from configopt.physics.rolling import rolling_coefficient
from configopt.physics.soft_ground import RUT_FACTOR, WheelOnSoil, flexing_resistance, wheel_on_soil
from configopt.physics.tire import deflection, patch_area, patch_length
from configopt.scenario.records import Obstacle


@dataclass(frozen=True)
class Ground:
    """A surface at a speed [m/s] with its obstacles."""

    surface: Surface
    speed: float
    obstacles: tuple[Obstacle, ...] = ()

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
    surface = ground.surface
    if surface.total_coefficient is not None:
        assert surface.total_reference_coefficient is not None
        return np.asarray(own + (float(surface.total_coefficient) - float(surface.total_reference_coefficient)))
    assert surface.texture_factor is not None
    return np.asarray(own * float(surface.texture_factor))


def on_soil(f: FootingTable, ground: Ground, load: ArrayLike) -> WheelOnSoil:
    """Sinkage, ground pressure, patch and compaction on soil; all of them increase with the load."""
    soil = ground.surface.soil
    assert soil is not None
    length = patch_length(firm_deflection(f, load), diameter=f.diameter)
    return wheel_on_soil(
        load,
        pressure=f.total_pressure,
        width=f.width,
        diameter=f.diameter,
        firm_patch_length=length,
        cohesive_modulus=float(soil.cohesive_modulus),
        frictional_modulus=float(soil.frictional_modulus),
        exponent=float(soil.exponent),
    )


def rolling_resistance(f: FootingTable, ground: Ground, load: Array, soil: WheelOnSoil | None, c: Array) -> Array:
    """Resistance from the flexing tire [N]: c W on firm ground, its flexing share on soil; increasing in the load."""
    if soil is None:
        return np.asarray(c * load)
    return flexing_resistance(load, rolling_coefficient=c, carrying_fraction=soil.carrying_fraction)


def soil_resistance(soil: WheelOnSoil | None, load: Array, *, follows: bool) -> Array:
    """Compaction resistance [N], with the rut factor for a following wheel; increasing in the load."""
    if soil is None:
        return np.zeros_like(load)
    return np.asarray(soil.compaction * (RUT_FACTOR if follows else 1.0))


def residual_obstacle(f: FootingTable, obstacle: Obstacle, load: ArrayLike) -> Array:
    """Obstacle height the tire does not swallow [m]; decreasing in the load."""
    height = float(obstacle.height)
    single = firm_deflection(f, load)
    double = firm_deflection(f, 2.0 * np.asarray(load))
    # An obstacle higher than the wheel is a wall; the model's domain ends at the radius.
    swallowed = enveloped_height(height, deflection_at_double_load=double, deflection=single)
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
        residual = residual_obstacle(f, obstacle, load if residual_load is None else residual_load)
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


def friction(f: FootingTable, surface: Surface) -> Array:
    """Peak friction of the footing's tread and compound on the surface at the surface's reference load [1]."""
    by_tread = np.array([float(getattr(surface.friction, tread)) for tread in TREADS])
    factor: Array = getattr(f, f"grip_{GROUPS[GROUPS.index(surface.group)]}")
    return np.asarray(by_tread[f.tread] * factor)


def grip_force(f: FootingTable, surface: Surface, load: Array) -> Array:
    """Largest friction force [N]; increasing in the load (exponent between 0.7 and 1)."""
    return friction_force(
        load,
        friction=friction(f, surface),
        load_exponent=float(surface.load_exponent),
        reference_load=float(surface.reference_load),
        pressure=f.total_pressure,
        reference_pressure=float(surface.reference_pressure),
        pressure_exponent=float(surface.pressure_exponent),
    )


def packed(f: FootingTable, surface: Surface) -> NDArray[np.bool_]:
    """Whether mud has closed the tread."""
    return np.asarray((f.tread == TREADS.index("closed")) & surface.packs_tread)


def thrust_ceiling(f: FootingTable, ground: Ground, load: Array, soil: WheelOnSoil | None) -> Array:
    """Thrust at full shear of the soil, or the grip on firm ground [N]; increasing in the load."""
    if soil is None:
        return grip_force(f, ground.surface, load)
    assert ground.surface.soil is not None
    cohesive, frictional = grouser_factors(
        f.lug_depth, patch_width=f.width, land_fraction=f.land_fraction, packed=packed(f, ground.surface)
    )
    return maximum_thrust(
        load,
        area=soil.patch_area,
        cohesion=float(ground.surface.soil.cohesion),
        friction_angle=float(ground.surface.soil.friction_angle),
        cohesion_factor=cohesive,
        friction_factor=frictional,
    )


def thrust_at_slip(f: FootingTable, ground: Ground, load: Array, soil: WheelOnSoil | None, slip: float) -> Array:
    """Thrust at a slip [N]; increasing in the load."""
    ceiling = thrust_ceiling(f, ground, load, soil)
    if soil is None:
        return ceiling
    assert ground.surface.soil is not None
    return np.asarray(ceiling * slip_fraction(slip * soil.patch_length / float(ground.surface.soil.shear_modulus)))


def ground_pressure(f: FootingTable, load: Array, soil: WheelOnSoil | None) -> Array:
    """Mean ground pressure [Pa]; increasing in the load."""
    if soil is not None:
        return soil.ground_pressure
    area = patch_area(firm_deflection(f, load), width=f.width, diameter=f.diameter)
    return np.asarray(load / area)
