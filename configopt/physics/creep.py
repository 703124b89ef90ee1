"""Creep of the tire on its rim: the torque that bead friction holds."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require


def creep_torque(
    pressure: ArrayLike,
    *,
    bead_radius: ArrayLike,
    section_height: ArrayLike,
    friction: ArrayLike = 0.2,
    unevenness: ArrayLike = 0.5,
    fit_torque: ArrayLike = 0.0,
) -> Array:
    """Torque at which the tire starts to turn on the rim.

    Parameters
    ----------
    pressure : inflation pressure, gauge [Pa]
    bead_radius : radius of the bead seat [m]
    section_height : height of the tire section [m]
    friction : between bead and rim [1]; an estimate, 0.1 to 0.5, no published value was found
    unevenness : share that is left because the ground unloads the beads near the contact [1]; an estimate
    fit_torque : torque held by the tight fit of the beads alone, without pressure [N m]

    Returns
    -------
    torque [N m], broadcast shape; linear in pressure from a value of at least zero

    Raises
    ------
    DomainError
        Negative pressure or fit torque, a length not above zero, friction above 3, unevenness outside 0 to 1.

    Notes
    -----
    M = eta (M_fit + 2 mu r_b pi (r_m^2 - r_b^2) q), r_m = r_b + H/2: inflation pushes each bead against its flange with
    the pressure on the annulus between bead and mid-section, and friction acts at the bead radius on both sides.

    References
    ----------
    The linear form: "Rim slip and bead fitment of tires: analysis and design", Tire Science and Technology 34(1), 2006,
    abstract.  The factors are an own estimate.

    >>> round(float(creep_torque(80e3, bead_radius=0.228, section_height=0.075)), 1)
    212.1
    """
    q = require("pressure", pressure, unit="Pa", low=0.0)
    rb = require("bead_radius", bead_radius, unit="m", above=0.0)
    h = require("section_height", section_height, unit="m", above=0.0)
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    eta = require("unevenness", unevenness, unit="1", low=0.0, high=1.0)
    fit = require("fit_torque", fit_torque, unit="N m", low=0.0)
    rm = rb + 0.5 * h
    return np.asarray(eta * (fit + 2.0 * mu * rb * np.pi * (rm * rm - rb * rb) * q))
