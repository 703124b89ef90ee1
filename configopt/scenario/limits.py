"""The limits a scenario can state, in trade terms: one record per limit, used by every later room."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import Literal

from configopt.quantities import quantity, to_unit

Scope = Literal["position", "terrain"]
#: Units that a file does not write: the number stands alone.
_UNITLESS = ("1", "currency", "g")


@dataclass(frozen=True, slots=True)
class Limit:
    """One kind of limit.

    ``unit`` is the unit in which value and bound are shown; ``default`` (SI) holds unless the scenario states
    another, ``None`` means the limit is only checked where a scenario asks for it.  ``allowed`` is the least and the
    greatest bound that means anything, in ``unit``: generous, but inside what the models take.
    """

    key: str
    wording: str
    dimension: str
    unit: str
    bound: Literal["at_least", "at_most"]
    allowed: tuple[float, float]
    scopes: tuple[Scope, ...] = ()
    default: float | None = None
    relaxable: bool = True

    def parse(self, text: str | float | int) -> float:
        """Bound in SI from the text of a scenario."""
        return float(quantity(self.dimension).read(text))

    def allows(self, value: float) -> bool:
        """Whether a bound [SI] lies in the allowed range."""
        # The ends are read as text, as a file's are: 0.1 km as a float would be a little more than that.
        low, high = (self.parse(f"{end:.10g} {'' if self.unit in _UNITLESS else self.unit}") for end in self.allowed)
        return low <= value <= high

    @property
    def range_text(self) -> str:
        """The allowed range as people read it."""
        words = {"1": "", "currency": "", "g": " g, written without the unit"}
        low, high = (f"{end:.10g}" for end in self.allowed)
        return f"{low} to {high}{words.get(self.unit, f' {self.unit}')}"

    def text(self, value: float) -> str:
        """A bound [SI] as people read it."""
        unit = "" if self.unit in ("1", "currency") else f" {self.unit}"
        return f"{self.shown(value):.6g}{unit}"

    def shown(self, value: float) -> float:
        """Value in the limit's unit."""
        if self.unit in _UNITLESS:
            return value
        return float(to_unit(value, self.unit))


_WHEEL: tuple[Scope, ...] = ("position",)
_GROUND: tuple[Scope, ...] = ("terrain",)
_WHEEL_GROUND: tuple[Scope, ...] = ("position", "terrain")

#: Ratios of what there is to what is asked.
_MARGIN = (0.01, 100.0)
#: The same where the model cuts off at 1000, or little is asked of good ground.
_CAPPED = (0.01, 1000.0)
#: Decelerations [g]; the statics of the chassis end at 30 m/s2.
_SLOWING = (0.01, 3.0)
#: Slopes [%]; the model looks for the steepest one up to 60 degrees.
_GRADE = (0.1, 170.0)
_PRESSURE = (1.0, 1e4)
_ENERGY = (0.1, 1e4)
#: In any currency.
_PRICE = (0.01, 1e9)
_SPAN = (1.0, 2000.0)

