"""Short distances on the ellipsoid of WGS84."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: WGS84 (NIMA TR8350.2): equatorial radius [m] and flattening.
EQUATOR_RADIUS = 6_378_137.0
FLATTENING = 1.0 / 298.257_223_563
_E2 = FLATTENING * (2.0 - FLATTENING)


def steps(latitude: Floats, longitude: Floats) -> tuple[Floats, Floats]:
    """Steps between points that follow each other, to the east and to the north.

    Parameters
    ----------
    latitude, longitude
        Points [deg], shape (n,).

    Returns
    -------
    tuple
        Steps east and north [m], shape (n - 1,) each.  Steps across the antimeridian are short like others.

    Notes
    -----
    With the radii of curvature at the middle latitude, M along the meridian and N across it,
    ``north = M dlat`` and ``east = N cos(lat) dlon``; the distance is their hypotenuse.  The error grows with the
    square of the step: it is below 1e-6 for steps of 1 km anywhere between 85 degrees south and north, and below 1e-4
    for steps of 50 km at 60 degrees.  At the poles themselves it does not hold.

    References
    ----------
    Gauss's mid-latitude formulas in their lowest order: G. Bomford, Geodesy, 4th ed. 1980 (from memory); radii of
    curvature and figures of the ellipsoid: NIMA TR8350.2, Department of Defense World Geodetic System 1984, 3rd ed.

    Examples
    --------
    A minute of latitude at 45 degrees is a nautical mile but for some decimetres:

    >>> east, north = steps(np.array([44.99166667, 45.00833333]), np.array([7.0, 7.0]))
    >>> round(float(north[0]), 1)
    1852.2
    """
    phi = np.radians(latitude)
    middle = 0.5 * (phi[1:] + phi[:-1])
    w2 = 1.0 - _E2 * np.sin(middle) ** 2
    across = EQUATOR_RADIUS / np.sqrt(w2)
    along = across * (1.0 - _E2) / w2
    turn = np.diff(longitude)
    turn = (turn + 180.0) % 360.0 - 180.0
    return across * np.cos(middle) * np.radians(turn), along * np.diff(phi)
