"""Physics of one position over a box of masses: lower bounds as terms, and cells in which a limit can be met.

Every function takes loads at the end that favours the bound, by the directions stated in
:mod:`configopt.appraisal.ground`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.forces import LEAST_LOAD
from configopt.appraisal.vehicle import SLIP_LIMIT, VehicleModel
from configopt.choice.checkpoint import checkpoint
from configopt.choice.context import Context, cell_high, cell_low, floor_load
from configopt.choice.rough import roughness_cells
from configopt.choice.terms import Term, chord, staircase
from configopt.physics.grip import slip_for_thrust, slip_loss_force
from configopt.physics.loads import GRAVITY
from configopt.physics.soft_ground import WheelOnSoil

Array = NDArray[np.float64]
#: Slope of the slip loss once slip is held at its limit: i/(1-i).
_SATURATED = SLIP_LIMIT / (1.0 - SLIP_LIMIT)


@dataclass(frozen=True)
class Resistance:
    """Resistance of an axle [N]: lower bound, and lower bound of its negative."""

    low: Term
    minus_high: Term


def soil_state(ctx: Context, ground: on.Ground, load: Array) -> WheelOnSoil | None:
    """Soil state of every footing at the loads of its cells."""
    return on.on_soil(ctx.table, ground, load) if ground.soft else None


def resistance(
    ctx: Context,
    ground: on.Ground,
    *,
    angle: float,
    speed: float | None = None,
    obstacles: bool = True,
    rough: bool = False,
) -> Resistance:
    """Resistance of the axle on a ground and grade [N], with that of its roughness where asked for."""
    checkpoint()
    low_load, high_load = ctx.loads(angle=angle)
    n = ctx.wheels
    c = on.coefficient(ctx.nodes.footings, ground, speed)
    if not ground.soft:
        # c W is affine in each mass; the least of affine corners lies above its chord, the most below its own.
        # Without the clip at zero, which would bend the wrong way and only makes loads larger.  The whole weight, which
        # an axle carries where the other lifts, caps the least load; above, leaving it out only adds.
        least, most, _ = ctx.axle(angle=angle)
        least = np.minimum(least, ctx.least_weight(angle))
        most = np.maximum(most, n * LEAST_LOAD)
        low = chord(ctx.grid, c * least[:, 0], c * least[:, -1])
        minus = chord(ctx.grid, -c * most[:, 0], -c * most[:, -1])
    else:
        low = minus = Term(np.zeros(len(c)), np.zeros(len(c)))
    w_low, w_high = floor_load(cell_low(low_load)), floor_load(cell_high(high_load))
    cells_low, cells_high = np.zeros_like(w_low), np.zeros_like(w_low)
    if ground.soft:
        follows = ctx.position == "rear"
        for cells, load in ((cells_low, w_low), (cells_high, w_high)):
            state = soil_state(ctx, ground, load)
            cells += n * on.rolling_resistance(ctx.table, ground, load, state, c[:, None])
            cells += n * on.soil_resistance(ground, state, load, follows=follows)
    if obstacles and ground.obstacles:
        suspension = getattr(ctx.model.vehicle, ctx.position).suspension
        unsprung = ctx.own_mass / n + float(suspension.unsprung_mass)
        for cells, load, other, mass in (
            (cells_low, w_low, w_high, cell_low(unsprung)),
            (cells_high, w_high, w_low, cell_high(unsprung)),
        ):
            cells += n * on.obstacle_resistance(
                ctx.table,
                ground,
                load,
                unsprung_mass=mass,
                damping=float(suspension.damping),
                suspended=not suspension.rigid,
                residual_load=other,
            )
    rough = rough and ground.figures.roughness > 0.0
    if rough:
        least_lost, most_lost = roughness_cells(ctx, ground, w_low, w_high)
        cells_low += n * least_lost
        cells_high += n * most_lost
    if ground.soft or rough or (obstacles and ground.obstacles):
        low, minus = low + staircase(cells_low), minus + staircase(-cells_high)
    return Resistance(low, minus)


def thrust(ctx: Context, ground: on.Ground, *, angle: float, slip: float) -> Term:
    """Lower bound of minus the thrust of the axle at a slip [N]."""
    _, high_load = ctx.loads(angle=angle)
    load = floor_load(cell_high(high_load))
    return staircase(-ctx.wheels * on.thrust_at_slip(ctx.table, ground, load, soil_state(ctx, ground, load), slip))


def slip_loss(
    ctx: Context, ground: on.Ground, own: Term, *, angle: float, other_least: float, air: float
) -> tuple[Term, Array]:
    """Energy lost in slip [N = J/m] of the driven axle, and its growth per newton of the other axle's resistance.

    ``own`` is this axle's resistance, ``other_least`` the least of the other axle's.  The loss is convex and increasing
    in the thrust (inverse of a concave shear curve times the thrust) up to the slip limit and linear beyond, so the
    slope at the least thrust, at most the linear one, holds from there on.
    """
    _, high_load = ctx.loads(angle=angle)
    load = floor_load(cell_high(high_load))
    state = soil_state(ctx, ground, load)
    assert state is not None
    resisted = own.base[:, None] + np.minimum(
        own.slope[:, None] * ctx.grid[:, :-1], own.slope[:, None] * ctx.grid[:, 1:]
    )
    resisted = resisted + (own.cells if own.cells is not None else 0.0)
    mass_low, mass_high = ctx.total_mass()
    sine = np.sin(angle)
    grade = GRAVITY * sine * (cell_low(mass_low) if sine > 0 else cell_high(mass_high))
    need = np.maximum(resisted + other_least + grade + air, 0.0)
    k = ground.figures.shear_modulus
    ceiling = on.thrust_ceiling(ctx.table, ground, load, state)
    slip, _ = slip_for_thrust(
        need / ctx.wheels, maximum_thrust=ceiling, length=state.patch_length, shear_modulus=k, slip_limit=SLIP_LIMIT
    )
    loss = slip_loss_force(need, slip=slip)
    u = np.maximum(slip * state.patch_length / k, 1e-6)
    # Derivative of 1-(1-exp(-u))/u; its series 1/2 - u/3 near zero.
    rate = np.where(u < 1e-3, 0.5 - u / 3.0, (1.0 - np.exp(-u) * (1.0 + u)) / u**2)
    growth = k / (state.patch_length * ceiling * ctx.wheels * rate)
    slope = slip / (1.0 - slip) + need / (1.0 - slip) ** 2 * growth
    slope = np.where(need > 0.0, np.minimum(slope, _SATURATED), 0.0)
    return staircase(loss), slope.min(axis=1)


def grip_torque_low(ctx: Context, ground: on.Ground, low: Array, high: Array) -> Array:
    """Least torque at which one wheel slides [N m], for loads between ``low`` and ``high`` per cell."""
    f = ctx.table
    return np.asarray(on.grip_force(f, ground, floor_load(low)) * on.loaded_radius(f, floor_load(high)))


def dynamic_loads(ctx: Context, ground: on.Ground) -> tuple[Array, Array]:
    """Least and most load of a wheel at the grip limit [N] per cell, as the full model defines it."""
    static_low, static_high = ctx.loads()
    low, high = floor_load(cell_low(static_low)), floor_load(cell_high(static_high))
    # Friction over load falls with load (exponent at most 1).
    used_low = on.grip_force(ctx.table, ground, high) / high * GRAVITY
    used_high = on.grip_force(ctx.table, ground, low) / low * GRAVITY
    if ctx.position == "front":
        return ctx.braked_loads(used_low, used_high)
    return ctx.braked_loads(-used_high, -used_low)


def peak_grip_low(ctx: Context, model: VehicleModel) -> Array:
    """Least torque at which one wheel slides on the grippiest ground [N m], per cell."""
    if "peak grip" not in ctx.cache:
        values = []
        for ground in {ground.surface.id: ground for ground in model.grounds.values()}.values():
            low, high = dynamic_loads(ctx, ground)
            values.append(grip_torque_low(ctx, ground, low, high))
        ctx.cache["peak grip"] = np.max(values, axis=0)
    peak: Array = ctx.cache["peak grip"]
    return peak


def static_cells(ctx: Context) -> tuple[Array, Array]:
    """Least and most static load of one wheel [N] per cell."""
    low, high = ctx.loads()
    return floor_load(cell_low(low)), floor_load(cell_high(high))


def leg_cells(ctx: Context, angle: float) -> tuple[Array, Array]:
    """Least and most load of one wheel on a grade [N] per cell."""
    low, high = ctx.loads(angle=angle)
    return floor_load(cell_low(low)), floor_load(cell_high(high))


def radius_cells(ctx: Context) -> tuple[Array, Array]:
    """Least and most loaded radius [m] per cell."""
    low, high = static_cells(ctx)
    return on.loaded_radius(ctx.table, high), on.loaded_radius(ctx.table, low)