#: Every limit by its scenario key.
LIMITS: dict[str, Limit] = {
    limit.key: limit
    for limit in (
        Limit(
            "relative_deflection",
            "deflection over section height",
            "ratio",
            "1",
            "at_most",
            (0.01, 1.0),
            _WHEEL,
            default=0.35,
        ),
        Limit(
            "least_relative_deflection",
            "deflection over section height, so that the casing works",
            "ratio",
            "1",
            "at_least",
            (0.01, 1.0),
            _WHEEL,
        ),
        Limit(
            "tire_load",
            "load the tire may carry over its static load",
            "ratio",
            "1",
            "at_least",
            _MARGIN,
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
            _MARGIN,
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
            _MARGIN,
            _WHEEL,
            default=1.3,
        ),
        Limit(
            "strike_margin",
            "energy the tire takes up on the terrain's obstacles before the rim strikes, over what they ask",
            "ratio",
            "1",
            "at_least",
            _CAPPED,
            _WHEEL_GROUND,
        ),
        Limit(
            "puncture_protection",
            "protection of the tire against punctures, 0 to 3",
            "ratio",
            "1",
            "at_least",
            (1.0, 3.0),
            _WHEEL,
        ),
        Limit(
            "hub_torque_margin",
            "torque the hub may carry over the peak wheel torque",
            "ratio",
            "1",
            "at_least",
            _MARGIN,
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
            _CAPPED,
            _WHEEL,
        ),
        Limit(
            "spoke_stress_reserve",
            "fatigue strength of the spokes over their stress",
            "ratio",
            "1",
            "at_least",
            _CAPPED,
            _WHEEL,
        ),
        Limit(
            "wheel_lateral_stiffness",
            "lateral stiffness of the spoked wheel at the rim",
            "stiffness",
            "kN/m",
            "at_least",
            (1.0, 1e4),
            _WHEEL,
        ),
        Limit(
            "brake_torque_reserve",
            "brake torque over the torque the ground can take",
            "ratio",
            "1",
            "at_least",
            _MARGIN,
            _WHEEL_GROUND,
            default=1.2,
        ),
        Limit(
            "statutory_deceleration",
            "deceleration with one brake alone, laden, on a dry road, over the required one",
            "ratio",
            "1",
            "at_least",
            (0.01, 10.0),
            _WHEEL,
            relaxable=False,
        ),
        Limit(
            "deceleration",
            "deceleration with both brakes at the stated hand force, on the level",
            "ratio",
            "g",
            "at_least",
            _SLOWING,
            _GROUND,
        ),
        Limit(
            "unsprung_mass", "unsprung mass per wheel with its package", "mass", "kg", "at_most", (0.1, 500.0), _WHEEL
        ),
        Limit(
            "steering_moment", "moment to turn the front wheels at standstill", "torque", "N m", "at_most", (0.1, 1e4)
        ),
        Limit(
            "lateral_stiffness", "lateral stiffness of the tire", "stiffness", "kN/m", "at_least", (0.1, 1e4), _WHEEL
        ),
        Limit(
            "side_slope",
            "side slope that can be crossed without sliding or tipping",
            "ratio",
            "%",
            "at_least",
            _GRADE,
            _GROUND,
        ),
        Limit(
            "lateral_stability",
            "half the track over the height of the centre of gravity",
            "ratio",
            "1",
            "at_least",
            (0.01, 10.0),
        ),
        Limit("ground_pressure", "mean ground pressure", "pressure", "kPa", "at_most", _PRESSURE, _WHEEL_GROUND),
        Limit("sinkage", "sinkage", "length", "mm", "at_most", (0.1, 2000.0), _WHEEL_GROUND),
        Limit(
            "sinkage_over_passable",
            "sinkage at which the vehicle bogs, over the sinkage",
            "ratio",
            "1",
            "at_least",
            _CAPPED,
            _WHEEL_GROUND,
            default=1.0,
            relaxable=False,
        ),
        Limit(
            "time_off_ground",
            "share of the time the wheel is off the ground",
            "ratio",
            "%",
            "at_most",
            (0.001, 100.0),
            _WHEEL_GROUND,
        ),
        Limit(
            "dynamic_load",
            "rms of the load's changes over the static load",
            "ratio",
            "1",
            "at_most",
            (0.001, 10.0),
            _WHEEL_GROUND,
        ),
        Limit(
            "ride_acceleration",
            "rms acceleration above the suspension",
            "acceleration",
            "m/s2",
            "at_most",
            (0.01, 200.0),
            _WHEEL_GROUND,
        ),
        Limit(
            "thrust_reserve",
            "thrust the ground gives over the resistance of the terrain",
            "ratio",
            "1",
            "at_least",
            _MARGIN,
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
            _MARGIN,
            _GROUND,
            default=1.0,
            relaxable=False,
        ),
        Limit("climb_grade", "steepest grade that can be climbed", "ratio", "%", "at_least", _GRADE, _GROUND),
        Limit(
            "step_height",
            "highest step the driven wheel climbs by its own grip",
            "length",
            "mm",
            "at_least",
            (1.0, 2000.0),
            _GROUND,
        ),
        Limit(
            "lift_off_deceleration", "deceleration at which the rear wheel lifts", "ratio", "g", "at_least", _SLOWING
        ),
        Limit(
            "rotor_temperature_margin",
            "temperature the brake may reach over the temperature it reaches, above ambient",
            "ratio",
            "1",
            "at_least",
            _MARGIN,
            _WHEEL_GROUND,
            default=1.0,
        ),
        Limit(
            "rotor_temperature",
            "rotor temperature at the end of the descent",
            "temperature",
            "degC",
            "at_most",
            (0.0, 1200.0),
            _WHEEL_GROUND,
        ),
        Limit(
            "rolling_loss",
            "energy at the wheels lost to the ground",
            "energy_per_distance",
            "Wh/km",
            "at_most",
            _ENERGY,
        ),
        Limit("energy", "energy from the battery", "energy_per_distance", "Wh/km", "at_most", _ENERGY),
        Limit("range", "range on the terrain mix", "length", "km", "at_least", (0.1, 1e4)),
        Limit("top_speed", "top speed by motor speed and gear", "speed", "km/h", "at_least", (1.0, 500.0)),
        Limit("cost", "cost of the packages of one vehicle", "price", "currency", "at_most", _PRICE),
        Limit("running_cost", "tires, pads and rotors worn off in 1,000 km", "price", "currency", "at_most", _PRICE),
        Limit("package_mass", "mass of all wheel packages", "mass", "kg", "at_most", (0.1, 2000.0)),
        Limit(
            "vehicle_mass",
            "mass of the vehicle ready to ride, without rider and cargo",
            "mass",
            "kg",
            "at_most",
            (1.0, 5000.0),
        ),
        Limit("trail", "trail", "length", "mm", "at_least", _SPAN),
        Limit("trail_most", "trail", "length", "mm", "at_most", _SPAN),
        Limit("ground_clearance", "ground clearance", "length", "mm", "at_least", _SPAN),
        Limit(
            "break_over_angle",
            "sharpest crest that is cleared, as the angle by which it bends",
            "angle",
            "deg",
            "at_least",
            (1.0, 90.0),
            (),
        ),
        Limit("front_load_share", "share of the weight on the front wheels", "ratio", "%", "at_least", (1.0, 99.0)),
        Limit("front_load_share_most", "share of the weight on the front wheels", "ratio", "%", "at_most", (1.0, 99.0)),
        Limit(
            "mean_maximum_pressure",
            "mean maximum pressure of the whole vehicle",
            "pressure",
            "kPa",
            "at_most",
            _PRESSURE,
        ),
        Limit("lead_time", "latest delivery of any part", "time", "days", "at_most", (0.1, 3650.0)),
    )
}


#: Pairs of limits on one value: the least, the most.
PAIRS = (
    ("least_relative_deflection", "relative_deflection"),
    ("front_load_share", "front_load_share_most"),
    ("trail", "trail_most"),
)
#: Name under which heat after repeated stops is reported.
REPEATED_STOPS = "repeated-stops"
#: Limits on what a suspended wheel does on rough ground.
ROUGH_RIDE = ("time_off_ground", "dynamic_load", "ride_acceleration")


def near_limit_name(name: str) -> str:
    """A hint for a misspelt limit, or the list of what there is."""
    near = difflib.get_close_matches(name, LIMITS, n=1)
    return f"; did you mean '{near[0]}'?" if near else f"; known are {', '.join(LIMITS)}"
