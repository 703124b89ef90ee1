"""Folding of a spoked wheel out of its plane: under its own tension, and under a radial load.

The hub stands still and the tire is left out, as in :mod:`configopt.physics.wheel_stiffness`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require
from configopt.physics.spoke_foundation import SpokeSide, spoke_foundation
from configopt.physics.wheel_stiffness import MODES, rim_mode

BEST_TENSION_SHARE: Final = 0.5
"""Rule of thumb: share of the critical tension at which a wheel bears the largest side load; Ford 2018."""


def critical_pull(
    left: SpokeSide,
    right: SpokeSide,
    *,
    rim_radius: ArrayLike,
    radial_rigidity: ArrayLike,
    lateral_rigidity: ArrayLike,
    torsional_rigidity: ArrayLike,
) -> Array:
    """Inward pull of the spokes at which the rim folds out of its plane without any load.

    Parameters
    ----------
    left, right : spokes of either flange, their tensions in the ratio of the built wheel
    rim_radius : [m]
    radial_rigidity, lateral_rigidity : E I of the rim in and out of its plane [N m^2]
    torsional_rigidity : G J of the rim [N m^2]

    Returns
    -------
    pull [N/m], broadcast shape; rises in every rigidity of the rim and in the number and E A of equal spokes

    Raises
    ------
    DomainError
        Radius, rigidities or pull of the spokes not above zero.

    Notes
    -----
    The least over n >= 2 waves of K_n(no tension)/(pi (n^2 - R kappa)), kappa T_bar the part of k_uu that the tension
    gives; waves with n^2 <= R kappa cannot fold.  Unequal sides lessen K_n as in
    :func:`configopt.physics.wheel_stiffness.rim_compliance`, the tension's part in k_uv, k_vv and k_ww left out.
    Imperfect rims go out of true at about half of it.

    References
    ----------
    M. Ford, 2018, chapter on buckling under tension, equation tcn_lin_nophi; S. P. Timoshenko, J. M. Gere, Theory of
    Elastic Stability, 1961 (ring without lateral support, as cited there).
    """
    r = require("rim_radius", rim_radius, unit="m", above=0.0)
    ei1 = require("radial_rigidity", radial_rigidity, unit="N m^2", above=0.0)
    ei2 = require("lateral_rigidity", lateral_rigidity, unit="N m^2", above=0.0)
    gj = require("torsional_rigidity", torsional_rigidity, unit="N m^2", above=0.0)
    pull = require("pull", spoke_foundation(left, right, rim_radius=r).pull, unit="N/m", above=0.0)
    bare = spoke_foundation(*(replace(side, tension=np.zeros(())) for side in (left, right)), rim_radius=r)
    string = sum(side.spokes * side.tension / side.length * (1.0 - side.lateral**2) for side in (left, right))
    kappa = string / (2.0 * np.pi * r * pull)
    least = np.full((), np.inf)
    for n in range(2, MODES + 1):
        n2 = float(n * n)
        inward = np.asarray(bare.radial) + np.asarray(bare.tangential) / n2 + ei1 * (n2 - 1.0) ** 2 / r**4
        side = np.pi * r * (np.asarray(bare.lateral) - np.asarray(bare.coupling) ** 2 / inward)
        side = side + rim_mode(n, rim_radius=r, lateral_rigidity=ei2, torsional_rigidity=gj)
        # Where turning spokes pull the rim back faster than it folds, no tension folds it into so few waves.
        folding = np.pi * (n2 - r * kappa)
        least = np.minimum(least, np.where(folding > 0.0, side / np.where(folding > 0.0, folding, 1.0), np.inf))
    return least


def buckling_reserve(left: SpokeSide, right: SpokeSide, *, rim_radius: ArrayLike, critical: ArrayLike) -> Array:
    """Critical tension over tension: how far the wheel is from folding by its spokes alone.

    Parameters
    ----------
    left, right : spokes of either flange
    rim_radius : [m]
    critical : critical pull of these spokes [N/m]; see :func:`critical_pull`

    Returns
    -------
    reserve [1], broadcast shape; falls in the tension; times a side's tension its critical tension

    Raises
    ------
    DomainError
        Radius, critical pull or pull of the spokes not above zero.
    """
    limit = require("critical", critical, unit="N/m", above=0.0)
    pull = require("pull", spoke_foundation(left, right, rim_radius=rim_radius).pull, unit="N/m", above=0.0)
    return np.asarray(limit / pull)


def best_tension(tension: ArrayLike, *, reserve: ArrayLike) -> Array:
    """Tension that bears the largest side load before a spoke slackens, as a rule of thumb.

    Parameters
    ----------
    tension : of a spoke [N]
    reserve : its critical tension over it [1]; see :func:`buckling_reserve`

    Returns
    -------
    tension [N], broadcast shape

    Raises
    ------
    DomainError
        Negative tension, reserve not above zero.

    Notes
    -----
    Half the critical tension: with K_lat(T) = K_lat(0) (1 - T/T_c) the load T K_lat(T) is largest there.  By the modes
    of :func:`configopt.physics.wheel_stiffness.rim_compliance` the largest load lies higher, at 0.6 to 0.8 of T_c, and
    half bears at least three quarters of it; but a rim goes out of true there.  Spokes and nipples may permit less.

    References
    ----------
    M. Ford, 2018, chapter on external loads, T_opt = 0.5 T_c.
    """
    force = require("tension", tension, unit="N", low=0.0)
    return np.asarray(BEST_TENSION_SHARE * force * require("reserve", reserve, unit="1", above=0.0))


def rim_buckling_load(lateral_stiffness: ArrayLike, *, rim_radius: ArrayLike, reserve: ArrayLike) -> Array:
    """Radial load under which the rim folds sideways, the spokes kept from going slack.

    Parameters
    ----------
    lateral_stiffness : of the wheel without tension [N/m]
    rim_radius : [m]
    reserve : critical tension over tension [1]; see :func:`buckling_reserve`

    Returns
    -------
    load [N], broadcast shape; rises in all arguments; zero at a reserve of 1 or less

    Raises
    ------
    DomainError
        Negative stiffness, other arguments not above zero.

    Notes
    -----
    P = K_lat(0) R (1 - T/T_c): the load point swings about the hub as a column held by a spring.  Slack spokes bring
    the fold earlier: an upper bound.

    References
    ----------
    M. Ford, 2018, chapter on external loads, equations Pc_1dof and P_c_T.
    """
    k = require("lateral_stiffness", lateral_stiffness, unit="N/m", low=0.0)
    r = require("rim_radius", rim_radius, unit="m", above=0.0)
    share = 1.0 / require("reserve", reserve, unit="1", above=0.0)
    return np.asarray(k * r * np.maximum(1.0 - share, 0.0))
