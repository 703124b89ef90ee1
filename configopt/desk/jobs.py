"""Work that takes longer than a page may: one job after the other, the newest question of a tab wins.

A job ends early when nobody waits for it any more, when its time is up, or when somebody cancels it.  What came of it
is kept for a while, so that the same question is answered at once.
"""

from __future__ import annotations

import threading
import time
import traceback
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

from configopt.choice.solve import Stop
from configopt.desk.progress_words import progress_words
from configopt.errors import ConfigoptError, FindingsError

Status = Literal["waiting", "running", "done", "stopped", "failed"]
#: Jobs that wait at most, and answers that are kept.
MOST_WAITING, KEPT = 24, 32
#: Seconds after which a job nobody asked about is left.
FORGOTTEN = 60.0
#: The same where another job waits for it to end.
LEFT = 10.0


class Busy(Exception):
    """Too many jobs wait already."""


@dataclass
class Job(Stop):
    """One question and what becomes of it."""

    key: str
    what: Any
    longest: float
    """Seconds it may run."""
    status: Status = "waiting"
    progress: str = ""
    result: Any = None
    words: str = ""
    """Why it failed."""
    wrong: tuple[str, ...] = ()
    """What is wrong with the question, where that is why it failed."""
    tabs: set[str] = field(default_factory=set)
    wanted: bool = True
    cancelled: bool = False
    """Whether somebody ended it, who does not want it begun anew at the next look."""
    touched: float = field(default_factory=time.monotonic)
    began: float = 0.0
    late: bool = False
    """Whether its time was up."""

    @property
    def asked(self) -> bool:
        """Whether it is to end."""
        now = time.monotonic()
        return not self.wanted or now - self.touched > FORGOTTEN or now - self.began > self.longest

    @asked.setter
    def asked(self, value: bool) -> None:
        self.wanted = not value

    @property
    def ended(self) -> bool:
        """Whether nothing more will come of it."""
        return self.status in ("done", "stopped", "failed")

    @property
    def to_do_again(self) -> bool:
        """Whether it is begun anew when somebody asks: it failed, or ended only because nobody waited."""
        if self.status == "stopped":
            return not self.cancelled and not self.late
        return self.status == "failed"

    @property
    def seconds(self) -> float:
        """How long it runs."""
        return time.monotonic() - self.began if self.began else 0.0

    def say(self, text: str) -> None:
        """Progress in words."""
        self.progress = progress_words(text)[:300]


class Bench:
    """Does jobs, one after the other, in a thread of its own.

    Parameters
    ----------
    name
        Of the thread.
    work
        Does one job and returns what comes of it; ends early when the job is asked to.
    longest
        Seconds a job may run.
    log
        Is told of unforeseen errors.
    """

    def __init__(self, name: str, work: Callable[[Job], Any], *, longest: float, log: Callable[[str], None]) -> None:
        self.work, self.longest, self.log = work, longest, log
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._waiting: deque[Job] = deque()
        self._some = threading.Condition()
        self._closed = False
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def ask(self, key: str, what: Any, tab: str = "") -> Job:
        """The job of a question: the one there is, or a new one.  Older questions of the same tab are given up.

        Raises
        ------
        Busy
            If too many wait.
        """
        with self._some:
            if tab:
                self._give_up(tab, key)
            job = self._jobs.get(key)
            if job is None or job.to_do_again:
                if len(self._waiting) >= MOST_WAITING:
                    raise Busy
                job = Job(key, what, self.longest)
                self._jobs[key] = job
                self._waiting.append(job)
                self._some.notify()
            if job.status == "waiting":
                self._give_up_left()
            self._jobs.move_to_end(key)
            job.touched = time.monotonic()
            if tab and not job.ended:
                job.tabs.add(tab)
            self._forget()
            return job

    def known(self, key: str) -> Job | None:
        """The job of a question, if there is one."""
        with self._some:
            job = self._jobs.get(key)
            if job is not None:
                job.touched = time.monotonic()
            return job

    def cancel(self, key: str) -> None:
        """End a job early."""
        with self._some:
            job = self._jobs.get(key)
            if job is not None and not job.ended:
                job.wanted, job.cancelled = False, True
                if job.status == "waiting":
                    job.status = "stopped"

    def again(self, key: str) -> None:
        """Forget what came of a question, so that it is asked anew."""
        with self._some:
            job = self._jobs.get(key)
            if job is not None and job.ended:
                del self._jobs[key]

    @property
    def idle(self) -> bool:
        """Whether nothing waits or runs."""
        with self._some:
            return all(job.ended for job in self._jobs.values())

    def close(self) -> None:
        """End everything."""
        with self._some:
            self._closed = True
            for job in self._jobs.values():
                job.wanted = False
            self._some.notify()
        self._thread.join(timeout=2.0)

    def _give_up(self, tab: str, key: str) -> None:
        for other in list(self._jobs.values()):
            if other.key == key or other.ended or tab not in other.tabs:
                continue
            other.tabs.discard(tab)
            if not other.tabs:
                other.wanted = False
                if other.status == "waiting":
                    other.status = "stopped"
                # Whoever asks again gets a new job, not what is left of this one.
                self._jobs.pop(other.key, None)

    def _give_up_left(self) -> None:
        """End what runs for a page that nobody looks at any more, because something waits for it."""
        for other in list(self._jobs.values()):
            if other.status == "running" and time.monotonic() - other.touched > LEFT:
                other.wanted = False
                # Whoever comes back to the page gets a new job.
                del self._jobs[other.key]

    def _forget(self) -> None:
        ended = [job for job in self._jobs.values() if job.ended]
        for job in ended[: max(0, len(ended) - KEPT)]:
            del self._jobs[job.key]

    def _next(self) -> Job | None:
        with self._some:
            while not self._closed:
                while self._waiting:
                    job = self._waiting.popleft()
                    if job.status != "waiting":
                        continue
                    job.began = time.monotonic()
                    if job.asked:
                        # Nobody has looked for it while it waited.
                        job.status = "stopped"
                        continue
                    job.status = "running"
                    return job
                self._some.wait()
            return None

    def _run(self) -> None:
        while (job := self._next()) is not None:
            self._do(job)

    def _do(self, job: Job) -> None:
        result, status = None, "failed"
        try:
            result = self.work(job)
            status = "done"
        except Cancelled:
            status = "stopped"
        except FindingsError as error:
            job.wrong = tuple(f"{one.message}{f'; {one.fix}' if one.fix else ''}" for one in error.findings[:8])
            job.words = "the scenario cannot be so"
        except ConfigoptError as error:
            # Whoever ended it knows why nothing came of it.
            status = "stopped" if job.cancelled else "failed"
            job.words = str(error)
        except Exception:
            self.log(traceback.format_exc())
            job.words = "something went wrong inside the program; the terminal in which it runs says more"
        with self._some:
            job.result = result
            job.late = job.seconds > job.longest
            job.status = status  # type: ignore[assignment]
            if job.status == "done" and not job.wanted:
                job.status = "stopped"


class Cancelled(Exception):
    """The job was ended before anything came of it."""
