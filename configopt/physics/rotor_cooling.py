"""Convection coefficients of a brake disc: which correlation is used is always stated, because the families differ.

A disc spinning in still air and a disc in the airstream of a moving machine differ by a factor of four to six; results
name the function that gave them (`CORRELATIONS`).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require

AIR_CONDUCTIVITY: Final = 0.0257
"""Thermal conductivity of air at 20 degrees Celsius [W/(m K)]."""

AIR_VISCOSITY: Final = 15.1e-6
"""Kinematic viscosity of air at 20 degrees Celsius and sea level [m^2/s]."""

_CHANGEOVER: Final = 2.4e5


def solid_rotor_convection(
    speed: ArrayLike,
    *,
    diameter: ArrayLike,
    conductivity: ArrayLike = AIR_CONDUCTIVITY,
    viscosity: ArrayLike = AIR_VISCOSITY,
) -> Array:
    """Convection coefficient of a solid rotor on a moving vehicle.

    Parameters
    ----------
    speed : vehicle speed [m/s]
    diameter : rotor diameter [m]
    conductivity : of air [W/(m K)]
    viscosity : kinematic viscosity of air [m^2/s]

    Returns
    -------
    coefficient [W/(m^2 K)], broadcast shape

    Raises
    ------
    DomainError
        Negative speed, other arguments not above zero.

    Notes
    -----
    h = 0.70 (k/D) Re^0.55 for Re <= 2.4e5, else 0.04 (k/D) Re^0.8, Re = V D/nu with the VEHICLE speed.  The published
    branches do not meet: h jumps up by 27 % at the change.

    References
    ----------
    R. Limpert, Brake Design and Safety, convection of solid rotors (from memory).

    >>> round(float(solid_rotor_convection(30 / 3.6, diameter=0.20)), 1)
    53.4
    """
    v = require("speed", speed, unit="m/s", low=0.0)
    d = require("diameter", diameter, unit="m", above=0.0)
    k = require("conductivity", conductivity, unit="W/(m K)", above=0.0)
    nu = require("viscosity", viscosity, unit="m^2/s", above=0.0)
    reynolds = v * d / nu
    nusselt = np.where(reynolds <= _CHANGEOVER, 0.70 * reynolds**0.55, 0.04 * reynolds**0.8)
    return np.asarray(nusselt * k / d)


def free_disc_laminar_convection(
    angular_speed: ArrayLike,
    *,
    conductivity: ArrayLike = AIR_CONDUCTIVITY,
    viscosity: ArrayLike = AIR_VISCOSITY,
    coefficient: ArrayLike = 0.36,
) -> Array:
    """Convection coefficient of a disc spinning in still air, laminar flow.

    Parameters
    ----------
    angular_speed : of the disc [rad/s]
    conductivity : of air [W/(m K)]
    viscosity : kinematic viscosity of air [m^2/s]
    coefficient : 0.36 after Kreith, 0.335 after Wagner [1]

    Returns
    -------
    coefficient [W/(m^2 K)], broadcast shape; the same at every radius and for every diameter

    Raises
    ------
    DomainError
        Negative speed, other arguments not above zero.

    Notes
    -----
    h = 0.36 k sqrt(omega/nu), up to omega r^2/nu of about 2.4e5.

    References
    ----------
    F. Kreith, Principles of Heat Transfer, rotating disc; C. Wagner, J. Appl. Phys. 19 (1948) 837 (both from memory).

    >>> round(float(free_disc_laminar_convection(27.78)), 1)
    12.5
    """
    omega = require("angular_speed", angular_speed, unit="rad/s", low=0.0)
    k = require("conductivity", conductivity, unit="W/(m K)", above=0.0)
    nu = require("viscosity", viscosity, unit="m^2/s", above=0.0)
    factor = require("coefficient", coefficient, unit="1", above=0.0)
    return np.asarray(factor * k * np.sqrt(omega / nu))


def free_disc_convection(
    angular_speed: ArrayLike,
    *,
    radius: ArrayLike,
    conductivity: ArrayLike = AIR_CONDUCTIVITY,
    viscosity: ArrayLike = AIR_VISCOSITY,
    transition_reynolds: ArrayLike = _CHANGEOVER,
) -> Array:
    """Mean convection coefficient of a disc spinning in still air, laminar inside and turbulent outside.

    Parameters
    ----------
    angular_speed : of the disc [rad/s]
    radius : outer radius of the disc [m]
    conductivity : of air [W/(m K)]
    viscosity : kinematic viscosity of air [m^2/s]
    transition_reynolds : omega r^2/nu at which the flow turns turbulent [1]; 0 for turbulent flow from the centre

    Returns
    -------
    coefficient [W/(m^2 K)], broadcast shape; laminar value where the transition lies beyond the rim

    Raises
    ------
    DomainError
        Negative speed or transition, other arguments not above zero.

    Notes
    -----
    h = (k/r_o)[0.36 Re^0.5 (r_c/r_o)^2 + 0.015 Re^0.8 (1 - (r_c/r_o)^2.6)], Re = omega r_o^2/nu, (r_c/r_o)^2 = Re_c/Re.

    References
    ----------
    F. Kreith, Principles of Heat Transfer, rotating disc (from memory).
    """
    omega = require("angular_speed", angular_speed, unit="rad/s", low=0.0)
    r = require("radius", radius, unit="m", above=0.0)
    k = require("conductivity", conductivity, unit="W/(m K)", above=0.0)
    nu = require("viscosity", viscosity, unit="m^2/s", above=0.0)
    change = require("transition_reynolds", transition_reynolds, unit="1", low=0.0)
    reynolds, change = np.broadcast_arrays(omega * r * r / nu, change)
    inner = np.divide(change, reynolds, out=np.ones(reynolds.shape), where=reynolds > change)
    return np.asarray(k / r * (0.36 * np.sqrt(reynolds) * inner + 0.015 * reynolds**0.8 * (1.0 - inner**1.3)))


class Correlation(NamedTuple):
    """A named cooling model: where its Reynolds number applies and whose it is."""

    reynolds: str
    low: float
    high: float
    reference: str


CORRELATIONS: Final = {
    "solid_rotor_convection": Correlation("V D/nu", 1e4, 1e6, "R. Limpert, Brake Design and Safety (from memory)"),
    "free_disc_laminar_convection": Correlation(
        "omega r^2/nu", 0.0, 2.4e5, "F. Kreith, Principles of Heat Transfer (from memory)"
    ),
    "free_disc_convection": Correlation(
        "omega r^2/nu", 0.0, 1e6, "F. Kreith, Principles of Heat Transfer (from memory)"
    ),
}
"""Name of the function -> range of its Reynolds number and source."""
