"""Keeping a state: files for review that say what the page showed, and nothing replaced without asking."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from served import BASE, NAME, VEHICLE, Served, served
from small_project import small_project

from configopt.desk.saving import file_name
from configopt.desk.state import read_state
from configopt.scenario.case import load
from configopt.scenario.variants import load_variants
from configopt.sweep.changing import Base, changed

CHANGED = {"limit.range": "40.5", "mix.peat-path": "30", "mix.gravel-track": "50", "mix.rock-steps": "20"}


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(small_project(tmp_path_factory.mktemp("kept"))) as running:
        running.settled(BASE)
        yield running
        assert running.errors == []


def keep(page: Served, **fields: str) -> tuple[int, str]:
    found = page.post(f"/s/{NAME}/keep", token=page.token, vehicle=VEHICLE, **fields)
    return found.status, found.text


def scenarios(page: Served) -> Path:
    return page.folder / "scenarios"


def test_a_scenario_says_what_the_page_shows(own: Served) -> None:
    status, text = keep(own, kind="scenario", name="Wet Autumn", title="A wet autumn: more peat", **CHANGED)
    assert status == 200
    assert "Written" in text
    path = scenarios(own) / "wet-autumn.yaml"
    opened = own.gate.desk.project.open(NAME)
    state = read_state(list({"vehicle": VEHICLE, **CHANGED}.items()), opened.movable(VEHICLE), opened.families)
    case = load(path)
    assert case.vehicle == opened.changed(state).vehicle
    assert case.scenario.title == "A wet autumn: more peat"
    assert "wet-autumn" in own.get("/").text


def test_a_variant_says_what_differs(own: Served) -> None:
    status, _ = keep(own, kind="variant", name="more-peat", why="because", out="hythe-disc-220-4x80", **CHANGED)
    assert status == 200
    path = scenarios(own) / "more-peat.variants.yaml"
    (planned,) = load_variants(path).planned()
    assert planned.why == "because"
    base = Base.of(scenarios(own) / f"{NAME}.yaml", str(path))
    opened = own.gate.desk.project.open(NAME)
    pairs = [("vehicle", VEHICLE), *CHANGED.items(), ("out", "hythe-disc-220-4x80")]
    state = read_state(pairs, opened.movable(VEHICLE), opened.families)
    assert changed(base, planned).case.vehicle == opened.with_goods(state).vehicle
    assert changed(base, planned).gone == {"hythe-disc-220-4x80"}


def test_a_decision_records_the_choice_with_who_when_and_why(own: Served) -> None:
    own.settled(f"/s/{NAME}/keep?vehicle={VEHICLE}&kind=decision")
    status, text = keep(own, kind="decision", name="spring", by="M. Okafor", on="2026-03-02", why="spring order")
    assert (status, "Written" in text) == (200, True), text
    data = yaml.safe_load((scenarios(own) / "spring.decision.yaml").read_text())
    assert data["decision"] == {
        "scenario": f"{NAME}.yaml", "by": "M. Okafor", "date": "2026-03-02", "why": "spring order",
    }  # fmt: skip
    assert "decision spring" in own.settled(BASE).text
    laid = own.settled(f"{BASE}&beside=file%3Aspring")
    assert "decision spring" in laid.text


def test_a_decision_is_refused_where_the_page_differs_or_something_is_missing(own: Served) -> None:
    own.settled(f"/s/{NAME}/keep?vehicle={VEHICLE}&kind=decision")
    status, text = keep(own, kind="decision", name="no", by="X", on="2026-03-02", why="y", **CHANGED)
    assert status == 422
    assert "keep a scenario first" in re.sub(r"\s+", " ", text)
    for fields in ({"by": "X", "on": "2026-03-02"}, {"by": "X", "on": "tomorrow", "why": "y"}):
        assert keep(own, kind="decision", name="no", **fields)[0] == 422
    assert not (scenarios(own) / "no.decision.yaml").exists()


def test_nothing_is_replaced_without_asking(own: Served) -> None:
    assert keep(own, kind="variant", name="again", **CHANGED)[0] == 200
    path = scenarios(own) / "again.variants.yaml"
    before = path.read_text()
    other = {**CHANGED, "limit.range": "41.5"}
    status, text = keep(own, kind="variant", name="again", **other)
    assert status == 409
    assert path.read_text() == before
    assert "40.5 km" in text
    found = re.search(r'name="replace" value="([0-9a-f]+)"', text)
    assert found is not None
    assert keep(own, kind="variant", name="again", replace="0" * 24, **other)[0] == 409
    path.write_text(before + "# somebody was quicker\n")
    assert keep(own, kind="variant", name="again", replace=found[1], **other)[0] == 409
    path.write_text(before)
    assert keep(own, kind="variant", name="again", replace=found[1], **other)[0] == 200
    assert "41.5 km" in path.read_text()


def test_names_stay_inside_the_folder(own: Served, tmp_path: Path) -> None:
    before = {path.name for path in scenarios(own).parent.iterdir()}
    status, text = keep(own, kind="variant", name="../../outside", **CHANGED)
    assert (status, "scenarios/outside.variants.yaml" in text) == (200, True)
    assert keep(own, kind="variant", name="…", **CHANGED)[0] == 422
    assert {path.name for path in scenarios(own).parent.iterdir()} == before
    (scenarios(own) / "linked.variants.yaml").symlink_to(tmp_path / "elsewhere.yaml")
    assert keep(own, kind="variant", name="linked", **CHANGED)[0] == 422
    assert not (tmp_path / "elsewhere.yaml").exists()


def test_what_a_file_cannot_say_is_refused_with_words(own: Served) -> None:
    status, text = keep(own, kind="scenario", name="no", out="hythe-disc-220-4x80")
    assert (status, "keep a variant" in text) == (422, True)
    status, text = keep(own, kind="variant", name="no", **{"hold.front.tire": "heron-moor-80-100-21"})
    assert (status, "is held" in text) == (422, True)
    status, text = keep(own, kind="variant", name="no")
    assert (status, "nothing differs" in text.lower()) == (422, True)
    assert not list(scenarios(own).glob("no.*"))


@pytest.mark.parametrize(
    ("typed", "name"), [("A  b", "a-b"), ("..", ""), ("CON:", "con"), ("x" * 90, "x" * 60), ("ü-1", "1")]
)
def test_file_names_are_plain(typed: str, name: str) -> None:
    assert file_name(typed) == name
