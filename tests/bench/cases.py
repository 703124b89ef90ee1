"""Cases for the benchmark: a shipped scenario's vehicle with a generated catalog and limits that bind.

The limits of the shipped scenarios suit the shipped parts, so they are set anew: choices are drawn at random from the
first parts of each family, the values they reach are ranked limit by limit, and the draw whose worst rank is highest
becomes the anchor.  Each bound is the anchor's own value, loosened by a small share (easy) or hardly at all (hard).
At least the anchor therefore meets every limit, and a better aim pushes against most of them.

*Easy*: climbing and ground pressure on one soft or steep ground, range, cost and lift-off.  *Hard*: each of the first
three terrains has limits of its own (climbing everywhere; ground pressure and sinkage where the ground gives; changes
of the load where it is rough), beside unsprung mass, top speed that not every final drive reaches, and lift-off and
brake heat right at the anchor.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from generator import SIZES, generate
from numpy.typing import NDArray

from configopt.appraisal.model import Outcome
from configopt.catalog.catalog import Catalog
from configopt.choice.audit import Candidates, Choices
from configopt.fit.candidates import PositionCandidates
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.limits import LIMITS
from configopt.scenario.records import LimitRecord, SharingRecord, Vehicle

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SHIPPED = ("upland-wardens", "forest-rescue", "coastal-survey")
#: Parts of each family from which limits are drawn: the first ones, which hold every size.
DRAWN_FROM = {"tires": 60, "rims": 30, "hubs": 30, "rotors": 30, "disc_wheels": 12}
DRAWN_FROM_OTHERS = 12
BATCH, BATCHES, ENOUGH = 4_000, 25, 150
#: Share by which a bound lies off the anchor's value.
LOOSE = {"easy": 0.03, "hard": 0.005}
#: Bounds with a default that the ground itself states and few tires meet; drawn choices need not meet it.
FREED = "ground_pressure"
Wanted = tuple[str, str | None, str | None]


def random_packages(of: PositionCandidates, count: int, rng: np.random.Generator) -> NDArray[np.int64]:
    """Whole packages as (footing, wheel, brake): a wheel, then what fits it, each uniformly drawn."""
    found = []
    for wheel in rng.integers(len(of.wheels), size=count):
        footings = np.flatnonzero(of.mounts_fit[of.footing_class, of.wheel_class[wheel]])
        brakes = np.flatnonzero(of.seats_fit[of.wheel_seat[wheel], of.brake_class])
        found.append((int(rng.choice(footings)), int(wheel), int(rng.choice(brakes))))
    return np.array(found, dtype=np.int64)


def first_parts(catalog: Catalog) -> Catalog:
    """The first parts of each family."""
    return catalog.subset(
        {
            name.replace("_", "-"): [
                part.id for part in getattr(catalog, name)[: DRAWN_FROM.get(name, DRAWN_FROM_OTHERS)]
            ]
            for name in ("tires", "rims", "hubs", "rotors", "disc_wheels", "spokes", "calipers", "pads", "inners")
        }
    )


def wanted_limits(vehicle: Vehicle, catalog: Catalog, *, hard: bool) -> list[Wanted]:
    """Limits to state as (limit, terrain, position)."""
    surfaces = {surface.id: surface for surface in catalog.surfaces}
    legs = vehicle.terrains[:3]
    soft = [leg.name for leg in legs if surfaces[leg.surface].soil is not None]
    rough = [leg.name for leg in legs if surfaces[leg.surface].roughness_class is not None]
    found: list[Wanted] = [("range", None, None), ("cost", None, None), ("lift_off_deceleration", None, None)]
    found += [("climb_grade", leg.name, None) for leg in (legs if hard else legs[:1])]
    found += [("ground_pressure", name, None) for name in (soft if hard else soft[:1])]
    if hard:
        found += [("sinkage", name, None) for name in soft]
        found += [("dynamic_load", name, None) for name in rough]
        found += [("rotor_temperature", descent.name, None) for descent in vehicle.descents[:1]]
        found += [("top_speed", None, None), ("unsprung_mass", None, "front")]
    return found


def stated(wanted: Wanted, shown: float) -> LimitRecord:
    """A limit as a scenario states it, its bound in the limit's unit."""
    key, terrain, position = wanted
    limit = LIMITS[key]
    text: str | float = shown if limit.unit in ("1", "g", "currency") else f"{shown!r} {limit.unit}"
    record: dict[str, Any] = {"limit": key, "terrain": terrain, "position": position, limit.bound: text}
    return LimitRecord(**record)


def loosest(wanted: Wanted) -> LimitRecord:
    """A limit at the loose end of its range."""
    limit = LIMITS[wanted[0]]
    return stated(wanted, float(limit.allowed[0 if limit.bound == "at_least" else 1]))


def rounded(wanted: Wanted, bound: float) -> LimitRecord:
    """A limit rounded to four digits towards its loose side."""
    limit = LIMITS[wanted[0]]
    shown = limit.shown(bound)
    step = 10.0 ** (np.floor(np.log10(abs(shown))) - 3)
    number = (np.floor if limit.bound == "at_least" else np.ceil)(shown / step) * step
    return stated(wanted, float(f"{number:.6g}"))


