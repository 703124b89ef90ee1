"""The application: routes, errors, and the gate in front of them."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.routing import Route

from configopt.desk.keep_pages import KeepPages
from configopt.desk.pages import Pages
from configopt.desk.question_pages import QuestionPages
from configopt.desk.refusal_pages import RefusalPages
from configopt.desk.security import Gate, own_names, token
from configopt.desk.service import Desk
from configopt.desk.site import Site


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
    site = Site(desk, token())
    pages, questions, keeping = Pages(site), QuestionPages(site), KeepPages(site)

    @asynccontextmanager
    async def running(app: Starlette) -> AsyncIterator[None]:
        try:
            yield
        finally:
            desk.close()

    base = "/s/{name}"
    app = Starlette(
        routes=[
            Route("/", pages.start),
            Route("/static/{name}", pages.static),
            Route(base, pages.scenario),
            Route(f"{base}/answer", pages.answer),
            Route(f"{base}/files", pages.files),
            Route(f"{base}/tradeoff", questions.tradeoff),
            Route(f"{base}/shortlist", questions.shortlist),
            Route(f"{base}/why", questions.why),
            Route(f"{base}/giving", questions.giving),
            Route(f"{base}/keep", keeping.keep, methods=["GET"]),
            Route(f"{base}/keep", keeping.write, methods=["POST"]),
            Route("/cancel", pages.cancel, methods=["POST"]),
            Route("/again", pages.again, methods=["POST"]),
        ],
        exception_handlers=RefusalPages(site).handlers(),
        lifespan=running,
    )
    app.router.redirect_slashes = False
    gate = Gate(app, names=own_names(host, port))
    gate.desk = desk
    gate.token = site.token
    return gate
