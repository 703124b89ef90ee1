"""Mistakes that must not go unnoticed: each makes the search disagree with enumeration on some random case."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from random_cases import RandomCase, as_set, cached_case, suite, switch_case

from configopt.appraisal.ground import Ground
from configopt.choice import bounds, candidates, costing, rows
from configopt.choice.bounds import Resistance
from configopt.choice.candidates import Instance
from configopt.choice.choose import Settings, run_search
from configopt.choice.context import Context
from configopt.choice.terms import Row, Term
from configopt.errors import AuditError

Array = NDArray[np.float64]


def put_everywhere(monkeypatch: pytest.MonkeyPatch, original: Callable[..., Any], mutant: Callable[..., Any]) -> None:
    """Replace a function under every name by which a module of the choice knows it."""
    for module in [m for name, m in sys.modules.items() if name.startswith("configopt.choice")]:
        for name, value in list(vars(module).items()):
            if value is original:
                monkeypatch.setattr(module, name, mutant)


def disagrees(case: RandomCase) -> bool:
    """Whether a search misses the enumerated optimum or its ties, or notices by itself that something is wrong."""
    for settings in (Settings(), Settings(appraise_at_most=30, first_footings=4)):
        try:
            # Bounds that an earlier search made must not hide the mistake, nor keep it.
            fresh = case.candidates.variant()
            fresh.whole = []
            search, proven = run_search(fresh, settings)
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


def of(*couplings: str) -> list[RandomCase]:
    """Random cases of some couplings."""
    return [cached_case(*one) for one in suite() if one[2] in couplings]


def across_a_switch() -> list[RandomCase]:
    """Cases whose optimum lies beyond the switch from rigid to flattened and barely beats one before it."""
    return [switch_case(seed) for seed in (1, 18, 20, 22)]


MUTATIONS: dict[str, tuple[Callable[..., Any], Callable[..., Any], Callable[[], list[RandomCase]]]] = {
    "tangent across a switch": (bounds.resistance, tangent_resistance, across_a_switch),
    "rows too strong": (rows.rows, strong_rows, lambda: of("climb")),
    "tier ignored": (costing.discount, no_discount, lambda: of("price tier")),
    "bound too high": (candidates.aim_term, inflated_aim, lambda: of("climb", "lift-off")),
}


@pytest.mark.parametrize("name", MUTATIONS)
def test_a_mistake_in_the_bounds_shows_as_another_answer(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    original, mutant, drawn = MUTATIONS[name]
    cases = drawn()
    put_everywhere(monkeypatch, original, mutant)
    assert any(disagrees(case) for case in cases)


@pytest.mark.parametrize("name", MUTATIONS)
def test_without_the_mistake_the_same_cases_agree(name: str) -> None:
    assert not any(disagrees(case) for case in MUTATIONS[name][2]())
