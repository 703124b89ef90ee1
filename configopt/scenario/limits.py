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


def _limits() -> dict[str, Limit]:
    own: tuple[Scope, ...] = ("position",)
    return {
        limit.key: limit
        for limit in (
            Limit(
                "relative_deflection",
                "deflection over section height",
                "ratio",
                "1",
                "at_most",
                ("position",),
                0.35,
            ),
            Limit(
                "least_relative_deflection",
                "deflection over section height, so that the casing works",
                "ratio",
                "1",
                "at_least",
                ("position",),
                None,
            ),
            Limit(
                "tire_load",
                "load the tire may carry over its static load",
                "ratio",
                "1",
                "at_least",
                ("position",),
                1.0,
                relaxable=False,
            ),
            Limit(
                "wheel_load",
                "load the rim or disc wheel may carry over its static load",
                "ratio",
                "1",
                "at_least",
                ("position",),
                1.0,
                relaxable=False,
            ),
            Limit(
                "creep_margin",
                "torque the bead holds over the peak wheel torque",
                "ratio",
                "1",
                "at_least",
                ("position",),
                1.3,
            ),
            Limit(
                "hub_torque_margin",
                "torque the hub may carry over the peak wheel torque",
                "ratio",
                "1",
                "at_least",
                ("position",),
                1.0,
                relaxable=False,
            ),
            Limit(
                "brake_torque_reserve",
                "brake torque over the torque the ground can take",
                "ratio",
                "1",
                "at_least",
                ("position", "terrain"),
                1.2,
            ),
            Limit(
                "statutory_deceleration",
                "deceleration with one brake alone, laden, on a dry road, over the required one",
                "ratio",
                "1",
                "at_least",
                ("position",),
                None,
                relaxable=False,
            ),
            Limit("unsprung_mass", "unsprung mass per wheel with its package", "mass", "kg", "at_most", own, None),
            Limit(
                "steering_moment",
                "moment to turn the front wheels at standstill",
                "torque",
                "N m",
                "at_most",
                (),
                None,
            ),
            Limit(
                "ground_pressure",
                "mean ground pressure",
                "pressure",
                "kPa",
                "at_most",
                ("position", "terrain"),
                None,
            ),
            Limit("sinkage", "sinkage", "length", "mm", "at_most", ("position", "terrain"), None),
            Limit(
                "sinkage_over_passable",
                "sinkage at which the vehicle bogs, over the sinkage",
                "ratio",
                "1",
                "at_least",
                ("position", "terrain"),
                1.0,
                relaxable=False,
            ),
            Limit(
                "thrust_reserve",
                "thrust the ground gives over the resistance of the terrain",
                "ratio",
                "1",
                "at_least",
                ("terrain",),
                1.0,
                relaxable=False,
            ),
            Limit(
                "drive_reserve",
                "thrust the motor gives at the terrain's speed over the resistance of the terrain",
                "ratio",
                "1",
                "at_least",
                ("terrain",),
                1.0,
                relaxable=False,
            ),
            Limit("climb_grade", "steepest grade that can be climbed", "ratio", "%", "at_least", ("terrain",), None),
            Limit(
                "lift_off_deceleration",
                "deceleration at which the rear wheel lifts",
                "ratio",
                "g",
                "at_least",
                (),
                None,
            ),
            Limit(
                "rotor_temperature_margin",
                "temperature the brake may reach over the temperature it reaches, above ambient",
                "ratio",
                "1",
                "at_least",
                ("position", "terrain"),
                1.0,
            ),
            Limit(
                "rotor_temperature",
                "rotor temperature at the end of the descent",
                "temperature",
                "degC",
                "at_most",
                ("position", "terrain"),
                None,
            ),
            Limit(
                "rolling_loss",
                "energy at the wheels lost to the ground",
                "energy_per_distance",
                "Wh/km",
                "at_most",
                (),
                None,
            ),
            Limit("energy", "energy from the battery", "energy_per_distance", "Wh/km", "at_most", (), None),
            Limit("range", "range on the terrain mix", "length", "km", "at_least", (), None),
            Limit("top_speed", "top speed by motor speed and gear", "speed", "km/h", "at_least", (), None),
            Limit("cost", "cost of the packages of one vehicle", "price", "currency", "at_most", (), None),
            Limit("package_mass", "mass of all wheel packages", "mass", "kg", "at_most", (), None),
            Limit(
                "vehicle_mass",
                "mass of the vehicle ready to ride, without rider and cargo",
                "mass",
                "kg",
                "at_most",
                (),
                None,
            ),
            Limit("trail", "trail", "length", "mm", "at_least", (), None),
            Limit("trail_most", "trail", "length", "mm", "at_most", (), None),
            Limit("ground_clearance", "ground clearance", "length", "mm", "at_least", (), None),
            Limit(
                "mean_maximum_pressure",
                "mean maximum pressure of the whole vehicle",
                "pressure",
                "kPa",
                "at_most",
                (),
                None,
            ),
            Limit("lead_time", "latest delivery of any part", "time", "days", "at_most", (), None),
        )
    }


#: Every limit by its scenario key.
LIMITS: dict[str, Limit] = _limits()


def near_limit_name(name: str) -> str:
    """A hint for a misspelt limit, or the list of what there is."""
    near = difflib.get_close_matches(name, LIMITS, n=1)
    return f"; did you mean '{near[0]}'?" if near else f"; known are {', '.join(LIMITS)}"
