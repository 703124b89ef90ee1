"""The pages of a project and of a scenario in a state, and the parts that follow every change."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, quote, urlencode

from anyio import to_thread
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from configopt.desk.answer import Shown
from configopt.desk.jobs import Job
from configopt.desk.laid_view import present_text
from configopt.desk.project import Opened
from configopt.desk.service import choice_key, settled
from configopt.desk.site import MOST_FIELDS, PAGE_WAITS, PART_WAITS, Site
from configopt.desk.state import State
from configopt.desk.views import desk_view
from configopt.scenario.limits import LIMITS
from configopt.sheet.figures import unit_words

_STATIC = Path(__file__).parent / "static"
_KINDS = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}
FILES = {path.name: path.read_bytes() for path in sorted(_STATIC.iterdir()) if path.suffix in _KINDS}
#: Pages of a scenario that a form may lead back to.
_PLACES = ("tradeoff", "shortlist", "why", "giving", "keep")


class Pages:
    """Pages that show a choice, and what moves it."""

    def __init__(self, site: Site) -> None:
        self.site, self.desk = site, site.desk

    async def start(self, request: Request) -> Response:
        """The scenarios of the project."""
        listed = await to_thread.run_sync(self.desk.project.titles)
        return self.site.page("start.html", listed=listed, folder=self.desk.project.folder.name)

    async def static(self, request: Request) -> Response:
        """Styles and scripts, all held in memory."""
        name = request.path_params["name"]
        if name not in FILES:
            raise HTTPException(404)
        kind = _KINDS[Path(name).suffix]
        return Response(FILES[name], media_type=kind, headers={"cache-control": "private, max-age=600"})

    async def scenario(self, request: Request) -> Response:
        """The page of a scenario in a state."""
        until = time.monotonic() + PAGE_WAITS
        name, opened = await self.site.opened(request)
        state = self.site.state(request, opened)
        # Compared as read: browsers differ in how they write an address.
        asked = parse_qsl(request.url.query, keep_blank_values=True)
        if asked != state.pairs() and not state.notes:
            return RedirectResponse(self.site.address(name, state), 303)
        job = self.desk.choice(name, opened, state)
        seen = await settled(job, until - time.monotonic())
        if not seen.ended:
            return self.site.page("waiting.html", **self.site.about(name, opened, state), job=seen, refresh=2)
        return self.site.page("desk.html", **await self._answered(name, opened, state, seen))

    async def answer(self, request: Request) -> Response:
        """What changes on the page, for the script; anybody else is sent to the page."""
        name, opened = await self.site.opened(request)
        state = self.site.state(request, opened)
        if not request.headers.get("hx-request"):
            return RedirectResponse(self.site.address(name, state), 303)
        job = self.desk.choice(name, opened, state, request.headers.get("x-tab", "")[:40])
        asked = dict(request.query_params)
        seen = await settled(job, PART_WAITS)
        first = asked.get("from") == "waiting"
        if seen.status == "stopped" and seen.result is None and not first and self.desk.replaced(opened, state, job):
            # A newer question of the same tab took its place.
            return Response(status_code=204)
        still = self.site.still(request, seen, "choice")
        if still is not None:
            return still
        address = {"HX-Replace-Url": self.site.address(name, state)}
        since = asked.get("stamp", "")[:40]
        other_files = since not in ("", opened.stamp)
        pressed = any(value for key, value in request.query_params.multi_items() if key == "do")
        swap = "all" if pressed or other_files or asked.get("swap") == "all" else ""
        if not seen.ended:
            about = await self._answered(name, opened, state, seen)
            return self.site.page("part_working.html", headers=address, **about, swap=swap, first=first, since=since)
        if first:
            return Response(status_code=200, headers={"HX-Redirect": self.site.address(name, state)})
        about = await self._answered(name, opened, state, seen)
        return self.site.page("part_answer.html", headers=address, **about, swap=swap, other_files=other_files)

    async def files(self, request: Request) -> Response:
        """Whether a page was made from the files as they are now."""
        name = await self.site.listed(request)
        stamp = await to_thread.run_sync(self.desk.project.stamp, name)
        if stamp == request.query_params.get("stamp", ""):
            return Response(status_code=204)
        return self.site.page("part_files.html")

    async def cancel(self, request: Request) -> Response:
        """End what is being worked out."""
        form = dict(await self.site.form(request))
        self.desk.cancel(form.get("key", ""))
        return RedirectResponse(self._back(form), 303)

    async def again(self, request: Request) -> Response:
        """Ask anew what was ended."""
        form = dict(await self.site.form(request))
        self.desk.again(form.get("key", ""))
        return RedirectResponse(self._back(form), 303)

    def _back(self, form: Mapping[str, str]) -> str:
        """Where a form came from: a page of a listed scenario, put together anew."""
        name, where = form.get("scenario", ""), form.get("where", "")
        if name not in self.desk.project.listed():
            return "/"
        try:
            pairs = parse_qsl(form.get("state", "")[:16_000], keep_blank_values=True, max_num_fields=MOST_FIELDS)
        except ValueError:
            pairs = []
        path = f"/s/{quote(name)}" + (f"/{where}" if where in _PLACES else "")
        return f"{path}?{urlencode(pairs, safe='~')}" if pairs else path

    async def _answered(self, name: str, opened: Opened, state: State, job: Job) -> dict[str, Any]:
        shown: Shown | None = job.result
        if shown is not None:
            shown = replace(shown, laid=await to_thread.run_sync(self.desk.laid, name, opened, state))
        base = self.desk.known_choice(name, opened, State(state.vehicle))
        decisions = self.desk.project.decisions(name, state.vehicle)
        offers = [("today", "today’s packages")] if shown is not None and shown.today is not None else []
        offers += [(f"file:{text}", f"decision {text}") for text in list(decisions)[:20]]
        if state.changed and base is not None and base.record is not None:
            offers.append((present_text(base), "the choice as the file stands"))
        if present_text(shown):
            offers.append((present_text(shown), "this choice, to keep it in sight"))
        more = [
            (limit.key, limit.wording, unit_words(limit.unit))
            for limit in LIMITS.values()
            if limit.relaxable and not any(row == limit.key for row in opened.movable(state.vehicle).limits)
        ]
        return {
            **self.site.about(name, opened, state),
            "job": job,
            "shown": shown,
            "view": desk_view(shown, state, opened, self.desk.fits(name, opened, state)),
            "offers": [(text, words) for text, words in offers if text not in state.beside],
            "more_limits": more,
            "key": choice_key(name, opened, state),
            "refresh": 0,
        }
