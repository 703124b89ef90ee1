"""What the page asks for: choices made live in one thread, long questions handed to a process."""

from __future__ import annotations

import asyncio
import copy
import os
import sys
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock
from typing import Any

from configopt.choice.checkpoint import checking
from configopt.desk.answer import Laid, Shown, chosen, fitting, laid
from configopt.desk.candidate_text import record_from, text_of
from configopt.desk.choosing import Choosing
from configopt.desk.errands import Errand, Runner
from configopt.desk.jobs import Bench, Cancelled, Job
from configopt.desk.project import Opened, Project
from configopt.desk.state import State, plain
from configopt.scenario.case import Case

#: Vehicles that stay ready to be chosen again, and the memory beyond which only the last one does [bytes].
MOST_READY, MEMORY = 3, 1_500_000_000
#: Vehicles of which it is known what fits.
MOST_KNOWN = 12
#: Candidates that were laid over an answer and are kept.
MOST_LAID = 64
#: Seconds that a choice and a long question may take.
CHOICE, ERRAND = 180.0, 300.0
#: Seconds in which what went wrong with a file is told without reading it again.
FRESH = 10.0
#: How often it is looked whether a job has ended [s].
LOOK = 0.008
#: Scenario, stamp of its files, vehicle.
Group = tuple[str, str, str]


@dataclass(frozen=True)
class Asked:
    """A choice that is asked for."""

    name: str
    opened: Opened
    state: State


class Desk:
    """The project with everything that is being worked out."""

    def __init__(self, folder: Path, *, log: Callable[[str], None] | None = None) -> None:
        self.project = Project(folder)
        told = log if log is not None else lambda text: print(text, file=sys.stderr, flush=True)
        self._readers = ThreadPoolExecutor(1, thread_name_prefix="reading")
        self._reading: dict[str, Future[Opened | None]] = {}
        self._ended: dict[str, float] = {}
        self._ready: OrderedDict[tuple[Group, str], Choosing] = OrderedDict()
        self._fits: OrderedDict[Group, Mapping[str, tuple[str, ...]]] = OrderedDict()
        self._laid: OrderedDict[str, Laid] = OrderedDict()
        self._laying = Lock()
        self.choices = Bench("choosing", self._choose, longest=CHOICE, log=told)
        self.runner = Runner()
        self.errands = Bench("errands", self.runner, longest=ERRAND, log=told)

    def close(self) -> None:
        """End everything that runs."""
        self._readers.shutdown(wait=False, cancel_futures=True)
        self.choices.close()
        self.runner.close()
        self.errands.close()

    async def opened(self, name: str, seconds: float) -> Opened | None:
        """A scenario by its name, ``None`` where the project has none of that name.

        Raises
        ------
        TimeoutError
            If it is still being read after so long; the reading goes on.
        FindingsError
            If it, or its catalogs, are wrong.
        """
        reading = self._reading.get(name)
        if reading is not None and reading.done():
            # It ended while nobody waited.  What went wrong is told to the next who asks, once and if it is fresh: a
            # file that takes long to be found wrong would else be read again and again, and nobody told.
            del self._reading[name]
            if time.monotonic() - self._ended.pop(name, 0.0) < FRESH and reading.exception() is not None:
                return reading.result()
            reading = None
        if reading is None:
            reading = self._readers.submit(self.project.open, name)
            self._reading[name] = reading
            reading.add_done_callback(lambda _: self._ended.__setitem__(name, time.monotonic()))
        try:
            return await asyncio.wait_for(asyncio.shield(asyncio.wrap_future(reading)), seconds)
        finally:
            if reading.done():
                self._reading.pop(name, None)
                self._ended.pop(name, None)

    def choice(self, name: str, opened: Opened, state: State, tab: str = "") -> Job:
        """The job of a choice.

        Raises
        ------
        Busy
            If too much is being worked out.
        """
        key = choice_key(name, opened, state)
        if is_live(opened, state):
            return self.choices.ask(key, Asked(name, opened, state), tab)
        errand = Errand("whole", str(opened.case.path), opened.stamp, state.without_shown(), time_limit=CHOICE)
        return self.errands.ask(key, errand, tab)

    def replaced(self, opened: Opened, state: State, job: Job) -> bool:
        """Whether the job of a choice was given up for a newer question of the same tab."""
        bench = self.choices if is_live(opened, state) else self.errands
        return bench.known(job.key) is not job

    def known_choice(self, name: str, opened: Opened, state: State) -> Shown | None:
        """A choice that was worked out before."""
        bench = self.choices if is_live(opened, state) else self.errands
        job = bench.known(choice_key(name, opened, state))
        found: Shown | None = job.result if job is not None and job.status == "done" else None
        return found

    def errand(self, kind: str, name: str, opened: Opened, state: State, *, part: str = "", tab: str = "") -> Job:
        """The job of a long question.

        Raises
        ------
        Busy
            If too much is being worked out.
        """
        key = f"{name} {opened.stamp} {kind} {part} {state.key()}"
        errand = Errand(kind, str(opened.case.path), opened.stamp, state.without_shown(), part, ERRAND - 10.0)
        return self.errands.ask(key, errand, f"{kind} {tab}" if tab else "")

    def cancel(self, key: str) -> None:
        """End a job early."""
        self.choices.cancel(key)
        self.errands.cancel(key)

    def again(self, key: str) -> None:
        """Have a question asked anew."""
        self.choices.again(key)
        self.errands.again(key)

    def _choose(self, job: Job) -> Shown:
        asked: Asked = job.what
        opened, state = asked.opened, asked.state
        case = opened.changed(state)
        choosing = self._choosing(asked, case, job)
        if job.asked:
            raise Cancelled
        job.say("searching, and proving that nothing better is there")
        found = chosen(choosing, state, case, job, self.choices.longest, job.say)
        if not found.found and not found.proven:
            raise Cancelled
        return found

    def _choosing(self, asked: Asked, case: Case, job: Job) -> Choosing:
        state = asked.state
        group = group_of(asked.name, asked.opened, state)
        key = group, State(state.vehicle, mix=state.mix, speeds=state.speeds, rates=state.rates).key()
        found = self._ready.get(key)
        if found is None:
            self._forget_older_files(asked)

            def require_wanted() -> None:
                if job.asked:
                    raise Cancelled

            require_wanted()
            job.say("finding out what fits, and how good each part could be at best")
            # This takes longest at first, so it looks now and then whether it is still wanted.
            with checking(require_wanted):
                found = Choosing.of_case(case)
            near = [one for (other, _), one in self._ready.items() if other == group]
            if near:
                found.begin_near(near[-1])
            self._ready[key] = found
            self._fits[group] = fitting(found)
            while len(self._fits) > MOST_KNOWN:
                self._fits.popitem(last=False)
        self._ready.move_to_end(key)
        while len(self._ready) > MOST_READY or (len(self._ready) > 1 and memory() > MEMORY):
            self._ready.popitem(last=False)
        return found

    def _forget_older_files(self, asked: Asked) -> None:
        """Let go of what was made ready from files of the same scenario that have changed since."""

        def old(group: Group) -> bool:
            return group[0] == asked.name and group[1] != asked.opened.stamp

        for key in [key for key in self._ready if old(key[0])]:
            del self._ready[key]
        for group in [group for group in self._fits if old(group)]:
            del self._fits[group]

    def fits(self, name: str, opened: Opened, state: State) -> Mapping[str, tuple[str, ...]]:
        """Ids of the parts that fit, by slot such as ``front.tire``; nothing before the first choice."""
        return self._fits.get(group_of(name, opened, state), {})

    def laid(self, name: str, opened: Opened, state: State) -> tuple[Laid, ...]:
        """Candidates that a state lays over its answer, each through the full model once.

        Raises
        ------
        FindingsError
            Where the scenario cannot be so.
        """
        if not state.beside:
            return ()
        # What is held or left out changes no figure of a candidate.
        asked = replace(state.without_shown(), out=(), holds=(), pressures=())
        with self._laying:
            case = opened.with_goods(asked)
            found = []
            for text in state.beside:
                one = self.named(opened, name, state.vehicle, text)
                if one is None:
                    found.append(not_laid(text))
                    continue
                words, record = one
                key = f"{choice_key(name, opened, asked)} {text} {text_of(record)}"
                if key not in self._laid:
                    self._laid[key] = laid(case, text, words, record)
                self._laid.move_to_end(key)
                found.append(self._laid[key])
            while len(self._laid) > MOST_LAID:
                self._laid.popitem(last=False)
        return tuple(found)

    def named(self, opened: Opened, name: str, vehicle: str, text: str) -> tuple[str, Any] | None:
        """Words and record of a candidate's text; ``None`` where it is none."""
        if text.startswith("file:"):
            record = self.project.decisions(name, vehicle).get(text.removeprefix("file:"))
            return None if record is None else (f"decision {text.removeprefix('file:')}", record)
        one = next(of for of in opened.case.scenario.vehicles if of.name == vehicle)
        if text == "today":
            return None if one.baseline is None else ("today’s packages", one.baseline)
        record = record_from(text, opened.families, [drive.id for drive in one.drive.final_drives])
        if record is None:
            return None
        tires = [opened.parts[record.front.tire].name, opened.parts[record.rear.tire].name]
        return " and ".join(dict.fromkeys(tires)), record


