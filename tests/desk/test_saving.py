"""Keeping a state: files for review that say what the page showed, and nothing replaced without asking."""

from __future__ import annotations

import errno
import os
import re
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import html5lib
import pytest
import yaml
from served import BASE, NAME, VEHICLE, Served, served, words
from small_project import small_project

from configopt.decisions.choice_file import load_choice, records_for
from configopt.desk.saving import Standing, Target, file_name, target, write
from configopt.desk.state import read_state
from configopt.errors import UsageError
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


def send(page: Served, **fields: str) -> tuple[int, str]:
    found = page.post(f"/s/{NAME}/keep", token=page.token, vehicle=VEHICLE, **fields)
    return found.status, found.text


def keep(page: Served, **fields: str) -> tuple[int, str]:
    """Look, then write what was shown."""
    status, text = send(page, act="look", **fields)
    seen = re.search(r'name="seen" value="([0-9a-f]+)"', text)
    if seen is None:
        assert status == 422
        assert "Write the file" not in text
        return status, text
    return send(page, act="write", seen=seen[1], **fields)


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
    assert "There is a file again.variants.yaml already." in text
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


@pytest.mark.parametrize("kind", ["scenario", "variant", "decision"])
def test_only_what_was_shown_is_written(own: Served, kind: str) -> None:
    own.settled(f"/s/{NAME}/keep?vehicle={VEHICLE}&kind=decision")
    moved = {} if kind == "decision" else CHANGED
    said = {"by": "M. Okafor", "on": "2026-03-02", "why": "spring order", "title": "Shown first", **moved}
    fields = {"kind": kind, "name": f"shown-{kind}", **said}
    status, text = send(own, act="look", **fields)
    assert status == 200
    tree = html5lib.parse(text, namespaceHTMLElements=False)
    (shown,) = list(tree.iter("pre"))
    (seen,) = [one.get("value") for one in tree.iter("input") if one.get("name") == "seen"]
    # The first button of the form is what Enter in a field presses.
    assert [one.get("value") for one in tree.iter("button") if one.get("name") == "act"] == ["look", "write"]
    assert not list(scenarios(own).glob(f"shown-{kind}.*"))
    assert send(own, **fields, seen=seen)[0] == 200
    other = {**fields, "title": "Another", "why": "another order"}
    for unseen in (
        {**other, "seen": seen},
        {**fields, "seen": ""},
        {**fields, "name": f"shown-{kind}-2", "seen": seen},
    ):
        status, text = send(own, act="write", **unseen)
        assert status == 409
        assert "was not shown before" in text
        assert not list(scenarios(own).glob(f"shown-{kind}*"))
    assert send(own, act="write", **fields, seen=seen)[0] == 200
    (path,) = scenarios(own).glob(f"shown-{kind}.*")
    assert path.read_text() == shown.text


def test_what_is_typed_stays_while_a_decision_is_worked_out(own: Served) -> None:
    def tree_of(text: str) -> Any:
        return html5lib.parse(text, namespaceHTMLElements=False)

    own.settled(f"/s/{NAME}/keep?vehicle={VEHICLE}&kind=decision")
    errands = own.gate.desk.errands
    (job,) = [one for key, one in errands._jobs.items() if " decide " in key]
    typed = {"kind": "decision", "name": "typed", "by": "M. Okafor", "on": "2026-03-02", "why": "spring order"}
    job.status = "running"
    try:
        with errands._some:
            job.touched = time.monotonic()
        status, text = send(own, act="look", **typed)
    finally:
        job.status = "done"
    assert status == 200
    tree = tree_of(text)
    assert not list(tree.iter("meta")) or not [one for one in tree.iter("meta") if one.get("http-equiv") == "refresh"]
    fields = {one.get("name"): one.get("value") for one in tree.iter("input") if one.get("type") == "text"}
    assert fields == {key: value for key, value in typed.items() if key != "kind"}
    (asking,) = [one for one in tree.iter("div") if one.get("hx-get")]
    # Only what is said of the work is replaced, never the form.
    assert asking.get("hx-select") == asking.get("hx-target") == "#keep-job"
    found = tree_of(own.get(asking.get("hx-get")).text)
    (told,) = [one for one in found.iter("div") if one.get("id") == "keep-job"]
    assert "The choice is made" in words(told)
    assert not [one for one in told.iter("input") if one.get("type") != "hidden"]
    assert send(own, act="look", **typed)[0] == 200


