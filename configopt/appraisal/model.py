"""The full model: every number of given choices, many at a time.  This is the authority; nothing here optimises.

All arrays have one row per choice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.braking import Braking
from configopt.appraisal.climbing import Climbing
from configopt.appraisal.contact import Contact
from configopt.appraisal.forces import CAUSES, GROUND_CAUSES, LEAST_LOAD, LegResult
from configopt.appraisal.parts import MOST_RUNNING_COST, Orders
from configopt.appraisal.vehicle import Bound
from configopt.catalog.records import Position
from configopt.physics.domain import Array
from configopt.physics.loads import GRAVITY


@dataclass(frozen=True)
class Margin:
    """One limit over all choices: whether it is met, and its value [SI] where it was asked for."""

    bound: Bound
    met: NDArray[np.bool_]
    value: Array | None


@dataclass
class Outcome:
    """Every number of the choices."""

    package_mass: dict[Position, Array]
    unsprung_mass: dict[Position, Array]
    static_load: dict[Position, Array]
    total_mass: Array
    legs: list[LegResult]
    rolling_loss: Array
    energy: Array
    energy_by_cause: dict[str, Array]
    bought: Orders
    margins: list[Margin]

    @property
    def cost(self) -> Array:
        """Packages and final drive per vehicle [currency]."""
        return self.bought.cost

    @property
    def packages_mass(self) -> Array:
        """All packages [kg]."""
        return np.asarray(self.package_mass["front"] + self.package_mass["rear"])

    @property
    def met(self) -> NDArray[np.bool_]:
        """Whether every limit is met."""
        return np.asarray(np.logical_and.reduce([margin.met for margin in self.margins]))


def meets(bound: Bound, value: Array) -> NDArray[np.bool_]:
    """Whether values meet a bound, with the slack that counts as met."""
    return np.asarray(value >= bound.relaxed if bound.at_least else value <= bound.relaxed)


#: Limits whose value needs the whole ride over all terrains, or what is bought.
ON_OUTCOME = frozenset(
    {
        "time_off_ground", "dynamic_load", "ride_acceleration", "ground_pressure", "sinkage", "sinkage_over_passable",
        "thrust_reserve", "drive_reserve", "running_cost", "rolling_loss", "energy", "range", "cost", "package_mass",
        "lead_time",
    }
)  # fmt: skip


class Evaluation(Braking, Climbing, Contact):
    """One pass of the full model over choices."""

    def meets_alone(self, bound: Bound) -> NDArray[np.bool_]:
        """Whether choices meet a limit that is not one of :data:`ON_OUTCOME`, without computing anything else."""
        if bound.limit.key == "climb_grade":
            return self.climb_met(str(bound.terrain), bound)
        return meets(bound, self.value(bound, None))

    def value(self, bound: Bound, outcome: Outcome | None) -> Array:
        """Value of one limit over all choices [SI]; without an outcome only where none is needed."""
        key, terrain, position = bound.limit.key, bound.terrain, bound.position
        if outcome is not None and key in ON_OUTCOME:
            return self._value_on(bound, outcome)
        if key in ("relative_deflection", "least_relative_deflection"):
            return self.relative_deflection(_at(position))
        if key == "tire_load":
            side = self.side[_at(position)]
            return np.asarray(side.footings.maximum_load / np.maximum(self.level[_at(position)], LEAST_LOAD))
        if key == "wheel_load":
            side = self.side[_at(position)]
            return np.asarray(side.wheels.maximum_load / np.maximum(self.level[_at(position)], LEAST_LOAD))
        by_position: dict[str, Callable[[Position], Array]] = {
            "creep_margin": self.creep_margin,
            "hub_torque_margin": self.hub_margin,
            "statutory_deceleration": self.statutory,
            "unsprung_mass": lambda p: self.unsprung[p],
            "puncture_protection": lambda p: self.side[p].footings.protection,
            "lateral_stiffness": self.tire_lateral_stiffness,
            "wheel_lateral_stiffness": lambda p: self.side[p].wheels.lateral_stiffness,
            "spoke_reserve": self.spoke_reserve,
            "spoke_stress_reserve": self.spoke_stress_reserve,
        }
        if key in by_position:
            return by_position[key](_at(position))
        by_case: dict[str, Callable[[str, Position], Array]] = {
            "brake_torque_reserve": self.brake_reserve,
            "rotor_temperature": self.rotor_temperature,
            "rotor_temperature_margin": self.rotor_margin,
            "strike_margin": self.strike_margin,
        }
        if key in by_case:
            return by_case[key](str(terrain), _at(position))
        whole: dict[str, Callable[[], Any]] = {
            "steering_moment": self.steering_moment,
            "lift_off_deceleration": self.lift_off,
            "deceleration": lambda: self.deceleration(str(terrain)) / GRAVITY,
            "side_slope": lambda: self.side_slope(str(terrain)),
            "lateral_stability": self.lateral_stability,
            "break_over_angle": self.break_over_angle,
            "front_load_share": self.front_load_share,
            "front_load_share_most": self.front_load_share,
            "step_height": lambda: self.step_height(str(terrain)),
            "top_speed": self.top_speed,
            "trail": self.trail_length,
            "trail_most": self.trail_length,
            "ground_clearance": self.clearance,
            "mean_maximum_pressure": self.mean_maximum_pressure,
            "climb_grade": lambda: self.climb_grade(str(terrain))[0],
            "vehicle_mass": lambda: self.total - float(self.vehicle.rider_mass) - float(self.vehicle.cargo_mass),
        }
        return np.asarray(whole[key]())

    def _value_on(self, bound: Bound, outcome: Outcome) -> Array:
        """Value of a limit that needs the whole ride or what is bought [SI]."""
        key, legs = bound.limit.key, outcome.legs
        by_case: dict[str, Callable[[str, Position], Array]] = {
            "time_off_ground": lambda t, p: self.worst_contact(t, p, "off_ground_share", legs),
            "dynamic_load": lambda t, p: self.worst_contact(t, p, "dynamic_load_ratio", legs),
            "ride_acceleration": lambda t, p: self.worst_contact(t, p, "ride_acceleration", legs),
            "ground_pressure": lambda t, p: self.worst_over_legs(t, p, "ground_pressure", legs),
            "sinkage": lambda t, p: self.worst_over_legs(t, p, "sinkage", legs),
            "sinkage_over_passable": lambda t, p: self.sinkage_reserve(t, p, legs),
        }
        if key in by_case:
            return by_case[key](str(bound.terrain), _at(bound.position))
        whole: dict[str, Callable[[], Any]] = {
            "running_cost": lambda: np.minimum(outcome.bought.running_cost * 1e6, MOST_RUNNING_COST),
            "thrust_reserve": lambda: self.thrust_reserve(str(bound.terrain), legs),
            "drive_reserve": lambda: self.drive_reserve(str(bound.terrain), legs),
            "rolling_loss": lambda: outcome.rolling_loss,
            "energy": lambda: outcome.energy,
            "range": lambda: float(self.vehicle.battery_energy) / np.maximum(outcome.energy, 1e-3),
            "cost": lambda: outcome.cost,
            "package_mass": lambda: outcome.packages_mass,
            "lead_time": lambda: outcome.bought.lead_time,
        }
        return np.asarray(whole[key]())

    def outcome(self, bought: Orders, *, values: bool = True) -> Outcome:
        """The whole appraisal; without ``values`` only whether limits are met is kept where the value costs time."""
        legs = [self.ride(leg) for leg in self.model.legs]
        totals = {cause: np.zeros_like(self.total) for cause in CAUSES}
        rolling_loss = np.zeros_like(self.total)
        for result in legs:
            for cause in CAUSES:
                totals[cause] = totals[cause] + result.leg.share * result.battery[cause]
            for cause in GROUND_CAUSES:
                rolling_loss = rolling_loss + result.leg.share * result.wheel[cause]
        outcome = Outcome(
            package_mass=self.axle_mass,
            unsprung_mass=self.unsprung,
            static_load=self.level,
            total_mass=self.total,
            legs=legs,
            rolling_loss=rolling_loss,
            energy=sum(totals.values(), np.zeros_like(self.total)),
            energy_by_cause=totals,
            bought=bought,
            margins=[],
        )
        for bound in self.model.bounds:
            if bound.limit.key == "climb_grade" and not values:
                outcome.margins.append(Margin(bound, self.climb_met(str(bound.terrain), bound), None))
                continue
            value = self.value(bound, outcome)
            met = self.climb_met(str(bound.terrain), bound) if bound.limit.key == "climb_grade" else meets(bound, value)
            outcome.margins.append(Margin(bound, met, value))
        return outcome


def _at(position: Position | None) -> Position:
    assert position is not None
    return position
