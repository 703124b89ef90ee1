"""The benchmark: how long the choice takes, how much memory, and how that grows with the catalog.

Run as ``python tests/bench/run.py --size M [--hard] [--growth] [--seed N] [--format json]``, or with ``--quick`` to see
in seconds only that the optimum is that of enumeration on parts of size S.  Each figure is the median over
:data:`SEEDS` generated catalogs, each measured in a process of its own, in seconds of processor time, because other
work on the machine is no part of it.  A run that takes longer than :data:`CAP`, or more memory than its process may
ask for, is ended and counted as :data:`CAP`, and no other seed is tried.  Rows are the functions in :data:`ROWS`; a row
without a target is reported only.
"""

from __future__ import annotations

import argparse
import json
import signal
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
SIZES = ("S", "M", "L", "XL")
#: Generated catalogs behind a median.
SEEDS = 3
#: Seconds after which a run is ended, and as which it is counted.
CAP = 60.0
#: Small cases of the quick run for each of the three shipped scenarios.
QUICK_SEEDS = 2
MEBIBYTE = 2**20


@dataclass(frozen=True)
class Row:
    """One figure with its target."""

    name: str
    value: float | None
    target: float | None
    unit: str
    n: int
    met: bool
    capped: bool


def row(name: str, values: Sequence[float], unit: str, *, target: float | None = None, capped: bool = False) -> Row:
    """Median of some values against the most that is wanted; a capped run misses it, and without a target only that."""
    value = statistics.median(values) if values else None
    met = not capped and (target is None or (value is not None and value <= target))
    return Row(name, value, target, unit, len(values), met, capped)


def target_of(bench: Bench, targets: dict[str, float]) -> float | None:
    """Target at the size; the hard instance has none before it was first measured."""
    return None if bench.hard else targets.get(bench.size)


class Bench:
    """Cases of a size, measured once for all rows."""

    def __init__(self, size: str, seed: int, *, hard: bool = False, growth: bool = False) -> None:
        self.size, self.seed, self.hard, self.growth = size, seed, hard, growth
        self._runs: dict[str, list[dict[str, Any]]] = {}

    @property
    def label(self) -> str:
        """Which instance, for the names of rows."""
        return f"{self.size}, hard" if self.hard else self.size

    def runs(self, task: str) -> list[dict[str, Any]]:
        """What a task took for each seed, measured once; seconds are :data:`CAP` where it was ended."""
        if task not in self._runs:
            self._runs[task] = list(self._measured(task))
        return self._runs[task]

    def _measured(self, task: str) -> Iterator[dict[str, Any]]:
        seeds = [str(self.seed + number) for number in range(SEEDS)]
        with tempfile.TemporaryDirectory() as folder:
            # This process stays small: a child's peak memory begins with that of its parent.
            kind = "hard" if self.hard else "easy"
            subprocess.run([sys.executable, HERE / "in_child.py", "cases", folder, self.size, kind, *seeds], check=True)
            for seed in seeds:
                found = in_child(task, Path(folder) / f"{seed}.pickle")
                yield found
                if found["capped"]:
                    # The other seeds would take as long, and say no more.
                    return


def in_child(task: str, case: Path) -> dict[str, Any]:
    """One task on one case, ended after :data:`CAP` seconds of processor time."""
    command = [sys.executable, str(HERE / "in_child.py"), task, str(case), str(int(CAP))]
    run = subprocess.run(command, stdout=subprocess.PIPE, text=True)
    found: dict[str, Any] = {"capped": True}
    if run.returncode == 0:
        found = {"capped": False, **json.loads(run.stdout)}
    elif run.returncode != -signal.SIGXCPU:
        raise RuntimeError(f"{task} on {case.stem} ended with {run.returncode}")
    return {**found, "seconds": CAP} if found["capped"] else found


def known(runs: list[dict[str, Any]], key: str) -> list[float]:
    """A figure of the runs that came to it."""
    return [float(run[key]) for run in runs if key in run]


def seconds_to_choose(bench: Bench) -> list[Row]:
    """Seconds of a proven choice for one vehicle."""
    runs = bench.runs("choose")
    found = row(
        f"choose, one vehicle, proven ({bench.label})",
        known(runs, "seconds"),
        "s",
        target=target_of(bench, {"L": 5.0, "XL": 15.0}),
        capped=any(run["capped"] for run in runs),
    )
    proven = all(run["capped"] or run["proven"] for run in runs)
    return [found if proven else Row(**{**asdict(found), "met": False})]


