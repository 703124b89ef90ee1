"""The table of models in DEVELOPERS.md is complete, and its numbers are those of the published checks."""

from __future__ import annotations

import importlib.util
import math
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from configopt.appraisal.models import MODELS

ROOT = Path(__file__).parents[1]
PUBLISHED = ROOT / "tests" / "published"
PERCENT = re.compile(r"; ([\d.e-]+) % \|")


def loaded(name: str) -> ModuleType:
    """A module of the published tests, which are no package."""
    spec = importlib.util.spec_from_file_location(f"published_{name}", PUBLISHED / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


table = loaded("model_table")
DOCUMENT = table.DEVELOPERS.read_text(encoding="utf-8")
PRINTED = DOCUMENT[DOCUMENT.index(table.BEGIN) + len(table.BEGIN) + 1 : DOCUMENT.index(table.END)]


@pytest.fixture(scope="module")
def found() -> dict[str, Any]:
    return table.measured()


def test_every_model_stands_in_one_row() -> None:
    assert Counter(key for row in table.ROWS for key in row.models) == Counter(list(MODELS))


def test_every_published_test_stands_in_one_row_and_every_row_finds_what_it_names(found: dict[str, Any]) -> None:
    for stem, file in found.items():
        for name in file["tests"]:
            assert [row.quantity for row in table.ROWS if row.holds(stem, name)] != [], (stem, name)
            assert sum(row.holds(stem, name) for row in table.ROWS) == 1, (stem, name)
    for row in table.ROWS:
        for check in row.checks:
            stem, _, parts = check.partition("::")
            for part in parts.split("|"):
                assert any(part in name for name in found[f"test_{stem}"]["tests"]), (check, part)


def test_the_printed_section_is_what_the_published_checks_give(found: dict[str, Any]) -> None:
    """Percentages to a tenth of themselves: their last digit may differ between machines."""
    ours = table.section(found)
    again = "rewrite it: python -m tests.published.model_table"
    assert PERCENT.sub("; % |", PRINTED) == PERCENT.sub("; % |", ours), again
    for printed, own in zip(PERCENT.findall(PRINTED), PERCENT.findall(ours), strict=True):
        assert float(printed) == pytest.approx(float(own), rel=0.1), again


def test_the_counts_are_those_that_pytest_collects(found: dict[str, Any]) -> None:
    options = ["--collect-only", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
    run = subprocess.run(
        [sys.executable, "-m", "pytest", str(PUBLISHED), *options], cwd=ROOT, capture_output=True, text=True, check=True
    )
    collected = Counter(re.findall(r"^tests/published/(\w+)\.py::", run.stdout, re.MULTILINE))
    assert {stem: file["checks"] for stem, file in found.items()} == collected
    rows = [line.split(" | ") for line in PRINTED.splitlines() if line.startswith("| ")][2:]
    counts = [re.match(r"(\d+)", row[4]) for row in rows]
    assert sum(int(count[1]) for count in counts if count) == sum(collected.values())


def test_there_are_enough_checks_from_enough_sources_even_without_those_from_memory(found: dict[str, Any]) -> None:
    firm = {stem: file["checks"] - file["from_memory"] for stem, file in found.items()}
    assert sum(firm.values()) >= 150
    assert sum(count > 0 for count in firm.values()) >= 25


def test_a_deviation_is_the_one_between_the_program_and_the_print(found: dict[str, Any]) -> None:
    """A drum of the tire's own radius: the square root of 2, printed as 1.414."""
    largest = found["test_clark_drum"]["largest_deviation_percent"]
    assert largest == pytest.approx(100.0 * (math.sqrt(2.0) / 1.414 - 1.0), rel=1e-9)
    assert found["test_carvill"]["largest_deviation_percent"] == 0.0
    assert found["test_berto"]["largest_deviation_percent"] is None


def test_checks_from_memory_are_counted_where_id_test_or_file_says_so(found: dict[str, Any]) -> None:
    counts = {stem: (file["from_memory"], file["checks"]) for stem, file in found.items()}
    assert counts["test_asae_d497"][0] == 6
    assert counts["test_un_r75"][0] == 10 + 1 + 7
    assert counts["test_limpert"][0] == counts["test_limpert"][1]
    assert counts["test_ford_2018"][0] == 0
