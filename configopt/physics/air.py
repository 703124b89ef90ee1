"""Air: standard atmosphere below the tropopause and aerodynamic drag.

Altitude enters twice: thinner air means less drag, and the ambient pressure moves the gauge pressure of a tire that
was set at another altitude.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require

GAS_CONSTANT_AIR: Final = 287.05287
"""Specific gas constant of dry air [J/(kg K)]; ISO 2533:1975."""

_SEA_LEVEL_PRESSURE: Final = 101325.0
_SEA_LEVEL_TEMPERATURE: Final = 288.15
_LAPSE_RATE: Final = 0.0065
_EARTH_RADIUS: Final = 6356766.0
_PRESSURE_EXPONENT: Final = STANDARD_GRAVITY / (GAS_CONSTANT_AIR * _LAPSE_RATE)

LOWEST_ALTITUDE: Final = -500.0
HIGHEST_ALTITUDE: Final = 11000.0


def standard_temperature(altitude: ArrayLike) -> Array:
    """Air temperature of the standard atmosphere.

    Parameters
    ----------
    altitude : height above mean sea level [m], any shape

    Returns
    -------
    temperature [K], same shape

    Raises
    ------
    DomainError
        Altitude outside -500 to 11,000 m: the single lapse rate ends at the tropopause.

    Notes
    -----
    T = T0 - 0.0065 H with the geopotential height H = r z/(r + z), r = 6,356,766 m.

    References
    ----------
    ISO 2533:1975, Standard Atmosphere, clause 2; U.S. Standard Atmosphere, 1976, eqs 18 and 23 (from memory).

    >>> round(float(standard_temperature(0.0)), 2)
    288.15
    """
    z = require("altitude", altitude, unit="m", low=LOWEST_ALTITUDE, high=HIGHEST_ALTITUDE)
    return np.asarray(_SEA_LEVEL_TEMPERATURE - _LAPSE_RATE * (_EARTH_RADIUS * z / (_EARTH_RADIUS + z)))


def atmospheric_pressure(altitude: ArrayLike) -> Array:
    """Absolute pressure of the standard atmosphere.

    Parameters
    ----------
    altitude : height above mean sea level [m], any shape

    Returns
    -------
    pressure, absolute [Pa], same shape

    Raises
    ------
    DomainError
        Altitude outside -500 to 11,000 m.

    Notes
    -----
    p = p0 (T/T0)^(g/(R L)): hydrostatic equilibrium under a constant lapse rate L.

    References
    ----------
    ISO 2533:1975, clause 2; U.S. Standard Atmosphere, 1976, eq 33a (from memory).

    >>> float(atmospheric_pressure(0.0))
    101325.0
    """
    ratio = standard_temperature(altitude) / _SEA_LEVEL_TEMPERATURE
    return np.asarray(_SEA_LEVEL_PRESSURE * ratio**_PRESSURE_EXPONENT)


def air_density(altitude: ArrayLike, temperature: ArrayLike | None = None) -> Array:
    """Density of dry air at the standard pressure of an altitude.

    Parameters
    ----------
    altitude : height above mean sea level [m], any shape
    temperature : air temperature [K]; the standard temperature of the altitude where None

    Returns
    -------
    density [kg/m^3], broadcast shape

    Raises
    ------
    DomainError
        Altitude outside -500 to 11,000 m, temperature outside 180 to 340 K.

    Notes
    -----
    rho = p/(R T).  Humidity is left out: saturated air at 30 degrees Celsius is 1.6 % lighter.

    References
    ----------
    ISO 2533:1975, clause 2 (from memory).

    >>> round(float(air_density(0.0)), 3)
    1.225
    """
    pressure = atmospheric_pressure(altitude)
    kelvin = standard_temperature(altitude) if temperature is None else temperature
    kelvin = require("temperature", kelvin, unit="K", low=180.0, high=340.0)
    return np.asarray(pressure / (GAS_CONSTANT_AIR * kelvin))


def drag_force(speed: ArrayLike, *, drag_area: ArrayLike, density: ArrayLike) -> Array:
    """Aerodynamic drag in still air.

    Parameters
    ----------
    speed : vehicle speed [m/s]
    drag_area : drag coefficient times frontal area [m^2]
    density : air density [kg/m^3]

    Returns
    -------
    force [N], broadcast shape

    Raises
    ------
    DomainError
        Any argument negative or not a number.

    Notes
    -----
    F = rho CdA V^2/2.

    References
    ----------
    V. Cossalter, Motorcycle Dynamics, 2nd ed. 2006 (from memory).

    >>> round(float(drag_force(50 / 3.6, drag_area=0.6, density=1.225)), 1)
    70.9
    """
    v = require("speed", speed, unit="m/s", low=0.0)
    area = require("drag_area", drag_area, unit="m^2", low=0.0)
    rho = require("density", density, unit="kg/m^3", low=0.0)
    return np.asarray(0.5 * rho * area * v * v)
