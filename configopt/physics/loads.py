"""Axle loads in closed form from masses and geometry; the one definition of loads.

Deflection follows from the loads afterwards; there is no loop between them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.domain import Array, require

#: Standard gravity [m/s2], 40 CFR 1066.210.
GRAVITY = STANDARD_GRAVITY


@dataclass(frozen=True)
class Chassis:
    """The vehicle without its wheel packages, laden.

    Attributes
    ----------
    mass : [kg]
    wheelbase : [m]
    cg_from_rear_axle : [m] along the wheelbase with the reference radii
    cg_height : [m] above ground with the reference radii
    reference_front_radius, reference_rear_radius : [m] free tire radii with which the geometry is stated

    Raises
    ------
    DomainError
        Mass, wheelbase or radii not above zero, negative height, or a figure that is not a number.
    """

    mass: float
    wheelbase: float
    cg_from_rear_axle: float
    cg_height: float
    reference_front_radius: float
    reference_rear_radius: float

    def __post_init__(self) -> None:
        require("mass", self.mass, unit="kg", above=0.0, high=1e5)
        require("wheelbase", self.wheelbase, unit="m", above=0.0, high=10.0)
        require("cg_from_rear_axle", self.cg_from_rear_axle, unit="m", low=-10.0, high=10.0)
        require("cg_height", self.cg_height, unit="m", low=0.0, high=5.0)
        require("reference_front_radius", self.reference_front_radius, unit="m", above=0.0, high=2.0)
        require("reference_rear_radius", self.reference_rear_radius, unit="m", above=0.0, high=2.0)

    @property
    def cg_above_axles(self) -> float:
        """Height of the centre of gravity above the line of the axles [m]."""
        share = self.cg_from_rear_axle / self.wheelbase
        return self.cg_height - share * self.reference_front_radius - (1.0 - share) * self.reference_rear_radius


@dataclass(frozen=True)
class AxleLoads:
    """Loads normal to the ground of whole axles [N]; negative where an axle would lift."""

    front: Array
    rear: Array


def axle_loads(
    chassis: Chassis,
    *,
    front_mass: ArrayLike,
    rear_mass: ArrayLike,
    front_radius: ArrayLike,
    rear_radius: ArrayLike,
    grade_angle: ArrayLike = 0.0,
    deceleration: ArrayLike = 0.0,
) -> AxleLoads:
    """Loads of both axles, on a grade and while braking.

    Parameters
    ----------
    chassis : the vehicle without packages
    front_mass, rear_mass : [kg] all packages of the axle, any shape
    front_radius, rear_radius : [m] free radii, broadcast with the masses
    grade_angle : [rad] positive uphill
    deceleration : [m/s2] along the ground, positive when slowing

    Returns
    -------
    AxleLoads of the broadcast shape [N]

    Notes
    -----
    Moments about the rear contact.  With other radii than the reference the chassis turns by the small angle
    psi = (dRf - dRr)/L about the axles; its centre of gravity moves back by psi times its height above the axle line
    and up by the interpolated change of radius, both linear in the radii.  Each package's mass sits at its axle, at
    the free radius above ground.  Along-ground force at a centre of gravity of height h: m (g sin(theta) - a); theta
    positive uphill moves load to the rear, deceleration a moves it to the front.

    References
    ----------
    Statics; the level and braking forms equal Limpert, Motorcycle Braking Dynamics (2008), eqs 1-2.

    >>> bike = Chassis(200.0, 1.45, 0.70, 0.75, 0.3, 0.3)
    >>> loads = axle_loads(bike, front_mass=0.0, rear_mass=0.0, front_radius=0.3, rear_radius=0.3)
    >>> round(float(loads.front), 1), round(float(loads.rear), 1)
    (946.8, 1014.5)
    """
    mass_front = require("front_mass", front_mass, unit="kg", low=0.0, high=1e3)
    mass_rear = require("rear_mass", rear_mass, unit="kg", low=0.0, high=1e3)
    radius_front = require("front_radius", front_radius, unit="m", above=0.0, high=2.0)
    radius_rear = require("rear_radius", rear_radius, unit="m", above=0.0, high=2.0)
    theta = require("grade_angle", grade_angle, unit="rad", low=-1.3, high=1.3)
    slowing = require("deceleration", deceleration, unit="m/s2", low=-30.0, high=30.0)
    base = chassis.wheelbase
    share = chassis.cg_from_rear_axle / base
    change_front = radius_front - chassis.reference_front_radius
    change_rear = radius_rear - chassis.reference_rear_radius
    height = chassis.cg_height + share * change_front + (1.0 - share) * change_rear
    ahead = chassis.cg_from_rear_axle - chassis.cg_above_axles * (change_front - change_rear) / base
    normal = GRAVITY * np.cos(theta)
    along = GRAVITY * np.sin(theta) - slowing
    moment = chassis.mass * (normal * ahead - along * height)
    moment = moment + mass_front * (normal * base - along * radius_front) - mass_rear * along * radius_rear
    front = moment / base
    total = (chassis.mass + mass_front + mass_rear) * normal
    return AxleLoads(front=np.asarray(front), rear=np.asarray(total - front))
