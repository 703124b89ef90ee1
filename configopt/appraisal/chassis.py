"""What the wheels do to the vehicle: clearance, trail, stability."""

from __future__ import annotations

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.forces import LEAST_LOAD, Forces
from configopt.appraisal.vehicle import POSITIONS
from configopt.catalog.records import Position
from configopt.physics.chassis import (
    breakover_angle,
    ground_clearance,
    lateral_stability_coefficient,
    pitch_from_radii,
    trail,
)
from configopt.physics.domain import Array
from configopt.physics.loads import GRAVITY


class ChassisEffects(Forces):
    """The vehicle standing on its footings."""

    def relative_deflection(self, position: Position) -> Array:
        """Static deflection over section height, laden and level."""
        f = self.side[position].footings
        return np.asarray(on.firm_deflection(f, self.level[position]) / f.section_height)

    def standing_radius(self, position: Position) -> Array:
        """Loaded radius, laden and level [m]."""
        return on.loaded_radius(self.side[position].footings, self.level[position])

    def clearance(self) -> Array:
        """Ground clearance at mid-wheelbase, laden, with the loaded radii [m]."""
        changes = {p: self.standing_radius(p) - float(getattr(self.vehicle, p).reference_radius) for p in POSITIONS}
        return np.maximum(
            ground_clearance(
                float(self.vehicle.ground_clearance),
                front_radius_change=changes["front"],
                rear_radius_change=changes["rear"],
                position=float(self.vehicle.wheelbase) / 2,
                wheelbase=float(self.vehicle.wheelbase),
            ),
            1e-3,
        )

    def pitch(self) -> Array:
        """Angle by which loaded radii turn the vehicle against the reference radii [rad], nose up."""
        base = float(self.vehicle.wheelbase)
        front, rear = float(self.vehicle.front.reference_radius), float(self.vehicle.rear.reference_radius)
        turned = pitch_from_radii(self.standing_radius("front"), self.standing_radius("rear"), base)
        return np.asarray(turned - pitch_from_radii(front, rear, base))

    def trail_length(self) -> Array:
        """Trail with loaded radii; unequal radii turn the steering axis [m]."""
        return trail(
            self.standing_radius("front"),
            caster_angle=float(self.vehicle.caster_angle) + self.pitch(),
            fork_offset=float(self.vehicle.fork_offset),
        )

    def front_load_share(self) -> Array:
        """Share of the weight on the front axle, laden and level; negative where the front lifts at rest."""
        return np.asarray(self.front_load(0.0) / (self.total * GRAVITY))

    def lateral_stability(self) -> Array:
        """Static lateral stability coefficient of a quad: half the mean track over the height of the centre of gravity.

        The scenario's track holds for wheels without offset; each wheel's own moves its contact outward.
        """
        ahead, height = self.center_of_gravity()
        track = {p: float(self.vehicle.track or 0.0) + 2.0 * self.side[p].wheels.offset for p in POSITIONS}
        return lateral_stability_coefficient(
            front_track=track["front"],
            rear_track=track["rear"],
            cg_from_rear=np.clip(ahead, 0.0, self.model.chassis.wheelbase),
            wheelbase=self.model.chassis.wheelbase,
            cg_height=height,
        )

    def side_slope(self, terrain: str) -> Array:
        """Tangent of the side slope that can be crossed: what the tires hold, and for a quad what does not tip it."""
        ground = self.model.grounds[terrain]
        soil = self.on_ground(ground, self.level)
        held = []
        for position in POSITIONS:
            load = np.maximum(self.level[position], LEAST_LOAD)
            held.append(on.thrust_ceiling(self.side[position].footings, ground, load, soil[position]) / load)
        slope = np.minimum(*held)
        return np.minimum(slope, self.lateral_stability()) if self.vehicle.kind == "quad" else slope

    def break_over_angle(self) -> Array:
        """Sharpest crest that mid-wheelbase clears, as the angle by which it bends the ground [rad]."""
        base = self.model.chassis.wheelbase
        return breakover_angle(
            self.clearance(),
            position=base / 2,
            wheelbase=base,
            front_radius=self.standing_radius("front"),
            rear_radius=self.standing_radius("rear"),
        )
