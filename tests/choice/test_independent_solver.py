"""Another solver on the same models: the same values, and a proof of the best choice and its ties of its own."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from other_solver import OtherSolver
from random_cases import RandomCase, as_set, cached_case, suite
from step_cases import MADE_FROM, POSITIONS, bounds_of, few_parts, optimum_of
from test_family import by_combinations, drawn, listed

from configopt.choice.audit import Choices
from configopt.choice.choose import Settings, read_choice, run_search
from configopt.choice.family import Branch, Sharing, find_family
from configopt.choice.model.build import ChoiceModel, build
from configopt.choice.solve import price_rows, solve, to_arrays

#: Cases whose model is solved twice: one of every coupling and scenario, and all others.
TWICE = [one for one in suite() if one[2] != "nothing"][::5]
MORE = [one for one in suite() if one not in TWICE]
#: Cases of few parts that are proven in under a second, and others.
PROVEN, MORE_PROVEN = (16, 33), tuple(number for number in MADE_FROM if number not in (16, 33))
#: Choices taken out one by one until the rest is proven worse.
MOST_ROUNDS = 300
#: Families of few listed choices by seed.
FAMILIES = (14,)
MORE_FAMILIES = (4, 8, 2, 6, 20, 22, 24, 26, 15, 18)


def chosen(made: ChoiceModel, choice: Choices) -> list[Any]:
    """The variables that are 1 in a choice."""
    found = []
    for position in POSITIONS:
        nodes, row = made.instance.nodes(position), getattr(choice, position)[0]
        for layer, (of, variables) in enumerate(
            (
                (nodes.footing, made.footing[position]),
                (nodes.wheel, made.wheel[position]),
                (nodes.brake, made.brake[position]),
            )
        ):
            found.append(variables[int(np.flatnonzero(of == row[layer])[0])])
    return [*found, made.drive[int(np.flatnonzero(made.instance.drives == choice.drive[0])[0])]]


def require_the_same_value(case: RandomCase) -> None:
    """Both solvers find one value, which no choice that meets all limits lies below."""
    instance = bounds_of(case)
    if instance is None:
        assert not case.met.any()
        return
    made = build(instance)
    solution, arrays = solve(made.model), to_arrays(made.model)
    other = OtherSolver(arrays).solve()
    assert other.status == solution.status
    if solution.status == "infeasible":
        assert not case.met.any()
        return
    scale = max(abs(solution.value), 1.0)
    assert other.value == pytest.approx(solution.value, rel=1e-6, abs=1e-6)
    assert solution.bound <= solution.value + 1e-9 * scale
    if case.met.any():
        # The model lets the best choice through, at no more than its aim by the full model.
        best = {id(variable): 1.0 for variable in chosen(made, optimum_of(case))}
        at_best = OtherSolver(arrays, best).solve()
        assert solution.value - 1e-6 * scale <= at_best.value <= case.best + 1e-6 * scale


@pytest.mark.parametrize(("seed", "scenario", "coupling"), TWICE)
def test_another_solver_finds_the_same_value(seed: int, scenario: str, coupling: str) -> None:
    require_the_same_value(cached_case(seed, scenario, coupling))


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "scenario", "coupling"), MORE)
def test_another_solver_finds_the_same_value_in_more_cases(seed: int, scenario: str, coupling: str) -> None:
    require_the_same_value(cached_case(seed, scenario, coupling))


def proven_by_the_other_solver(case: RandomCase) -> tuple[float, set[tuple[int, ...]], int]:
    """Best aim and all its ties without our search: what a model offers is appraised and taken out of it."""
    instance = bounds_of(case)
    if instance is None:
        return np.inf, set(), 0
    made = build(instance)
    solver, best = OtherSolver(to_arrays(made.model)), np.inf
    offered: list[tuple[float, Choices]] = []
    for number in range(MOST_ROUNDS):
        solution = solver.solve()
        if solution.status == "infeasible" or solution.value > best + 1e-6 * max(abs(best), 1.0):
            ties = [as_set(choice) for aim, choice in offered if aim <= best * (1.0 + 1e-9)]
            return best, set().union(*ties), number
        choice = read_choice(made, solution)
        aim, met = case.candidates.appraise(choice)
        if met[0]:
            best = min(best, float(aim[0]))
            offered.append((float(aim[0]), choice))
        solver.forbid(chosen(made, choice))
    raise AssertionError("too many choices lie below the best")


def require_the_same_proof(number: int) -> None:
    """Both ways to the best choice end at the same, and enumeration with them."""
    case = few_parts(number)
    best, ties, _ = proven_by_the_other_solver(case)
    search, proven = run_search(case.candidates, Settings())
    assert proven
    assert best == pytest.approx(case.best, rel=1e-12)
    assert search.best == pytest.approx(best, rel=1e-12)
    assert search.found is not None
    assert ties == case.ties() == as_set(search.found)


@pytest.mark.parametrize("number", PROVEN)
def test_another_solver_proves_the_same_choices_best(number: int) -> None:
    require_the_same_proof(number)


@pytest.mark.slow
@pytest.mark.parametrize("number", MORE_PROVEN)
def test_another_solver_proves_the_same_choices_best_in_more_cases(number: int) -> None:
    require_the_same_proof(number)


@cache
def family_best(seed: int) -> float:
    """Least aim of a family by our search."""
    candidates, sharing = drawn(seed)
    search = find_family(candidates, sharing, Settings())
    assert search.proven
    return search.best


def require_the_same_family(seed: int) -> None:
    """The model over every choice of every vehicle: whole by both solvers, and continuous by both."""
    candidates, sharing = drawn(seed)
    search = listed(candidates, sharing)
    search.penalty = 1e4 * max(abs(one.column.value) for one in search.by_parts.values())
    columns = search.columns(Branch())
    made = search.build(columns, Branch(), whole=True)
    ours, other = solve(made.model, presolve=True), OtherSolver(to_arrays(made.model)).solve()
    truth = by_combinations(candidates, sharing)
    assert truth is not None
    assert family_best(seed) == pytest.approx(truth, rel=1e-9)
    assert other.value == pytest.approx(ours.value, rel=1e-6)
    missing = sum(other.of(variable) for variable in made.missing)
    if np.isfinite(truth):
        assert missing < 1e-6
        assert other.value == pytest.approx(truth, rel=1e-6)
    else:
        assert missing > 0.5
    made = search.build(columns, Branch(), whole=False)
    priced, continuous = price_rows(made.model), OtherSolver(to_arrays(made.model)).solve()
    assert continuous.value == pytest.approx(priced.value, rel=1e-6)
    assert continuous.value <= other.value * (1.0 + 1e-6)


@pytest.mark.parametrize("seed", FAMILIES)
def test_another_solver_finds_the_same_family(seed: int) -> None:
    require_the_same_family(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", MORE_FAMILIES)
def test_another_solver_finds_the_same_family_in_more_cases(seed: int) -> None:
    require_the_same_family(seed)


@pytest.mark.slow
def test_without_sharing_limits_another_solver_finds_what_prices_by_quantity_give() -> None:
    candidates, sharing = drawn(26)
    assert candidates[0].rates["cost"] > 0.0
    free = Sharing(spares=sharing.spares)
    search = listed(candidates, free)
    search.penalty = 1e6
    made = search.build(search.columns(Branch()), Branch(), whole=True)
    other = OtherSolver(to_arrays(made.model)).solve()
    assert other.value == pytest.approx(by_combinations(candidates, free), rel=1e-6)
    assert other.value == pytest.approx(find_family(candidates, free, Settings()).best, rel=1e-6)


def test_enough_models_are_solved_twice() -> None:
    assert len(TWICE) >= 13
    assert len(TWICE) + len(MORE) >= 60
    assert len(PROVEN) + len(MORE_PROVEN) >= 12
