"""The reasons from the command line: real searches on a small catalog, in words that everybody knows."""

from __future__ import annotations

import json
import re
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import Result

from configopt.cli.layout import Page
from configopt.cli.text_reasons import _parts_of, write_explanation
from configopt.cli.text_reasons_more import _differing
from configopt.errors import UsageError
from configopt.reasons.explain import explain
from configopt.reasons.flipping import Flipping
from configopt.scenario.case import load
from configopt.schemas import schema

Run = Callable[..., Result]
SCENARIO = "scenarios/upland-wardens.yaml"
#: Words of optimisation that nobody who rides has to know.
JARGON = re.compile(
    r"\b(dual|slack|binary|binaries|infeasib\w*|feasib\w*|objective|lagrang\w*|relaxation|solver)\b", re.I
)


@pytest.fixture
def few(small: Path) -> Path:
    """The small project with tires at few pressures, so that what looks at every choice takes a moment."""
    tires = small / "catalogs" / "tires.yaml"
    narrow = re.sub(r"pressure_min: .*", "pressure_min: 150 kPa", tires.read_text())
    tires.write_text(re.sub(r"pressure_max: .*", "pressure_max: 185 kPa", narrow))
    return small


def explained(run: Run, folder: Path, *options: str) -> dict[str, Any]:
    """JSON of an explanation, sound by its schema."""
    result = run("explain", SCENARIO, *options, "--format", "json", "-o", "why.json", "-q")
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads((folder / "why.json").read_text())
    jsonschema.validate(found, schema("explanation"))
    return found


def parts_of(folder: Path, family: str) -> list[dict[str, Any]]:
    """The parts of a family as its catalog states them."""
    parts: list[dict[str, Any]] = yaml.safe_load((folder / "catalogs" / f"{family}.yaml").read_text())["parts"]
    return parts


def today_of(folder: Path) -> str:
    """A choice file with today's packages."""
    vehicle = yaml.safe_load((folder / SCENARIO).read_text())["vehicles"][0]
    return str(yaml.safe_dump({"vehicles": [{"name": vehicle["name"], **vehicle["baseline"]}]}, sort_keys=False))


def text_of(payload: dict[str, Any]) -> str:
    """The text of an explanation on a terminal of 80 columns."""
    sheet = Page(80)
    write_explanation(sheet, payload)
    return str(sheet)


def require_readable(text: str) -> str:
    """The text as words, after what holds for every page."""
    assert max(map(len, text.splitlines())) <= 80
    assert not JARGON.search(text)
    assert "None" not in text
    return " ".join(text.split())


@pytest.mark.parametrize("apart", [12, pytest.param(1, marks=pytest.mark.slow)])
def test_the_choice_is_explained_as_choose_chooses_it(
    run: Run, few: Path, monkeypatch: pytest.MonkeyPatch, apart: int
) -> None:
    # What could flip the choice is held against enumeration elsewhere; here few choices and one search will do, and
    # quickly one figure of a dozen.
    for name, value in (("WHOLE", 0), ("POOL", 200), ("SEARCHED", 1)):
        monkeypatch.setattr(f"configopt.reasons.flipping.{name}", value)
    figures = Flipping.figures
    monkeypatch.setattr(Flipping, "figures", lambda self: figures(self)[::apart])
    found = explained(run, few)
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
    words = require_readable(text_of(found))
    assert words.startswith("upland-wardens: why this choice front: ")
    assert "Limits that keep the choice from being better" in words
    assert "Choices that differ in one part" in words
    assert "If a part could not be had" in words


@pytest.mark.slow
def test_a_part_in_the_choice_says_what_would_drive_it_out(run: Run, few: Path) -> None:
    chosen = json.loads(run("choose", SCENARIO, "--format", "json").stdout)
    tire = chosen["vehicles"][0]["packages"][0]["tire"]
    payload = explained(run, few, "--part", tire)
    found = payload["part"]
    assert found["verdict"] == "chosen"
    assert {turn["figure"] for turn in found["turns"]} == {"price", "mass", "rolling_coefficient", "grip"}
    words = require_readable(text_of(payload))
    assert f"{tire}: it is in the best choice" in words
    more = [turn for turn in found["turns"] if turn["turns_at"] is not None and turn["direction"] == "more than"]
    told = [float(figure) for figure in re.findall(r"more than ([\d.]+)", words)]
    # What is told is rounded to the side on which the part is out.
    assert more
    assert all(figure >= turn["turns_at"] for figure, turn in zip(told, more, strict=True))


def test_the_price_of_today_is_the_one_that_is_paid(run: Run, small: Path) -> None:
    spokes = "stavenholt-strand-35-30"
    words = require_readable(run("explain", SCENARIO, "--part", spokes, "-q").stdout)
    # 72 spokes for each of 120 vehicles reach the last tier.
    tier = next(part for part in parts_of(small, "spokes") if part["id"] == spokes)["prices"][-1]
    assert tier["quantity"] <= 72 * 120
    assert f"unit price, today {tier['unit_price']} EUR" in words


