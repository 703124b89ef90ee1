"""One measurement in a process of its own, so that its time and memory are its own.

``python in_child.py cases FOLDER SIZE HARD SEED...`` makes the cases that are measured and keeps them; ``python
in_child.py TASK FILE SECONDS`` loads one of them, runs the task for at most so long and prints one line of JSON.
"""

from __future__ import annotations

import json
import pickle
import resource
import statistics
import sys
import time
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from cases import bench_case, bench_family
from plain import family_model, least_losses, mass_ends, whole_model

from configopt.choice.audit import Candidates
from configopt.choice.candidates import Instance
from configopt.choice.choose import Settings
from configopt.choice.live import Change, LiveChoice
from configopt.choice.model.build import build
from configopt.choice.result import choose
from configopt.choice.tradeoff import tradeoff
from configopt.scenario.case import Case
from configopt.scenario.limits import LIMITS

#: Modules in which functions are timed where they are looked up.
searching: Any = import_module("configopt.choice.choose")
solving: Any = import_module("configopt.choice.solve")
#: Passes over one model of which the fastest counts.
PASSES = 5
#: Solves that sketch a trade-off.
SOLVES = 30
# Another solver on the same arrays stands beside the tests of the choice.
sys.path.append(str(Path(__file__).parents[1] / "choice"))
#: Most memory a process may ask for [byte]; one that wants more is ended like one that takes too long.
MEMORY = 8 * 2**30


def make_cases(folder: Path, size: str, hard: bool, seeds: list[int]) -> None:
    """Pickle a case for each seed."""
    for seed in seeds:
        (folder / f"{seed}.pickle").write_bytes(pickle.dumps(bench_case(size, seed, hard=hard)))


def peak() -> int:
    """Most memory this process has held so far [byte]."""
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used if sys.platform == "darwin" else used * 1024


def choosing(case: Case) -> dict[str, Any]:
    """Choose with proof: seconds of processor time, memory, what was found, and the share that building models took."""
    models: list[Instance] = []
    spent = {"build": 0.0}
    plain_build, plain_arrays = searching.build, solving.to_arrays

    def timed(run: Callable[[Any], Any]) -> Callable[[Any], Any]:
        def measure(model: Any) -> Any:
            began = time.process_time()
            made = run(model)
            spent["build"] += time.process_time() - began
            if isinstance(model, Instance):
                models.append(model)
            return made

        return measure

    searching.build, solving.to_arrays = timed(plain_build), timed(plain_arrays)
    began = time.process_time()
    answer = choose(case)
    seconds = time.process_time() - began
    searching.build, solving.to_arrays = plain_build, plain_arrays
    return {
        "seconds": seconds,
        "bytes": peak(),
        "proven": answer.status == "optimal",
        "build_share": spent["build"] / seconds,
        **(of_model(max(models, key=size_of)) if models else {"columns": 0}),
    }


def size_of(instance: Instance) -> int:
    """Footings and wheels of a model."""
    return sum(instance.nodes(p).footing.size + instance.nodes(p).wheel.size for p in instance.contexts)


def of_model(largest: Instance) -> dict[str, Any]:
    """Of the largest solved model: what handing it over takes, and what solving it takes SCIP and HiGHS."""
    return {**hand_over(largest), **both_solvers(largest)}


def both_solvers(largest: Instance) -> dict[str, Any]:
    """Seconds of a whole solve by SCIP and by HiGHS, each from the built model, and their values."""
    from other_solver import OtherSolver

    model = build(largest).model
    by_scip, by_highs, values = [], [], (0.0, 0.0)
    for _ in range(PASSES):
        began = time.perf_counter()
        other = OtherSolver(solving.to_arrays(model)).solve()
        between = time.perf_counter()
        ours = solving.solve(model)
        ended = time.perf_counter()
        by_scip.append(between - began)
        by_highs.append(ended - between)
        values = other.value, ours.value
    return {"by_scip": min(by_scip), "by_highs": min(by_highs), "values": values}


