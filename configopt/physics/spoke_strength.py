"""Strength of a spoke, its nipple and its eye in the hub, once and in the long run."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require
from configopt.physics.spokes import spoke_tension

ENDURANCE_SHARE: Final = 0.25
"""Stress amplitude that a spoke endures about no mean stress, over its tensile strength [1]; estimate, 0.15 to 0.35.

Half for polished bars, times 0.85 for axial load and about 0.7 for the drawn surface at 1100 MPa (Shigley, 8th ed.,
equations 6-8, 6-19 and 6-26), less for thread and elbow."""


def reserve(capacity: ArrayLike, *, demand: ArrayLike) -> Array:
    """How many times the demand the capacity is.

    Parameters
    ----------
    capacity : what a part bears, for example a strength [Pa] or the tension a rim permits [N]
    demand : what it gets, in the same unit

    Returns
    -------
    reserve [1], broadcast shape; rises in capacity, falls in demand; infinite without demand

    Raises
    ------
    DomainError
        Negative capacity or demand.

    >>> float(reserve(1150e6, demand=460e6))
    2.5
    """
    bears = require("capacity", capacity, unit="as demand", low=0.0)
    gets = require("demand", demand, unit="as capacity", low=0.0)
    with np.errstate(over="ignore"):
        return np.where(gets > 0.0, bears / np.where(gets > 0.0, gets, 1.0), np.inf)


def spoke_stress(tension: ArrayLike, *, diameter: ArrayLike) -> Array:
    """Tensile stress of a spoke.

    Parameters
    ----------
    tension : [N]
    diameter : of its thinnest section [m]

    Returns
    -------
    stress [Pa], broadcast shape; rises in tension, falls in diameter

    Raises
    ------
    DomainError
        Negative tension, diameter not above zero.

    Notes
    -----
    sigma = T/(pi d^2/4), the inverse of :func:`configopt.physics.spokes.spoke_tension`; no bending at the elbow.

    >>> round(float(spoke_stress(1000.0, diameter=2e-3)) / 1e6, 1)
    318.3
    """
    force = require("tension", tension, unit="N", low=0.0)
    return np.asarray(force / spoke_tension(1.0, diameter=diameter))


def eye_pressure(tension: ArrayLike, *, wire_diameter: ArrayLike, flange_thickness: ArrayLike) -> Array:
    """Pressure of a spoke's elbow on its eye in the hub flange.

    Parameters
    ----------
    tension : of the spoke [N]
    wire_diameter : at the elbow [m]
    flange_thickness : at the eye [m]

    Returns
    -------
    pressure [Pa], broadcast shape; rises in tension, falls in both lengths

    Raises
    ------
    DomainError
        Negative tension, a length not above zero.

    Notes
    -----
    p = T/(d t), the force over the projected area.

    References
    ----------
    Shigley's Mechanical Engineering Design, 9th ed., section 8-12 (bearing in bolted members).

    >>> round(float(eye_pressure(1000.0, wire_diameter=2e-3, flange_thickness=3e-3)) / 1e6, 1)
    166.7
    """
    force = require("tension", tension, unit="N", low=0.0)
    d = require("wire_diameter", wire_diameter, unit="m", above=0.0)
    t = require("flange_thickness", flange_thickness, unit="m", above=0.0)
    return np.asarray(force / (d * t))


def tension_cycle(tension: ArrayLike, *, loss: ArrayLike, gain: ArrayLike = 0.0) -> tuple[Array, Array]:
    """Mean and amplitude of the tension of a spoke that loses and gains some at every turn of the wheel.

    Parameters
    ----------
    tension : of the standing spoke [N]
    loss : what the load takes from it at the bottom [N]
    gain : what drive or brake torque adds to it [N]

    Returns
    -------
    mean [N] and amplitude [N], broadcast shape

    Raises
    ------
    DomainError
        A negative argument.

    Notes
    -----
    Between T + gain and T - loss, but never below zero.
    """
    force = require("tension", tension, unit="N", low=0.0)
    low = np.maximum(force - require("loss", loss, unit="N", low=0.0), 0.0)
    high = force + require("gain", gain, unit="N", low=0.0)
    return np.asarray(0.5 * (high + low)), np.asarray(0.5 * (high - low))


def fatigue_reserve(
    mean_stress: ArrayLike,
    *,
    amplitude: ArrayLike,
    tensile_strength: ArrayLike,
    endurance_share: ArrayLike = ENDURANCE_SHARE,
) -> Array:
    """Factor by which both mean and amplitude of the stress could grow before a spoke tires in the long run.

    Parameters
    ----------
    mean_stress : [Pa]
    amplitude : half the range of the stress [Pa]
    tensile_strength : [Pa]
    endurance_share : amplitude endured without mean stress, over the tensile strength [1]

    Returns
    -------
    reserve [1], broadcast shape; rises in strength and endurance share, falls in both stresses; infinite without stress

    Raises
    ------
    DomainError
        Negative stress, strength not above zero, share not in (0, 1].

    Notes
    -----
    Goodman's line: 1/reserve = amplitude/(share S) + mean/S.

    References
    ----------
    Shigley's Mechanical Engineering Design, 9th ed., equation 6-46 (modified Goodman line).

    >>> round(float(fatigue_reserve(300e6, amplitude=60e6, tensile_strength=1200e6, endurance_share=0.25)), 3)
    2.222
    """
    mean = require("mean_stress", mean_stress, unit="Pa", low=0.0)
    swing = require("amplitude", amplitude, unit="Pa", low=0.0)
    strength = require("tensile_strength", tensile_strength, unit="Pa", above=0.0)
    share = require("endurance_share", endurance_share, unit="1", above=0.0, high=1.0)
    return reserve(1.0, demand=swing / (share * strength) + mean / strength)
