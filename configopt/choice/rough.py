"""A wheel on rough ground over a box: its loss, and how little it can vary."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.choice.context import Context, cell_high, cell_low
from configopt.physics.quarter_car import filtered_resistance, rigid_wheel_resistance, tire_force_variance_bound
from configopt.physics.quarter_car_floor import (
    WheelRange,
    sprung_acceleration_variance_floor,
    tire_force_variance_floor,
)
from configopt.physics.rough_ride import effective_stiffness_floor
from configopt.physics.tire import patch_length

Array = NDArray[np.float64]
#: Rounds in which the lowest effective stiffness of a tire on rough ground is tightened; the first does most.
_FLOOR_ROUNDS = 2


@dataclass(frozen=True)
class RoughWheel:
    """A suspended wheel per cell, for loads between two arrays [N].

    Stiffness, patch length and sprung mass grow with the load, the sprung mass falls with the unsprung one.
    """

    low: Array
    high: Array
    soft: Array
    hard: Array
    short: Array
    long: Array
    light: Array
    heavy: Array
    few: Array
    many: Array
    strut: dict[str, Any]
    road: dict[str, Any]

    @property
    def ranges(self) -> dict[str, Any]:
        """What the bounds of a variance take, but for the lowest stiffness and the patch."""
        return {
            "stiffness_high": self.hard,
            "unsprung_mass_low": self.light,
            "unsprung_mass_high": self.heavy,
            "sprung_mass_low": self.few,
            "sprung_mass_high": self.many,
            **self.strut,
            **self.road,
        }

    @property
    def floor(self) -> Array:
        """Lowest effective stiffness: contact lost at times lowers it, the more the larger the force's variance."""
        floor = 0.5 * self.soft
        for _ in range(_FLOOR_ROUNDS):
            variance = tire_force_variance_bound(stiffness_low=floor, patch_length_low=self.short, **self.ranges)
            lowest = effective_stiffness_floor(load=self.low, stiffness=self.soft, variance_bound=variance)
            floor = np.maximum(floor, lowest)
        return floor

    def range(self) -> WheelRange:
        """What the wheel can be at its calmest."""
        return WheelRange(stiffness_low=self.floor, patch_length_high=self.long, **self.ranges)


def rough_wheel(ctx: Context, ground: on.Ground, low: Array, high: Array) -> RoughWheel:
    """The wheel of a position on a rough ground, for loads between two arrays [N] per cell."""
    suspension = getattr(ctx.model.vehicle, ctx.position).suspension
    f = ctx.table
    sag_low, sag_high = on.firm_deflection(f, low), on.firm_deflection(f, high)
    unsprung = ctx.own_mass / ctx.wheels + float(suspension.unsprung_mass)
    light, heavy = cell_low(unsprung), cell_high(unsprung)
    return RoughWheel(
        low,
        high,
        on.tire_stiffness(f, sag_low),
        on.tire_stiffness(f, sag_high),
        patch_length(sag_low, diameter=f.diameter),
        patch_length(sag_high, diameter=f.diameter),
        light,
        heavy,
        on.sprung_mass(low, heavy),
        on.sprung_mass(high, light),
        {
            "suspension_rate": ctx.model.suspension_stiffness(ctx.position),
            "damping": ctx.model.suspension_damping(ctx.position),
        },
        {"speed": ground.speed, "roughness": ground.figures.roughness},
    )


def roughness_cells(ctx: Context, ground: on.Ground, low: Array, high: Array) -> tuple[Array, Array]:
    """Least and most resistance of one wheel by the ground's roughness [N] per cell, for loads between two arrays.

    The loss increases in the tire's effective stiffness and both masses and decreases in the patch length.
    """
    wheel = rough_wheel(ctx, ground, low, high)
    if getattr(ctx.model.vehicle, ctx.position).suspension.rigid:
        return (
            rigid_wheel_resistance(stiffness=wheel.soft, load=low, patch_length=wheel.long, **wheel.road),
            rigid_wheel_resistance(stiffness=wheel.hard, load=high, patch_length=wheel.short, **wheel.road),
        )
    ways = {**wheel.strut, **wheel.road}
    least = filtered_resistance(
        stiffness=wheel.floor, unsprung_mass=wheel.light, sprung_mass=wheel.few, patch_length=wheel.long, **ways
    )
    most = filtered_resistance(
        stiffness=wheel.hard, unsprung_mass=wheel.heavy, sprung_mass=wheel.many, patch_length=wheel.short, **ways
    )
    return least, most


def least_contact(ctx: Context, ground: on.Ground, low: Array, high: Array, key: str) -> Array:
    """Least value of a limit on rough ground per cell: load changes, time off the ground [1], acceleration [m/s2]."""
    from scipy.special import ndtr

    ranges = rough_wheel(ctx, ground, low, high).range()
    if key == "ride_acceleration":
        return np.sqrt(sprung_acceleration_variance_floor(ranges))
    ratio = np.sqrt(tire_force_variance_floor(ranges)) / high
    return ratio if key == "dynamic_load" else np.asarray(ndtr(-1.0 / ratio))
