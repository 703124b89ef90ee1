"""The benchmark of the footings runs, and no piece of physics loops over rows."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

PROGRAM = Path(__file__).with_name("footings.py")
#: Ratio of the pieces to the plain workload: about 5 where it was written, thousands with a loop over rows.
GENEROUS = 40.0


def printed(*arguments: str) -> str:
    run = subprocess.run([sys.executable, PROGRAM, *arguments], capture_output=True, text=True, check=True, timeout=120)
    assert run.stderr == ""
    return run.stdout


@pytest.fixture(scope="module")
def result() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(printed("--rows", "10000", "--format", "json"))
    return found


@pytest.mark.slow
def test_ten_thousand_footings_on_five_terrains_cost_a_few_plain_workloads(result: dict[str, Any]) -> None:
    assert result["rows"] == 10_000
    assert len(result["terrains"]) == 5
    assert 0.0 < result["ratio"] < GENEROUS


@pytest.mark.slow
def test_the_figures_of_the_benchmark_belong_together(result: dict[str, Any]) -> None:
    assert result["seconds"] == pytest.approx(sum(result["terrains"].values()), rel=1e-12)
    assert result["footings_per_second"] * result["seconds"] == pytest.approx(10_000, rel=1e-12)
    assert result["ratio"] * result["plain_workload_seconds"] == pytest.approx(result["seconds"], rel=1e-12)


def test_the_table_has_a_line_for_each_terrain_and_for_all() -> None:
    lines = printed("--rows", "100").splitlines()
    assert lines[0].split() == ["terrain", "rows", "seconds", "footings/s"]
    assert len(lines) == 8
    assert lines[6].split()[:2] == ["all", "100"]