def test_a_part_that_is_gone_says_so_and_a_concept_what_to_ask(run: Run, small: Path) -> None:
    path = small / "catalogs" / "tires.yaml"
    text = path.read_text()
    tire = "  - id: heron-moor-90-100-21\n"
    for status, told in (("withdrawn", "it is withdrawn and stays out"), ("concept", "--with-concepts says")):
        path.write_text(text.replace(tire, f"{tire}    status: {status}\n"))
        words = require_readable(run("explain", SCENARIO, "--part", "heron-moor-90-100-21", "-q").stdout)
        assert told in words
        assert "cannot be used on this vehicle" not in words


def test_a_catalog_is_not_overwritten(run: Run, small: Path) -> None:
    path = small / "catalogs" / "tires.yaml"
    before = path.read_text()
    result = run("explain", SCENARIO, "-o", "catalogs/tires.yaml")
    assert result.exit_code == 2
    assert "would overwrite" in result.stderr
    assert path.read_text() == before


def test_a_part_that_fits_nowhere_says_why(run: Run, small: Path) -> None:
    path = small / "catalogs" / "hubs.yaml"
    axle = next(hub for hub in parts_of(small, "hubs") if hub["axle_diameter"] == "20 mm")
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


def test_where_nothing_meets_the_limits_it_says_what_has_to_give_way(run: Run, few: Path) -> None:
    scenario = few / SCENARIO
    scenario.write_text(scenario.read_text().replace("at_most: 940", "at_most: 60"))
    found = explained(run, few)
    assert found["status"] == "infeasible"
    assert found["gives_way"]
    assert [limit["limit"] for limit in found["gives_way"][0]["limits"]] == ["cost"]
    assert found["removed"]
    words = require_readable(text_of(found))
    assert "What has to give way at least 1 limit" in words
    assert "instead of 60 EUR" in words
    assert re.search(r"cost \d+ EUR", words)
    # Stopped after the proof, what was taken away is known all the same.
    sheet = Page(80)
    write_explanation(sheet, {**found, "gives_way": None, "not_reached": ["gives_way"]})
    assert "What was taken away" in str(sheet)


@pytest.mark.slow
def test_todays_packages_are_set_beside_the_best(run: Run, few: Path) -> None:
    run("choose", SCENARIO, "--format", "json", "-o", "best.json", "-q")
    payload = explained(run, few, "--packages", "best.json")
    found = payload["packages"]
    assert found["beside_best"]["loss"] == pytest.approx(0.0, abs=1e-9)
    assert not found["unmet"]
    words = require_readable(text_of(payload))
    assert "they fit, and meet every limit" in words


def test_stopped_at_once_nothing_is_claimed(run: Run, small: Path) -> None:
    result = run("explain", SCENARIO, "--time-limit", "0.001", "-q")
    assert result.exit_code == 4
    words = require_readable(result.stdout)
    assert "nothing can be explained" in words
    assert "is proven." not in words
    assert "give way" not in words


def test_ctrl_c_ends_it_with_what_is_proven(small: Path) -> None:
    said: list[str] = []

    def interrupt(text: str) -> None:
        said.append(text)
        if text.startswith("do any of"):
            signal.raise_signal(signal.SIGINT)

    found = explain(load(small / SCENARIO), progress=interrupt)
    assert found.exit_code == 4
    assert found.sections["runners_up"]
    assert found.not_reached == ("limits", "losing", "flips")
    # Nothing is begun after that.
    assert said[-1].startswith("do any of")
    jsonschema.validate(found.to_json(), schema("explanation"))


def test_what_is_wrong_is_said_before_any_search(small: Path) -> None:
    said: list[str] = []
    with pytest.raises(UsageError, match="no part"):
        explain(load(small / SCENARIO), part="heron-moor-80-100-22", progress=said.append)
    assert not said


def test_vehicles_chosen_together_are_explained_one_by_one(run: Run, project: Path) -> None:
    family = Path(__file__).parents[2] / "scenarios" / "wardens-family.yaml"
    (project / "scenarios" / "wardens-family.yaml").write_text(family.read_text())
    (project / "today.yaml").write_text(today_of(project))
    for options in ((), ("--packages", "today.yaml")):
        result = run("explain", "scenarios/wardens-family.yaml", *options)
        assert result.exit_code == 2
        assert "--vehicle" in result.stderr


def test_rim_locks_that_differ_are_told_in_pieces() -> None:
    lock = {"position": "rear", "part": "rim_lock", "first": None, "second": "latch-215"}
    pieces = {"position": "rear", "part": "rim_locks", "first": 0, "second": 2}
    assert _parts_of({"parts": [lock, pieces]}) == "latch-215, 2 pieces"


def test_a_lacing_that_differs_is_told_as_one() -> None:
    parts = [{"position": "rear", "part": "crossings", "first": 2, "second": 3}]
    assert _differing({"parts": parts, "loss": None}) == "rear lacing 3x"
