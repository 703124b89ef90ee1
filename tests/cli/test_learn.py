"""``configopt learn`` as its users meet it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from click.testing import Result

from configopt.schemas import schema

Run = Callable[..., Result]
ROOT = Path(__file__).parents[2]
LOGS = sorted((ROOT / "scenarios" / "logs").glob("*.csv"))
SCENARIO = ROOT / "scenarios" / "upland-wardens.yaml"


def test_figures_alone_are_told_as_text_and_json_and_written_as_corrections(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "corrections.yaml"
    result = run("learn", SCENARIO, *LOGS, "--figures-only", "-o", target)
    assert result.exit_code == 0
    assert "Readings beside the model" in result.stdout
    assert "carcass pressure of" in result.stdout
    assert "Cautions" in result.stdout
    assert target.read_text(encoding="utf-8").count("family:") >= 5
    as_json = run("learn", SCENARIO, *LOGS, "--figures-only", "--format", "json")
    payload = json.loads(as_json.stdout)
    jsonschema.Draft202012Validator(schema("learning")).validate(payload)
    written = payload["lesson"]["corrections"]
    assert target.read_text(encoding="utf-8").count("family:") == len(written)


def test_a_scenario_that_names_the_corrections_computes_with_them(run: Run, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "catalogs", tmp_path / "catalogs")
    folder = tmp_path / "scenarios"
    folder.mkdir()
    text = SCENARIO.read_text(encoding="utf-8").replace("trials: trials/upland-rides.csv\n", "")
    (folder / "plain.yaml").write_text(text, encoding="utf-8")
    (folder / "corrected.yaml").write_text(
        text.replace("catalogs: ../catalogs\n", "catalogs: ../catalogs\ncorrections: corrections.yaml\n"),
        encoding="utf-8",
    )
    assert (
        run("learn", folder / "plain.yaml", *LOGS, "--figures-only", "-o", folder / "corrections.yaml").exit_code == 0
    )
    baseline = tmp_path / "baseline.yaml"
    vehicle = text[text.index("    baseline:\n") :].replace("    baseline:\n", "").replace("\n      ", "\n    ")
    baseline.write_text("vehicles:\n  - name: warden-two-wheeler\n    " + vehicle.strip() + "\n", encoding="utf-8")
    losses = []
    for name in ("plain", "corrected"):
        result = run("appraise", folder / f"{name}.yaml", baseline, "--format", "json")
        assert result.exit_code == 0, result.output
        losses.append(json.loads(result.stdout)["vehicles"][0]["rolling_loss_wh_per_km"])
    assert losses[0] != losses[1]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--figures-only",), "--figures-only needs at least one log"),
        (("-o", "x.yaml"), "name at least one log"),
        ((LOGS[0], "-o", "x.csv"), "corrections are YAML"),
        ((LOGS[0], "--vehicle", "nobody"), "no vehicle"),
    ],
)
def test_a_request_that_makes_no_sense_is_wrong_usage(run: Run, arguments: tuple[object, ...], words: str) -> None:
    result = run("learn", SCENARIO, *arguments)
    assert result.exit_code == 2
    assert words in result.stderr


def test_a_bad_log_is_told_with_its_place_and_ends_with_one(run: Run, tmp_path: Path) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text("# kind: climb\n# when: 2026-05-01\n# surface: rock-steps\ngrade (%),held\n30,yes\nx,maybe\n")
    target = tmp_path / "c.yaml"
    result = run("learn", SCENARIO, bad, "-o", target)
    assert result.exit_code == 1
    assert f"{bad}:6:1: LOG-NUMBER" in result.output or "bad.csv:6:1: LOG-NUMBER" in result.output
    assert "bad.csv:6:3: LOG-CELL" in result.output
    assert not target.exists()


@pytest.mark.slow
def test_the_choice_is_made_again_and_the_next_test_is_told(run: Run) -> None:
    result = run("learn", SCENARIO, *LOGS, "--format", "json")
    assert result.exit_code == 0
    payload = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema("learning")).validate(payload)
    assert payload["choice_again"]["after"]["status"] == "optimal"
    assert payload["next_tests"]["tests"]
    text = run("learn", SCENARIO, *LOGS, "--quiet")
    assert "made again" in text.stdout
    assert "Which test next" in text.stdout
