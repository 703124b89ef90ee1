"""Losses of each leg as bounds: ground resistance, slip, and the battery's energy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.vehicle import POSITIONS, Leg, VehicleModel
from configopt.catalog.records import Position
from configopt.choice.bounds import Resistance, leg_cells, resistance, slip_loss
from configopt.choice.context import Context
from configopt.choice.terms import Term
from configopt.physics.loads import GRAVITY

Array = NDArray[np.float64]


@dataclass(frozen=True)
class LegLoss:
    """One leg over a box: lower bounds of both axles' resistance [N], of the slip loss and of the traction.

    ``slip`` belongs to the driven axle and is taken at the other axle's least resistance ``other_least``;
    ``slip_growth`` says how much it grows per newton above that.
    """

    model: VehicleModel
    leg: Leg
    driven: Position
    resist: dict[Position, Resistance]
    slip: Term | None
    slip_growth: Array | None
    other_least: float
    other_most: float
    contexts: dict[Position, Context]
    stops: dict[Position, Term]
    regeneration_most: float
    traction_least: float

    @property
    def sine(self) -> float:
        """Sine of the grade."""
        return float(np.sin(self.leg.angle))

    def ground(self, position: Position) -> Term:
        """Rolling loss of one axle, with the slip on the driven one [J/m]."""
        term = self.resist[position].low
        return term + self.slip if position == self.driven and self.slip is not None else term

    def traction(self, position: Position) -> Term:
        """Part of one axle in the traction [N]: its rolling loss and its weight on the grade."""
        return self.ground(position) + self.contexts[position].mass_term(GRAVITY * self.sine)

    def constant(self, drive_mass: float) -> float:
        """Traction of chassis, air and final drive [N]."""
        return (self.model.laden_mass + drive_mass) * GRAVITY * self.sine + self.model.air_force(self.leg.ground.speed)

    def constant_least(self, drive_masses: Array) -> float:
        """The same with the most favourable final drive."""
        return min(self.constant(float(mass)) for mass in drive_masses)

    @property
    def stop_factor(self) -> float:
        """Stop-and-go energy per metre per kilogram [J/(m kg)]."""
        return float(self.leg.terrain.stops_per_km) / 1000.0 * 0.5 * self.leg.ground.speed**2

    def stop_constant(self, drive_mass: float) -> float:
        """Stop-and-go energy of the chassis [J/m]."""
        return self.stop_factor * (self.model.laden_mass + drive_mass)

    @property
    def safe_slope(self) -> float:
        """Slope of one line through the origin below the battery's energy wherever the traction can lie."""
        forward = 1.0 / self.model.drive_efficiency
        if self.traction_least >= 0.0:
            return forward
        return float(self.model.vehicle.drive.regeneration_efficiency)

    def lines(self) -> tuple[tuple[float, float], ...]:
        """Lines (slope, constant) all below the battery's energy as a function of the traction [J/m over N]."""
        back = float(self.model.vehicle.drive.regeneration_efficiency)
        return ((1.0 / self.model.drive_efficiency, 0.0), (back, 0.0), (0.0, -back * self.regeneration_most))


def leg_losses(model: VehicleModel, contexts: dict[Position, Context]) -> tuple[LegLoss, ...]:
    """Bounds of every leg of a vehicle over a box."""
    driven: Position = model.vehicle.drive.driven
    other: Position = "rear" if driven == "front" else "front"
    losses = []
    for leg in model.legs:
        resist = {p: resistance(contexts[p], leg.ground, angle=leg.angle, rough=True) for p in POSITIONS}
        other_values = resist[other].low.least(contexts[other].grid)
        other_least = float(other_values.min())
        other_most = float((-resist[other].minus_high.least(contexts[other].grid)).max())
        slip, growth = None, None
        air = model.air_force(leg.ground.speed)
        if leg.ground.soft:
            slip, growth = slip_loss(
                contexts[driven], leg.ground, resist[driven].low, angle=leg.angle, other_least=other_least, air=air
            )
        factor = float(leg.terrain.stops_per_km) / 1000.0 * 0.5 * leg.ground.speed**2
        stops = {}
        for position in POSITIONS:
            # Rotating inertia over radius squared: the footing's own is exact, the rest at its least.
            ctx = contexts[position]
            nodes = ctx.nodes
            own = ctx.wheels * nodes.footings.inertia
            rest = (
                ctx.wheels * nodes.tables.wheels.inertia[nodes.wheel].min()
                + model.rotors(position) * nodes.tables.brakes.inertia[nodes.brake].min()
            )
            spin = (own + rest) / nodes.footings.radius**2
            mass = ctx.mass_term(factor)
            stops[position] = Term(mass.base + factor * spin, mass.slope)
        regeneration = regeneration_most(model, contexts[driven], leg)
        least = sum(
            float((resist[p].low + contexts[p].mass_term(GRAVITY * np.sin(leg.angle))).least(contexts[p].grid).min())
            for p in POSITIONS
        )
        chassis = model.laden_mass + float(model.drive_masses.max() if leg.angle < 0 else model.drive_masses.min())
        least += chassis * GRAVITY * np.sin(leg.angle) + air
        losses.append(
            LegLoss(
                model,
                leg,
                driven,
                resist,
                slip,
                growth,
                other_least,
                other_most,
                contexts,
                stops,
                regeneration,
                float(least),
            )
        )
    return tuple(losses)


def regeneration_most(model: VehicleModel, ctx: Context, leg: Leg) -> float:
    """Largest force regeneration can hold back on a leg [N]."""
    _low, high = leg_cells(ctx, leg.angle)
    torque = float(model.vehicle.drive.regeneration_torque) * float(model.ratios.max())
    by_motor = torque / on.loaded_radius(ctx.table, high)
    grip = ctx.wheels * on.grip_force(ctx.table, leg.ground, high)
    return float(np.minimum(by_motor, grip).max())
