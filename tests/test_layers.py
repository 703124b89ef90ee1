"""Who may import whom: the rooms of the package, in the order in which data flows through them."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "configopt"
#: A room imports only rooms that stand before it.
ROOMS = (
    "errors",
    "quantities",
    "sizes",
    "references",
    "files",
    "catalog",
    "scenario",
    "physics",
    "fit",
    "appraisal",
    "choice",
    "decisions",
    "reasons",
    "sweep",
    "learning",
    "tracks",
    "exchange",
    "guard",
    "sheet",
    "schemas",
    "desk",
    "cli",
)
#: Rooms that import less than all before them.
ONLY = {
    "errors": set(),
    "quantities": {"errors"},
    "sizes": {"errors", "quantities"},
    "references": {"errors"},
    "physics": {"errors"},
}
#: Rooms that nobody imports, but for the command line, which starts the page.
LAST = {"cli", "desk"}
MODULES = sorted(PACKAGE.rglob("*.py"))


def room(path: Path) -> str:
    """Room of a module; the package's own ``__init__`` has none."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[tuple[str, int]]:
    """Absolute names of everything a module imports anywhere, with the level of relative ones."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from ((alias.name, 0) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = f"{node.module}." if node.module else ""
            yield from ((base + alias.name, node.level) for alias in node.names)


def names(path: Path) -> set[str]:
    return {name for name, _ in imports(path)}


def identifier(path: Path) -> str:
    return str(path.relative_to(PACKAGE))


def test_every_room_is_known() -> None:
    assert {room(path) for path in MODULES} - {"__init__", "__main__"} <= set(ROOMS)


@pytest.mark.parametrize("path", MODULES, ids=identifier)
def test_imports_are_absolute(path: Path) -> None:
    assert [name for name, level in imports(path) if level] == []


@pytest.mark.parametrize("path", [path for path in MODULES if room(path) in ROOMS], ids=identifier)
def test_a_module_imports_only_rooms_before_its_own(path: Path) -> None:
    own = room(path)
    used = {name.split(".")[1] for name in names(path) if name.startswith("configopt.")} - {own}
    allowed = ONLY.get(own, set(ROOMS[: ROOMS.index(own)]) - (LAST if own != "cli" else set()))
    assert used <= allowed


@pytest.mark.parametrize("path", MODULES, ids=identifier)
def test_the_solver_stays_in_the_model_and_solve(path: Path) -> None:
    inside = path.is_relative_to(PACKAGE / "choice" / "model") or path == PACKAGE / "choice" / "solve.py"
    roots = {name.split(".")[0] for name in names(path)}
    assert inside or not roots & {"pyomo", "highspy"}


@pytest.mark.parametrize("path", MODULES, ids=identifier)
def test_arrays_begin_with_physics(path: Path) -> None:
    before = room(path) in ROOMS[: ROOMS.index("physics")] or room(path) in ("__init__", "cli")
    assert not (before and "numpy" in {name.split(".")[0] for name in names(path)})


@pytest.mark.parametrize("path", [path for path in MODULES if room(path) == "physics"], ids=identifier)
def test_physics_knows_neither_records_nor_files(path: Path) -> None:
    assert not {name.split(".")[0] for name in names(path)} & {"pydantic", "yaml", "pyomo", "pathlib"}
