"""Variants computed on an existing cluster of Dask workers; needs the extra ``cluster``."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from configopt.errors import ConfigoptError, UsageError
from configopt.sweep.changing import Base, program
from configopt.sweep.tasks import Done, Sent, Task, compute, failed

#: Seconds in which a scheduler has to answer.
CONNECT = 10
#: Tasks that are handed over at a time, per thread of the cluster.
AHEAD = 3
#: How often a task is begun again whose worker is lost.
RETRIES = 2


def require_distributed() -> None:
    """Refuse before any long computation where there is no way to a cluster.

    Raises
    ------
    UsageError
        If distributed is not installed.
    """
    if find_spec("distributed") is None:
        raise UsageError("a cluster needs distributed: pip install 'configopt[cluster]'")


class Cluster:
    """Computes on the workers of a scheduler, which must have the same configopt."""

    def __init__(self, base: Base, address: str) -> None:
        """Connect.

        Raises
        ------
        UsageError
            If the address is none.
        ConfigoptError
            If no scheduler answers, it has no workers, or they have another version of this program.
        """
        require_distributed()
        _require_address(address)
        self.address = address
        try:
            self._client: Any = _distributed().Client(address, timeout=CONNECT, set_as_default=False)
        except (OSError, ValueError) as error:
            raise ConfigoptError(f"no scheduler answers at {address}: {error}") from error
        try:
            self._require_same()
            # A task of its own, so that the scheduler can make it again where the worker that has it is lost.
            self._sent = self._client.submit(_same, Sent.of(base), pure=False)
        except BaseException:
            self._client.close()
            raise

    def _require_same(self) -> None:
        workers = self._client.scheduler_info(n_workers=-1)["workers"]
        if not workers:
            raise ConfigoptError(f"the cluster at {self.address} has no workers")
        try:
            found = self._client.run(_program)
        except ModuleNotFoundError as error:
            raise ConfigoptError(f"the workers at {self.address} lack a package: {error}") from error
        others = sorted(worker for worker, mine in found.items() if mine != program())
        if others:
            raise ConfigoptError(
                f"{', '.join(others[:3])} has another version of configopt; install the same one everywhere"
            )
        self._room = AHEAD * sum(worker["nthreads"] for worker in workers.values())

    def run(self, tasks: Iterable[Task]) -> Iterator[Done]:
        """Compute tasks, a few more at a time than the cluster has threads."""
        source = iter(tasks)
        waiting: dict[str, Task] = {}
        completed = _distributed().as_completed(loop=self._client.loop)

        def hand_over(count: int) -> None:
            for task in itertools.islice(source, count):
                future = self._client.submit(compute, self._sent, task, pure=False, retries=RETRIES)
                waiting[future.key] = task
                completed.add(future)

        hand_over(self._room)
        while waiting:
            future = next(completed)
            task = waiting.pop(future.key)
            hand_over(1)
            if future.status == "finished":
                yield Done(task, *future.result())
            else:
                yield Done(task, failed(f"the cluster lost it: {_reason(future)}"))
            future.release()

    def close(self) -> None:
        """Let go of the cluster; it keeps running."""
        self._client.close()


def _require_address(address: str) -> None:
    """Refuse what is no address before anything is begun: a client that cannot begin takes long to give up."""
    try:
        import_module("distributed.comm").get_address_host_port(address)
    except ValueError as error:
        raise UsageError(f'"{address}" is no address of a scheduler ({error}); write tcp://host:8786') from error


def _distributed() -> Any:
    return import_module("distributed")


def _same(sent: Sent) -> Sent:
    return sent


def _program() -> str:
    return program()


def _reason(future: Any) -> str:
    try:
        return str(future.exception())
    except Exception as error:
        return f"{type(error).__name__}: {error}"
