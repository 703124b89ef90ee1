"""Grip: friction on firm ground, shear thrust and slip on soft ground, lugs, and the grades they allow."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.domain import Array, require

SLIP_LIMIT = 0.6
"""Travel slip beyond which the ground counts as impassable."""

_SERIES_BELOW = 0.02
_NEWTON_STEPS = 5
"""From its starting point Newton's method reaches rounding error everywhere in (0, 1) in five steps."""


def friction_force(
    load: ArrayLike,
    *,
    friction: ArrayLike,
    load_exponent: ArrayLike,
    reference_load: ArrayLike,
    pressure: ArrayLike,
    reference_pressure: ArrayLike,
    pressure_exponent: ArrayLike,
) -> Array:
    """Largest force that a tire transmits on firm ground [N].

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0
    friction : mu at the reference load and pressure [1]
    load_exponent : m [1]; below one, friction falls as load grows
    reference_load : W_ref [N]
    pressure, reference_pressure : inflation plus carcass pressure, in use and at the reference [Pa]
    pressure_exponent : s [1]; 0 on pavement, more where a soft tire keys into the ground (an estimate, 0 to 0.25)

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    F = mu W (W/W_ref)^(m-1) ((q+q_c)/(q_ref+q_c))^(-s).  Load sensitivity m = 0.7 to 0.9 for road tires.

    References
    ----------
    W. F. Milliken, D. L. Milliken, "Race Car Vehicle Dynamics", 1995, ch. 2 (load sensitivity).

    >>> float(friction_force(800.0, friction=0.7, load_exponent=0.9, reference_load=800.0, pressure=9e4,
    ...                      reference_pressure=9e4, pressure_exponent=0.1))
    560.0
    """
    w = require("load", load, unit="N", low=0.0, high=1e6)
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    m = require("load_exponent", load_exponent, unit="1", above=0.0, high=1.5)
    ref = require("reference_load", reference_load, unit="N", above=0.0, high=1e6)
    q = require("pressure", pressure, unit="Pa", above=0.0, high=4e6)
    q_ref = require("reference_pressure", reference_pressure, unit="Pa", above=0.0, high=4e6)
    s = require("pressure_exponent", pressure_exponent, unit="1", low=-1.0, high=1.0)
    # W (W/W_ref)^(m-1) written as one power, so that a wheel off the ground gives 0 and not 0 times infinity.
    force: Array = mu * ref * (w / ref) ** m * (q / q_ref) ** (-s)
    return force


def janosi_shear_stress(
    normal_pressure: ArrayLike,
    *,
    displacement: ArrayLike,
    cohesion: ArrayLike,
    friction_angle: ArrayLike,
    shear_modulus: ArrayLike,
) -> Array:
    """Shear stress of soil under a sheared patch [Pa].

    Parameters
    ----------
    normal_pressure : p [Pa], any shape
    displacement : shear displacement j [m], >= 0
    cohesion : c [Pa]
    friction_angle : phi [rad]
    shear_modulus : shear deformation modulus K [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    tau = (c + p tan phi)(1 - exp(-j/K)): soils without a hump in the shear curve.

    References
    ----------
    Z. Janosi, B. Hanamoto, 1st International Conference on the Mechanics of Soil-Vehicle Systems, Turin 1961.

    >>> round(float(janosi_shear_stress(50e3, displacement=0.025, cohesion=1040.0,
    ...                                 friction_angle=np.radians(28.0), shear_modulus=0.025)))
    17463
    """
    p = require("normal_pressure", normal_pressure, unit="Pa", low=0.0, high=1e9)
    j = require("displacement", displacement, unit="m", low=0.0, high=1e3)
    c, tangent, k = _require_shear(cohesion=cohesion, friction_angle=friction_angle, shear_modulus=shear_modulus)
    stress: Array = (c + p * tangent) * -np.expm1(-j / k)
    return stress


def _require_shear(
    *, cohesion: ArrayLike, friction_angle: ArrayLike, shear_modulus: ArrayLike
) -> tuple[Array, Array, Array]:
    angle = require("friction_angle", friction_angle, unit="rad", low=0.0, high=1.2)
    return (
        require("cohesion", cohesion, unit="Pa", low=0.0, high=1e7),
        np.asarray(np.tan(angle)),
        require("shear_modulus", shear_modulus, unit="m", above=0.0, high=1.0),
    )


