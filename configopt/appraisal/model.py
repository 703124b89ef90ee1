"""The full model: every number of given choices, many at a time.  This is the authority; nothing here optimises.

All arrays have one row per choice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.tables import BrakeTable, FootingTable, WheelTable
from configopt.appraisal.vehicle import (
    BOGGED_SHARE,
    CLIMB_SLIP,
    CLIMB_SPEED,
    POSITIONS,
    REPEATED_STOPS,
    SLIP_LIMIT,
    STATUTORY_FRICTION,
    Bound,
    Leg,
    VehicleModel,
)
from configopt.catalog.records import Position
from configopt.physics.chassis import ground_clearance, pitch_from_radii, standstill_steering_moment, trail
from configopt.physics.domain import Array
from configopt.physics.grip import slip_for_thrust, slip_loss_force
from configopt.physics.loads import GRAVITY, axle_loads
from configopt.physics.rotor_cooling import solid_rotor_convection
from configopt.physics.rotor_heat import descent_temperature, repeated_stops_rise
from configopt.physics.soft_ground import WheelOnSoil
from configopt.physics.statutory import statutory_row
from configopt.physics.tire import patch_area
from configopt.physics.vehicle_cone_index import rowland_wheel_pressure
from configopt.scenario.records import Descent

#: Least load for which a contact is computed [N]; below it the wheel counts as lifted.
LEAST_LOAD = 1.0
#: Rowland's factor for two axles of which one is driven (1975, from memory).
ROWLAND_HALF_DRIVEN = 4.40
#: Least force for which a thrust reserve is formed [N].
LEAST_NEED = 1.0
#: Steepest grade that is looked for [rad].
STEEPEST = 1.05
_BISECTIONS = 48
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


@dataclass(frozen=True)
class Side:
    """The packages of one position, one row per choice."""

    footings: FootingTable
    wheels: WheelTable
    brakes: BrakeTable

    def take(self, index: Any) -> Side:
        """Some rows."""
        return Side(self.footings.take(index), self.wheels.take(index), self.brakes.take(index))


@dataclass(frozen=True)
class Margin:
    """One limit over all choices: whether it is met, and its value [SI] where it was asked for."""

    bound: Bound
    met: NDArray[np.bool_]
    value: Array | None


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


@dataclass
class Outcome:
    """Every number of the choices."""

    package_mass: dict[Position, Array]
    unsprung_mass: dict[Position, Array]
    static_load: dict[Position, Array]
    total_mass: Array
    legs: list[LegResult]
    rolling_loss: Array
    energy: Array
    energy_by_cause: dict[str, Array]
    cost: Array
    margins: list[Margin]
    figures: dict[str, Any]

    @property
    def packages_mass(self) -> Array:
        """All packages [kg]."""
        return np.asarray(self.package_mass["front"] + self.package_mass["rear"])

    @property
    def met(self) -> NDArray[np.bool_]:
        """Whether every limit is met."""
        return np.asarray(np.logical_and.reduce([margin.met for margin in self.margins]))


def meets(bound: Bound, value: Array) -> NDArray[np.bool_]:
    """Whether values meet a bound, with the slack that counts as met."""
    return np.asarray(value >= bound.relaxed if bound.at_least else value <= bound.relaxed)


def heated_rotor(brakes: BrakeTable, descent: Descent, power: Array, *, ambient: float) -> Array:
    """Temperature [K] of rotors after a descent with a heat flow each [W]; increasing in the heat flow."""
    speed, grade = float(descent.speed), float(descent.grade)
    duration = float(descent.height) / (speed * np.sin(np.arctan(grade)))
    conductance = solid_rotor_convection(speed, diameter=brakes.rotor_diameter) * (brakes.track_area + brakes.rest_area)
    return descent_temperature(
        power,
        duration=duration,
        heat_capacity=brakes.heat_capacity,
        convection_conductance=conductance,
        track_area=brakes.track_area,
        rest_area=brakes.rest_area,
        ambient=ambient,
    )


class Evaluation:
    """One pass of the full model over choices; each method is one part of it."""

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
        """Resistance of all wheels by cause [N]."""
        total = {cause: np.zeros_like(self.total) for cause in ("rolling", "soft_ground", "obstacles")}
        for position in POSITIONS:
            f, n = self.side[position].footings, self.model.wheels(position)
            load = np.maximum(loads[position], LEAST_LOAD)
            c = on.coefficient(f, ground, speed)
            total["rolling"] = total["rolling"] + n * on.rolling_resistance(f, ground, load, soil[position], c)
            total["soft_ground"] = total["soft_ground"] + n * on.soil_resistance(
                soil[position], load, follows=position == "rear"
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
        ground_force = wheel["rolling"] + wheel["soft_ground"] + wheel["obstacles"]
        grade = self.total * GRAVITY * np.sin(leg.angle)
        air = model.air_force(leg.ground.speed) + np.zeros_like(grade)
        need = np.maximum(ground_force + grade + air, 0.0)
        driven = drive.driven
        f, load = self.side[driven].footings, np.maximum(loads[driven], LEAST_LOAD)
        state = soil[driven]
        if state is None:
            slip = np.zeros_like(need)
            passable = need <= self.thrust(leg.ground, load, None, SLIP_LIMIT)
        else:
            assert leg.ground.surface.soil is not None
            slip, passable = slip_for_thrust(
                need / model.wheels(driven),
                maximum_thrust=on.thrust_ceiling(f, leg.ground, load, state),
                length=state.patch_length,
                shear_modulus=float(leg.ground.surface.soil.shear_modulus),
                slip_limit=SLIP_LIMIT,
            )
        lost = slip_loss_force(need, slip=slip)
        wheel |= {"roughness": np.zeros_like(grade), "slip": lost, "grade": grade, "air": air}
        inertia = self.rotating_mass()
        stops = float(leg.terrain.stops_per_km) / 1000.0
        wheel["stop_and_go"] = stops * 0.5 * (self.total + inertia) * leg.ground.speed**2
        traction = ground_force + lost + grade + air
        excess = np.maximum(-traction, 0.0)
        grip = model.wheels(driven) * on.grip_force(f, leg.ground.surface, load)
        limit = np.minimum(float(drive.regeneration_torque) * self.ratio / on.loaded_radius(f, load), grip)
        recovered = float(drive.regeneration_efficiency) * np.minimum(excess, limit)
        battery = {cause: wheel[cause] for cause in ("rolling", "soft_ground", "roughness", "obstacles", "slip", "air")}
        # Downhill only the height's energy that the ride uses up is a cause; the rest is regeneration or brakes.
        battery["grade"] = grade + excess
        battery["stop_and_go"] = wheel["stop_and_go"]
        driving = np.maximum(traction, 0.0) + wheel["stop_and_go"]
        battery["drivetrain"] = driving * (1.0 / model.drive_efficiency - 1.0)
        battery["regeneration"] = -recovered
        reserve = self.thrust(leg.ground, load, state, SLIP_LIMIT) / np.maximum(need, LEAST_NEED)
        result = LegResult(leg, wheel, battery, passable, slip, reserve, need, loads=loads)
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

    # Limits: each method returns the value [SI] over all choices.

    def relative_deflection(self, position: Position) -> Array:
        """Static deflection over section height, laden and level."""
        f = self.side[position].footings
        return np.asarray(on.firm_deflection(f, self.level[position]) / f.section_height)

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

    def clearance(self) -> Array:
        """Ground clearance at mid-wheelbase, laden, with the loaded radii [m]."""
        changes = {}
        for position in POSITIONS:
            f = self.side[position].footings
            axle = getattr(self.vehicle, position)
            sag = on.firm_deflection(f, self.level[position])
            changes[position] = f.radius - sag - float(axle.reference_radius)
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

    def trail_length(self) -> Array:
        """Trail with loaded radii; unequal radii turn the steering axis [m]."""
        radius = {p: on.loaded_radius(self.side[p].footings, self.level[p]) for p in POSITIONS}
        turned = pitch_from_radii(radius["front"], radius["rear"], float(self.vehicle.wheelbase)) - pitch_from_radii(
            float(self.vehicle.front.reference_radius),
            float(self.vehicle.rear.reference_radius),
            float(self.vehicle.wheelbase),
        )
        return trail(
            radius["front"],
            caster_angle=float(self.vehicle.caster_angle) + turned,
            fork_offset=float(self.vehicle.fork_offset),
        )

    def dynamic_load(self, position: Position, surface: Any) -> Array:
        """Load of a wheel at the grip limit [N]: front while braking, rear while driving, at its own static grip."""
        f = self.side[position].footings
        static = np.maximum(self.level[position], LEAST_LOAD)
        used = on.grip_force(f, surface, static) / static * GRAVITY
        return self.loads(deceleration=used if position == "front" else -used)[position]

    def grip_torque(self, position: Position, surface: Any, load: Array) -> Array:
        """Torque at which one wheel slides [N m]."""
        f = self.side[position].footings
        load = np.maximum(load, LEAST_LOAD)
        return np.asarray(on.grip_force(f, surface, load) * on.loaded_radius(f, load))

    def brake_reserve(self, terrain: str, position: Position) -> Array:
        """Brake torque per wheel at the stated hand force over the torque the ground takes.

        The front is judged at its load under braking at the grip limit, the rear at its static load.
        """
        surface = self.model.grounds[terrain].surface
        load = self.dynamic_load("front", surface) if position == "front" else self.level["rear"]
        return np.asarray(self.brake_torque(position) / self.grip_torque(position, surface, load))

    def brake_torque(self, position: Position) -> Array:
        """Brake torque per wheel at the stated hand force [N m]."""
        return self.side[position].brakes.torque * self.model.rotors(position) / self.model.wheels(position)

    def peak_torque(self, position: Position) -> Array:
        """Largest torque one wheel sees [N m]: motor or brake, as far as the grippiest terrain takes it."""
        grip = np.max(
            [
                self.grip_torque(position, ground.surface, self.dynamic_load(position, ground.surface))
                for ground in self.model.grounds.values()
            ],
            axis=0,
        )
        strongest = self.brake_torque(position)
        if position == self.vehicle.drive.driven:
            strongest = np.maximum(strongest, self.motor_torque() / self.model.wheels(position))
        return np.asarray(np.minimum(grip, strongest))

    def creep_margin(self, position: Position) -> Array:
        """Torque the bead (and locks) holds at the middle of its range over the peak wheel torque."""
        return np.asarray(self.side[position].footings.bead_torque / self.peak_torque(position))

    def hub_margin(self, position: Position) -> Array:
        """Torque the hub may carry over the peak wheel torque."""
        return np.asarray(self.side[position].wheels.hub_torque / self.peak_torque(position))

    def statutory(self, position: Position) -> Array:
        """Deceleration with one brake alone over the required one, laden, on a dry road."""
        row = statutory_row(str(self.vehicle.category), position)
        f = self.side[position].footings
        required = row.deceleration
        weight = self.loads(deceleration=required)
        grip = STATUTORY_FRICTION * weight[position] * self.model.wheels(position)
        brake = (
            self.model.rotors(position)
            * self.side[position].brakes.torque
            / on.loaded_radius(f, np.maximum(self.level[position], LEAST_LOAD))
        )
        other: Position = "rear" if position == "front" else "front"
        held = np.minimum(grip, brake) / (self.total * required)
        # A lifted wheel at the other end means the required deceleration turns the vehicle over.
        return np.where(weight[other] > 0.0, held, 0.0)

    def lift_off(self) -> Array:
        """Deceleration at which the rear wheel lifts over gravity."""
        level = self.loads()
        slowed = self.loads_unclipped(1.0)
        rear = level["rear"] * self.model.wheels("rear")
        return np.asarray(rear / (rear - slowed) / GRAVITY)

    def loads_unclipped(self, deceleration: float) -> Array:
        """Rear axle load at a deceleration [N], also where it is negative."""
        return axle_loads(
            self.model.chassis,
            front_mass=self.axle_mass["front"],
            rear_mass=self.axle_mass["rear"] + self.model.drive_masses[self.drive],
            front_radius=self.side["front"].footings.radius,
            rear_radius=self.side["rear"].footings.radius,
            deceleration=deceleration,
        ).rear

    def climb_reserves(self, ground: on.Ground, angle: Any, slip: float = CLIMB_SLIP) -> tuple[Array, Array, Array]:
        """What is left on a grade [N]: thrust of the ground, thrust of the motor, load on the front wheels."""
        loads = self.loads(angle=angle)
        soil = self.on_ground(ground, loads)
        resisted = sum(self.resistances(ground, loads, soil, speed=CLIMB_SPEED, obstacles=False).values())
        need = resisted + self.total * GRAVITY * np.sin(angle)
        driven = self.vehicle.drive.driven
        thrust = self.thrust(ground, loads[driven], soil[driven], slip)
        return thrust - need, self.motor_thrust(loads[driven]) - need, self.front_load(angle)

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

    def climb_met(self, terrain: str, bound: Bound) -> NDArray[np.bool_]:
        """Whether the required grade can be climbed."""
        reserves = self.climb_reserves(self.model.grounds[terrain], np.arctan(bound.relaxed))
        return np.asarray(np.logical_and.reduce([reserve >= 0.0 for reserve in reserves]))

    def climb_grade(self, terrain: str) -> tuple[Array, NDArray[np.int64]]:
        """Steepest grade that can be climbed [ratio] and which reserve ends it (0 ground, 1 motor, 2 tipping)."""
        ground = self.model.grounds[terrain]
        low, high = np.zeros_like(self.total), np.full_like(self.total, STEEPEST)
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            good = np.logical_and.reduce([reserve >= 0.0 for reserve in self.climb_reserves(ground, middle)])
            low, high = np.where(good, middle, low), np.where(good, high, middle)
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

    def brake_share(self, position: Position, loads: dict[Position, Array]) -> Array:
        """Share of an axle in holding the vehicle back."""
        fixed = self.vehicle.brake_share_front
        if fixed is not None:
            share = float(fixed) if position == "front" else 1.0 - float(fixed)
            return np.full_like(self.total, share)
        weight = {p: loads[p] * self.model.wheels(p) for p in POSITIONS}
        return np.asarray(weight[position] / (weight["front"] + weight["rear"]))

    def descent_heat(self, descent: Any, position: Position) -> Array:
        """Heat per rotor while holding a speed downhill [W]; the footings' own resistance and the air help."""
        ground = self.model.grounds[descent.name]
        angle = -np.arctan(float(descent.grade))
        loads = self.loads(angle=angle)
        soil = self.on_ground(ground, loads)
        helped = sum(self.resistances(ground, loads, soil).values()) + self.model.air_force(ground.speed)
        force = np.maximum(-self.total * GRAVITY * np.sin(angle) - helped, 0.0)
        return np.asarray(force * ground.speed * self.brake_share(position, loads) / self.model.rotors(position))

    def rotor_temperature(self, case: str, position: Position) -> Array:
        """Rotor temperature at the end of a descent or of repeated stops [K], rotor worn to its limit."""
        brakes = self.side[position].brakes
        if case == REPEATED_STOPS:
            stops = self.vehicle.stops
            assert stops is not None
            speed = float(stops.speed)
            energy = (
                0.5
                * (self.total + self.rotating_mass())
                * speed**2
                * self.brake_share(position, self.level)
                / self.model.rotors(position)
            )
            conductance = solid_rotor_convection(speed / 2, diameter=brakes.rotor_diameter) * (
                brakes.track_area + brakes.rest_area
            )
            rise = repeated_stops_rise(
                energy / brakes.heat_capacity,
                stops=stops.count,
                interval=float(stops.interval),
                time_constant=brakes.heat_capacity / conductance,
            )
            return np.asarray(float(self.vehicle.temperature) + rise)
        descent = next(d for d in self.vehicle.descents if d.name == case)
        return heated_rotor(
            brakes, descent, self.descent_heat(descent, position), ambient=float(self.vehicle.temperature)
        )

    def rotor_margin(self, case: str, position: Position) -> Array:
        """Permitted over reached temperature, both above ambient."""
        ambient = float(self.vehicle.temperature)
        permitted = self.side[position].brakes.maximum_temperature - ambient
        return np.asarray(permitted / np.maximum(self.rotor_temperature(case, position) - ambient, 1e-3))

    def steering_moment(self) -> Array:
        """Moment to turn the standing front wheels on the grippiest terrain [N m]."""
        f, load = self.side["front"].footings, np.maximum(self.level["front"], LEAST_LOAD)
        area = patch_area(on.firm_deflection(f, load), width=f.width, diameter=f.diameter)
        mu = np.max([on.grip_force(f, g.surface, load) / load for g in self.model.grounds.values()], axis=0)
        return self.model.wheels("front") * standstill_steering_moment(load, friction=mu, patch_area=area)

    def top_speed(self) -> Array:
        """Top speed by motor speed and gear [m/s]."""
        driven = self.vehicle.drive.driven
        radius = on.loaded_radius(self.side[driven].footings, np.maximum(self.level[driven], LEAST_LOAD))
        return np.asarray(float(self.vehicle.drive.motor_speed_max) / self.ratio * radius)

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

    def value(self, bound: Bound, outcome: Outcome) -> Array:
        """Value of one limit over all choices [SI]."""
        key, terrain, position = bound.limit.key, bound.terrain, bound.position
        legs = outcome.legs
        if key in ("relative_deflection", "least_relative_deflection"):
            return self.relative_deflection(_at(position))
        if key == "tire_load":
            side = self.side[_at(position)]
            return np.asarray(side.footings.maximum_load / np.maximum(self.level[_at(position)], LEAST_LOAD))
        if key == "wheel_load":
            side = self.side[_at(position)]
            return np.asarray(side.wheels.maximum_load / np.maximum(self.level[_at(position)], LEAST_LOAD))
        by_position: dict[str, Callable[[Position], Array]] = {
            "creep_margin": self.creep_margin,
            "hub_torque_margin": self.hub_margin,
            "statutory_deceleration": self.statutory,
            "unsprung_mass": lambda p: self.unsprung[p],
        }
        if key in by_position:
            return by_position[key](_at(position))
        by_case: dict[str, Callable[[str, Position], Array]] = {
            "brake_torque_reserve": self.brake_reserve,
            "rotor_temperature": self.rotor_temperature,
            "rotor_temperature_margin": self.rotor_margin,
            "ground_pressure": lambda t, p: self.worst_over_legs(t, p, "ground_pressure", legs),
            "sinkage": lambda t, p: self.worst_over_legs(t, p, "sinkage", legs),
            "sinkage_over_passable": lambda t, p: self.sinkage_reserve(t, p, legs),
        }
        if key in by_case:
            return by_case[key](str(terrain), _at(position))
        whole: dict[str, Callable[[], Any]] = {
            "steering_moment": self.steering_moment,
            "lift_off_deceleration": self.lift_off,
            "top_speed": self.top_speed,
            "trail": self.trail_length,
            "trail_most": self.trail_length,
            "ground_clearance": self.clearance,
            "mean_maximum_pressure": self.mean_maximum_pressure,
            "thrust_reserve": lambda: self.thrust_reserve(str(terrain), legs),
            "drive_reserve": lambda: self.drive_reserve(str(terrain), legs),
            "climb_grade": lambda: self.climb_grade(str(terrain))[0],
            "rolling_loss": lambda: outcome.rolling_loss,
            "energy": lambda: outcome.energy,
            "range": lambda: float(self.vehicle.battery_energy) / np.maximum(outcome.energy, 1e-3),
            "cost": lambda: outcome.cost,
            "package_mass": lambda: outcome.packages_mass,
            "vehicle_mass": lambda: self.total - float(self.vehicle.rider_mass) - float(self.vehicle.cargo_mass),
            "lead_time": lambda: outcome.figures["lead_time"],
        }
        return np.asarray(whole[key]())

    def outcome(self, *, cost: Array, lead_time: Array, values: bool = True) -> Outcome:
        """The whole appraisal; without ``values`` only whether limits are met is kept where the value costs time."""
        legs = [self.ride(leg) for leg in self.model.legs]
        totals = {cause: np.zeros_like(self.total) for cause in CAUSES}
        rolling_loss = np.zeros_like(self.total)
        for result in legs:
            for cause in CAUSES:
                totals[cause] = totals[cause] + result.leg.share * result.battery[cause]
            for cause in GROUND_CAUSES:
                rolling_loss = rolling_loss + result.leg.share * result.wheel[cause]
        outcome = Outcome(
            package_mass=self.axle_mass,
            unsprung_mass=self.unsprung,
            static_load=self.level,
            total_mass=self.total,
            legs=legs,
            rolling_loss=rolling_loss,
            energy=sum(totals.values(), np.zeros_like(self.total)),
            energy_by_cause=totals,
            cost=cost,
            margins=[],
            figures={"lead_time": lead_time},
        )
        for bound in self.model.bounds:
            if bound.limit.key == "climb_grade" and not values:
                outcome.margins.append(Margin(bound, self.climb_met(str(bound.terrain), bound), None))
                continue
            value = self.value(bound, outcome)
            met = self.climb_met(str(bound.terrain), bound) if bound.limit.key == "climb_grade" else meets(bound, value)
            outcome.margins.append(Margin(bound, met, value))
        return outcome


def _at(position: Position | None) -> Position:
    assert position is not None
    return position
