"""What footings do to the chassis: trail, attitude, clearance, tip-over limits, steering at a standstill.

Slope limits are given as grades, the tangent of the angle.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require


def trail(radius: ArrayLike, *, caster_angle: ArrayLike, fork_offset: ArrayLike) -> Array:
    """Distance by which the front contact follows the steering axis on the ground.

    Parameters
    ----------
    radius : loaded radius of the front wheel [m]
    caster_angle : of the steering axis from the vertical [rad]
    fork_offset : of the axle in front of the steering axis, at right angles to it [m]

    Returns
    -------
    trail on the ground [m], broadcast shape; negative where the offset is too large

    Raises
    ------
    DomainError
        Radius not above zero, caster outside 0 to 80 degrees, negative offset.

    Notes
    -----
    (R sin e - d)/cos e; times cos e it is the normal trail.

    References
    ----------
    V. Cossalter, Motorcycle Dynamics, 2nd ed. 2006 (from memory).

    >>> round(float(trail(0.30, caster_angle=np.radians(27.0), fork_offset=0.05)), 4)
    0.0967
    """
    r = require("radius", radius, unit="m", above=0.0)
    e = require("caster_angle", caster_angle, unit="rad", low=0.0, high=np.radians(80.0))
    d = require("fork_offset", fork_offset, unit="m", low=0.0)
    return np.asarray((r * np.sin(e) - d) / np.cos(e))


def pitch_from_radii(front: ArrayLike, rear: ArrayLike, wheelbase: ArrayLike) -> Array:
    """Angle of the line through both axles, nose up where the front wheel is larger.

    Parameters
    ----------
    front, rear : loaded radii [m]
    wheelbase : distance between the axles along that line [m]

    Returns
    -------
    pitch [rad], broadcast shape; what counts for the chassis is the difference between two footings, which adds to the
    caster angle

    Raises
    ------
    DomainError
        A length not above zero, radii that differ by more than the wheelbase.

    Notes
    -----
    sin(pitch) = (R_f - R_r)/L.
    """
    rf = require("front", front, unit="m", above=0.0)
    rr = require("rear", rear, unit="m", above=0.0)
    base = require("wheelbase", wheelbase, unit="m", above=0.0)
    return np.asarray(np.arcsin(require("(front - rear)/wheelbase", (rf - rr) / base, unit="1", low=-1.0, high=1.0)))


def ground_clearance(
    clearance: ArrayLike,
    *,
    front_radius_change: ArrayLike,
    rear_radius_change: ArrayLike,
    position: ArrayLike,
    wheelbase: ArrayLike,
) -> Array:
    """Ground clearance after a change of loaded radii.

    Parameters
    ----------
    clearance : with the reference footings [m]
    front_radius_change, rear_radius_change : new loaded radius less the reference one [m]
    position : of the lowest point ahead of the rear axle [m]
    wheelbase : [m]

    Returns
    -------
    clearance [m], broadcast shape; negative means contact

    Raises
    ------
    DomainError
        Negative clearance or position, wheelbase not above zero, point ahead of the front axle.

    Notes
    -----
    The chassis turns about the axles: the change is interpolated along the wheelbase.
    """
    c = require("clearance", clearance, unit="m", low=0.0)
    df = require("front_radius_change", front_radius_change, unit="m")
    dr = require("rear_radius_change", rear_radius_change, unit="m")
    x = require("position", position, unit="m", low=0.0)
    base = require("wheelbase", wheelbase, unit="m", above=0.0)
    share = require("position/wheelbase", x / base, unit="1", low=0.0, high=1.0)
    return np.asarray(c + dr + (df - dr) * share)


def breakover_angle(
    clearance: ArrayLike,
    *,
    position: ArrayLike,
    wheelbase: ArrayLike,
    front_radius: ArrayLike,
    rear_radius: ArrayLike,
) -> Array:
    """Sharpest crest, as the angle between its two ramps, that the lowest point clears.

    Parameters
    ----------
    clearance : under the lowest point [m]
    position : of that point ahead of the rear axle [m]
    wheelbase : [m]
    front_radius, rear_radius : loaded radii [m]

    Returns
    -------
    angle [rad], broadcast shape

    Raises
    ------
    DomainError
        A length out of its range, or the lowest point inside a wheel.

    Notes
    -----
    On each side the ramp through the point touches the wheel: asin(R/d) - atan((R - c)/x), d the distance of the point
    from the axle; the angle is the sum of both.
    """
    c = require("clearance", clearance, unit="m", low=0.0)
    x = require("position", position, unit="m", above=0.0)
    base = require("wheelbase", wheelbase, unit="m", above=0.0)
    ahead = require("wheelbase - position", base - x, unit="m", above=0.0)
    rf = require("front_radius", front_radius, unit="m", above=0.0)
    rr = require("rear_radius", rear_radius, unit="m", above=0.0)
    return np.asarray(_ramp(c, ahead, rf, "front") + _ramp(c, x, rr, "rear"))


def _ramp(clearance: Array, reach: Array, radius: Array, end: str) -> Array:
    height = radius - clearance
    sine = radius / np.hypot(reach, height)
    # A point closer to the axle than the tire's surface has no tangent.
    sine = require(f"{end}_radius over its distance from the lowest point", sine, unit="1", low=0.0, high=1.0)
    return np.asarray(np.arcsin(sine) - np.arctan2(height, reach))


def wheelie_grade(cg_from_rear: ArrayLike, *, cg_height: ArrayLike) -> Array:
    """Uphill grade at which the front wheel lifts, at steady speed; also the acceleration in g on the level.

    Parameters
    ----------
    cg_from_rear : horizontal distance from the REAR contact to the centre of gravity [m]
    cg_height : height of the centre of gravity [m]

    Returns
    -------
    tangent of the slope angle [1], broadcast shape

    Raises
    ------
    DomainError
        A length not above zero.

    Notes
    -----
    tan(angle) = b_r/h.

    References
    ----------
    V. Cossalter, Motorcycle Dynamics, 2nd ed. 2006 (from memory).
    """
    b = require("cg_from_rear", cg_from_rear, unit="m", above=0.0)
    h = require("cg_height", cg_height, unit="m", above=0.0)
    return np.asarray(b / h)


def stoppie_grade(cg_from_front: ArrayLike, *, cg_height: ArrayLike) -> Array:
    """Downhill grade at which the rear wheel lifts, at steady speed; also the deceleration in g on the level.

    Parameters
    ----------
    cg_from_front : horizontal distance from the FRONT contact to the centre of gravity [m]
    cg_height : height of the centre of gravity [m]

    Returns
    -------
    tangent of the slope angle [1], broadcast shape

    Raises
    ------
    DomainError
        A length not above zero.

    Notes
    -----
    tan(angle) = b_f/h.

    References
    ----------
    V. Cossalter, Motorcycle Dynamics, 2nd ed. 2006 (from memory).
    """
    b = require("cg_from_front", cg_from_front, unit="m", above=0.0)
    h = require("cg_height", cg_height, unit="m", above=0.0)
    return np.asarray(b / h)


def side_slope_limit(track: ArrayLike, *, cg_height: ArrayLike) -> Array:
    """Side slope at which a machine with equal tracks tips over; also the lateral acceleration in g.

    Parameters
    ----------
    track : between the contact centres of one axle [m]
    cg_height : height of the centre of gravity [m]

    Returns
    -------
    tangent of the slope angle [1], broadcast shape

    Raises
    ------
    DomainError
        A length not above zero.

    Notes
    -----
    tan(angle) = t/(2 h).  A rigid machine: on a tilt table, tires and springs give way and the limit is 10 to 15 %
    lower.

    >>> float(side_slope_limit(0.9, cg_height=0.5))
    0.9
    """
    t = require("track", track, unit="m", above=0.0)
    h = require("cg_height", cg_height, unit="m", above=0.0)
    return np.asarray(t / (2.0 * h))


def lateral_stability_coefficient(
    *,
    front_track: ArrayLike,
    rear_track: ArrayLike,
    cg_from_rear: ArrayLike,
    wheelbase: ArrayLike,
    cg_height: ArrayLike,
) -> Array:
    """Static lateral stability coefficient of a quad with unequal tracks.

    Parameters
    ----------
    front_track, rear_track : between the contact centres [m]
    cg_from_rear : distance of the centre of gravity ahead of the rear axle [m]
    wheelbase : [m]
    cg_height : height of the centre of gravity [m]

    Returns
    -------
    coefficient [1], broadcast shape; equals :func:`side_slope_limit` where the tracks are equal

    Raises
    ------
    DomainError
        A length not above zero, centre of gravity outside the wheelbase.

    Notes
    -----
    K_st = (L t_r + l_r (t_f - t_r))/(2 L h): half the track at the centre of gravity, over its height.

    References
    ----------
    ANSI/SVIA 1, Four-Wheel All-Terrain Vehicles, as used in static stability tests (from memory).
    """
    tf = require("front_track", front_track, unit="m", above=0.0)
    tr = require("rear_track", rear_track, unit="m", above=0.0)
    base = require("wheelbase", wheelbase, unit="m", above=0.0)
    b = require("cg_from_rear", cg_from_rear, unit="m", low=0.0)
    share = require("cg_from_rear/wheelbase", b / base, unit="1", low=0.0, high=1.0)
    return side_slope_limit(tr + share * (tf - tr), cg_height=cg_height)


def standstill_steering_moment(load: ArrayLike, *, friction: ArrayLike, patch_area: ArrayLike) -> Array:
    """Moment that turns a standing tire on its contact patch.

    Parameters
    ----------
    load : wheel load [N]
    friction : between tire and ground [1]
    patch_area : contact area [m^2]

    Returns
    -------
    moment [N m], broadcast shape

    Raises
    ------
    DomainError
        Negative argument, friction above 3.

    Notes
    -----
    M = 0.376 mu W sqrt(A): a round patch of even pressure, (2/3) mu W sqrt(A/pi), brake released.

    References
    ----------
    R. S. Sharp and R. Granger, On car steering torques at parking speeds, Proc. IMechE D 217 (2003) 87-96 (from
    memory).
    """
    w = require("load", load, unit="N", low=0.0)
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    area = require("patch_area", patch_area, unit="m^2", low=0.0)
    return np.asarray(0.376 * mu * w * np.sqrt(area))


def gough_steering_moment(load: ArrayLike, *, friction: ArrayLike, pressure: ArrayLike) -> Array:
    """Gough's formula for the same moment, the check of :func:`standstill_steering_moment`.

    Parameters
    ----------
    load : wheel load [N]
    friction : between tire and ground [1]
    pressure : inflation pressure, gauge [Pa]; with the carcass pressure added for a stiff casing

    Returns
    -------
    moment [N m], broadcast shape

    Raises
    ------
    DomainError
        Negative load, friction outside 0 to 3, pressure not above zero.

    Notes
    -----
    M = (mu/3) sqrt(W^3/q).

    References
    ----------
    V. E. Gough, as quoted by R. S. Sharp and R. Granger, Proc. IMechE D 217 (2003) 87-96 (from memory).
    """
    w = require("load", load, unit="N", low=0.0)
    mu = require("friction", friction, unit="1", low=0.0, high=3.0)
    q = require("pressure", pressure, unit="Pa", above=0.0)
    return np.asarray(mu / 3.0 * np.sqrt(w**3 / q))