def maximum_thrust(
    load: ArrayLike,
    *,
    area: ArrayLike,
    cohesion: ArrayLike,
    friction_angle: ArrayLike,
    cohesion_factor: ArrayLike = 1.0,
    friction_factor: ArrayLike = 1.0,
) -> Array:
    """Thrust that the soil gives at unlimited shear displacement [N].

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0
    area : contact area A [m2]
    cohesion : c [Pa]
    friction_angle : phi [rad]
    cohesion_factor, friction_factor : gain by lugs, see :func:`grouser_factors` [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    H = A c + W tan phi, each part times its lug factor.

    References
    ----------
    M. G. Bekker 1969; J. Y. Wong, "Theory of Ground Vehicles", ch. 2.

    >>> round(float(maximum_thrust(1000.0, area=1 / 45, cohesion=1040.0, friction_angle=np.radians(28.0))), 1)
    554.8
    """
    w = require("load", load, unit="N", low=0.0, high=1e6)
    a = require("area", area, unit="m2", low=0.0, high=1e3)
    c, tangent, _ = _require_shear(cohesion=cohesion, friction_angle=friction_angle, shear_modulus=1.0)
    fc = require("cohesion_factor", cohesion_factor, unit="1", low=0.0, high=10.0)
    ff = require("friction_factor", friction_factor, unit="1", low=0.0, high=10.0)
    thrust: Array = a * c * fc + w * tangent * ff
    return thrust


def slip_fraction(displacement_ratio: ArrayLike) -> Array:
    """Share of the maximum thrust that a patch mobilises [1].

    Parameters
    ----------
    displacement_ratio : u = i l/K: slip times patch length over shear modulus [1], any shape, >= 0

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    1 - (1 - exp(-u))/u; a series below u = 0.02, where the closed form cancels.

    References
    ----------
    J. Y. Wong, "Theory of Ground Vehicles", ch. 2, thrust-slip relation under uniform normal pressure.

    >>> round(float(slip_fraction(1.0)), 4)
    0.3679
    """
    return _slip_fraction(require("displacement_ratio", displacement_ratio, unit="1", low=0.0, high=1e9))


def _slip_fraction(u: Array) -> Array:
    return _slip_fraction_and_slope(u)[0]


def _slip_fraction_and_slope(u: Array) -> tuple[Array, Array]:
    small = u < _SERIES_BELOW
    safe = np.where(small, 1.0, u)
    decay = np.expm1(-safe)
    value = u * (1 / 2 - u * (1 / 6 - u * (1 / 24 - u * (1 / 120 - u / 720))))
    slope = 1 / 2 - u * (1 / 3 - u * (1 / 8 - u * (1 / 30 - u / 144)))
    return (
        np.where(small, value, 1.0 + decay / safe),
        np.where(small, slope, (-decay - safe * (decay + 1.0)) / safe**2),
    )


def inverse_slip_fraction(fraction: ArrayLike) -> Array:
    """Displacement ratio u at which :func:`slip_fraction` reaches a given share [1].

    Parameters
    ----------
    fraction : share of the maximum thrust [1], any shape, from 0 up to 0.999999

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Newton's method with a fixed number of steps.  It starts at max(2 y, y/(1 - y)), which lies at or below the
    root; the function is concave, so every step stays below the root and approaches it, and the bound 1/(1 - y)
    above it is never passed.

    >>> round(float(inverse_slip_fraction(0.3678794411714423)), 9)
    1.0
    """
    y = require("fraction", fraction, unit="1", low=0.0, high=0.999999)
    return _inverse_slip_fraction(y)


def _inverse_slip_fraction(y: Array) -> Array:
    upper = 1.0 / (1.0 - y)
    u = np.maximum(2.0 * y, y * upper)
    for _ in range(_NEWTON_STEPS):
        value, slope = _slip_fraction_and_slope(u)
        u = np.minimum(u + np.maximum((y - value) / slope, 0.0), upper)
    return u


