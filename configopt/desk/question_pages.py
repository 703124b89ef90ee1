"""Pages of the long questions: the trade-off, the short list, why not a part, what would have to give way."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from configopt.desk.jobs import Job
from configopt.desk.laid_view import present_text
from configopt.desk.project import Opened
from configopt.desk.reasons_view import giving_view, why_view
from configopt.desk.service import settled
from configopt.desk.shortlist_view import shortlist_view
from configopt.desk.site import PAGE_WAITS, PART_WAITS, Site
from configopt.desk.state import State, done
from configopt.desk.trade_chart import trade_chart


class QuestionPages:
    """A page for each long question about a scenario in a state."""

    def __init__(self, site: Site) -> None:
        self.site, self.desk = site, site.desk

    async def tradeoff(self, request: Request) -> Response:
        """The trade-off of a state, as a page or as a part of one."""
        name, opened = await self.site.opened(request)
        state = self.site.state(request, opened)
        job = self.desk.errand("tradeoff", name, opened, state, tab=request.headers.get("x-tab", "")[:40])
        part = bool(request.headers.get("hx-request"))
        seen = await settled(job, PART_WAITS if part else PAGE_WAITS)
        still = self.site.still(request, seen, "tradeoff")
        if still is not None:
            return still
        here = present_text(self.desk.known_choice(name, opened, state))
        links: list[str] = []
        chart = ""
        found = seen.result if seen.ended else None
        if found is not None:
            links = self._links(name, opened, state, [point["text"] for point in found["points"]])
            if len(found["points"]) > 1:
                chart = trade_chart(found["points"], found["aims"], links, here)
        return self.site.page(
            "part_trade.html" if part else "tradeoff.html",
            **self.site.about(name, opened, state),
            job=seen,
            ended=seen.ended,
            links=links,
            chart=chart,
            here=here,
            refresh=0 if seen.ended else 2,
        )

    async def shortlist(self, request: Request) -> Response:
        """Choices near the best that differ most."""
        name, opened = await self.site.opened(request)
        state = self.site.state(request, opened)
        job = self.desk.errand("shortlist", name, opened, state)
        seen = await settled(job, PAGE_WAITS)
        found = seen.result if seen.ended else None
        return self._answered(
            request,
            "shortlist.html",
            name,
            opened,
            state,
            seen,
            view=None if found is None else shortlist_view(found),
            links=[] if found is None else self._links(name, opened, state, found["texts"]),
            here=present_text(self.desk.known_choice(name, opened, state)),
        )

    async def why(self, request: Request) -> Response:
        """Why a part is in the choice or not."""
        name, opened = await self.site.opened(request)
        state = self.site.state(request, opened)
        part = request.query_params.get("part", "")[:100].strip()
        if part not in opened.parts:
            about = self.site.about(name, opened, state)
            return self.site.page("why.html", **about, part=part, known=False, refresh=0, view=None, job=None)
        job = self.desk.errand("why", name, opened, state, part=part)
        seen = await settled(job, PAGE_WAITS)
        view = why_view(seen.result, opened) if seen.status == "done" else None
        return self._answered(request, "why.html", name, opened, state, seen, part=part, known=True, view=view)

    async def giving(self, request: Request) -> Response:
        """Which limits have to give way."""
        name, opened = await self.site.opened(request)
        state = self.site.state(request, opened)
        job = self.desk.errand("gives way", name, opened, state)
        seen = await settled(job, PAGE_WAITS)
        view = giving_view(seen.result, opened) if seen.status == "done" else None
        return self._answered(request, "giving.html", name, opened, state, seen, view=view)

    def _answered(
        self, request: Request, template: str, name: str, opened: Opened, state: State, seen: Job, **more: Any
    ) -> Response:
        """The page of a question, or what is new of it."""
        still = self.site.still(request, seen, "question")
        if still is not None:
            return still
        about = self.site.about(name, opened, state)
        return self.site.page(template, **about, job=seen, refresh=0 if seen.ended else 2, **more)

    def _links(self, name: str, opened: Opened, state: State, texts: list[str]) -> list[str]:
        """Addresses that lay candidates over the choice."""
        of = opened.movable(state.vehicle)
        return [self.site.address(name, done(state, f"beside:{text}", of, {})) for text in texts]
