"""Where on a vehicle each limit holds: on which terrains or descents, at which end, and by whose word.

The appraisal checks its limits at these places, and a check of a scenario refuses a limit that has none: both ask the
same functions.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from configopt.catalog.records import Position, Surface
from configopt.scenario.limits import LIMITS, REPEATED_STOPS, ROUGH_RIDE, Limit
from configopt.scenario.records import LimitRecord, Terrain, Vehicle

POSITIONS: tuple[Position, Position] = ("front", "rear")
#: Terrain or descent and position of a limit, ``None`` where it is not stated for one.
Place = tuple[str | None, Position | None]
Surfaces = Mapping[str, Surface]


@dataclass(frozen=True)
class Need:
    """What a limit needs of a vehicle: the terrains that have it, and in words: it, how to add it, that it is not."""

    find: Callable[[Vehicle, Surfaces], list[str | None]]
    what: str
    add: str = ""
    missing: str = "this vehicle has none"


def _terrains(has: Callable[[Terrain, Surface], bool]) -> Callable[[Vehicle, Surfaces], list[str | None]]:
    """Terrains that have something."""
    return lambda vehicle, surfaces: [t.name for t in vehicle.terrains if has(t, surfaces[t.surface])]


def _whole(has: Callable[[Vehicle], bool]) -> Callable[[Vehicle, Surfaces], list[str | None]]:
    """The vehicle as a whole, if it has something."""
    return lambda vehicle, _: [None] if has(vehicle) else []


def _held_on_brakes(vehicle: Vehicle, _: Surfaces) -> list[str | None]:
    stops = [REPEATED_STOPS] if vehicle.stops is not None else []
    return [*(descent.name for descent in vehicle.descents), *stops]


_VEHICLE = Need(_whole(lambda _: True), "a vehicle")
_TERRAIN = Need(_terrains(lambda terrain, surface: True), "a terrain of the mix")
_HEAT = Need(_held_on_brakes, "a descent, or stops", "add descents or stops")
_SOFT = Need(
    _terrains(lambda terrain, surface: surface.soil is not None),
    "a terrain on soft ground",
    "add a terrain whose surface has a soil",
)
_ROUGH = Need(
    _terrains(lambda terrain, surface: surface.roughness_class is not None),
    "a terrain on rough ground",
    "add a terrain whose surface has a roughness_class",
)
_NEEDS = {
    "strike_margin": Need(
        _terrains(lambda terrain, surface: bool(terrain.obstacles)),
        "a terrain with obstacles",
        "add obstacles to a terrain",
    ),
    "sinkage": _SOFT,
    "sinkage_over_passable": _SOFT,
    "rotor_temperature": _HEAT,
    "rotor_temperature_margin": _HEAT,
    "lateral_stability": Need(
        _whole(lambda vehicle: vehicle.kind == "quad"), "a quad", missing="its rider balances a two-wheeler"
    ),
    "statutory_deceleration": Need(
        _whole(lambda vehicle: vehicle.category is not None),
        "the vehicle's category",
        "add category: L1, L2, L3 or L5",
        "none is stated",
    ),
    **dict.fromkeys(ROUGH_RIDE, _ROUGH),
}


def need_of(limit: Limit) -> Need:
    """What a limit needs to hold anywhere."""
    return _NEEDS.get(limit.key) or (_TERRAIN if "terrain" in limit.scopes else _VEHICLE)


def ends(limit: Limit, vehicle: Vehicle) -> tuple[Position | None, ...]:
    """The ends at which a limit holds."""
    if "position" not in limit.scopes:
        return (None,)
    if limit.key in ROUGH_RIDE:
        return tuple(p for p in POSITIONS if not getattr(vehicle, p).suspension.rigid)
    return POSITIONS


def places(limit: Limit, vehicle: Vehicle, surfaces: Surfaces) -> list[Place]:
    """Every place at which a limit can hold on a vehicle."""
    found = need_of(limit).find(vehicle, surfaces)
    return [(terrain, position) for terrain in found for position in ends(limit, vehicle)]


def places_of(record: LimitRecord, vehicle: Vehicle, surfaces: Surfaces) -> list[Place]:
    """The places that a stated limit means."""
    return [
        (terrain, position)
        for terrain, position in places(LIMITS[record.limit], vehicle, surfaces)
        if record.terrain in (None, terrain) and record.position in (None, position)
    ]


@dataclass(frozen=True)
class Asked:
    """What is required at one place [SI], and which of the stated limits asks for it; ``None`` for a default."""

    required: float
    number: int | None = None


def asked(vehicle: Vehicle, surfaces: Surfaces) -> dict[tuple[str, str | None, Position | None], Asked]:
    """What is required of a vehicle, by limit, terrain and position.

    A stated limit holds in place of the default, and one that names its terrain or position in place of one that
    does not, in whatever order they stand.
    """
    found = {}
    for limit in LIMITS.values():
        if limit.default is not None:
            for terrain, position in places(limit, vehicle, surfaces):
                found[limit.key, terrain, position] = Asked(limit.default)
    for ridden in vehicle.terrains:
        permitted = surfaces[ridden.surface].ground_pressure_limit
        if permitted is not None:
            for end in POSITIONS:
                found["ground_pressure", ridden.name, end] = Asked(float(permitted))
    if vehicle.use == "road-legal":
        for end in POSITIONS:
            found["statutory_deceleration", None, end] = Asked(1.0)
    for number, record in enumerate(vehicle.limits):
        for terrain, position in places_of(record, vehicle, surfaces):
            before = found.get((record.limit, terrain, position))
            if before is None or before.number is None or _named(vehicle.limits[before.number]) <= _named(record):
                required = LIMITS[record.limit].parse(record.bound)
                found[record.limit, terrain, position] = Asked(required, number)
    return found


def _named(record: LimitRecord) -> int:
    """How closely a stated limit names its place."""
    return (record.terrain is not None) + (record.position is not None)
