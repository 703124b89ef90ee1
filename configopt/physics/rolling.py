"""Rolling loss on firm ground: how the coefficient depends on pressure and speed, and what test rigs report."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import KMH
from configopt.physics.domain import Array, require

BAR = 1e5
"""Pa per bar: the published fits count pressure in bar."""

SPEED_SWITCH = 165.0 * KMH
"""Speed [m/s] at which the motorcycle formula changes its branch (with a jump in the source)."""

PRESSURE_SWITCH = 1.5 * BAR
"""Gauge pressure [Pa] below which the motorcycle formula no longer applies and the power law takes over."""

DEFAULT_EXPONENT = -0.5
"""Exponent of the power law below the switch: an estimate, range -0.8 to -0.3."""


def bradley_coefficient(pressure: ArrayLike, *, speed: ArrayLike) -> Array:
    """Rolling resistance coefficient of motorcycle tires on a road [1].

    Parameters
    ----------
    pressure : inflation pressure, gauge [Pa], any shape, above zero
    speed : forward speed [m/s], >= 0

    Returns
    -------
    Array
        Coefficient f, resistance over load.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    With p in bar and V in km/h: f = 0.0085 + 0.018/p + 1.59e-6 V^2/p up to 165 km/h, beyond it
    f = 0.018/p + 2.91e-6 V^2/p.  The branches do not meet in the source (at 2 bar 0.0391 below, 0.0486 above).

    References
    ----------
    J. Bradley, "The Racing Motorcycle", 1996; used by V. Cossalter, "Motorcycle Dynamics".

    >>> round(float(bradley_coefficient(2.0e5, speed=100 / 3.6)), 5)
    0.02545
    """
    p = require("pressure", pressure, unit="Pa", above=0.0, high=2e6) / BAR
    v = require("speed", speed, unit="m/s", low=0.0, high=150.0)
    square = (v / KMH) ** 2
    slow = 0.0085 + (0.018 + 1.59e-6 * square) / p
    fast = (0.018 + 2.91e-6 * square) / p
    return np.where(v <= SPEED_SWITCH, slow, fast)


def pressure_speed_factor(
    pressure: ArrayLike,
    *,
    carcass_pressure: ArrayLike,
    speed: ArrayLike,
    exponent: ArrayLike = DEFAULT_EXPONENT,
) -> Array:
    """Shape g of the dependence of the rolling coefficient on pressure and speed; only its ratios mean something.

    Parameters
    ----------
    pressure : inflation pressure, gauge [Pa], any shape, >= 0
    carcass_pressure : casing stiffness as a pressure [Pa]; the sum of both must be above zero
    speed : forward speed [m/s]
    exponent : of the pressure below 1.5 bar [1], from the tire's own SAE J2452 test where there is one

    Returns
    -------
    Array
        g [1].

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    g = f(max(q, 1.5 bar), V) min(1, (q + q_c)/(1.5 bar + q_c))^a with f of :func:`bradley_coefficient`.  Below 1.5
    bar the speed term so keeps its value at 1.5 bar; g is continuous there.  The default exponent is an estimate.

    References
    ----------
    J. Bradley 1996 above 1.5 bar; the power law is the pressure factor of SAE J2452.

    >>> bool(pressure_speed_factor(50e3, carcass_pressure=15e3, speed=10.0)
    ...      > pressure_speed_factor(100e3, carcass_pressure=15e3, speed=10.0))
    True
    """
    q = require("pressure", pressure, unit="Pa", low=0.0, high=2e6)
    qc = require("carcass_pressure", carcass_pressure, unit="Pa", low=0.0, high=2e6)
    total = require("pressure + carcass_pressure", q + qc, unit="Pa", above=0.0)
    a = require("exponent", exponent, unit="1", low=-1.0, high=0.0)
    soft = np.minimum(1.0, total / (PRESSURE_SWITCH + qc)) ** a
    factor: Array = bradley_coefficient(np.maximum(q, PRESSURE_SWITCH), speed=speed) * soft
    return factor


def rolling_coefficient(
    reference_coefficient: ArrayLike,
    *,
    pressure: ArrayLike,
    carcass_pressure: ArrayLike,
    speed: ArrayLike,
    reference_pressure: ArrayLike,
    reference_speed: ArrayLike,
    exponent: ArrayLike = DEFAULT_EXPONENT,
) -> Array:
    """Rolling coefficient at another pressure and speed than those of the catalog's reading [1].

    Parameters
    ----------
    reference_coefficient : c at the reference condition [1], any shape
    pressure, reference_pressure : inflation pressures, gauge [Pa]
    carcass_pressure : casing stiffness as a pressure [Pa]
    speed, reference_speed : [m/s]
    exponent : of the pressure below 1.5 bar [1]

    Returns
    -------
    Array
        c [1].

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    c = c_ref g/g_ref with g of :func:`pressure_speed_factor`: the formula lends its shape, the reading its level.

    >>> float(rolling_coefficient(0.02, pressure=9e4, carcass_pressure=1e4, speed=8.0,
    ...                           reference_pressure=9e4, reference_speed=8.0))
    0.02
    """
    level = require("reference_coefficient", reference_coefficient, unit="1", low=0.0, high=1.0)
    here = pressure_speed_factor(pressure, carcass_pressure=carcass_pressure, speed=speed, exponent=exponent)
    there = pressure_speed_factor(
        require("reference_pressure", reference_pressure, unit="Pa", low=0.0, high=2e6),
        carcass_pressure=carcass_pressure,
        speed=require("reference_speed", reference_speed, unit="m/s", low=0.0, high=150.0),
        exponent=exponent,
    )
    result: Array = level * (here / there)
    return result


def sae_j2452_resistance(
    load: ArrayLike,
    *,
    pressure: ArrayLike,
    speed: ArrayLike,
    pressure_exponent: ArrayLike,
    load_exponent: ArrayLike,
    constant: ArrayLike,
    linear: ArrayLike = 0.0,
    quadratic: ArrayLike = 0.0,
) -> Array:
    """Rolling resistance by the regression form of a stepwise coast-down test [N].

    Parameters
    ----------
    load : Z [N], any shape
    pressure : inflation pressure, gauge [Pa], above zero
    speed : [m/s]
    pressure_exponent, load_exponent : alpha (< 0) and beta (near 1) of the test [1]
    constant, linear, quadratic : a, b, c of the test, in the test's own units of N, kPa and km/h

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    RR = P^alpha Z^beta (a + b V + c V^2), P in kPa, Z in N, V in km/h.

    References
    ----------
    SAE J2452, regression model.

    >>> float(sae_j2452_resistance(1000.0, pressure=100e3, speed=10.0, pressure_exponent=-0.5, load_exponent=1.0,
    ...                            constant=0.1))
    10.0
    """
    z = require("load", load, unit="N", low=0.0, high=1e6)
    kilopascal = require("pressure", pressure, unit="Pa", above=0.0, high=2e6) / 1e3
    v = require("speed", speed, unit="m/s", low=0.0, high=150.0) / KMH
    alpha = require("pressure_exponent", pressure_exponent, unit="1", low=-2.0, high=0.0)
    beta = require("load_exponent", load_exponent, unit="1", above=0.0, high=2.0)
    a = require("constant", constant, unit="test", low=-1e3, high=1e3)
    b = require("linear", linear, unit="test", low=-1e3, high=1e3)
    c = require("quadratic", quadratic, unit="test", low=-1e3, high=1e3)
    result: Array = kilopascal**alpha * z**beta * (a + v * (b + v * c))
    return result


def car_tire_coefficient(pressure: ArrayLike, *, speed: ArrayLike) -> Array:
    """Rolling coefficient of car tires on a road, a rough second look beside :func:`bradley_coefficient` [1].

    Parameters
    ----------
    pressure : inflation pressure, gauge [Pa], any shape, above zero
    speed : [m/s]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    c = 0.005 + (0.01 + 0.0095 (V/100)^2)/p with p in bar and V in km/h: common practice, no primary source.

    >>> round(float(car_tire_coefficient(2.9e5, speed=90 / 3.6)), 4)
    0.0111
    """
    p = require("pressure", pressure, unit="Pa", above=0.0, high=2e6) / BAR
    v = require("speed", speed, unit="m/s", low=0.0, high=150.0) / KMH
    result: Array = 0.005 + (0.01 + 0.0095 * (v / 100.0) ** 2) / p
    return result


def drum_to_flat_factor(tire_radius: ArrayLike, drum_radius: ArrayLike) -> Array:
    """How much more a tire resists on a round drum than on flat ground [1]; divide a drum reading by it.

    Parameters
    ----------
    tire_radius : [m], any shape
    drum_radius : radius of the convex drum [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    F_drum/F_flat = sqrt(1 + r/R).

    References
    ----------
    S. K. Clark, drum correction, as quoted in texts on brake and tire test rigs.

    >>> round(float(drum_to_flat_factor(tire_radius=0.3175, drum_radius=0.8535)), 3)
    1.171
    """
    r = require("tire_radius", tire_radius, unit="m", above=0.0, high=2.5)
    drum = require("drum_radius", drum_radius, unit="m", above=0.0, high=100.0)
    factor: Array = np.sqrt(1.0 + r / drum)
    return factor
