"""The limits a scenario can state, in trade terms: one record per limit, used by every later room."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import Literal

from configopt.quantities import quantity, to_unit

Scope = Literal["position", "terrain"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One kind of limit.

    ``unit`` is the unit in which value and bound are shown; ``default`` (SI) holds unless the scenario states
    another, ``None`` means the limit is only checked where a scenario asks for it.
    """

    key: str
    wording: str
    dimension: str
    unit: str
    bound: Literal["at_least", "at_most"]
    scopes: tuple[Scope, ...] = ()
    default: float | None = None
    relaxable: bool = True

    def parse(self, text: str | float | int) -> float:
        """Bound in SI from the text of a scenario."""
        return float(quantity(self.dimension).read(text))

    def shown(self, value: float) -> float:
        """Value in the limit's unit."""
        if self.unit in ("1", "currency", "g"):
            return value
        return float(to_unit(value, self.unit))


_WHEEL: tuple[Scope, ...] = ("position",)
_GROUND: tuple[Scope, ...] = ("terrain",)
_WHEEL_GROUND: tuple[Scope, ...] = ("position", "terrain")

#: Every limit by its scenario key.
LIMITS: dict[str, Limit] = {
    limit.key: limit
    for limit in (
        Limit("relative_deflection", "deflection over section height", "ratio", "1", "at_most", _WHEEL, default=0.35),
        Limit(
            "least_relative_deflection",
            "deflection over section height, so that the casing works",
            "ratio",
            "1",
            "at_least",
            _WHEEL,
        ),
        Limit(
            "tire_load",
            "load the tire may carry over its static load",
            "ratio",
            "1",
            "at_least",
            _WHEEL,
            default=1.0,
            relaxable=False,
        ),
        Limit(
            "wheel_load",
            "load the rim or disc wheel may carry over its static load",
            "ratio",
            "1",
            "at_least",
            _WHEEL,
            default=1.0,
            relaxable=False,
        ),
        Limit(
            "creep_margin",
            "torque the bead holds over the peak wheel torque",
            "ratio",
            "1",
            "at_least",
            _WHEEL,
            default=1.3,
        ),
        Limit(
            "strike_margin",
            "energy the tire takes up on the terrain's obstacles before the rim strikes, over what they ask",
            "ratio",
            "1",
            "at_least",
            _WHEEL_GROUND,
        ),
        Limit(
            "puncture_protection", "protection of the tire against punctures, 0 to 3", "ratio", "1", "at_least", _WHEEL
        ),
        Limit(
            "hub_torque_margin",
            "torque the hub may carry over the peak wheel torque",
            "ratio",
            "1",
            "at_least",
            _WHEEL,
            default=1.0,
            relaxable=False,
        ),
        Limit(
            "spoke_reserve",
            "load or torque at which the first spoke goes slack, over those of the wheel",
            "ratio",
            "1",
            "at_least",
            _WHEEL,
        ),
        Limit(
            "spoke_stress_reserve", "fatigue strength of the spokes over their stress", "ratio", "1", "at_least", _WHEEL
        ),
        Limit(
            "wheel_lateral_stiffness",
            "lateral stiffness of the spoked wheel at the rim",
            "stiffness",
            "kN/m",
            "at_least",
            _WHEEL,
        ),
        Limit(
            "brake_torque_reserve",
            "brake torque over the torque the ground can take",
            "ratio",
            "1",
            "at_least",
            _WHEEL_GROUND,
            default=1.2,
        ),
        Limit(
            "statutory_deceleration",
            "deceleration with one brake alone, laden, on a dry road, over the required one",
            "ratio",
            "1",
            "at_least",
            _WHEEL,
            relaxable=False,
        ),
        Limit(
            "deceleration",
            "deceleration with both brakes at the stated hand force, on the level",
            "ratio",
            "g",
            "at_least",
            _GROUND,
        ),
        Limit("unsprung_mass", "unsprung mass per wheel with its package", "mass", "kg", "at_most", _WHEEL),
        Limit("steering_moment", "moment to turn the front wheels at standstill", "torque", "N m", "at_most", ()),
        Limit("lateral_stiffness", "lateral stiffness of the tire", "stiffness", "kN/m", "at_least", _WHEEL),
        Limit(
            "side_slope", "side slope that can be crossed without sliding or tipping", "ratio", "%", "at_least", _GROUND
        ),
        Limit(
            "lateral_stability", "half the track over the height of the centre of gravity", "ratio", "1", "at_least", ()
        ),
        Limit("ground_pressure", "mean ground pressure", "pressure", "kPa", "at_most", _WHEEL_GROUND),
        Limit("sinkage", "sinkage", "length", "mm", "at_most", _WHEEL_GROUND),
        Limit(
            "sinkage_over_passable",
            "sinkage at which the vehicle bogs, over the sinkage",
            "ratio",
            "1",
            "at_least",
            _WHEEL_GROUND,
            default=1.0,
            relaxable=False,
        ),
        Limit(
            "time_off_ground", "share of the time the wheel is off the ground", "ratio", "%", "at_most", _WHEEL_GROUND
        ),
        Limit("dynamic_load", "rms of the load's changes over the static load", "ratio", "1", "at_most", _WHEEL_GROUND),
        Limit(
            "ride_acceleration",
            "rms acceleration above the suspension",
            "acceleration",
            "m/s2",
            "at_most",
            _WHEEL_GROUND,
        ),
        Limit(
            "thrust_reserve",
            "thrust the ground gives over the resistance of the terrain",
            "ratio",
            "1",
            "at_least",
            _GROUND,
            default=1.0,
            relaxable=False,
        ),
        Limit(
            "drive_reserve",
            "thrust the motor gives at the terrain's speed over the resistance of the terrain",
            "ratio",
            "1",
            "at_least",
            _GROUND,
            default=1.0,
            relaxable=False,
        ),
        Limit("climb_grade", "steepest grade that can be climbed", "ratio", "%", "at_least", _GROUND),
        Limit(
            "step_height", "highest step the driven wheel climbs by its own grip", "length", "mm", "at_least", _GROUND
        ),
        Limit("lift_off_deceleration", "deceleration at which the rear wheel lifts", "ratio", "g", "at_least", ()),
        Limit(
            "rotor_temperature_margin",
            "temperature the brake may reach over the temperature it reaches, above ambient",
            "ratio",
            "1",
            "at_least",
            _WHEEL_GROUND,
            default=1.0,
        ),
        Limit(
            "rotor_temperature",
            "rotor temperature at the end of the descent",
            "temperature",
            "degC",
            "at_most",
            _WHEEL_GROUND,
        ),
        Limit("rolling_loss", "energy at the wheels lost to the ground", "energy_per_distance", "Wh/km", "at_most", ()),
        Limit("energy", "energy from the battery", "energy_per_distance", "Wh/km", "at_most", ()),
        Limit("range", "range on the terrain mix", "length", "km", "at_least", ()),
        Limit("top_speed", "top speed by motor speed and gear", "speed", "km/h", "at_least", ()),
        Limit("cost", "cost of the packages of one vehicle", "price", "currency", "at_most", ()),
        Limit("running_cost", "tires, pads and rotors worn off in 1,000 km", "price", "currency", "at_most", ()),
        Limit("package_mass", "mass of all wheel packages", "mass", "kg", "at_most", ()),
        Limit(
            "vehicle_mass", "mass of the vehicle ready to ride, without rider and cargo", "mass", "kg", "at_most", ()
        ),
        Limit("trail", "trail", "length", "mm", "at_least", ()),
        Limit("trail_most", "trail", "length", "mm", "at_most", ()),
        Limit("ground_clearance", "ground clearance", "length", "mm", "at_least", ()),
        Limit(
            "break_over_angle",
            "sharpest crest that is cleared, as the angle by which it bends",
            "angle",
            "deg",
            "at_least",
            (),
        ),
        Limit("front_load_share", "share of the weight on the front wheels", "ratio", "%", "at_least", ()),
        Limit("front_load_share_most", "share of the weight on the front wheels", "ratio", "%", "at_most", ()),
        Limit("mean_maximum_pressure", "mean maximum pressure of the whole vehicle", "pressure", "kPa", "at_most", ()),
        Limit("lead_time", "latest delivery of any part", "time", "days", "at_most", ()),
    )
}


#: Limits on what a suspended wheel does on rough ground.
ROUGH_RIDE = ("time_off_ground", "dynamic_load", "ride_acceleration")


def near_limit_name(name: str) -> str:
    """A hint for a misspelt limit, or the list of what there is."""
    near = difflib.get_close_matches(name, LIMITS, n=1)
    return f"; did you mean '{near[0]}'?" if near else f"; known are {', '.join(LIMITS)}"
