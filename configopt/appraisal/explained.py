"""What one explanation is made of, and what explanations read from an appraisal.

Nothing is computed here by formulas of its own: every input is a figure that the full model used, taken from its tables
and outcome or asked of its pieces again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from configopt.appraisal import ground as on
from configopt.appraisal.chassis_report import chassis_report
from configopt.appraisal.forces import LEAST_LOAD, LegResult
from configopt.appraisal.one_vehicle import VehicleAppraisal
from configopt.appraisal.report import finite
from configopt.appraisal.tables import BrakeTable, FootingTable, WheelTable
from configopt.appraisal.vehicle import POSITIONS, Bound, Scope
from configopt.catalog.records import Position
from configopt.physics.domain import Array
from configopt.physics.loads import GRAVITY
from configopt.physics.soft_ground import WheelOnSoil
from configopt.quantities import to_unit
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import Terrain

#: Where a figure holds: position and terrain (or descent), either may be missing.
Place = tuple[Position | None, str | None]
EVERYWHERE: Place = (None, None)
#: Units in which a figure stands as the model has it.
_AS_IT_IS = frozenset(
    {"1", "pieces", "W", "J", "J/K", "m/s2", "kg", "N", "N m", "kg m2", "kg/m3", "J/(kg K)", "W/(m2 K)", "N m2"}
)


@dataclass(frozen=True, slots=True)
class Input:
    """One figure that went into another, in a trade unit."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """One figure with the model behind it and what went into it; ``unit`` is "1" for a ratio."""

    figure: str
    position: Position | None
    terrain: str | None
    value: float | None
    unit: str
    model: str
    inputs: tuple[Input, ...]
    assumed: tuple[str, ...] = ()
    """Assumed figures behind it that no reading of its own replaces."""
    remarks: tuple[str, ...] = ()


def given(name: str, value: Any, unit: str = "1") -> Input:
    """One input from an SI value (a number or an array of one choice).

    >>> given("wheelbase", 1.29, "mm")
    Input(name='wheelbase', value=1290.0, unit='mm')
    """
    number = in_unit(value, unit)
    assert number is not None, name
    return Input(name, number, unit)


def in_unit(value: Any, unit: str, currency: str = "") -> float | None:
    """An SI value in a trade unit, fit for JSON; accelerations may stand over gravity ("g")."""
    number = float(np.ravel(value)[0])
    if math.isnan(number):
        return None
    if unit == "g":
        number /= GRAVITY
    elif unit not in _AS_IT_IS and unit != currency:
        number = float(to_unit(number, unit))
    # Clipped in the unit that is shown: a strength in Pa is large without being odd.
    return finite(number)


class Reading:
    """One appraised vehicle, with the words in which explanations ask for it."""

    def __init__(self, appraised: VehicleAppraisal) -> None:
        self.appraised = appraised
        self.model = appraised.model
        self.vehicle = appraised.model.vehicle
        self.evaluation = appraised.evaluation
        self.outcome = appraised.outcome
        self.currency = appraised.model.catalog.currency
        self.driven: Position = self.vehicle.drive.driven
        self._values: dict[Scope, Array] = {
            margin.bound.scope: margin.value for margin in self.outcome.margins if margin.value is not None
        }

    def limit_value(self, key: str, place: Place) -> Array:
        """Value of a limit [SI], whether it is asked for or not."""
        position, terrain = place
        scope = (key, terrain, position)
        if scope not in self._values:
            bound = Bound(LIMITS[key], 0.0, terrain, position)
            self._values[scope] = self.evaluation.value(bound, self.outcome)
        return self._values[scope]

    def footing(self, position: Position) -> FootingTable:
        """The footing of a position."""
        return self.evaluation.side[position].footings

    def wheel(self, position: Position) -> WheelTable:
        """The built wheel of a position."""
        return self.evaluation.side[position].wheels

    def brake(self, position: Position) -> BrakeTable:
        """The brake set of a position."""
        return self.evaluation.side[position].brakes

    def load(self, position: Position) -> Array:
        """Static load of a wheel [N], as contacts are computed with it."""
        return np.maximum(self.evaluation.level[position], LEAST_LOAD)

    def ground(self, terrain: str | None) -> on.Ground:
        """Ground of a terrain or descent."""
        assert terrain is not None
        return self.model.grounds[terrain]

    @cached_property
    def chassis(self) -> dict[str, Any]:
        """What the chassis designer is told, in trade units."""
        return chassis_report(self.appraised)

    @cached_property
    def terrains(self) -> tuple[str, ...]:
        """Names of the terrains."""
        return tuple(terrain.name for terrain in self.vehicle.terrains)

    def terrain(self, name: str | None) -> Terrain:
        """A terrain by its name."""
        return next(terrain for terrain in self.vehicle.terrains if terrain.name == name)

    def legs(self, terrain: str | None) -> list[LegResult]:
        """The directions in which a terrain is ridden."""
        return [leg for leg in self.outcome.legs if leg.leg.terrain.name == terrain]

    def directions(self, terrain: str | None) -> list[tuple[str, LegResult]]:
        """The directions with the word that tells them apart."""
        legs = self.legs(terrain)
        if len(legs) == 1:
            return [("", legs[0])]
        return [(" uphill" if leg.leg.angle > 0.0 else " downhill", leg) for leg in legs]

    def hardest(self, terrain: str | None) -> LegResult:
        """The direction with the least thrust to spare."""
        return min(self.legs(terrain), key=lambda leg: float(leg.reserve[0]))

    def worst(self, terrain: str | None, value: Callable[[LegResult], Any]) -> LegResult:
        """The direction in which something is largest."""
        return max(self.legs(terrain), key=lambda leg: float(np.ravel(value(leg))[0]))

    def leg_load(self, leg: LegResult, position: Position) -> Array:
        """Load of a wheel in a direction [N], as contacts are computed with it."""
        return np.maximum(leg.loads[position], LEAST_LOAD)

    def leg_soil(self, leg: LegResult, position: Position) -> WheelOnSoil | None:
        """State of a wheel on soft ground in a direction."""
        return self.evaluation.on_ground(leg.leg.ground, leg.loads)[position]

    def mean(self, terrain: str | None, values: Callable[[LegResult], Array]) -> Array:
        """Mean over the directions of a terrain, by distance."""
        legs = self.legs(terrain)
        whole = sum(leg.leg.share for leg in legs)
        return np.asarray(sum(leg.leg.share * values(leg) for leg in legs) / whole)

    def own_reading(self, position: Position | None, name: str) -> bool:
        """Whether the tires of a position (of both without one) state a figure that is otherwise assumed."""
        positions = POSITIONS if position is None else (position,)
        return all(getattr(self.appraised.packages[p].mount.tire, name) is not None for p in positions)


@dataclass(frozen=True)
class Rule:
    """How one figure is explained.

    ``value`` [SI] and ``unit`` are for figures that are no limits; the value of a limit comes from the full model and
    stands in the limit's unit.  ``places`` are where the figure is always shown; a limit is also shown wherever it is
    asked for.
    """

    figure: str
    inputs: Callable[[Reading, Place], Iterable[Input]]
    places: Callable[[Reading], Sequence[Place]]
    model: str = ""
    value: Callable[[Reading, Place], Any] | None = None
    unit: str = ""
    remarks: Callable[[Reading, Place], Iterable[str]] | None = None


def nowhere(reading: Reading) -> Sequence[Place]:
    """Only where a limit is asked for."""
    return ()


def once(reading: Reading) -> Sequence[Place]:
    """Once per vehicle."""
    return (EVERYWHERE,)


def both_ends(reading: Reading) -> Sequence[Place]:
    """Front and rear."""
    return tuple((position, None) for position in POSITIONS)


def each_terrain(reading: Reading) -> Sequence[Place]:
    """Every terrain."""
    return tuple((None, terrain) for terrain in reading.terrains)


def soft_terrains(reading: Reading) -> Sequence[Place]:
    """Every terrain in which wheels sink."""
    return tuple((None, terrain) for terrain in reading.terrains if reading.ground(terrain).soft)


def firm_terrains(reading: Reading) -> Sequence[Place]:
    """Every terrain in which they do not."""
    return tuple((None, terrain) for terrain in reading.terrains if not reading.ground(terrain).soft)


def rough_terrains(reading: Reading) -> Sequence[Place]:
    """Every terrain with a class of roughness."""
    return tuple((None, t) for t in reading.terrains if reading.ground(t).figures.roughness > 0.0)


def terrains_with_obstacles(reading: Reading) -> Sequence[Place]:
    """Every terrain with obstacles."""
    return tuple((None, terrain) for terrain in reading.terrains if reading.terrain(terrain).obstacles)


def at_both_ends(places: Callable[[Reading], Sequence[Place]]) -> Callable[[Reading], Sequence[Place]]:
    """Front and rear on each of some terrains."""

    def both(reading: Reading) -> Sequence[Place]:
        return tuple((position, terrain) for _, terrain in places(reading) for position in POSITIONS)

    return both


def at_driven(places: Callable[[Reading], Sequence[Place]]) -> Callable[[Reading], Sequence[Place]]:
    """The driven end on each of some terrains."""

    def driven(reading: Reading) -> Sequence[Place]:
        return tuple((reading.driven, terrain) for _, terrain in places(reading))

    return driven


def at(place: Place) -> Position:
    """The position of a place that has one."""
    assert place[0] is not None
    return place[0]
