"""A small project with a recorded decision, made once and copied for every test."""

from __future__ import annotations

import re
import shutil
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from configopt.cli import main

# The small project is the one of the sweeps.
sys.path.insert(0, str(Path(__file__).parents[1] / "sweep"))
sys.path.insert(0, str(Path(__file__).parent))
from small_project import small_project

DECISION = "scenarios/upland-wardens.decision.yaml"
ACCEPTED = ("--by", "Ines Marram", "--on", "2026-03-02", "--why", "spring order")


def changeable_project(folder: Path) -> Path:
    """A small project in which a change of a figure can change the choice."""
    small_project(folder)
    (folder / "scenarios" / "upland-wardens.variants.yaml").unlink()
    tires, scenario = folder / "catalogs" / "tires.yaml", folder / "scenarios" / "upland-wardens.yaml"
    text = re.sub(r"pressure_min: .*", "pressure_min: 195 kPa", tires.read_text())
    tires.write_text(re.sub(r"pressure_max: .*", "pressure_max: 225 kPa", text))
    text = scenario.read_text()
    for old, new in (("0.90", "0.80"), ("0.12", "0.08"), ("41 km", "38 km")):
        text = text.replace(f"at_least: {old}", f"at_least: {new}")
    scenario.write_text(text.replace("at_most: 940", "at_most: 1100").replace("at_most: 85 kPa", "at_most: 150 kPa"))
    for path in sorted((folder / "catalogs").glob("*.yaml")):
        path.write_text(re.sub(r"    waivers:\n(?:      .*\n)+", "", path.read_text()))
    return folder


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
