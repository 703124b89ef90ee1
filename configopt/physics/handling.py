"""Handling: side forces and what they ask for, lateral stiffness, bead unseating, profile, stability of quads.

Formulas only for what follows from forces and geometry.  How a machine feels enters nowhere.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.chassis import lateral_stability_coefficient
from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require

PROFILE_RANGE: Final = (0.45, 0.70)
"""Usual rim width over section width of two-wheelers [1], common practice; ISO 5775-1 asks 0.55 to 0.65."""

QUAD_PROFILE_RANGE: Final = (0.65, 0.90)
"""Usual rim width over section width of quads [1], common practice."""

PAIR_RANGE: Final = (0.60, 1.0)
"""Usual front over rear section width of two-wheelers [1], common practice."""

UNSEATING_SHARE: Final = 0.5
"""Share of the bead's inflation load that has to be overcome before it leaves its seat somewhere: an estimate, range
0.2 to 1."""


def lateral_stiffness(
    deflection: ArrayLike, *, pressure: ArrayLike, rated_pressure: ArrayLike, width: ArrayLike
) -> Array:
    """Lateral stiffness of a standing tire [N/m]: for sign and ranking only.

    Rises in pressure, rated pressure and width, falls in deflection.

    Parameters
    ----------
    deflection : vertical deflection d [m], any shape, at most the width
    pressure : inflation pressure q, gauge [Pa]
    rated_pressure : q_rated [Pa]
    width : section width w [m]

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the deflection exceeds the width.

    Notes
    -----
    K_y = 2 w (q + 0.24 q_rated)(1 - 0.7 d/w).  Fitted to aircraft tires.  Lower inflation also means more deflection,
    so both factors fall with it: the floor under low pressure.

    References
    ----------
    R. F. Smiley, W. B. Horne, NASA TR R-64 (1960), lateral spring constant, from memory.

    >>> round(float(lateral_stiffness(0.02, pressure=100e3, rated_pressure=225e3, width=0.10)))
    26488
    """
    w = require("width", width, unit="m", above=0.0, high=2.0)
    d = require("deflection", deflection, unit="m", low=0.0, high=2.5)
    x = require("deflection/width", d / w, unit="1", low=0.0, high=1.0)
    q = require("pressure", pressure, unit="Pa", low=0.0, high=2e6)
    rated = require("rated_pressure", rated_pressure, unit="Pa", low=0.0, high=2e6)
    return np.asarray(2.0 * w * (q + 0.24 * rated) * (1.0 - 0.7 * x))


def _tangent(name: str, angle: ArrayLike) -> Array:
    return np.asarray(np.tan(require(name, angle, unit="rad", low=0.0, high=np.radians(80.0))))


def side_slope_friction(slope_angle: ArrayLike) -> Array:
    """Lateral friction that holds a machine on a side slope [1], the tangent of the angle; rises in it.

    Parameters
    ----------
    slope_angle : of the ground across the direction of travel [rad], any shape, 0 to 80 degrees

    Raises
    ------
    DomainError
        Outside the range, or where it is not a number.

    >>> round(float(side_slope_friction(np.radians(20.0))), 3)
    0.364
    """
    return _tangent("slope_angle", slope_angle)


def lean_friction(lean_angle: ArrayLike) -> Array:
    """Lateral friction that a steady turn asks for [1], the tangent of the angle; rises in it.

    Parameters
    ----------
    lean_angle : between the normal of the ground and the line from the contact to the centre of gravity of machine and
        rider [rad], any shape, 0 to 80 degrees; a wide tire and a rider who leans out make it differ from the wheel's

    Raises
    ------
    DomainError
        Outside the range, or where it is not a number.

    >>> round(float(lean_friction(np.radians(45.0))), 12)
    1.0
    """
    return _tangent("lean_angle", lean_angle)


def turn_lean_angle(speed: ArrayLike, *, radius: ArrayLike, gravity: ArrayLike = STANDARD_GRAVITY) -> Array:
    """Angle of the force line in a steady turn on level ground [rad]; rises in speed, falls in radius.

    Parameters
    ----------
    speed : V [m/s], any shape
    radius : of the turn r [m]
    gravity : acceleration of gravity [m/s2]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    tan(angle) = V^2/(g r).

    References
    ----------
    P. P. Urone, R. Hinrichs, College Physics, OpenStax 2012, section 6.3.

    >>> round(float(np.degrees(turn_lean_angle(10.0, radius=20.0))), 1)
    27.0
    """
    v = require("speed", speed, unit="m/s", low=0.0, high=150.0)
    r = require("radius", radius, unit="m", above=0.0, high=1e6)
    g = require("gravity", gravity, unit="m/s2", above=0.0, high=100.0)
    return np.asarray(np.arctan2(v * v, g * r))


def available_lateral_friction(
    friction: ArrayLike, *, longitudinal_use: ArrayLike = 0.0, longitudinal_friction: ArrayLike | None = None
) -> Array:
    """Lateral friction left beside driving or braking, by the friction ellipse [1].

    Rises in both frictions, falls in the use.

    Parameters
    ----------
    friction : lateral coefficient of the ground mu_y [1], any shape
    longitudinal_use : driving or braking force over wheel load [1]; zero where the wheel rolls freely
    longitudinal_friction : longitudinal coefficient mu_x [1]; the lateral one where it is not given

    Returns
    -------
    Array
        mu_y sqrt(1 - (use/mu_x)^2); zero where the use takes all there is, or more.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> float(available_lateral_friction(0.5, longitudinal_use=0.3))
    0.4
    """
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    use = require("longitudinal_use", longitudinal_use, unit="1", low=0.0, high=10.0)
    along = mu if longitudinal_friction is None else longitudinal_friction
    mu_x = require("longitudinal_friction", along, unit="1", low=0.0, high=3.0)
    taken = np.divide(use, mu_x, out=np.zeros(np.broadcast_shapes(use.shape, mu_x.shape)), where=mu_x > 0.0)
    # A wheel without longitudinal grip that is asked for force has no lateral grip either: it slides.
    taken = np.where((mu_x == 0.0) & (use > 0.0), 1.0, np.minimum(taken, 1.0))
    return np.asarray(mu * np.sqrt((1.0 - taken) * (1.0 + taken)))


def side_slope_grip_reserve(
    friction: ArrayLike,
    *,
    slope_angle: ArrayLike,
    longitudinal_use: ArrayLike = 0.0,
    longitudinal_friction: ArrayLike | None = None,
) -> Array:
    """Lateral friction left on a side slope [1]: what is available less what the slope takes; negative means sliding.

    Rises in both frictions, falls in slope and use.

    Parameters
    ----------
    friction, longitudinal_use, longitudinal_friction : as in :func:`available_lateral_friction`
    slope_angle : of the ground across the direction of travel [rad]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> round(float(side_slope_grip_reserve(0.5, slope_angle=np.radians(20.0), longitudinal_use=0.3)), 3)
    0.036
    """
    left = available_lateral_friction(
        friction, longitudinal_use=longitudinal_use, longitudinal_friction=longitudinal_friction
    )
    return left - side_slope_friction(slope_angle)


def unseating_slope(bead_radius: ArrayLike, *, section_height: ArrayLike, share: ArrayLike = UNSEATING_SHARE) -> Array:
    """Growth of the unseating force per inflation pressure [N/Pa = m2]: an own estimate, for ranking only.

    Rises in every argument.

    Parameters
    ----------
    bead_radius : radius of the bead seat r_b [m], any shape
    section_height : H [m]
    share : of the inflation load on the bead that has to be overcome [1]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    share x pi (r_m^2 - r_b^2), r_m = r_b + H/2: inflation presses each bead against its flange with the pressure on the
    annulus between bead and mid-section, as in the creep model.

    >>> round(float(unseating_slope(0.228, section_height=0.075)), 4)
    0.0291
    """
    rb = require("bead_radius", bead_radius, unit="m", above=0.0, high=2.0)
    h = require("section_height", section_height, unit="m", above=0.0, high=1.0)
    part = require("share", share, unit="1", low=0.0, high=1.0)
    return np.asarray(part * np.pi * (rb + 0.25 * h) * h)


def unseating_force(pressure: ArrayLike, *, at_zero: ArrayLike, slope: ArrayLike) -> Array:
    """Side force at which a tubeless bead leaves its seat [N]; rises in every argument.

    Parameters
    ----------
    pressure : inflation pressure, gauge [Pa], any shape
    at_zero : force without air, by the bead's tight fit and a hump [N]; 0 where it is not known
    slope : growth per pressure [N/Pa], from two readings or :func:`unseating_slope`

    Raises
    ------
    DomainError
        Negative argument, or where one is not a number.

    Notes
    -----
    Linear in pressure.  Friction does not enter: oil on the beads was found to have no effect.

    References
    ----------
    K. Muniandy, Loh Pang Chai, Tyre bead unseating test, Journal of the Rubber Research Institute of Malaysia 29(3),
    pp. 138-145.

    >>> float(unseating_force(100e3, at_zero=500.0, slope=0.03))
    3500.0
    """
    q = require("pressure", pressure, unit="Pa", low=0.0, high=2e6)
    rest = require("at_zero", at_zero, unit="N", low=0.0, high=1e6)
    return np.asarray(rest + require("slope", slope, unit="N/Pa", low=0.0, high=10.0) * q)


def profile_ratio(rim_width: ArrayLike, *, section_width: ArrayLike) -> Array:
    """Rim width over section width [1]: the larger, the flatter the crown; rises in the rim, falls in the section.

    Parameters
    ----------
    rim_width : inner width of the rim [m], any shape
    section_width : of the tire on this rim [m]

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> round(float(profile_ratio(0.0546, section_width=0.110)), 3)
    0.496
    """
    rim = require("rim_width", rim_width, unit="m", above=0.0, high=1.0)
    return np.asarray(rim / require("section_width", section_width, unit="m", above=0.0, high=1.0))


def profile_remarks(
    rim_width: ArrayLike, *, section_width: ArrayLike, quad: ArrayLike = False
) -> dict[str, NDArray[np.bool_]]:
    """Named remarks on the profile that a rim gives a tire, against the usual range.

    Parameters
    ----------
    rim_width, section_width : as in :func:`profile_ratio`
    quad : whether the tire belongs to a quad, bool

    Returns
    -------
    dict
        Remark -> bool array.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    >>> [name for name, holds in profile_remarks(0.040, section_width=0.110).items() if holds]
    ['rim narrow for this section: tall, round crown, less lateral support']
    """
    ratio = profile_ratio(rim_width, section_width=section_width)
    wheels = np.asarray(quad, dtype=bool)
    low, high = (np.where(wheels, q, b) for b, q in zip(PROFILE_RANGE, QUAD_PROFILE_RANGE, strict=True))
    return {
        "rim narrow for this section: tall, round crown, less lateral support": ratio < low,
        "rim wide for this section: flat crown, exposed flanks": ratio > high,
    }


def pair_remarks(front_width: ArrayLike, *, rear_width: ArrayLike) -> dict[str, NDArray[np.bool_]]:
    """Named remarks on front against rear section width of a two-wheeler.

    Parameters
    ----------
    front_width, rear_width : section widths on their rims [m], any shape

    Returns
    -------
    dict
        Remark -> bool array.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    While leaning, the contact moves aside by the crown's radius; a wide rear tire makes the wheels lean unequally.

    >>> [name for name, holds in pair_remarks(0.110, rear_width=0.080).items() if holds]
    ['front tire wider than the rear']
    """
    front = require("front_width", front_width, unit="m", above=0.0, high=1.0)
    ratio = front / require("rear_width", rear_width, unit="m", above=0.0, high=1.0)
    return {
        "front tire much narrower than the rear": ratio < PAIR_RANGE[0],
        "front tire wider than the rear": ratio > PAIR_RANGE[1],
    }


def shifted_track(track: ArrayLike, *, outward_shift: ArrayLike) -> Array:
    """Track after both wheels of an axle have moved outwards [m]; rises in both arguments.

    Parameters
    ----------
    track : between the contact centres with the reference wheels [m], any shape
    outward_shift : of each wheel's centre plane [m]; less wheel offset moves a wheel outwards by as much

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where no track would be left.

    >>> round(float(shifted_track(0.90, outward_shift=0.02)), 3)
    0.94
    """
    return _shifted_track("track", track, shift_name="outward_shift", outward_shift=outward_shift)


def _shifted_track(name: str, track: ArrayLike, *, shift_name: str, outward_shift: ArrayLike) -> Array:
    base = require(name, track, unit="m", above=0.0, high=10.0)
    shift = require(shift_name, outward_shift, unit="m", low=-5.0, high=5.0)
    return require(f"{name} + 2 {shift_name}", base + 2.0 * shift, unit="m", above=0.0)


def quad_stability(
    *,
    front_track: ArrayLike,
    rear_track: ArrayLike,
    front_shift: ArrayLike,
    rear_shift: ArrayLike,
    front_radius_change: ArrayLike,
    rear_radius_change: ArrayLike,
    cg_from_rear: ArrayLike,
    wheelbase: ArrayLike,
    cg_height: ArrayLike,
) -> Array:
    """Static lateral stability of a quad with new wheels [1], the tangent of the side slope at which it tips.

    Rises in tracks and shifts, falls in radius changes and height.

    Parameters
    ----------
    front_track, rear_track : with the reference wheels [m], any shape
    front_shift, rear_shift : outward shift of each wheel's centre plane [m], see :func:`shifted_track`
    front_radius_change, rear_radius_change : new loaded radius less the reference one [m]
    cg_from_rear : distance of the centre of gravity ahead of the rear axle [m]
    wheelbase : [m]
    cg_height : height of the centre of gravity with the reference wheels [m]

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where no height would be left.

    Notes
    -----
    K_st of :func:`configopt.physics.chassis.lateral_stability_coefficient` with the new tracks, at the height that
    follows from the radii along the wheelbase.

    References
    ----------
    ANSI/SVIA 1 (from memory).

    >>> round(float(quad_stability(front_track=0.9, rear_track=0.9, front_shift=0.0, rear_shift=0.0,
    ...     front_radius_change=0.0, rear_radius_change=0.0, cg_from_rear=0.6, wheelbase=1.2, cg_height=0.5)), 3)
    0.9
    """
    base = require("wheelbase", wheelbase, unit="m", above=0.0, high=10.0)
    ahead = require("cg_from_rear", cg_from_rear, unit="m", low=0.0, high=10.0)
    share = require("cg_from_rear/wheelbase", ahead / base, unit="1", low=0.0, high=1.0)
    front = require("front_radius_change", front_radius_change, unit="m", low=-2.0, high=2.0)
    rear = require("rear_radius_change", rear_radius_change, unit="m", low=-2.0, high=2.0)
    height = require("cg_height", cg_height, unit="m", above=0.0, high=5.0) + share * front + (1.0 - share) * rear
    return lateral_stability_coefficient(
        front_track=_shifted_track("front_track", front_track, shift_name="front_shift", outward_shift=front_shift),
        rear_track=_shifted_track("rear_track", rear_track, shift_name="rear_shift", outward_shift=rear_shift),
        cg_from_rear=ahead,
        wheelbase=base,
        cg_height=require("cg_height with the new radii", height, unit="m", above=0.0),
    )
