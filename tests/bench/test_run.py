"""The benchmark runs: its quick part proves exactness, and its rows have the agreed form."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from run import ROWS, SIZES, Bench, both_solvers, quick_rows, row, table

PROGRAM = Path(__file__).with_name("run.py")
KEYS = {"name", "value", "target", "unit", "n", "met", "capped"}


def test_the_quick_run_agrees_with_enumeration_on_its_first_cases(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("run.QUICK_SEEDS", 1)
    (only,) = quick_rows(1)
    assert only.value == only.target == only.n > 0
    assert only.met


@pytest.mark.slow
def test_the_quick_run_agrees_with_enumeration() -> None:
    command = [sys.executable, str(PROGRAM), "--size", "S", "--quick", "--format", "json"]
    run = subprocess.run(command, capture_output=True, text=True, check=True, timeout=300)
    result: dict[str, Any] = json.loads(run.stdout)
    assert result["size"] == "S"
    (only,) = result["rows"]
    assert set(only) == KEYS
    assert only["value"] == only["target"] == only["n"] > 0
    assert only["met"] is True
    assert run.stderr == ""


def bench_of(*runs: dict[str, Any], size: str = "L") -> Bench:
    """A benchmark whose every task came to these runs."""
    bench = Bench(size, 1)
    bench.runs = lambda task: list(runs)  # type: ignore[method-assign]
    return bench


def test_rows_are_medians_against_their_targets() -> None:
    run = {"capped": False, "bytes": 2**28, "proven": True, "build_share": 0.1, "columns": 40, "direct": 1.0}
    run |= {"by_scip": 3.0, "by_highs": 1.5, "values": (7.0, 7.0)}
    runs = [{**run, "seconds": seconds, "through_pyomo": 12.0} for seconds in (4.0, 3.0, 9.0)]
    rows = {found.name: found for measure in ROWS for found in measure(bench_of(*runs))}
    seconds = rows["choose, one vehicle, proven (L)"]
    assert (seconds.value, seconds.target, seconds.n, seconds.met, seconds.capped) == (4.0, 5.0, 3, True, False)
    assert rows["peak memory of choose (L)"].value == 256.0
    assert rows["Pyomo build and hand-over / ready arrays (L)"].value == 12.0
    assert rows["Pyomo build / whole choose (L)"].met
    assert rows["SCIP / HiGHS on that model (L)"].value == 2.0
    assert (rows["30 solves under ceilings / complete trade-off (L)"].value, seconds.n) == (1.0, 3)
    assert not rows["30 solves under ceilings / complete trade-off (L)"].met


def test_solvers_that_disagree_end_the_benchmark() -> None:
    run = {"capped": False, "columns": 40, "by_scip": 3.0, "by_highs": 1.5, "values": (7.0, 7.1)}
    with pytest.raises(RuntimeError, match="SCIP finds 7 and HiGHS"):
        both_solvers(bench_of(run))


def test_a_run_that_was_ended_counts_as_a_minute_and_misses_its_target() -> None:
    ended = {"capped": True, "seconds": 60.0}
    rows = [found for measure in ROWS for found in measure(bench_of(ended, ended, ended))]
    assert rows[0].value == 60.0
    assert all(found.capped and not found.met for found in rows)
    assert rows[1].value is None


def test_an_answer_without_proof_misses_the_target() -> None:
    run = {"capped": False, "seconds": 1.0, "bytes": 1, "proven": False, "build_share": 0.0, "columns": 0}
    (found,) = ROWS[0](bench_of(run))
    assert not found.met


@pytest.mark.parametrize("size", SIZES)
def test_every_size_has_a_label(size: str) -> None:
    assert Bench(size, 1, hard=True).label == f"{size}, hard"


def test_the_table_has_a_line_for_each_row() -> None:
    found = row("seconds", [1.0, 2.0, 3.0], "s", target=1.0)
    lines = table({"size": "S", "rows": [found.__dict__]}).splitlines()
    assert len(lines) == 2
    assert lines[1].split() == ["seconds", "2", "1", "s", "3", "no"]
