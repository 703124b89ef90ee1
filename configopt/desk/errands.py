"""Long questions: the trade-off, the short list, why not a part, what has to give way, other choices.

They are done in a process of their own, so that the page stays quick meanwhile and a question can always be ended.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from configopt.desk.jobs import Cancelled, Job
from configopt.desk.state import State
from configopt.errors import UsageError
from configopt.sweep.worker import receive, send

#: Seconds in which a process has to end what it was asked to end.
PATIENCE = 3.0


@dataclass(frozen=True)
class Errand:
    """One long question about a scenario in a state."""

    kind: str
    """``tradeoff``, ``shortlist``, ``why``, ``gives way``, ``whole`` or ``decide``."""
    scenario: str
    """Path of its file."""
    stamp: str
    state: State
    part: str = ""
    time_limit: float = 120.0


def carried_out(errand: Errand, stop: Any, say: Callable[[str], None]) -> Any:
    """Do an errand in this process."""
    from configopt.desk import long_questions

    opened = _opened(errand.scenario, errand.stamp)
    return long_questions.KINDS[errand.kind](opened, errand, stop, say)


@lru_cache(maxsize=2)
def _opened(scenario: str, stamp: str) -> Any:
    """The scenario of an errand, as whoever asked saw it.

    Raises
    ------
    UsageError
        If its files have changed since.
    """
    from configopt.desk.project import read_scenario

    opened = read_scenario(Path(scenario))
    if opened.stamp != stamp:
        raise UsageError("the scenario or its catalogs changed meanwhile: load the page anew")
    return opened


class Runner:
    """Hands errands to a process, one at a time; starts it when it is needed, and anew when it had to be killed."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._lock = threading.Lock()
        self._closed = False

    def __call__(self, job: Job) -> Any:
        """Do a job whose question is an errand.

        Raises
        ------
        Cancelled
            If it was asked to end before anything came of it.
        UsageError
            If it was refused, or its process was ended from outside.
        """
        if job.asked:
            raise Cancelled
        process = self._started()
        assert process.stdin is not None
        assert process.stdout is not None
        over = threading.Event()
        watch = threading.Thread(target=self._watch, args=(job, process, over), daemon=True)
        try:
            send(process.stdin, job.what)
            watch.start()
            while True:
                kind, content = receive(process.stdout)
                if kind != "progress":
                    break
                job.say(content)
        except (EOFError, OSError):
            self._end()
            if job.asked or self._closed:
                raise Cancelled from None
            # It is not begun anew by itself: whatever ended it might end it again.
            raise UsageError(
                "the process that worked it out was ended from outside, perhaps because memory ran out"
            ) from None
        finally:
            over.set()
        if kind == "done":
            return content
        if kind == "wrong":
            raise UsageError("; ".join(content))
        if kind == "refused":
            raise UsageError(content)
        raise RuntimeError("an errand broke off; its process said why above")

    def close(self) -> None:
        """End the process."""
        self._closed = True
        self._end()

    def _started(self) -> subprocess.Popen[bytes]:
        with self._lock:
            if self._closed:
                raise Cancelled
            if self._process is None or self._process.poll() is not None:
                root = str(Path(__file__).parents[2])
                path = os.pathsep.join(part for part in (root, os.environ.get("PYTHONPATH", "")) if part)
                environment = {**os.environ, "PYTHONPATH": path}
                for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
                    environment[name] = "1"
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "configopt.desk.errand_process"],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    env=environment,
                    # Ctrl-C in a terminal is the page's to deal with.
                    start_new_session=True,
                )
            return self._process

    def _watch(self, job: Job, process: subprocess.Popen[bytes], over: threading.Event) -> None:
        """Ask the process to end when the job is, and kill it where it does not."""
        asked_at: float | None = None
        while not over.wait(0.05):
            if not job.asked:
                continue
            if asked_at is None:
                asked_at = time.monotonic()
                with contextlib.suppress(OSError, ValueError):
                    assert process.stdin is not None
                    send(process.stdin, "stop")
            elif time.monotonic() - asked_at > PATIENCE:
                process.kill()
                return

    def _end(self) -> None:
        with self._lock:
            process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()
