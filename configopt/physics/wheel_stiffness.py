"""Stiffness of a spoked wheel: the rim a ring on the foundation of its spokes.

Loads act at one point of the rim; the hub stands still and the tire is left out.  The rim's centre line keeps its
length and every spoke stays tight: :mod:`configopt.physics.slack_spokes` says up to which load.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require
from configopt.physics.spoke_foundation import Foundation

MODES = 16
"""Waves around the rim up to which modes are summed one by one."""


def radial_stiffness(foundation_stiffness: ArrayLike, *, rim_radius: ArrayLike, radial_rigidity: ArrayLike) -> Array:
    """Radial stiffness of a wheel with equal sides: a ring on an elastic foundation under one load.

    Parameters
    ----------
    foundation_stiffness : k_vv [N/m^2]
    rim_radius : [m]
    radial_rigidity : E I of the rim in its plane [N m^2]

    Returns
    -------
    stiffness [N/m], broadcast shape; rises in foundation stiffness and rigidity

    Raises
    ------
    DomainError
        An argument not above zero.

    Notes
    -----
    With lambda = k R^4/(E I), eta = sqrt(lambda + 1), a, b = sqrt((eta -+ 1)/2):
    K = E I/R^3 / [(b sinh(a pi) cosh(a pi) + a sin(b pi) cos(b pi))/(4 a b eta (sinh^2(a pi) + sin^2(b pi)))
    - 1/(2 pi eta^2)].  Written in exp(-2 pi a), so that neither stiff spokes nor a stiff rim spoil it: it runs from
    pi R k (rigid rim) to (64 E I k^3)^(1/4) (long beam).

    References
    ----------
    M. Ford, 2018, equation Krad (there with the bracket's sign reversed), after A. J. S. Pippard, W. E. Francis, 1931;
    long beam: M. Hetenyi, Beams on Elastic Foundation, 1946.

    >>> round(float(radial_stiffness(35.3e6, rim_radius=0.304, radial_rigidity=111.0)) / 1e6, 2)
    4.44
    """
    k = require("foundation_stiffness", foundation_stiffness, unit="N/m^2", above=0.0)
    r = require("rim_radius", rim_radius, unit="m", above=0.0)
    ei = require("radial_rigidity", radial_rigidity, unit="N m^2", above=0.0)
    ratio = k * r**4 / ei
    eta = np.sqrt(ratio + 1.0)
    a = np.sqrt(0.5 * ratio / (eta + 1.0))  # (eta - 1)/2 without its rounding error
    b = np.sqrt(0.5 * (eta + 1.0))
    turn = np.pi * a * a / (b + 1.0)  # pi (b - 1), so that the sine of b pi is good where b is close to 1
    decay, half = np.expm1(-4.0 * np.pi * a), np.expm1(-2.0 * np.pi * a)
    rest = 4.0 * (half + 1.0)
    above = rest * a * np.sin(turn) * np.cos(turn) - b * decay
    below = half * half + rest * np.sin(turn) ** 2
    bracket = above / (4.0 * a * b * eta * below) - 0.5 / (np.pi * eta * eta)
    return np.asarray(ei / r**3 / bracket)


@dataclass(frozen=True)
class Compliance:
    """Movement of the rim at a load of one newton there.

    Attributes
    ----------
    lateral : to the left by a load to the left [m/N]; infinite where the wheel buckles under its tension
    cross : inward by a load to the left, and to the left by a load inward [m/N]; zero for equal sides
    radial : inward by a load inward [m/N]; infinite where the wheel buckles under its tension
    """

    lateral: Array
    cross: Array
    radial: Array


def rim_mode(waves: int, *, rim_radius: Array, lateral_rigidity: Array, torsional_rigidity: Array) -> Array:
    """Stiffness of the bare rim against ``waves`` waves out of its plane [N/m]: bending and torsion in series."""
    n2 = float(waves * waves)
    bending = lateral_rigidity * torsional_rigidity * n2 / (lateral_rigidity + torsional_rigidity * n2)
    return np.asarray(np.pi * bending * (n2 - 1.0) ** 2 / rim_radius**3)


def rim_compliance(
    foundation: Foundation,
    *,
    rim_radius: ArrayLike,
    radial_rigidity: ArrayLike,
    lateral_rigidity: ArrayLike,
    torsional_rigidity: ArrayLike,
) -> Compliance:
    """Movement of the rim under a load at one point of it.

    Parameters
    ----------
    foundation : the smeared spokes
    rim_radius : [m]
    radial_rigidity, lateral_rigidity : E I of the rim in and out of its plane [N m^2]
    torsional_rigidity : G J of the rim [N m^2]

    Returns
    -------
    Compliance
        Lateral and radial fall in every rigidity and in every stiffness of the foundation at the same coupling, and
        rise in its pull and in the magnitude of the coupling.

    Raises
    ------
    DomainError
        Radius, rigidities, lateral or radial foundation not above zero, negative tangential foundation or pull.

    Notes
    -----
    Modes in series: 1/K = 1/K_0 + 1/K_1 + ..., K_0 = 2 pi R k_uu and, for n waves,
    K_n = pi R k_uu + K_rim,n - pi n^2 T_bar with K_rim,n = pi/R^3 (n^2-1)^2 E I_2 G J n^2/(E I_2 + G J n^2).
    Unequal sides couple u to v: each mode is a pair of equations with pi R k_uv between K_n and
    pi R (k_vv + k_ww/n^2) + pi E I_1 (n^2-1)^2/R^3 (own derivation: the thesis's mode matrix for a rim of fixed
    length, which leaves n = 0 uncoupled).  So k_uu is lessened to k_uu - k_uv^2/k_vv in the modes that matter.  Beyond
    :data:`MODES` waves the lateral sum is closed by an integral, good to 1e-4 of the whole, and the radial one is that
    of :func:`radial_stiffness`, which leaves k_ww and k_uv out.

    References
    ----------
    M. Ford, 2018, equations Klat_series and Kn, section on the mode matrix.
    """
    kuu = require("foundation.lateral", foundation.lateral, unit="N/m^2", above=0.0)
    kvv = require("foundation.radial", foundation.radial, unit="N/m^2", above=0.0)
    kww = require("foundation.tangential", foundation.tangential, unit="N/m^2", low=0.0)
    kuv = require("foundation.coupling", foundation.coupling, unit="N/m^2")
    pull = require("foundation.pull", foundation.pull, unit="N/m", low=0.0)
    r = require("rim_radius", rim_radius, unit="m", above=0.0)
    ei1 = require("radial_rigidity", radial_rigidity, unit="N m^2", above=0.0)
    ei2 = require("lateral_rigidity", lateral_rigidity, unit="N m^2", above=0.0)
    gj = require("torsional_rigidity", torsional_rigidity, unit="N m^2", above=0.0)

    around = np.pi * r
    shared = around * kuv
    lateral = 0.5 / (around * kuu)
    cross = np.zeros(())
    radial = 1.0 / radial_stiffness(kvv, rim_radius=r, radial_rigidity=ei1)
    stable = np.full(np.broadcast_shapes(*(np.shape(x) for x in (kuu, kvv, kww, kuv, pull, r, ei1, ei2, gj))), True)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for n in range(1, MODES + 1):
            n2 = float(n * n)
            side = around * kuu - np.pi * n2 * pull
            side = side + rim_mode(n, rim_radius=r, lateral_rigidity=ei2, torsional_rigidity=gj)
            still = around * kvv + np.pi * ei1 * (n2 - 1.0) ** 2 / r**3
            inward = still + around * kww / n2
            left_over = side - shared * shared / inward
            stable &= left_over > 0.0
            lateral = lateral + 1.0 / left_over
            cross = cross - shared / (inward * left_over)
            radial = radial + (shared / inward) ** 2 / left_over + 1.0 / inward - 1.0 / still
    beyond = MODES + 0.5
    lateral = lateral + r**3 / np.pi * (1.0 / (3.0 * ei2 * beyond**3) + 1.0 / (5.0 * gj * beyond**5))
    return Compliance(np.where(stable, lateral, np.inf), np.where(stable, cross, 0.0), np.where(stable, radial, np.inf))


def tangential_stiffness(foundation_stiffness: ArrayLike, *, rim_radius: ArrayLike) -> Array:
    """Stiffness of the wheel against a force along the rim; times the radius squared, against torque.

    Parameters
    ----------
    foundation_stiffness : k_ww [N/m^2]
    rim_radius : [m]

    Returns
    -------
    stiffness [N/m], broadcast shape; rises in both

    Raises
    ------
    DomainError
        Negative foundation stiffness, radius not above zero.

    Notes
    -----
    K = 2 pi R k_ww: the rim turns on the hub as a rigid body.

    References
    ----------
    M. Ford, 2018, equation Ktan.
    """
    k = require("foundation_stiffness", foundation_stiffness, unit="N/m^2", low=0.0)
    return np.asarray(2.0 * np.pi * require("rim_radius", rim_radius, unit="m", above=0.0) * k)
