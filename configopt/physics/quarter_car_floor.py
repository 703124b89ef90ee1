"""How little a wheel on a rough road can vary: lower bounds of its variances over ranges of stiffness and masses.

The counterpart of :func:`configopt.physics.quarter_car.tire_force_variance_bound`, for limits that say at most.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require
from configopt.physics.roughness import patch_lag, road_velocity_intensity


@dataclass(frozen=True)
class WheelRange:
    """A suspended wheel of which stiffness, masses and patch are known within ranges, on a road.

    Attributes
    ----------
    stiffness_low, stiffness_high : of the tire, the effective one where contact is lost at times [N/m]
    unsprung_mass_low, unsprung_mass_high, sprung_mass_low, sprung_mass_high : [kg]
    suspension_rate, damping : at the wheel [N/m], [N s/m]
    patch_length_high : longest patch [m]; variances fall with the patch length
    speed : [m/s]
    roughness : roughness constant G [m]
    """

    stiffness_low: ArrayLike
    stiffness_high: ArrayLike
    unsprung_mass_low: ArrayLike
    unsprung_mass_high: ArrayLike
    sprung_mass_low: ArrayLike
    sprung_mass_high: ArrayLike
    suspension_rate: ArrayLike
    damping: ArrayLike
    patch_length_high: ArrayLike
    speed: ArrayLike
    roughness: ArrayLike


def _checked(wheel: WheelRange) -> tuple[tuple[Array, Array], tuple[Array, Array], tuple[Array, Array]]:
    ranges = []
    for name, unit in (("stiffness", "N/m"), ("unsprung_mass", "kg"), ("sprung_mass", "kg")):
        low = require(f"{name}_low", getattr(wheel, f"{name}_low"), unit=unit, above=0.0)
        high = require(f"{name}_high", getattr(wheel, f"{name}_high"), unit=unit, above=0.0)
        require(f"{name}_high - {name}_low", high - low, unit=unit, low=0.0)
        ranges.append((low, high))
    return ranges[0], ranges[1], ranges[2]


def tire_force_variance_floor(wheel: WheelRange) -> Array:
    """Lower bound of the variance of the dynamic tire force [N^2].

    Raises
    ------
    DomainError
        Outside the ranges, where a figure is not a number, or where a low end exceeds its high end.

    Notes
    -----
    Each term of :func:`configopt.physics.quarter_car.tire_force_variance` at its least, all of them being squares or
    positive: with R/A = 1/(A + k t^2),

    * c^2 r^2 k R grows with k and A and with r: each at its low end;
    * (k - k_s r)^2/(A + k t^2) grows with k where k > k_s r, and is taken as zero where that is not certain; its factor
      m_u^2 m_s/S grows with both masses;
    * the bracket of the body's term keeps its sign or counts as zero; g/(S (A + k t^2)) at the heavy end;
    * M^2/S is convex in m_s with its least at m_u - 2 g or the nearer end; 1 - n/(A + k t^2) at the largest n.

    References
    ----------
    Own derivation.

    >>> ends = dict(stiffness_low=58e3, stiffness_high=62e3, unsprung_mass_low=13.6, unsprung_mass_high=14.4,
    ...     sprung_mass_low=73.0, sprung_mass_high=77.0)
    >>> floor = tire_force_variance_floor(WheelRange(**ends, suspension_rate=9e3, damping=600.0,
    ...     patch_length_high=0.12, speed=8.0, roughness=2.56e-6))
    >>> round(float(floor) ** 0.5)
    127
    """
    (k_low, k_high), (u_low, u_high), (m_low, m_high) = _checked(wheel)
    q, c, t, intensity = _road(wheel)
    g = c * t + q * t * t
    # Part of the sprung mass that moves with the wheel; without a lag none does.
    n_low, n_high = m_low * g / (m_low + g), m_high * g / (m_high + g)
    a_low, a_high = u_low + n_low, u_high + n_high
    r_low, r_high = 1.0 + u_low / m_high, 1.0 + u_high / m_low

    damper = (c * r_low) ** 2 * k_low * a_low / (a_low + k_low * t * t)
    bounce = np.maximum(k_low - q * r_high, 0.0) ** 2 / (a_high + k_low * t * t)
    bounce = u_low * u_low * m_low / (m_low + g) * bounce
    net_low, net_high = u_low * k_low - q * _spread(u_high, m_low, m_high), u_high * k_high - q * _least(u_low, m_low)
    body = np.maximum(np.maximum(net_low, -net_high), 0.0) ** 2
    body = g / (m_high + g) * body / (a_high + k_high * t * t)
    lightest = np.clip(u_low - 2.0 * g, m_low, m_high)
    ride = (q * (u_low + lightest)) ** 2 / (lightest + g) * (1.0 - n_high / (u_low + n_high + k_low * t * t))
    floor: Array = intensity / (2.0 * c) * (damper + bounce + body + ride)
    return floor


def _least(unsprung: Array, sprung: Array) -> Array:
    """M^2/m_s at its least, for the smallest masses: it falls with m_s below m_u and grows above."""
    m = np.maximum(sprung, unsprung)
    return np.asarray((unsprung + m) ** 2 / m)


def _spread(unsprung: Array, sprung_low: Array, sprung_high: Array) -> Array:
    """M^2/m_s at its most, which is at an end of m_s."""
    ends = [(unsprung + m) ** 2 / m for m in (sprung_low, sprung_high)]
    return np.asarray(np.maximum(*ends))


def sprung_acceleration_variance_floor(wheel: WheelRange) -> Array:
    """Lower bound of the variance of the sprung mass's acceleration [m^2/s^4].

    Raises
    ------
    DomainError
        As :func:`tire_force_variance_floor`.

    Notes
    -----
    Each term of :func:`configopt.physics.quarter_car.sprung_acceleration_variance` at its least: R and k R at the low
    ends, 1/m_s^2 and (m_u + m_s)/m_s^2 at the heavy end, (1 - R)/S at the heavy end and the soft tire.

    References
    ----------
    Own derivation.
    """
    (k_low, _), (u_low, u_high), (m_low, m_high) = _checked(wheel)
    q, c, t, intensity = _road(wheel)
    g = c * t + q * t * t
    a_low, a_high = u_low + m_low * g / (m_low + g), u_high + m_high * g / (m_high + g)
    passed = a_low / (a_low + k_low * t * t)
    # R alone falls with the stiffness, k R grows with it.
    least_passed = a_low / (a_low + np.asarray(wheel.stiffness_high) * t * t)
    stopped = k_low * t * t / (a_high + k_low * t * t)
    shaken = passed * c * c * k_low / m_high**2 + least_passed * q * q * (u_low + m_high) / m_high**2
    floor: Array = intensity / (2.0 * c) * (shaken + q * q * stopped / (m_high + g))
    return floor


def _road(wheel: WheelRange) -> tuple[Array, Array, Array, Array]:
    q = require("suspension_rate", wheel.suspension_rate, unit="N/m", above=0.0)
    c = require("damping", wheel.damping, unit="N s/m", above=0.0)
    longest = require("patch_length_high", wheel.patch_length_high, unit="m", low=0.0)
    t = patch_lag(longest, speed=require("speed", wheel.speed, unit="m/s", above=0.0))
    return q, c, t, road_velocity_intensity(wheel.speed, roughness=wheel.roughness)