def memory(bench: Bench) -> list[Row]:
    """Most memory a process held that chose; of ended runs nothing is known."""
    values = [size / MEBIBYTE for size in known(bench.runs("choose"), "bytes")]
    capped = any(run["capped"] for run in bench.runs("choose"))
    target = target_of(bench, {"XL": 1024.0})
    return [row(f"peak memory of choose ({bench.label})", values, "MiB", target=target, capped=capped)]


def hand_over(bench: Bench) -> list[Row]:
    """Building the largest solved model in Pyomo and handing it over, against handing over ready arrays."""
    runs = [run for run in bench.runs("choose") if run.get("columns")]
    capped = any(run["capped"] for run in bench.runs("choose"))
    ratios = [run["through_pyomo"] / run["direct"] for run in runs]
    share = target_of(bench, {"L": 0.25})
    ratio_of = None if bench.hard else 15.0
    name = f"Pyomo build and hand-over / ready arrays ({bench.label})"
    return [
        row(name, ratios, "1", target=ratio_of, capped=capped),
        row(f"columns of that model ({bench.label})", [run["columns"] for run in runs], "1", capped=capped),
        row(
            f"Pyomo build / whole choose ({bench.label})", known(runs, "build_share"), "1", target=share, capped=capped
        ),
    ]


def seconds_to_rechoose(bench: Bench) -> list[Row]:
    """Seconds of choosing again after one changed limit, with everything warm."""
    capped = any(run["capped"] for run in bench.runs("rechoose"))
    target = target_of(bench, {"M": 0.15})
    return [
        row(
            f"re-choose after one limit ({bench.label})",
            known(bench.runs("rechoose"), "seconds"),
            "s",
            target=target,
            capped=capped,
        ),
        row(f"slowest of these changes ({bench.label})", known(bench.runs("rechoose"), "slowest"), "s", capped=capped),
    ]


def complete_tradeoff(bench: Bench) -> list[Row]:
    """Seconds of the complete trade-off of mass and rolling loss, and how many points it has."""
    capped = any(run["capped"] for run in bench.runs("tradeoff"))
    return [
        row(f"complete trade-off ({bench.label})", known(bench.runs("tradeoff"), "seconds"), "s", capped=capped),
        row(f"points of it ({bench.label})", known(bench.runs("tradeoff"), "points"), "1", capped=capped),
    ]


def both_solvers(bench: Bench) -> list[Row]:
    """SCIP against HiGHS on the largest solved model, each a whole solve."""
    runs = [run for run in bench.runs("choose") if run.get("columns")]
    for run in runs:
        scip, highs = run["values"]
        if abs(scip - highs) > 1e-6 * max(abs(highs), 1.0):
            raise RuntimeError(f"SCIP finds {scip:.9g} and HiGHS {highs:.9g}")
    ratios = [run["by_scip"] / run["by_highs"] for run in runs]
    capped = any(run["capped"] for run in bench.runs("choose"))
    return [row(f"SCIP / HiGHS on that model ({bench.label})", ratios, "1", capped=capped)]


def times_as_long(name: str, slow: list[dict[str, Any]], fast: list[dict[str, Any]], target: float | None) -> list[Row]:
    """How many times as long a plain way takes, which counts as :data:`CAP` where it was ended."""
    ratios = [one["seconds"] / other["seconds"] for one, other in zip(slow, fast, strict=False) if not other["capped"]]
    value = statistics.median(ratios) if ratios else None
    capped = any(run["capped"] for run in (*slow, *fast))
    met = value is not None and (target is None or value >= target)
    return [Row(name, value, target, "1", len(ratios), met, capped)]


def against_layered(bench: Bench) -> list[Row]:
    """The layered model over everything against choose."""
    name = f"layered model over everything / choose ({bench.label})"
    return times_as_long(name, bench.runs("layered"), bench.runs("choose"), target_of(bench, {"L": 20.0}))


def against_ceilings(bench: Bench) -> list[Row]:
    """Thirty solves of the layered model, each under a ceiling of the mass, against the complete trade-off."""
    name = f"30 solves under ceilings / complete trade-off ({bench.label})"
    return times_as_long(name, bench.runs("under ceilings"), bench.runs("tradeoff"), target_of(bench, {"L": 300.0}))


