"""Where the wheels let the chassis be: feasible wheelbase and position of the centre of gravity.

For the chassis designer, once the packages stand.  All limits are closed forms of statics; the crest alone needs a few
dozen halvings.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require
from configopt.physics.halving import halve

_HALVINGS = 60
"""Of the bracket of a ramp angle: its width then is below rounding error."""

_FLAT = 1e-9
"""Crest angle [rad] below which the ground counts as flat; the wheelbase would be a million kilometres."""

LOW_ENDS = ("climb tip-over", "least front load")
HIGH_ENDS = ("rear lift under braking", "most front load")
LEAST_WHEELBASES = (
    "climb tip-over and rear lift",
    "climb tip-over and most front load",
    "rear lift and least front load",
    "room between the wheels",
)
"""What sets each end of the window, as :class:`ChassisWindow` names it."""


@dataclass(frozen=True)
class ChassisWindow:
    """The feasible window at a given wheelbase and height of the centre of gravity; all arrays of one shape.

    Attributes
    ----------
    low, high : least and largest distance of the centre of gravity ahead of the rear contact [m]
    low_set_by, high_set_by : which requirement sets each end
    least_wheelbase : shortest wheelbase whose window is not empty [m]
    least_set_by : which requirements set it
    largest_wheelbase : longest wheelbase that clears the crest [m]; infinite where no crest is asked for, 0 where no
        wheelbase clears it
    open : whether the wheelbase lies between both and the window is not empty
    """

    low: Array
    high: Array
    low_set_by: NDArray[np.str_]
    high_set_by: NDArray[np.str_]
    least_wheelbase: Array
    least_set_by: NDArray[np.str_]
    largest_wheelbase: Array
    open: NDArray[np.bool_]


def _largest(values: list[Array], names: tuple[str, ...]) -> tuple[Array, NDArray[np.str_]]:
    stack = np.stack(np.broadcast_arrays(*values))
    return np.asarray(stack.max(axis=0)), np.asarray(np.array(names)[stack.argmax(axis=0)])


@dataclass(frozen=True)
class _Demand:
    """The requirements on a centre of gravity of height h: least distances and shares."""

    climb: Array
    braking: Array
    share_min: Array
    share_max: Array


def _require_demand(
    cg_height: ArrayLike,
    climb_grade: ArrayLike,
    deceleration: ArrayLike,
    front_share_min: ArrayLike,
    front_share_max: ArrayLike,
) -> _Demand:
    h = require("cg_height", cg_height, unit="m", above=0.0, high=5.0)
    grade = require("climb_grade", climb_grade, unit="1", low=0.0, high=10.0)
    slowing = require("deceleration", deceleration, unit="m/s2", low=0.0, high=30.0)
    low = require("front_share_min", front_share_min, unit="1", low=0.0, high=0.99)
    high = require("front_share_max", front_share_max, unit="1", low=0.01, high=1.0)
    require("front_share_max - front_share_min", high - low, unit="1", low=0.0)
    return _Demand(h * grade, h * slowing / STANDARD_GRAVITY, low, high)


def cg_interval(
    wheelbase: ArrayLike,
    *,
    cg_height: ArrayLike,
    climb_grade: ArrayLike,
    deceleration: ArrayLike,
    front_share_min: ArrayLike = 0.0,
    front_share_max: ArrayLike = 1.0,
) -> tuple[Array, Array]:
    """Least and largest distance of the centre of gravity ahead of the rear contact [m]; empty where they cross.

    The least one rises in height, grade and least share (and in the wheelbase where that share sets it); the largest
    one rises in wheelbase and largest share, falls in height and deceleration.

    Parameters
    ----------
    wheelbase : L [m], any shape
    cg_height : h, laden, with the packages in question [m]
    climb_grade : tangent of the uphill slope on which the front wheel must stay down [1]
    deceleration : at which the rear wheel must stay down on level ground [m/s2]
    front_share_min, front_share_max : least and largest share of the weight on the front wheel [1]

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the shares cross.

    Notes
    -----
    h tan(theta) <= b <= L - h a/g and s_min L <= b <= s_max L, b the distance: moments about either contact.

    References
    ----------
    V. Cossalter, Motorcycle Dynamics, 2nd ed. 2006 (from memory).

    >>> [round(float(end), 3) for end in cg_interval(1.35, cg_height=0.7, climb_grade=0.8, deceleration=6.0)]
    [0.56, 0.922]
    """
    base = require("wheelbase", wheelbase, unit="m", above=0.0, high=10.0)
    asked = _require_demand(cg_height, climb_grade, deceleration, front_share_min, front_share_max)
    low = np.maximum(asked.climb, asked.share_min * base)
    return np.asarray(low), np.asarray(np.minimum(base - asked.braking, asked.share_max * base))


def least_wheelbase(
    *,
    cg_height: ArrayLike,
    climb_grade: ArrayLike,
    deceleration: ArrayLike,
    front_share_min: ArrayLike = 0.0,
    front_share_max: ArrayLike = 1.0,
    front_radius: ArrayLike,
    rear_radius: ArrayLike,
    wheel_gap: ArrayLike = 0.0,
) -> tuple[Array, NDArray[np.str_]]:
    """Shortest wheelbase at which :func:`cg_interval` is not empty and the wheels have room [m], and what sets it.

    Rises in every argument but the largest share, in which it falls.

    Parameters
    ----------
    cg_height, climb_grade, deceleration, front_share_min, front_share_max : as in :func:`cg_interval`
    front_radius, rear_radius : free radii of the tires [m]
    wheel_gap : least gap between the tires, for what stands between them [m]

    Returns
    -------
    wheelbase [m] and one of :data:`LEAST_WHEELBASES`, both of broadcast shape

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the shares cross.

    Notes
    -----
    The largest of h (tan(theta) + a/g), h tan(theta)/s_max, h (a/g)/(1 - s_min) and R_f + R_r + gap.

    >>> base, why = least_wheelbase(cg_height=0.7, climb_grade=0.8, deceleration=6.0, front_radius=0.35,
    ...                             rear_radius=0.34)
    >>> round(float(base), 3), str(why)
    (0.988, 'climb tip-over and rear lift')
    """
    asked = _require_demand(cg_height, climb_grade, deceleration, front_share_min, front_share_max)
    front = require("front_radius", front_radius, unit="m", above=0.0, high=2.0)
    rear = require("rear_radius", rear_radius, unit="m", above=0.0, high=2.0)
    gap = require("wheel_gap", wheel_gap, unit="m", low=0.0, high=10.0)
    return _largest(
        [
            asked.climb + asked.braking,
            asked.climb / asked.share_max,
            asked.braking / (1.0 - asked.share_min),
            front + rear + gap,
        ],
        LEAST_WHEELBASES,
    )


def _reach(angle: Array, radius: Array, clearance: Array) -> Array:
    """Distance ahead of the wheel's axle at which a point clears a ramp of a given angle [m]; falls in the angle."""
    return np.asarray(radius * np.tan(0.5 * angle) + clearance / np.tan(angle))