def not_laid(text: str) -> Laid:
    """A candidate that is none, with why."""
    if text == "today":
        return Laid(text, "today’s packages", problem="the scenario states none")
    if text.startswith("file:"):
        words = plain(text.removeprefix("file:"))
        return Laid(text, f"decision {words}", problem="there is no such decision of this vehicle any more")
    return Laid(text, "a candidate", problem="it names parts that these catalogs do not have")


def choice_key(name: str, opened: Opened, state: State) -> str:
    """The same for every state of the same answer, whatever is laid over it."""
    return f"{name} {opened.stamp} choice {state.key()}"


def group_of(name: str, opened: Opened, state: State) -> Group:
    """The same for every state of a vehicle: in all of them the same parts fit."""
    return name, opened.stamp, state.vehicle


def is_live(opened: Opened, state: State) -> bool:
    """Whether a vehicle can be chosen live: one weighted sum, as stated, without alternates."""
    one = next(of for of in opened.case.scenario.vehicles if of.name == state.vehicle)
    return not (opened.case.scenario.aims.in_order or one.conditions or one.alternates)


def memory() -> int:
    """Memory this process holds [bytes]; 0 where the system does not say."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except (OSError, ValueError, IndexError):
        return 0
    return pages * int(os.sysconf("SC_PAGE_SIZE"))


async def settled(job: Job, seconds: float) -> Job:
    """Wait for a job to end, so long at most; the job as it is then.

    It is a copy: what a page says of a job does not change while the page is put together.
    """
    until = time.monotonic() + seconds
    while not job.ended and time.monotonic() < until:
        await asyncio.sleep(LOOK)
    return copy.copy(job)
