"""Seeded random small choices whose every package can be appraised: the enumeration the search must agree with.

A case takes a few whole packages of a shipped scenario, keeps only their parts and a few pressures, and adds one limit
set exactly at what some worse choice reaches, so that the limit binds and the optimum without it is lost.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from configopt.appraisal.ground import on_soil
from configopt.appraisal.vehicle import REPEATED_STOPS
from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import TIE, Search, Settings, run_search
from configopt.fit.candidates import PositionCandidates
from configopt.fit.rules import PRESSURE_STEP
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.limits import LIMITS, ROUGH_RIDE
from configopt.scenario.records import Aims, LimitRecord, Vehicle

Array = NDArray[np.float64]
SCENARIOS = Path(__file__).parents[2] / "scenarios"
POSITIONS: tuple[Position, Position] = ("front", "rear")
#: Limits that hold in every case of a scenario, where a default would leave nothing to choose from.
BASE_LIMITS: dict[str, list[dict[str, Any]]] = {
    # The permitted pressure of a bare peat surface rules out nearly every tire.
    "upland-wardens": [{"limit": "ground_pressure", "terrain": "peat-path", "at_most": "110 kPa"}],
    "coastal-survey": [],
    "forest-rescue": [],
}
#: Couplings whose limit is drawn from these: limit, and whether it is stated for one terrain and one position.
COUPLINGS: dict[str, tuple[str, ...]] = {
    "lift-off": ("lift_off_deceleration",),
    "climb": ("climb_grade",),
    "range": ("range",),
    "cost": ("cost",),
    "rotor temperature": ("rotor_temperature",),
    "ground pressure": ("ground_pressure",),
    "gearing": ("top_speed",),
    "price tier": (),
    "terrain's own limit": ("sinkage", "sinkage_over_passable", "thrust_reserve", "brake_torque_reserve"),
}
#: Limits drawn together in cases of several limits.
SEVERAL = tuple(
    key
    for key in LIMITS
    if key not in ("wheel_load", "hub_torque_margin", "statutory_deceleration", "rotor_temperature_margin")
)
LEAST, MOST = 200, 3_000
FAMILIES = ("tires", "inners", "rim-locks", "rims", "spokes", "disc-wheels", "hubs", "rotors", "calipers", "pads")


@dataclass(frozen=True)
class RandomCase:
    """A small choice with its truth by enumeration."""

    seed: int
    scenario: str
    coupling: str
    candidates: Candidates
    choices: Choices
    aims: Array
    met: NDArray[np.bool_]
    binds: bool
    """Whether the optimum without the coupling is lost."""

    @property
    def best(self) -> float:
        """Least aim of all choices that meet every limit."""
        return float(self.aims[self.met].min()) if self.met.any() else np.inf

    def ties(self) -> set[tuple[int, ...]]:
        """Every optimal choice."""
        return as_set(self.choices.take(np.flatnonzero(self.met & (self.aims <= self.best + TIE * abs(self.best)))))


def few_quick(every: Iterable[Any], quick: Collection[Any]) -> list[Any]:
    """Parameters of a test over many cases, of which only a few belong on the quick line."""
    values = {one: one if isinstance(one, tuple) else (one,) for one in every}
    return [one if one in quick else pytest.param(*values[one], marks=pytest.mark.slow) for one in values]


def as_set(choices: Choices) -> set[tuple[int, ...]]:
    """Choices as tuples: footing, wheel and brake of the front, of the rear, final drive."""
    rows = np.concatenate([choices.front, choices.rear, choices.drive[:, None]], axis=1)
    return {tuple(int(number) for number in row) for row in rows}


@cache
def case_of(scenario: str) -> Case:
    """A shipped scenario."""
    return load(SCENARIOS / f"{scenario}.yaml")


def vehicle_with(vehicle: Vehicle, limits: list[dict[str, Any]]) -> Vehicle:
    """The vehicle with only these limits stated, unread: a probe may ask what no scenario may."""
    return vehicle.model_copy(update={"limits": [LimitRecord.model_construct(**limit) for limit in limits]})


def stated(key: str, value: float, terrain: str | None = None, position: str | None = None) -> dict[str, Any]:
    """A limit as a scenario would state it, its bound exact to rounding."""
    limit = LIMITS[key]
    bare = limit.dimension in ("ratio", "price")
    text: str | float = value if bare else f"{limit.shown(value)!r} {limit.unit}"
    found: dict[str, Any] = {"limit": key, limit.bound: text}
    if terrain is not None:
        found["terrain"] = terrain
    if position is not None:
        found["position"] = position
    return found


def random_packages(of: PositionCandidates, count: int, rng: np.random.Generator) -> NDArray[np.int64]:
    """Whole packages as (footing, wheel, brake)."""
    found = []
    while len(found) < count:
        wheel = int(rng.integers(len(of.wheels)))
        footings = np.flatnonzero(of.mounts_fit[of.footing_class, of.wheel_class[wheel]])
        brakes = np.flatnonzero(of.seats_fit[of.wheel_seat[wheel], of.brake_class])
        if footings.size and brakes.size:
            found.append((int(rng.choice(footings)), wheel, int(rng.choice(brakes))))
    return np.array(found, dtype=np.int64)


@cache
def pool(scenario: str) -> tuple[Candidates, Choices]:
    """Whole choices of a scenario that meet its base limits, drawn at random."""
    case = case_of(scenario)
    candidates = Candidates(vehicle_with(case.vehicle, BASE_LIMITS[scenario]), case.catalog, case.scenario.aims)
    rng = np.random.default_rng(2024)
    count = 4_000
    drawn = Choices(
        random_packages(candidates.of["front"], count, rng),
        random_packages(candidates.of["rear"], count, rng),
        rng.integers(len(candidates.drives), size=count),
    )
    return candidates, drawn.take(np.flatnonzero(candidates.appraise(drawn)[1]))


def package_parts(of: PositionCandidates, package: NDArray[np.int64]) -> list[tuple[str, Any]]:
    """Family and part of everything in a package."""
    mount = of.mounts[of.footing_mount[package[0]]]
    wheel, brake = of.wheels[package[1]], of.brakes[package[2]]
    named = [
        ("tires", mount.tire),
        ("inners", mount.inner),
        ("rim-locks", mount.lock),
        ("rims", wheel.rim),
        ("spokes", wheel.spokes),
        ("disc-wheels", wheel.disc_wheel),
        ("hubs", wheel.hub),
        ("rotors", brake.rotor),
        ("calipers", brake.caliper),
        ("pads", brake.pad),
    ]
    return [(family, part) for family, part in named if part is not None]


def sub_catalog(scenario: str, vehicle: Vehicle, rng: np.random.Generator) -> Catalog:
    """The parts of a few drawn packages with a few pressures each, thinned at random until few choices are left.

    The parts and pressures of the first drawn choice always stay.
    """
    candidates, good = pool(scenario)
    keep: dict[str, set[str]] = {family: set() for family in FAMILIES}
    kept: set[str] = set()
    pressures: dict[str, tuple[float, float]] = {}
    firsts: dict[str, float] = {}
    dropped: set[str] = set()
    first = int(rng.integers(len(good)))
    for number in range(3):
        for position in POSITIONS:
            rows, of = getattr(good, position), candidates.of[position]
            package = rows[first if number == 0 else int(rng.integers(len(rows)))]
            for family, part in package_parts(of, package):
                keep[family].add(part.id)
                if number == 0:
                    kept.add(part.id)
                if family == "tires":
                    drawn = float(of.footing_pressure[package[0]])
                    low = drawn - PRESSURE_STEP * int(rng.integers(0, 3))
                    pressures.setdefault(part.id, (low, low + 2 * PRESSURE_STEP))
                    if number == 0:
                        firsts.setdefault(part.id, drawn)
    while True:
        catalog = with_pressures(candidates.model.catalog.subset({f: sorted(i) for f, i in keep.items()}), pressures)
        count = Candidates(vehicle, catalog, Aims.model_construct(mass=Figure(1.0))).count()
        droppable = sorted((family, i) for family in FAMILIES for i in keep[family] if i not in kept)
        spread = sorted(("", i) for i, (low, high) in pressures.items() if high > low)
        if count <= MOST or not droppable + spread:
            return catalog
        # The further off, the more is dropped at once.
        for _ in range(1 + int(np.log(count / MOST))):
            left = [one for one in droppable + spread if one[1] not in dropped]
            if not left:
                break
            family, part = left[int(rng.integers(len(left)))]
            if family:
                dropped.add(part)
                keep[family].discard(part)
                pressures.pop(part, None)
            else:
                low, high = pressures[part]
                first_pressure = firsts.get(part, low)
                pressures[part] = (
                    (low + PRESSURE_STEP, high) if low < first_pressure - 1.0 else (low, high - PRESSURE_STEP)
                )
                spread = sorted(("", i) for i, (low, high) in pressures.items() if high > low)


def with_pressures(catalog: Catalog, pressures: dict[str, tuple[float, float]]) -> Catalog:
    """Tires with the pressures they may have narrowed."""
    tires = []
    for tire in catalog.tires:
        low, high = pressures[tire.id]
        low = max(low, float(tire.pressure_min))
        high = max(min(high, float(tire.pressure_max)), low)
        tires.append(tire.model_copy(update={"pressure_min": Figure(low), "pressure_max": Figure(high)}))
    return replace(catalog, tires=tuple(tires))


def random_aims(rng: np.random.Generator, *, cost: bool = False) -> Aims:
    """A weighted sum of one to three aims; rates in [1/kg], [1/(J/m)] and [1/currency]."""
    rates: dict[str, Figure] = {}
    kinds = rng.permutation(["mass", "rolling_loss", "energy", "cost"])[: int(rng.integers(1, 4))].tolist()
    for name in [*kinds, "cost"] if cost else kinds:
        # 1 Wh/km is 3.6 J/m.
        scale = {"mass": 1.0, "rolling_loss": 1.0 / 3.6, "energy": 0.5 / 3.6, "cost": 0.03}[name]
        rates[name] = Figure(scale * float(rng.uniform(0.2, 2.0)) * (5.0 if cost and name == "cost" else 1.0))
    return Aims.model_construct(**{name: rates.get(name) for name in Aims.model_fields})


def aims_of(candidates: Candidates) -> Aims:
    """The aims candidates were made with."""
    return Aims.model_construct(**{name: Figure(rate) for name, rate in candidates.rates.items()})


def enumerated(candidates: Candidates) -> Choices:
    """Every whole choice."""
    return Choices.join(list(candidates.every_choice()))


def drawn_limit(vehicle: Vehicle, key: str, rng: np.random.Generator) -> tuple[str | None, str | None] | None:
    """A terrain and a position for which a limit can be stated on a vehicle, or ``None``."""
    limit = LIMITS[key]
    if key == "lateral_stability" and vehicle.kind != "quad":
        return None
    case_names: list[str | None] = [None]
    if "terrain" in limit.scopes:
        names = [terrain.name for terrain in vehicle.terrains]
        surfaces = {s.id: s for s in case_of(scenario_of(vehicle)).catalog.surfaces}
        if key.startswith("rotor_temperature"):
            names = [descent.name for descent in vehicle.descents]
        elif key == "strike_margin":
            names = [terrain.name for terrain in vehicle.terrains if terrain.obstacles]
        elif key in ROUGH_RIDE:
            names = [t.name for t in vehicle.terrains if surfaces[t.surface].roughness_class is not None]
        elif key.startswith("sinkage"):
            names = [terrain.name for terrain in vehicle.terrains if surfaces[terrain.surface].soil is not None]
        if not names:
            return None
        case_names = list(names)
    position: str | None = None
    if "position" in limit.scopes:
        position = str(rng.choice(POSITIONS))
    return (case_names[int(rng.integers(len(case_names)))], position)


def scenario_of(vehicle: Vehicle) -> str:
    """Scenario a vehicle comes from, by its name."""
    return next(name for name in BASE_LIMITS if case_of(name).vehicle.name == vehicle.name)


def loose(key: str) -> float:
    """A bound of a limit that everything meets."""
    return 1e-6 if LIMITS[key].bound == "at_least" else 1e9


def limit_values(
    candidates: Candidates, choices: Choices, key: str, terrain: str | None, position: str | None
) -> Array:
    """Value of one limit over choices [SI]."""
    outcome = candidates.outcome(choices, values=True)
    for margin in outcome.margins:
        if (margin.bound.limit.key, margin.bound.terrain, margin.bound.position) == (key, terrain, position):
            assert margin.value is not None
            return margin.value
    raise AssertionError(f"{key} does not apply")


def with_limit(
    vehicle: Vehicle, catalog: Catalog, aims: Aims, base: list[dict[str, Any]], extra: list[dict[str, Any]]
) -> Candidates:
    """Candidates of a sub-catalog under base limits and more."""
    return Candidates(vehicle_with(vehicle, base + extra), catalog, aims)


def separate_cost(candidates: Candidates, choices: Choices) -> Array:
    """Cost per vehicle if front and rear were ordered apart [currency]."""
    model = candidates.model
    total = model.drive_costs[choices.drive]
    for position, numbers in (("front", choices.front), ("rear", choices.rear)):
        mounts, wheels, brakes = candidates.parts[position]  # type: ignore[index]
        mount = candidates.of[position].footing_mount[numbers[:, 0]]  # type: ignore[index]
        rows = mounts.take(mount).joined(wheels.take(numbers[:, 1])).joined(brakes.take(numbers[:, 2]))
        for family in FAMILIES:
            total = total + model.costs.per_vehicle_many(family, rows.index[family], rows.pieces[family])
    return np.asarray(total)


def random_case(seed: int, scenario: str, coupling: str) -> RandomCase:
    """The first case of a seed that is small enough and whose coupling binds, where one is asked for."""
    for attempt in range(200):
        rng = np.random.default_rng([seed, attempt])
        found = _try(seed, scenario, coupling, rng)
        if found is not None:
            return found
    raise AssertionError(f"no case for seed {seed}, {scenario}, {coupling}")


def _try(seed: int, scenario: str, coupling: str, rng: np.random.Generator) -> RandomCase | None:
    vehicle = case_of(scenario).vehicle
    vehicle = vehicle.model_copy(update={"quantity": int(rng.integers(5, 200))})
    aims = random_aims(rng, cost=coupling == "price tier")
    catalog = sub_catalog(scenario, vehicle, rng)
    base = BASE_LIMITS[scenario]
    plain = with_limit(vehicle, catalog, aims, base, [])
    if not LEAST <= plain.count() <= MOST:
        return None
    choices = enumerated(plain)
    found, met = plain.appraise(choices)
    if met.sum() < 20:
        return None
    best = found[met].min()
    optimum = int(np.flatnonzero(met & (found == best))[0])
    if coupling == "price tier":
        return _tier_case(seed, scenario, plain, choices, met, rng)
    if coupling == "several":
        extra = several_limits(plain, vehicle, choices, met, rng)
        made = with_limit(vehicle, catalog, aims, base, extra)
        after = made.appraise(choices)[1]
        lost = not after.any() or found[after].min() > best * (1.0 + 1e-6)
        return RandomCase(seed, scenario, coupling, made, choices, found, after, lost)
    key = str(rng.choice(COUPLINGS.get(coupling, ("climb_grade", "range", "lift_off_deceleration", "cost"))))
    where = drawn_limit(vehicle, key, rng)
    if where is None:
        return None
    terrain, position = where
    if key == "rotor_temperature" and vehicle.stops is not None and rng.random() < 0.5:
        terrain = REPEATED_STOPS
    asked = None if terrain == REPEATED_STOPS else terrain
    probe = with_limit(vehicle, catalog, aims, base, [stated(key, loose(key), asked, position)])
    values = limit_values(probe, choices, key, terrain, position)
    sign = 1.0 if LIMITS[key].bound == "at_least" else -1.0
    if coupling == "nothing":
        bound = float((sign * values[met]).max() * sign) * (1.0 + sign * 1e-4)
        made = with_limit(vehicle, catalog, aims, base, [stated(key, bound, asked, position)])
        return RandomCase(seed, scenario, coupling, made, choices, found, made.appraise(choices)[1], True)
    better = np.flatnonzero(met & (sign * values > sign * values[optimum] + 1e-6 * abs(values[optimum])))
    if not better.size:
        return None
    bound = float(values[int(rng.choice(better))])
    made = with_limit(vehicle, catalog, aims, base, [stated(key, bound, asked, position)])
    aims_after, after = made.appraise(choices)
    if not after.any() or aims_after[after].min() <= best * (1.0 + 1e-6):
        return None
    return RandomCase(seed, scenario, coupling, made, choices, aims_after, after, True)


def _tier_case(
    seed: int, scenario: str, plain: Candidates, choices: Choices, met: NDArray[np.bool_], rng: np.random.Generator
) -> RandomCase | None:
    """A quantity at which ordering front and rear together leads to another optimum than ordering them apart."""
    for quantity in rng.integers(5, 300, size=12).tolist():
        vehicle = plain.model.vehicle.model_copy(update={"quantity": quantity})
        made = Candidates(vehicle, plain.model.catalog, aims_of(plain))
        aims = made.appraise(choices)[0]
        apart = aims + made.rates["cost"] * (separate_cost(made, choices) - made.orders(choices).cost)
        rows = np.flatnonzero(met)
        if aims[rows[np.argmin(apart[rows])]] > aims[rows].min() * (1.0 + 1e-6):
            return RandomCase(seed, scenario, "price tier", made, choices, aims, met, True)
    return None


def several_limits(
    plain: Candidates, vehicle: Vehicle, choices: Choices, met: NDArray[np.bool_], rng: np.random.Generator
) -> list[dict[str, Any]]:
    """Three to six limits, each at the value of some choice, mostly in the better-natured part."""
    places = []
    for key in rng.choice(SEVERAL, size=int(rng.integers(3, 7)), replace=False).tolist():
        where = drawn_limit(vehicle, key, rng)
        if where is not None:
            places.append((key, *where))
    probes = [stated(key, loose(key), terrain, position) for key, terrain, position in places]
    loosened = Candidates(
        vehicle_with(vehicle, BASE_LIMITS[scenario_of(vehicle)] + probes),
        plain.model.catalog,
        Aims.model_construct(mass=Figure(1.0), rolling_loss=None, energy=None, cost=None),
    )
    outcome = loosened.outcome(choices, values=True)
    found = []
    for key, terrain, position in places:
        margin = next(
            m
            for m in outcome.margins
            if (m.bound.limit.key, m.bound.terrain, m.bound.position) == (key, terrain, position)
        )
        assert margin.value is not None
        values = np.sort(margin.value[met])
        share = float(rng.uniform(0.0, 0.5))
        number = int(share * (len(values) - 1))
        bound = values[number] if LIMITS[key].bound == "at_least" else values[len(values) - 1 - number]
        if bound > 0.0:
            found.append(stated(key, float(bound), terrain, position))
    return found


#: Cases of every coupling and scenario that take little to draw and to search.
QUICK_SUITE = (0, 8, 12, 16, 24, 25, 31, 35, 40, 45, 66)


#: Couplings and scenarios of the suite, by seed.
def suite() -> list[tuple[int, str, str]]:
    """Seed, scenario and coupling of every case."""
    names = tuple(BASE_LIMITS)
    counts = {**dict.fromkeys(COUPLINGS, 5), "several": 20, "nothing": 3}
    pairs = [(names[number % 3], coupling) for coupling, count in counts.items() for number in range(count)]
    return [(seed, scenario, coupling) for seed, (scenario, coupling) in enumerate(pairs)]


@cache
def cached_case(seed: int, scenario: str, coupling: str) -> RandomCase:
    """The same as :func:`random_case`, made once."""
    return random_case(seed, scenario, coupling)


def one_front_tire(scenario: str, rng: np.random.Generator) -> Catalog:
    """Catalog with one rear package and one front footing near its switch on several wheels and brakes."""
    candidates, good = pool(scenario)
    front, first = candidates.of["front"], int(rng.integers(len(good)))
    keep: dict[str, set[str]] = {family: set() for family in FAMILIES}
    pressures: dict[str, tuple[float, float]] = {}
    drawn = good.take(np.array([first]))
    ground = next(ground for ground in candidates.model.grounds.values() if ground.soft)
    load = candidates.evaluation(drawn).level["front"]
    alike = np.flatnonzero(front.footing_mount == front.footing_mount[drawn.front[0, 0]])
    soft = np.flatnonzero(~on_soil(candidates.tables["front"].footings.take(alike), ground, load).rigid)
    footing = int(alike[soft[-1]]) if soft.size else int(alike[0])
    package = np.array([footing, *drawn.front[0, 1:]])
    for position, numbers in (("front", package), ("rear", drawn.rear[0])):
        of = candidates.of[position]  # type: ignore[index]
        for family, part in package_parts(of, numbers):
            keep[family].add(part.id)
            if family == "tires":
                pressure = float(of.footing_pressure[numbers[0]])
                pressures.setdefault(part.id, (pressure, pressure))
    fits = np.flatnonzero(front.mounts_fit[front.footing_class[footing], front.wheel_class])
    for wheel in rng.choice(fits, size=min(2, len(fits)), replace=False).tolist():
        brakes = np.flatnonzero(front.seats_fit[front.wheel_seat[wheel], front.brake_class])
        for family, part in package_parts(front, np.array([footing, wheel, int(rng.choice(brakes))])):
            keep[family].add(part.id)
    return with_pressures(candidates.model.catalog.subset({f: sorted(i) for f, i in keep.items()}), pressures)


def soft_ground_only(scenario: str, rider: float) -> Vehicle:
    """The scenario's vehicle on its first soft ground, level, with one final drive and a rider of a mass [kg]."""
    vehicle = case_of(scenario).vehicle
    surfaces = {surface.id: surface for surface in case_of(scenario).catalog.surfaces}
    soft = next(terrain for terrain in vehicle.terrains if surfaces[terrain.surface].soil is not None)
    level = soft.model_copy(update={"share": Figure(1.0), "grade": Figure(0.0), "stops_per_km": Figure(0.0)})
    drive = vehicle.drive.model_copy(update={"final_drives": vehicle.drive.final_drives[:1]})
    changed = vehicle.model_copy(
        update={"terrains": [level], "descents": [], "stops": None, "drive": drive, "rider_mass": Figure(rider)}
    )
    return vehicle_with(
        changed, [{"limit": "ground_pressure", "at_most": "900 kPa"}, {"limit": "creep_margin", "at_least": 0.1}]
    )


