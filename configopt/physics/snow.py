"""Undisturbed snow on a firm base: how far a wheel compacts it.

The Bekker soil of a snow takes no depth: where the snow is shallow, the sinkage here is the bound.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require

ICE_DENSITY: Final = 917.0
"""Density of ice at 0 degrees Celsius [kg/m3], which no snow exceeds."""

_PRESSURES: Final = np.array([210e3, 350e3, 700e3])
_DENSITIES: Final = np.array([500.0, 550.0, 600.0, 650.0])


def compacted_density(pressure: ArrayLike) -> Array:
    """Density to which a wheel compacts snow [kg/m3]; rises in steps with the pressure.

    Parameters
    ----------
    pressure : largest contact pressure [Pa], any shape

    Raises
    ------
    DomainError
        Negative pressure, or where it is not a number.

    Notes
    -----
    500 kg/m3 up to 210 kPa, 550 above, 600 above 350 kPa, 650 above 700 kPa.  Light wheels always compact to 500.

    References
    ----------
    P. W. Richmond, Motion Resistance of Wheeled Vehicles in Snow, CRREL Report 95-7, 1995, table with equation 1.

    >>> compacted_density([100e3, 300e3]).tolist()
    [500.0, 550.0]
    """
    p = require("pressure", pressure, unit="Pa", low=0.0, high=1e9)
    return np.asarray(_DENSITIES[np.searchsorted(_PRESSURES, p, side="left")])


def snow_sinkage(depth: ArrayLike, *, initial_density: ArrayLike, final_density: ArrayLike) -> Array:
    """Depth of the rut that a wheel leaves in undisturbed snow [m]; rises in depth and final, falls in initial density.

    Parameters
    ----------
    depth : of the undisturbed snow on firm ground h [m], any shape
    initial_density : of the undisturbed snow rho_0 [kg/m3]
    final_density : of the compacted snow rho_f [kg/m3], see :func:`compacted_density`

    Returns
    -------
    Array
        h (1 - rho_0/rho_f); zero where the snow already is as dense.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    The column keeps its mass, and the whole depth is compacted: shallow snow.  Measured ruts are deeper by up to a
    third, because snow also flows aside.

    References
    ----------
    P. W. Richmond, CRREL Report 95-7, 1995, equation 1 (from memory); examples in P. W. Richmond, S. A. Shoop,
    G. L. Blaisdell, Cold Regions Mobility Models, CRREL Report 95-1, 1995, Table A5.

    >>> round(float(snow_sinkage(0.15, initial_density=200.0, final_density=500.0)), 3)
    0.09
    """
    h = require("depth", depth, unit="m", low=0.0, high=20.0)
    fresh = require("initial_density", initial_density, unit="kg/m3", above=0.0, high=ICE_DENSITY)
    packed = require("final_density", final_density, unit="kg/m3", above=0.0, high=ICE_DENSITY)
    return np.asarray(h * np.maximum(1.0 - fresh / packed, 0.0))
