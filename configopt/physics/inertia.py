"""Inertia of wheel parts about the axle and about a diameter, and what it does to the machine."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require


def ring_inertia(mass: ArrayLike, *, radius: ArrayLike) -> Array:
    """Spin inertia of a thin ring: a rim, a tube, a row of nipples.

    Parameters
    ----------
    mass : [kg]
    radius : at which the mass sits [m]

    Returns
    -------
    inertia [kg m^2], broadcast shape

    Raises
    ------
    DomainError
        Negative argument.

    Notes
    -----
    I = m r^2.
    """
    m = require("mass", mass, unit="kg", low=0.0)
    r = require("radius", radius, unit="m", low=0.0)
    return np.asarray(m * r * r)


def annulus_inertia(mass: ArrayLike, *, outer_radius: ArrayLike, inner_radius: ArrayLike) -> Array:
    """Spin inertia of a body whose mass is spread evenly over a ring: a tire, a brake track.

    Parameters
    ----------
    mass : [kg]
    outer_radius, inner_radius : of the ring [m]

    Returns
    -------
    inertia [kg m^2], broadcast shape

    Raises
    ------
    DomainError
        Negative argument, or inner above outer radius.

    Notes
    -----
    I = m (r_o^2 + r_i^2)/2.

    >>> float(annulus_inertia(2.0, outer_radius=0.3, inner_radius=0.0))
    0.09
    """
    m = require("mass", mass, unit="kg", low=0.0)
    ro = require("outer_radius", outer_radius, unit="m", low=0.0)
    ri = require("inner_radius", inner_radius, unit="m", low=0.0)
    require("outer_radius - inner_radius", ro - ri, unit="m", low=0.0)
    return np.asarray(0.5 * m * (ro * ro + ri * ri))


def disc_inertia(mass: ArrayLike, *, radius: ArrayLike) -> Array:
    """Spin inertia of a disc or cylinder: a hub shell, a rotor without openings.

    Parameters
    ----------
    mass : [kg]
    radius : [m]

    Returns
    -------
    inertia [kg m^2], broadcast shape

    Raises
    ------
    DomainError
        Negative argument.

    Notes
    -----
    I = m r^2/2.
    """
    outer = require("radius", radius, unit="m", low=0.0)
    return annulus_inertia(mass, outer_radius=outer, inner_radius=0.0)


def spokes_inertia(mass: ArrayLike, *, rim_radius: ArrayLike, hub_radius: ArrayLike) -> Array:
    """Spin inertia of spokes as thin rods between hub and rim.

    Parameters
    ----------
    mass : of all spokes [kg]
    rim_radius, hub_radius : radii of their ends [m]

    Returns
    -------
    inertia [kg m^2], broadcast shape

    Raises
    ------
    DomainError
        Negative argument, or hub radius above rim radius.

    Notes
    -----
    I = m (r_1^2 + r_1 r_2 + r_2^2)/3, exact for radial rods; a tangential spoke differs by under 2 % in usual hubs.
    """
    m = require("mass", mass, unit="kg", low=0.0)
    rim = require("rim_radius", rim_radius, unit="m", low=0.0)
    hub = require("hub_radius", hub_radius, unit="m", low=0.0)
    require("rim_radius - hub_radius", rim - hub, unit="m", low=0.0)
    return np.asarray(m * (rim * rim + rim * hub + hub * hub) / 3.0)


def diametral_inertia(spin_inertia: ArrayLike, *, mass: ArrayLike, width: ArrayLike = 0.0) -> Array:
    """Inertia of a body of revolution about a diameter through its centre, for steering and lean.

    Parameters
    ----------
    spin_inertia : about the axle [kg m^2]
    mass : [kg]
    width : along the axle, over which the mass is spread evenly [m]

    Returns
    -------
    inertia [kg m^2], broadcast shape

    Raises
    ------
    DomainError
        Negative argument.

    Notes
    -----
    I_d = I/2 + m w^2/12: the perpendicular-axis theorem for each slice, and the slices' spread.

    >>> float(diametral_inertia(0.12, mass=2.0))
    0.06
    """
    spin = require("spin_inertia", spin_inertia, unit="kg m^2", low=0.0)
    m = require("mass", mass, unit="kg", low=0.0)
    w = require("width", width, unit="m", low=0.0)
    return np.asarray(0.5 * spin + m * w * w / 12.0)


def equivalent_mass(mass: ArrayLike, *, inertia: ArrayLike, radius: ArrayLike) -> Array:
    """Mass that a rolling wheel adds to the machine when it speeds up or slows down.

    Parameters
    ----------
    mass : of the wheel [kg]
    inertia : spin inertia [kg m^2]
    radius : rolling radius [m]

    Returns
    -------
    mass [kg], broadcast shape

    Raises
    ------
    DomainError
        Negative mass or inertia, radius not above zero.

    Notes
    -----
    m + I/R^2.
    """
    m = require("mass", mass, unit="kg", low=0.0)
    spin = require("inertia", inertia, unit="kg m^2", low=0.0)
    r = require("radius", radius, unit="m", above=0.0)
    return np.asarray(m + spin / (r * r))


def gyroscopic_moment(inertia: ArrayLike, *, wheel_speed: ArrayLike, lean_rate: ArrayLike) -> Array:
    """Moment that a spinning wheel opposes to leaning or steering.

    Parameters
    ----------
    inertia : spin inertia [kg m^2]
    wheel_speed : angular speed of the wheel [rad/s]
    lean_rate : angular speed of lean or steer, at right angles to the axle [rad/s]; its sign is kept

    Returns
    -------
    moment [N m], broadcast shape

    Raises
    ------
    DomainError
        Negative inertia, or a rate that is not a number.

    Notes
    -----
    M = I omega Omega.

    References
    ----------
    V. Cossalter, Motorcycle Dynamics, 2nd ed. 2006 (from memory).
    """
    spin = require("inertia", inertia, unit="kg m^2", low=0.0)
    omega = require("wheel_speed", wheel_speed, unit="rad/s")
    rate = require("lean_rate", lean_rate, unit="rad/s")
    return np.asarray(spin * omega * rate)


def compound_pendulum_inertia(
    mass: ArrayLike, *, period: ArrayLike, arm: ArrayLike, gravity: ArrayLike = STANDARD_GRAVITY
) -> Array:
    """Spin inertia measured by letting the wheel swing on a rod under its rim.

    Parameters
    ----------
    mass : of the wheel [kg]
    period : of small swings [s]
    arm : from the rod to the axle, the inner radius of the rim [m]
    gravity : local acceleration of gravity [m/s^2]

    Returns
    -------
    inertia about the axle [kg m^2], broadcast shape

    Raises
    ------
    DomainError
        An argument not above zero, or a period shorter than that of a point mass, which no body has.

    Notes
    -----
    I = (T/2 pi)^2 m g l - m l^2.  A check of catalog inertias against a measurement at home.

    References
    ----------
    J. K. Moore, Human Control of a Bicycle, PhD thesis, University of California, Davis, 2012, chapter on physical
    parameters, compound pendulum equation.

    >>> round(float(compound_pendulum_inertia(2.02, period=1.481127, arm=0.293)), 3)
    0.149
    """
    m = require("mass", mass, unit="kg", above=0.0)
    t = require("period", period, unit="s", above=0.0)
    length = require("arm", arm, unit="m", above=0.0)
    g = require("gravity", gravity, unit="m/s^2", above=0.0)
    spin = (t / (2.0 * np.pi)) ** 2 * m * g * length - m * length * length
    return require("inertia from period", spin, unit="kg m^2", low=0.0)
