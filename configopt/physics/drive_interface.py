"""Joints that carry drive and brake torque into a hub: pins, bolted faces, threads.

Loads are shared alike by all pins or bolts of a circle.  The strengths they are compared with belong to the material;
in shear, steel yields at :data:`SHEAR_YIELD_SHARE` of its yield strength.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require

SHEAR_YIELD_SHARE: Final = 0.577
"""Shear yield over tensile yield [1]: distortion energy, Shigley, 9th ed., section 5-5."""

NUT_FACTOR: Final = 0.2
"""Torque factor K of zinc-plated bolts [1]; Shigley, 9th ed., Table 8-15 (0.30 plain, 0.18 lubricated)."""

_STRIPPED_SCREW: Final = 0.80
_STRIPPED_NUT: Final = 0.88


def pin_shear_stress(
    torque: ArrayLike, *, pins: ArrayLike, pin_diameter: ArrayLike, circle_radius: ArrayLike, planes: ArrayLike = 1.0
) -> Array:
    """Mean shear stress of pins on a circle.

    Parameters
    ----------
    torque : [N m]
    pins : their number [1]
    pin_diameter : [m]
    circle_radius : of the pins' centres [m]
    planes : shear planes of a pin [1]

    Returns
    -------
    stress [Pa], broadcast shape; rises in torque, falls in all else

    Raises
    ------
    DomainError
        Negative torque, fewer than one pin or plane, a length not above zero.

    Notes
    -----
    tau = M/(n r) / (planes pi d^2/4).

    References
    ----------
    Shigley's Mechanical Engineering Design, 9th ed., section 8-12 and Example 8-6.
    """
    force = _per_piece(torque, "pins", pins, circle_radius)
    d = require("pin_diameter", pin_diameter, unit="m", above=0.0)
    return np.asarray(force / (require("planes", planes, unit="1", low=1.0) * 0.25 * np.pi * d * d))


def pin_bearing_stress(
    torque: ArrayLike, *, pins: ArrayLike, pin_diameter: ArrayLike, thickness: ArrayLike, circle_radius: ArrayLike
) -> Array:
    """Bearing stress between pins on a circle and the plate they pass through.

    Parameters
    ----------
    torque : [N m]
    pins : their number [1]
    pin_diameter : [m]
    thickness : of the plate [m]
    circle_radius : of the pins' centres [m]

    Returns
    -------
    stress [Pa], broadcast shape; rises in torque, falls in all else

    Raises
    ------
    DomainError
        Negative torque, fewer than one pin, a length not above zero.

    Notes
    -----
    sigma = M/(n r) / (d t), the force over the projected area.

    References
    ----------
    Shigley's Mechanical Engineering Design, 9th ed., section 8-12 and Example 8-6.
    """
    force = _per_piece(torque, "pins", pins, circle_radius)
    d = require("pin_diameter", pin_diameter, unit="m", above=0.0)
    return np.asarray(force / (d * require("thickness", thickness, unit="m", above=0.0)))


def bolt_preload(tightening_torque: ArrayLike, *, diameter: ArrayLike, nut_factor: ArrayLike = NUT_FACTOR) -> Array:
    """Preload of a bolt tightened to a torque.

    Parameters
    ----------
    tightening_torque : [N m]
    diameter : nominal, of the thread [m]
    nut_factor : [1]

    Returns
    -------
    preload [N], broadcast shape; rises in torque, falls in diameter and nut factor

    Raises
    ------
    DomainError
        Negative torque, other arguments not above zero.

    Notes
    -----
    F = M/(K d); the scatter of K is of the order of a quarter.

    References
    ----------
    Shigley's Mechanical Engineering Design, 9th ed., equation 8-27 and Table 8-15.
    """
    moment = require("tightening_torque", tightening_torque, unit="N m", low=0.0)
    d = require("diameter", diameter, unit="m", above=0.0)
    return np.asarray(moment / (require("nut_factor", nut_factor, unit="1", above=0.0) * d))


def bolt_friction_torque(
    preload: ArrayLike, *, bolts: ArrayLike, friction: ArrayLike, circle_radius: ArrayLike
) -> Array:
    """Torque that faces bolted together hold by friction before the bolts are sheared.

    Parameters
    ----------
    preload : of a bolt [N]
    bolts : their number [1]
    friction : between the faces [1]
    circle_radius : of the bolts' centres [m]

    Returns
    -------
    torque [N m], broadcast shape; rises in all

    Raises
    ------
    DomainError
        Negative preload, fewer than one bolt, friction not in [0, 3], radius not above zero.

    Notes
    -----
    M = n mu F r: Coulomb friction where each bolt presses.

    >>> round(float(bolt_friction_torque(6000.0, bolts=6, friction=0.15, circle_radius=0.022)), 1)
    118.8
    """
    force = require("preload", preload, unit="N", low=0.0)
    n = require("bolts", bolts, unit="1", low=1.0)
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    return np.asarray(n * mu * force * require("circle_radius", circle_radius, unit="m", above=0.0))


def thread_stress_area(diameter: ArrayLike, *, pitch: ArrayLike) -> Array:
    """Section of a metric thread that bears tension.

    Parameters
    ----------
    diameter : nominal, of the thread [m]
    pitch : [m]

    Returns
    -------
    area [m^2], broadcast shape; rises in diameter, falls in pitch

    Raises
    ------
    DomainError
        An argument not above zero, pitch so coarse that no core is left.

    Notes
    -----
    A = pi/4 (d - 0.9382 p)^2: the circle between pitch and minor diameter.  Inch threads have other roots.

    References
    ----------
    ISO 898-1:2013, nominal stress area.

    >>> round(float(thread_stress_area(6e-3, pitch=1e-3)) * 1e6, 1)
    20.1
    """
    core = _core(diameter, pitch, 0.9382)
    return np.asarray(0.25 * np.pi * core * core)


def screw_thread_shear_area(diameter: ArrayLike, *, pitch: ArrayLike, engagement: ArrayLike) -> Array:
    """Area along which the metric thread of a screw strips.

    Parameters
    ----------
    diameter : nominal, of the thread [m]
    pitch : [m]
    engagement : length of thread in the nut [m]

    Returns
    -------
    area [m^2], broadcast shape; rises in diameter and engagement, falls in pitch

    Raises
    ------
    DomainError
        An argument not above zero, pitch so coarse that no core is left.

    Notes
    -----
    0.80 pi d_minor L with d_minor = d - 1.2269 p.

    References
    ----------
    R. L. Norton, Machine Design, chapter on screws and fasteners, thread stripping area factors (from memory).
    """
    length = require("engagement", engagement, unit="m", above=0.0)
    return np.asarray(_STRIPPED_SCREW * np.pi * _core(diameter, pitch, 1.2269) * length)


def nut_thread_shear_area(diameter: ArrayLike, *, engagement: ArrayLike) -> Array:
    """Area along which the thread of a nut or a tapped hub strips.

    Parameters
    ----------
    diameter : nominal, of the thread [m]
    engagement : length of thread in the nut [m]

    Returns
    -------
    area [m^2], broadcast shape; rises in both

    Raises
    ------
    DomainError
        An argument not above zero.

    Notes
    -----
    0.88 pi d L.

    References
    ----------
    R. L. Norton, Machine Design, chapter on screws and fasteners, thread stripping area factors (from memory).
    """
    d = require("diameter", diameter, unit="m", above=0.0)
    return np.asarray(_STRIPPED_NUT * np.pi * d * require("engagement", engagement, unit="m", above=0.0))


def _per_piece(torque: ArrayLike, name: str, count: ArrayLike, circle_radius: ArrayLike) -> Array:
    moment = require("torque", torque, unit="N m", low=0.0)
    pieces = require(name, count, unit="1", low=1.0)
    return np.asarray(moment / (pieces * require("circle_radius", circle_radius, unit="m", above=0.0)))


def _core(diameter: ArrayLike, pitch: ArrayLike, depth: float) -> Array:
    d = require("diameter", diameter, unit="m", above=0.0)
    p = require("pitch", pitch, unit="m", above=0.0)
    return require("core diameter", d - depth * p, unit="m", above=0.0)