def largest_wheelbase(
    breakover_angle: ArrayLike,
    *,
    clearance: ArrayLike,
    position_share: ArrayLike = 0.5,
    front_radius: ArrayLike,
    rear_radius: ArrayLike,
) -> Array:
    """Longest wheelbase that clears a crest [m].

    Rises in the clearance and falls in the angle; rises in the radii until the point lies inside a wheel.

    Parameters
    ----------
    breakover_angle : angle between both ramps of the crest [rad], any shape, 0 to 90 degrees
    clearance : under the lowest point [m]
    position_share : its distance ahead of the rear axle over the wheelbase [1], above 0 and below 1
    front_radius, rear_radius : loaded radii [m]

    Returns
    -------
    Array
        Infinite where the angle is zero (below 1e-9); zero where no wheelbase clears the crest without the point lying
        inside a wheel.

    Raises
    ------
    DomainError
        Outside the ranges, or where an argument is not a number.

    Notes
    -----
    The inverse of :func:`configopt.physics.chassis.breakover_angle` in the wheelbase.  A ramp of angle a that touches
    the wheel passes the point at the reach R tan(a/2) + c/tan(a), which falls in a up to the angle at which the point
    meets the tire, cos(a) = 1 - c/R.  The split of the crest between both ramps is found by halving.

    >>> round(float(largest_wheelbase(np.radians(60.0), clearance=0.30, front_radius=0.33, rear_radius=0.33)), 3)
    1.216
    """
    total = require("breakover_angle", breakover_angle, unit="rad", low=0.0, high=0.5 * np.pi)
    c = require("clearance", clearance, unit="m", low=0.0, high=2.0)
    share = require("position_share", position_share, unit="1", above=0.0, high=1.0)
    rest = require("1 - position_share", 1.0 - share, unit="1", above=0.0)
    front = require("front_radius", front_radius, unit="m", above=0.0, high=2.0)
    rear = require("rear_radius", rear_radius, unit="m", above=0.0, high=2.0)

    total, c, share, rest, front, rear = np.broadcast_arrays(total, c, share, rest, front, rear)
    steepest_front, steepest_rear = (np.arccos(np.maximum(1.0 - c / r, -1.0)) for r in (front, rear))
    low = np.maximum(total - steepest_front, 0.0)
    high = np.minimum(total, steepest_rear)
    exists = (low <= high) & (total > _FLAT) & (c > 0.0)
    # Where nothing is to be found, halve a harmless bracket.
    asked = np.where(exists, total, 1.0)
    a, b = np.where(exists, low, 0.0), np.where(exists, high, 1.0)

    def excess(angle: Array) -> Array:
        """Wheelbase by the rear ramp less wheelbase by the front ramp; falls in the rear ramp's angle."""
        return np.asarray(_reach(angle, rear, c) / share - _reach(asked - angle, front, c) / rest)

    def beyond(angle: Array) -> NDArray[np.bool_]:
        return np.asarray(excess(np.where((angle > 0.0) & (angle < asked), angle, 0.5 * asked)) > 0.0)

    # At an end where one ramp is flat its reach is infinite; only ends set by a tire can lie on the wrong side.
    exists = exists & ((a == 0.0) | beyond(a)) & ((b == asked) | ~beyond(b))
    a, b = halve(beyond, a, b, rounds=_HALVINGS)
    middle = np.where(exists, 0.5 * (a + b), 0.5)
    found = np.minimum(_reach(middle, rear, c) / share, _reach(np.where(exists, total - middle, 0.5), front, c) / rest)
    return np.asarray(np.where(total <= _FLAT, np.inf, np.where(exists, found, 0.0)))


