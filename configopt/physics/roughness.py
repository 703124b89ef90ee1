"""Road roughness: ISO 8608 classes, their spectra, and what a contact patch of finite length feels of them.

Everything rests on one number per surface, the roughness constant G = Gd(n0) n0^2: with waviness w = 2 the displacement
density is G/n^2, so the vertical velocity under a rolling wheel is white noise whose intensity grows with G and speed.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.errors import DomainError
from configopt.physics.domain import Array, require

REFERENCE_FREQUENCY: Final = 0.1
"""n0, the spatial frequency at which the classes are defined [cycle/m]; ISO 8608:2016."""

ROAD_CLASSES: Final = MappingProxyType({"A": 16e-6, "B": 64e-6, "C": 256e-6, "D": 1024e-6, "E": 4096e-6})
"""Geometric mean of Gd(n0) of each class [m^3]; ISO 8608:2016, table of classes in annex C.

The standard goes on to class H; ground rougher than class E is described by its single obstacles instead.
"""


def require_roughness(roughness: ArrayLike) -> Array:
    """Roughness constant G [m], guarded: zero is a perfect plane, class H of the standard reaches 0.0026 m."""
    return require("roughness", roughness, unit="m", low=0.0, high=0.1)


def require_rolling_speed(speed: ArrayLike) -> Array:
    """Speed V [m/s], guarded."""
    return require("speed", speed, unit="m/s", low=0.0, high=150.0)


def require_patch_length(patch_length: ArrayLike, name: str = "patch_length") -> Array:
    """Length l of a contact patch [m], guarded; zero is a point follower."""
    return require(name, patch_length, unit="m", low=0.0, high=5.0)


def roughness_constant(road_class: str) -> float:
    """Roughness constant G of a road class [m].

    Parameters
    ----------
    road_class : letter "A" (smoothest) to "E"

    Returns
    -------
    float
        G = Gd(n0) n0^2 with the geometric mean of the class; its unit is m^3 (cycle/m)^2 = m.

    Raises
    ------
    DomainError
        If there is no such class, or if it is rougher than "E".

    References
    ----------
    ISO 8608:2016, table of classes in annex C.

    >>> f"{roughness_constant('C'):.2e}"
    '2.56e-06'
    """
    density = ROAD_CLASSES.get(road_class)
    if density is None:
        raise DomainError(
            f'road_class is "{road_class[:20]}"; allowed is {" ".join(ROAD_CLASSES)} '
            "(describe rougher ground by its obstacles)"
        )
    return density * REFERENCE_FREQUENCY**2


def displacement_density(spatial_frequency: ArrayLike, *, roughness: ArrayLike) -> Array:
    """One-sided spectral density of the road's height Gd(n) [m^3].

    Parameters
    ----------
    spatial_frequency : n [cycle/m], any shape, above zero
    roughness : G [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Gd(n) = Gd(n0) (n/n0)^-w with w = 2, which is G/n^2.  The standard reports 0.01 (off-road 0.05) to 10 cycle/m.

    References
    ----------
    ISO 8608:2016.

    >>> f"{float(displacement_density(0.1, roughness=roughness_constant('A'))):.3e}"
    '1.600e-05'
    """
    n = require("spatial_frequency", spatial_frequency, unit="cycle/m", above=0.0, high=1e6)
    density: Array = require_roughness(roughness) / (n * n)
    return density


def angular_displacement_density(angular_frequency: ArrayLike, *, roughness: ArrayLike) -> Array:
    """One-sided spectral density of the road's height over the angular spatial frequency Gd(Omega) [m^3/rad].

    Parameters
    ----------
    angular_frequency : Omega = 2 pi n [rad/m], any shape, above zero
    roughness : G [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Gd(Omega) dOmega = Gd(n) dn, hence 2 pi G/Omega^2.  The figures 1, 4, 16, ... of the standard belong to this form at
    1 rad/m, the figures 16, 64, 256, ... to the other at 0.1 cycle/m: mixing them up is an error by a factor of 16.

    References
    ----------
    ISO 8608:2016.

    >>> f"{float(angular_displacement_density(1.0, roughness=roughness_constant('A'))):.1e}"
    '1.0e-06'
    """
    omega = require("angular_frequency", angular_frequency, unit="rad/m", above=0.0, high=1e7)
    density: Array = 2.0 * np.pi * require_roughness(roughness) / (omega * omega)
    return density


def road_velocity_intensity(speed: ArrayLike, *, roughness: ArrayLike) -> Array:
    """Intensity S0 of the white noise that the road's vertical velocity is at a point moving along it [m^2/s].

    Parameters
    ----------
    speed : V [m/s], any shape, >= 0
    roughness : G [m]

    Returns
    -------
    Array
        S0, such that the velocity has the autocorrelation S0 delta(t) and the two-sided density S0 per hertz.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    With n = f/V the one-sided velocity density is (2 pi f)^2 Gd(f/V)/V = 4 pi^2 G V at every frequency; the two-sided
    one is half of it, S0 = 2 pi^2 G V.

    References
    ----------
    Derived from the displacement density of ISO 8608:2016.

    >>> f"{float(road_velocity_intensity(10.0, roughness=roughness_constant('C'))):.3e}"
    '5.053e-04'
    """
    intensity: Array = 2.0 * np.pi**2 * require_roughness(roughness) * require_rolling_speed(speed)
    return intensity


def patch_lag(patch_length: ArrayLike, *, speed: ArrayLike) -> Array:
    """Time constant of the first-order low pass by which a contact patch filters the road's velocity [s].

    Parameters
    ----------
    patch_length : l [m], any shape, >= 0; zero is a point follower
    speed : V [m/s], >= 0

    Returns
    -------
    Array
        1/a = l/(2 V); zero for a point follower at any speed, infinite where a longer patch stands still.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    The corner lies at V/(pi l) hertz, that is at a = 2 V/l in radians per second: the low pass then passes as much
    white noise, a/4 hertz, as the mean over the patch length does, V/(2 l) hertz.

    >>> float(patch_lag(0.16, speed=8.0))
    0.01
    """
    length = require_patch_length(patch_length)
    v = require_rolling_speed(speed)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return np.where(length > 0.0, length / (2.0 * v), 0.0)
