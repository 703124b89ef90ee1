"""What can be moved of one vehicle of a scenario, with the values its file has and the ranges that mean anything."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from configopt.catalog.records import Position
from configopt.quantities import to_unit
from configopt.scenario.limits import LIMITS, Limit
from configopt.scenario.records import Terrain, Vehicle

#: Kinds of parts of a package from the ground up: field of a package, and family in the catalogs.
SLOTS: Mapping[str, str] = {
    "tire": "tires",
    "inner": "inners",
    "rim_lock": "rim-locks",
    "rim": "rims",
    "disc_wheel": "disc-wheels",
    "spokes": "spokes",
    "hub": "hubs",
    "rotor": "rotors",
    "caliper": "calipers",
    "pad": "pads",
}
POSITIONS: tuple[Position, ...] = ("front", "rear")
#: Units of the exchange rates, one of each quantity counts so much.
RATES: Mapping[str, str] = {"mass": "kg", "rolling_loss": "Wh/km", "energy": "Wh/km", "cost": ""}
#: Least and greatest values that the page takes; beyond them the models or the schemas end.
SPEED, SHARE, RATE, PRICE, PRESSURE = (1.0, 150.0), (0.1, 100.0), (0.0, 1000.0), (1.0, 1000.0), (20.0, 400.0)
#: Limits whose bound is shown in percent of the stated one on a slider, either way.
_AROUND = 0.5


@dataclass(frozen=True)
class Ground:
    """A terrain as the file has it: share of the distance [%] and speed [km/h]."""

    name: str
    surface: str
    share: float
    speed: float


@dataclass(frozen=True)
class Bounded:
    """A limit that can be moved; ``stated`` is its bound in the limit's unit, ``None`` where the file asks nothing."""

    address: str
    limit: Limit
    terrain: str | None
    position: str | None
    stated: float | None
    by_default: bool = False
    fallback: float | None = None
    """What holds where the stated bound is left out, in the limit's unit."""

    @property
    def unit(self) -> str:
        """Unit of the bound; empty for ratios."""
        return "" if self.limit.unit == "1" else self.limit.unit

    def slider(self, value: float | None) -> tuple[float, float, float]:
        """Least, greatest and step of a slider that reaches around the stated bound and to the present one.

        >>> Bounded("range", LIMITS["range"], None, None, 44.0).slider(80.0)
        (22.0, 80.0, 0.2)
        >>> Bounded("range", LIMITS["range"], None, None, 17.5).slider(17.5)
        (8.7, 26.25, 0.1)
        """
        least, most = self.limit.allowed
        middle = self.stated if self.stated is not None else value
        if middle is None:
            return least, most, (most - least) / 100.0
        low, high = max(least, middle * (1.0 - _AROUND)), min(most, middle * (1.0 + _AROUND))
        if value is not None:
            low, high = min(low, value), max(high, value)
        step = 10.0 ** len(f"{int(middle)}") / 1000.0 if middle >= 1.0 else 0.005
        if step > 0.01 and _whole(middle / (2.0 * step)):
            step *= 2.0
        # Its stops are round: steps are counted from the least.
        return max(least, tidy(step * math.floor(low / step + 1e-9))), high, step


@dataclass(frozen=True)
class Movable:
    """Everything of one vehicle that the page can move."""

    vehicle: str
    grounds: tuple[Ground, ...]
    limits: Mapping[str, Bounded]
    rates: Mapping[str, float]
    in_order: bool
    """Whether aims count one after the other: then no rate can be moved."""

    def limit(self, address: str) -> Bounded | None:
        """The limit of an address, also one that the file does not ask for; ``None`` where there is none."""
        found = self.limits.get(address)
        if found is not None:
            return found
        key, *scopes = address.split(".")
        limit = LIMITS.get(key)
        if limit is None or not limit.relaxable or len(scopes) > 2:
            return None
        terrain = next((scope for scope in scopes if scope in [ground.name for ground in self.grounds]), None)
        position = next((scope for scope in scopes if scope in POSITIONS), None)
        if len(scopes) != (terrain is not None) + (position is not None):
            return None
        if (terrain and "terrain" not in limit.scopes) or (position and "position" not in limit.scopes):
            return None
        return Bounded(address, limit, terrain, position, None)


def _whole(number: float) -> bool:
    return abs(number - round(number)) < 1e-9 * max(1.0, abs(number))


def address_of(key: str, terrain: str | None, position: str | None) -> str:
    """Address of a limit: its key, then where it holds.

    >>> address_of("climb_grade", "peat-path", None)
    'climb_grade.peat-path'
    """
    return ".".join(filter(None, (key, terrain, position)))


def movable(vehicle: Vehicle, rates: Mapping[str, float], *, in_order: bool, permits: Mapping[str, float]) -> Movable:
    """What can be moved.

    Parameters
    ----------
    vehicle
        As the scenario's file states it.
    rates
        Exchange rates in SI.
    in_order
        Whether the scenario's aims count one after the other.
    permits
        Ground pressure that a surface's catalog entry permits [Pa], by terrain.
    """
    limits: dict[str, Bounded] = {}
    for record in vehicle.limits:
        limit = LIMITS[record.limit]
        address = address_of(record.limit, record.terrain, record.position)
        default = permits.get(record.terrain or "") if limit.key == "ground_pressure" else limit.default
        limits[address] = Bounded(
            address,
            limit,
            record.terrain,
            record.position,
            tidy(limit.shown(limit.parse(record.bound))),
            fallback=None if default is None else tidy(limit.shown(default)),
        )
    for limit in LIMITS.values():
        if limit.default is not None and limit.relaxable and limit.key not in limits:
            limits[limit.key] = Bounded(limit.key, limit, None, None, tidy(limit.shown(limit.default)), True)
    pressure = LIMITS["ground_pressure"]
    for terrain, permitted in permits.items():
        address = address_of(pressure.key, terrain, None)
        if address not in limits and pressure.key not in limits:
            limits[address] = Bounded(address, pressure, terrain, None, tidy(pressure.shown(permitted)), True)
    return Movable(
        vehicle.name,
        tuple(_ground(terrain) for terrain in vehicle.terrains),
        limits,
        {name: tidy(rate / _unit(name)) for name, rate in rates.items() if rate},
        in_order,
    )


def _unit(name: str) -> float:
    """One SI unit of an aim in its trade unit."""
    return float(to_unit(1.0, RATES[name])) if RATES[name] else 1.0


def _ground(terrain: Terrain) -> Ground:
    return Ground(
        terrain.name, terrain.surface, tidy(100.0 * float(terrain.share)), tidy(float(to_unit(terrain.speed, "km/h")))
    )


def tidy(value: float) -> float:
    """A value without the last digits that conversions leave behind.

    >>> tidy(0.1 + 0.2)
    0.3
    """
    return float(f"{value:.10g}")
