"""Serving the page of a project until somebody ends it."""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Callable
from pathlib import Path

import click
import uvicorn

from configopt.desk.app import application
from configopt.desk.security import Gate

#: Connections at once, and seconds that an idle one is kept.
MOST_CONNECTIONS, IDLE = 64, 10


def serve(folder: Path, listening: socket.socket, host: str, say: Callable[[str], None]) -> None:
    """Serve a project.

    Parameters
    ----------
    folder
        The project.
    listening
        Bound to the address.
    host
        As it was asked for.
    say
        Is told of errors.
    """
    port = listening.getsockname()[1]
    gate = application(folder, host=host, port=port, log=say)
    shown = f"[{host}]" if ":" in host else host
    click.echo(f"http://{shown}:{port}/")
    # Ctrl-C is how it is meant to end.
    with contextlib.suppress(KeyboardInterrupt):
        server(gate).run(sockets=[listening])


def server(gate: Gate) -> uvicorn.Server:
    """A server of the application: it keeps no log of requests, and says nothing about itself."""
    config = uvicorn.Config(
        gate,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        ws="none",
        limit_concurrency=MOST_CONNECTIONS,
        timeout_keep_alive=IDLE,
        timeout_graceful_shutdown=1,
        h11_max_incomplete_event_size=65_536,
        http="h11",
    )
    return uvicorn.Server(config)