def hand_over(largest: Instance) -> dict[str, Any]:
    """Seconds to build a model in Pyomo and hand it to HiGHS, and to hand over ready arrays."""
    through, direct, columns = [], [], 0
    for _ in range(PASSES):
        began = time.perf_counter()
        arrays = solving.to_arrays(build(largest).model)
        ready = time.perf_counter()
        pass_model(arrays)
        ended = time.perf_counter()
        through.append(ended - began)
        direct.append(ended - ready)
        columns = len(arrays.variables)
    return {"through_pyomo": min(through), "direct": min(direct), "columns": columns}


def pass_model(arrays: Any) -> None:
    """Ready arrays into a new solver."""
    with solving._quiet():
        highs = solving.highspy.Highs()
        highs.setOptionValue("output_flag", False)
        highs.passModel(solving._program(arrays))


def rechoosing(case: Case) -> dict[str, Any]:
    """Choose again after each stated limit moved by a hundredth, either way, one at a time: median seconds of a change.

    The last change is undone before the next, which is not counted.
    """
    asked, plain = LiveChoice.of(case), Change()
    asked.choose(plain)
    spent = []
    for number, record in enumerate(case.vehicle.limits):
        kind = LIMITS[record.limit]
        for factor in (0.99, 1.01):
            value = kind.parse(record.bound) * factor
            bound = value if kind.dimension in ("ratio", "price") else f"{kind.shown(value)!r} {kind.unit}"
            moved = record.model_copy(update={kind.bound: bound})
            limits = [*case.vehicle.limits[:number], moved, *case.vehicle.limits[number + 1 :]]
            began = time.process_time()
            asked.choose(Change(limits=limits), Settings(solve=False))
            spent.append(time.process_time() - began)
            asked.choose(plain, Settings(solve=False))
    return {"seconds": statistics.median(spent), "slowest": max(spent)}


def trading_off(case: Case) -> dict[str, Any]:
    """The complete trade-off of mass and rolling loss."""
    began = time.process_time()
    answer = tradeoff(case)
    return {"seconds": time.process_time() - began, "proven": answer.status == "complete", "points": len(answer.points)}


def layered(case: Case) -> dict[str, Any]:
    """The layered model over everything that fits, without anything taken out before: built and solved."""
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    began = time.process_time()
    made = whole_model(candidates)
    assert made is not None
    solving.solve(made.model)
    return {"seconds": time.process_time() - began}


def under_ceilings(case: Case) -> dict[str, Any]:
    """Thirty solves for the least rolling loss by the layered model, each under another ceiling of the mass."""
    levels = np.linspace(*mass_ends(case), SOLVES)
    began = time.process_time()
    least_losses(case, levels)
    return {"seconds": time.process_time() - began}


def family_at_once(case: Case) -> dict[str, Any]:
    """A family of four in one model, built and solved."""
    together = bench_family(case, 4)
    began = time.process_time()
    solving.solve(family_model(together))
    return {"seconds": time.process_time() - began}


def family_of(count: int) -> Callable[[Case], dict[str, Any]]:
    """Choose for a family of so many vehicles that share parts."""

    def choosing_together(case: Case) -> dict[str, Any]:
        together = bench_family(case, count)
        began = time.process_time()
        answer = choose(together)
        return {"seconds": time.process_time() - began, "proven": answer.status == "optimal"}

    return choosing_together


TASKS: dict[str, Callable[[Case], dict[str, Any]]] = {
    "choose": choosing,
    "rechoose": rechoosing,
    "tradeoff": trading_off,
    "layered": layered,
    "under ceilings": under_ceilings,
    "family at once": family_at_once,
    "family of 4": family_of(4),
    "family of 12": family_of(12),
}


def main(arguments: list[str]) -> None:
    """Make cases, or run one task on one case."""
    if arguments[0] == "cases":
        folder, size, hard, *seeds = arguments[1:]
        make_cases(Path(folder), size, hard == "hard", [int(seed) for seed in seeds])
        return
    task, file, seconds = arguments
    case = pickle.loads(Path(file).read_bytes())
    # The system ends the process at its limit of processor time.
    resource.setrlimit(resource.RLIMIT_CPU, (int(time.process_time()) + int(seconds), resource.RLIM_INFINITY))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, resource.RLIM_INFINITY))
    try:
        found = TASKS[task](case)
    except MemoryError:
        found = {"capped": True}
    print(json.dumps(found), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
