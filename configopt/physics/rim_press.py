"""The press test of bare motorcycle rims: standing on a flat base, loaded from above.

Of motorcycle rims only: the standard covers no others.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require

RING_FACTOR: Final = 0.25 * (np.pi - 8.0 / np.pi)
"""Shortening of a pressed ring's diameter, times E I/(P R^3) [1]."""

_WIDTHS: Final = np.array([1.10, 1.20, 1.40, 1.50, 1.60, 1.85, 2.15, 2.50])
_LOADS: Final = np.array([980.0, 1470.0, 1960.0, 2450.0, 3430.0, 4410.0, 4900.0, 6370.0])
_WIDEST: Final = 5.50
_ROUNDING: Final = 0.005


def press_deflection(diameter_code: ArrayLike) -> Array:
    """Deflection at which a motorcycle rim's load is read.

    Parameters
    ----------
    diameter_code : nominal rim diameter [in]

    Returns
    -------
    deflection [m], same shape: 10 mm up to code 15, 15 mm up to 18, 20 mm above

    Raises
    ------
    DomainError
        Code outside 4 to 30.

    References
    ----------
    JIS D 4215:1995 (corresponds to ISO 4249-3:1990), clause 3, Table 2.

    >>> press_deflection([14, 18, 21]).tolist()
    [0.01, 0.015, 0.02]
    """
    code = require("diameter_code", diameter_code, unit="in", low=4.0, high=30.0)
    return np.where(code <= 15.0, 0.010, np.where(code <= 18.0, 0.015, 0.020))


def press_load(width_code: ArrayLike) -> Array:
    """Least load that a motorcycle rim must bear at the test deflection without a crack.

    Parameters
    ----------
    width_code : nominal rim width [in]

    Returns
    -------
    load [N], same shape; rises in steps with the width, and is the same from 2.50 to 5.50

    Raises
    ------
    DomainError
        A width that the table does not list.

    References
    ----------
    JIS D 4215:1995, clause 3, Table 3.

    >>> press_load([1.60, 2.15, 3.00]).tolist()
    [3430.0, 4900.0, 6370.0]
    """
    code = require("width_code", width_code, unit="in", low=_WIDTHS[0] - _ROUNDING, high=_WIDEST + _ROUNDING)
    row = np.argmin(np.abs(np.minimum(code, _WIDTHS[-1])[..., None] - _WIDTHS), axis=-1)
    distance = np.abs(np.minimum(code, _WIDTHS[-1]) - _WIDTHS[row])
    require("distance of width_code from the nearest width of the table", distance, unit="in", high=_ROUNDING)
    return np.asarray(_LOADS[row])


def ring_press_stiffness(radial_rigidity: ArrayLike, *, radius: ArrayLike) -> Array:
    """Load over the shortening of the diameter of a bare ring pressed between two points.

    Parameters
    ----------
    radial_rigidity : E I of the ring in its plane [N m^2]
    radius : of its centre line [m]

    Returns
    -------
    stiffness [N/m], broadcast shape; rises in rigidity, falls in radius

    Raises
    ------
    DomainError
        An argument not above zero.

    Notes
    -----
    delta = P R^3/(4 E I) (pi - 8/pi) = 0.1488 P R^3/(E I): bending only, elastic.

    References
    ----------
    M. Ford, Reinventing the Wheel, 2018, chapter on acoustic testing, equation def_rad; S. P. Timoshenko, Strength of
    Materials (0.149, from memory).

    >>> round(float(ring_press_stiffness(800.0, radius=0.22)) / 1e3)
    505
    """
    ei = require("radial_rigidity", radial_rigidity, unit="N m^2", above=0.0)
    r = require("radius", radius, unit="m", above=0.0)
    return np.asarray(ei / (RING_FACTOR * r**3))


def press_reserve(
    radial_rigidity: ArrayLike, *, radius: ArrayLike, diameter_code: ArrayLike, width_code: ArrayLike
) -> Array:
    """Elastic load of a motorcycle rim at the test deflection over the least load the standard wants.

    Parameters
    ----------
    radial_rigidity : E I of the rim in its plane [N m^2]
    radius : of its centre line [m]
    diameter_code, width_code : nominal rim diameter and width [in]

    Returns
    -------
    reserve [1], broadcast shape; rises in rigidity

    Raises
    ------
    DomainError
        As :func:`ring_press_stiffness`, :func:`press_deflection` and :func:`press_load`.

    Notes
    -----
    Below 1 the rigidity is too low for the standard whatever the alloy.  Above 1 is no proof: a rim that yields before
    the test deflection bears less than this.
    """
    load = ring_press_stiffness(radial_rigidity, radius=radius) * press_deflection(diameter_code)
    return np.asarray(load / press_load(width_code))
