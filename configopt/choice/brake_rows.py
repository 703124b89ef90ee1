"""Rows of brakes, beads and hubs."""

from __future__ import annotations

from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.braking import heated_rotor
from configopt.appraisal.tables import BrakeTable, PositionTables
from configopt.appraisal.vehicle import (
    POSITIONS,
    REPEATED_STOPS,
    STATUTORY_FRICTION,
    Bound,
    VehicleModel,
)
from configopt.catalog.records import Position
from configopt.choice import bounds as bd
from configopt.choice.context import Context, cell_low, floor_load
from configopt.choice.limits import brake_torque, least_ratio, motor_torque
from configopt.choice.row_maker import RowMaker
from configopt.choice.terms import chord, staircase
from configopt.physics.halving import halve
from configopt.physics.loads import GRAVITY
from configopt.physics.statutory import statutory_row

Array = NDArray[np.float64]
_HALVINGS = 50
#: Heat up to which a brake's limit is looked for on a descent [W]; more than a vehicle of 2 t can brake.
MOST_HEAT = 1e6
#: Permitted heat by vehicle and bound, with the tables it was made for.
_PERMITTED: WeakKeyDictionary[VehicleModel, dict[Bound, tuple[PositionTables, Array]]] = WeakKeyDictionary()


def permitted_heat(model: VehicleModel, brakes: BrakeTable, bound: Bound) -> Array:
    """Heat flow [W] (descent) or energy of one stop [J] at which each brake set reaches what is permitted."""
    ambient = float(model.vehicle.temperature)
    if bound.limit.key == "rotor_temperature_margin":
        limit = ambient + (brakes.maximum_temperature - ambient) / bound.relaxed
    else:
        limit = np.full(len(brakes), bound.relaxed)
    low, high = np.zeros(len(brakes)), np.full(len(brakes), MOST_HEAT)
    if bound.terrain == REPEATED_STOPS:
        # The last stop alone heats the rotor by this much.
        high = np.maximum(limit - ambient, 0.0) * brakes.heat_capacity
    _, high = halve(
        lambda heat: heated_rotor(brakes, model, str(bound.terrain), heat) <= limit, low, high, rounds=_HALVINGS
    )
    # A brake that stays cool at the most that is looked at may take any heat this vehicle can give.
    return np.where(high < MOST_HEAT, high, 1e3 * MOST_HEAT)


