"""Deciding in a process of its own, so that no catalog can take all time or memory of a check."""

from __future__ import annotations

import errno
import multiprocessing
import signal
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from types import TracebackType

from configopt.guard.verdict import Verdict, judge
from configopt.scenario.case import Case
from configopt.scenario.records import VehicleChoiceRecord

#: Address space of the process [bytes]; the demo catalogs take a tenth.
MEMORY_LIMIT = 6 * 1024**3
#: Share of the time limit after which a search that does not stop by itself is ended.
_GRACE = 2.0
_GRACE_SECONDS = 20.0
_TOO_MUCH_MEMORY = "it takes more memory than a check gives it"
_TOO_LONG = "it did not stop when its time was up"


def _confined(memory: int) -> None:
    # Ctrl-C reaches every process of a terminal; the check ends this one itself.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        import resource
    except ImportError:  # Windows has no such limit
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (memory if hard < 0 else min(memory, hard), hard))


def _lacks_memory(error: Exception) -> bool:
    """Whether a process ended or failed for want of memory, which a library that cannot be loaded says in words."""
    if isinstance(error, ImportError):
        return "failed to map segment" in str(error) or "Cannot allocate memory" in str(error)
    return not isinstance(error, OSError) or error.errno == errno.ENOMEM


class Apart:
    """Decides one case after another in a process of its own, which is replaced when it dies.

    Parameters
    ----------
    time_limit
        For each decision [s].
    memory
        Address space that it may use [bytes].
    """

    def __init__(self, time_limit: float | None, memory: int = MEMORY_LIMIT) -> None:
        self.time_limit, self.memory = time_limit, memory
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> Apart:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end()

    def __call__(self, case: Case, records: tuple[VehicleChoiceRecord, ...], *, accepted_loss: float) -> Verdict:
        """As :func:`configopt.guard.verdict.judge`; what is too much for the limits is ``unproven``."""
        if self._pool is None:
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(1, context, _confined, (self.memory,))
        future: Future[Verdict] = self._pool.submit(
            judge, case, records, accepted_loss=accepted_loss, time_limit=self.time_limit
        )
        most = None if self.time_limit is None else _GRACE * self.time_limit + _GRACE_SECONDS
        try:
            return future.result(most)
        except TimeoutError:  # before OSError, of which it is one
            self._end()
            return Verdict("unproven", reason=_TOO_LONG)
        except (MemoryError, BrokenProcessPool, ImportError, OSError) as error:
            if not _lacks_memory(error):
                raise
            self._end()
            return Verdict("unproven", reason=_TOO_MUCH_MEMORY)

    def _end(self) -> None:
        if self._pool is None:
            return
        # A search that does not end would keep the pool waiting.
        for process in list((self._pool._processes or {}).values()):
            process.kill()
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool = None