def chassis_window(
    wheelbase: ArrayLike,
    *,
    cg_height: ArrayLike,
    climb_grade: ArrayLike,
    deceleration: ArrayLike,
    front_share_min: ArrayLike = 0.0,
    front_share_max: ArrayLike = 1.0,
    front_radius: ArrayLike,
    rear_radius: ArrayLike,
    wheel_gap: ArrayLike = 0.0,
    breakover_angle: ArrayLike = 0.0,
    clearance: ArrayLike = 0.0,
    position_share: ArrayLike = 0.5,
) -> ChassisWindow:
    """Window of the centre of gravity at a wheelbase, the wheelbases that have one, and what sets each end.

    Parameters
    ----------
    wheelbase : L [m], any shape
    cg_height, climb_grade, deceleration, front_share_min, front_share_max : as in :func:`cg_interval`
    front_radius, rear_radius, wheel_gap : as in :func:`least_wheelbase`
    breakover_angle, clearance, position_share : as in :func:`largest_wheelbase`

    Raises
    ------
    DomainError
        Outside the ranges, where an argument is not a number, or where the shares cross.

    >>> window = chassis_window(1.30, cg_height=0.7, climb_grade=0.8, deceleration=6.0, front_share_min=0.45,
    ...     front_share_max=0.55, front_radius=0.35, rear_radius=0.34, breakover_angle=np.radians(55.0), clearance=0.32)
    >>> bool(window.open), str(window.low_set_by), str(window.high_set_by)
    (True, 'least front load', 'most front load')
    """
    limits = {
        "cg_height": cg_height,
        "climb_grade": climb_grade,
        "deceleration": deceleration,
        "front_share_min": front_share_min,
        "front_share_max": front_share_max,
    }
    base = require("wheelbase", wheelbase, unit="m", above=0.0, high=10.0)
    asked = _require_demand(**limits)
    low, low_name = _largest([asked.climb, asked.share_min * base], LOW_ENDS)
    high, high_name = _largest([asked.braking - base, -asked.share_max * base], HIGH_ENDS)
    least, least_name = least_wheelbase(
        **limits, front_radius=front_radius, rear_radius=rear_radius, wheel_gap=wheel_gap
    )
    largest = largest_wheelbase(
        breakover_angle,
        clearance=clearance,
        position_share=position_share,
        front_radius=front_radius,
        rear_radius=rear_radius,
    )
    is_open = (base >= least) & (base <= largest) & (low <= -high)
    parts = np.broadcast_arrays(low, -high, low_name, high_name, least, least_name, largest, is_open)
    return ChassisWindow(*(np.array(part) for part in parts))