def reached(outcome: Outcome, wanted: Wanted) -> NDArray[np.float64]:
    """What choices reach in a limit, the worst of both ends where it holds for both [SI]."""
    key, terrain, position = wanted
    worst = np.minimum if LIMITS[key].bound == "at_least" else np.maximum
    values = [
        margin.value
        for margin in outcome.margins
        if margin.bound.limit.key == key
        and terrain in (None, margin.bound.terrain)
        and position in (None, margin.bound.position)
        and margin.value is not None
    ]
    return np.asarray(worst.reduce(values))


def freed_vehicle(vehicle: Vehicle, catalog: Catalog, wanted: list[Wanted]) -> tuple[Vehicle, list[LimitRecord]]:
    """The vehicle with wanted limits stated loosely, and what else is stated so that no surface's own bound holds."""
    permits = {surface.id: surface.ground_pressure_limit for surface in catalog.surfaces}
    freed = [(FREED, leg.name, None) for leg in vehicle.terrains if permits[leg.surface] is not None]
    others = [loosest(one) for one in freed if one not in wanted]
    changed = {"limits": [loosest(one) for one in wanted] + others, "baseline": None}
    return vehicle.model_copy(update=changed), others


def drawn_choices(candidates: Candidates, rng: np.random.Generator, enough: int) -> Choices:
    """Choices drawn at random that meet every limit; at least ``enough`` unless the draws run out."""
    good: list[Choices] = []
    for _ in range(BATCHES):
        drawn = Choices(
            random_packages(candidates.of["front"], BATCH, rng),
            random_packages(candidates.of["rear"], BATCH, rng),
            rng.integers(len(candidates.drives), size=BATCH),
        )
        good.append(drawn.take(np.flatnonzero(candidates.appraise(drawn)[1])))
        if sum(map(len, good)) >= enough:
            break
    return Choices.join(good)


def anchored(candidates: Candidates, choices: Choices, wanted: list[Wanted], loose: float) -> list[LimitRecord]:
    """Limits at what the most balanced of some choices reaches, a share looser."""
    outcome = candidates.outcome(choices, values=True)
    table = np.stack([reached(outcome, one) for one in wanted], axis=1)
    signs = np.array([1.0 if LIMITS[key].bound == "at_least" else -1.0 for key, _, _ in wanted])
    ranks = (signs * table).argsort(axis=0).argsort(axis=0)
    anchor = table[int(np.argmax(ranks.min(axis=1)))] * (1.0 - signs * loose)
    return [rounded(one, float(value)) for one, value in zip(wanted, anchor, strict=True)]


def bench_case(size: str, seed: int, *, hard: bool, scenario: str = SHIPPED[0]) -> Case:
    """A case of a size that can be met and whose limits bind.

    Parameters
    ----------
    size
        A key of :data:`generator.SIZES`.
    seed
        Of the catalog and of the draws behind the limits.
    hard
        Whether all terrains carry limits of their own; see the head of this module.
    scenario
        Whose vehicle.

    Returns
    -------
    Case
        The vehicle without baseline, its new limits, and the generated catalog.
    """
    if size not in SIZES:
        raise ValueError(f"there is no size {size}; sizes are {', '.join(SIZES)}")
    case = load(SCENARIOS / f"{scenario}.yaml")
    catalog = generate(size, seed)
    wanted = wanted_limits(case.vehicle, catalog, hard=hard)
    free, others = freed_vehicle(case.vehicle, catalog, wanted)
    candidates = Candidates(free, first_parts(catalog), case.scenario.aims)
    choices = drawn_choices(candidates, np.random.default_rng([seed, 8608]), ENOUGH)
    limits = anchored(candidates, choices, wanted, LOOSE["hard" if hard else "easy"])
    return with_limits(case, catalog, limits + others, f"{scenario}-{size.lower()}-{seed}")


def with_limits(case: Case, catalog: Catalog, limits: list[LimitRecord], name: str) -> Case:
    """A case with another catalog and other limits."""
    vehicle = case.vehicle.model_copy(update={"limits": limits, "baseline": None})
    return Case(Path(f"{name}.yaml"), case.scenario.model_copy(update={"vehicles": [vehicle]}), catalog)


def bench_family(case: Case, count: int) -> Case:
    """A family of like vehicles that share parts, from the case of one vehicle.

    The riders differ by 4 kg from one to the next, and so do the quantities; every limit is loosened by a tenth, so
    that each of them can be met.  All together may use two different tires at each end, and two rims and rotors.
    """
    vehicle = case.vehicle
    limits = []
    for record in vehicle.limits:
        kind = LIMITS[record.limit]
        value = kind.parse(record.bound) * (0.9 if kind.bound == "at_least" else 1.1)
        limits.append(rounded((record.limit, record.terrain, record.position), value))
    vehicles = [
        vehicle.model_copy(
            update={
                "name": f"{vehicle.name}-{number + 1}",
                "limits": limits,
                "rider_mass": Figure(float(vehicle.rider_mass) + 4.0 * number),
                "quantity": vehicle.quantity + 10 * number,
            }
        )
        for number in range(count)
    ]
    sharing = SharingRecord(at_most={"tires": 4, "rims": 4, "rotors": 4})
    scenario = case.scenario.model_copy(update={"vehicles": vehicles, "sharing": sharing})
    return Case(case.path.with_stem(f"{case.path.stem}-family-{count}"), scenario, case.catalog)
