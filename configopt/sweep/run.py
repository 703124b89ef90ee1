"""A run over variants: what is kept is read, the rest computed, and every answer kept as soon as it is there."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from configopt.errors import FindingsError
from configopt.scenario.variants import Planned
from configopt.sweep.answers import Kept, Record
from configopt.sweep.changing import Base, changed
from configopt.sweep.engines import Engine
from configopt.sweep.store import Store, key_of
from configopt.sweep.tasks import Done, Task

#: Seconds between two lines of progress.
EVERY = 2.0


@dataclass
class Solved:
    """A variant with its answer; ``record`` is its best choice, where there is one."""

    number: int
    planned: Planned
    answer: dict[str, Any]
    record: Record | None = None

    @property
    def optimal(self) -> bool:
        """Whether its best choice is known and proven."""
        return bool(self.answer["status"] == "optimal")


@dataclass
class Run:
    """Computes variants on an engine."""

    base: Base
    engine: Engine
    store: Store
    kept: tuple[Kept, ...] = ()
    progress: Callable[[str], None] | None = None
    from_before: int = 0
    """Answers that were there already."""
    computed: int = field(default=0)

    def solve(
        self,
        planned: Iterable[Planned],
        total: int | None = None,
        first: int = 0,
        starts: Sequence[tuple[Record, ...]] = (),
    ) -> Iterator[Solved]:
        """Answer variants, in whatever order they become known.

        Parameters
        ----------
        planned : the variants
        total : how many there are, for the progress; without it none is shown
        first : number of the first one
        starts : choices to begin with in each of them
        """
        ready: deque[Solved] = deque()
        keys: dict[int, str] = {}

        def tasks() -> Iterator[Task]:
            for number, one in enumerate(planned, start=first):
                try:
                    case = changed(self.base, one)
                except FindingsError as error:
                    found = [str(finding) for finding in error.findings]
                    ready.append(Solved(number, one, {"status": "not valid", "findings": found}))
                    continue
                key = key_of(case, self.kept)
                before = self.store.read(key)
                if before is not None:
                    self.from_before += 1
                    ready.append(Solved(number, one, *before))
                    continue
                keys[number] = key
                begin = starts[number - first] if starts else ()
                yield Task(number, "solve", one, (self.kept, begin))

        clock = _Clock(self.progress if total else None, total or 0)
        for done in self.engine.run(tasks()):
            while ready:
                clock.passed(computed=False)
                yield ready.popleft()
            self.computed += 1
            record: Record | None = done.extra
            self.store.write(keys.pop(done.task.number), done.answer, record)
            clock.passed(computed=True)
            yield Solved(done.task.number, done.task.planned, done.answer, record)
        while ready:
            clock.passed(computed=False)
            yield ready.popleft()

    def solve_all(self, planned: Sequence[Planned], starts: Sequence[tuple[Record, ...]] = ()) -> list[Solved]:
        """Answers of some variants, in their order."""
        return sorted(self.solve(planned, starts=starts), key=lambda one: one.number)

    def tasks(self, tasks: Sequence[Task]) -> list[Done]:
        """What came of other tasks, in their order."""
        order = {id(task): place for place, task in enumerate(tasks)}
        return sorted(self.engine.run(tasks), key=lambda done: order[id(done.task)])

    def say(self, text: str) -> None:
        """Progress, if anybody listens."""
        if self.progress is not None:
            self.progress(text)


class _Clock:
    """Says how many variants are done and how long the rest will take."""

    def __init__(self, progress: Callable[[str], None] | None, total: int) -> None:
        self.progress, self.total = progress, total
        self.began = self.said = time.monotonic()
        self.done = self.computed = 0

    def passed(self, *, computed: bool) -> None:
        """One more is done; whether it had to be computed."""
        self.done += 1
        self.computed += computed
        now = time.monotonic()
        if self.progress is None or (now - self.said < EVERY and self.done < self.total):
            return
        self.said = now
        text = f"{self.done:,} of {self.total:,} variants"
        left = self.total - self.done
        if left and self.computed:
            text += f", about {duration((now - self.began) / self.computed * left)} left"
        self.progress(text)


def duration(seconds: float) -> str:
    """A time as people say it.

    >>> duration(0.4), duration(42.0), duration(200.0), duration(9000.0)
    ('1 s', '42 s', '3 min', '2.5 h')
    """
    if seconds < 90.0:
        return f"{max(round(seconds), 1)} s"
    return f"{round(seconds / 60.0)} min" if seconds < 5400.0 else f"{seconds / 3600.0:.1f} h"
