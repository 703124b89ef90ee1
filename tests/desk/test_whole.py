"""A vehicle that cannot be chosen live: what the page offers of it, says of it, and how its work is ended."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from served import BASE, NAME, VEHICLE, Served, by_id, served, words
from small_project import small_project

IN_ORDER = "aims:\n  in_order:\n    - mass: 1 per kg\n      give_up: 5 %\n    - rolling_loss: 1 per Wh/km\n"
PART = {"HX-Request": "true", "HX-Target": "status"}


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Served]:
    folder = small_project(tmp_path)
    path = folder / "scenarios" / f"{NAME}.yaml"
    text = path.read_text()
    stated = re.sub(r"aims:\n(  .*\n)+", IN_ORDER, text)
    assert stated != text
    path.write_text(stated)
    with served(folder) as running:
        yield running
        assert running.errors == []


@pytest.fixture
def gate(own: Served, monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    go, bench = threading.Event(), own.gate.desk.errands
    whole = bench.work

    def slow(job: Any) -> Any:
        while not go.is_set() and not job.asked:
            time.sleep(0.01)
        return whole(job)

    monkeypatch.setattr(bench, "work", slow)
    return go


def test_nothing_is_offered_that_is_refused(own: Served, gate: threading.Event) -> None:
    waiting = own.get(BASE)
    assert "every change takes as long as this first choice" in waiting.text
    gate.set()
    found = own.settled(BASE)
    assert "Proven best" in found.text
    values = [one.get("value", "") for one in found.tree.iter("button")]
    assert any(value.startswith("out:") for value in values)
    assert not any(value.startswith("hold:") for value in values)
    assert "press-front-low" not in found.text
    held = own.settled(f"{BASE}&press.front.low=150")
    assert by_id(held.tree, "press-front-low").get("value") == "150"
    assert "parts and pressures can be held where" in held.text


def test_what_is_being_done_is_told(own: Served) -> None:
    own.get(BASE)
    said, until = set(), time.monotonic() + 60.0
    while time.monotonic() < until:
        (job,) = own.gate.desk.errands._jobs.values()
        said.add(job.progress)
        if job.ended:
            break
        time.sleep(0.005)
    assert len(said - {""}) > 0


def test_another_tab_is_told_that_the_work_was_ended(own: Served, gate: threading.Event) -> None:
    path = f"/s/{NAME}/answer?vehicle={VEHICLE}&limit.range=40.5"
    assert "Being worked out" in own.ask("GET", path, headers={**PART, "X-Tab": "one"}).text
    (job,) = own.gate.desk.errands._jobs.values()
    own.post("/cancel", token=own.token, key=job.key, scenario=NAME)
    until = time.monotonic() + 20.0
    while not job.ended:
        assert time.monotonic() < until
        time.sleep(0.02)
    found = own.ask("GET", f"{path}&again=1", headers=PART)
    assert (found.status, "Ended early" in found.text) == (200, True)


def test_a_newer_question_of_the_tab_needs_no_answer_to_the_older(own: Served, gate: threading.Event) -> None:
    path = f"/s/{NAME}/answer?vehicle={VEHICLE}&limit.range="
    answers: list[int] = []
    older = threading.Thread(
        target=lambda: answers.append(own.ask("GET", f"{path}40.5", headers={**PART, "X-Tab": "one"}).status)
    )
    older.start()
    until = time.monotonic() + 20.0
    while not own.gate.desk.errands._jobs:
        assert time.monotonic() < until
        time.sleep(0.01)
    newer = own.ask("GET", f"{path}40.6", headers={**PART, "X-Tab": "one"})
    older.join()
    assert answers == [204]
    assert "Being worked out" in words(newer.tree)
