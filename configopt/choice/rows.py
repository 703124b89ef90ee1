"""Limits over several parts as linear rows and forbidden pairs.

Every row is the limit relaxed outward: each of its parts is a lower bound of what the full model computes, so no choice
that meets the limit breaks the row.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.parts import MOST_RUNNING_COST
from configopt.appraisal.vehicle import (
    CLIMB_SLIP,
    CLIMB_SPEED,
    POSITIONS,
    SLIP_LIMIT,
    Bound,
    VehicleModel,
)
from configopt.catalog.records import Position
from configopt.choice import bounds as bd
from configopt.choice.brake_rows import BrakeRows
from configopt.choice.checkpoint import checkpoint
from configopt.choice.context import Context, Integers, cell_high, floor_load
from configopt.choice.costing import NodeCosts
from configopt.choice.limits import can_meet, motor_torque, top_speed_most
from configopt.choice.losses import LegLoss
from configopt.choice.terms import BadPairs, Row, Term, constant, staircase
from configopt.physics.chassis import breakover_angle, pitch_from_radii, trail
from configopt.physics.halving import halve
from configopt.physics.loads import GRAVITY
from configopt.scenario.limits import ROUGH_RIDE

Array = NDArray[np.float64]


class LimitRows(BrakeRows):
    """One method per limit that acts on both positions, named as the limit."""

    def front_load_share(self, bound: Bound) -> None:
        """required x weight - front axle load <= 0 [N]."""
        self.weight_row("front load", bound, -1.0, extra=bound.relaxed * GRAVITY)

    def front_load_share_most(self, bound: Bound) -> None:
        """Front axle load - required x weight <= 0 [N]."""
        self.weight_row("front load", bound, 1.0, extra=-bound.relaxed * GRAVITY)

    def wheel_load(self, bound: Bound) -> None:
        """required x static load - permitted load <= 0 per wheel [N]."""
        position = bound.position
        assert position is not None
        ctx = self.made[position]
        low, _ = bd.static_cells(ctx)
        self.add(
            "wheel load",
            bound,
            "N",
            0.0,
            terms={position: staircase(bound.relaxed * low)},
            wheel={position: -ctx.nodes.tables.wheels.maximum_load[ctx.nodes.wheel]},
            scale=1000.0,
        )

    def climb_grade(self, bound: Bound) -> None:
        """Need less thrust of ground or motor, and less than no front load: each <= 0 on the required grade [N]."""
        ground = self.model.grounds[str(bound.terrain)]
        angle = float(np.arctan(bound.relaxed))
        need = self._need(ground, angle, speed=CLIMB_SPEED, obstacles=False)
        weight = GRAVITY * np.sin(angle)
        chassis = weight * self.model.laden_mass
        pull = bd.thrust(self.made[self.driven], ground, angle=angle, slip=CLIMB_SLIP)
        terms = {p: need[p] + pull if p == self.driven else need[p] for p in POSITIONS}
        self.add("climb: ground", bound, "N", -chassis, terms=terms, drive=weight * self.drive_mass, scale=500.0)
        torque = motor_torque(self.model, self.drives) * self.model.wheels(self.driven)
        self._motor_rows("climb: motor", bound, angle, need, chassis, weight * self.drive_mass, torque)
        self.weight_row("climb: tipping", bound, -1.0, angle=angle)

    def _need(
        self, ground: on.Ground, angle: float, *, speed: float | None = None, obstacles: bool = True
    ) -> dict[Position, Term]:
        weight = GRAVITY * np.sin(angle)
        return {
            p: bd.resistance(self.made[p], ground, angle=angle, speed=speed, obstacles=obstacles).low
            + self.made[p].mass_term(weight)
            for p in POSITIONS
        }

    def thrust_reserve(self, bound: Bound) -> None:
        """required x need - thrust at the slip limit <= 0 on every leg of the terrain [N]."""
        for loss in self.losses:
            if loss.leg.terrain.name != bound.terrain:
                continue
            leg = loss.leg
            weight = GRAVITY * loss.sine
            terms = {p: (loss.resist[p].low + self.made[p].mass_term(weight)).scaled(bound.relaxed) for p in POSITIONS}
            terms[self.driven] = terms[self.driven] + bd.thrust(
                self.made[self.driven], leg.ground, angle=leg.angle, slip=SLIP_LIMIT
            )
            fixed = weight * self.model.laden_mass + self.model.air_force(leg.ground.speed)
            self.add(
                "thrust reserve",
                bound,
                "N",
                -bound.relaxed * fixed,
                terms=terms,
                drive=bound.relaxed * weight * self.drive_mass,
                scale=500.0,
            )

    def drive_reserve(self, bound: Bound) -> None:
        """required x need - thrust of the motor <= 0 on every leg of the terrain, by torque and by power [N]."""
        drive = self.model.vehicle.drive
        torque = motor_torque(self.model, self.drives) * self.model.wheels(self.driven)
        for loss in self.losses:
            if loss.leg.terrain.name != bound.terrain:
                continue
            weight = GRAVITY * loss.sine
            need = {p: (loss.resist[p].low + self.made[p].mass_term(weight)).scaled(bound.relaxed) for p in POSITIONS}
            fixed = bound.relaxed * (weight * self.model.laden_mass + self.model.air_force(loss.leg.ground.speed))
            by_power = float(drive.motor_power) * float(drive.drive_efficiency) / loss.leg.ground.speed
            own = bound.relaxed * weight * self.drive_mass
            self.add("drive: power", bound, "N", by_power - fixed, terms=need, drive=own, scale=500.0)
            self._motor_rows("drive: torque", bound, loss.leg.angle, need, fixed, own, torque)

    def _motor_rows(
        self,
        name: str,
        bound: Bound,
        angle: float,
        need: dict[Position, Term],
        fixed: float,
        own: Array,
        torque: Array,
    ) -> None:
        """Need - thrust of the motor <= 0: a row per final drive, lifted for others by the most it could be short."""
        _, high = self.made[self.driven].loads(angle=angle)
        shortest = on.loaded_radius(self.made[self.driven].table, floor_load(cell_high(high))).min(axis=1)
        for number, value in enumerate(torque):
            pull = constant(-value / shortest)
            rows = {p: need[p] + pull if p == self.driven else need[p] for p in POSITIONS}
            rhs = -fixed - float(own[number])
            most = sum(rows[p].greatest(self.made[p].grid) for p in POSITIONS)
            slack = np.full(torque.size, -max(most - rhs, 0.0))
            slack[number] = 0.0
            self.add(f"{name} {number}", bound, "N", rhs, terms=rows, drive=slack, scale=500.0)

    def top_speed(self, bound: Bound) -> None:
        """Final drives that are too short or too tall for a footing."""
        slow = ~can_meet(bound, top_speed_most(self.made[self.driven], self.drives))
        for number in range(self.drives.size):
            asked = (np.arange(self.drives.size) == number).astype(np.float64)
            has = np.where(slow[:, number], 0.0, 1.0)
            self.forbid(f"top speed {number}", self.driven, "footing", has, "drive", asked)

    def cost(self, bound: Bound) -> None:
        """Cost, with half of the largest possible discount at each end, <= required [currency]."""
        zero = {p: np.zeros(len(self.made[p].nodes.footing)) for p in POSITIONS}
        self.add(
            "cost",
            bound,
            "currency",
            bound.relaxed,
            terms={p: Term(self.costs[p].footing.low, zero[p]) for p in POSITIONS},
            wheel={p: self.costs[p].wheel.low for p in POSITIONS},
            brake={p: self.costs[p].brake.low for p in POSITIONS},
            drive=self.model.drive_costs[self.drives],
            scale=500.0,
            modelled=False,
        )

    def running_cost(self, bound: Bound) -> None:
        """What wears off in 1,000 km, with half of the largest discount at each end, <= required [currency]."""
        if bound.relaxed >= MOST_RUNNING_COST:
            return
        zero = {p: np.zeros(len(self.made[p].nodes.footing)) for p in POSITIONS}
        self.add(
            "running cost",
            bound,
            "currency",
            bound.relaxed,
            terms={p: Term(self.costs[p].footing.running, zero[p]) for p in POSITIONS},
            brake={p: self.costs[p].brake.running for p in POSITIONS},
            scale=50.0,
        )

    def rolling_loss(self, bound: Bound) -> None:
        """Rolling loss with the slip at the other axle's least resistance <= required [J/m]."""
        terms: dict[Position, Term] = {}
        for position in POSITIONS:
            total = self.losses[0].ground(position).scaled(self.losses[0].leg.share)
            for loss in self.losses[1:]:
                total = total + loss.ground(position).scaled(loss.leg.share)
            terms[position] = total
        self.add("rolling loss", bound, "J/m", bound.relaxed, terms=terms, scale=50.0, modelled=False)

    def energy(self, bound: Bound) -> None:
        """Battery energy below one safe line per leg <= required [J/m]."""
        self._energy_row(bound, bound.relaxed)

    def range(self, bound: Bound) -> None:
        """Battery energy below one safe line per leg <= usable energy over the required range [J/m]."""
        self._energy_row(bound, float(self.model.vehicle.battery_energy) / bound.relaxed)

    def _energy_row(self, bound: Bound, most: float) -> None:
        terms: dict[Position, Term] = {}
        for position in POSITIONS:
            parts = [energy_part(loss, position, self.model) for loss in self.losses]
            total = parts[0]
            for part in parts[1:]:
                total = total + part
            terms[position] = total
        fixed = sum(
            loss.leg.share
            * (
                loss.safe_slope * loss.constant_least(self.drive_mass)
                + loss.stop_constant(float(self.drive_mass.min())) / self.model.drive_efficiency
            )
            for loss in self.losses
        )
        self.add("energy", bound, "J/m", most - fixed, terms=terms, scale=100.0, modelled=False)

    def ground_clearance(self, bound: Bound) -> None:
        """required - clearance <= 0 at mid-wheelbase [m]."""
        vehicle = self.model.vehicle
        terms: dict[Position, Term] = {}
        fixed = float(vehicle.ground_clearance)
        for position in POSITIONS:
            _, most = bd.radius_cells(self.made[position])
            terms[position] = staircase(-0.5 * most)
            fixed -= 0.5 * float(getattr(vehicle, position).reference_radius)
        self.add("clearance", bound, "m", fixed - bound.relaxed, terms=terms, scale=0.1)

    def break_over_angle(self, bound: Bound) -> None:
        """Clearance that the crest needs under the largest wheels of the box - clearance <= 0 [m].

        At one clearance the angle grows with both radii, so smaller wheels need no less clearance.
        """
        base = self.model.chassis.wheelbase
        front, rear = (float(bd.radius_cells(self.made[p])[1].max()) for p in POSITIONS)

        def short(clearance: Array) -> NDArray[np.bool_]:
            angle = breakover_angle(clearance, position=base / 2, wheelbase=base, front_radius=front, rear_radius=rear)
            return angle <= bound.relaxed

        # The lowest point lies below both axles and outside the wheels.
        reach = min(front, rear, *(r - np.sqrt(max(r**2 - (base / 2) ** 2, 0.0)) for r in (front, rear)))
        needed, _ = halve(short, np.zeros(1), np.full(1, reach), rounds=40)
        self.ground_clearance(replace(bound, required=float(needed[0])))

    def lateral_stability(self, bound: Bound) -> None:
        """required x 2 x moment of the weight about the ground - track x mass <= 0, loads at each end [kg m].

        Each end's track counts by its load; the moment of the weight is what a deceleration of g moves to the front.
        """
        track = float(self.model.vehicle.track or 0.0)
        moment = 2.0 * bound.relaxed * self.model.chassis.wheelbase / GRAVITY
        terms: dict[Position, Term] = {}
        wheel: dict[Position, Array] = {}
        fixed = 0.0
        for position in POSITIONS:
            ctx = self.made[position]
            braked, chassis = ctx.front_load_term(moment, angle=0.0, deceleration=GRAVITY)
            level, still = ctx.front_load_term(-moment, angle=0.0)
            terms[position] = braked + level + ctx.mass_term(-track)
            fixed = chassis + still
            offset = ctx.nodes.tables.wheels.offset[ctx.nodes.wheel]
            carried = [float(load) * ctx.wheels / GRAVITY for load in (ctx.loads()[0].min(), ctx.loads()[1].max())]
            wheel[position] = -2.0 * np.maximum(offset * carried[0], offset * carried[1])
        rhs = track * (self.model.laden_mass + float(self.drive_mass.max())) - fixed
        self.add("lateral stability", bound, "kg m", rhs, terms=terms, wheel=wheel, scale=100.0)

    def side_slope(self, bound: Bound) -> None:
        """What tips a quad; what its tires hold is a limit of each footing."""
        if self.model.vehicle.kind == "quad":
            self.lateral_stability(bound)

    def trail(self, bound: Bound) -> None:
        """required - trail <= 0, or trail - required <= 0 [m], as a sum of a part of each footing.

        For any function of two radii, f(x, y) <= f(x, y0) + max over x' of (f(x', y) - f(x', y0)).  Trail grows with
        the front radius and falls with the rear one, and its mixed derivative keeps its sign, so both ends of x'
        decide.
        """
        sign = 1.0 if bound.at_least else -1.0
        pick = (1, 0) if bound.at_least else (0, 1)
        front, rear = (
            (cells.max(axis=1) if pick[i] else cells.min(axis=1))
            for i, cells in enumerate(bd.radius_cells(self.made[p])[pick[i]] for i, p in enumerate(POSITIONS))
        )
        middle = np.array([0.5 * float(rear.min() + rear.max())])
        ends = np.array([float(front.min()), float(front.max())])
        alone = sign * self._trail_length(front, middle)
        change = sign * (
            self._trail_length(ends[:, None], rear[None, :]) - self._trail_length(ends[:, None], middle[None, :])
        )
        self.add(
            "trail",
            bound,
            "m",
            -sign * bound.relaxed,
            terms={"front": constant(-alone), "rear": constant(-change.max(axis=0))},
            scale=0.1,
        )

    trail_most = trail

    def _trail_length(self, front: Array, rear: Array) -> Array:
        """Trail for loaded radii, as the full model has it."""
        vehicle = self.model.vehicle
        front, rear = np.broadcast_arrays(front, rear)
        base = float(vehicle.wheelbase)
        turned = pitch_from_radii(front, rear, base) - pitch_from_radii(
            float(vehicle.front.reference_radius), float(vehicle.rear.reference_radius), base
        )
        return trail(front, caster_angle=float(vehicle.caster_angle) + turned, fork_offset=float(vehicle.fork_offset))

    def package_mass(self, bound: Bound) -> None:
        """Packages <= required [kg]."""
        terms = {p: self.made[p].mass_term(1.0) for p in POSITIONS}
        self.add("package mass", bound, "kg", bound.relaxed, terms=terms, scale=10.0)

    def vehicle_mass(self, bound: Bound) -> None:
        """Vehicle ready to ride <= required [kg]."""
        terms = {p: self.made[p].mass_term(1.0) for p in POSITIONS}
        self.add(
            "vehicle mass",
            bound,
            "kg",
            bound.relaxed - float(self.model.vehicle.chassis_mass),
            terms=terms,
            drive=self.drive_mass,
            scale=10.0,
        )


