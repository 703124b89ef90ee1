"""Brakes and peak torques of given choices: what the wheels are asked to hold, and how hot the rotors get."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.assumptions import Assumed
from configopt.appraisal.forces import LEAST_LOAD, Forces
from configopt.appraisal.spoked import MOST_MARGIN
from configopt.appraisal.tables import BrakeTable, WheelTable
from configopt.appraisal.vehicle import POSITIONS, REPEATED_STOPS, STATUTORY_FRICTION, VehicleModel
from configopt.catalog.records import Position
from configopt.physics.domain import Array
from configopt.physics.halving import halve
from configopt.physics.loads import GRAVITY
from configopt.physics.rotor_cooling import solid_rotor_convection
from configopt.physics.rotor_descent import descent_temperature, stops_temperature
from configopt.physics.spoke_strength import fatigue_reserve, tension_cycle
from configopt.physics.statutory import statutory_row


def rotor_convection(brakes: BrakeTable, assumed: Assumed, speed: Any) -> Array:
    """Convection coefficient of rotors at a vehicle speed [W/(m2 K)], by their own tests where they have them."""
    factor = np.where(brakes.convection_factor > 0.0, brakes.convection_factor, assumed.convection)
    return np.asarray(factor * solid_rotor_convection(speed, diameter=brakes.rotor_diameter))


def heated_rotor(brakes: BrakeTable, model: VehicleModel, case: str, heat: Array) -> Array:
    """Temperature [K] of worn rotors after a descent with a heat flow each [W], or after stops with an energy each [J].

    Increasing in the heat.
    """
    vehicle, assumed = model.vehicle, model.assumed
    if case == REPEATED_STOPS:
        stops = vehicle.stops
        assert stops is not None
        speed = float(stops.speed) / 2
    else:
        descent = next(d for d in vehicle.descents if d.name == case)
        speed = float(descent.speed)
    areas: dict[str, Any] = {
        "heat_capacity": brakes.heat_capacity,
        "convection_conductance": rotor_convection(brakes, assumed, speed) * (brakes.track_area + brakes.rest_area),
        "track_area": brakes.track_area,
        "rest_area": brakes.rest_area,
        "track_emissivity": assumed.track_emissivity,
        "rest_emissivity": assumed.rest_emissivity,
        "ambient": float(vehicle.temperature),
    }
    if case == REPEATED_STOPS:
        assert stops is not None
        rise = heat / brakes.heat_capacity
        return stops_temperature(rise, stops=stops.count, interval=float(stops.interval), **areas)
    duration = float(descent.height) / (speed * np.sin(np.arctan(float(descent.grade))))
    return descent_temperature(heat, duration=duration, **areas)


#: Hardest deceleration that is looked for [m/s2]; no tire here holds more.
HARDEST = 20.0
_HALVINGS = 48


def on_spokes(wheels: WheelTable, load: Array) -> Array:
    """Fatigue reserve of the tighter spokes under a wheel load [N]; decreasing in the load."""
    mean, amplitude = tension_cycle(wheels.tension_high, loss=wheels.load_share * load)
    fatigue = fatigue_reserve(
        mean / wheels.spoke_section,
        amplitude=amplitude / wheels.spoke_section,
        tensile_strength=wheels.tensile_strength,
    )
    return np.asarray(np.minimum(fatigue, MOST_MARGIN))


class Braking(Forces):
    """What brakes, beads and hubs hold."""

    def dynamic_load(self, position: Position, ground: on.Ground) -> Array:
        """Load of a wheel at the grip limit [N]: front while braking, rear while driving, at its own static grip."""
        f = self.side[position].footings
        static = np.maximum(self.level[position], LEAST_LOAD)
        used = on.grip_force(f, ground, static) / static * GRAVITY
        return self.loads(deceleration=used if position == "front" else -used)[position]

    def grip_torque(self, position: Position, ground: on.Ground, load: Array) -> Array:
        """Torque at which one wheel slides [N m]."""
        f = self.side[position].footings
        load = np.maximum(load, LEAST_LOAD)
        return np.asarray(on.grip_force(f, ground, load) * on.loaded_radius(f, load))

    def brake_reserve(self, terrain: str, position: Position) -> Array:
        """Brake torque per wheel at the stated hand force over the torque the ground takes.

        The front is judged at its load under braking at the grip limit, the rear at its static load.
        """
        ground = self.model.grounds[terrain]
        load = self.dynamic_load("front", ground) if position == "front" else self.level["rear"]
        return np.asarray(self.brake_torque(position) / self.grip_torque(position, ground, load))

    def brake_torque(self, position: Position) -> Array:
        """Brake torque per wheel at the stated hand force [N m]."""
        return self.side[position].brakes.torque * self.model.rotors(position) / self.model.wheels(position)

    def brake_force(self, position: Position) -> Array:
        """Brake force of an axle at the stated hand force [N], at the loaded radius at rest."""
        radius = on.loaded_radius(self.side[position].footings, np.maximum(self.level[position], LEAST_LOAD))
        return np.asarray(self.model.rotors(position) * self.side[position].brakes.torque / radius)

    @cached_property
    def peak_torques(self) -> dict[Position, Array]:
        """Largest torque one wheel sees [N m]: motor or brake, as far as the grippiest terrain takes it."""
        found = {}
        for position in POSITIONS:
            grip = np.max(
                [
                    self.grip_torque(position, ground, self.dynamic_load(position, ground))
                    for ground in self.model.grounds.values()
                ],
                axis=0,
            )
            strongest = self.brake_torque(position)
            if position == self.vehicle.drive.driven:
                strongest = np.maximum(strongest, self.motor_torque() / self.model.wheels(position))
            found[position] = np.asarray(np.minimum(grip, strongest))
        return found

    def peak_torque(self, position: Position) -> Array:
        """Largest torque one wheel of a position sees [N m]."""
        return self.peak_torques[position]

    def creep_margin(self, position: Position) -> Array:
        """Torque the bead (and locks) holds at the middle of its range over the peak wheel torque."""
        return np.asarray(self.side[position].footings.bead_torque / self.peak_torque(position))

    def spoke_reserve(self, position: Position) -> Array:
        """Load or torque at which the first spoke goes slack, over static load and peak torque; at most 1000."""
        wheels = self.side[position].wheels
        by_load = wheels.slack_load / np.maximum(self.level[position], LEAST_LOAD)
        by_torque = wheels.slack_torque / self.peak_torque(position)
        return np.asarray(np.minimum(np.minimum(by_load, by_torque), MOST_MARGIN))

    def spoke_stress_reserve(self, position: Position) -> Array:
        """Fatigue reserve of the tighter spokes, which lose tension at every turn of the loaded wheel; at most 1000."""
        load = np.maximum(self.level[position], LEAST_LOAD)
        return on_spokes(self.side[position].wheels, load)

    def hub_margin(self, position: Position) -> Array:
        """Torque the hub may carry over the peak wheel torque."""
        return np.asarray(self.side[position].wheels.hub_torque / self.peak_torque(position))

    def statutory(self, position: Position) -> Array:
        """Deceleration with one brake alone over the required one, laden, on a dry road."""
        row = statutory_row(str(self.vehicle.category), position)
        required = row.deceleration
        weight = self.loads(deceleration=required)
        grip = STATUTORY_FRICTION * weight[position] * self.model.wheels(position)
        brake = self.brake_force(position)
        other: Position = "rear" if position == "front" else "front"
        held = np.minimum(grip, brake) / (self.total * required)
        # A lifted wheel at the other end means the required deceleration turns the vehicle over.
        return np.where(weight[other] > 0.0, held, 0.0)

    def lift_off(self) -> Array:
        """Deceleration at which the rear wheel lifts over gravity."""
        level = self.loads()
        slowed = self.rear_load(1.0)
        rear = level["rear"] * self.model.wheels("rear")
        return np.asarray(rear / (rear - slowed) / GRAVITY)

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
        if case == REPEATED_STOPS:
            heat = self.stop_heat(position)
        else:
            heat = self.descent_heat(next(d for d in self.vehicle.descents if d.name == case), position)
        return heated_rotor(self.side[position].brakes, self.model, case, heat)

    def stop_heat(self, position: Position) -> Array:
        """Energy of one stop per rotor [J]: kinetic energy with the turning wheels, by the share of the brake."""
        stops = self.vehicle.stops
        assert stops is not None
        energy = 0.5 * (self.total + self.rotating_mass()) * float(stops.speed) ** 2
        return np.asarray(energy * self.brake_share(position, self.level) / self.model.rotors(position))

    def rotor_margin(self, case: str, position: Position) -> Array:
        """Permitted over reached temperature, both above ambient."""
        ambient = float(self.vehicle.temperature)
        permitted = self.side[position].brakes.maximum_temperature - ambient
        return np.asarray(permitted / np.maximum(self.rotor_temperature(case, position) - ambient, 1e-3))

    def braking_reserve(self, ground: on.Ground, deceleration: Any) -> Array:
        """Brake force of both axles at the stated hand force, as far as the tires hold it, less what is needed [N].

        Minus infinity where the rear wheel has lifted.
        """
        loads = self.loads(deceleration=deceleration)
        force = -self.total * deceleration
        for position in POSITIONS:
            f, wheels = self.side[position].footings, self.model.wheels(position)
            held = wheels * on.grip_force(f, ground, np.maximum(loads[position], LEAST_LOAD))
            force = force + np.minimum(held, self.brake_force(position))
        return np.where(self.rear_load(deceleration) >= 0.0, force, -np.inf)

    def deceleration(self, terrain: str) -> Array:
        """Hardest deceleration on the level with both brakes [m/s2].

        Grip, brake torque or the lifting rear wheel ends it.  The force is concave in the deceleration (grip in the
        load, loads in the deceleration), so what is held below the end is held throughout.
        """
        ground = self.model.grounds[terrain]
        held, _ = halve(
            lambda slowing: self.braking_reserve(ground, slowing) >= 0.0,
            np.zeros_like(self.total),
            np.full_like(self.total, HARDEST),
            rounds=_HALVINGS,
        )
        return held