class BrakeRows(RowMaker):
    """Limits on braking, heat and torque."""

    def lift_off_deceleration(self, bound: Bound) -> None:
        """-(rear axle load at the required deceleration) <= 0 [N]."""
        self.weight_row("rear stays down", bound, 1.0, deceleration=bound.relaxed * GRAVITY, extra=-GRAVITY)

    def deceleration(self, bound: Bound) -> None:
        """mass x required deceleration - what tires and brakes hold at it <= 0 [N], and the rear wheel stays down."""
        ground, slowing = self.model.grounds[str(bound.terrain)], bound.relaxed * GRAVITY
        terms = {}
        for position in POSITIONS:
            ctx = self.made[position]
            _, load = ctx.braked_loads(slowing + 0.0 * cell_low(ctx.grid), slowing + 0.0 * cell_low(ctx.grid))
            shortest, _ = bd.radius_cells(ctx)
            brake = float(brake_torque(ctx).max()) / shortest
            held = ctx.wheels * np.minimum(on.grip_force(ctx.table, ground, floor_load(load)), brake)
            terms[position] = ctx.mass_term(slowing) + staircase(-held)
        fixed = slowing * self.model.laden_mass
        self.add("braking", bound, "N", -fixed, terms=terms, drive=slowing * self.drive_mass, scale=1000.0)
        self.weight_row("rear stays down", bound, 1.0, deceleration=slowing, extra=-GRAVITY)

    def statutory_deceleration(self, bound: Bound) -> None:
        """Grip, brake torque and the lifting wheel for one brake alone at the required deceleration [N]."""
        position = bound.position
        assert position is not None
        ctx = self.made[position]
        required = statutory_row(str(self.model.vehicle.category), position).deceleration
        need = bound.relaxed * required
        if position == "front":
            self.weight_row("front grip", bound, -STATUTORY_FRICTION, deceleration=required, extra=need)
            self.weight_row("rear stays down", bound, 1.0, deceleration=required, extra=-GRAVITY)
        else:
            mu = STATUTORY_FRICTION
            self.weight_row("rear grip", bound, mu, deceleration=required, extra=need - mu * GRAVITY)
            self.weight_row("front stays down", bound, -1.0, deceleration=required)
        mass, _ = ctx.total_mass()
        radius, _ = bd.radius_cells(ctx)
        term = staircase(need * cell_low(mass) * radius)
        rotors = self.model.rotors(position)
        torque = -rotors * ctx.nodes.tables.brakes.torque[ctx.nodes.brake]
        self.add("brake alone", bound, "N m", 0.0, terms={position: term}, brake={position: torque}, scale=100.0)

    def brake_torque_reserve(self, bound: Bound) -> None:
        """required x torque the ground takes - brake torque <= 0 per wheel [N m]."""
        position = bound.position
        assert position is not None
        ctx = self.made[position]
        ground = self.model.grounds[str(bound.terrain)]
        low, high = bd.dynamic_loads(ctx, ground) if position == "front" else bd.static_cells(ctx)
        need = bd.grip_torque_low(ctx, ground, low, high)
        self.add(
            "brake torque",
            bound,
            "N m",
            0.0,
            terms={position: staircase(bound.relaxed * need)},
            brake={position: -brake_torque(ctx)},
            scale=100.0,
        )

    def _permitted_heat(self, bound: Bound, position: Position) -> Array:
        """What each brake set may take, see :func:`permitted_heat`; kept per vehicle, for it depends on no box."""
        nodes = self.made[position].nodes
        known = _PERMITTED.setdefault(self.model, {})
        if bound not in known or known[bound][0] is not nodes.tables:
            known[bound] = (nodes.tables, permitted_heat(self.model, nodes.tables.brakes, bound))
        return known[bound][1][nodes.brake]

    def rotor_temperature(self, bound: Bound) -> None:
        """Heat per rotor - permitted heat <= 0 [W, or J for stops]; the share of the brake at its most favourable."""
        position = bound.position
        assert position is not None
        permitted = self._permitted_heat(bound, position)
        rotors = self.model.rotors(position)
        if bound.terrain == REPEATED_STOPS:
            stops = self.model.vehicle.stops
            assert stops is not None
            factor = 0.5 * float(stops.speed) ** 2 * self._share_low(position, 0.0) / rotors
            terms = {p: self.made[p].mass_term(factor) for p in POSITIONS}
            self.add(
                "stop heat",
                bound,
                "J",
                -factor * self.model.laden_mass,
                terms=terms,
                brake={position: -permitted},
                drive=factor * self.drive_mass,
                scale=1000.0,
            )
            return
        descent = next(d for d in self.model.vehicle.descents if d.name == bound.terrain)
        ground = self.model.grounds[descent.name]
        angle = -float(np.arctan(float(descent.grade)))
        resisted = {p: bd.resistance(self.made[p], ground, angle=angle).minus_high for p in POSITIONS}
        air = self.model.air_force(ground.speed)
        fixed = self.model.vehicle.brake_share_front
        if fixed is not None:
            share = float(fixed) if position == "front" else 1.0 - float(fixed)
            factor = ground.speed * share / rotors
            weight = -GRAVITY * np.sin(angle)
            terms = {p: (resisted[p] + self.made[p].mass_term(weight)).scaled(factor) for p in POSITIONS}
            self.add(
                "descent heat",
                bound,
                "W",
                -factor * (weight * self.model.laden_mass - air),
                terms=terms,
                brake={position: -permitted},
                drive=factor * weight * self.drive_mass,
                scale=1000.0,
            )
            return
        # In proportion to the loads: share x (weight along - help) = load x tan(grade) - share x help.
        ctx = self.made[position]
        load, high, _ = ctx.axle(angle=angle)
        least_total = ctx.least_weight(angle)
        load = np.minimum(load, least_total)
        share = float(np.clip(high / least_total, 0.0, 1.0).max())
        factor = ground.speed / rotors
        terms = {p: resisted[p].scaled(factor * share) for p in POSITIONS}
        terms[position] = terms[position] + chord(ctx.grid, load[:, 0], load[:, -1]).scaled(-factor * np.tan(angle))
        self.add(
            "descent heat", bound, "W", factor * share * air, terms=terms, brake={position: -permitted}, scale=1000.0
        )

    rotor_temperature_margin = rotor_temperature

    def _share_low(self, position: Position, angle: float) -> float:
        """Least share of an axle in braking."""
        fixed = self.model.vehicle.brake_share_front
        if fixed is not None:
            return float(fixed) if position == "front" else 1.0 - float(fixed)
        ctx = self.made[position]
        low, _, most = ctx.axle(angle=angle)
        return float(np.clip(low / most, 0.0, 1.0).min())

    def creep_margin(self, bound: Bound) -> None:
        """Brakes and final drives whose torque turns a footing's tire on the rim wherever grip allows it."""
        position = bound.position
        assert position is not None
        ctx = self.made[position]
        self._forbid_torques(bound, ctx, "creep", "footing", ctx.nodes.footings.bead_torque)

    def hub_torque_margin(self, bound: Bound) -> None:
        """Brakes and final drives that give a hub more torque than it may carry."""
        position = bound.position
        assert position is not None
        ctx = self.made[position]
        holds = ctx.nodes.tables.wheels.hub_torque[ctx.nodes.wheel]
        self._forbid_torques(bound, ctx, "hub torque", "wheel", holds)

    def _forbid_torques(self, bound: Bound, ctx: Context, name: str, layer: str, holds: Array) -> None:
        """Forbid torques above what nodes of a layer hold [N m], where the grip of the ground lets them arise."""
        asked = least_ratio(bound)
        if asked <= 0.0:
            return
        grip = bd.peak_grip_low(ctx, self.model).min(axis=1)
        if layer != "footing":
            grip = np.asarray(grip.min())
        most = holds / asked
        has = np.where(grip <= most, np.inf, most)
        for right, torque in self._torques(ctx):
            self.forbid(f"{name}, {right}", ctx.position, layer, has, right, torque)

    def _torques(self, ctx: Context) -> list[tuple[str, Array]]:
        rows = [("brake", brake_torque(ctx))]
        if ctx.position == self.driven:
            rows.append(("drive", motor_torque(self.model, self.drives)))
        return rows
