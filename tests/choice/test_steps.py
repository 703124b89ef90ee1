"""No step that spares work changes the answer: optimum, ties, families and trade-offs without it, by enumeration."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from random_cases import COUPLINGS, RandomCase, as_set, cached_case, few_quick, suite
from step_cases import (
    OFF,
    POSITIONS,
    QUICK,
    SMALL,
    STEPS,
    bounds_of,
    constants,
    every_case,
    fresh,
    quick_cases,
    require_truth,
    searched,
)
from test_family import drawn, truth_of
from test_tradeoff import TWO, truth

from configopt.choice import family
from configopt.choice.candidates import Instance
from configopt.choice.choose import Settings, footing_marginals, run_search
from configopt.choice.context import CELLS
from configopt.choice.family import FamilySearch, Prices, find_family
from configopt.choice.frontier import EQUAL, FrontierSearch, Pool, find_frontier
from configopt.choice.packages_below import PackageList
from configopt.choice.pairs import PairCheck

#: Families by seed: limits on sharing, spares, price tiers; the last has no choice within its limits.
FAMILIES = (4, 14, 22, 24, 8)
#: Trade-offs by case and aims.
TRADEOFFS = ((11, TWO), (26, TWO), (19, TWO))
#: As commands search, without the check by the model.
WHOLE = Settings(solve=False)


def family_truth(seed: int) -> float:
    """The best of all combinations."""
    found = truth_of(seed)
    assert found is not None
    return found


def require_family(seed: int, settings: Settings) -> FamilySearch:
    """Compare a family with all combinations of enumerated choices."""
    candidates, sharing = drawn(seed)
    search = find_family([fresh(one) for one in candidates], sharing, settings)
    assert search.proven
    assert search.best == pytest.approx(family_truth(seed), rel=1e-9)
    if search.found is not None:
        assert search.bound == pytest.approx(search.best, rel=1e-6)
    return search


def require_tradeoff(number: int, aims: tuple[str, ...]) -> FrontierSearch:
    """Compare a trade-off with enumeration: points and all their ties."""
    case = cached_case(*suite()[number])
    search = find_frontier(fresh(case.candidates), aims, Settings(enumerate_at_most=0))
    expected = truth(case, aims)
    assert search.complete
    assert len(search.points) == len(expected)
    for point, (value, choices) in zip(search.points, expected, strict=True):
        np.testing.assert_allclose(point.values, value, rtol=EQUAL)
        assert as_set(point.choices) == choices
    return search


@pytest.mark.parametrize("name", few_quick(STEPS, list(STEPS)[::4]))
def test_the_answer_is_the_same_without_a_step(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    cases, number = quick_cases(), list(STEPS).index(name)
    STEPS[name].patch(monkeypatch)
    searched(cases[number % len(cases)], SMALL)


def test_the_answer_is_the_same_with_most_steps_off_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    cases = quick_cases()
    for name in OFF:
        STEPS[name].patch(monkeypatch)
    for case in cases[2::4]:
        searched(case, SMALL)


@pytest.mark.slow
def test_a_trade_off_is_the_same_with_most_steps_off_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in OFF:
        STEPS[name].patch(monkeypatch)
    require_tradeoff(*TRADEOFFS[0])


@pytest.mark.slow
@pytest.mark.parametrize("seed", FAMILIES)
def test_the_family_is_the_same_with_most_steps_off_at_once(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    family_truth(seed)
    for name in OFF:
        STEPS[name].patch(monkeypatch)
    require_family(seed, Settings())


def runs() -> Iterator[tuple[RandomCase, Settings]]:
    """All cases, every third split into boxes and the others as commands would search them."""
    for number, case in enumerate(every_case()):
        yield case, WHOLE if number % 3 else SMALL


@cache
def with_all_steps() -> list[tuple[int, int]]:
    """Rounds and appraised choices of all cases."""
    return [searched(case, settings) for case, settings in runs()]


@pytest.mark.slow
@pytest.mark.parametrize("name", STEPS)
def test_a_hundred_answers_are_the_same_without_a_step(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before, number = with_all_steps(), list(STEPS).index(name)
    seeds = [FAMILIES[(number + place) % len(FAMILIES)] for place in (0, 2)]
    for seed in seeds:
        family_truth(seed)
    aims = TRADEOFFS[number % len(TRADEOFFS)]
    whole = require_tradeoff(*aims)
    step = STEPS[name]
    step.patch(monkeypatch)
    after = [searched(case, settings) for case, settings in runs()]
    differing = sum(one != other for one, other in zip(before, after, strict=True))
    for seed in seeds:
        require_family(seed, replace(SMALL, appraise_at_most=400))
    search = require_tradeoff(*aims)
    differing += (whole.rounds, whole.appraised) != (search.rounds, search.appraised)
    points = len(search.points)
    with capsys.disabled():
        print(f"\n{name}: {len(after)} cases, {differing} searched another way, 2 families, {points} trade-off points")
    assert len(after) >= 100
    # A step that is never used here would be tested by nothing.
    assert (differing == 0) == step.only_work


@pytest.mark.slow
def test_a_hundred_answers_stand_the_check_by_the_model(capsys: pytest.CaptureFixture[str]) -> None:
    """The model over what is left beside the best neither contradicts it nor finds anything else."""
    checked = 0
    for case, settings in runs():
        search, proven = run_search(fresh(case.candidates), replace(settings, solve=True))
        require_truth(case, search, proven)
        checked += search.found is not None
    with capsys.disabled():
        print(f"\nmodel check: {checked} cases")
    assert checked >= 80


@pytest.mark.slow
def test_a_coupling_decides_in_most_of_the_hundred_cases(capsys: pytest.CaptureFixture[str]) -> None:
    cases = list(every_case())
    deciding, tied = sum(case.binds for case in cases), sum(len(case.ties()) > 1 for case in cases if case.met.any())
    with capsys.disabled():
        print(f"\n{len(cases)} cases, a coupling decides in {deciding}, the best is tied in {tied}")
    assert len(cases) >= 100
    assert deciding >= len(cases) / 2
    assert tied >= len(cases) / 4
    assert {case.coupling for case in cases} >= {
        *COUPLINGS,
        "several",
        "twins",
        "on a limit",
        "on a budget",
        "few parts",
    }


def test_a_coupling_decides_in_most_of_the_quick_cases() -> None:
    cases = quick_cases()
    assert len(cases) >= 12
    assert len(QUICK) >= 7
    assert sum(case.binds for case in cases) >= len(cases) / 2
    assert sum(len(case.ties()) > 1 for case in cases) >= len(cases) / 3


# The family's own steps


def first_prices_only(self: FamilySearch, kept: set[tuple[str, int]], branch: family.Branch) -> None:
    """No choices are looked for that use few parts."""


def nothing_spread(self: FamilySearch, part: tuple[str, int], prices: Prices) -> float:
    """Places that no listed choice has a part in pay nothing for it."""
    return 0.0


FAMILY_STEPS = {
    "one choice entered at a time": lambda m: constants(family, ENTERED=1)(m),
    "short lists split the question": lambda m: constants(family, LISTED_AT_MOST=3)(m),
    "no search among few parts": lambda m: m.setattr(FamilySearch, "search_with", first_prices_only),
    "nothing spread over other places": lambda m: m.setattr(FamilySearch, "spread", nothing_spread),
    "nothing known of single pieces": lambda m: m.setattr(FamilySearch, "least_per_piece", lambda self, part: 0.0),
    "nothing to begin with": lambda m: m.setattr(FamilySearch, "listed_choices", lambda self, member, branch: None),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", FAMILY_STEPS)
def test_the_family_is_the_same_without_a_step_of_its_own(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for seed in (*FAMILIES, 26, 20):
        family_truth(seed)
    FAMILY_STEPS[name](monkeypatch)
    for seed in (*FAMILIES, 26, 20):
        require_family(seed, Settings())


@pytest.mark.slow
@pytest.mark.parametrize(("number", "aims"), TRADEOFFS)
def test_the_trade_off_is_the_same_with_nothing_to_begin_with(
    number: int, aims: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Pool, "inside", lambda self, tops: None)
    require_tradeoff(number, aims)


# What a footing can come to at best


def own_bounds(case: RandomCase, instance: Instance) -> np.ndarray:
    """Bound of every choice that meets all limits, as a pair of packages."""
    met = case.choices.take(np.flatnonzero(case.met))
    lists = []
    for position in POSITIONS:
        nodes, rows = instance.nodes(position), getattr(met, position)
        # Nothing that meets all limits may have been dropped.
        local = [
            np.searchsorted(of, rows[:, layer]) for layer, of in enumerate((nodes.footing, nodes.wheel, nodes.brake))
        ]
        for layer, of in enumerate((nodes.footing, nodes.wheel, nodes.brake)):
            assert np.isin(rows[:, layer], of).all()
        rest = nodes.wheel_mass[local[1]] + nodes.brake_mass[local[2]]
        grid = instance.contexts[position].grid[local[0]]
        cell = np.clip((grid[:, 1:-1] < rest[:, None]).sum(axis=1), 0, grid.shape[1] - 2)
        lists.append(PackageList(local[0], local[1], local[2], np.zeros(len(rest)), rest, cell))
    pairs = np.arange(len(met))
    return PairCheck(instance, *lists).bounds(pairs, pairs)


@pytest.mark.parametrize("cells", [1, CELLS])
def test_no_footing_promises_more_than_a_choice_with_it_reaches(cells: int) -> None:
    for case in quick_cases()[::2]:
        instance = bounds_of(case, cells)
        assert instance is not None
        marginals, bounds = footing_marginals(instance), own_bounds(case, instance)
        aims, met = case.aims[case.met], case.choices.take(np.flatnonzero(case.met))
        scale = 1e-9 * max(abs(case.best), 1.0)
        assert (bounds <= aims + scale).all()
        for position in POSITIONS:
            used, of = getattr(met, position)[:, 0], instance.nodes(position).footing
            best = np.full(len(of), np.inf)
            np.minimum.at(best, np.searchsorted(of, used), aims)
            bound = np.full(len(of), np.inf)
            np.minimum.at(bound, np.searchsorted(of, used), bounds)
            # Marginal <= bound of every choice with the footing <= aim of the best of them; the least is the optimum.
            assert (marginals[position] <= bound + scale).all()
            assert best.min() == case.best
            kept = of[marginals[position] <= case.best + scale]
            assert {row[0 if position == "front" else 3] for row in case.ties()} <= set(kept.tolist())
