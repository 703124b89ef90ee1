"""What is sent to whoever computes: one task at a time, answered from the scenario that was sent before."""

from __future__ import annotations

import gc
import hashlib
import pickle
import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import Any, Literal

from configopt.scenario.variants import Planned
from configopt.sweep.changing import Base, program

#: Scenarios that one process keeps at a time.
KEPT_BASES = 2
Kind = Literal["solve", "merge", "judge", "list"]


@dataclass(frozen=True)
class Task:
    """One thing to compute: the variant, what to do with it, and what that needs.

    ``number`` is the variant's, ``of`` what the task needs beside it.
    """

    number: int
    kind: Kind
    planned: Planned
    of: Any = None


@dataclass(frozen=True)
class Done:
    """What came of a task: its answer, and what goes with it that is no part of the answer."""

    task: Task
    answer: dict[str, Any]
    extra: Any = None


@dataclass(frozen=True)
class Sent:
    """A scenario with its catalogs as bytes, the fingerprint of the program that made them, and their own."""

    content: bytes
    program: str
    digest: str

    @staticmethod
    def of(base: Base) -> Sent:
        """Pack a scenario."""
        content = pickle.dumps(base, protocol=5)
        return Sent(content, program(), hashlib.sha256(content).hexdigest())


_BASES: OrderedDict[str, Base] = OrderedDict()
#: The solver's setup and its file descriptors belong to the process, so one task runs at a time in each.
_ONE = threading.Lock()


def compute(sent: Sent, task: Task) -> tuple[dict[str, Any], Any]:
    """Compute a task; what goes wrong in it becomes its answer, so that the others go on.

    Returns
    -------
    tuple
        The answer as JSON, and what goes with it.
    """
    if sent.program != program():
        return failed("the program that computes is another version; install the same one everywhere"), None
    with _ONE:
        base = _BASES.get(sent.digest)
        if base is None:
            base = pickle.loads(sent.content)
            _BASES[sent.digest] = base
            while len(_BASES) > KEPT_BASES:
                _BASES.popitem(last=False)
        found = computed(base, task)
        # Vehicles and their tables refer to each other, and few large tables do not make the collector look.
        gc.collect()
        return found


def computed(base: Base, task: Task) -> tuple[dict[str, Any], Any]:
    """The same with the scenario at hand."""
    from configopt.sweep.answers import answer
    from configopt.sweep.changing import changed
    from configopt.sweep.merging import merged
    from configopt.sweep.regrets import judged_rows, listed_rows

    try:
        if task.kind == "solve":
            return answer(changed(base, task.planned), *task.of)
        if task.kind == "judge":
            return {"status": "judged"}, judged_rows(base, changed(base, task.planned), task.of)
        others, *of = task.of
        if task.kind == "merge":
            return answer(merged(base, task.planned, others), *of)
        return {"status": "listed"}, listed_rows(base, merged(base, task.planned, others), *of)
    except Exception as error:
        # A mistake in this program, or a machine that fails, in one variant is no reason to lose the others.
        return failed(f"{type(error).__name__}: {error}"), None


def failed(reason: str) -> dict[str, Any]:
    """The answer of a variant that could not be computed."""
    return {"status": "failed", "reason": reason[:500]}
