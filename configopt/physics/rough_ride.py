"""Loss, contact and ride on a rough road with a tire that can push but not pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.domain import Array, require
from configopt.physics.quarter_car import RoadWheel, TireForce, require_road_wheel, require_stiffness

LINEARISED_ABOVE = 1.0 / 3.0
"""Tire force rms over static load beyond which the one-sided contact is no longer a detail."""

OFF_GROUND_LIMIT = 0.1
"""Share of time off the ground beyond which contact figures are only indicative."""

_CERTAIN_CONTACT = 5.0
"""Static load over rms from which on contact counts as certain; the stiffness errs by 3e-7 at most."""

_NEWTON_STEPS = 6
"""From the full stiffness Newton's method reaches rounding error in five steps; one to spare."""


def _normal(x: Array) -> Array:
    # Imported here: most uses of the physics need no SciPy, and loading it takes longer than they do.
    from scipy.special import ndtr

    probability: Array = ndtr(x)
    return probability


def _effective_stiffness(tire: Array, *, load: Array, force: TireForce) -> Array:
    """Fixed point of k = k_t Phi(W/sigma(k)), for arrays of one dimension."""
    effective = tire.copy()
    rows = np.flatnonzero(load < _CERTAIN_CONTACT * np.sqrt(force.at(tire)[0]))
    tire, load, force = tire[rows], load[rows], force.rows(rows)
    k = tire
    for _ in range(_NEWTON_STEPS):
        variance, slope = force.at(k)
        ratio = load / np.sqrt(variance)
        density = np.exp(-0.5 * ratio * ratio) / np.sqrt(2.0 * np.pi)
        residual = k - tire * _normal(ratio)
        # A load above zero keeps more than half of the spring; the clip only catches a step that overshoots.
        k = np.clip(k - residual / (1.0 + 0.5 * tire * density * ratio * slope / variance), 0.5 * tire, tire)
    effective[rows] = k
    return effective


@dataclass(frozen=True)
class RoughRide:
    """What a rough road does to one suspended wheel.

    Attributes
    ----------
    resistance : [N]
    tire_force_rms : of the dynamic tire force about the static load [N]
    dynamic_load_ratio : rms over static load [1]
    off_ground_share : share of the time in which the tire force would be negative [1]
    ride_acceleration : rms of the sprung mass's vertical acceleration [m/s^2]
    effective_stiffness : of the tire, after contact lost at times [N/m]
    linearised : bool, true where the rms exceeds a third of the static load
    """

    resistance: Array
    tire_force_rms: Array
    dynamic_load_ratio: Array
    off_ground_share: Array
    ride_acceleration: Array
    effective_stiffness: Array
    linearised: NDArray[np.bool_]


def rough_ride(
    *,
    load: ArrayLike,
    stiffness: ArrayLike,
    unsprung_mass: ArrayLike,
    sprung_mass: ArrayLike,
    suspension_rate: ArrayLike,
    damping: ArrayLike,
    patch_length: ArrayLike,
    speed: ArrayLike,
    roughness: ArrayLike,
) -> RoughRide:
    """Loss, contact and ride of a suspended wheel on a rough road, with a tire that can push but not pull.

    Parameters
    ----------
    load : static wheel load W [N]
    stiffness : vertical stiffness of the tire in contact k_t [N/m]
    unsprung_mass, sprung_mass, suspension_rate, damping, patch_length, speed, roughness
        As in :func:`configopt.physics.quarter_car.filtered_resistance`.

    Returns
    -------
    RoughRide
        Arrays of the common shape of the arguments.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    The one-sided spring is replaced by k = k_t Phi(W/sigma), Phi the normal distribution: a Gaussian force presses the
    tire on the ground for that share of the time.  sigma depends on k; the fixed point is found by a fixed number of
    Newton steps and is good to 1e-10.  Where W/sigma is above 5 at k_t, Phi is taken as one (it is, to 3e-7).
    Validity: beyond rms = W/3 the result is marked as linearised.  That the wheel then rides higher on average than it
    stands is neglected: simulated at an rms of 0.6 W, the loss is some 2 % smaller and the time off the ground a third
    longer.

    References
    ----------
    ISO 8608:2016 (road); statistical linearisation of a one-sided spring, own derivation.

    >>> ride = rough_ride(load=870.0, stiffness=60e3, unsprung_mass=14.0, sprung_mass=75.0, suspension_rate=9e3,
    ...     damping=600.0, patch_length=0.12, speed=8.0, roughness=4.096e-5)
    >>> round(float(ride.dynamic_load_ratio), 2), round(float(ride.resistance), 1), bool(ride.linearised)
    (0.59, 19.7, True)
    """
    w = require("load", load, unit="N", above=0.0, high=1e6)
    k = require_stiffness(stiffness)
    wheel = require_road_wheel(
        unsprung_mass=unsprung_mass,
        sprung_mass=sprung_mass,
        suspension_rate=suspension_rate,
        damping=damping,
        patch_length=patch_length,
        speed=speed,
        roughness=roughness,
    )
    shape = np.broadcast_shapes(w.shape, k.shape, *(part.shape for part in wheel))
    # Most parts have that shape already.
    w, k, *parts = ((part if part.shape == shape else np.broadcast_to(part, shape)).ravel() for part in (w, k, *wheel))
    wheel = RoadWheel(*parts)

    force = wheel.tire_force()
    effective = _effective_stiffness(k, load=w, force=force)
    rms = np.sqrt(force.at(effective)[0])
    ratio = rms / w
    with np.errstate(divide="ignore"):
        off_ground = _normal(-w / rms)
    return RoughRide(
        resistance=wheel.resistance(effective).reshape(shape),
        tire_force_rms=rms.reshape(shape),
        dynamic_load_ratio=ratio.reshape(shape),
        off_ground_share=off_ground.reshape(shape),
        ride_acceleration=np.sqrt(wheel.acceleration_variance(effective)).reshape(shape),
        effective_stiffness=effective.reshape(shape),
        linearised=(ratio > LINEARISED_ABOVE).reshape(shape),
    )


