"""Pages for what cannot be shown, and for what has to be waited for."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from configopt.desk.jobs import Busy
from configopt.desk.site import MOST_FIELDS, TOO_LONG, LinkedFromElsewhere, Site, StillReading
from configopt.errors import ConfigoptError, FindingsError

#: Ids of the parts of a page that the script fills by themselves; all others are filled by a whole page.
PARTS = ("status", "trade", "files")


class RefusalPages:
    """One page, or part of one, for each kind of error."""

    def __init__(self, site: Site) -> None:
        self.site = site

    def handlers(self) -> Mapping[Any, Callable[..., Any]]:
        """Who answers which error."""
        return {
            StillReading: self.reading,
            LinkedFromElsewhere: self.linked,
            HTTPException: self.refused,
            FindingsError: self.wrong,
            ConfigoptError: self.wrong,
            Busy: self.busy,
            Exception: self.broken,
        }

    async def reading(self, request: Request, error: Exception) -> Response:
        """A page that waits for the files to be read."""
        where = f"{request.url.path}?{request.url.query}" if request.url.query else request.url.path
        target = part_target(request)
        if target:
            return self.site.page("part_reading.html", where=where, target=target, before=has_answer(request))
        return self.site.page("reading.html", where=where, refresh=1)

    async def linked(self, request: Request, error: Exception) -> Response:
        """A page with a button, for who came by a link of another site."""
        try:
            pairs = parse_qsl(request.url.query, keep_blank_values=True, max_num_fields=MOST_FIELDS)
        except ValueError:
            return self._no(request, 414, TOO_LONG)
        return self.site.page("linked.html", path=request.url.path, pairs=pairs)

    async def refused(self, request: Request, error: Exception) -> Response:
        """A page for what cannot be shown."""
        status = error.status_code if isinstance(error, HTTPException) else 500
        words = {404: "There is no such page.", 405: "This page is read, and forms are sent to it; nothing else."}
        said = error.detail if isinstance(error, HTTPException) else ""
        if not said or said in ("Not Found", "Method Not Allowed"):
            said = words.get(status, "This cannot be shown.")
        return self._no(request, status, said)

    async def wrong(self, request: Request, error: Exception) -> Response:
        """A page for files that are wrong."""
        found = error.findings if isinstance(error, FindingsError) else []
        findings = [replace(one, path=self._within(one.path)) for one in found]
        words = "A file of this scenario is wrong." if findings else str(error)
        return self._no(request, 422, words, findings=findings[:50])

    async def busy(self, request: Request, error: Exception) -> Response:
        """A page for too much at once."""
        words = "Too much is being worked out already. Wait a moment, then ask again."
        return self._no(request, 503, words, {"retry-after": "5"})

    async def broken(self, request: Request, error: Exception) -> Response:
        """A page for what was not foreseen; the terminal has the rest."""
        words = "Something went wrong inside the program. The terminal in which it runs says more; please report it."
        return self._no(request, 500, words)

    def _within(self, path: str) -> str:
        """A path as seen from the project."""
        try:
            return Path(os.path.normpath(path)).relative_to(self.site.desk.project.folder).as_posix()
        except ValueError:
            return Path(path).name

    def _no(
        self, request: Request, status: int, words: str, headers: Mapping[str, str] | None = None, findings: Any = ()
    ) -> Response:
        """What cannot be shown, as a page or as the part of one that the script asked for."""
        template = "part_refused.html" if part_target(request) else "refused.html"
        before = has_answer(request)
        return self.site.page(template, status, headers, words=words, findings=findings, before=before)


def part_target(request: Request) -> str:
    """Id of the part of a page that the script is to fill with the answer; empty where the answer is a page."""
    target = request.headers.get("hx-target", "") if request.headers.get("hx-request") else ""
    return target if target in PARTS else ""


def has_answer(request: Request) -> bool:
    """Whether the part that is asked for stands above an answer that was there before."""
    return part_target(request) == "status" and request.query_params.get("from") != "waiting"
