"""What braking may do before a wheel locks or lifts: load transfer, ideal and fixed share of braking force."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require


def _plan(cg_from_front: ArrayLike, cg_height: ArrayLike, wheelbase: ArrayLike) -> tuple[Array, Array]:
    """Return psi, the static share of the rear wheel, and chi, centre-of-gravity height over wheelbase."""
    base = require("wheelbase", wheelbase, unit="m", above=0.0)
    ahead = require("cg_from_front", cg_from_front, unit="m", above=0.0)
    height = require("cg_height", cg_height, unit="m", above=0.0)
    psi = require("cg_from_front/wheelbase", ahead / base, unit="1", low=0.0, high=1.0)
    return psi, np.asarray(height / base)


def lift_off_deceleration(cg_from_front: ArrayLike, cg_height: ArrayLike) -> Array:
    """Deceleration at which the rear wheel leaves level ground.

    Parameters
    ----------
    cg_from_front : horizontal distance from the FRONT contact to the centre of gravity [m]; measured from the rear
        contact, as some books do, the formula would be another one
    cg_height : height of the centre of gravity [m]

    Returns
    -------
    deceleration [m/s^2], broadcast shape

    Raises
    ------
    DomainError
        A distance not above zero.

    Notes
    -----
    a = g l_f/h.

    References
    ----------
    V. Cossalter, Motorcycle Dynamics, 2nd ed. 2006 (from memory).

    >>> round(float(lift_off_deceleration(0.65, 0.70)), 2)
    9.11
    """
    ahead = require("cg_from_front", cg_from_front, unit="m", above=0.0)
    height = require("cg_height", cg_height, unit="m", above=0.0)
    return np.asarray(STANDARD_GRAVITY * ahead / height)


def ideal_front_share(
    deceleration: ArrayLike, *, cg_from_front: ArrayLike, cg_height: ArrayLike, wheelbase: ArrayLike
) -> Array:
    """Front share of load, and of braking force for equal use of grip, while slowing on level ground.

    Parameters
    ----------
    deceleration : deceleration [m/s^2]
    cg_from_front : horizontal distance from the front contact to the centre of gravity [m]
    cg_height : height of the centre of gravity [m]
    wheelbase : distance between the contacts [m]

    Returns
    -------
    share [1], 1 - psi + chi a/g, at most 1 (rear wheel off the ground); broadcast shape

    Raises
    ------
    DomainError
        Negative deceleration, a distance not above zero, centre of gravity behind the rear contact.

    References
    ----------
    R. Limpert, Motorcycle Braking Dynamics, 2008, eqs 1 and 2.

    >>> round(float(ideal_front_share(0.5 * 9.80665, cg_from_front=0.65, cg_height=0.70, wheelbase=1.30)), 3)
    0.769
    """
    a = require("deceleration", deceleration, unit="m/s^2", low=0.0) / STANDARD_GRAVITY
    psi, chi = _plan(cg_from_front, cg_height, wheelbase)
    return np.asarray(np.minimum(1.0 - psi + chi * a, 1.0))


def fixed_share_deceleration(
    friction: ArrayLike,
    *,
    front_share: ArrayLike,
    cg_from_front: ArrayLike,
    cg_height: ArrayLike,
    wheelbase: ArrayLike,
) -> Array:
    """Highest deceleration before either wheel locks or the rear lifts, at a fixed share of braking force.

    Parameters
    ----------
    friction : coefficient between tire and ground [1]
    front_share : front braking force over total braking force [1]
    cg_from_front : horizontal distance from the front contact to the centre of gravity [m]
    cg_height : height of the centre of gravity [m]
    wheelbase : distance between the contacts [m]

    Returns
    -------
    deceleration [m/s^2], broadcast shape; at most mu g, which the ideal share reaches

    Raises
    ------
    DomainError
        Friction outside 0 to 3, share outside 0 to 1, bad geometry.

    Notes
    -----
    With phi the front share and a in g: the front wheel locks at mu (1 - psi)/(phi - mu chi), if that is positive,
    the rear one at mu psi/(1 - phi + mu chi).  At phi = 1 the second is psi/chi, the lift-off of the rear wheel.

    References
    ----------
    R. Limpert, Motorcycle Braking Dynamics, 2008, from eqs 1 and 2.
    """
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    phi = require("front_share", front_share, unit="1", low=0.0, high=1.0)
    psi, chi = _plan(cg_from_front, cg_height, wheelbase)
    mu, phi, psi, chi = np.broadcast_arrays(mu, phi, psi, chi)
    room = phi - mu * chi
    front = np.divide(mu * (1.0 - psi), room, out=np.full(mu.shape, np.inf), where=room > 0.0)
    # Without friction the rear quotient is 0/0 at phi = 1; nothing decelerates there anyway.
    need = 1.0 - phi + mu * chi
    rear = np.divide(mu * psi, need, out=np.zeros(mu.shape), where=need > 0.0)
    return np.asarray(STANDARD_GRAVITY * np.minimum(front, rear))


def front_only_deceleration(
    friction: ArrayLike, *, cg_from_front: ArrayLike, cg_height: ArrayLike, wheelbase: ArrayLike
) -> Array:
    """Highest deceleration with the front brake alone: the wheel locks, or the rear lifts, whichever comes first.

    Parameters
    ----------
    friction : coefficient between tire and ground [1]
    cg_from_front, cg_height, wheelbase : plan of the machine [m], see :func:`fixed_share_deceleration`

    Returns
    -------
    deceleration [m/s^2], broadcast shape

    Raises
    ------
    DomainError
        As :func:`fixed_share_deceleration`.

    Notes
    -----
    a/g = mu (L - l_f)/(L - mu h), not above l_f/h.

    References
    ----------
    J. Y. Wong, Theory of Ground Vehicles, braking performance (from memory).

    >>> round(float(front_only_deceleration(0.5, cg_from_front=0.65, cg_height=0.70, wheelbase=1.30)) / 9.80665, 3)
    0.342
    """
    return fixed_share_deceleration(
        friction, front_share=1.0, cg_from_front=cg_from_front, cg_height=cg_height, wheelbase=wheelbase
    )


def rear_only_deceleration(
    friction: ArrayLike, *, cg_from_front: ArrayLike, cg_height: ArrayLike, wheelbase: ArrayLike
) -> Array:
    """Highest deceleration with the rear brake alone.

    Parameters
    ----------
    friction : coefficient between tire and ground [1]
    cg_from_front, cg_height, wheelbase : plan of the machine [m], see :func:`fixed_share_deceleration`

    Returns
    -------
    deceleration [m/s^2], broadcast shape

    Raises
    ------
    DomainError
        As :func:`fixed_share_deceleration`.

    Notes
    -----
    a/g = mu l_f/(L + mu h).

    References
    ----------
    J. Y. Wong, Theory of Ground Vehicles, braking performance (from memory).

    >>> round(float(rear_only_deceleration(0.5, cg_from_front=0.65, cg_height=0.70, wheelbase=1.30)) / 9.80665, 3)
    0.197
    """
    return fixed_share_deceleration(
        friction, front_share=0.0, cg_from_front=cg_from_front, cg_height=cg_height, wheelbase=wheelbase
    )
