"""A small project with a recorded decision, made once and copied for every test."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from configopt.cli import main

# The small project is the one of the sweeps.
sys.path.insert(0, str(Path(__file__).parents[1] / "sweep"))
sys.path.insert(0, str(Path(__file__).parent))
from decision_project import ACCEPTED, DECISION, changeable_project


@pytest.fixture
def no_catalog_rules(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave out the rules that look at a catalog as a whole: among so few parts they find much."""
    monkeypatch.setattr("configopt.guard.checking.CATALOG_CHECKS", ())


@pytest.fixture(scope="session")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small project whose best choice is recorded; not to be changed."""
    folder = changeable_project(tmp_path_factory.mktemp("recorded"))
    arguments = ["choose", str(folder / "scenarios" / "upland-wardens.yaml"), "-q", *ACCEPTED]
    result = CliRunner().invoke(main, [*arguments, "--record", str(folder / DECISION)], catch_exceptions=False)
    assert result.exit_code == 0
    return folder


@pytest.fixture
def project(recorded: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it as the working folder, safe to change."""
    folder = tmp_path / "project"
    shutil.copytree(recorded, folder)
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("GITHUB_ACTIONS", raising=False)
    return folder
