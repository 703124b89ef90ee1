"""The optimisation model itself: it reads as a choice, nothing is printed, early ends keep what is known."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
from random_cases import RandomCase, cached_case, enumerated, suite
from step_cases import bounds_of

from configopt.choice.candidates import Instance
from configopt.choice.choose import Settings, read_choice, run_search
from configopt.choice.model.build import build
from configopt.choice.solve import Stop, solve

LP = Path(__file__).parent / "lp"
#: Cases whose solution is read; one of the first couplings each.
READ = [one for one in suite() if one[2] != "nothing"][:15:5]


def instance_of(case: RandomCase) -> Instance:
    """Bounds of a case that can be met, over its whole range of masses."""
    instance = bounds_of(case)
    assert instance is not None
    return instance


@pytest.mark.parametrize(("seed", "scenario", "coupling"), READ)
def test_a_solution_reads_as_a_choice_that_fits(seed: int, scenario: str, coupling: str) -> None:
    case = cached_case(seed, scenario, coupling)
    made = build(instance_of(case))
    choice = read_choice(made, solve(made.model))
    rows = np.concatenate([choice.front, choice.rear, choice.drive[:, None]], axis=1)
    every = enumerated(case.candidates)
    known = np.concatenate([every.front, every.rear, every.drive[:, None]], axis=1)
    assert (known == rows).all(axis=1).any()


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
