"""The files of an earlier revision: read from the repository alone, whatever a stranger put beside it."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from decision_project import DECISION
from edits import set_key

from configopt.cli import main


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)


def git(folder: Path, *arguments: str) -> None:
    who = ("-c", "user.name=x", "-c", "user.email=x@example.org", "-c", "init.defaultBranch=main")
    subprocess.run(["git", *who, *arguments], check=True, capture_output=True, cwd=folder)


@pytest.fixture
def repository(project: Path) -> Path:
    """The project as a repository with one commit."""
    (project / DECISION).unlink()
    git(project, "init", "-q")
    git(project, "add", "-A")
    git(project, "commit", "-q", "-m", "begin")
    return project


def broken(project: Path) -> int:
    """A mistake in the tires; its line."""
    first = (project / "catalogs" / "tires.yaml").read_text().split("  - id: ")[1].split("\n")[0]
    return set_key(project / "catalogs" / "tires.yaml", first, "lug_depth", "deep")


def test_files_that_look_like_a_repository_start_nothing_and_hide_nothing(
    repository: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inner = repository / "inner"
    inner.mkdir()
    for name in ("catalogs", "scenarios"):
        (repository / name).rename(inner / name)
    for folder in ("objects", "refs/heads"):
        (inner / folder).mkdir(parents=True)
    (inner / "HEAD").write_text("ref: refs/heads/main\n")
    (inner / "refs" / "heads" / "main").write_text("1" * 40 + "\n")
    trap = repository / "started"
    (inner / "config").write_text(
        "[core]\n\trepositoryformatversion = 1\n\tbare = true\n[extensions]\n\tpartialClone = x\n"
        f'[remote "x"]\n\tpromisor = true\n\turl = {repository}\n\tuploadpack = "touch {trap}; false"\n'
    )
    monkeypatch.chdir(inner)
    result = run("check", "--skip-decisions", "--since", "main")
    assert not trap.exists()
    assert result.exit_code == 2
    assert "--since needs a git repository" in result.stderr


def test_from_a_folder_below_the_top_only_the_change_is_reported(
    repository: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = broken(repository)
    git(repository, "commit", "-q", "-a", "-m", "a mistake")
    monkeypatch.chdir(repository / "scenarios")
    assert run("check", ".", "--since", "HEAD", "--skip-decisions").exit_code == 0
    found = run("check", ".", "--since", "HEAD~1", "--skip-decisions").stdout
    assert f"tires.yaml:{first}:" in found
    (repository.parent / "outer").mkdir()
    (repository.parent / "outer" / "tires.yaml").write_text("family: tires\n")
    outside = run("check", "--since", "HEAD", "../../outer")
    assert (outside.exit_code, "lies in the repository" in outside.stderr) == (2, True)


def test_links_are_followed_at_both_ends_and_circles_are_a_finding(repository: Path) -> None:
    (repository / "catalogs").rename(repository / "parts")
    (repository / "catalogs").symlink_to("parts")
    git(repository, "add", "-A")
    git(repository, "commit", "-q", "-m", "a link")
    assert run("check", "--since", "HEAD", "--skip-decisions").exit_code == 0
    (repository / "scenarios" / "circle.yaml").symlink_to("circle.yaml")
    result = run("check", "--since", "HEAD", "--skip-decisions")
    assert (result.exit_code, "PATH error" in result.stdout) == (1, True)


def test_a_history_that_does_not_reach_back_is_told(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git(repository, "checkout", "-q", "-b", "change")
    (repository / "note.txt").write_text("x")
    git(repository, "add", "-A")
    git(repository, "commit", "-q", "-m", "change")
    git(repository, "checkout", "-q", "main")
    broken(repository)
    git(repository, "commit", "-q", "-a", "-m", "main goes on")
    git(repository, "checkout", "-q", "change")
    shallow = repository.parent / "shallow"
    git(repository.parent, "clone", "-q", "--depth", "1", "--no-single-branch", f"file://{repository}", str(shallow))
    monkeypatch.chdir(shallow)
    result = run("check", "--since", "origin/main", "--skip-decisions")
    assert (result.exit_code, "fetch more of it" in result.stderr) == (2, True)
    git(shallow, "fetch", "-q", "--unshallow")
    assert run("check", "--since", "origin/main", "--skip-decisions").exit_code == 0