def test_what_is_held_is_kept_as_the_choice_alone(own: Served, tmp_path: Path) -> None:
    query = f"vehicle={VEHICLE}&hold.front.tire=heron-moor-80-100-21&press.front.high=160"
    found = own.settled(f"/s/{NAME}/keep?{query}&kind=choice")
    (text,) = [one.text for one in found.tree.iter("pre")]
    (tmp_path / "autumn.yaml").write_text(text)
    case = load(scenarios(own) / f"{NAME}.yaml")
    (record,) = records_for(load_choice(tmp_path / "autumn.yaml"), case)
    opened = own.gate.desk.project.open(NAME)
    state = read_state([*(pair.split("=") for pair in query.split("&"))], opened.movable(VEHICLE), opened.families)
    shown = own.gate.desk.known_choice(NAME, opened, state)
    assert record.front == shown.record.front
    assert record.rear == shown.record.rear
    assert record.final_drive == shown.record.final_drive
    assert float(record.front.pressure) <= 160e3
    none = own.settled(f"/s/{NAME}/keep?vehicle={VEHICLE}&limit.range=500&kind=choice")
    assert "there is no choice to copy" in none.text
    assert not list(none.tree.iter("pre"))


def test_a_folder_that_cannot_be_written_is_told(own: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(path: Path, content: bytes) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr("configopt.desk.saving._create", refused)
    status, text = keep(own, kind="variant", name="no-leave", **CHANGED)
    assert status == 422
    assert "The file no-leave.variants.yaml cannot be written: Permission denied." in text
    assert "Written" not in text


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


def test_of_two_forms_with_one_new_name_only_one_is_written(tmp_path: Path) -> None:
    def written(number: int, to: Target) -> bool:
        try:
            write(to, f"text {number}\n", replace="")
        except Standing as error:
            return error.target.there is None
        return True

    with ThreadPoolExecutor(8) as pool:
        for name in range(20):
            seen = [target(tmp_path, "variant", f"new-{name}") for _ in range(8)]
            done = list(pool.map(written, range(8), seen))
            assert sum(done) == 1
            assert seen[0].path.read_text() == f"text {done.index(True)}\n"
    assert not list(tmp_path.glob(".*"))


def test_what_appears_between_the_look_and_the_writing_is_left(tmp_path: Path) -> None:
    folder, elsewhere = tmp_path / "scenarios", tmp_path / "elsewhere.yaml"
    folder.mkdir()
    seen = target(folder, "scenario", "one")
    seen.path.write_text("somebody was quicker\n")
    with pytest.raises(Standing, match="already") as caught:
        write(seen, "mine\n", replace=seen.stamp)
    assert caught.value.target.there == "somebody was quicker\n"
    assert seen.path.read_text() == "somebody was quicker\n"
    for there in (False, True):
        seen = target(folder, "scenario", f"link-{there}")
        if there:
            elsewhere.write_text("not in this folder\n")
        seen.path.symlink_to(elsewhere)
        with pytest.raises(UsageError, match="no plain file"):
            write(seen, "mine\n", replace=seen.stamp)
        assert seen.path.is_symlink()
        assert elsewhere.exists() == there
    assert elsewhere.read_text() == "not in this folder\n"


def test_a_file_that_was_seen_and_became_a_link_is_not_followed(tmp_path: Path) -> None:
    folder, elsewhere = tmp_path / "scenarios", tmp_path / "elsewhere.yaml"
    folder.mkdir()
    path = folder / "one.yaml"
    for file in (path, elsewhere):
        file.write_text("the same\n")
    seen = target(folder, "scenario", "one")
    path.unlink()
    path.symlink_to(elsewhere)
    with pytest.raises(UsageError, match="no plain file"):
        write(seen, "mine\n", replace=seen.stamp)
    assert elsewhere.read_text() == "the same\n"


def test_a_file_that_is_replaced_keeps_its_mode(tmp_path: Path) -> None:
    seen = target(tmp_path, "scenario", "one")
    write(seen, "first\n", replace="")
    seen.path.chmod(0o640)
    write(seen, "second\n", replace=target(tmp_path, "scenario", "one").stamp)
    assert seen.path.read_text() == "second\n"
    assert seen.path.stat().st_mode & 0o777 == 0o640
    assert [path.name for path in tmp_path.iterdir()] == ["one.yaml"]
