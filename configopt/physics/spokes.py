"""Geometry and tension of a spoked wheel."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require


def crossing_angle(crossings: ArrayLike, *, spokes_per_side: ArrayLike) -> Array:
    """Angle at the hub between the spoke's hole in the flange and its hole in the rim.

    Parameters
    ----------
    crossings : spokes of the same side that one spoke crosses [1]; 0 is radial
    spokes_per_side : spokes on one flange [1]

    Returns
    -------
    angle [rad], broadcast shape

    Raises
    ------
    DomainError
        Negative crossings, fewer than two spokes, or an angle above 180 degrees.

    Notes
    -----
    a = 2 pi crossings/(spokes per side).

    >>> round(float(np.degrees(crossing_angle(3, spokes_per_side=18))), 6)
    60.0
    """
    cross = require("crossings", crossings, unit="1", low=0.0)
    count = require("spokes_per_side", spokes_per_side, unit="1", low=2.0)
    return require("crossing angle", 2.0 * np.pi * cross / count, unit="rad", low=0.0, high=np.pi)


def spoke_length(
    flange_offset: ArrayLike,
    *,
    flange_radius: ArrayLike,
    rim_radius: ArrayLike,
    crossings: ArrayLike,
    spokes_per_side: ArrayLike,
    spoke_hole_radius: ArrayLike = 0.0,
) -> Array:
    """Length of a spoke from the inside of its elbow to its end at the effective rim diameter.

    Parameters
    ----------
    flange_offset : distance of the flange from the rim's centre plane [m]
    flange_radius : radius of the hole circle of the flange [m]
    rim_radius : half the effective rim diameter [m]
    crossings : spokes of the same side that one spoke crosses [1]
    spokes_per_side : spokes on one flange [1]
    spoke_hole_radius : radius of the hole in the flange [m]

    Returns
    -------
    length [m], broadcast shape

    Raises
    ------
    DomainError
        Negative offset, radius not above zero, flange as large as the rim, more crossings than fit.

    Notes
    -----
    L = sqrt(o^2 + h^2 + r^2 - 2 h r cos a) - s: the law of cosines in the wheel's plane and the offset across it.

    >>> round(float(spoke_length(0.025, flange_radius=0.029, rim_radius=0.304, crossings=0, spokes_per_side=18)), 4)
    0.2761
    """
    o = require("flange_offset", flange_offset, unit="m", low=0.0)
    h, r = _radii(flange_radius, rim_radius)
    a = crossing_angle(crossings, spokes_per_side=spokes_per_side)
    s = require("spoke_hole_radius", spoke_hole_radius, unit="m", low=0.0)
    return np.asarray(np.sqrt(o * o + h * h + r * r - 2.0 * h * r * np.cos(a)) - s)


def bracing_angle(flange_offset: ArrayLike, *, length: ArrayLike) -> Array:
    """Angle between a spoke and the plane of the wheel.

    Parameters
    ----------
    flange_offset : distance of the flange from the rim's centre plane [m]
    length : of the spoke [m]

    Returns
    -------
    angle [rad], broadcast shape

    Raises
    ------
    DomainError
        Negative offset, length not above zero, offset above length.

    Notes
    -----
    sin(angle) = o/L.
    """
    o = require("flange_offset", flange_offset, unit="m", low=0.0)
    span = require("length", length, unit="m", above=0.0)
    sine = require("flange_offset/length", o / span, unit="1", low=0.0, high=1.0)
    return np.asarray(np.arcsin(sine))


def tension_ratio(
    *, left_offset: ArrayLike, right_offset: ArrayLike, left_length: ArrayLike, right_length: ArrayLike
) -> Array:
    """Tension of the left spokes over that of the right ones in a true wheel with equal numbers of spokes.

    Parameters
    ----------
    left_offset, right_offset : distance of either flange from the rim's centre plane [m]
    left_length, right_length : spoke length of either side [m]

    Returns
    -------
    ratio [1], broadcast shape; the flange nearer to the centre plane has the tighter spokes

    Raises
    ------
    DomainError
        Any argument not above zero.

    Notes
    -----
    (L_left/o_left)/(L_right/o_right): the sideways pulls on the rim balance.

    >>> float(tension_ratio(left_offset=0.02, right_offset=0.04, left_length=0.28, right_length=0.28))
    2.0
    """
    o_l = require("left_offset", left_offset, unit="m", above=0.0)
    o_r = require("right_offset", right_offset, unit="m", above=0.0)
    l_l = require("left_length", left_length, unit="m", above=0.0)
    l_r = require("right_length", right_length, unit="m", above=0.0)
    return np.asarray((l_l / o_l) / (l_r / o_r))


def torque_arm(
    flange_radius: ArrayLike, *, rim_radius: ArrayLike, crossings: ArrayLike, spokes_per_side: ArrayLike
) -> Array:
    """Distance of the spoke's line from the axle, the effective flange radius for torque.

    Parameters
    ----------
    flange_radius : radius of the hole circle [m]
    rim_radius : half the effective rim diameter [m]
    crossings : spokes of the same side that one spoke crosses [1]
    spokes_per_side : spokes on one flange [1]

    Returns
    -------
    arm [m], broadcast shape; 0 for radial spokes, at most the flange radius

    Raises
    ------
    DomainError
        As :func:`spoke_length`.

    Notes
    -----
    h r sin a/sqrt(h^2 + r^2 - 2 h r cos a), in the wheel's plane.
    """
    h, r = _radii(flange_radius, rim_radius)
    a = crossing_angle(crossings, spokes_per_side=spokes_per_side)
    return np.asarray(h * r * np.sin(a) / np.sqrt(h * h + r * r - 2.0 * h * r * np.cos(a)))


def torque_tension_change(torque: ArrayLike, *, spokes: ArrayLike, flange_radius: ArrayLike) -> Array:
    """Change of spoke tension by drive or brake torque: half the spokes gain it, half lose it.

    Parameters
    ----------
    torque : between hub and rim [N m]
    spokes : number of spokes that carry it [1]: one flange's, or both where the hub body drives both
    flange_radius : effective radius, the distance of the spoke's line from the axle [m]; see :func:`torque_arm`

    Returns
    -------
    tension change [N], broadcast shape

    Raises
    ------
    DomainError
        Negative torque, fewer than two spokes, radius not above zero.

    Notes
    -----
    dT = M/(n r); the mean tension does not change.

    References
    ----------
    J. Brandt, The Bicycle Wheel, section on pulling and pushing spokes.

    >>> round(float(torque_tension_change(150.0, spokes=36, flange_radius=0.029)), 1)
    143.7
    """
    moment = require("torque", torque, unit="N m", low=0.0)
    n = require("spokes", spokes, unit="1", low=2.0)
    r = require("flange_radius", flange_radius, unit="m", above=0.0)
    return np.asarray(moment / (n * r))


def effective_spoke_diameter(
    end_diameter: ArrayLike, *, middle_diameter: ArrayLike, length: ArrayLike, middle_length: ArrayLike
) -> Array:
    """Diameter of a plain spoke that stretches like a butted one.

    Parameters
    ----------
    end_diameter : of the thick ends [m]
    middle_diameter : of the thin middle [m]
    length : of the whole spoke [m]
    middle_length : of the thin middle [m]

    Returns
    -------
    diameter [m], broadcast shape

    Raises
    ------
    DomainError
        A diameter or the length not above zero, middle longer than the spoke.

    Notes
    -----
    Springs in series: L/d^2 = L_end/d_end^2 + L_middle/d_middle^2.

    References
    ----------
    M. Ford, Reinventing the Wheel: Stress Analysis, Stability, and Optimization of the Bicycle Wheel, PhD thesis,
    Northwestern University, 2018, appendix on wheel properties.

    >>> d = effective_spoke_diameter(1.99e-3, middle_diameter=1.72e-3, length=0.276, middle_length=0.205)
    >>> round(float(d) * 1e3, 2)
    1.78
    """
    ends, middle, span, thin = _butted(end_diameter, middle_diameter, length, middle_length)
    return np.asarray(np.sqrt(span / ((span - thin) / ends**2 + thin / middle**2)))


def spoke_mass(
    end_diameter: ArrayLike,
    *,
    middle_diameter: ArrayLike,
    length: ArrayLike,
    middle_length: ArrayLike,
    density: ArrayLike = 7900.0,
) -> Array:
    """Mass of one spoke without its nipple.

    Parameters
    ----------
    end_diameter, middle_diameter, length, middle_length : as in :func:`effective_spoke_diameter` [m]
    density : of the wire [kg/m^3]

    Returns
    -------
    mass [kg], broadcast shape; the head is not counted

    Raises
    ------
    DomainError
        As :func:`effective_spoke_diameter`, or density not above zero.

    >>> round(float(spoke_mass(2e-3, middle_diameter=2e-3, length=0.28, middle_length=0.0)) * 1e3, 2)
    6.95
    """
    ends, middle, span, thin = _butted(end_diameter, middle_diameter, length, middle_length)
    rho = require("density", density, unit="kg/m^3", above=0.0)
    return np.asarray(0.25 * np.pi * rho * ((span - thin) * ends**2 + thin * middle**2))


def spoke_tension(stress: ArrayLike, *, diameter: ArrayLike) -> Array:
    """Tension at which a spoke reaches a stress.

    Parameters
    ----------
    stress : [Pa]
    diameter : of the spoke [m]

    Returns
    -------
    tension [N], broadcast shape

    Raises
    ------
    DomainError
        Negative stress, diameter not above zero.

    Notes
    -----
    T = sigma pi d^2/4.

    References
    ----------
    McMahon and Graham, The Bicycle and the Walkman, 1992.
    """
    sigma = require("stress", stress, unit="Pa", low=0.0)
    d = require("diameter", diameter, unit="m", above=0.0)
    return np.asarray(sigma * 0.25 * np.pi * d * d)


def spoke_rigidity(diameter: ArrayLike, *, modulus: ArrayLike = 210e9) -> Array:
    """Stiffness of a spoke times its length, E A.

    Parameters
    ----------
    diameter : of the spoke, effective where it is butted [m]
    modulus : Young's modulus [Pa]

    Returns
    -------
    E A [N], broadcast shape

    Raises
    ------
    DomainError
        An argument not above zero.
    """
    d = require("diameter", diameter, unit="m", above=0.0)
    e = require("modulus", modulus, unit="Pa", above=0.0)
    return np.asarray(e * 0.25 * np.pi * d * d)


def spoke_extension(tension: ArrayLike, *, length: ArrayLike, diameter: ArrayLike, modulus: ArrayLike = 210e9) -> Array:
    """Stretch of a spoke under tension.

    Parameters
    ----------
    tension : [N]
    length : of the spoke [m]
    diameter : of the spoke, effective where it is butted [m]
    modulus : Young's modulus [Pa]

    Returns
    -------
    extension [m], broadcast shape

    Raises
    ------
    DomainError
        Negative tension, other arguments not above zero.

    Notes
    -----
    T L/(E A): how far the rim may give before the spoke is slack.

    References
    ----------
    McMahon and Graham, The Bicycle and the Walkman, 1992.
    """
    force = require("tension", tension, unit="N", low=0.0)
    span = require("length", length, unit="m", above=0.0)
    return np.asarray(force * span / spoke_rigidity(diameter, modulus=modulus))


def _radii(flange_radius: ArrayLike, rim_radius: ArrayLike) -> tuple[Array, Array]:
    h = require("flange_radius", flange_radius, unit="m", above=0.0)
    r = require("rim_radius", rim_radius, unit="m", above=0.0)
    require("rim_radius - flange_radius", r - h, unit="m", above=0.0)
    return h, r


def _butted(
    end_diameter: ArrayLike, middle_diameter: ArrayLike, length: ArrayLike, middle_length: ArrayLike
) -> tuple[Array, Array, Array, Array]:
    ends = require("end_diameter", end_diameter, unit="m", above=0.0)
    middle = require("middle_diameter", middle_diameter, unit="m", above=0.0)
    span = require("length", length, unit="m", above=0.0)
    thin = require("middle_length", middle_length, unit="m", low=0.0)
    require("length - middle_length", span - thin, unit="m", low=0.0)
    return ends, middle, span, thin
