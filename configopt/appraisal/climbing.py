"""Thrust, climbs and speed of given choices."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.forces import LEAST_LOAD, LEAST_NEED, Forces, LegResult
from configopt.appraisal.vehicle import CLIMB_SLIP, CLIMB_SPEED, Bound
from configopt.physics.domain import Array
from configopt.physics.halving import halve
from configopt.physics.loads import GRAVITY
from configopt.physics.obstacles import step_limit_height

#: Steepest grade that is looked for [rad].
STEEPEST = 1.05
_HALVINGS = 48


class Climbing(Forces):
    """What the ground and the motor let the wheels climb."""

    def climb_reserves(self, ground: on.Ground, angle: Any, slip: float = CLIMB_SLIP) -> tuple[Array, Array, Array]:
        """What is left on a grade [N]: thrust of the ground, thrust of the motor, load on the front wheels."""
        loads = self.loads(angle=angle)
        soil = self.on_ground(ground, loads)
        resisted = sum(self.resistances(ground, loads, soil, speed=CLIMB_SPEED, obstacles=False).values())
        need = resisted + self.total * GRAVITY * np.sin(angle)
        driven = self.vehicle.drive.driven
        thrust = self.thrust(ground, loads[driven], soil[driven], slip)
        return thrust - need, self.motor_thrust(loads[driven]) - need, self.front_load(angle)

    def climbs(self, ground: on.Ground, angle: Any) -> NDArray[np.bool_]:
        """Whether a grade angle [rad] can be climbed: nothing falls short."""
        return np.asarray(np.logical_and.reduce([reserve >= 0.0 for reserve in self.climb_reserves(ground, angle)]))

    def climb_met(self, terrain: str, bound: Bound) -> NDArray[np.bool_]:
        """Whether the required grade can be climbed."""
        return self.climbs(self.model.grounds[terrain], np.arctan(bound.relaxed))

    def climb_grade(self, terrain: str) -> tuple[Array, NDArray[np.int64]]:
        """Steepest grade that can be climbed [ratio] and which reserve ends it (0 ground, 1 motor, 2 tipping)."""
        ground = self.model.grounds[terrain]
        low, high = halve(
            lambda angle: self.climbs(ground, angle),
            np.zeros_like(self.total),
            np.full_like(self.total, STEEPEST),
            rounds=_HALVINGS,
        )
        reserves = np.array(self.climb_reserves(ground, high))
        return np.tan(low), np.argmin(reserves, axis=0)

    def thrust_reserve(self, terrain: str, legs: list[LegResult]) -> Array:
        """Thrust of the ground at the slip limit over what the terrain needs, in its hardest direction."""
        return np.asarray(np.min([leg.reserve for leg in legs if leg.leg.terrain.name == terrain], axis=0))

    def drive_reserve(self, terrain: str, legs: list[LegResult]) -> Array:
        """Thrust the motor gives at the terrain's speed, over the need of its hardest direction."""
        drive = self.vehicle.drive
        values = []
        for leg in legs:
            if leg.leg.terrain.name == terrain:
                by_power = float(drive.motor_power) * float(drive.drive_efficiency) / leg.leg.ground.speed
                thrust = np.minimum(self.motor_thrust(leg.loads[drive.driven]), by_power)
                values.append(thrust / np.maximum(leg.need, LEAST_NEED))
        return np.asarray(np.min(values, axis=0))

    def top_speed(self) -> Array:
        """Top speed by motor speed and gear [m/s]."""
        driven = self.vehicle.drive.driven
        radius = on.loaded_radius(self.side[driven].footings, np.maximum(self.level[driven], LEAST_LOAD))
        return np.asarray(float(self.vehicle.drive.motor_speed_max) / self.ratio * radius)

    def step_height(self, terrain: str) -> Array:
        """Highest step that the driven wheel climbs from rest by its own grip [m]."""
        driven = self.vehicle.drive.driven
        f, load = self.side[driven].footings, np.maximum(self.level[driven], LEAST_LOAD)
        return step_limit_height(f.radius, friction=on.grip_force(f, self.model.grounds[terrain], load) / load)
