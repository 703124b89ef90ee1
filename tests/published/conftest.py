"""How well published values are reproduced: ``pytest tests/published --reproduction FILE`` writes it as JSON.

Per file and test: the number of checks, how many of them rest on memory, and the largest relative deviation between our
value and the printed one, wherever a test compares by ``pytest.approx``; 0 where it compares by ``==`` only, ``null``
where it compares signs or bounds.  No test passes or fails by this.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

# Authors' names from memory do not make the figures so.
_MEMORY = re.compile(r"(?<!authors )from[ _]memory", re.IGNORECASE)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--reproduction", metavar="FILE", help="write how well published values are reproduced")


def pytest_configure(config: pytest.Config) -> None:
    file = config.getoption("reproduction", default=None)
    if file is None:
        return
    if getattr(config.option, "dist", "no") != "no" or hasattr(config, "workerinput"):
        raise pytest.UsageError("--reproduction counts in one process: run it without -n")
    config.pluginmanager.register(Reproduction(Path(file)), "reproduction")


def deviation(actual: Any, expected: Any) -> float | None:
    """Largest relative deviation from what is expected; ``None`` where that is 0 or no number."""
    if isinstance(expected, dict):
        found = [deviation(actual[key], value) for key, value in expected.items()]
        return max((value for value in found if value is not None), default=None)
    try:
        ours, printed = np.broadcast_arrays(np.asarray(actual, dtype=float), np.asarray(expected, dtype=float))
    except (TypeError, ValueError):
        return None
    known = printed != 0.0
    return float(np.max(np.abs(ours - printed)[known] / np.abs(printed)[known])) if known.any() else None


def watched(approx: Callable[..., Any], found: list[float]) -> Callable[..., Any]:
    """``pytest.approx`` that also notes the deviation of each comparison."""

    @cache
    def noting(kind: type[Any]) -> type[Any]:
        def equal(self: Any, actual: Any) -> bool:
            value = deviation(actual, self.expected)
            if value is not None:
                found.append(value)
            return bool(kind.__eq__(self, actual))

        return type(kind.__name__, (kind,), {"__eq__": equal, "__hash__": None})

    def made(*args: Any, **named: Any) -> Any:
        value = approx(*args, **named)
        value.__class__ = noting(type(value))
        return value

    return made


@cache
def parsed(path: Path) -> tuple[str, dict[str, tuple[str, bool]]]:
    """Docstring of a test file; of each test, its text with the tables it uses and comments above, and if it has ==."""
    text = path.read_text(encoding="utf-8")
    tree, lines = ast.parse(text), text.splitlines()
    tests, tables, end = {}, {}, 0
    for node in tree.body:
        begin, end = end, node.end_lineno or node.lineno
        own = "\n".join(lines[begin:end])
        if isinstance(node, ast.Assign):
            tables.update({part.id: own for part in ast.walk(node) if isinstance(part, ast.Name)} | tables)
        if isinstance(node, ast.FunctionDef):
            used = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
            exact = any(isinstance(part, ast.Eq) for part in ast.walk(node))
            tests[node.name] = ("\n".join([own, *(tables[name] for name in sorted(used & tables.keys()))]), exact)
    return ast.get_docstring(tree) or "", tests


def memory_marks(items: list[pytest.Item]) -> set[str]:
    """Items that rest on memory: as their ids say, else the text of the test, else the docstring of the file.

    Where a docstring only says that something in the file is from memory and no test says what, all of it counts.
    """
    marked = set()
    for path in {item.path for item in items}:
        docstring, tests = parsed(path)
        here = {item.nodeid: item.name.partition("[")[0] for item in items if item.path == path}
        by_id = {one for one in here if _MEMORY.search(one)}
        said = {name for name, (text, _) in tests.items() if _MEMORY.search(text)} - {here[one] for one in by_id}
        found = by_id | {one for one, name in here.items() if name in said}
        marked |= found or ({*here} if _MEMORY.search(docstring) else set())
    return marked


class Reproduction:
    """Collects what one run compares and writes it at its end."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.found: dict[str, dict[str, dict[str, Any]]] = {}

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        items = [item for item in session.items if isinstance(item, pytest.Function)]
        memory = memory_marks(items)
        for item in items:
            name = item.name.partition("[")[0]
            empty = {"checks": 0, "from_memory": 0, "largest_deviation_percent": None}
            row = self.found.setdefault(item.path.stem, {}).setdefault(name, empty)
            row["checks"] += 1
            row["from_memory"] += item.nodeid in memory
            if parsed(item.path)[1][name][1]:
                row["largest_deviation_percent"] = 0.0

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        deviations: list[float] = []
        plain = pytest.approx
        pytest.approx = watched(plain, deviations)
        try:
            return (yield)
        finally:
            pytest.approx = plain
            row = self.found[item.path.stem][item.name.partition("[")[0]]
            if deviations:
                largest = row["largest_deviation_percent"] or 0.0
                row["largest_deviation_percent"] = max(largest, 100.0 * max(deviations))

    def pytest_sessionfinish(self) -> None:
        files = {}
        for stem, tests in self.found.items():
            known = [row["largest_deviation_percent"] for row in tests.values()]
            files[stem] = {
                "checks": sum(row["checks"] for row in tests.values()),
                "from_memory": sum(row["from_memory"] for row in tests.values()),
                "largest_deviation_percent": max((value for value in known if value is not None), default=None),
                "tests": tests,
            }
        self.file.write_text(json.dumps(files, indent=2) + "\n", encoding="utf-8")