def effective_stiffness_floor(*, load: ArrayLike, stiffness: ArrayLike, variance_bound: ArrayLike) -> Array:
    """Lower bound of the effective stiffness where only an upper bound of the tire force variance is known [N/m].

    Parameters
    ----------
    load : lowest static wheel load [N]
    stiffness : lowest stiffness of the tire in contact k_t [N/m]
    variance_bound : of :func:`configopt.physics.quarter_car.tire_force_variance_bound` over the same ranges, but with
        half of the lowest stiffness as its stiffness_low [N^2]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    The effective stiffness lies between k_t/2 and k_t, so a variance bound over that range covers the fixed point,
    and k_t Phi(W/sigma) grows with k_t and W and falls with sigma.

    >>> round(float(effective_stiffness_floor(load=870.0, stiffness=60e3, variance_bound=500.0**2)))
    57544
    """
    w = require("load", load, unit="N", above=0.0, high=1e6)
    k = require_stiffness(stiffness)
    variance = require("variance_bound", variance_bound, unit="N^2", low=0.0)
    with np.errstate(divide="ignore"):
        floor: Array = k * _normal(w / np.sqrt(variance))
    return floor


def contact_grip_factor(dynamic_load_ratio: ArrayLike, *, load_exponent: ArrayLike) -> Array:
    """Share of the grip under the static load that remains on average under a varying load [1].

    Parameters
    ----------
    dynamic_load_ratio : rms of the dynamic tire force over the static load [1], any shape, >= 0
    load_exponent : m of the grip F ~ W^m [1]

    Returns
    -------
    Array
        1 - m (1 - m)/2 ratio^2, kept within 0 to 1.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Mean of W^m over a Gaussian load about its static value, to second order.  Validity: ratio up to a third and m
    from 0.6 on, where the rest stays below 0.002.  Beyond, the loss is larger than stated: contact is lost at times.

    >>> round(float(contact_grip_factor(0.3, load_exponent=0.8)), 4)
    0.9928
    """
    ratio = require("dynamic_load_ratio", dynamic_load_ratio, unit="1", low=0.0)
    m = require("load_exponent", load_exponent, unit="1", above=0.0, high=1.5)
    return np.clip(1.0 - 0.5 * m * (1.0 - m) * ratio * ratio, 0.0, 1.0)


def roughness_remarks(dynamic_load_ratio: ArrayLike, *, off_ground_share: ArrayLike) -> dict[str, NDArray[np.bool_]]:
    """Named remarks on the contact of a wheel on a rough road.

    Parameters
    ----------
    dynamic_load_ratio : rms of the dynamic tire force over the static load [1], any shape, >= 0
    off_ground_share : share of the time off the ground [1]

    Returns
    -------
    dict
        Remark -> bool array.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> [name for name, holds in roughness_remarks(0.4, off_ground_share=0.006).items() if holds]
    ['load varies by over a third (linearised)']
    """
    ratio = require("dynamic_load_ratio", dynamic_load_ratio, unit="1", low=0.0)
    share = require("off_ground_share", off_ground_share, unit="1", low=0.0, high=1.0)
    return {
        "load varies by over a third (linearised)": ratio > LINEARISED_ABOVE,
        "off the ground for over a tenth of the time": share > OFF_GROUND_LIMIT,
    }
