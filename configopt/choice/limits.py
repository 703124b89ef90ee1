"""Limits of single parts as bounds: cells of rest mass a footing may use, and nodes that can never meet a limit."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.braking import on_spokes
from configopt.appraisal.contact import ROWLAND_HALF_DRIVEN
from configopt.appraisal.spoked import MOST_MARGIN
from configopt.appraisal.vehicle import (
    BOGGED_SHARE,
    Bound,
    VehicleModel,
)
from configopt.catalog.records import Position
from configopt.choice import bounds as bd
from configopt.choice.checkpoint import checkpoint
from configopt.choice.context import Context, Integers, cell_low
from configopt.choice.rough import least_contact
from configopt.physics.chassis import standstill_steering_moment
from configopt.physics.obstacles import step_limit_height
from configopt.physics.tire import patch_area
from configopt.physics.vehicle_cone_index import rowland_wheel_pressure
from configopt.scenario.limits import ROUGH_RIDE

Array = NDArray[np.float64]


def least_ratio(bound: Bound) -> float:
    """Least value that meets a bound from below, with the slack of :func:`can_meet`."""
    return bound.relaxed - _slack(bound)


def _slack(bound: Bound) -> float:
    return 1e-7 * max(abs(bound.required), 1e-12)


def can_meet(bound: Bound, favourable: Array) -> NDArray[np.bool_]:
    """Whether the most favourable value meets the bound, with a little more slack than the full model gives."""
    slack = _slack(bound)
    if bound.at_least:
        return np.asarray(favourable >= bound.relaxed - slack)
    return np.asarray(favourable <= bound.relaxed + slack)


def strongest_torque(ctx: Context, drives: Integers, brake_torque: Array) -> Array:
    """Largest torque one wheel can be given [N m]: brake, and motor where driven; least over what is still possible."""
    model = ctx.model
    least = float(brake_torque.min())
    if ctx.position == model.vehicle.drive.driven:
        least = max(least, float(motor_torque(model, drives).min()))
    return np.asarray(least)


def motor_torque(model: VehicleModel, drives: Integers) -> Array:
    """Peak motor torque per driven wheel for each final drive [N m]."""
    drive = model.vehicle.drive
    torque = float(drive.motor_torque) * model.ratios[drives] * float(drive.drive_efficiency)
    return np.asarray(torque / model.wheels(drive.driven))


def brake_torque(ctx: Context) -> Array:
    """Brake torque per wheel for each brake node [N m]."""
    model = ctx.model
    share = model.rotors(ctx.position) / model.wheels(ctx.position)
    return np.asarray(ctx.nodes.tables.brakes.torque[ctx.nodes.brake] * share)


def favourable_value(ctx: Context, bound: Bound) -> Array | None:
    """Most favourable value of a limit of one footing per cell [SI], or ``None`` if it depends on more than that."""
    model, key, f = ctx.model, bound.limit.key, ctx.table
    low, high = bd.static_cells(ctx)
    if key in ("relative_deflection", "least_relative_deflection"):
        return np.asarray(on.firm_deflection(f, high if bound.at_least else low) / f.section_height)
    if key == "tire_load":
        return np.asarray(f.maximum_load / low)
    if key == "unsprung_mass":
        suspension = getattr(model.vehicle, ctx.position).suspension
        return np.asarray(cell_low(ctx.own_mass) / ctx.wheels + float(suspension.unsprung_mass))
    if key == "steering_moment" and ctx.position == "front":
        area = patch_area(on.firm_deflection(f, low), width=f.width, diameter=f.diameter)
        # Friction over load falls with load.
        mu = np.max([on.grip_force(f, g, high) / high for g in model.grounds.values()], axis=0)
        return np.asarray(ctx.wheels * standstill_steering_moment(low, friction=mu, patch_area=area))
    if key == "puncture_protection":
        return np.broadcast_to(f.protection, low.shape)
    if key == "lateral_stiffness":
        return on.lateral_stiffness(f, low)
    if key == "strike_margin":
        suspension = getattr(model.vehicle, ctx.position).suspension
        return on.strike_margin(
            f,
            model.grounds[str(bound.terrain)],
            low,
            flange_height=float(ctx.nodes.tables.wheels.flange_height[ctx.nodes.wheel].min()),
            unsprung_mass=cell_low(ctx.own_mass) / ctx.wheels + float(suspension.unsprung_mass),
            suspended=not suspension.rigid,
            residual_load=high,
        )
    if key == "side_slope":
        ground = model.grounds[str(bound.terrain)]
        # What holds over the load falls with load, on firm ground as on soil.
        return np.asarray(on.thrust_ceiling(f, ground, low, bd.soil_state(ctx, ground, low)) / low)
    if key == "step_height" and ctx.position == model.vehicle.drive.driven:
        mu = on.grip_force(f, model.grounds[str(bound.terrain)], low) / low
        return step_limit_height(f.radius, friction=mu)
    if key == "mean_maximum_pressure":
        wheels = model.wheels("front") + model.wheels("rear")
        sag = on.firm_deflection(f, low) / f.section_height
        return rowland_wheel_pressure(
            low * wheels,
            axle_factor=ROWLAND_HALF_DRIVEN,
            wheels=wheels,
            width=f.width,
            diameter=f.diameter,
            deflection_ratio=np.clip(sag, 1e-3, 1.0),
        )
    if key in ROUGH_RIDE:
        legs = [leg for leg in model.legs if leg.terrain.name == bound.terrain]
        calm = [least_contact(ctx, leg.ground, *bd.leg_cells(ctx, leg.angle), key) for leg in legs]
        return np.asarray(np.max(calm, axis=0))
    if key in ("ground_pressure", "sinkage", "sinkage_over_passable"):
        values = []
        for leg in model.legs:
            if leg.terrain.name != bound.terrain:
                continue
            load, _ = bd.leg_cells(ctx, leg.angle)
            state = bd.soil_state(ctx, leg.ground, load)
            if key == "ground_pressure":
                values.append(on.ground_pressure(f, load, state))
            else:
                assert state is not None
                values.append(state.sinkage)
        worst = np.max(values, axis=0)
        if key == "sinkage_over_passable":
            bogged = np.minimum(BOGGED_SHARE * f.diameter, _clearance_most(ctx))
            return np.asarray(bogged / np.maximum(worst, bogged / 1000.0))
        return np.asarray(worst)
    return None


def _clearance_most(ctx: Context) -> Array:
    """Largest ground clearance per cell [m]."""
    vehicle = ctx.model.vehicle
    _, own = bd.radius_cells(ctx)
    other = vehicle.rear if ctx.position == "front" else vehicle.front
    axle = getattr(vehicle, ctx.position)
    change = own - float(axle.reference_radius) + ctx.other_radius[1] - float(other.reference_radius)
    return np.maximum(float(vehicle.ground_clearance) + 0.5 * change, 1e-3)


def allowed_cells(
    ctx: Context,
    drives: Integers,
    counts: Counter[str],
    among: NDArray[np.bool_] | None = None,
    known: dict[tuple[str, str | None], Array | None] | None = None,
) -> NDArray[np.bool_]:
    """Cells of rest mass in which each footing can meet the limits that are its own; of some cells, where given.

    ``known`` keeps most favourable values, by limit and terrain, for other bounds on them in the same context.
    """
    allowed = np.ones((len(ctx.nodes.footing), ctx.grid.shape[1] - 1), dtype=bool) if among is None else among.copy()
    torque = brake_torque(ctx)
    for bound in ctx.model.bounds:
        if bound.position not in (None, ctx.position):
            continue
        checkpoint()
        if bound.limit.key == "creep_margin":
            peak = np.minimum(bd.peak_grip_low(ctx, ctx.model), strongest_torque(ctx, drives, torque))
            can = can_meet(bound, ctx.table.bead_torque / peak)
        else:
            scope = bound.limit.key, bound.terrain
            value = known[scope] if known is not None and scope in known else favourable_value(ctx, bound)
            if known is not None:
                known[scope] = value
            if value is None:
                continue
            can = can_meet(bound, value)
        before = allowed.any(axis=1)
        allowed &= can
        lost = int((before & ~allowed.any(axis=1)).sum())
        if lost:
            counts[f"{ctx.position} footings: {_where(bound)}"] += lost
    return allowed


def _where(bound: Bound) -> str:
    return bound.limit.wording + (f" on {bound.terrain}" if bound.terrain else "")


def allowed_wheels(
    ctx: Context, drives: Integers, counts: Counter[str], among: NDArray[np.bool_] | None = None
) -> NDArray[np.bool_]:
    """Wheels that can meet the limits that are their own: load, and hub torque at the least peak torque."""
    allowed = np.ones(len(ctx.nodes.wheel), dtype=bool) if among is None else among.copy()
    wheels = ctx.nodes.tables.wheels
    low, _ = bd.static_cells(ctx)
    for bound in ctx.model.bounds:
        if bound.position != ctx.position:
            continue
        if bound.limit.key == "wheel_load":
            can = can_meet(bound, wheels.maximum_load[ctx.nodes.wheel] / low.min())
        elif bound.limit.key == "hub_torque_margin":
            grip = float(bd.peak_grip_low(ctx, ctx.model).min())
            peak = min(grip, float(strongest_torque(ctx, drives, brake_torque(ctx))))
            can = can_meet(bound, wheels.hub_torque[ctx.nodes.wheel] / peak)
        elif bound.limit.key == "spoke_reserve":
            grip = float(bd.peak_grip_low(ctx, ctx.model).min())
            peak = min(grip, float(strongest_torque(ctx, drives, brake_torque(ctx))))
            by_load = wheels.slack_load[ctx.nodes.wheel] / low.min()
            by_torque = wheels.slack_torque[ctx.nodes.wheel] / peak
            can = can_meet(bound, np.minimum(np.minimum(by_load, by_torque), MOST_MARGIN))
        elif bound.limit.key == "spoke_stress_reserve":
            can = can_meet(bound, on_spokes(wheels.take(ctx.nodes.wheel), np.asarray(low.min())))
        elif bound.limit.key == "wheel_lateral_stiffness":
            can = can_meet(bound, wheels.lateral_stiffness[ctx.nodes.wheel])
        else:
            continue
        lost = int((allowed & ~can).sum())
        if lost:
            counts[f"{ctx.position} wheels: {_where(bound)}"] += lost
        allowed &= can
    return allowed


def allowed_drives(made: dict[Position, Context], drives: Integers, counts: Counter[str]) -> Integers:
    """Final drives that some footing lets meet the top speed."""
    ctx = made[next(iter(made.values())).model.vehicle.drive.driven]
    good = np.ones(drives.size, dtype=bool)
    for bound in ctx.model.bounds:
        if bound.limit.key == "top_speed":
            can = can_meet(bound, top_speed_most(ctx, drives).max(axis=0))
            if (~can).any():
                counts[f"final drives: {_where(bound)}"] += int((~can).sum())
            good &= can
    return drives[good]


def top_speed_most(ctx: Context, drives: Integers) -> Array:
    """Largest top speed [m/s] per footing and drive."""
    _, radius = bd.radius_cells(ctx)
    fastest = float(ctx.model.vehicle.drive.motor_speed_max) / ctx.model.ratios[drives]
    return np.asarray(radius.max(axis=1)[:, None] * fastest)