def soil_thrust(
    load: ArrayLike,
    *,
    slip: ArrayLike,
    area: ArrayLike,
    length: ArrayLike,
    cohesion: ArrayLike,
    friction_angle: ArrayLike,
    shear_modulus: ArrayLike,
    cohesion_factor: ArrayLike = 1.0,
    friction_factor: ArrayLike = 1.0,
) -> Array:
    """Thrust of a driven wheel on soft ground at a given slip [N].

    Parameters
    ----------
    load : wheel load W [N], any shape, >= 0
    slip : travel slip i [1], 0 to 1
    area : contact area A [m2]
    length : of the contact patch l [m]
    cohesion : c [Pa]
    friction_angle : phi [rad]
    shear_modulus : shear deformation modulus K [m]
    cohesion_factor, friction_factor : gain by lugs, see :func:`grouser_factors` [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    H = (A c + W tan phi)(1 - K/(i l) (1 - exp(-i l/K))), each part times its lug factor.

    References
    ----------
    Z. Janosi, B. Hanamoto 1961; J. Y. Wong, "Theory of Ground Vehicles", ch. 2, uniform normal pressure.

    >>> round(float(soil_thrust(1000.0, slip=0.2, area=1 / 45, length=1 / 9, cohesion=1040.0,
    ...                         friction_angle=np.radians(28.0), shear_modulus=0.025)), 1)
    187.3
    """
    top = maximum_thrust(
        load,
        area=area,
        cohesion=cohesion,
        friction_angle=friction_angle,
        cohesion_factor=cohesion_factor,
        friction_factor=friction_factor,
    )
    i = require("slip", slip, unit="1", low=0.0, high=1.0)
    patch = require("length", length, unit="m", low=0.0, high=1e4)
    k = require("shear_modulus", shear_modulus, unit="m", above=0.0, high=1.0)
    thrust: Array = top * _slip_fraction(i * patch / k)
    return thrust


def slip_for_thrust(
    thrust: ArrayLike,
    *,
    maximum_thrust: ArrayLike,
    length: ArrayLike,
    shear_modulus: ArrayLike,
    slip_limit: ArrayLike = SLIP_LIMIT,
) -> tuple[Array, NDArray[np.bool_]]:
    """Slip at which a wheel on soft ground gives a wanted thrust.

    Parameters
    ----------
    thrust : wanted thrust [N], any shape, >= 0
    maximum_thrust : thrust at unlimited shear [N], >= 0
    length : of the contact patch l [m], >= 0
    shear_modulus : K [m]
    slip_limit : largest slip allowed [1]

    Returns
    -------
    slip : Array
        Travel slip [1]; the limit where the thrust cannot be had within it.
    holds : bool array
        Whether the thrust can be had within the limit.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    Inverse of the thrust-slip relation of J. Y. Wong, "Theory of Ground Vehicles", ch. 2.

    >>> slip, holds = slip_for_thrust([187.3, 900.0], maximum_thrust=554.8, length=1 / 9, shear_modulus=0.025)
    >>> slip.round(3).tolist(), holds.tolist()
    ([0.2, 0.6], [True, False])
    """
    wanted = require("thrust", thrust, unit="N", low=0.0, high=1e9)
    top = require("maximum_thrust", maximum_thrust, unit="N", low=0.0, high=1e9)
    patch = require("length", length, unit="m", low=0.0, high=1e4)
    k = require("shear_modulus", shear_modulus, unit="m", above=0.0, high=1.0)
    limit = require("slip_limit", slip_limit, unit="1", above=0.0, high=1.0)
    capacity = top * _slip_fraction(limit * patch / k)
    holds = np.asarray(wanted <= capacity)
    works = holds & (wanted > 0.0)
    share = np.where(works, wanted, 0.0) / np.where(works, top, 1.0)
    ratio = _inverse_slip_fraction(share)
    slip = np.where(works, ratio * k / np.where(patch > 0.0, patch, 1.0), 0.0)
    return np.where(holds, np.minimum(slip, limit), limit), holds


def slip_loss_force(thrust: ArrayLike, *, slip: ArrayLike) -> Array:
    """Energy that slip costs per metre travelled [J/m].

    Parameters
    ----------
    thrust : of the wheel [N], any shape
    slip : travel slip i [1], 0 up to below 1

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    i/(1 - i) times thrust: the patch slides i/(1 - i) metres for each metre travelled.

    >>> float(slip_loss_force(100.0, slip=0.2))
    25.0
    """
    force = require("thrust", thrust, unit="N", low=0.0, high=1e9)
    i = require("slip", slip, unit="1", low=0.0, high=0.999999)
    loss: Array = force * (i / (1.0 - i))
    return loss


