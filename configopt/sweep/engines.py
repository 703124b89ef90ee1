"""Where variants are computed: in this process, in processes of this machine, or on a cluster.  The answers are equal.

An engine takes tasks as it can use them, so that a large grid is never written out, and gives what came of each as
soon as it is known, in whatever order.
"""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Protocol

from configopt.sweep.changing import Base
from configopt.sweep.tasks import Done, Sent, Task, computed, failed
from configopt.sweep.worker import receive, send

#: How often a task is begun whose process ends in the middle.
ATTEMPTS = 3


class Engine(Protocol):
    """Computes tasks."""

    def run(self, tasks: Iterable[Task]) -> Iterator[Done]:
        """Compute tasks, in any order."""
        ...

    def close(self) -> None:
        """End what was started."""
        ...


class Here:
    """Computes in this process, one task after the other."""

    def __init__(self, base: Base) -> None:
        self.base = base

    def run(self, tasks: Iterable[Task]) -> Iterator[Done]:
        """Compute tasks in their order."""
        for task in tasks:
            yield Done(task, *computed(self.base, task))

    def close(self) -> None:
        """Nothing was started."""


class Processes:
    """Computes in processes of this machine; one that ends in the middle of a task is replaced, the task begun again.

    They are processes of their own rather than a pool of the standard library: that one hangs or gives everything up
    when a process is killed, and leaves its processes behind when the parent is.
    """

    def __init__(self, base: Base, jobs: int) -> None:
        self.sent, self.jobs = Sent.of(base), jobs
        self._processes: list[subprocess.Popen[bytes] | None] = [None] * jobs
        self._closed = False
        self._lock = threading.Lock()

    @property
    def pids(self) -> list[int]:
        """Numbers of the running processes."""
        return [process.pid for process in self._processes if process is not None]

    def run(self, tasks: Iterable[Task]) -> Iterator[Done]:
        """Compute tasks, as many at a time as there are processes."""
        source, taking = iter(tasks), threading.Lock()
        results: queue.Queue[Done | BaseException | None] = queue.Queue()

        def work(slot: int) -> None:
            try:
                while not self._closed:
                    with taking:
                        task = next(source, None)
                    if task is None:
                        return
                    results.put(self._one(slot, task))
            except BaseException as error:
                results.put(error)
            finally:
                results.put(None)

        threads = [threading.Thread(target=work, args=(slot,), daemon=True) for slot in range(self.jobs)]
        for thread in threads:
            thread.start()
        left = len(threads)
        while left:
            result = results.get()
            if result is None:
                left -= 1
            elif isinstance(result, BaseException):
                self.close()
                raise result
            else:
                yield result

    def _one(self, slot: int, task: Task) -> Done:
        code: int | None = None
        for _ in range(ATTEMPTS):
            if self._closed:
                break
            process = self._process(slot)
            assert process.stdin is not None
            assert process.stdout is not None
            try:
                send(process.stdin, task)
                return Done(task, *receive(process.stdout))
            except (EOFError, OSError):
                code = self._end(slot)
        return Done(task, failed(f"the process that computed it ended {ATTEMPTS} times{_how(code)}"))

    def _process(self, slot: int) -> subprocess.Popen[bytes]:
        found = self._processes[slot]
        if found is not None:
            return found
        root = str(Path(__file__).parents[2])
        path = os.pathsep.join(part for part in (root, os.environ.get("PYTHONPATH", "")) if part)
        environment = {**os.environ, "PYTHONPATH": path}
        # The processes are what runs side by side.
        for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
            environment[name] = "1"
        process = subprocess.Popen(
            [sys.executable, "-m", "configopt.sweep.worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=environment,
            # Ctrl-C in a terminal is the parent's to deal with.
            start_new_session=True,
        )
        with self._lock:
            if self._closed:
                process.kill()
            self._processes[slot] = process
        assert process.stdin is not None
        with contextlib.suppress(OSError):  # it may have ended already; the task finds out
            send(process.stdin, self.sent)
        return process

    def _end(self, slot: int) -> int | None:
        process, self._processes[slot] = self._processes[slot], None
        return None if process is None else _ended(process)

    def close(self) -> None:
        """End all processes; a task that runs is lost."""
        with self._lock:
            self._closed = True
            running = [process for process in self._processes if process is not None]
        for process in running:
            process.kill()
        for process in running:
            _ended(process)
        self._processes = [None] * self.jobs


def _ended(process: subprocess.Popen[bytes]) -> int | None:
    process.kill()
    code = process.wait()
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            with contextlib.suppress(OSError):
                stream.close()
    return code


def _how(code: int | None) -> str:
    """How a process ended, as words behind a sentence."""
    if code is None:
        return ""
    return f", the last time by signal {-code}" if code < 0 else f", the last time with exit code {code}"


def processors() -> int:
    """Processors this process may use."""
    able: Any = getattr(os, "sched_getaffinity", None)
    return len(able(0)) if able is not None else os.cpu_count() or 1
