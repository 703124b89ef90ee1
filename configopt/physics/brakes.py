"""Disc brakes from lever to torque.

The two neighbours of this module, load transfer under braking and the regulations, are reachable from here as well.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.brake_balance import (
    fixed_share_deceleration,
    front_only_deceleration,
    ideal_front_share,
    lift_off_deceleration,
    rear_only_deceleration,
)
from configopt.physics.domain import Array, require
from configopt.physics.statutory import (
    STATUTORY_ROWS,
    StatutoryRow,
    equivalent_deceleration,
    mean_developed_deceleration,
    statutory_row,
    stopping_distance,
)

__all__ = [
    "STATUTORY_ROWS",
    "StatutoryRow",
    "annular_pad_force",
    "annular_pad_torque",
    "brake_torque",
    "clamp_force",
    "effective_radius_uniform_pressure",
    "effective_radius_uniform_wear",
    "equivalent_deceleration",
    "fixed_share_deceleration",
    "front_only_deceleration",
    "ideal_front_share",
    "lift_off_deceleration",
    "line_pressure",
    "mean_developed_deceleration",
    "pad_force_radius",
    "pad_pressure",
    "rear_only_deceleration",
    "required_clamp_force",
    "statutory_row",
    "stopping_distance",
]


def _ring(outer: ArrayLike, inner: ArrayLike) -> tuple[Array, Array]:
    """Return both radii checked; the inner one may reach the outer one (a line of contact)."""
    ro = require("outer", outer, unit="m", above=0.0)
    ri = require("inner", inner, unit="m", low=0.0)
    require("outer - inner", ro - ri, unit="m", low=0.0)
    return ro, ri


def effective_radius_uniform_wear(outer: ArrayLike, inner: ArrayLike) -> Array:
    """Radius at which the friction force of a worn-in pad acts.

    Parameters
    ----------
    outer : outer radius of the pad track [m]
    inner : inner radius of the pad track [m], not above ``outer``

    Returns
    -------
    effective radius [m], broadcast shape

    Raises
    ------
    DomainError
        Radii not positive, or inner above outer.

    Notes
    -----
    r_e = (r_o + r_i)/2, from the pressure law p = p_a r_i/r of uniform wear.

    References
    ----------
    Shigley's Mechanical Engineering Design, 8th ed., section 16-6 (from memory).

    >>> round(float(effective_radius_uniform_wear(0.100, 0.085)), 4)
    0.0925
    """
    ro, ri = _ring(outer, inner)
    return np.asarray(0.5 * (ro + ri))


def effective_radius_uniform_pressure(outer: ArrayLike, inner: ArrayLike) -> Array:
    """Radius at which the friction force of a new pad acts.

    Parameters
    ----------
    outer : outer radius of the pad track [m]
    inner : inner radius of the pad track [m], not above ``outer``

    Returns
    -------
    effective radius [m], broadcast shape; never below the uniform-wear value

    Raises
    ------
    DomainError
        Radii not positive, or inner above outer.

    Notes
    -----
    r_e = (2/3)(r_o^3 - r_i^3)/(r_o^2 - r_i^2), written without the common factor r_o - r_i so that r_i = r_o works.

    References
    ----------
    Shigley's Mechanical Engineering Design, 8th ed., section 16-6 (from memory).

    >>> round(float(effective_radius_uniform_pressure(0.100, 0.085)), 4)
    0.0927
    """
    ro, ri = _ring(outer, inner)
    return np.asarray(2.0 / 3.0 * (ro * ro + ro * ri + ri * ri) / (ro + ri))


def line_pressure(hand_force: ArrayLike, *, lever_ratio: ArrayLike, master_diameter: ArrayLike) -> Array:
    """Hydraulic line pressure from the force on the lever.

    Parameters
    ----------
    hand_force : force on the lever [N]
    lever_ratio : lever travel over piston travel [1], 4 to 7 in practice
    master_diameter : diameter of the master piston [m]

    Returns
    -------
    pressure [Pa], broadcast shape

    Raises
    ------
    DomainError
        Negative force, or ratio or diameter not above zero.

    Notes
    -----
    p = F i/(pi d^2/4); losses in the lever and seals are left out.

    References
    ----------
    R. Limpert, Brake Design and Safety, hydraulic brake system chapter (from memory).

    >>> round(float(line_pressure(100.0, lever_ratio=6.0, master_diameter=0.011)) / 1e6, 3)
    6.314
    """
    force = require("hand_force", hand_force, unit="N", low=0.0)
    ratio = require("lever_ratio", lever_ratio, unit="1", above=0.0)
    d = require("master_diameter", master_diameter, unit="m", above=0.0)
    return np.asarray(force * ratio / (0.25 * np.pi * d * d))


def clamp_force(line_pressure: ArrayLike, *, piston_diameter: ArrayLike, pistons_per_side: ArrayLike) -> Array:
    """Force with which each pad is pressed against the rotor.

    Parameters
    ----------
    line_pressure : hydraulic pressure [Pa]
    piston_diameter : diameter of one caliper piston [m]
    pistons_per_side : pistons on ONE side of the rotor [1]; the other side reacts and adds nothing

    Returns
    -------
    clamp force N [N], broadcast shape

    Raises
    ------
    DomainError
        Negative pressure, diameter not above zero, fewer than one piston.

    Notes
    -----
    N = p n pi d^2/4.

    References
    ----------
    R. Limpert, Brake Design and Safety, hydraulic brake system chapter (from memory).

    >>> round(float(clamp_force(6.314e6, piston_diameter=0.025, pistons_per_side=1)))
    3099
    """
    pressure = require("line_pressure", line_pressure, unit="Pa", low=0.0)
    d = require("piston_diameter", piston_diameter, unit="m", above=0.0)
    count = require("pistons_per_side", pistons_per_side, unit="1", low=1.0)
    return np.asarray(pressure * count * 0.25 * np.pi * d * d)


def pad_pressure(clamp_force: ArrayLike, *, pad_area: ArrayLike) -> Array:
    """Mean pressure between pad and rotor.

    Parameters
    ----------
    clamp_force : force on one pad [N]
    pad_area : friction area of one pad [m^2]

    Returns
    -------
    pressure [Pa], broadcast shape

    Raises
    ------
    DomainError
        Negative force or area not above zero.

    Notes
    -----
    p = N/A.  Compare with the working pressures of `configopt.physics.materials.PAD_MATERIALS`: calipers of light
    machines exceed the handbook values, so this is a warning and never a limit.

    >>> round(float(pad_pressure(3099.0, pad_area=0.040 * 0.015)) / 1e6, 2)
    5.17
    """
    force = require("clamp_force", clamp_force, unit="N", low=0.0)
    area = require("pad_area", pad_area, unit="m^2", above=0.0)
    return np.asarray(force / area)


def brake_torque(friction: ArrayLike, *, clamp_force: ArrayLike, effective_radius: ArrayLike) -> Array:
    """Torque of a disc brake with one pad on each side.

    Parameters
    ----------
    friction : coefficient between pad and rotor [1]
    clamp_force : force on each pad [N]
    effective_radius : radius at which friction acts [m]

    Returns
    -------
    torque [N m], broadcast shape

    Raises
    ------
    DomainError
        Friction outside 0 to 3, negative force, radius not above zero.

    Notes
    -----
    T = 2 mu N r_e.

    References
    ----------
    R. Limpert, Brake Design and Safety, disc brake analysis (from memory).

    >>> round(float(brake_torque(0.40, clamp_force=3099.0, effective_radius=0.0925)), 1)
    229.3
    """
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    force = require("clamp_force", clamp_force, unit="N", low=0.0)
    radius = require("effective_radius", effective_radius, unit="m", above=0.0)
    return np.asarray(2.0 * mu * force * radius)


def required_clamp_force(torque: ArrayLike, *, friction: ArrayLike, effective_radius: ArrayLike) -> Array:
    """Clamp force for a wanted torque: the inverse of :func:`brake_torque`.

    Parameters
    ----------
    torque : wanted brake torque [N m]
    friction : coefficient between pad and rotor [1]
    effective_radius : radius at which friction acts [m]

    Returns
    -------
    force on each pad [N], broadcast shape

    Raises
    ------
    DomainError
        Negative torque, friction or radius not above zero.

    >>> round(float(required_clamp_force(250.8, friction=0.40, effective_radius=0.0925)))
    3389
    """
    moment = require("torque", torque, unit="N m", low=0.0)
    mu = require("friction", friction, unit="1", above=0.0, high=3.0)
    radius = require("effective_radius", effective_radius, unit="m", above=0.0)
    return np.asarray(moment / (2.0 * mu * radius))


def annular_pad_force(peak_pressure: ArrayLike, *, outer: ArrayLike, inner: ArrayLike, angle: ArrayLike) -> Array:
    """Clamp force that a worn-in annular pad carries at a given highest pressure.

    Parameters
    ----------
    peak_pressure : pressure at the inner edge [Pa], where uniform wear puts the maximum
    outer, inner : radii of the pad [m]
    angle : angle that the pad spans [rad]

    Returns
    -------
    force [N], broadcast shape

    Raises
    ------
    DomainError
        Negative pressure, bad radii, angle outside 0 to 2 pi.

    Notes
    -----
    F = theta p_a r_i (r_o - r_i).  The inverse use, p_a from F, shows how far the inner edge exceeds the mean pressure.

    References
    ----------
    Shigley's Mechanical Engineering Design, 8th ed., eq 16-33 (from memory).
    """
    pressure = require("peak_pressure", peak_pressure, unit="Pa", low=0.0)
    ro, ri = _ring(outer, inner)
    theta = require("angle", angle, unit="rad", above=0.0, high=2.0 * np.pi)
    return np.asarray(theta * pressure * ri * (ro - ri))


def annular_pad_torque(
    friction: ArrayLike, *, peak_pressure: ArrayLike, outer: ArrayLike, inner: ArrayLike, angle: ArrayLike
) -> Array:
    """Torque of ONE worn-in annular pad at a given highest pressure.

    Parameters
    ----------
    friction : coefficient between pad and rotor [1]
    peak_pressure : pressure at the inner edge [Pa]
    outer, inner : radii of the pad [m]
    angle : angle that the pad spans [rad]

    Returns
    -------
    torque of one pad [N m], broadcast shape

    Raises
    ------
    DomainError
        As :func:`annular_pad_force`, or friction outside 0 to 3.

    Notes
    -----
    T = (1/2) theta f p_a r_i (r_o^2 - r_i^2): the force of one pad times f times the uniform-wear radius.

    References
    ----------
    Shigley's Mechanical Engineering Design, 8th ed., eq 16-34 (from memory).
    """
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    force = annular_pad_force(peak_pressure, outer=outer, inner=inner, angle=angle)
    return np.asarray(mu * force * effective_radius_uniform_wear(outer, inner))


def pad_force_radius(effective_radius: ArrayLike, *, angle: ArrayLike) -> Array:
    """Distance from the axle at which the piston should press on an annular pad.

    Parameters
    ----------
    effective_radius : radius at which friction acts [m]
    angle : angle that the pad spans [rad]

    Returns
    -------
    radius of the pressing force [m], broadcast shape; smaller than ``effective_radius`` for a wide pad

    Raises
    ------
    DomainError
        Radius not above zero, angle outside 0 to 2 pi.

    Notes
    -----
    r_bar = r_e (2/theta) sin(theta/2): the balance of moments about the chord through the axle.

    References
    ----------
    Shigley's Mechanical Engineering Design, 8th ed., section 16-6, for a pad symmetric about its centre
    line (from memory).
    """
    radius = require("effective_radius", effective_radius, unit="m", above=0.0)
    theta = require("angle", angle, unit="rad", above=0.0, high=2.0 * np.pi)
    return np.asarray(radius * 2.0 / theta * np.sin(0.5 * theta))
