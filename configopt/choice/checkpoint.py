"""Where a long computation looks whether it was asked to end.

Bounds of a large catalog take seconds, and whoever cancels waits a fraction of one at most.  The functions that make
them do not know the search they are made for, so the search says for a while what is to be called now and then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_CALLED: ContextVar[Callable[[], None] | None] = ContextVar("checkpoint", default=None)


def checkpoint() -> None:
    """Call what the running search set, which may raise to end it; nothing outside of a search."""
    called = _CALLED.get()
    if called is not None:
        called()


@contextmanager
def checking(called: Callable[[], None]) -> Iterator[None]:
    """Have ``called`` called at every checkpoint in this block."""
    token = _CALLED.set(called)
    try:
        yield
    finally:
        _CALLED.reset(token)
