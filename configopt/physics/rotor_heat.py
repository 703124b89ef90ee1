"""Rotor heat: capacity, energy of stops, rise after one and after many; cooling and the descent are reachable here.

The rotor is lumped.  A 1.8 mm steel disc evens out across its thickness in about a tenth of a second, so the
semi-infinite surface formulas of thick car discs do not apply; differences along the radius are neglected.
Regeneration is never counted here: it is not part of the service brake.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require
from configopt.physics.rotor_cooling import (
    free_disc_convection,
    free_disc_laminar_convection,
    solid_rotor_convection,
)
from configopt.physics.rotor_descent import descent_power, descent_temperature, worst_descent_speed

__all__ = [
    "descent_power",
    "descent_temperature",
    "disc_heat_share",
    "drag_rise",
    "effusivity",
    "free_disc_convection",
    "free_disc_laminar_convection",
    "heat_capacity",
    "repeated_stops_rise",
    "single_stop_rise",
    "solid_rotor_convection",
    "stop_energy",
    "track_area",
    "track_mass",
    "worst_descent_speed",
]


def track_area(outer_diameter: ArrayLike, track_height: ArrayLike) -> Array:
    """Area of ONE face of the annular brake track.

    Parameters
    ----------
    outer_diameter : rotor diameter [m]
    track_height : radial height of the track, about the pad height [m]

    Returns
    -------
    area of one face [m^2], broadcast shape

    Raises
    ------
    DomainError
        A length not above zero, or the track higher than the rotor's radius.

    Notes
    -----
    A = pi h (D - h).

    >>> round(float(track_area(0.200, 0.015)) * 1e4, 2)
    87.18
    """
    d = require("outer_diameter", outer_diameter, unit="m", above=0.0)
    h = require("track_height", track_height, unit="m", above=0.0)
    require("outer_diameter/2 - track_height", 0.5 * d - h, unit="m", low=0.0)
    return np.asarray(np.pi * h * (d - h))


def track_mass(area: ArrayLike, *, thickness: ArrayLike, density: ArrayLike) -> Array:
    """Mass of the brake track without carrier or cut-outs.

    Parameters
    ----------
    area : one face of the track [m^2], see :func:`track_area`
    thickness : rotor thickness [m]; at the wear limit where heat is judged
    density : of the rotor material [kg/m^3]

    Returns
    -------
    mass [kg], broadcast shape

    Raises
    ------
    DomainError
        Any argument not above zero.

    >>> round(float(track_mass(track_area(0.200, 0.015), thickness=1.8e-3, density=7750.0)), 4)
    0.1216
    """
    a = require("area", area, unit="m^2", above=0.0)
    t = require("thickness", thickness, unit="m", above=0.0)
    rho = require("density", density, unit="kg/m^3", above=0.0)
    return np.asarray(a * t * rho)


def heat_capacity(area: ArrayLike, *, thickness: ArrayLike, density: ArrayLike, specific_heat: ArrayLike) -> Array:
    """Heat that warms the brake track by one kelvin.

    Parameters
    ----------
    area : one face of the track [m^2]
    thickness : rotor thickness [m]
    density : of the rotor material [kg/m^3]
    specific_heat : of the rotor material [J/(kg K)]

    Returns
    -------
    heat capacity [J/K], broadcast shape

    Raises
    ------
    DomainError
        Any argument not above zero.
    """
    c = require("specific_heat", specific_heat, unit="J/(kg K)", above=0.0)
    return np.asarray(track_mass(area, thickness=thickness, density=density) * c)


def stop_energy(
    mass: ArrayLike,
    *,
    inertia_over_radius_squared: ArrayLike,
    speed: ArrayLike,
    end_speed: ArrayLike = 0.0,
    resistance_work: ArrayLike = 0.0,
) -> Array:
    """Energy the brakes take out of one stop.

    Parameters
    ----------
    mass : laden mass [kg]
    inertia_over_radius_squared : sum of I/R^2 over the wheels and driven parts [kg]
    speed, end_speed : speed at the start and at the end [m/s]
    resistance_work : work that rolling and air resistance take meanwhile [J]

    Returns
    -------
    energy [J], broadcast shape; 0 where the resistances do it alone

    Raises
    ------
    DomainError
        Negative argument, or end speed above speed.

    Notes
    -----
    E = (m + sum I/R^2)(V1^2 - V2^2)/2 - W.

    References
    ----------
    R. Limpert, Brake Design and Safety, chapter 3 (from memory).

    >>> round(float(stop_energy(190.0, inertia_over_radius_squared=0.0, speed=60 / 3.6)))
    26389
    """
    m = require("mass", mass, unit="kg", above=0.0)
    rotating = require("inertia_over_radius_squared", inertia_over_radius_squared, unit="kg", low=0.0)
    v1 = require("speed", speed, unit="m/s", low=0.0)
    v2 = require("end_speed", end_speed, unit="m/s", low=0.0)
    require("speed - end_speed", v1 - v2, unit="m/s", low=0.0)
    work = require("resistance_work", resistance_work, unit="J", low=0.0)
    return np.asarray(np.maximum(0.5 * (m + rotating) * (v1 * v1 - v2 * v2) - work, 0.0))


def effusivity(*, density: ArrayLike, specific_heat: ArrayLike, conductivity: ArrayLike) -> Array:
    """Thermal effusivity of a material.

    Parameters
    ----------
    density : [kg/m^3]
    specific_heat : [J/(kg K)]
    conductivity : [W/(m K)]

    Returns
    -------
    effusivity [W s^0.5/(m^2 K)], broadcast shape

    Raises
    ------
    DomainError
        Any argument not above zero.

    Notes
    -----
    e = sqrt(rho c k).
    """
    rho = require("density", density, unit="kg/m^3", above=0.0)
    c = require("specific_heat", specific_heat, unit="J/(kg K)", above=0.0)
    k = require("conductivity", conductivity, unit="W/(m K)", above=0.0)
    return np.asarray(np.sqrt(rho * c * k))


def disc_heat_share(*, disc_effusivity: ArrayLike, pad_effusivity: ArrayLike) -> Array:
    """Share of the friction heat that enters the disc.

    Parameters
    ----------
    disc_effusivity, pad_effusivity : effusivity of either partner [W s^0.5/(m^2 K)]

    Returns
    -------
    share [1], broadcast shape

    Raises
    ------
    DomainError
        An effusivity not above zero.

    Notes
    -----
    p = e_d/(e_d + e_p), both bodies thick against the depth of heating and rubbing on equal areas.  The pad rubs on
    a part of the disc only, so the true share is larger; sizing uses 1.

    References
    ----------
    R. Limpert, Brake Design and Safety, section 3.1.2 (from memory).
    """
    disc = require("disc_effusivity", disc_effusivity, unit="W s^0.5/(m^2 K)", above=0.0)
    pad = require("pad_effusivity", pad_effusivity, unit="W s^0.5/(m^2 K)", above=0.0)
    return np.asarray(disc / (disc + pad))


def single_stop_rise(energy: ArrayLike, *, mass: ArrayLike, specific_heat: ArrayLike) -> Array:
    """Mean temperature rise of a rotor in one stop too short for cooling.

    Parameters
    ----------
    energy : heat into this rotor [J]
    mass : of the heated part [kg]
    specific_heat : [J/(kg K)]

    Returns
    -------
    rise [K], broadcast shape

    Raises
    ------
    DomainError
        Negative energy, mass or specific heat not above zero.

    Notes
    -----
    dT = E/(m c); an upper bound, because carrier, pads and fluid take nothing here.

    References
    ----------
    R. Limpert, Brake Design and Safety, chapter 3 (from memory).
    """
    heat = require("energy", energy, unit="J", low=0.0)
    m = require("mass", mass, unit="kg", above=0.0)
    c = require("specific_heat", specific_heat, unit="J/(kg K)", above=0.0)
    return np.asarray(heat / (m * c))


def repeated_stops_rise(rise: ArrayLike, *, stops: ArrayLike, interval: ArrayLike, time_constant: ArrayLike) -> Array:
    """Temperature above ambient right after the last of n equal stops.

    Parameters
    ----------
    rise : rise of a single stop [K]
    stops : number of stops n [1]
    interval : time between stops [s]
    time_constant : m c/(h A) of cooling between them [s]

    Returns
    -------
    rise [K], broadcast shape; n times ``rise`` where nothing cools between stops

    Raises
    ------
    DomainError
        Negative rise or interval, fewer than one stop, time constant not above zero.

    Notes
    -----
    dT_n = dT (1 - q^n)/(1 - q), q = exp(-interval/time_constant): a geometric series.

    References
    ----------
    R. Limpert, Brake Design and Safety, repeated braking (from memory).

    >>> round(float(repeated_stops_rise(100.0, stops=2, interval=10.0, time_constant=10.0)), 2)
    136.79
    """
    step = require("rise", rise, unit="K", low=0.0)
    n = require("stops", stops, unit="1", low=1.0)
    pause = require("interval", interval, unit="s", low=0.0)
    tau = require("time_constant", time_constant, unit="s", above=0.0)
    step, n, x = np.broadcast_arrays(step, n, pause / tau)
    # expm1 keeps the quotient exact where hardly anything cools between two stops.
    series = np.divide(np.expm1(-n * x), np.expm1(-x), out=np.array(n, dtype=np.float64), where=x > 0.0)
    return np.asarray(step * series)


def drag_rise(power: ArrayLike, *, hA: ArrayLike, time: ArrayLike, mass: ArrayLike, specific_heat: ArrayLike) -> Array:
    """Temperature rise under constant braking power, convection only.

    Parameters
    ----------
    power : heat into the rotor [W]
    hA : convection coefficient times area [W/K]
    time : since braking began [s]
    mass : of the heated part [kg]
    specific_heat : [J/(kg K)]

    Returns
    -------
    rise above ambient [K], broadcast shape

    Raises
    ------
    DomainError
        Negative power or time, other arguments not above zero.

    Notes
    -----
    dT = P/(hA) (1 - exp(-hA t/(m c))).  Radiation matters above some 300 degrees Celsius: `descent_temperature`
    has it; this one is its limit.

    References
    ----------
    R. Limpert, Brake Design and Safety, continuous braking (from memory).
    """
    heat = require("power", power, unit="W", low=0.0)
    conductance = require("hA", hA, unit="W/K", above=0.0)
    t = require("time", time, unit="s", low=0.0)
    m = require("mass", mass, unit="kg", above=0.0)
    c = require("specific_heat", specific_heat, unit="J/(kg K)", above=0.0)
    return np.asarray(-heat / conductance * np.expm1(-conductance * t / (m * c)))