def drawbar_pull(thrust: ArrayLike, *, resistance: ArrayLike) -> Array:
    """Thrust that is left for climbing and pulling: thrust minus the sum of the resistances [N]; may be negative.

    Parameters
    ----------
    thrust : [N], any shape
    resistance : sum of the motion resistances [N]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    J. Y. Wong, "Theory of Ground Vehicles", ch. 2.

    >>> round(float(drawbar_pull(187.3, resistance=172.9)), 1)
    14.4
    """
    force = require("thrust", thrust, unit="N", low=0.0, high=1e9)
    return force - require("resistance", resistance, unit="N", low=0.0, high=1e9)


def grouser_factors(
    lug_height: ArrayLike, *, patch_width: ArrayLike, land_fraction: ArrayLike, packed: ArrayLike
) -> tuple[Array, Array]:
    """How much lugs raise the cohesive and the frictional part of the thrust [1].

    Parameters
    ----------
    lug_height : h [m], any shape, >= 0
    patch_width : width of the contact patch b [m]
    land_fraction : share of the patch that is rubber [1]; the rest is open for soil to enter
    packed : whether mud has closed the tread, bool

    Returns
    -------
    cohesion_factor, friction_factor : Array
        Both 1 where the tread is packed, smooth or closed.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    Bekker's terms for a track with lugs: cohesive part times 1 + 2 h/b, frictional part times
    1 + 0.64 (h/b) arccot(h/b).  Both gains are scaled by the open share of the tread, 1 - land fraction, because only
    soil between the lugs is sheared along their sides: an estimate.

    References
    ----------
    M. G. Bekker, "Theory of Land Locomotion", 1956; J. Y. Wong, "Theory of Ground Vehicles", ch. 2 (lugs), from memory.

    >>> [round(float(x), 4) for x in grouser_factors(0.013, patch_width=0.10, land_fraction=0.3, packed=False)]
    [1.182, 1.084]
    """
    h = require("lug_height", lug_height, unit="m", low=0.0, high=0.5)
    b = require("patch_width", patch_width, unit="m", above=0.0, high=10.0)
    land = require("land_fraction", land_fraction, unit="1", low=0.0, high=1.0)
    share = np.where(np.asarray(packed, dtype=bool), 0.0, 1.0 - land)
    ratio = h / b
    return 1.0 + share * 2.0 * ratio, 1.0 + share * 0.64 * ratio * np.arctan2(b, h)


def traction_grade_all_wheels(friction: ArrayLike) -> Array:
    """Steepest grade that a vehicle with all wheels driven climbs by grip alone: tan theta = mu [1].

    Parameters
    ----------
    friction : mu [1], any shape

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    References
    ----------
    Statics, no rolling loss.

    >>> float(traction_grade_all_wheels(0.6))
    0.6
    """
    return require("friction", friction, unit="1", low=0.0, high=3.0)


def traction_grade_limit_rear_drive(
    friction: ArrayLike, *, cg_from_rear: ArrayLike, cg_height: ArrayLike, wheelbase: ArrayLike
) -> Array:
    """Steepest grade that a rear-driven vehicle climbs by grip alone [1], the tangent of the slope angle.

    Parameters
    ----------
    friction : mu [1], any shape
    cg_from_rear : distance of the centre of gravity ahead of the rear axle [m], at most the wheelbase
    cg_height : height of the centre of gravity [m]
    wheelbase : L [m]

    Returns
    -------
    Array
        Grade; infinite where load transfer outruns the demand, so that tip-over alone limits the climb.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    tan theta = mu (L - b_r)/(L - mu h).

    References
    ----------
    Statics, no rolling loss.

    >>> round(float(traction_grade_limit_rear_drive(0.6, cg_from_rear=0.70, cg_height=0.75, wheelbase=1.45)), 3)
    0.45
    """
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    base = require("wheelbase", wheelbase, unit="m", above=0.0, high=10.0)
    behind = require("cg_from_rear", cg_from_rear, unit="m", low=0.0, high=10.0)
    ahead = require("wheelbase - cg_from_rear", base - behind, unit="m", low=0.0)
    height = require("cg_height", cg_height, unit="m", low=0.0, high=5.0)
    rest = base - mu * height
    return np.where(rest > 0.0, mu * ahead / np.where(rest > 0.0, rest, 1.0), np.inf)
