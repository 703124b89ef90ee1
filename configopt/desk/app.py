"""The application: routes, errors, and the gate in front of them."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.routing import Route

from configopt.desk.pages import ERRORS, Pages
from configopt.desk.security import Gate, own_names, token
from configopt.desk.service import Desk


def application(folder: Path, *, host: str = "127.0.0.1", port: int, log: Callable[[str], None] | None = None) -> Gate:
    """The page of a project.

    Parameters
    ----------
    folder
        The project; it has a folder ``scenarios``.
    host, port
        Where the page is served: requests for any other name are refused.
    log
        Is told of unforeseen errors; without it they go to standard error.
    """
    desk = Desk(folder, log=log)
    pages = Pages(desk, token())

    @asynccontextmanager
    async def running(app: Starlette) -> AsyncIterator[None]:
        try:
            yield
        finally:
            desk.close()

    base = "/s/{name}"
    handlers: dict[Any, Any] = {kind: getattr(pages, name) for kind, name in ERRORS.items()}
    app = Starlette(
        routes=[
            Route("/", pages.start),
            Route("/static/{name}", pages.static),
            Route(base, pages.scenario),
            Route(f"{base}/answer", pages.answer),
            Route(f"{base}/tradeoff", pages.tradeoff),
            Route(f"{base}/why", pages.why),
            Route(f"{base}/giving", pages.giving),
            Route(f"{base}/keep", pages.keep, methods=["GET"]),
            Route(f"{base}/keep", pages.write, methods=["POST"]),
            Route("/cancel", pages.cancel, methods=["POST"]),
            Route("/again", pages.again, methods=["POST"]),
        ],
        exception_handlers=handlers,
        lifespan=running,
    )
    app.router.redirect_slashes = False
    gate = Gate(app, names=own_names(host, port))
    gate.desk = desk
    gate.token = pages.token
    return gate
