"""Mistakes that must not go unnoticed: each makes the search disagree with enumeration on some random case."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from random_cases import RandomCase, as_set, cached_case, suite

from configopt.appraisal.ground import Ground
from configopt.choice import bounds, candidates, costing, limits
from configopt.choice.bounds import Resistance
from configopt.choice.candidates import Instance
from configopt.choice.choose import Settings, run_search
from configopt.choice.context import Context
from configopt.choice.terms import Row, Term
from configopt.errors import AuditError


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
            search, proven = run_search(case.candidates, settings)
        except AuditError:
            return True
        assert proven
        found = as_set(search.found) if search.found is not None else set()
        if found != (case.ties() if case.met.any() else set()):
            return True
    return False


def cases(
    *couplings: str, scenarios: Iterable[str] = ("upland-wardens", "coastal-survey", "forest-rescue")
) -> list[RandomCase]:
    """Random cases of some couplings."""
    return [cached_case(*one) for one in suite() if one[2] in couplings and one[1] in scenarios]


def tangent_resistance(ctx: Context, ground: Ground, **options: Any) -> Resistance:
    """Resistance on soil bounded by its tangent at the low end, as if it had no switch from rigid to flattened."""
    true = ORIGINAL_RESISTANCE(ctx, ground, **options)
    if not ground.soft or true.low.cells is None:
        return true
    start, step = ctx.grid[:, 0], np.maximum(ctx.grid[:, -1] - ctx.grid[:, 0], 1e-9)
    value = true.low.cells[:, 0]
    slope = (
        (true.low.cells[:, 1] - value) / (step / true.low.cells.shape[1])
        if true.low.cells.shape[1] > 1
        else 0.0 * value
    )
    return Resistance(
        true.low + Term(value - slope * start, slope) + Term(0 * start, 0 * start, -true.low.cells), true.minus_high
    )


ORIGINAL_RESISTANCE = bounds.resistance


def strong_rows(*arguments: Any) -> tuple[list[Row], Any]:
    """Rows with right sides a few percent too small."""
    rows, pairs = ORIGINAL_ROWS(*arguments)
    return [replace(row, rhs=row.rhs - 0.03 * abs(row.rhs) - 0.003 * row.scale) for row in rows], pairs


ORIGINAL_ROWS = limits.rows


def inflated_aim(instance: Instance, position: Any) -> Any:
    """The separable bound of the aim one percent too high."""
    term, wheel, brake = ORIGINAL_AIM(instance, position)
    return term.scaled(1.01), 1.01 * wheel, 1.01 * brake


ORIGINAL_AIM = candidates.aim_term


def no_discount(*arguments: Any) -> float:
    """Ordering for both ends together saves nothing."""
    return 0.0


MUTATIONS: dict[str, tuple[Callable[..., Any], Callable[..., Any], list[str]]] = {
    "tangent across a switch": (bounds.resistance, tangent_resistance, ["range", "several", "lift-off"]),
    "rows too strong": (limits.rows, strong_rows, ["climb", "range", "terrain's own limit"]),
    "tier ignored": (costing.discount, no_discount, ["price tier"]),
    "bound too high": (candidates.aim_term, inflated_aim, ["gearing", "cost"]),
}


@pytest.mark.parametrize("name", MUTATIONS)
def test_a_mistake_in_the_bounds_shows_as_another_answer(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    original, mutant, couplings = MUTATIONS[name]
    drawn = cases(*couplings)
    put_everywhere(monkeypatch, original, mutant)
    assert any(disagrees(case) for case in drawn)


def test_without_a_mistake_the_same_cases_agree() -> None:
    assert not any(disagrees(case) for case in cases("price tier", "gearing"))
