"""The optimisation model itself: another solver agrees, nothing is printed, early ends keep what is known."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pyscipopt
import pytest
from random_cases import RandomCase, cached_case, enumerated, suite

from configopt.choice.boxes import full_box
from configopt.choice.candidates import Instance, make_instance
from configopt.choice.choose import Settings, read_choice, run_search
from configopt.choice.model.build import build
from configopt.choice.solve import Arrays, Stop, solve, to_arrays

LP = Path(__file__).parent / "lp"
#: Cases whose model is solved twice; one of every coupling and scenario.
TWICE = [one for one in suite() if one[2] != "nothing"][::5]


def instance_of(case: RandomCase) -> Instance:
    """Bounds of a case over its whole range of masses."""
    candidates = case.candidates
    instance = make_instance(
        candidates.model, candidates.nodes(), full_box(candidates), candidates.drives, candidates.weights
    )
    assert instance is not None
    return instance


def by_other_solver(arrays: Arrays) -> float:
    """Least value of the same arrays by SCIP."""
    model = pyscipopt.Model()
    model.hideOutput()
    model.setRealParam("limits/gap", 0.0)
    model.setRealParam("limits/absgap", 1e-9)
    model.setRealParam("numerics/feastol", 1e-7)

    def bound(value: float) -> float | None:
        return float(value) if np.isfinite(value) else None

    variables = [
        model.addVar(vtype="I" if whole else "C", lb=bound(low), ub=bound(high), obj=float(cost))
        for whole, low, high, cost in zip(arrays.integer, arrays.low, arrays.high, arrays.cost, strict=True)
    ]
    for row, (low, high) in enumerate(zip(arrays.row_low, arrays.row_high, strict=True)):
        span = range(int(arrays.start[row]), int(arrays.start[row + 1]))
        if not span:
            continue
        body = pyscipopt.quicksum(float(arrays.value[i]) * variables[arrays.index[i]] for i in span)
        if low == high:
            model.addCons(body == float(low))
            continue
        if np.isfinite(low):
            model.addCons(body >= float(low))
        if np.isfinite(high):
            model.addCons(body <= float(high))
    model.addObjoffset(arrays.offset)
    model.optimize()
    assert model.getStatus() == "optimal"
    return float(model.getObjVal())


@pytest.mark.parametrize(("seed", "scenario", "coupling"), TWICE)
def test_another_solver_finds_the_same_value(seed: int, scenario: str, coupling: str) -> None:
    case = cached_case(seed, scenario, coupling)
    made = build(instance_of(case))
    solution = solve(made.model)
    assert solution.status == "optimal"
    assert by_other_solver(to_arrays(made.model)) == pytest.approx(solution.value, rel=1e-6, abs=1e-6)
    # The model is a relaxation: its least value is never above what the full model reaches.
    assert solution.value <= case.best + 1e-6 * max(abs(case.best), 1.0)
    assert solution.bound <= solution.value + 1e-9 * max(abs(solution.value), 1.0)


@pytest.mark.parametrize(("seed", "scenario", "coupling"), TWICE[:3])
def test_a_solution_reads_as_a_choice_that_fits(seed: int, scenario: str, coupling: str) -> None:
    case = cached_case(seed, scenario, coupling)
    made = build(instance_of(case))
    choice = read_choice(made, solve(made.model))
    rows = np.concatenate([choice.front, choice.rear, choice.drive[:, None]], axis=1)
    every = enumerated(case.candidates)
    known = np.concatenate([every.front, every.rear, every.drive[:, None]], axis=1)
    assert (known == rows).all(axis=1).any()


def test_at_least_ten_models_are_solved_twice() -> None:
    assert len(TWICE) >= 10


def test_solving_prints_nothing() -> None:
    script = "\n".join(
        [
            "import pyomo.environ as pyo",
            "from configopt.choice.solve import solve",
            "model = pyo.ConcreteModel()",
            "model.x = pyo.Var(domain=pyo.Binary)",
            "model.row = pyo.Constraint(expr=model.x >= 0.5)",
            "model.aim = pyo.Objective(expr=3.0 * model.x)",
            "assert solve(model).value == 3.0",
        ]
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == ""
    assert done.stderr == ""


def test_no_time_at_all_ends_as_stopped() -> None:
    case = cached_case(*suite()[0])
    assert solve(build(instance_of(case)).model, time_limit=0.0).status == "stopped"


def test_a_stop_asked_before_ends_as_stopped() -> None:
    case = cached_case(*suite()[0])
    stop = Stop()
    stop.asked = True
    search, proven = run_search(case.candidates, Settings(stop=stop))
    assert not proven
    assert search.found is None


def test_a_search_without_time_is_not_proven() -> None:
    case = cached_case(*suite()[0])
    search, proven = run_search(case.candidates, Settings(time_limit=0.0))
    assert not proven
    assert search.bound <= case.best


def test_a_search_stopped_on_the_way_keeps_a_valid_bound() -> None:
    case = cached_case(*suite()[1])
    stop = Stop()
    lines: list[str] = []

    def heard(line: str) -> None:
        lines.append(line)
        stop.asked = True

    search, proven = run_search(
        case.candidates, Settings(appraise_at_most=20, first_footings=4, stop=stop, progress=heard)
    )
    assert lines
    assert not proven
    assert search.bound <= case.best * (1.0 + 1e-9)
    assert search.best >= case.best * (1.0 - 1e-9)


def test_another_thread_can_stop_a_search() -> None:
    case = cached_case(*suite()[1])
    stop = Stop()
    timer = threading.Timer(0.3, lambda: setattr(stop, "asked", True))
    timer.start()
    began = time.monotonic()
    search, proven = run_search(case.candidates, Settings(appraise_at_most=2, first_footings=2, stop=stop))
    timer.join()
    assert proven or time.monotonic() - began < 20.0
    assert search.bound <= case.best * (1.0 + 1e-9)
