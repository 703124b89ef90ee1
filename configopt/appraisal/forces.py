"""Loads, resistances and energy of given choices, many at a time: what every other part of the full model starts from.

All arrays have one row per choice.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.tables import BrakeTable, FootingTable, WheelTable
from configopt.appraisal.vehicle import POSITIONS, SLIP_LIMIT, Leg, VehicleModel
from configopt.catalog.records import Position
from configopt.physics.domain import Array
from configopt.physics.grip import slip_for_thrust, slip_loss_force
from configopt.physics.loads import GRAVITY, axle_loads
from configopt.physics.rough_ride import RoughRide, contact_grip_factor
from configopt.physics.soft_ground import WheelOnSoil

#: Least load for which a contact is computed [N]; below it the wheel counts as lifted.
LEAST_LOAD = 1.0
#: Least force for which a thrust reserve is formed [N].
LEAST_NEED = 1.0
CAUSES = (
    "rolling",
    "soft_ground",
    "roughness",
    "obstacles",
    "slip",
    "grade",
    "air",
    "stop_and_go",
    "drivetrain",
    "regeneration",
)
#: Causes that count as rolling loss.
GROUND_CAUSES = ("rolling", "soft_ground", "roughness", "obstacles", "slip")
#: Causes that resist the wheels before any thrust is asked of them.
RESISTING = ("rolling", "soft_ground", "roughness", "obstacles")


@dataclass(frozen=True)
class Side:
    """The packages of one position, one row per choice."""

    footings: FootingTable
    wheels: WheelTable
    brakes: BrakeTable

    def take(self, index: Any) -> Side:
        """Some rows."""
        return Side(self.footings.take(index), self.wheels.take(index), self.brakes.take(index))


@dataclass
class LegResult:
    """One leg: forces by cause at the wheels [N] and battery energy by cause [J/m]."""

    leg: Leg
    wheel: dict[str, Array]
    battery: dict[str, Array]
    passable: NDArray[np.bool_]
    slip: Array
    reserve: Array
    need: Array
    sinkage: dict[Position, Array] = field(default_factory=dict)
    ground_pressure: dict[Position, Array] = field(default_factory=dict)
    loads: dict[Position, Array] = field(default_factory=dict)
    rigid: dict[Position, NDArray[np.bool_]] = field(default_factory=dict)
    contact: dict[Position, RoughRide] = field(default_factory=dict)
    """All zero on smooth ground; the loss alone without a suspension."""


class Forces:
    """What the wheels carry, resist and push."""

    def __init__(
        self,
        model: VehicleModel,
        front: Side,
        rear: Side,
        drive: NDArray[np.int64],
        *,
        masses: tuple[Array, Array] | None = None,
    ) -> None:
        self.model = model
        self.vehicle = model.vehicle
        self.side: dict[Position, Side] = {"front": front, "rear": rear}
        self.drive = drive
        self.ratio = model.ratios[drive]
        self.axle_mass: dict[Position, Array] = {}
        self.unsprung: dict[Position, Array] = {}
        for number, position in enumerate(POSITIONS):
            side, wheels, rotors = self.side[position], model.wheels(position), model.rotors(position)
            own = wheels * (side.footings.mass + side.wheels.mass) + rotors * side.brakes.mass
            self.axle_mass[position] = own if masses is None else masses[number]
            suspension = getattr(self.vehicle, position).suspension
            self.unsprung[position] = self.axle_mass[position] / wheels + float(suspension.unsprung_mass)
        self.total = model.laden_mass + self.axle_mass["front"] + self.axle_mass["rear"] + model.drive_masses[drive]
        self.level = self.loads()

    def loads(self, *, angle: Any = 0.0, deceleration: Any = 0.0) -> dict[Position, Array]:
        """Loads of single wheels [N], not below zero; the final drive's mass counts at the rear axle."""
        axles = axle_loads(
            self.model.chassis,
            front_mass=self.axle_mass["front"],
            rear_mass=self.axle_mass["rear"] + self.model.drive_masses[self.drive],
            front_radius=self.side["front"].footings.radius,
            rear_radius=self.side["rear"].footings.radius,
            grade_angle=angle,
            deceleration=deceleration,
        )
        total = axles.front + axles.rear
        front = np.clip(axles.front, 0.0, total)
        return {"front": front / self.model.wheels("front"), "rear": (total - front) / self.model.wheels("rear")}

    def rear_load(self, deceleration: Any) -> Array:
        """Rear axle load at a deceleration [N], also where it is negative."""
        return axle_loads(
            self.model.chassis,
            front_mass=self.axle_mass["front"],
            rear_mass=self.axle_mass["rear"] + self.model.drive_masses[self.drive],
            front_radius=self.side["front"].footings.radius,
            rear_radius=self.side["rear"].footings.radius,
            deceleration=deceleration,
        ).rear

    def front_load(self, angle: Any) -> Array:
        """Front axle load on a grade [N], also where it is negative."""
        return axle_loads(
            self.model.chassis,
            front_mass=self.axle_mass["front"],
            rear_mass=self.axle_mass["rear"] + self.model.drive_masses[self.drive],
            front_radius=self.side["front"].footings.radius,
            rear_radius=self.side["rear"].footings.radius,
            grade_angle=angle,
        ).front

    def center_of_gravity(self) -> tuple[Array, Array]:
        """Distance ahead of the rear axle and height of the laden vehicle's centre of gravity [m]."""
        weight = self.total * GRAVITY
        ahead = self.front_load(0.0) / weight * self.model.chassis.wheelbase
        # A deceleration of g moves the load m g h/L to the front.
        moved = self.rear_load(0.0) - self.rear_load(GRAVITY)
        return np.asarray(ahead), np.asarray(moved / weight * self.model.chassis.wheelbase)

    def on_ground(self, leg_ground: on.Ground, loads: dict[Position, Array]) -> dict[Position, WheelOnSoil | None]:
        """Soil state of both wheels, or nothing on firm ground."""
        return {
            position: on.on_soil(self.side[position].footings, leg_ground, np.maximum(loads[position], LEAST_LOAD))
            if leg_ground.soft
            else None
            for position in POSITIONS
        }

    def resistances(
        self,
        ground: on.Ground,
        loads: dict[Position, Array],
        soil: dict[Position, WheelOnSoil | None],
        *,
        speed: float | None = None,
        obstacles: bool = True,
    ) -> dict[str, Array]:
        """Resistance of all wheels by cause [N], roughness apart (see :meth:`rough`)."""
        total = {cause: np.zeros_like(self.total) for cause in ("rolling", "soft_ground", "obstacles")}
        for position in POSITIONS:
            f, n = self.side[position].footings, self.model.wheels(position)
            load = np.maximum(loads[position], LEAST_LOAD)
            c = on.coefficient(f, ground, speed)
            total["rolling"] = total["rolling"] + n * on.rolling_resistance(f, ground, load, soil[position], c)
            total["soft_ground"] = total["soft_ground"] + n * on.soil_resistance(
                ground, soil[position], load, follows=position == "rear"
            )
            if obstacles and ground.obstacles:
                suspension = getattr(self.vehicle, position).suspension
                total["obstacles"] = total["obstacles"] + n * on.obstacle_resistance(
                    f,
                    ground,
                    load,
                    unsprung_mass=self.unsprung[position],
                    damping=float(suspension.damping),
                    suspended=not suspension.rigid,
                )
        return total

    def rough(self, ground: on.Ground, position: Position, load: Array) -> RoughRide:
        """The wheel of a position on the ground's roughness under a load [N]."""
        suspension = getattr(self.vehicle, position).suspension
        return on.rough_ride(
            self.side[position].footings,
            ground,
            load,
            unsprung_mass=self.unsprung[position],
            stiffness=None if suspension.rigid else self.model.suspension_stiffness(position),
            damping=self.model.suspension_damping(position),
        )

    def thrust(self, ground: on.Ground, load: Array, soil: WheelOnSoil | None, slip: float) -> Array:
        """Thrust of the driven wheels at a slip [N]."""
        position = self.vehicle.drive.driven
        return self.model.wheels(position) * on.thrust_at_slip(
            self.side[position].footings, ground, np.maximum(load, LEAST_LOAD), soil, slip
        )

    def motor_thrust(self, load: Array) -> Array:
        """Thrust the motor gives at the driven wheels [N]."""
        position = self.vehicle.drive.driven
        radius = on.loaded_radius(self.side[position].footings, np.maximum(load, LEAST_LOAD))
        return np.asarray(self.motor_torque() / radius)

    def motor_torque(self) -> Array:
        """Peak motor torque at the driven axle [N m]."""
        drive = self.vehicle.drive
        return float(drive.motor_torque) * self.ratio * float(drive.drive_efficiency)

    def ride(self, leg: Leg) -> LegResult:
        """Forces and battery energy of one leg."""
        model, drive = self.model, self.vehicle.drive
        loads = self.loads(angle=leg.angle)
        soil = self.on_ground(leg.ground, loads)
        wheel = self.resistances(leg.ground, loads, soil)
        contact = {p: self.rough(leg.ground, p, np.maximum(loads[p], LEAST_LOAD)) for p in POSITIONS}
        wheel["roughness"] = model.wheels("front") * contact["front"].resistance
        wheel["roughness"] = wheel["roughness"] + model.wheels("rear") * contact["rear"].resistance
        ground_force = sum((wheel[cause] for cause in RESISTING), np.zeros_like(self.total))
        grade = self.total * GRAVITY * np.sin(leg.angle)
        air = model.air_force(leg.ground.speed) + np.zeros_like(grade)
        need = np.maximum(ground_force + grade + air, 0.0)
        driven = drive.driven
        f, load = self.side[driven].footings, np.maximum(loads[driven], LEAST_LOAD)
        state = soil[driven]
        # Grip is load-sensitive: a load that varies holds less than its mean.
        kept = contact_grip_factor(contact[driven].dynamic_load_ratio, load_exponent=leg.ground.figures.load_exponent)
        if state is None:
            slip = np.zeros_like(need)
            passable = need <= kept * self.thrust(leg.ground, load, None, SLIP_LIMIT)
        else:
            slip, passable = slip_for_thrust(
                need / model.wheels(driven),
                maximum_thrust=on.thrust_ceiling(f, leg.ground, load, state),
                length=state.patch_length,
                shear_modulus=leg.ground.figures.shear_modulus,
                slip_limit=SLIP_LIMIT,
            )
        lost = slip_loss_force(need, slip=slip)
        wheel |= {"slip": lost, "grade": grade, "air": air}
        inertia = self.rotating_mass()
        stops = float(leg.terrain.stops_per_km) / 1000.0
        wheel["stop_and_go"] = stops * 0.5 * (self.total + inertia) * leg.ground.speed**2
        traction = ground_force + lost + grade + air
        excess = np.maximum(-traction, 0.0)
        grip = kept * model.wheels(driven) * on.grip_force(f, leg.ground, load)
        limit = np.minimum(float(drive.regeneration_torque) * self.ratio / on.loaded_radius(f, load), grip)
        recovered = float(drive.regeneration_efficiency) * np.minimum(excess, limit)
        battery = {cause: wheel[cause] for cause in ("rolling", "soft_ground", "roughness", "obstacles", "slip", "air")}
        # Downhill only the height's energy that the ride uses up is a cause; the rest is regeneration or brakes.
        battery["grade"] = grade + excess
        battery["stop_and_go"] = wheel["stop_and_go"]
        driving = np.maximum(traction, 0.0) + wheel["stop_and_go"]
        battery["drivetrain"] = driving * (1.0 / model.drive_efficiency - 1.0)
        battery["regeneration"] = -recovered
        available = self.thrust(leg.ground, load, state, SLIP_LIMIT) * (kept if state is None else 1.0)
        reserve = available / np.maximum(need, LEAST_NEED)
        result = LegResult(leg, wheel, battery, passable, slip, reserve, need, loads=loads, contact=contact)
        for position in POSITIONS:
            state = soil[position]
            f = self.side[position].footings
            floor = np.maximum(loads[position], LEAST_LOAD)
            result.sinkage[position] = np.zeros_like(floor) if state is None else state.sinkage
            result.ground_pressure[position] = on.ground_pressure(f, floor, state)
            if state is not None:
                result.rigid[position] = state.rigid
        return result

    def rotating_mass(self) -> Array:
        """Mass that the wheels' inertia adds to acceleration [kg]: I/R^2 of all wheels and rotors."""
        return sum(
            (
                (
                    self.model.wheels(p) * (self.side[p].footings.inertia + self.side[p].wheels.inertia)
                    + self.model.rotors(p) * self.side[p].brakes.inertia
                )
                / self.side[p].footings.radius ** 2
                for p in POSITIONS
            ),
            np.zeros_like(self.total),
        )