@cache
def switch_case(seed: int) -> RandomCase:
    """A case in which soil flattens the front tire under heavy packages only, and a heavy one barely wins.

    The rider's mass puts the switch just above the lightest package; the exchange rate of the cost makes the best heavy
    package as good as the best light one but for a millionth.
    """
    scenario = "upland-wardens"
    for attempt in range(100):
        rng = np.random.default_rng([seed, attempt, 3])
        catalog = one_front_tire(scenario, rng)
        found = _switch_case(seed, scenario, catalog)
        if found is not None:
            return found
    raise AssertionError(f"no case for seed {seed}")


def _switch_case(seed: int, scenario: str, catalog: Catalog) -> RandomCase | None:
    plain = Aims.model_construct(rolling_loss=Figure(1.0), mass=None, energy=None, cost=None)

    count = Candidates(soft_ground_only(scenario, 80.0), catalog, plain).count()
    if not 8 <= count <= 4 * MOST:
        return None

    def rigid(rider: float) -> tuple[Candidates, Choices, NDArray[np.bool_], Array]:
        made = Candidates(soft_ground_only(scenario, rider), catalog, plain)
        choices = enumerated(made)
        outcome = made.outcome(choices)
        return made, choices, outcome.legs[0].rigid["front"], outcome.package_mass["front"]

    low, high = 30.0, 160.0
    made, choices, at_low, mass = rigid(low)
    if not at_low.all() or rigid(high)[2].any() or np.ptp(mass) < 0.3:
        return None
    order = np.argsort(mass)
    pivot = order[len(order) // 6]
    for _ in range(14):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if rigid(middle)[2][pivot] else (low, middle)
    made, choices, before, mass = rigid(low)
    outcome = made.outcome(choices)
    loss, cost, met = outcome.rolling_loss, outcome.cost, outcome.met
    best: tuple[float, float] | None = None
    for light in np.flatnonzero(before & met):
        for heavy in np.flatnonzero(~before & met & (cost < cost[light]) & (loss > loss[light])):
            rate = (loss[heavy] - loss[light]) / (cost[light] - cost[heavy])
            total = loss + rate * cost
            if total[light] <= total[met].min() * (1.0 + 1e-12) and (best is None or mass[heavy] > best[1]):
                best = (float(rate), float(mass[heavy]))
    if best is None:
        return None
    aims = Aims.model_construct(rolling_loss=Figure(1.0), cost=Figure(best[0] * (1.0 + 1e-5)), mass=None, energy=None)
    case = Candidates(made.model.vehicle, catalog, aims)
    value, meets = case.appraise(choices)
    return RandomCase(seed, scenario, "switch", case, choices, value, meets, True)


def stopping_at(number: int, module: ModuleType, monkeypatch: pytest.MonkeyPatch) -> Settings:
    """Settings of searches that are asked to stop when the search of a number that a module makes begins."""
    settings, begun = Settings(), []

    def stopping(*arguments: Any, **options: Any) -> tuple[Search, bool]:
        begun.append(1)
        if len(begun) == number:
            settings.stop.asked = True
        return run_search(*arguments, **options)

    monkeypatch.setattr(module, "run_search", stopping)
    return settings
