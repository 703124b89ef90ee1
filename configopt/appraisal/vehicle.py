"""A vehicle prepared for the full model: chassis, grounds, legs, limits, costs."""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from configopt.appraisal.assumptions import MIDDLE, Assumed
from configopt.appraisal.costs import CostBook
from configopt.appraisal.ground import Ground
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position, Surface
from configopt.physics.air import air_density, drag_force
from configopt.physics.loads import Chassis
from configopt.quantities import Figure
from configopt.scenario.conditions import SAME_IN_ALL, vehicle_in
from configopt.scenario.limits import LIMITS, Limit
from configopt.scenario.limits import REPEATED_STOPS as REPEATED_STOPS
from configopt.scenario.records import Obstacle, Terrain, Vehicle
from configopt.scenario.scopes import POSITIONS as POSITIONS
from configopt.scenario.scopes import asked

#: Speed at which steep climbs are ridden [m/s]; own convention, walking pace.
CLIMB_SPEED = 2.0
#: Slip at which a climb is judged (best slip up to this; thrust grows with slip).
CLIMB_SLIP = 0.4
#: Slip beyond which ground counts as impassable.
SLIP_LIMIT = 0.6
#: Share of the tire diameter beyond which a wheel is bogged.
BOGGED_SHARE = 0.4
#: Bounce of the laden vehicle on a suspension whose spring rate is not stated [Hz]; an estimate.
BOUNCE_FREQUENCY = 1.6
#: Damper rate of a suspension that is stated without damping [N s/m]: the model needs some.
LEAST_DAMPING = 10.0
#: Friction of a dry road for the statutory brake rows.
STATUTORY_FRICTION = 0.9
#: Relative slack within which a limit counts as met.
MET = 1e-9

#: A limit of one vehicle: key, terrain, position.
Scope = tuple[str, str | None, str | None]


@dataclass(frozen=True)
class Leg:
    """A terrain ridden in one direction: signed grade angle [rad] and share of the vehicle's distance."""

    terrain: Terrain
    ground: Ground
    angle: float
    share: float


@dataclass(frozen=True)
class Bound:
    """One limit as it applies to a vehicle: where, and the required value [SI]."""

    limit: Limit
    required: float
    terrain: str | None = None
    position: Position | None = None
    stated: bool = False
    condition: str | None = None
    """Condition in which it holds; ``None`` for the vehicle as stated."""

    @property
    def scope(self) -> Scope:
        """Key, terrain and position."""
        return self.limit.key, self.terrain, self.position

    @property
    def at_least(self) -> bool:
        """Whether more is better."""
        return self.limit.bound == "at_least"

    @property
    def relaxed(self) -> float:
        """The bound less the slack within which it counts as met [SI]."""
        slack = MET * abs(self.required)
        return self.required - slack if self.at_least else self.required + slack


