"""Single obstacles: attack angle, what the tire swallows, the energy of a strike, and steps climbed from rest."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require


def _require_height(height: ArrayLike, name: str = "height") -> Array:
    return require(name, height, unit="m", low=0.0, high=10.0)


def _require_radius(radius: ArrayLike) -> Array:
    return require("radius", radius, unit="m", above=0.0, high=2.5)


def attack_angle(height: ArrayLike, *, radius: ArrayLike) -> Array:
    """Angle at the axle between the vertical and the edge of an obstacle [rad].

    Parameters
    ----------
    height : height of the edge above the ground h [m], any shape, >= 0
    radius : wheel radius R [m]

    Returns
    -------
    Array
        theta with cos theta = 1 - h/R; a right angle where the obstacle reaches the axle or stands higher.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    Geometry of a circle on a step.

    >>> round(float(np.degrees(attack_angle(0.05, radius=0.345))), 2)
    31.23
    """
    ratio = _require_height(height) / _require_radius(radius)
    # The haversine form stays accurate for flat obstacles, where arccos(1 - h/R) loses half its digits.
    angle: Array = 2.0 * np.arcsin(np.sqrt(0.5 * np.minimum(ratio, 1.0)))
    return angle


def enveloped_height(
    height: ArrayLike,
    *,
    deflection_at_double_load: ArrayLike,
    deflection: ArrayLike,
    factor: ArrayLike = 1.0,
) -> Array:
    """Part of an obstacle's height that the casing swallows without lifting the axle [m].

    Parameters
    ----------
    height : h [m], any shape, >= 0
    deflection_at_double_load : static deflection under twice the wheel load [m]
    deflection : static deflection under the wheel load [m]
    factor : share of the reserve that counts [1], an estimate, range 0.5 to 1.5

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the tire would be shorter under more load.

    Notes
    -----
    min(h, factor (d(2W) - d(W))): an estimate.

    >>> round(float(enveloped_height(0.05, deflection_at_double_load=0.024, deflection=0.015)), 4)
    0.009
    """
    h = _require_height(height)
    double = require("deflection_at_double_load", deflection_at_double_load, unit="m", low=0.0, high=2.5)
    single = require("deflection", deflection, unit="m", low=0.0, high=2.5)
    reserve = require("deflection_at_double_load - deflection", double - single, unit="m", low=0.0)
    return np.minimum(h, require("factor", factor, unit="1", low=0.0, high=3.0) * reserve)


def residual_height(height: ArrayLike, *, enveloped: ArrayLike) -> Array:
    """Height of the obstacle that still lifts the axle: h minus the enveloped part, never below zero [m].

    Parameters
    ----------
    height : h [m], any shape, >= 0
    enveloped : part that the casing swallows [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> round(float(residual_height(0.05, enveloped=0.009)), 3)
    0.041
    """
    return np.maximum(_require_height(height) - _require_height(enveloped, "enveloped"), 0.0)


def impact_loss_fraction(residual: ArrayLike, *, radius: ArrayLike) -> Array:
    """Share of the kinetic energy lost when a rigid wheel meets an edge without rebound [1].

    Parameters
    ----------
    residual : height of the edge that remains after enveloping h_e [m], any shape, >= 0
    radius : wheel radius R [m]

    Returns
    -------
    Array
        1 - (1 - h_e/R)^2 = 2 h_e/R - (h_e/R)^2; one where the edge reaches the axle or stands higher.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Conservation of angular momentum about the edge, the moving mass at the axle, no wheel inertia: an upper bound.

    >>> round(float(impact_loss_fraction(0.05, radius=0.345)), 3)
    0.269
    """
    ratio = np.minimum(_require_height(residual, "residual") / _require_radius(radius), 1.0)
    fraction: Array = ratio * (2.0 - ratio)
    return fraction


def strike_energy(
    height: ArrayLike,
    *,
    residual: ArrayLike,
    radius: ArrayLike,
    load: ArrayLike,
    unsprung_mass: ArrayLike,
    speed: ArrayLike,
    damping: ArrayLike,
    suspended: ArrayLike,
) -> Array:
    """Energy that one obstacle takes from the vehicle at one wheel [J].

    Parameters
    ----------
    height : full height of the obstacle h [m], any shape, >= 0
    residual : height that remains after enveloping h_e [m], at most h
    radius : wheel radius R [m]
    load : wheel load W [N]
    unsprung_mass : m_u at this wheel [kg]
    speed : V [m/s]
    damping : suspension damping at the wheel c_s [N s/m]; without effect where there is no suspension
    suspended : whether the wheel is sprung, bool

    Returns
    -------
    Array
        Energy per strike.

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the residual exceeds the height.

    Notes
    -----
    Impact of the unsprung mass, 1/2 m_u V^2 (2 h_e/R - (h_e/R)^2), plus the damper's work over a half-sine path,
    pi^2 c_s V h_e^2/(2 L) with L = 2 sqrt(2 R h_e - h_e^2) (own derivation); together at most the lift and the whole
    impact of the load, W h_e + 1/2 (W/g) V^2 sin^2 theta.  Without suspension the moving mass is W/g and no damper
    works.  Beyond the axle's height L keeps its value 2 R.

    >>> round(float(strike_energy(0.05, residual=0.041, radius=0.345, load=800.0, unsprung_mass=12.0, speed=6.0,
    ...                           damping=600.0, suspended=True)), 1)
    139.8
    """
    h = _require_height(height)
    he = _require_height(residual, "residual")
    require("height - residual", h - he, unit="m", low=0.0)
    r = _require_radius(radius)
    w = require("load", load, unit="N", low=0.0, high=1e6)
    mu = require("unsprung_mass", unsprung_mass, unit="kg", low=0.0, high=1e4)
    v = require("speed", speed, unit="m/s", low=0.0, high=150.0)
    c = require("damping", damping, unit="N s/m", low=0.0, high=1e6)
    sprung = np.asarray(suspended, dtype=bool)

    square = v * v
    impact = 0.5 * np.where(sprung, mu, w / STANDARD_GRAVITY) * square * impact_loss_fraction(he, radius=r)
    inside = np.minimum(he, r)
    # h_e^2/sqrt(2 R h_e - h_e^2), written so that it is 0 and not 0/0 at a fully enveloped obstacle.
    path = he * np.maximum(he / r, 1.0) * np.sqrt(inside / (2.0 * r - inside))
    damper = np.where(sprung, 0.25 * np.pi**2 * c * v * path, 0.0)
    ceiling = w * he + 0.5 * (w / STANDARD_GRAVITY) * square * impact_loss_fraction(h, radius=r)
    return np.minimum(impact + damper, ceiling)


def free_travel(section_height: ArrayLike, *, flange_height: ArrayLike, casing_thickness: ArrayLike) -> Array:
    """Deflection at which the casing is pinched between the obstacle and the rim flange [m], never below zero.

    Parameters
    ----------
    section_height : H [m], any shape
    flange_height : height of the rim flange above the bead seat [m]
    casing_thickness : thickness of one wall of the casing [m]; two lie between rim and obstacle

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> round(float(free_travel(0.080, flange_height=0.012, casing_thickness=0.003)), 3)
    0.062
    """
    h = require("section_height", section_height, unit="m", above=0.0, high=1.0)
    flange = require("flange_height", flange_height, unit="m", low=0.0, high=1.0)
    wall = require("casing_thickness", casing_thickness, unit="m", low=0.0, high=0.5)
    return np.maximum(h - flange - 2.0 * wall, 0.0)


def strike_capacity(work: ArrayLike, *, edge_share: ArrayLike = 0.5) -> Array:
    """Energy that the tire takes up on an edge before the rim strikes [J].

    Parameters
    ----------
    work : integral of the flat-plane force over the free travel [J], any shape
    edge_share : share that an edge mobilises [1]; an estimate, range 0.3 to 0.7 for an edge

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> float(strike_capacity(100.0))
    50.0
    """
    share = require("edge_share", edge_share, unit="1", low=0.0, high=1.0)
    return require("work", work, unit="J", low=0.0, high=1e6) * share


def strike_demand(
    residual: ArrayLike,
    *,
    radius: ArrayLike,
    unsprung_mass: ArrayLike,
    speed: ArrayLike,
    load: ArrayLike,
    free_travel: ArrayLike,
    suspended: ArrayLike,
) -> Array:
    """Energy that an edge asks of the tire before the rim strikes [J].

    Parameters
    ----------
    residual : height of the edge that remains after enveloping h_e [m], any shape
    radius : wheel radius R [m]
    unsprung_mass : m_u [kg]; without effect where there is no suspension
    speed : V [m/s]
    load : wheel load W [N]
    free_travel : deflection at which the rim strikes d_free [m]
    suspended : whether the wheel is sprung, bool

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    1/2 m_u (V sin theta)^2 + W min(h_e, d_free) with cos theta = 1 - h_e/R (own derivation): the load works over what
    the edge presses in beyond what the tire swallows, so an edge that is swallowed whole asks nothing.  Without
    suspension the moving mass is W/g.

    >>> round(float(strike_demand(0.04, radius=0.345, unsprung_mass=12.0, speed=6.0, load=800.0, free_travel=0.06,
    ...                           suspended=True)), 1)
    79.2
    """
    unsprung = require("unsprung_mass", unsprung_mass, unit="kg", low=0.0, high=1e4)
    v = require("speed", speed, unit="m/s", low=0.0, high=150.0)
    w = require("load", load, unit="N", low=0.0, high=1e6)
    travel = require("free_travel", free_travel, unit="m", low=0.0, high=1.0)
    mass = np.where(np.asarray(suspended, dtype=bool), unsprung, w / STANDARD_GRAVITY)
    impact = 0.5 * mass * v * v * impact_loss_fraction(residual, radius=radius)
    demand: Array = impact + w * np.minimum(_require_height(residual, "residual"), travel)
    return demand


def step_limit_height(radius: ArrayLike, *, friction: ArrayLike) -> Array:
    """Highest step that a driven wheel under a vertical axle load climbs from rest by its own grip [m].

    Parameters
    ----------
    radius : R [m], any shape
    friction : coefficient between tire and edge [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    h/R <= 1 - 1/sqrt(1 + mu^2): the contact force stays inside the friction cone.  Rigid wheel, nothing pushes.

    References
    ----------
    Statics.

    >>> round(float(step_limit_height(1.0, friction=0.6)), 4)
    0.1425
    """
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    height: Array = _require_radius(radius) * (1.0 - 1.0 / np.sqrt(1.0 + mu * mu))
    return height


def _require_step(load: ArrayLike, *, radius: ArrayLike, height: ArrayLike, share: float) -> tuple[Array, Array, Array]:
    w = require("load", load, unit="N", low=0.0, high=1e6)
    r = _require_radius(radius)
    h = _require_height(height)
    require("radius - height", share * r - h, unit="m", above=0.0)
    return w, r, h


def step_axle_force(load: ArrayLike, *, radius: ArrayLike, height: ArrayLike) -> Array:
    """Horizontal force at the axle that lifts a resting wheel over a step [N].

    Parameters
    ----------
    load : weight on the wheel W [N], any shape
    radius : R [m]
    height : of the step h [m], below R

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the step reaches the axle.

    Notes
    -----
    F = W sqrt(2 R h - h^2)/(R - h).  Rigid wheel at rest.

    References
    ----------
    H. D. Young, R. A. Freedman, "University Physics", 11th ed. 2004, problem 11.72.

    >>> round(float(step_axle_force(7.84, radius=0.06, height=0.03)), 1)
    13.6
    """
    w, r, h = _require_step(load, radius=radius, height=height, share=1.0)
    force: Array = w * np.sqrt(h * (2.0 * r - h)) / (r - h)
    return force


def step_top_force(load: ArrayLike, *, radius: ArrayLike, height: ArrayLike) -> Array:
    """Horizontal force at the top of the wheel that lifts a resting wheel over a step [N].

    Parameters
    ----------
    load : weight on the wheel W [N], any shape
    radius : R [m]
    height : of the step h [m], below 2 R

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the step reaches the top.

    Notes
    -----
    F = W sqrt(2 R h - h^2)/(2 R - h).  Rigid wheel at rest.

    References
    ----------
    H. D. Young, R. A. Freedman, "University Physics", 11th ed. 2004, problem 11.72.

    >>> round(float(step_top_force(7.84, radius=0.06, height=0.03)), 2)
    4.53
    """
    w, r, h = _require_step(load, radius=radius, height=height, share=2.0)
    force: Array = w * np.sqrt(h / (2.0 * r - h))
    return force
