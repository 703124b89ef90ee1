"""A process that computes tasks: reads them from standard input and writes what came of them to standard output.

Started as ``python -m configopt.sweep.worker``; it ends when its input does, so it never outlives its parent by more
than the task at hand.
"""

from __future__ import annotations

import os
import pickle
import struct
import sys
from typing import IO, Any

_HEAD = struct.Struct(">Q")


def send(stream: IO[bytes], message: Any) -> None:
    """Write one message, its length first."""
    content = pickle.dumps(message, protocol=5)
    stream.write(_HEAD.pack(len(content)) + content)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Read one message.

    Raises
    ------
    EOFError
        If the other side has gone, in the middle of a message too.
    """
    head = stream.read(_HEAD.size)
    if len(head) < _HEAD.size:
        raise EOFError
    (size,) = _HEAD.unpack(head)
    content = stream.read(size)
    if len(content) < size:
        raise EOFError
    return pickle.loads(content)


def main() -> None:
    """Compute tasks until there are no more."""
    answers = os.fdopen(os.dup(1), "wb")
    # Whatever a library prints goes to standard error and not between the answers.
    os.dup2(2, 1)
    tasks = sys.stdin.buffer
    try:
        sent = receive(tasks)
        from configopt.sweep.tasks import compute

        while True:
            send(answers, compute(sent, receive(tasks)))
    except (EOFError, BrokenPipeError, KeyboardInterrupt):
        os._exit(0)


if __name__ == "__main__":
    main()
