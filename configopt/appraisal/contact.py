"""The wheels on the ground: deflection, sinkage, pressure, contact on rough ground and strikes."""

from __future__ import annotations

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.chassis import ChassisEffects
from configopt.appraisal.forces import LEAST_LOAD, LegResult
from configopt.appraisal.vehicle import BOGGED_SHARE, POSITIONS
from configopt.catalog.records import Position
from configopt.physics.chassis import standstill_steering_moment
from configopt.physics.domain import Array
from configopt.physics.tire import patch_area
from configopt.physics.vehicle_cone_index import rowland_wheel_pressure

#: Rowland's factor for two axles of which one is driven (1975, from memory).
ROWLAND_HALF_DRIVEN = 4.40


class Contact(ChassisEffects):
    """What the tires do to the ground, and the ground to them."""

    def worst_over_legs(self, terrain: str, position: Position, what: str, legs: list[LegResult]) -> Array:
        """Largest sinkage or ground pressure over the directions of a terrain."""
        values = [getattr(leg, what)[position] for leg in legs if leg.leg.terrain.name == terrain]
        return np.asarray(np.max(values, axis=0))

    def sinkage_reserve(self, terrain: str, position: Position, legs: list[LegResult]) -> Array:
        """Sinkage at which the wheel bogs (ground clearance or 0.4 D) over the sinkage; at most 1000."""
        sinkage = self.worst_over_legs(terrain, position, "sinkage", legs)
        diameter = self.side[position].footings.diameter
        bogged = np.minimum(BOGGED_SHARE * diameter, self.clearance())
        return np.asarray(bogged / np.maximum(sinkage, bogged / 1000.0))

    def steering_moment(self) -> Array:
        """Moment to turn the standing front wheels on the grippiest terrain [N m]."""
        f, load = self.side["front"].footings, np.maximum(self.level["front"], LEAST_LOAD)
        area = patch_area(on.firm_deflection(f, load), width=f.width, diameter=f.diameter)
        mu = np.max([on.grip_force(f, g, load) / load for g in self.model.grounds.values()], axis=0)
        return self.model.wheels("front") * standstill_steering_moment(load, friction=mu, patch_area=area)

    def mean_maximum_pressure(self) -> Array:
        """Rowland's mean maximum pressure of the whole vehicle [Pa]; the worse axle's tire stands for all."""
        wheels = self.model.wheels("front") + self.model.wheels("rear")
        worst = np.zeros_like(self.total)
        for position in POSITIONS:
            f = self.side[position].footings
            sag = self.relative_deflection(position)
            pressure = rowland_wheel_pressure(
                self.level[position] * wheels,
                axle_factor=ROWLAND_HALF_DRIVEN,
                wheels=wheels,
                width=f.width,
                diameter=f.diameter,
                deflection_ratio=np.clip(sag, 1e-3, 1.0),
            )
            worst = np.maximum(worst, pressure)
        return np.asarray(worst)

    def strike_margin(self, terrain: str, position: Position) -> Array:
        """Energy the tire takes up before the rim strikes over what the terrain's worst obstacle asks; at most 1000."""
        ground, side = self.model.grounds[terrain], self.side[position]
        return on.strike_margin(
            side.footings,
            ground,
            np.maximum(self.level[position], LEAST_LOAD),
            flange_height=side.wheels.flange_height,
            unsprung_mass=self.unsprung[position],
            suspended=not getattr(self.vehicle, position).suspension.rigid,
        )

    def worst_contact(self, terrain: str, position: Position, what: str, legs: list[LegResult]) -> Array:
        """Largest figure of contact on rough ground over the directions of a terrain."""
        values = [getattr(leg.contact[position], what) for leg in legs if leg.leg.terrain.name == terrain]
        return np.asarray(np.max(values, axis=0))

    def tire_lateral_stiffness(self, position: Position) -> Array:
        """Lateral stiffness of the tire under its static load [N/m]."""
        return on.lateral_stiffness(self.side[position].footings, np.maximum(self.level[position], LEAST_LOAD))
