"""The spokes of a wheel, smeared into a foundation under the rim.

u is the rim's movement to the left, v inward, w along the rim; c_1, c_2, c_3 are a spoke's direction cosines.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require
from configopt.physics.spokes import crossing_angle, spoke_length


@dataclass(frozen=True)
class SpokeSide:
    """The spokes of one flange.

    Attributes
    ----------
    spokes : their number [1]
    rigidity : E A of one spoke [N]
    length : of one spoke [m]
    lateral, radial, tangential : direction cosines from rim to hub, as magnitudes [1]
    tension : of one spoke [N]

    Raises
    ------
    DomainError
        Fewer than two spokes, rigidity or length not above zero, negative tension, or a figure that is not a number.
    """

    spokes: Array
    rigidity: Array
    length: Array
    lateral: Array
    radial: Array
    tangential: Array
    tension: Array

    def __post_init__(self) -> None:
        require("spokes", self.spokes, unit="1", low=2.0)
        require("rigidity", self.rigidity, unit="N", above=0.0)
        require("length", self.length, unit="m", above=0.0)
        for name in ("lateral", "radial", "tangential"):
            require(name, getattr(self, name), unit="1")
        require("tension", self.tension, unit="N", low=0.0)

    @property
    def stiffness(self) -> Array:
        """Of one spoke along its axis, E A/l [N/m]."""
        return np.asarray(self.rigidity / self.length)


def spoke_side(
    spokes: ArrayLike,
    *,
    rigidity: ArrayLike,
    tension: ArrayLike,
    flange_offset: ArrayLike,
    flange_radius: ArrayLike,
    rim_radius: ArrayLike,
    crossings: ArrayLike,
) -> SpokeSide:
    """Spokes of one flange from the wheel's geometry.

    Parameters
    ----------
    spokes : on this flange [1]
    rigidity : E A of one spoke [N]; see :func:`configopt.physics.spokes.spoke_rigidity`
    tension : of one spoke [N]
    flange_offset : distance of the flange from the rim's centre plane [m]
    flange_radius : of the flange's hole circle [m]
    rim_radius : half the effective rim diameter [m]
    crossings : spokes of the same side that one spoke crosses [1]

    Returns
    -------
    SpokeSide

    Raises
    ------
    DomainError
        Rigidity not above zero, negative tension, or as :func:`configopt.physics.spokes.spoke_length`.
    """
    count = require("spokes", spokes, unit="1", low=2.0)
    ea = require("rigidity", rigidity, unit="N", above=0.0)
    pull = require("tension", tension, unit="N", low=0.0)
    geometry = {"flange_radius": flange_radius, "rim_radius": rim_radius, "crossings": crossings}
    length = spoke_length(flange_offset, spokes_per_side=spokes, **geometry)
    o, h, r = (np.asarray(value, dtype=np.float64) for value in (flange_offset, flange_radius, rim_radius))
    a = crossing_angle(crossings, spokes_per_side=spokes)
    return SpokeSide(count, ea, length, o / length, (r - h * np.cos(a)) / length, np.abs(h * np.sin(a)) / length, pull)


@dataclass(frozen=True)
class Foundation:
    """What the spokes are to the rim, per length of rim.

    Attributes
    ----------
    lateral, radial, tangential : stiffness k_uu, k_vv, k_ww [N/m^2]
    coupling : lateral force by inward movement k_uv [N/m^2]; zero for equal sides
    pull : inward pull of the tensioned spokes T_bar [N/m]
    """

    lateral: ArrayLike
    coupling: ArrayLike
    radial: ArrayLike
    tangential: ArrayLike
    pull: ArrayLike


def spoke_foundation(left: SpokeSide, right: SpokeSide, *, rim_radius: ArrayLike) -> Foundation:
    """Smear the spokes of both sides over the rim.

    Parameters
    ----------
    left, right : spokes of either flange
    rim_radius : [m]

    Returns
    -------
    Foundation

    Raises
    ------
    DomainError
        Radius not above zero.

    Notes
    -----
    k_ij = sum over sides of n/(2 pi R) [E A c_i c_j/l + (T/l) (delta_ij - c_i c_j)], with c_1 to the left, c_2 inward,
    c_3 along the rim; pulling and pushing spokes cancel k_vw and k_uw.  T_bar = sum of n T c_2/(2 pi R).  All but the
    coupling rise in the number of spokes and in the tension, and but for the pull in E A; all fall in the radius at the
    same spokes.  Good where several spokes lie within the length of rim that a load bends (4 E I/k)^(1/4) to either
    side; stiffnesses under a load at one spoke are then good to a few per cent.

    References
    ----------
    M. Ford, Reinventing the Wheel, PhD thesis, Northwestern University, 2018, section on smeared spokes, equations
    k_bar and kbar_symm_radial, and appendix on asymmetric wheels.
    """
    circle = 2.0 * np.pi * require("rim_radius", rim_radius, unit="m", above=0.0)
    lateral = coupling = radial = tangential = pull = np.zeros(())
    for side, sign in ((left, 1.0), (right, -1.0)):
        c1, c2, c3 = side.lateral, side.radial, side.tangential
        density, string = side.spokes / circle, side.tension / side.length
        stretch = side.stiffness - string
        lateral = lateral + density * (stretch * c1 * c1 + string)
        coupling = coupling + sign * density * stretch * c1 * c2
        radial = radial + density * (stretch * c2 * c2 + string)
        tangential = tangential + density * (stretch * c3 * c3 + string)
        pull = pull + density * side.tension * c2
    return Foundation(lateral, coupling, radial, tangential, pull)
