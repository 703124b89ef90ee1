"""The first slack spoke of a wheel under a side load, a radial load or a torque.

A spoke can push no more than its tension gives up.  From the first slack spoke on the wheel is softer than
:mod:`configopt.physics.wheel_stiffness` says, nipples unscrew and the rim may fold.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require
from configopt.physics.spoke_foundation import SpokeSide
from configopt.physics.spokes import torque_tension_change
from configopt.physics.wheel_stiffness import Compliance


def side_load_shares(left: SpokeSide, right: SpokeSide, *, compliance: Compliance) -> tuple[Array, Array]:
    """Tension that the loaded spoke loses by a side load at the rim, over the load.

    Parameters
    ----------
    left, right : spokes of either flange
    compliance : of the rim; see :func:`configopt.physics.wheel_stiffness.rim_compliance`

    Returns
    -------
    shares [1] of a left spoke under a load to the left and of a right spoke under a load to the right

    Raises
    ------
    DomainError
        A compliance that is negative or not a number.

    Notes
    -----
    E A/l (c_1 y_uu +- c_2 y_uv) with the compliances y: the rim moves towards the flange and, where the sides differ,
    inward or outward as well.  Infinite where the wheel buckles.

    References
    ----------
    M. Ford, Reinventing the Wheel, 2018, chapter on external loads, displacement at the first slack spoke; per side by
    own derivation.
    """
    cosines = (left.lateral, left.radial), (right.lateral, -right.radial)
    _require_compliance(compliance)
    return _shares(left, right, cosines, main=compliance.lateral, cross=compliance.cross)


def radial_load_shares(left: SpokeSide, right: SpokeSide, *, compliance: Compliance) -> tuple[Array, Array]:
    """Tension that the loaded spoke loses by a radial load at the rim, over the load.

    Parameters
    ----------
    left, right, compliance : as in :func:`side_load_shares`

    Returns
    -------
    shares [1] of a left and of a right spoke under the load

    Raises
    ------
    DomainError
        A compliance that is negative or not a number.

    Notes
    -----
    E A/l (c_2 y_vv +- c_1 y_uv).  The tire spreads the load over several spokes, which is left out: on the safe side.

    References
    ----------
    M. Ford, 2018, chapter on external loads, equation P_sb; per side by own derivation.
    """
    cosines = (left.radial, left.lateral), (right.radial, -right.lateral)
    _require_compliance(compliance)
    return _shares(left, right, cosines, main=compliance.radial, cross=compliance.cross)


def first_slack_side_load(left: SpokeSide, right: SpokeSide, *, compliance: Compliance) -> Array:
    """Side load at the rim, from the worse side, that takes the last tension from a spoke.

    Parameters
    ----------
    left, right, compliance : as in :func:`side_load_shares`, the compliance at the tension of the spokes

    Returns
    -------
    load [N], broadcast shape; zero where the wheel buckles under its tension

    Raises
    ------
    DomainError
        A compliance that is negative or not a number.

    Notes
    -----
    P = K_lat(T) T/(K_s c_1) for equal sides, the lower of T/share of both sides otherwise.  As tension also softens
    the wheel, the load rises with it up to half the critical tension or more and falls beyond.  Where the sides are
    equal it rises in every rigidity of the rim.

    References
    ----------
    M. Ford, 2018, equation Pc_lat.
    """
    return _first(left, right, side_load_shares(left, right, compliance=compliance))


def first_slack_radial_load(left: SpokeSide, right: SpokeSide, *, compliance: Compliance) -> Array:
    """Radial load at the rim that takes the last tension from the spoke under it.

    Parameters
    ----------
    left, right, compliance : as in :func:`first_slack_side_load`

    Returns
    -------
    load [N], broadcast shape; zero where the wheel buckles under its tension

    Raises
    ------
    DomainError
        A compliance that is negative or not a number.

    Notes
    -----
    P = K_rad T/(K_s c_2) for equal sides, the lower of T/share of both sides otherwise.  Where the sides are equal it
    rises in tension and in the radial rigidity of the rim.

    References
    ----------
    M. Ford, 2018, equation P_sb.
    """
    return _first(left, right, radial_load_shares(left, right, compliance=compliance))


def first_slack_torque_one_flange(driven: SpokeSide, *, rim_radius: ArrayLike) -> Array:
    """Torque between hub and rim that takes the last tension from a spoke, one flange driving.

    Parameters
    ----------
    driven : spokes of the flange that carries the torque
    rim_radius : [m]

    Returns
    -------
    torque [N m], broadcast shape; rises in tension, number of spokes and their arm; zero for radial spokes

    Raises
    ------
    DomainError
        Radius not above zero.

    Notes
    -----
    T over the change of :func:`configopt.physics.spokes.torque_tension_change`, the arm being R c_3.
    """
    change = _torque_change(driven, share=1.0, rim_radius=rim_radius)
    return np.asarray(driven.tension / change)


def first_slack_torque_two_flanges(left: SpokeSide, right: SpokeSide, *, rim_radius: ArrayLike) -> Array:
    """Torque between hub and rim that takes the last tension from a spoke, both flanges driving.

    Parameters
    ----------
    left, right : spokes of either flange
    rim_radius : [m]

    Returns
    -------
    torque [N m], broadcast shape; rises in the tension of both sides; zero where both sides are radial

    Raises
    ------
    DomainError
        Radius not above zero.

    Notes
    -----
    A stiff hub body turns both flanges alike: they share the torque as their n E A/l c_3^2.  The lower torque of both.
    """
    stiff = [side.spokes * side.stiffness * side.tangential**2 for side in (left, right)]
    total = stiff[0] + stiff[1]
    whole = np.where(total > 0.0, total, 1.0)
    torques = []
    for side, part in zip((left, right), stiff, strict=True):
        change = _torque_change(side, share=part / whole, rim_radius=rim_radius)
        carries = part > 0.0
        torques.append(np.where(carries, side.tension / np.where(carries, change, 1.0), np.inf))
    return np.where(total > 0.0, np.minimum(*torques), 0.0)


def _require_compliance(compliance: Compliance) -> None:
    require("compliance.lateral", compliance.lateral, unit="m/N", low=0.0)
    require("compliance.cross", compliance.cross, unit="m/N")
    require("compliance.radial", compliance.radial, unit="m/N", low=0.0)


def _shares(
    left: SpokeSide,
    right: SpokeSide,
    cosines: tuple[tuple[Array, Array], tuple[Array, Array]],
    *,
    main: Array,
    cross: Array,
) -> tuple[Array, Array]:
    finite = np.isfinite(main)
    movement = np.where(finite, main, 0.0)
    first, second = (
        np.where(finite, side.stiffness * (along * movement + across * cross), np.inf)
        for side, (along, across) in zip((left, right), cosines, strict=True)
    )
    return first, second


def _first(left: SpokeSide, right: SpokeSide, shares: tuple[Array, Array]) -> Array:
    loads = [
        np.where(share > 0.0, side.tension / np.where(share > 0.0, share, 1.0), np.inf)
        for side, share in zip((left, right), shares, strict=True)
    ]
    return np.minimum(*loads)


def _torque_change(side: SpokeSide, *, share: ArrayLike, rim_radius: ArrayLike) -> Array:
    """Tension change per newton metre on the wheel; infinite for radial spokes."""
    arm = require("rim_radius", rim_radius, unit="m", above=0.0) * side.tangential
    change = torque_tension_change(share, spokes=side.spokes, flange_radius=np.where(arm > 0.0, arm, 1.0))
    return np.where(arm > 0.0, change, np.inf)
