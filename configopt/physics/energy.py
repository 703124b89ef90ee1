"""Energy along the road: grade, drive and regeneration, road load and coast-down, range.

A force times a distance is an energy, so every energy here is per metre of travel, in newtons.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import KMH, STANDARD_GRAVITY
from configopt.physics.domain import Array, require


def grade_force(mass: ArrayLike, *, slope_angle: ArrayLike) -> Array:
    """Force along a slope.

    Parameters
    ----------
    mass : laden mass [kg]
    slope_angle : [rad], negative downhill

    Returns
    -------
    force against the motion [N], broadcast shape; negative downhill

    Raises
    ------
    DomainError
        Negative mass, angle outside -90 to 90 degrees.

    Notes
    -----
    F = m g sin(angle).  A grade of 20 % is the angle atan(0.2).

    >>> round(float(grade_force(200.0, slope_angle=np.arctan(0.2))), 1)
    384.6
    """
    m = require("mass", mass, unit="kg", low=0.0)
    angle = require("slope_angle", slope_angle, unit="rad", low=-0.5 * np.pi, high=0.5 * np.pi)
    return np.asarray(m * STANDARD_GRAVITY * np.sin(angle))


def battery_energy(
    traction_force: ArrayLike,
    *,
    drive_efficiency: ArrayLike,
    regeneration_efficiency: ArrayLike,
    regeneration_force_limit: ArrayLike,
) -> Array:
    """Energy from the battery per metre of travel.

    Parameters
    ----------
    traction_force : force the driven wheels must give [N]; negative where the machine must be held back
    drive_efficiency : battery to wheel [1]
    regeneration_efficiency : wheel to battery [1]; 0 without regeneration
    regeneration_force_limit : largest braking force the motor and the grip of the driven wheel allow [N]

    Returns
    -------
    energy per distance [J/m], broadcast shape; negative where energy returns

    Raises
    ------
    DomainError
        Drive efficiency not in (0, 1], regeneration efficiency outside 0 to 1, negative limit.

    Notes
    -----
    F/eta for F >= 0, else -eta_r min(-F, limit): increasing in F and convex.  What exceeds the limit goes into the
    brakes.

    >>> battery_energy([80.0, -80.0], drive_efficiency=0.8, regeneration_efficiency=0.5, regeneration_force_limit=60.0)
    array([100., -30.])
    """
    force = require("traction_force", traction_force, unit="N")
    drive = require("drive_efficiency", drive_efficiency, unit="1", above=0.0, high=1.0)
    back = require("regeneration_efficiency", regeneration_efficiency, unit="1", low=0.0, high=1.0)
    limit = require("regeneration_force_limit", regeneration_force_limit, unit="N", low=0.0)
    return np.asarray(np.maximum(force, 0.0) / drive - back * np.minimum(np.maximum(-force, 0.0), limit))


def epa_road_load(speed: ArrayLike, *, constant: ArrayLike, quadratic: ArrayLike) -> Array:
    """Road load in the form of the motorcycle emission rules.

    Parameters
    ----------
    speed : [m/s]
    constant : A of F = A + C V^2 [N]
    quadratic : C [N/(m/s)^2]; the rules print it per (km/h)^2, 12.96 times smaller

    Returns
    -------
    force [N], broadcast shape

    Raises
    ------
    DomainError
        Negative argument.

    References
    ----------
    40 CFR 86.529-98, Road load force and inertia weight determination, Figure F98-9.

    >>> round(float(epa_road_load(65 / 3.6, constant=8.69, quadratic=0.0252 * 12.96)), 1)
    115.2
    """
    v = require("speed", speed, unit="m/s", low=0.0)
    a = require("constant", constant, unit="N", low=0.0)
    c = require("quadratic", quadratic, unit="N s^2/m^2", low=0.0)
    return np.asarray(a + c * v * v)


def coast_down_time(
    mass: ArrayLike, *, constant: ArrayLike, quadratic: ArrayLike, begin_speed: ArrayLike, end_speed: ArrayLike
) -> Array:
    """Time in which the road load alone slows a machine between two speeds.

    Parameters
    ----------
    mass : with the equivalent mass of its wheels [kg]
    constant, quadratic : of the road load, as in :func:`epa_road_load`
    begin_speed, end_speed : [m/s]

    Returns
    -------
    time [s], broadcast shape

    Raises
    ------
    DomainError
        Negative argument, mass not above zero, end above begin, no resistance at all.

    Notes
    -----
    The integral of m dV/(A + C V^2) is m (V1 - V2)/N atan(x)/x with N = A + C V1 V2 and x = (V1 - V2) sqrt(A C)/N, one
    expression for A = 0, C = 0 and all between.

    References
    ----------
    40 CFR 86.529-98, coast-down from 70 to 60 km/h.

    >>> round(float(coast_down_time(200.0, constant=8.69, quadratic=0.0252 * 12.96,
    ...                             begin_speed=70 / 3.6, end_speed=60 / 3.6)), 2)
    4.85
    """
    m = require("mass", mass, unit="kg", above=0.0)
    a = require("constant", constant, unit="N", low=0.0)
    c = require("quadratic", quadratic, unit="N s^2/m^2", low=0.0)
    v1 = require("begin_speed", begin_speed, unit="m/s", low=0.0)
    v2 = require("end_speed", end_speed, unit="m/s", low=0.0)
    drop = require("begin_speed - end_speed", v1 - v2, unit="m/s", low=0.0)
    middle = require("constant + quadratic * begin_speed * end_speed", a + c * v1 * v2, unit="N", above=0.0)
    x = np.asarray(drop * np.sqrt(a * c) / middle)
    shape = np.divide(np.arctan(x), x, out=np.ones(x.shape), where=x > 0.0)
    return np.asarray(m * drop / middle * shape)


def running_resistance_rule(reference_mass: ArrayLike) -> tuple[Array, Array]:
    """Road load that the dynamometer rules assign to a two-wheeler by its mass.

    Parameters
    ----------
    reference_mass : equivalent inertia mass [kg]

    Returns
    -------
    constant [N] and quadratic [N/(m/s)^2] coefficient, for :func:`epa_road_load`

    Raises
    ------
    DomainError
        Mass outside 50 to 600 kg.

    Notes
    -----
    a = 0.088 m, b = 1.5e-5 m + 0.0200 in N/(km/h)^2.

    References
    ----------
    UN Global Technical Regulation No. 2, dynamometer setting by the running resistance table (from memory).

    >>> [round(float(x), 4) for x in running_resistance_rule(150.0)]
    [13.2, 0.2884]
    """
    m = require("reference_mass", reference_mass, unit="kg", low=50.0, high=600.0)
    return np.asarray(0.088 * m), np.asarray((1.5e-5 * m + 0.0200) / KMH**2)


def range_from_energy(usable_energy: ArrayLike, *, energy_per_distance: ArrayLike) -> Array:
    """Distance that a charge lasts.

    Parameters
    ----------
    usable_energy : of the battery [J]
    energy_per_distance : from the battery, over the whole mix of terrain [J/m]

    Returns
    -------
    range [m], broadcast shape

    Raises
    ------
    DomainError
        Negative energy, consumption not above zero (a mix that runs downhill only has no range).

    >>> float(range_from_energy(3.6e6, energy_per_distance=100.0))
    36000.0
    """
    energy = require("usable_energy", usable_energy, unit="J", low=0.0)
    need = require("energy_per_distance", energy_per_distance, unit="J/m", above=0.0)
    return np.asarray(energy / need)
