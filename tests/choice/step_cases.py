"""Small choices and ways to turn single steps of the search off, for tests that no step changes the answer.

Beside the random cases of the suite there are cases with twins of parts, so that many choices tie; cases whose optimum
lies exactly on a further limit, or beyond one on a sum; and cases in which most families have only the parts of the
optimum.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from random_cases import (
    BASE_LIMITS,
    FAMILIES,
    RandomCase,
    aims_of,
    as_set,
    cached_case,
    drawn_limit,
    enumerated,
    limit_values,
    loose,
    package_parts,
    stated,
    suite,
    vehicle_with,
)

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import Position
from configopt.choice import audit, boxes, candidates, choose, closing, limits, packages_below
from configopt.choice.audit import Candidates, Choices
from configopt.choice.boxes import full_box
from configopt.choice.candidates import Instance, aim_constant, make_instance
from configopt.choice.choose import Search, Settings, run_search
from configopt.choice.context import CELLS
from configopt.scenario.records import LimitRecord, Vehicle

POSITIONS: tuple[Position, Position] = ("front", "rear")
#: Limits that the optimum is put on.
EXACT_LIMITS = ("climb_grade", "range", "lift_off_deceleration", "package_mass", "rolling_loss", "cost")
#: So few choices may be appraised, and so few footings come first, that boxes are split.
SMALL = Settings(solve=False, appraise_at_most=40, first_footings=4)


def put_everywhere(monkeypatch: pytest.MonkeyPatch, original: Callable[..., Any], other: Callable[..., Any]) -> None:
    """Replace a function under every name by which a module of the choice knows it."""
    for module in [m for name, m in sys.modules.items() if name.startswith("configopt.choice")]:
        for name, value in list(vars(module).items()):
            if value is original:
                monkeypatch.setattr(module, name, other)


def fresh(made: Candidates) -> Candidates:
    """The candidates without anything an earlier search worked out."""
    other = made.variant()
    other.whole, other.mixes, other.missed = [], [], {}
    return other


# Cases


def appraised(case: RandomCase, vehicle: Vehicle, catalog: Catalog, kind: str) -> RandomCase:
    """A changed case with its truth; it binds where the base limits alone would let something better through."""
    made = Candidates(vehicle, catalog, aims_of(case.candidates))
    choices = enumerated(made)
    aims, met = made.appraise(choices)
    plain = Candidates(vehicle_with(vehicle, BASE_LIMITS[case.scenario]), catalog, aims_of(case.candidates))
    free = aims[plain.appraise(choices)[1]]
    best = float(aims[met].min()) if met.any() else np.inf
    binds = bool(free.size and free.min() < best * (1.0 - 1e-6))
    return RandomCase(case.seed, case.scenario, kind, made, choices, aims, met, binds)


def optimum_of(case: RandomCase) -> Choices:
    """One of the best choices."""
    rows = np.flatnonzero(case.met & (case.aims <= case.best))
    return case.choices.take(rows[:1])


def optimal_parts(case: RandomCase) -> dict[str, set[str]]:
    """Ids of the parts of one best choice, by family."""
    found: dict[str, set[str]] = {family: set() for family in FAMILIES}
    best = optimum_of(case)
    for position in POSITIONS:
        for family, part in package_parts(case.candidates.of[position], getattr(best, position)[0]):
            found[family].add(part.id)
    return found


@cache
def with_twins(number: int) -> RandomCase:
    """A case whose optimal tires and pads are offered a second time, under another id."""
    case = cached_case(*suite()[number])
    catalog, best = case.candidates.model.catalog, optimal_parts(case)
    changed = {}
    for family in ("tires", "pads"):
        parts = catalog.family(family)
        twins = tuple(part.model_copy(update={"id": f"{part.id}-twin"}) for part in parts if part.id in best[family])
        changed[family] = parts + twins[:1]
    return appraised(case, case.candidates.model.vehicle, replace(catalog, **changed), "twins")


@cache
def on_a_limit(number: int) -> RandomCase:
    """A case with one more limit, at exactly the value that the optimum has."""
    case = cached_case(*suite()[number])
    rng = np.random.default_rng([number, 5])
    vehicle, catalog = case.candidates.model.vehicle, case.candidates.model.catalog
    has = {record.limit for record in vehicle.limits}
    key = str(rng.choice([key for key in EXACT_LIMITS if key not in has]))
    where = drawn_limit(vehicle, key, rng)
    assert where is not None
    probe = Candidates(also(vehicle, stated(key, loose(key), *where)), catalog, aims_of(case.candidates))
    value = float(limit_values(probe, optimum_of(case), key, *where)[0])
    return appraised(case, also(vehicle, stated(key, value, *where)), catalog, "on a limit")


@cache
def on_a_budget(number: int) -> RandomCase:
    """A case with one more limit on a sum over both positions, below what the optimum has and within reach."""
    case = cached_case(*suite()[number])
    vehicle, catalog = case.candidates.model.vehicle, case.candidates.model.catalog
    best = optimum_of(case)
    for key in ("package_mass", "rolling_loss", "cost"):
        if any(record.limit == key for record in vehicle.limits):
            continue
        probe = Candidates(also(vehicle, stated(key, loose(key))), catalog, aims_of(case.candidates))
        values = limit_values(probe, case.choices, key, None, None)[case.met]
        below = np.unique(values[values < limit_values(probe, best, key, None, None)[0] * (1.0 - 1e-6)])
        if below.size:
            bound = float(below[below.size // 2])
            return appraised(case, also(vehicle, stated(key, bound)), catalog, "on a budget")
    raise AssertionError(f"case {number} has the least of everything")


def also(vehicle: Vehicle, limit: dict[str, Any]) -> Vehicle:
    """The vehicle with one more limit."""
    return vehicle.model_copy(update={"limits": [*vehicle.limits, LimitRecord.model_construct(**limit)]})


@cache
def few_parts(number: int) -> RandomCase:
    """A case with only the parts of one optimum in every family but tires, rims and disc wheels."""
    case = cached_case(*suite()[number])
    keep = {
        family: sorted(ids)
        for family, ids in optimal_parts(case).items()
        if family not in ("tires", "rims", "disc-wheels")
    }
    return appraised(case, case.candidates.model.vehicle, case.candidates.model.catalog.subset(keep), "few parts")


#: Cases of the suite that further ones are made from: of every coupling, some choice of them meets every limit.
MADE_FROM = (0, 7, 12, 16, 18, 25, 30, 33, 42, 48, 51, 60)
#: Those with a choice that has less of something than the optimum; the limit on it gets a price in most.
BUDGETS = (2, 3, 8, 14, 22, 24, 30, 32, 41, 42, 50, 52)
#: What every quick test of steps draws from.
QUICK: tuple[tuple[Callable[[int], RandomCase], int], ...] = (
    *((with_twins, number) for number in (18, 30, 48)),
    *((on_a_limit, number) for number in (16, 25)),
    (on_a_budget, 24),
    (few_parts, 33),
)


def suite_case(number: int) -> RandomCase:
    """A random case by its number."""
    return cached_case(*suite()[number])


def every_case() -> Iterator[RandomCase]:
    """All cases, over a hundred."""
    for number in range(len(suite())):
        yield suite_case(number)
    for number in MADE_FROM:
        yield with_twins(number)
        yield on_a_limit(number)
        yield few_parts(number)
    for number in BUDGETS:
        yield on_a_budget(number)


@cache
def quick_cases() -> list[RandomCase]:
    """A dozen cases."""
    return [suite_case(number) for number in (6, 12, 24, 30, 48)] + [make(number) for make, number in QUICK]


def require_truth(case: RandomCase, search: Search, proven: bool) -> None:
    """Optimum, proof and all ties of a search against enumeration."""
    assert proven
    assert (search.found is not None) == bool(case.met.any())
    if search.found is not None:
        assert search.best == pytest.approx(case.best, rel=1e-9, abs=1e-9)
        assert search.bound == pytest.approx(case.best, rel=1e-6, abs=1e-9)
        assert as_set(search.found) == case.ties()


def searched(case: RandomCase, settings: Settings) -> tuple[int, int]:
    """Compare a search with the truth; its rounds and how many choices it appraised."""
    search, proven = run_search(fresh(case.candidates), settings)
    require_truth(case, search, proven)
    return search.rounds, search.appraised


def bounds_of(case: RandomCase, cells: int = CELLS) -> Instance | None:
    """Bounds of a case over its whole range of masses; ``None`` where they rule everything out."""
    made = case.candidates
    return make_instance(made.model, made.nodes(), full_box(made), made.drives, made.weights, cells=cells)


# Steps


@dataclass(frozen=True)
class Step:
    """A way to run without a step, or with it where small cases would not need it."""

    patch: Callable[[pytest.MonkeyPatch], None]
    only_work: bool = False
    """Whether the step spares work inside a list and must leave rounds and appraised choices as they are."""


def constants(module: Any, **values: Any) -> Callable[[pytest.MonkeyPatch], None]:
    """A patch of constants of a module."""

    def patch(monkeypatch: pytest.MonkeyPatch) -> None:
        for name, value in values.items():
            monkeypatch.setattr(module, name, value)

    return patch


def instead(original: Callable[..., Any], other: Callable[..., Any]) -> Callable[[pytest.MonkeyPatch], None]:
    """A patch of a function, wherever it is known."""
    return lambda monkeypatch: put_everywhere(monkeypatch, original, other)


def together(*patches: Callable[[pytest.MonkeyPatch], None]) -> Callable[[pytest.MonkeyPatch], None]:
    """Several patches."""

    def patch(monkeypatch: pytest.MonkeyPatch) -> None:
        for one in patches:
            one(monkeypatch)

    return patch


def all_nodes(instance: Instance) -> dict[Position, Any]:
    """Nothing taken away."""
    return {position: instance.nodes(position) for position in POSITIONS}


def no_prices(
    instance: Instance, lists: Any, plain: tuple[Any, Any], start: dict[str, float], enough: float
) -> tuple[float, dict[str, float]]:
    """The least bound of a pair without prices on rows."""
    return float(plain[0].min() + plain[1].min()) + aim_constant(instance.priced({})), {}


def zero_prices(
    bounds: tuple[Any, Any], parts: tuple[Any, Any], room: Any, start: Any, enough: float
) -> tuple[float, Any]:
    """The same inside lists."""
    return float(bounds[0].min() + bounds[1].min()), np.zeros(len(room))


def every_cell(ctx: Any, drives: Any, counts: Any, among: Any = None) -> Any:
    """Every footing may be used at every rest mass."""
    return np.ones((len(ctx.nodes.footing), ctx.grid.shape[1] - 1), dtype=bool)


def every_wheel(ctx: Any, drives: Any, counts: Any, among: Any = None) -> Any:
    """No wheel is struck out."""
    return np.ones(len(ctx.nodes.wheel), dtype=bool)


def no_rows(*arguments: Any) -> tuple[list[Any], list[Any]]:
    """Only the full model knows the limits of both positions."""
    return [], []


def some_radius(instance: Instance, most: float = 0.0) -> bool:
    """Whether a box can be split by a radius at all."""
    return any(key != "drive" and key[1] == "radius" for key in boxes.spreads(instance))


def too_long(patience: int) -> Callable[[pytest.MonkeyPatch], None]:
    """Lists over more than a few footings are given up, and the boxes split so often before they are narrowed."""
    original = closing.open_choices

    def refuse(instance: Instance, ceiling: float, **options: Any) -> Any:
        footings = sum(instance.nodes(position).footing.size for position in POSITIONS)
        if options["most"] < sys.maxsize and footings > 6 and boxes.spreads(instance):
            raise closing.TooLong
        return original(instance, ceiling, **options)

    return together(instead(original, refuse), constants(choose, PATIENCE=patience))


STEPS: dict[str, Step] = {
    "no footing marginals": Step(
        instead(choose.restricted, lambda instance, marginals, ceiling: all_nodes(instance)),
    ),
    "no narrowing to open packages": Step(
        instead(choose.on_open_packages, lambda search, instance, ceiling, entry: (all_nodes(instance), sys.maxsize)),
    ),
    "no row prices": Step(
        together(instead(audit.coupling_prices, no_prices), instead(closing.best_prices, zero_prices)),
    ),
    "no row filter": Step(
        instead(candidates.passing_nodes, lambda instance, counts: (all_nodes(instance), instance.drives)),
    ),
    "no cells, wheels or drives struck out": Step(
        together(
            instead(limits.allowed_cells, every_cell),
            instead(limits.allowed_wheels, every_wheel),
            instead(limits.allowed_drives, lambda made, drives, counts: drives),
        ),
    ),
    "no rows and no forbidden pairs": Step(instead(candidates.limit_rows, no_rows)),
    "no trimming": Step(instead(boxes.trimmed, lambda entry, instance, marginals, ceiling: None)),
    "no patience": Step(too_long(0)),
    "much patience": Step(too_long(3)),
    "no screening": Step(constants(audit, SCREENED=sys.maxsize), only_work=True),
    "always screening": Step(constants(audit, SCREENED=1, OFTEN=0.0), only_work=True),
    "a good choice first": Step(constants(choose, FEW_CHOICES=0)),
    "one bin": Step(constants(packages_below, BINS=1), only_work=True),
    "bins and pairs one by one": Step(constants(packages_below, BINS=7, AT_ONCE=1), only_work=True),
    "no finer cells": Step(constants(choose, FINE=1, CELLS=1)),
    # Small boxes are never split by a radius first as it is; never to do so would be no other search.
    "always split by radius first": Step(together(instead(boxes.wide, some_radius), constants(choose, FAR=1e-4))),
    "no best pairs": Step(constants(choose, PAIRED=0)),
    "bounds are not made again": Step(constants(candidates, REMAKE_SHARE=0.0)),
    "short lists": Step(constants(choose, PACKAGES_AT_MOST=8, FEW_PAIRS=0)),
    "lists split early": Step(constants(closing, PAIRS_AT_MOST=20)),
    "lists not split": Step(constants(closing, PAIRS_AT_MOST=20, DEEPEST=0)),
    "one choice at a time": Step(constants(choose, FIRST_BATCH=1)),
}
#: Steps that can be off at once.
OFF = (
    "no footing marginals",
    "no narrowing to open packages",
    "no row prices",
    "no row filter",
    "no cells, wheels or drives struck out",
    "no trimming",
    "no screening",
    "no finer cells",
    "no best pairs",
)