def energy_part(loss: LegLoss, position: Position, model: VehicleModel) -> Term:
    """One axle's part of a leg's battery energy below the leg's safe line, by its share of the distance [J/m]."""
    return loss.traction(position).scaled(loss.safe_slope * loss.leg.share) + loss.stops[position].scaled(
        loss.leg.share / model.drive_efficiency
    )


#: Limits that act on cells, nodes or single parts only.
LOCAL = (
    *ROUGH_RIDE,
    "puncture_protection",
    "lateral_stiffness",
    "strike_margin",
    "step_height",
    "relative_deflection",
    "least_relative_deflection",
    "tire_load",
    "unsprung_mass",
    "steering_moment",
    "ground_pressure",
    "sinkage",
    "sinkage_over_passable",
    "mean_maximum_pressure",
    "lead_time",
)


def rows(
    model: VehicleModel,
    made: dict[Position, Context],
    drives: Integers,
    losses: tuple[LegLoss, ...],
    costs: dict[Position, NodeCosts],
) -> tuple[list[Row], list[BadPairs]]:
    """Every row and every set of forbidden pairs of a box; a limit without a bound here is left to the audit."""
    maker = LimitRows(model, made, drives, losses, costs)
    for bound in model.bounds:
        if bound.limit.key not in LOCAL and hasattr(maker, bound.limit.key):
            checkpoint()
            getattr(maker, bound.limit.key)(bound)
    return maker.found, maker.bad