def against_at_once(bench: Bench) -> list[Row]:
    """A family of four in one model against choose."""
    name = f"family of 4 in one model / choose ({bench.label})"
    return times_as_long(name, bench.runs("family at once"), bench.runs("family of 4"), target_of(bench, {"M": 50.0}))


def families(bench: Bench) -> list[Row]:
    """Seconds of a proven choice for families that share parts."""
    rows = []
    for count, targets in ((4, {"L": 60.0}), (12, {"M": 30.0})):
        runs = bench.runs(f"family of {count}")
        capped, target = any(run["capped"] for run in runs), target_of(bench, targets)
        found = row(f"family of {count} ({bench.label})", known(runs, "seconds"), "s", target=target, capped=capped)
        proven = all(run["capped"] or run["proven"] for run in runs)
        rows.append(found if proven else Row(**{**asdict(found), "met": False}))
    return rows


def growth(bench: Bench) -> list[Row]:
    """Seconds at XL over seconds at M."""
    if not bench.growth:
        return []
    sizes = [Bench(size, bench.seed, hard=bench.hard).runs("choose") for size in ("M", "XL")]
    small, large = (statistics.median(known(runs, "seconds")) for runs in sizes)
    capped = any(run["capped"] for runs in sizes for run in runs)
    found = row(
        "growth of choose from M to XL", [large / small], "1", target=None if bench.hard else 50.0, capped=capped
    )
    return [Row(**{**asdict(found), "n": SEEDS, "met": found.met and not capped})]


#: What is measured, in the order in which it is printed.
ROWS: tuple[Callable[[Bench], list[Row]], ...] = (
    seconds_to_choose,
    memory,
    hand_over,
    both_solvers,
    seconds_to_rechoose,
    complete_tradeoff,
    against_layered,
    against_ceilings,
    families,
    against_at_once,
    growth,
)


def quick_rows(seed: int) -> list[Row]:
    """Whether the optimum is that of enumeration on parts of size S."""
    from exact import agrees, small_cases

    agreed = [agrees(case) for case in small_cases(range(seed, seed + QUICK_SEEDS))]
    good, count = sum(agreed), len(agreed)
    return [
        Row(
            "optimum, ties and count equal enumeration", float(good), float(count), "cases", count, good == count, False
        )
    ]


def measured(size: str, seed: int, *, quick: bool, hard: bool, growth_too: bool) -> dict[str, Any]:
    """All rows of a size."""
    if quick:
        rows = quick_rows(seed)
    else:
        bench = Bench(size, seed, hard=hard, growth=growth_too)
        rows = [found for measure in ROWS for found in measure(bench)]
    return {"size": size, "rows": [asdict(found) for found in rows]}


def table(result: dict[str, Any]) -> str:
    """The result for people."""
    lines = [f"{'figure':<62}{'median':>12}{'target':>10}  {'unit':<7}{'n':>3}  met"]
    for found in result["rows"]:
        value = "-" if found["value"] is None else f"{found['value']:.4g}"
        target = "-" if found["target"] is None else f"{found['target']:.4g}"
        met = ("yes" if found["met"] else "no") + (" (ended early)" if found["capped"] else "")
        lines.append(f"{found['name']:<62}{value:>12}{target:>10}  {found['unit']:<7}{found['n']:>3}  {met}")
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure the choice on generated catalogs.")
    parser.add_argument("--size", choices=SIZES, default="M", help="number of parts (default M)")
    parser.add_argument(
        "--quick", action="store_true", help="only whether choose agrees with enumeration, on parts of S"
    )
    parser.add_argument(
        "--hard", action="store_true", help="limits on every terrain, brake heat and lift-off near binding"
    )
    parser.add_argument("--growth", action="store_true", help="compare M with XL as well; always so at size XL")
    parser.add_argument("--seed", type=int, default=1, help=f"first of the {SEEDS} seeds (default 1)")
    parser.add_argument("--format", choices=("text", "json"), default="text")
    options = parser.parse_args(arguments)
    if options.seed < 0:
        parser.error("--seed must be at least 0")
    grows = options.growth or options.size == "XL"
    result = measured(options.size, options.seed, quick=options.quick, hard=options.hard, growth_too=grows)
    print(json.dumps(result) if options.format == "json" else table(result))


if __name__ == "__main__":
    main()