class VehicleModel:
    """Everything about a vehicle that does not depend on the choice.

    ``without`` leaves limits out, each named by key, terrain and position.  ``assumed`` and ``variants`` (surfaces by
    id) give assumed figures and surfaces row by row, for choices whose rows differ in them.  ``condition`` names the
    one it stands for, of a vehicle that has several.
    """

    def __init__(
        self,
        vehicle: Vehicle,
        catalog: Catalog,
        *,
        without: frozenset[Scope] = frozenset(),
        assumed: Assumed = MIDDLE,
        variants: Mapping[str, tuple[Surface, ...]] | None = None,
        condition: str | None = None,
    ) -> None:
        self.without = without
        self.condition = condition
        self.assumed = assumed
        self.variants = dict(variants or {})
        self.vehicle = vehicle
        self.catalog = catalog
        self.costs = CostBook(catalog, vehicle.quantity)
        self.ceilings: dict[str, float] = {}
        self.base = self
        """The model without the ceilings."""
        self.surfaces: dict[str, Surface] = {surface.id: surface for surface in catalog.surfaces}
        self.laden_mass = float(vehicle.chassis_mass) + float(vehicle.rider_mass) + float(vehicle.cargo_mass)
        self.chassis = Chassis(
            mass=self.laden_mass,
            wheelbase=float(vehicle.wheelbase),
            cg_from_rear_axle=float(vehicle.cg_from_rear_axle),
            cg_height=float(vehicle.cg_height),
            reference_front_radius=float(vehicle.front.reference_radius),
            reference_rear_radius=float(vehicle.rear.reference_radius),
        )
        self.air_density = float(air_density(float(vehicle.altitude), float(vehicle.temperature)))
        drive = vehicle.drive
        self.drive_efficiency = float(drive.motor_efficiency) * float(drive.drive_efficiency)
        self.ratios = np.array([float(option.ratio) for option in drive.final_drives])
        self.drive_masses = np.array([float(option.mass) for option in drive.final_drives])
        self.drive_costs = np.array([float(option.cost) for option in drive.final_drives])

    def suspension_stiffness(self, position: Position) -> float:
        """Spring rate at the wheel [N/m], by default for bouncing at :data:`BOUNCE_FREQUENCY`."""
        axle = getattr(self.vehicle, position)
        stated = axle.suspension.stiffness
        if stated is not None:
            return float(stated)
        share = self.chassis.cg_from_rear_axle / self.chassis.wheelbase
        carried = self.laden_mass * (share if position == "front" else 1.0 - share) / axle.wheels
        return float((2.0 * math.pi * BOUNCE_FREQUENCY) ** 2 * carried)

    def suspension_damping(self, position: Position) -> float:
        """Damper rate at the wheel on rough ground [N s/m]: as stated, but at least :data:`LEAST_DAMPING`."""
        return max(float(getattr(self.vehicle, position).suspension.damping), LEAST_DAMPING)

    def wheels(self, position: Position) -> int:
        """Wheels at a position."""
        count: int = getattr(self.vehicle, position).wheels
        return count

    def rotors(self, position: Position) -> int:
        """Rotors at a position."""
        count: int = getattr(self.vehicle, position).brake.rotors
        return count

    def air_force(self, speed: float) -> float:
        """Air drag [N]."""
        return float(drag_force(speed, drag_area=float(self.vehicle.drag_area), density=self.air_density))

    @cached_property
    def grounds(self) -> dict[str, Ground]:
        """Ground of each terrain and descent by name."""
        grounds = {
            terrain.name: self._ground(terrain.surface, float(terrain.speed), tuple(terrain.obstacles))
            for terrain in self.vehicle.terrains
        }
        for descent in self.vehicle.descents:
            grounds[descent.name] = self._ground(descent.surface, float(descent.speed))
        return grounds

    def _ground(self, surface: str, speed: float, obstacles: tuple[Obstacle, ...] = ()) -> Ground:
        return Ground(self.surfaces[surface], speed, obstacles, self.assumed, self.variants.get(surface, ()))

    @cached_property
    def legs(self) -> tuple[Leg, ...]:
        """Every terrain in every direction it is ridden."""
        legs = []
        for terrain in self.vehicle.terrains:
            angle = math.atan(float(terrain.grade))
            share = float(terrain.share)
            ground = self.grounds[terrain.name]
            if angle == 0.0:
                legs.append(Leg(terrain, ground, 0.0, share))
            elif terrain.direction == "both ways":
                legs += [Leg(terrain, ground, angle, share / 2), Leg(terrain, ground, -angle, share / 2)]
            else:
                legs.append(Leg(terrain, ground, angle if terrain.direction == "up" else -angle, share))
        return tuple(legs)

    @cached_property
    def bounds(self) -> tuple[Bound, ...]:
        """Every limit that applies, stated ones in place of the defaults."""
        found = {
            (key, terrain, position): Bound(
                LIMITS[key], of.required, terrain, position, stated=of.number is not None, condition=self.condition
            )
            for (key, terrain, position), of in asked(self.vehicle, self.surfaces).items()
        }
        for key, most in self.ceilings.items():
            stated = found.get((key, None, None))
            if stated is None or stated.required > most:
                found[key, None, None] = Bound(LIMITS[key], most, stated=True)
        return tuple(bound for scope, bound in found.items() if scope not in self.without)

    @cached_property
    def others(self) -> tuple[VehicleModel, ...]:
        """The vehicle in each of its other conditions, without limits on what is the same in all of them."""
        found = []
        for condition in self.vehicle.conditions:
            other = vehicle_in(self._with_springs(), condition)
            out = SAME_IN_ALL.union(condition.without_limits)
            left_out = frozenset(scope for scope in asked(other, self.surfaces) if scope[0] in out)
            found.append(
                VehicleModel(
                    other,
                    self.catalog,
                    without=self.without | left_out,
                    assumed=self.assumed,
                    variants=self.variants,
                    condition=condition.name,
                )
            )
        return tuple(found)

    def _with_springs(self) -> Vehicle:
        """The vehicle with every spring rate stated: an estimate from the load as stated holds under other loads."""
        axles: dict[str, Any] = {}
        for position in POSITIONS:
            axle = getattr(self.vehicle, position)
            springs = {"stiffness": Figure(self.suspension_stiffness(position))}
            axles[position] = axle.model_copy(update={"suspension": axle.suspension.model_copy(update=springs)})
        return self.vehicle.model_copy(update=axles)

    def within(self, ceilings: Mapping[str, float]) -> VehicleModel:
        """The same vehicle with more limits on whole quantities, each a limit of the kind at most by key [SI]."""
        other = copy.copy(self)
        other.__dict__.pop("bounds", None)
        other.ceilings = {key: min(most, self.ceilings.get(key, math.inf)) for key, most in ceilings.items()}
        return other
