"""How many variants cost: seconds and memory over their number, and two processes against one.

``python tests/sweep/measure.py --variants 500`` prints JSON.  Two processes are timed against one, both begun already,
the runs in turn, beside a control of pure computing on one and on two processes: on a machine that is busy, or whose
processors slow each other down, no program does better than the control.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from configopt.scenario.variants import Planned, Setting
from configopt.sweep.answers import Kept
from configopt.sweep.changing import Base
from configopt.sweep.engines import Processes
from configopt.sweep.run import Run
from configopt.sweep.store import Store

ROOT = Path(__file__).parents[2]
SCENARIO = ROOT / "scenarios" / "upland-wardens.yaml"
#: What a control process does: about as long as two variants.
CONTROL = "x = 0\nfor i in range(10_000_000):\n    x += i * i % 7\n"


def planned(count: int) -> list[Planned]:
    """Variants of the exchange rate and the battery."""
    found = []
    for number in range(count):
        share = (number + 0.5) / count
        settings = (
            Setting("aims.rolling_loss", f"{0.6 + 0.6 * share:.6f} per Wh/km"),
            Setting("vehicles.warden-two-wheeler.battery_energy", f"{2400 + 400 * share:.6f} Wh"),
        )
        found.append(Planned(f"variant-{number + 1}", settings=settings))
    return found


def memory(pid: int) -> float:
    """Memory of a process that is in use [MiB]."""
    fields = Path(f"/proc/{pid}/statm").read_text().split()
    return int(fields[1]) * os.sysconf("SC_PAGE_SIZE") / 2**20


def begun(base: Base, jobs: int) -> tuple[Run, Processes]:
    """Processes that have computed something already."""
    engine = Processes(base, jobs)
    run = Run(base, engine, Store(None))
    (first, *_) = run.solve_all(planned(jobs))
    assert first.record is not None
    run.kept = (Kept("first", first.record),)
    return run, engine


def growth(base: Base, count: int, jobs: int = 2) -> dict[str, Any]:
    """Seconds and memory after a fifth, half and all of some variants, and how they end."""
    run, engine = begun(base, jobs)
    start, rows, ends = time.monotonic(), [], []
    marks = {max(count * part // 10, 1) for part in (2, 5, 10)}
    for number, one in enumerate(run.solve(planned(count)), start=1):
        ends.append(one.answer["status"])
        if number in marks:
            rows.append(
                {
                    "variants": number,
                    "seconds": round(time.monotonic() - start, 2),
                    "parent_mib": round(memory(os.getpid()), 1),
                    "workers_mib": round(max(memory(pid) for pid in engine.pids), 1),
                }
            )
    engine.close()
    return {"jobs": jobs, "rows": rows, "ends": {status: ends.count(status) for status in sorted(set(ends))}}


def timed(run: Run, plans: Sequence[Planned]) -> float:
    start = time.monotonic()
    for one in run.solve(plans):
        assert one.answer["status"] in ("optimal", "nothing meets the limits")
    return time.monotonic() - start


def control(processes: int) -> float:
    """Seconds for two pieces of pure computing on one or two processes."""
    start = time.monotonic()
    pieces = [CONTROL * (2 // processes)] * processes
    running = [subprocess.Popen([sys.executable, "-c", piece]) for piece in pieces]
    assert not any(process.wait() for process in running)
    return time.monotonic() - start


def two_against_one(base: Base, count: int, runs: int = 5) -> dict[str, Any]:
    """Time of one process over that of two, medians of runs in turn, beside that of the control."""
    (one, first), (two, second) = begun(base, 1), begun(base, 2)
    plans = planned(count)
    seconds: dict[str, list[float]] = {"one": [], "two": [], "control_one": [], "control_two": []}
    for _ in range(runs):
        seconds["one"].append(timed(one, plans))
        seconds["control_one"].append(control(1))
        seconds["two"].append(timed(two, plans))
        seconds["control_two"].append(control(2))
        print({name: round(values[-1], 2) for name, values in seconds.items()}, file=sys.stderr, flush=True)
    first.close()
    second.close()
    middle = {name: statistics.median(values) for name, values in seconds.items()}
    ratio, control_ratio = middle["one"] / middle["two"], middle["control_one"] / middle["control_two"]
    return {
        "variants": count,
        "runs": runs,
        "seconds": {name: [round(value, 2) for value in values] for name, values in seconds.items()},
        "ratio": round(ratio, 3),
        "control_ratio": round(control_ratio, 3),
        "met": ratio >= 1.6 or ratio >= 0.9 * control_ratio,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--variants", type=int, default=500)
    parser.add_argument("--timed", type=int, default=8, help="variants of each run of one process against two")
    parser.add_argument("--runs", type=int, default=5)
    given = parser.parse_args()
    base = Base.of(SCENARIO, "measured.variants.yaml")
    found: dict[str, Any] = {}
    if given.variants:
        found["growth"] = growth(base, given.variants)
    if given.timed:
        found["two_against_one"] = two_against_one(base, given.timed, given.runs)
    print(json.dumps(found, indent=2))


if __name__ == "__main__":
    main()
