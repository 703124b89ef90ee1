"""The tire under load: deflection, stiffness, contact patch, and the inflation it really has.

The load law is the one Smiley and Horne fitted to bias-ply tires.  Casing stiffness enters as a *carcass pressure*
that adds to the inflation pressure, so one law covers the firm tire and the nearly empty one.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.domain import Array, require

SHAPE_CONSTANT = 0.03
"""C of the load law, dimensionless; the value of Smiley and Horne for the common tire types."""

SWITCH = 10.0 * SHAPE_CONSTANT / 3.0
"""Relative deflection d/w at which the parabola of the load law passes into its straight line."""

_LINEAR = 0.96
_QUADRATIC = 0.216 / SHAPE_CONSTANT
_SLOPE = 2.4
_LOAD_AT_SWITCH = _SLOPE * (SWITCH - SHAPE_CONSTANT)

RIM_WIDTH_SHARE = 0.4
"""Growth of the section per growth of the rim [m/m]."""

DEFLECTION_LIMIT = 0.35
"""Default upper limit of deflection over section height."""


class _Casing(NamedTuple):
    """The factors that turn the dimensionless load law into newtons."""

    width: Array
    force: Array


def _require_casing(
    *, pressure: ArrayLike, carcass_pressure: ArrayLike, width: ArrayLike, diameter: ArrayLike
) -> _Casing:
    q = require("pressure", pressure, unit="Pa", low=0.0, high=2e6)
    qc = require("carcass_pressure", carcass_pressure, unit="Pa", low=0.0, high=2e6)
    total = require("pressure + carcass_pressure", q + qc, unit="Pa", above=0.0)
    w, diameter_ = _require_size(width=width, diameter=diameter)
    return _Casing(w, total * w * np.sqrt(w * diameter_))


def _require_size(*, width: ArrayLike, diameter: ArrayLike) -> tuple[Array, Array]:
    return (
        require("width", width, unit="m", above=0.0, high=2.0),
        require("diameter", diameter, unit="m", above=0.0, high=5.0),
    )


def _require_deflection(deflection: ArrayLike) -> Array:
    return require("deflection", deflection, unit="m", low=0.0, high=2.5)


def _shape(x: Array) -> Array:
    """Dimensionless load f(x) at the relative deflection x = d/w."""
    return np.where(x <= SWITCH, x * (_LINEAR + _QUADRATIC * x), _SLOPE * (x - SHAPE_CONSTANT))


def default_carcass_pressure(rated_pressure: ArrayLike, *, heavy_duty: ArrayLike) -> Array:
    """Carcass pressure of a casing of which no deflection reading exists.

    Parameters
    ----------
    rated_pressure : pressure at which the tire is rated [Pa], any shape
    heavy_duty : whether the casing is a heavy-duty one, bool, broadcastable

    Returns
    -------
    Array
        Carcass pressure [Pa].

    Raises
    ------
    DomainError
        If the rated pressure is negative, above 2 MPa or not a number.

    Notes
    -----
    q_c = 0.08 q_rated, half as much again for a heavy-duty casing.  The second factor is an estimate; the standard
    uncertainty of the result is 40 %.  One static reading replaces it (:func:`carcass_pressure_from_reading`).

    References
    ----------
    R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), from memory.

    >>> float(default_carcass_pressure(225e3, heavy_duty=False))
    18000.0
    """
    rated = require("rated_pressure", rated_pressure, unit="Pa", low=0.0, high=2e6)
    return 0.08 * rated * np.where(np.asarray(heavy_duty, dtype=bool), 1.5, 1.0)


def load_at_deflection(
    deflection: ArrayLike,
    *,
    pressure: ArrayLike,
    carcass_pressure: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
) -> Array:
    """Vertical force at a given deflection on a flat firm plane.

    Parameters
    ----------
    deflection : d, how far the axle sinks towards the ground [m], any shape
    pressure : inflation pressure, gauge [Pa]
    carcass_pressure : casing stiffness expressed as a pressure [Pa]; the sum of both must be above zero
    width : section width w [m]
    diameter : overall diameter D [m]

    Returns
    -------
    Array
        Force F [N].

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    F = (q + q_c) w sqrt(w D) f(d/w) with f(x) = 0.96 x + 0.216 x^2/C for x <= 10 C/3 and 2.4 (x - C) beyond,
    C = 0.03.  Value and slope meet at the switch.  Fitted to bias-ply tires.

    References
    ----------
    R. F. Smiley, W. B. Horne, "Mechanical properties of pneumatic tires with special reference to modern aircraft
    tires", NASA TR R-64 (1960), vertical force-deflection relation, from memory.

    >>> round(float(load_at_deflection(0.02, pressure=100e3, carcass_pressure=18e3, width=0.08, diameter=0.69)), 1)
    1171.1
    """
    d = _require_deflection(deflection)
    casing = _require_casing(pressure=pressure, carcass_pressure=carcass_pressure, width=width, diameter=diameter)
    force: Array = casing.force * _shape(d / casing.width)
    return force


def deflection(
    load: ArrayLike,
    *,
    pressure: ArrayLike,
    carcass_pressure: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
) -> Array:
    """Deflection under a given load: the explicit inverse of :func:`load_at_deflection`.

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0
    pressure, carcass_pressure, width, diameter : as in :func:`load_at_deflection`

    Returns
    -------
    Array
        Deflection d [m].

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    The root of the parabola is written 2 y / (b + sqrt(b^2 + 4 a y)) because the usual form cancels at small loads.

    References
    ----------
    R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), from memory.

    >>> round(float(deflection(1170.9, pressure=100e3, carcass_pressure=18e3, width=0.08, diameter=0.69)), 5)
    0.02
    """
    force = require("load", load, unit="N", low=0.0, high=1e6)
    casing = _require_casing(pressure=pressure, carcass_pressure=carcass_pressure, width=width, diameter=diameter)
    y = force / casing.force
    parabola = 2.0 * y / (_LINEAR + np.sqrt(_LINEAR**2 + 4.0 * _QUADRATIC * y))
    line = y / _SLOPE + SHAPE_CONSTANT
    result: Array = casing.width * np.where(y <= _LOAD_AT_SWITCH, parabola, line)
    return result


def vertical_stiffness(
    deflection: ArrayLike,
    *,
    pressure: ArrayLike,
    carcass_pressure: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
) -> Array:
    """Tangent vertical stiffness dF/dd at a given deflection [N/m].

    Parameters and errors are those of :func:`load_at_deflection`.

    Notes
    -----
    (q + q_c) sqrt(w D) (0.96 + 0.432 x/C), constant 2.4 (q + q_c) sqrt(w D) beyond x = 10 C/3.

    References
    ----------
    Derivative of the relation of R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), from memory.

    >>> round(float(vertical_stiffness(0.02, pressure=100e3, carcass_pressure=18e3, width=0.08, diameter=0.69)))
    66537
    """
    d = _require_deflection(deflection)
    casing = _require_casing(pressure=pressure, carcass_pressure=carcass_pressure, width=width, diameter=diameter)
    slope = _LINEAR + 2.0 * _QUADRATIC * np.minimum(d / casing.width, SWITCH)
    stiffness: Array = casing.force / casing.width * slope
    return stiffness


def deflection_work(
    deflection: ArrayLike,
    *,
    pressure: ArrayLike,
    carcass_pressure: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
) -> Array:
    """Work stored in the tire when it is pressed flat by a given deflection: the integral of F over d [J].

    Parameters and errors are those of :func:`load_at_deflection`.

    Notes
    -----
    (q + q_c) w^2 sqrt(w D) times 0.48 x^2 + 0.072 x^3/C up to the switch, then the straight line's integral on top.

    References
    ----------
    Integral of the relation of R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), from memory.

    >>> round(float(deflection_work(0.02, pressure=100e3, carcass_pressure=18e3, width=0.08, diameter=0.69)), 2)
    10.54
    """
    d = _require_deflection(deflection)
    casing = _require_casing(pressure=pressure, carcass_pressure=carcass_pressure, width=width, diameter=diameter)
    x = d / casing.width
    curved = np.minimum(x, SWITCH)
    straight = np.maximum(x, SWITCH) - SHAPE_CONSTANT
    integral = curved**2 * (_LINEAR / 2.0 + _QUADRATIC / 3.0 * curved)
    integral = integral + _SLOPE / 2.0 * (straight**2 - (SWITCH - SHAPE_CONSTANT) ** 2)
    work: Array = casing.force * casing.width * integral
    return work


def patch_length(deflection: ArrayLike, *, diameter: ArrayLike) -> Array:
    """Length of the contact patch on firm ground [m].

    Parameters
    ----------
    deflection : d [m], any shape, >= 0
    diameter : overall diameter D [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    l = 1.7 D sqrt(d/D - (d/D)^2); held at its value for d = D/2 beyond, where no tire is left.

    References
    ----------
    R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), footprint length, from memory.

    >>> round(float(patch_length(0.02, diameter=0.69)), 4)
    0.1968
    """
    d = _require_deflection(deflection)
    diameter_ = require("diameter", diameter, unit="m", above=0.0, high=5.0)
    ratio = np.minimum(d / diameter_, 0.5)
    length: Array = 1.7 * diameter_ * np.sqrt(ratio * (1.0 - ratio))
    return length


def patch_area(deflection: ArrayLike, *, width: ArrayLike, diameter: ArrayLike) -> Array:
    """Gross area of the contact patch on firm ground [m2], the grooves of the tread included.

    Parameters
    ----------
    deflection : d [m], any shape, >= 0
    width : section width w [m]
    diameter : overall diameter D [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    A = 2.3 d sqrt(w D).

    References
    ----------
    R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), gross footprint area, from memory.

    >>> round(float(patch_area(0.02, width=0.08, diameter=0.69)), 5)
    0.01081
    """
    d = _require_deflection(deflection)
    w, diameter_ = _require_size(width=width, diameter=diameter)
    area: Array = 2.3 * d * np.sqrt(w * diameter_)
    return area


def carcass_pressure_from_reading(
    load: ArrayLike,
    *,
    deflection: ArrayLike,
    pressure: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
) -> Array:
    """Carcass pressure that explains one static deflection reading [Pa].

    Parameters
    ----------
    load : wheel load of the reading [N], any shape
    deflection : deflection read [m], above zero
    pressure : inflation pressure of the reading, gauge [Pa]
    width : section width [m]
    diameter : overall diameter [m]

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the reading is softer than the air alone
        would be (the result would be negative): then load, pressure or width of the reading is wrong.

    Notes
    -----
    q_c = F / (w sqrt(w D) f(d/w)) - q.

    References
    ----------
    R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), from memory, solved for the pressure.

    >>> round(float(carcass_pressure_from_reading(
    ...     1170.9, deflection=0.02, pressure=100e3, width=0.08, diameter=0.69)), -2)
    18000.0
    """
    force = require("load", load, unit="N", above=0.0, high=1e6)
    d = require("deflection", deflection, unit="m", above=0.0, high=2.5)
    q = require("pressure", pressure, unit="Pa", low=0.0, high=2e6)
    w, diameter_ = _require_size(width=width, diameter=diameter)
    total = force / (w * np.sqrt(w * diameter_) * _shape(d / w))
    carcass = total - q
    # A casing without stiffness may come out a rounding error below zero; that is not a wrong reading.
    carcass = np.where(np.abs(carcass) <= 1e-9 * total, 0.0, carcass)
    return require("carcass_pressure (load, deflection and pressure of the reading)", carcass, unit="Pa", low=0.0)


def loaded_radius(deflection: ArrayLike, *, diameter: ArrayLike) -> Array:
    """Height of the axle above firm ground [m]: D/2 - d, never below zero.

    Parameters
    ----------
    deflection : d [m], any shape, >= 0
    diameter : overall diameter D [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> round(float(loaded_radius(0.02, diameter=0.69)), 3)
    0.325
    """
    d = _require_deflection(deflection)
    diameter_ = require("diameter", diameter, unit="m", above=0.0, high=5.0)
    return np.maximum(0.5 * diameter_ - d, 0.0)


def deflection_remarks(
    deflection: ArrayLike,
    *,
    section_height: ArrayLike,
    floor: ArrayLike,
    limit: ArrayLike = DEFLECTION_LIMIT,
) -> dict[str, NDArray[np.bool_]]:
    """Named remarks on a deflection: where it overworks the casing and where the tire is too stiff for its load.

    Parameters
    ----------
    deflection : d [m], any shape, >= 0
    section_height : H [m]
    floor : d/H below which the tire hardly conforms [1]
    limit : d/H above which the casing is overworked [1]

    Returns
    -------
    dict
        Remark -> bool array.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> [name for name, holds in deflection_remarks(0.002, section_height=0.08, floor=0.05).items() if holds]
    ['too stiff for this load']
    """
    d = _require_deflection(deflection)
    height = require("section_height", section_height, unit="m", above=0.0, high=1.0)
    ratio = d / height
    return {
        "deflection beyond the limit of the casing": ratio > require("limit", limit, unit="1", low=0.0, high=1.0),
        "too stiff for this load": ratio < require("floor", floor, unit="1", low=0.0, high=1.0),
    }


def grown_width(section_width: ArrayLike, *, rim_width: ArrayLike, measuring_rim_width: ArrayLike) -> Array:
    """Section width of the tire on a rim other than the one it is measured on [m].

    Parameters
    ----------
    section_width : width on the measuring rim [m], any shape
    rim_width : inner width of the rim in use [m]
    measuring_rim_width : inner width of the measuring rim [m]

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where no width would be left.

    Notes
    -----
    U' = U + 0.4 (R - R_m).

    References
    ----------
    ISO 5751-2:2010, 5.2.

    >>> round(float(grown_width(0.080, rim_width=0.0406, measuring_rim_width=0.0470)), 5)
    0.07744
    """
    width = require("section_width", section_width, unit="m", above=0.0, high=1.0)
    rim = require("rim_width", rim_width, unit="m", above=0.0, high=1.0)
    measuring = require("measuring_rim_width", measuring_rim_width, unit="m", above=0.0, high=1.0)
    return require("grown width", width + RIM_WIDTH_SHARE * (rim - measuring), unit="m", above=0.0)


def overall_diameter(rim_diameter: ArrayLike, *, section_height: ArrayLike) -> Array:
    """Overall diameter D = d_rim + 2 H [m] from the nominal rim diameter and the section height.

    Parameters
    ----------
    rim_diameter : nominal rim (bead seat) diameter [m], any shape
    section_height : H [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    UN Regulation No. 75, paragraph 2 (definitions), from memory.

    >>> round(float(overall_diameter(0.622, section_height=0.057)), 3)
    0.736
    """
    rim = require("rim_diameter", rim_diameter, unit="m", above=0.0, high=2.0)
    return rim + 2.0 * require("section_height", section_height, unit="m", low=0.0, high=1.0)


def inflation_at(
    pressure_set: ArrayLike,
    *,
    temperature_set: ArrayLike,
    temperature: ArrayLike,
    ambient_set: ArrayLike,
    ambient: ArrayLike,
) -> Array:
    """Gauge pressure after a change of temperature and altitude, by the gas law at constant volume [Pa].

    Parameters
    ----------
    pressure_set : gauge pressure when the tire was set [Pa], any shape
    temperature_set, temperature : of the enclosed air, then and now [K]
    ambient_set, ambient : absolute pressure of the atmosphere, then and now [Pa]

    Returns
    -------
    Array
        Gauge pressure now; zero where it would fall below the atmosphere, since a casing holds no suction.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    q = (q_set + p_set) T/T_set - p.  The volume of the tire is held constant.

    >>> round(float(inflation_at(
    ...     100e3, temperature_set=293.15, temperature=273.15, ambient_set=101325.0, ambient=101325.0)))
    86265
    """
    gauge = require("pressure_set", pressure_set, unit="Pa", low=0.0, high=2e6)
    then = require("temperature_set", temperature_set, unit="K", low=180.0, high=450.0)
    now = require("temperature", temperature, unit="K", low=180.0, high=450.0)
    outside_then = require("ambient_set", ambient_set, unit="Pa", above=0.0, high=2e5)
    outside_now = require("ambient", ambient, unit="Pa", above=0.0, high=2e5)
    return np.maximum((gauge + outside_then) * now / then - outside_now, 0.0)


def foam_equivalent(pressure: ArrayLike, *, equivalent_pressure: ArrayLike) -> Array:
    """Pressure that carries the tire: the foam insert's equivalent pressure where there is one, else the air [Pa].

    Parameters
    ----------
    pressure : inflation pressure, gauge [Pa], any shape; without effect where a foam insert fills the tire
    equivalent_pressure : inflation at which an air-filled tire would deflect as much [Pa]; 0 where there is no foam

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> foam_equivalent([90e3, 0.0], equivalent_pressure=[0.0, 80e3]).tolist()
    [90000.0, 80000.0]
    """
    air = require("pressure", pressure, unit="Pa", low=0.0, high=2e6)
    foam = require("equivalent_pressure", equivalent_pressure, unit="Pa", low=0.0, high=2e6)
    return np.where(foam > 0.0, foam, air)
