"""Files that change while they are read: what is shown is never older than the stamp it bears."""

from __future__ import annotations

from pathlib import Path

import pytest
from served import NAME, VEHICLE
from small_project import small_project

from configopt.desk.errands import Errand, carried_out
from configopt.desk.project import Project
from configopt.desk.state import State
from configopt.errors import UsageError
from configopt.sweep.changing import Base

TIRE = "Heron Moor"


def rename(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def changing(monkeypatch: pytest.MonkeyPatch, changes: list[tuple[Path, str, str]]) -> list[str]:
    """Make the next readings end with a change of a file each; what was read is noted."""
    read: list[str] = []
    whole = Base.of

    def of(scenario: str | Path, variants_path: str) -> Base:
        found = whole(scenario, variants_path)
        read.append(found.case.scenario.title)
        if changes:
            rename(*changes.pop(0))
        return found

    monkeypatch.setattr(Base, "of", staticmethod(of))
    return read


def test_a_catalog_that_changes_while_it_is_read_is_read_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    project = Project(small_project(tmp_path))
    tires = tmp_path / "catalogs" / "tires.yaml"
    read = changing(monkeypatch, [(tires, TIRE, "Bittern Moor")])
    opened = project.open(NAME)
    assert opened is not None
    assert len(read) == 2
    assert "Bittern Moor" in {part.name[:12] for part in opened.parts.values()}
    assert project.open(NAME) is opened


def test_what_changes_at_every_reading_is_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    project = Project(small_project(tmp_path))
    tires = tmp_path / "catalogs" / "tires.yaml"
    changing(monkeypatch, [(tires, TIRE, "Bittern Moor"), (tires, "Bittern Moor", "Crake Moor")])
    first = project.open(NAME)
    then = project.open(NAME)
    assert first is not None
    assert then is not None
    assert then is not first
    assert "Crake Moor" in {part.name[:10] for part in then.parts.values()}


def test_a_long_question_is_not_answered_from_other_files(tmp_path: Path) -> None:
    project = Project(small_project(tmp_path))
    opened = project.open(NAME)
    assert opened is not None
    path = opened.case.path
    errand = Errand("why", str(path), opened.stamp, State(VEHICLE), part="nobody")
    rename(tmp_path / "catalogs" / "tires.yaml", TIRE, "Bittern Moor")
    with pytest.raises(UsageError, match="changed meanwhile"):
        carried_out(errand, None, lambda _: None)
