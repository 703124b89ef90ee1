"""Mistakes that must not go unnoticed: each makes the search disagree with enumeration on some random case."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from random_cases import BASE_LIMITS, RandomCase, as_set, cached_case, few_quick, suite, switch_case, vehicle_with
from step_cases import appraised, fresh, instead, put_everywhere
from test_tradeoff import TWO, truth

from configopt.appraisal.ground import Ground
from configopt.catalog.records import Position
from configopt.choice import bounds, candidates, choose, costing, rows
from configopt.choice.audit import Candidates, Choices
from configopt.choice.bounds import Resistance
from configopt.choice.candidates import Instance
from configopt.choice.choose import Search, Settings, run_search
from configopt.choice.context import Context, Nodes
from configopt.choice.frontier import Pool, find_frontier
from configopt.choice.terms import Row, Term
from configopt.errors import AuditError

Array = NDArray[np.float64]


def disagrees(case: RandomCase) -> bool:
    """Whether a search misses the enumerated optimum or its ties, or notices by itself that something is wrong."""
    for settings in (Settings(), Settings(appraise_at_most=30, first_footings=4)):
        try:
            # Bounds that an earlier search made must not hide the mistake, nor keep it.
            search, proven = run_search(fresh(case.candidates), settings)
        except AuditError:
            return True
        assert proven
        found = as_set(search.found) if search.found is not None else set()
        if found != (case.ties() if case.met.any() else set()):
            return True
    return False


def tangent_resistance(ctx: Context, ground: Ground, **options: Any) -> Resistance:
    """Resistance on soil bounded by its tangent at the low end, as if it had no switch from rigid to flattened."""
    true = ORIGINAL_RESISTANCE(ctx, ground, **options)
    if not ground.soft:
        return true
    start, step = ctx.grid[:, 0], 1e-3

    def at(rest: Array) -> Array:
        near = replace(ctx, grid=np.stack([rest, rest + step], axis=1), cache={})
        cells = ORIGINAL_RESISTANCE(near, ground, **options).low.cells
        assert cells is not None
        return cells[:, 0]

    value = at(start)
    slope = (at(start + step) - value) / step
    return Resistance(Term(value - slope * start, slope), true.minus_high)


ORIGINAL_RESISTANCE = bounds.resistance


def strong_rows(*arguments: Any) -> tuple[list[Row], Any]:
    """Rows with right sides a few percent too small."""
    made, pairs = ORIGINAL_ROWS(*arguments)
    return [replace(row, rhs=row.rhs - 0.03 * abs(row.rhs) - 0.003 * row.scale) for row in made], pairs


ORIGINAL_ROWS = rows.rows


def inflated_aim(instance: Instance, position: Any) -> Any:
    """The separable bound of the aim five percent too high for the footings with the least pressures."""
    term, wheel, brake = ORIGINAL_AIM(instance, position)
    pressure = instance.nodes(position).footings.pressure
    factor = np.where(pressure <= np.median(pressure), 1.05, 1.0)
    cells = None if term.cells is None else term.cells * factor[:, None]
    return Term(term.base * factor, term.slope * factor, cells), wheel, brake


ORIGINAL_AIM = candidates.aim_term


def no_discount(*arguments: Any) -> float:
    """Ordering for both ends together saves nothing."""
    return 0.0


def of(number: int) -> RandomCase:
    """A random case."""
    return cached_case(*suite()[number])


#: Seeds of cases whose optimum lies beyond the switch from rigid to flattened and barely beats one before it.
ACROSS = (1, 18, 20, 22)


def only_least_bounds(instance: Instance, marginals: dict[Any, Array], ceiling: float) -> Any:
    """Of footings that fit the same rims only the one with the least lower bound stays."""
    kept = {}
    for position, values in marginals.items():
        classes = instance.nodes(position).footing_class
        least = np.array([values[classes == cls].min() for cls in classes])
        kept[position] = np.where(values <= least, values, np.inf)
    return ORIGINAL_RESTRICTED(instance, kept, ceiling)


ORIGINAL_RESTRICTED = choose.restricted


def lightest_wheels(self: Candidates) -> dict[Position, Nodes]:
    """Of wheels with the same rim class and rotor seat only the lightest stay."""
    found = {}
    for position, nodes in ORIGINAL_NODES(self).items():
        kind = nodes.wheel_class * (nodes.wheel_seat.max() + 1) + nodes.wheel_seat
        least = np.array([nodes.wheel_mass[kind == one].min() for one in kind])
        every = [np.ones(of.size, dtype=bool) for of in (nodes.footing, nodes.brake)]
        found[position] = nodes.keep(every[0], nodes.wheel_mass <= least, every[1])
    return found


ORIGINAL_NODES = Candidates.nodes


def bound_as_reached(self: Search, choices: Choices, bounds: Array) -> None:
    """The least bound looked at counts as the best value, although no appraised choice has it."""
    ORIGINAL_BY_BOUND(self, choices, bounds)
    self.best = min(self.best, float(bounds[0]))


ORIGINAL_BY_BOUND = Search.offer_by_bound


Patch = Callable[[pytest.MonkeyPatch], None]


def method(owner: type, name: str, mutant: Callable[..., Any]) -> Patch:
    """A patch of a method."""
    return lambda monkeypatch: monkeypatch.setattr(owner, name, mutant)


#: Mistakes, where each stands, and a case that has to notice.
MUTATIONS: dict[str, tuple[Patch, Callable[[int], RandomCase], int]] = {
    "tangent across a switch": (instead(bounds.resistance, tangent_resistance), switch_case, ACROSS[0]),
    "rows too strong": (instead(rows.rows, strong_rows), of, 5),
    "tier ignored": (instead(costing.discount, no_discount), of, 35),
    "bound too high": (instead(candidates.aim_term, inflated_aim), of, 7),
    "dropped on lower bounds only": (instead(choose.restricted, only_least_bounds), of, 7),
    "lighter counts as better": (method(Candidates, "nodes", lightest_wheels), of, 8),
    "a bound counts as reached": (method(Search, "offer_by_bound", bound_as_reached), of, 6),
}
#: Of the cases of the suite that show a coupling of mass, climbing or price tiers, two that notice quickly.
NOTICING, ALIKE = (5, 6), (*range(10), 17, *range(35, 40))


@pytest.mark.parametrize("name", MUTATIONS)
def test_a_mistake_in_the_bounds_shows_as_another_answer(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    patch, drawn, number = MUTATIONS[name]
    case = drawn(number)
    patch(monkeypatch)
    assert disagrees(case)


@pytest.mark.parametrize("number", few_quick(ALIKE, NOTICING))
def test_without_a_mistake_the_same_cases_agree(number: int) -> None:
    assert not disagrees(of(number))


@pytest.mark.parametrize("seed", few_quick(ACROSS, ACROSS[:1]))
def test_without_a_mistake_the_cases_across_a_switch_agree(seed: int) -> None:
    assert not disagrees(switch_case(seed))


# Changes


def with_base_limits(case: RandomCase) -> RandomCase:
    """The case without the limit that was drawn for it."""
    vehicle = vehicle_with(case.candidates.model.vehicle, BASE_LIMITS[case.scenario])
    return appraised(case, vehicle, case.candidates.model.catalog, "base")


def after_a_change(case: RandomCase) -> tuple[set[tuple[int, ...]], set[tuple[int, ...]]]:
    """Best choices after the drawn limit is lifted, searched from what is known with it, and by enumeration."""
    lifted, before = with_base_limits(case), fresh(case.candidates)
    run_search(before, Settings(solve=False))
    search, proven = run_search(before.variant(lifted.candidates.model), Settings(solve=False))
    assert proven
    return (as_set(search.found) if search.found is not None else set()), lifted.ties()


def never_made_again(self: Candidates, *arguments: Any, **options: Any) -> Candidates:
    """A variant that keeps bounds and rows whatever has changed."""
    other = ORIGINAL_VARIANT(self, *arguments, **options)
    other.whole = self.whole
    return other


ORIGINAL_VARIANT = Candidates.variant


def test_rows_kept_after_a_limit_has_changed_show_as_another_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    case = of(0)
    found, expected = after_a_change(case)
    assert found == expected
    monkeypatch.setattr(Candidates, "variant", never_made_again)
    found, expected = after_a_change(case)
    assert found != expected


def test_ceilings_kept_from_zone_to_zone_lose_points_of_the_trade_off(monkeypatch: pytest.MonkeyPatch) -> None:
    least: dict[str, float] = {}

    def stale(*arguments: Any) -> tuple[list[Row], Any]:
        made, pairs = ORIGINAL_ROWS(*arguments)
        for row in made:
            if row.limit in ("package_mass", "rolling_loss"):
                least[row.name] = min(least.get(row.name, np.inf), row.rhs)
        return [replace(row, rhs=least.get(row.name, row.rhs)) for row in made], pairs

    case = cached_case(*suite()[19])
    expected = len(truth(case, TWO))
    whole = find_frontier(fresh(case.candidates), TWO, Settings(enumerate_at_most=0))
    assert len(whole.points) == expected > 2
    put_everywhere(monkeypatch, ORIGINAL_ROWS, stale)
    # What an earlier search met on the way must not help out.
    monkeypatch.setattr(Pool, "inside", lambda self, tops: None)
    search = find_frontier(fresh(case.candidates), TWO, Settings(enumerate_at_most=0))
    assert len(search.points) < expected
