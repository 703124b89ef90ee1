"""A process for long questions, started as ``python -m configopt.desk.errand_process``.

It reads errands from standard input and writes to standard output: lines of progress, then what came of it.  A
thread of its own reads, so that an errand can be called off while it is done.
"""

from __future__ import annotations

import os
import queue
import sys
import threading
import traceback
from typing import Any

from configopt.choice.solve import Stop
from configopt.errors import ConfigoptError, FindingsError
from configopt.sweep.worker import receive, send


def main() -> None:
    """Do errands until there are no more."""
    answers = os.fdopen(os.dup(1), "wb")
    # Whatever a library prints goes to standard error and not between the answers.
    os.dup2(2, 1)
    errands: queue.Queue[Any] = queue.Queue()
    stop = Stop()

    def read() -> None:
        try:
            while True:
                message = receive(sys.stdin.buffer)
                if message == "stop":
                    stop.asked = True
                else:
                    errands.put(message)
        except (EOFError, OSError):
            # The page has gone; whatever runs is of no use to anybody.
            os._exit(0)

    threading.Thread(target=read, daemon=True).start()
    from configopt.desk.errands import Errand, carried_out

    while True:
        errand: Errand = errands.get()
        stop.asked = False
        try:
            result = ("done", carried_out(errand, stop, lambda text: send(answers, ("progress", text))))
        except FindingsError as error:
            result = ("wrong", [one.message for one in error.findings[:8]])
        except ConfigoptError as error:
            result = ("refused", str(error))
        except Exception:
            traceback.print_exc(file=sys.stderr)
            result = ("broken", None)
        try:
            send(answers, result)
        except OSError:
            os._exit(0)


if __name__ == "__main__":
    main()
