"""Soft ground after Bekker and Wong: sinkage, ground pressure, patch and motion resistance of one wheel.

A tire either keeps its shape (*rigid*) or flattens until its inflation and carcass pressure carry it; the critical
ground pressure tells which.  Both modes meet at the switch, so sinkage and resistance have no step in pressure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.domain import Array, require

SINKAGE_CAP = 10.0
"""No sinkage is reported deeper [m]: the power law explodes at small exponents, and 10 m is bogged in any case."""

BEARING_EXPONENT = 0.3
"""Sinkage exponent below which a soil has hardly any sinkage until it gives way."""

SMALLEST_DIAMETER = 0.5
"""Wheel diameter [m] below which the pressure-sinkage model is known to be poor."""

BOGGED_SHARE = 0.4
"""Sinkage over diameter beyond which the wheel counts as bogged."""

RUT_FACTOR = 0.6
"""Compaction resistance of a wheel in the track of another over that of the first: an estimate, range 0.3 to 1."""

_LOG_CAP = float(np.log(SINKAGE_CAP))
_TINY = np.finfo(np.float64).tiny


def _require_soil(modulus: ArrayLike, exponent: ArrayLike) -> tuple[Array, Array]:
    return (
        require("modulus", modulus, unit="N/m^(n+2)", above=0.0, high=1e15),
        require("exponent", exponent, unit="1", above=0.0, high=2.5),
    )


def _capped_power(base: Array, exponent: Array) -> Array:
    """base^exponent as a sinkage, through the logarithm so that a tiny soil exponent cannot overflow."""
    result: Array = np.exp(np.minimum(np.log(np.maximum(base, _TINY)) * exponent, _LOG_CAP))
    # The exponential of the capped logarithm may land a rounding error above the cap.
    return np.where(base > 0.0, np.minimum(result, SINKAGE_CAP), 0.0)


def soil_modulus(cohesive_modulus: ArrayLike, frictional_modulus: ArrayLike, *, smaller_side: ArrayLike) -> Array:
    """Sinkage modulus k = k_c/b + k_phi of a patch [N/m^(n+2)].

    Parameters
    ----------
    cohesive_modulus : k_c [N/m^(n+1)], any shape
    frictional_modulus : k_phi [N/m^(n+2)]
    smaller_side : b, the smaller side of the contact patch [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    M. G. Bekker, "Introduction to Terrain-Vehicle Systems", 1969; J. Y. Wong, "Theory of Ground Vehicles", ch. 2.

    >>> round(float(soil_modulus(990.0, 1528430.0, smaller_side=0.10)))
    1538330
    """
    kc = require("cohesive_modulus", cohesive_modulus, unit="N/m^(n+1)", low=0.0, high=1e12)
    kphi = require("frictional_modulus", frictional_modulus, unit="N/m^(n+2)", low=0.0, high=1e12)
    return kc / require("smaller_side", smaller_side, unit="m", above=0.0, high=10.0) + kphi


def plate_sinkage(pressure: ArrayLike, *, modulus: ArrayLike, exponent: ArrayLike) -> Array:
    """Sinkage of a plate under a uniform pressure [m], capped at 10 m.

    Parameters
    ----------
    pressure : p [Pa], any shape, >= 0
    modulus : k of :func:`soil_modulus` [N/m^(n+2)]
    exponent : n [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    z = (p/k)^(1/n), the inverse of Bekker's p = k z^n.

    References
    ----------
    M. G. Bekker 1956, 1969; J. Y. Wong, "Theory of Ground Vehicles", ch. 2, pressure-sinkage relation.

    >>> round(float(plate_sinkage(20e3, modulus=1538330.0, exponent=1.10)), 5)
    0.01929
    """
    p = require("pressure", pressure, unit="Pa", low=0.0, high=1e9)
    k, n = _require_soil(modulus, exponent)
    return _capped_power(p / k, 1.0 / n)


def _rigid_group(load: ArrayLike, *, width: ArrayLike, diameter: ArrayLike, exponent: Array) -> Array:
    """3 W/((3 - n) w sqrt(D)), the load group of the rigid-wheel solution."""
    w = require("width", width, unit="m", above=0.0, high=2.0)
    d = require("diameter", diameter, unit="m", above=0.0, high=5.0)
    group: Array = 3.0 * require("load", load, unit="N", low=0.0, high=1e6) / ((3.0 - exponent) * w * np.sqrt(d))
    return group


def critical_pressure(
    load: ArrayLike, *, width: ArrayLike, diameter: ArrayLike, modulus: ArrayLike, exponent: ArrayLike
) -> Array:
    """Critical ground pressure: the pressure under the lowest point of a rigid wheel of the same size [Pa].

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0
    width : section width w [m]
    diameter : overall diameter D [m]
    modulus : k [N/m^(n+2)]
    exponent : n [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    p_gcr = k^(1/(2n+1)) [3 W/((3-n) w sqrt(D))]^(2n/(2n+1)).  A tire whose inflation and carcass pressure lie above
    it keeps its round shape.

    References
    ----------
    J. Y. Wong, "Theory of Ground Vehicles", ch. 2, motion resistance of a pneumatic tire.

    >>> round(float(critical_pressure(1000.0, width=0.20, diameter=0.635, modulus=1533380.0, exponent=1.10)), -2)
    47900.0
    """
    k, n = _require_soil(modulus, exponent)
    group = _rigid_group(load, width=width, diameter=diameter, exponent=n)
    power = 1.0 / (2.0 * n + 1.0)
    pressure: Array = k**power * group ** (2.0 * n * power)
    return pressure


def rigid_sinkage(
    load: ArrayLike, *, width: ArrayLike, diameter: ArrayLike, modulus: ArrayLike, exponent: ArrayLike
) -> Array:
    """Sinkage of a rigid wheel [m], capped at 10 m.

    Parameters and errors are those of :func:`critical_pressure`.

    Notes
    -----
    z_0 = [3 W/(w (3-n) k sqrt(D))]^(2/(2n+1)); for small sinkage, best up to D/6 and wheels above 0.5 m.

    References
    ----------
    M. G. Bekker 1969; J. Y. Wong, "Theory of Ground Vehicles", ch. 2, motion resistance of a rigid wheel.

    >>> round(float(rigid_sinkage(1000.0, width=0.20, diameter=0.635, modulus=1533380.0, exponent=1.10)), 4)
    0.0428
    """
    k, n = _require_soil(modulus, exponent)
    group = _rigid_group(load, width=width, diameter=diameter, exponent=n)
    return _capped_power(group / k, 2.0 / (2.0 * n + 1.0))


def compaction_resistance(sinkage: ArrayLike, *, width: ArrayLike, modulus: ArrayLike, exponent: ArrayLike) -> Array:
    """Force that goes into pressing a rut of a given depth [N].

    Parameters
    ----------
    sinkage : z [m], any shape, >= 0
    width : of the rut w [m]
    modulus : k [N/m^(n+2)]
    exponent : n [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    R_c = w k z^(n+1)/(n+1): the work of pressing the plate down, per length of track.

    References
    ----------
    M. G. Bekker 1969; J. Y. Wong, "Theory of Ground Vehicles", ch. 2.

    >>> round(float(compaction_resistance(0.0428, width=0.20, modulus=1533380.0, exponent=1.10)))
    195
    """
    z = require("sinkage", sinkage, unit="m", low=0.0, high=SINKAGE_CAP)
    w = require("width", width, unit="m", above=0.0, high=2.0)
    k, n = _require_soil(modulus, exponent)
    force: Array = w * k * z ** (n + 1.0) / (n + 1.0)
    return force


def rigid_compaction(
    load: ArrayLike, *, width: ArrayLike, diameter: ArrayLike, modulus: ArrayLike, exponent: ArrayLike
) -> Array:
    """Compaction resistance of a rigid wheel [N].

    Parameters and errors are those of :func:`critical_pressure`.

    Notes
    -----
    :func:`compaction_resistance` at :func:`rigid_sinkage`.

    References
    ----------
    M. G. Bekker 1969; J. Y. Wong, "Theory of Ground Vehicles", ch. 2, motion resistance of a rigid wheel.

    >>> round(float(rigid_compaction(1000.0, width=0.20, diameter=0.635, modulus=1533380.0, exponent=1.10)))
    195
    """
    z = rigid_sinkage(load, width=width, diameter=diameter, modulus=modulus, exponent=exponent)
    return compaction_resistance(z, width=width, modulus=modulus, exponent=exponent)


@dataclass(frozen=True)
class WheelOnSoil:
    """One wheel on soft ground; every field is an array that broadcasts with the arguments.

    ``ground_pressure`` is what the soil feels, ``carrying_fraction`` the share of the critical pressure that the
    inflated tire reaches (1: it runs as a rigid wheel and does not flex).
    """

    sinkage: Array
    ground_pressure: Array
    critical_pressure: Array
    patch_area: Array
    patch_length: Array
    compaction: Array
    rigid: NDArray[np.bool_]
    carrying_fraction: Array


def wheel_on_soil(
    load: ArrayLike,
    *,
    pressure: ArrayLike,
    width: ArrayLike,
    diameter: ArrayLike,
    firm_patch_length: ArrayLike,
    cohesive_modulus: ArrayLike,
    frictional_modulus: ArrayLike,
    exponent: ArrayLike,
) -> WheelOnSoil:
    """Sinkage, ground pressure, patch and compaction resistance of one wheel, rigid or flattened.

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0; a wheel off the ground neither sinks nor resists
    pressure : inflation plus carcass pressure q + q_c [Pa], above zero
    width : section width w [m]
    diameter : overall diameter D [m]
    firm_patch_length : length of the patch on firm ground [m]; with the width it gives the side that counts in k_c/b
    cohesive_modulus : k_c [N/m^(n+1)]
    frictional_modulus : k_phi [N/m^(n+2)]
    exponent : n [1]

    Returns
    -------
    WheelOnSoil

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where both soil moduli are zero.

    Notes
    -----
    b = min(w, firm patch length) in both modes, p_e = min(q + q_c, p_gcr), z = (p_e/k)^(1/n), A = W/p_e, l = A/w,
    R_c = w k z^(n+1)/(n+1).  At p_gcr this is the rigid wheel itself, so the modes meet.

    References
    ----------
    J. Y. Wong, "Theory of Ground Vehicles", ch. 2, motion resistance of a pneumatic tire.

    >>> soil = wheel_on_soil(1000.0, pressure=45e3, width=0.20, diameter=0.635, firm_patch_length=0.20,
    ...                      cohesive_modulus=990.0, frictional_modulus=1528430.0, exponent=1.10)
    >>> bool(soil.rigid), round(float(soil.sinkage), 4), round(float(soil.patch_length), 4)
    (False, 0.0404, 0.1111)
    """
    w = require("load", load, unit="N", low=0.0, high=1e6)
    q = require("pressure", pressure, unit="Pa", above=0.0, high=4e6)
    b = require("width", width, unit="m", above=0.0, high=2.0)
    length = require("firm_patch_length", firm_patch_length, unit="m", low=0.0, high=5.0)
    # A wheel without load has no firm patch; any side serves there, since nothing is pressed down.
    side = np.where(length > 0.0, np.minimum(b, length), b)
    k = soil_modulus(cohesive_modulus, frictional_modulus, smaller_side=side)
    critical = critical_pressure(w, width=b, diameter=diameter, modulus=k, exponent=exponent)
    effective = np.minimum(q, critical)
    z = plate_sinkage(effective, modulus=k, exponent=exponent)
    loaded = effective > 0.0
    area = np.where(loaded, w / np.where(loaded, effective, 1.0), 0.0)
    return WheelOnSoil(
        sinkage=z,
        ground_pressure=effective,
        critical_pressure=critical,
        patch_area=area,
        patch_length=area / b,
        compaction=compaction_resistance(z, width=b, modulus=k, exponent=exponent),
        rigid=np.asarray(q >= critical),
        carrying_fraction=np.minimum(1.0, q / np.maximum(critical, q)),
    )


def flexing_resistance(load: ArrayLike, *, rolling_coefficient: ArrayLike, carrying_fraction: ArrayLike) -> Array:
    """Loss in the casing of a tire that flattens on soft ground [N].

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0
    rolling_coefficient : c on firm ground at the same pressure and speed [1]
    carrying_fraction : share of the critical pressure reached, see :class:`WheelOnSoil` [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    c W (1 - min(1, (q + q_c)/p_gcr)): nothing for a tire that keeps its shape.  An estimate.

    >>> float(flexing_resistance(1000.0, rolling_coefficient=0.02, carrying_fraction=0.75))
    5.0
    """
    w = require("load", load, unit="N", low=0.0, high=1e6)
    c = require("rolling_coefficient", rolling_coefficient, unit="1", low=0.0, high=1.0)
    carried = require("carrying_fraction", carrying_fraction, unit="1", low=0.0, high=1.0)
    force: Array = c * w * (1.0 - carried)
    return force


def following_compaction(compaction: ArrayLike, *, rut_factor: ArrayLike = RUT_FACTOR) -> Array:
    """Compaction resistance of a wheel that runs in the rut of another [N].

    Parameters
    ----------
    compaction : resistance the wheel would have on fresh ground [N], any shape
    rut_factor : share that remains [1]; an estimate, range 0.3 to 1

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> float(following_compaction(50.0))
    30.0
    """
    force = require("compaction", compaction, unit="N", low=0.0)
    return force * require("rut_factor", rut_factor, unit="1", low=0.0, high=1.0)


def soil_remarks(
    sinkage: ArrayLike, *, diameter: ArrayLike, exponent: ArrayLike, ground_clearance: ArrayLike = np.inf
) -> dict[str, NDArray[np.bool_]]:
    """Named remarks: where the soil model leaves its validity, and where the wheel is bogged.

    Parameters
    ----------
    sinkage : z [m], any shape, >= 0
    diameter : overall diameter D [m]
    exponent : n [1]
    ground_clearance : of the vehicle [m]; unlimited where unknown

    Returns
    -------
    dict
        Remark -> bool array of the broadcast shape.  Where "bogged" holds the ground is impassable.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    M. G. Bekker 1969; J. Y. Wong, "Theory of Ground Vehicles", ch. 2 (wheel size and sinkage limits, from memory).

    >>> [name for name, holds in soil_remarks(0.30, diameter=0.69, exponent=1.6).items() if holds]
    ['sinkage beyond D/6', 'bogged']
    """
    z = require("sinkage", sinkage, unit="m", low=0.0)
    d = require("diameter", diameter, unit="m", above=0.0, high=5.0)
    n = require("exponent", exponent, unit="1", above=0.0, high=2.5)
    clearance = require("ground_clearance", ground_clearance, unit="m", low=0.0)
    z, d, n, clearance = np.broadcast_arrays(z, d, n, clearance)
    return {
        "small wheel: D below 0.5 m": np.asarray(d < SMALLEST_DIAMETER),
        "sinkage beyond D/6": np.asarray(z > d / 6.0),
        "bearing-type soil: n below 0.3": np.asarray(n < BEARING_EXPONENT),
        "bogged": np.asarray(z > np.minimum(clearance, BOGGED_SHARE * d)),
    }
