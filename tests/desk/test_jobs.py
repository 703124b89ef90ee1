"""Work in the background: the newest question of a tab wins, work can be ended, and there is never too much of it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from served import NAME, VEHICLE
from small_project import small_project

from configopt.desk.choosing import Choosing
from configopt.desk.jobs import KEPT, MOST_WAITING, Bench, Busy, Cancelled, Job
from configopt.desk.service import Asked, Desk
from configopt.desk.state import State
from configopt.errors import UsageError


@pytest.fixture
def gate() -> threading.Event:
    return threading.Event()


@pytest.fixture
def bench(gate: threading.Event) -> Iterator[Bench]:
    def work(job: Job) -> Any:
        while not gate.is_set():
            if job.asked:
                raise Cancelled
            time.sleep(0.002)
        if job.what == "wrong":
            raise UsageError("cannot be so")
        if job.what == "broken":
            raise ValueError("a bug")
        return f"answer to {job.what}"

    told: list[str] = []
    made = Bench("test", work, longest=30.0, log=told.append)
    made.told = told  # type: ignore[attr-defined]
    yield made
    gate.set()
    made.close()


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 10.0
    while not true():
        assert time.monotonic() < end
        time.sleep(0.002)


def test_the_last_of_a_burst_wins_and_the_others_are_given_up(bench: Bench, gate: threading.Event) -> None:
    jobs = [bench.ask(f"question {number}", number, tab="tab") for number in range(20)]
    until(lambda: jobs[-1].status == "running")
    gate.set()
    until(lambda: jobs[-1].ended)
    assert jobs[-1].result == "answer to 19"
    assert [job.status for job in jobs[:-1]] == ["stopped"] * 19


def test_tabs_do_not_give_up_each_others_questions(bench: Bench, gate: threading.Event) -> None:
    one, two = bench.ask("one", 1, tab="a"), bench.ask("two", 2, tab="b")
    shared = bench.ask("two", 2, tab="a")
    assert shared is two
    gate.set()
    until(lambda: two.ended)
    assert one.status == "stopped"
    assert two.result == "answer to 2"


def test_the_same_question_is_answered_at_once(bench: Bench, gate: threading.Event) -> None:
    gate.set()
    job = bench.ask("one", 1)
    until(lambda: job.ended)
    assert bench.ask("one", 1) is job


def test_a_cancelled_job_ends_and_is_done_again_when_asked(bench: Bench, gate: threading.Event) -> None:
    job = bench.ask("one", 1)
    until(lambda: job.status == "running")
    bench.cancel("one")
    until(lambda: job.ended)
    assert job.status == "stopped"
    assert bench.ask("one", 1) is job
    bench.again("one")
    gate.set()
    other = bench.ask("one", 1)
    until(lambda: other.ended)
    assert other.result == "answer to 1"


def test_what_ended_because_nobody_waited_is_begun_anew(bench: Bench, gate: threading.Event) -> None:
    job = bench.ask("one", 1)
    until(lambda: job.status == "running")
    job.touched -= 600.0
    until(lambda: job.ended)
    assert job.status == "stopped"
    gate.set()
    other = bench.ask("one", 1)
    assert other is not job
    until(lambda: other.ended)
    assert other.result == "answer to 1"


def test_what_nobody_waits_for_any_more_is_not_begun(bench: Bench, gate: threading.Event) -> None:
    first, second = bench.ask("one", 1), bench.ask("two", 2)
    until(lambda: first.status == "running")
    second.touched -= 600.0
    gate.set()
    until(lambda: second.ended)
    assert (first.status, second.status, second.result) == ("done", "stopped", None)
    other = bench.ask("two", 2)
    until(lambda: other.ended)
    assert other.result == "answer to 2"


def test_too_many_questions_are_refused(bench: Bench) -> None:
    first = bench.ask("first", 0)
    until(lambda: first.status == "running")
    for number in range(MOST_WAITING):
        bench.ask(f"question {number}", number)
    with pytest.raises(Busy):
        bench.ask("one more", 0)


def test_old_answers_are_forgotten(bench: Bench, gate: threading.Event) -> None:
    gate.set()
    for number in range(3 * KEPT):
        job = bench.ask(f"question {number}", number)
        until(lambda job=job: job.ended)  # type: ignore[misc]
    assert len(bench._jobs) <= KEPT + 1


def test_errors_become_words_and_bugs_are_logged(bench: Bench, gate: threading.Event) -> None:
    gate.set()
    wrong, broken = bench.ask("wrong", "wrong"), bench.ask("broken", "broken")
    until(lambda: wrong.ended and broken.ended)
    assert (wrong.status, wrong.words) == ("failed", "cannot be so")
    assert broken.status == "failed"
    assert "a bug" not in broken.words
    assert "ValueError: a bug" in bench.told[0]  # type: ignore[attr-defined]


def test_a_job_ends_when_its_time_is_up_or_nobody_asks_any_more() -> None:
    job = Job("key", None, longest=0.01)
    job.began = time.monotonic() - 1.0
    assert job.asked
    job = Job("key", None, longest=100.0)
    job.began = time.monotonic()
    assert not job.asked
    job.touched -= 60.0
    assert job.asked


def test_nothing_is_bounded_for_a_job_that_is_to_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bounded: list[object] = []
    monkeypatch.setattr(Choosing, "of_case", staticmethod(bounded.append))
    desk = Desk(small_project(tmp_path))
    try:
        opened = desk.project.open(NAME)
        assert opened is not None
        state = State(VEHICLE)
        job = Job("key", Asked(NAME, opened, state), longest=100.0, began=time.monotonic(), wanted=False)
        with pytest.raises(Cancelled):
            desk._choosing(job.what, opened.changed(state), job)
        assert bounded == []
    finally:
        desk.close()
