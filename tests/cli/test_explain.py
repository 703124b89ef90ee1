"""The reasons from the command line: real searches on a small catalog, in words that everybody knows."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import Result

from configopt.schemas import schema

Run = Callable[..., Result]
SCENARIO = "scenarios/upland-wardens.yaml"
#: Words of optimisation that nobody who rides has to know.
JARGON = re.compile(
    r"\b(dual|slack|binary|binaries|infeasib\w*|feasib\w*|objective|lagrang\w*|relaxation|solver)\b", re.I
)


def explained(run: Run, folder: Path, *options: str) -> dict[str, Any]:
    """JSON of an explanation, sound by its schema."""
    result = run("explain", SCENARIO, *options, "--format", "json", "-o", "why.json", "-q")
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads((folder / "why.json").read_text())
    jsonschema.validate(found, schema("explanation"))
    return found


def require_readable(text: str) -> str:
    """The text as words, after what holds for every page."""
    assert max(map(len, text.splitlines())) <= 80
    assert not JARGON.search(text)
    assert "None" not in text
    return " ".join(text.split())


def test_the_choice_is_explained_as_choose_chooses_it(run: Run, small: Path) -> None:
    found = explained(run, small)
    chosen = json.loads(run("choose", SCENARIO, "--format", "json").stdout)
    assert found["status"] == "optimal"
    assert found["choice"]["aim"] == pytest.approx(chosen["aim"]["value"], rel=1e-9)
    for package in chosen["vehicles"][0]["packages"]:
        mine = found["choice"]["choice"][package["position"]]
        assert {key: mine[key] for key in ("tire", "rim", "hub", "rotor")} == {
            key: package[key] for key in ("tire", "rim", "hub", "rotor")
        }
    assert found["losing"]
    assert found["runners_up"]
    assert found["flips"] is not None
    assert not found["not_reached"]
    words = require_readable(run("explain", SCENARIO, "-q").stdout)
    assert words.startswith("upland-wardens: why this choice front: ")
    assert "Limits that keep the choice from being better" in words
    assert "Choices that differ in one part" in words
    assert "If a part could not be had" in words


def test_a_part_in_the_choice_says_what_would_drive_it_out(run: Run, small: Path) -> None:
    chosen = json.loads(run("choose", SCENARIO, "--format", "json").stdout)
    tire = chosen["vehicles"][0]["packages"][0]["tire"]
    found = explained(run, small, "--part", tire)["part"]
    assert found["verdict"] == "chosen"
    assert {turn["figure"] for turn in found["turns"]} == {"price", "mass", "rolling_coefficient", "grip"}
    words = require_readable(run("explain", SCENARIO, "--part", tire, "-q").stdout)
    assert f"{tire}: it is in the best choice" in words


def test_a_part_that_fits_nowhere_says_why(run: Run, small: Path) -> None:
    path = small / "catalogs" / "hubs.yaml"
    hubs = yaml.safe_load(path.read_text())["parts"]
    axle = next(hub for hub in hubs if hub["axle_diameter"] == "20 mm")
    path.write_text(
        path.read_text()
        + yaml.safe_dump([{**axle, "id": "far-too-thick", "axle_diameter": "33 mm"}], sort_keys=False)
        .replace("- id", "  - id")
        .replace("\n  ", "\n    ")
    )
    found = explained(run, small, "--part", "far-too-thick")["part"]
    assert found["verdict"] == "does not fit"
    assert any("axle 33 mm" in place["reason"] for place in found["places"])
    assert all(place["reason"] for place in found["places"])


def test_an_unknown_part_is_named_with_the_nearest(run: Run, small: Path) -> None:
    result = run("explain", SCENARIO, "--part", "heron-moor-80-100-22")
    assert result.exit_code == 2
    assert "heron-moor-80-100-21" in result.stderr


def test_where_nothing_meets_the_limits_it_says_what_has_to_give_way(run: Run, small: Path) -> None:
    scenario = small / SCENARIO
    scenario.write_text(scenario.read_text().replace("at_most: 940", "at_most: 60"))
    found = explained(run, small)
    assert found["status"] == "infeasible"
    assert found["gives_way"]
    assert [limit["limit"] for limit in found["gives_way"][0]["limits"]] == ["cost"]
    assert found["removed"]
    words = require_readable(run("explain", SCENARIO, "-q").stdout)
    assert "What has to give way at least 1 limit" in words
    assert "instead of 60 EUR" in words


def test_todays_packages_are_set_beside_the_best(run: Run, small: Path) -> None:
    run("choose", SCENARIO, "--format", "json", "-o", "best.json", "-q")
    found = explained(run, small, "--packages", "best.json")["packages"]
    assert found["beside_best"]["loss"] == pytest.approx(0.0, abs=1e-9)
    assert not found["unmet"]
    words = require_readable(run("explain", SCENARIO, "--packages", "best.json", "-q").stdout)
    assert "they fit, and meet every limit" in words


def test_stopped_at_once_nothing_is_claimed(run: Run, small: Path) -> None:
    result = run("explain", SCENARIO, "--time-limit", "0.001", "-q")
    assert result.exit_code == 4
    assert "nothing can be explained" in " ".join(result.stdout.split())


def test_vehicles_chosen_together_are_explained_one_by_one(run: Run, project: Path) -> None:
    family = Path(__file__).parents[2] / "scenarios" / "wardens-family.yaml"
    (project / "scenarios" / "wardens-family.yaml").write_text(family.read_text())
    result = run("explain", "scenarios/wardens-family.yaml")
    assert result.exit_code == 2
    assert "--vehicle" in result.stderr
