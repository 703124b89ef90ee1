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

from configopt.choice import live
from configopt.desk.choosing import Choosing
from configopt.desk.jobs import KEPT, LEFT, MOST_WAITING, Bench, Busy, Cancelled, Job
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


def test_what_runs_for_a_page_that_was_left_makes_room(bench: Bench, gate: threading.Event) -> None:
    left = bench.ask("left", 0)
    until(lambda: left.status == "running")
    looked_at = bench.ask("next", 1)
    time.sleep(0.05)
    assert (left.status, looked_at.status) == ("running", "waiting")
    left.touched -= LEFT
    bench.ask("next", 1)
    until(lambda: left.ended and looked_at.status == "running")
    assert left.status == "stopped"
    assert bench.ask("left", 0) is not left


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


def test_what_was_cancelled_is_no_failure_and_is_not_begun_anew() -> None:
    def work(job: Job) -> Any:
        while not job.asked:
            time.sleep(0.002)
        raise UsageError("ended before the best choice was proven")

    bench = Bench("test", work, longest=30.0, log=print)
    try:
        job = bench.ask("one", 1)
        until(lambda: job.status == "running")
        bench.cancel("one")
        until(lambda: job.ended)
        assert job.status == "stopped"
        assert bench.ask("one", 1) is job
    finally:
        bench.close()


def test_a_job_ends_when_its_time_is_up_or_nobody_asks_any_more() -> None:
    job = Job("key", None, longest=0.01)
    job.began = time.monotonic() - 1.0
    assert job.asked
    job = Job("key", None, longest=100.0)
    job.began = time.monotonic()
    assert not job.asked
    job.touched -= 60.0
    assert job.asked


def test_a_process_that_is_ended_from_outside_is_told_and_not_begun_anew(tmp_path: Path) -> None:
    desk = Desk(small_project(tmp_path))
    try:
        opened = desk.project.open(NAME)
        assert opened is not None
        job = desk.errand("tradeoff", NAME, opened, State(VEHICLE))
        # It takes longer to begin than to be ended.
        until(lambda: desk.runner._process is not None)
        process = desk.runner._process
        assert process is not None
        process.kill()
        until(lambda: job.ended)
        assert job.status == "failed"
        assert "ended from outside" in job.words
        time.sleep(0.3)
        assert desk.runner._process is None
        again = desk.errand("giving", NAME, opened, State(VEHICLE))
        until(lambda: again.ended)
        assert desk.runner._process is not None
        assert desk.runner._process.pid != process.pid
    finally:
        desk.close()


def test_what_fits_is_worked_out_once_can_be_ended_and_goes_when_files_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = small_project(tmp_path)
    desk, made = Desk(folder), []
    whole = live.coarse_bounds

    def counted(candidates: Any) -> Any:
        made.append(candidates)
        return whole(candidates)

    monkeypatch.setattr(live, "coarse_bounds", counted)
    try:
        stamps = []
        for _ in range(2):
            opened = desk.project.open(NAME)
            assert opened is not None
            stamps.append(opened.stamp)
            job = Job("key", Asked(NAME, opened, State(VEHICLE)), longest=100.0, began=time.monotonic())
            desk._choosing(job.what, opened.changed(State(VEHICLE)), job)
            assert [group[1] for group, _ in desk._ready] == stamps[-1:]
            assert [group[1] for group in desk._fits] == stamps[-1:]
            path = folder / "catalogs" / "tires.yaml"
            path.write_text(path.read_text().replace("Heron", "Bittern"))
        assert len(made) == 2

        def ended(candidates: Any) -> Any:
            job.wanted = False
            return whole(candidates)

        monkeypatch.setattr(live, "coarse_bounds", ended)
        opened = desk.project.open(NAME)
        assert opened is not None
        job = Job("key", Asked(NAME, opened, State(VEHICLE)), longest=100.0, began=time.monotonic())
        with pytest.raises(Cancelled):
            desk._choosing(job.what, opened.changed(State(VEHICLE)), job)
        assert not desk._ready
    finally:
        desk.close()


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
