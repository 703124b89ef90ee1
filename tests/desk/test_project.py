"""Files that change while they are read: what is shown is never older than the stamp it bears."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from served import NAME, VEHICLE, served, words
from small_project import small_project

from configopt.desk.errands import Errand, carried_out
from configopt.desk.project import Project, title_in
from configopt.desk.state import State
from configopt.errors import UsageError
from configopt.files.yaml_source import load_yaml
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


def test_corrections_over_the_catalogs_are_read_again_when_they_change(tmp_path: Path) -> None:
    project = Project(small_project(tmp_path))
    path = tmp_path / "scenarios" / f"{NAME}.yaml"
    rename(path, "catalogs: ../catalogs\n", "catalogs: ../catalogs\ncorrections: ../learned.yaml\n")
    learned = tmp_path / "learned.yaml"
    learned.write_text("day: 2026-01-02\ncorrections: []\n")
    opened = project.open(NAME)
    assert opened is not None
    assert project.open(NAME) is opened
    assert project.stamp(NAME) == opened.stamp
    learned.write_text(
        "day: 2026-01-02\ncorrections:\n  - family: tires\n    part: heron-moor-80-100-21\n    figure: mass\n"
        "    value: 3500 g +- 10 g\n"
    )
    assert project.stamp(NAME) != opened.stamp
    again = project.open(NAME)
    assert again is not None
    assert float(again.parts["heron-moor-80-100-21"].mass) == 3.5


def test_a_file_whose_name_is_no_text_is_passed_over(tmp_path: Path) -> None:
    folder = small_project(tmp_path)
    project = Project(folder)
    before, title = project.listed(), dict(project.titles())[NAME]
    text = (folder / "scenarios" / f"{NAME}.yaml").read_bytes()
    for name in (b"\xff.yaml", b"\xff.decision.yaml"):
        Path(os.fsdecode(os.fsencode(folder / "scenarios") + b"/" + name)).write_bytes(text)
    (folder / "scenarios" / "ä ?#%2f.yaml").write_bytes(text)
    with served(folder) as page:
        listed = page.get("/")
        assert listed.status == 200
        links = [one for one in listed.tree.iter("a") if (one.get("href") or "").startswith("/s/")]
        assert len(links) == len(before) + 1
        assert all(words(one) == title for one in links)
        for link in links:
            assert page.settled(str(link.get("href"))).status == 200
        assert page.errors == []


@pytest.mark.parametrize("line", ["", "title: [a]", "title: >-\n  folded", "title: 'open", " title: inside", "title:"])
def test_a_title_that_is_on_no_line_of_its_own_is_none(line: str) -> None:
    assert title_in(f"# {TIRE}\n{line}\ncurrency: EUR\n") == ""


def test_a_title_is_read_again_when_its_file_changes(tmp_path: Path) -> None:
    project = Project(small_project(tmp_path))
    path = tmp_path / "scenarios" / f"{NAME}.yaml"
    (first,) = [title for _, title in project.titles()]
    assert first == load_yaml(path).data["title"]
    rename(path, f"title: {first}", "title: Another")
    assert project.titles() == [(NAME, "Another")]
    path.unlink()
    assert project.titles() == []


def test_a_long_question_is_not_answered_from_other_files(tmp_path: Path) -> None:
    project = Project(small_project(tmp_path))
    opened = project.open(NAME)
    assert opened is not None
    path = opened.case.path
    errand = Errand("why", str(path), opened.stamp, State(VEHICLE), part="nobody")
    rename(tmp_path / "catalogs" / "tires.yaml", TIRE, "Bittern Moor")
    with pytest.raises(UsageError, match="changed meanwhile"):
        carried_out(errand, None, lambda _: None)
