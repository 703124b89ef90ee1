"""The pages: what is asked is read, worked out, and put into a template."""

from __future__ import annotations

import secrets
import time
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, quote, urlencode

from anyio import to_thread
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from configopt.desk import saving
from configopt.desk.answer import Shown
from configopt.desk.jobs import Busy, Job
from configopt.desk.project import Opened
from configopt.desk.reasons_view import giving_view, why_view
from configopt.desk.security import foreign
from configopt.desk.service import Desk, choice_key, is_live, settled
from configopt.desk.state import Pairs, State, done, number, plain, read_state
from configopt.desk.trade_chart import trade_chart
from configopt.desk.views import (
    SLOT_WORDS,
    STEPS,
    changes,
    contradictions,
    desk_view,
    joined_notes,
    narrowed_words,
    present_text,
)
from configopt.errors import ConfigoptError, FindingsError, UsageError
from configopt.scenario.limits import LIMITS
from configopt.sheet.figures import figure_text, unit_words
from configopt.sheet.words import AIMS

#: Seconds for which a page, and a part of one, waits before it says that it is being worked out.
PAGE_WAITS, PART_WAITS = 0.35, 1.5
#: Seconds for which a form waits until a scenario is read.
READING = 30.0
#: Fields of a form or an address.
MOST_FIELDS = 800
TOO_LONG = "The address is too long: too much is changed at once."
#: Ids of the parts of a page that the script fills by themselves; all others are filled by a whole page.
PARTS = ("status", "trade")
_STATIC = Path(__file__).parent / "static"
_KINDS = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}
FILES = {path.name: path.read_bytes() for path in sorted(_STATIC.iterdir()) if path.suffix in _KINDS}


class StillReading(Exception):
    """The files of a scenario are not read yet."""


class LinkedFromElsewhere(Exception):
    """A link of another site led here: nothing is read or worked out before somebody wants it."""


class Pages:
    """All pages of one desk; ``token`` has to come with every form that changes something."""

    def __init__(self, desk: Desk, token: str) -> None:
        self.desk, self.token = desk, token
        self.templates = Environment(
            loader=FileSystemLoader(Path(__file__).parent / "templates"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self.templates.globals.update(
            token=token, slot_words=SLOT_WORDS, steps=STEPS, aims=AIMS, figure=figure_text, unit_words=unit_words
        )
        self.templates.filters["marks"] = Markup
        self.templates.filters["number"] = number

    def page(
        self, template: str, status: int = 200, headers: Mapping[str, str] | None = None, **context: Any
    ) -> Response:
        """A template as a page."""
        text = self.templates.get_template(template).render(context)
        return HTMLResponse(text, status, headers=dict(headers or {}))

    async def start(self, request: Request) -> Response:
        """The scenarios of the project."""
        listed = [(name, self.desk.project.title(name)) for name in await to_thread.run_sync(self.desk.project.listed)]
        return self.page("start.html", listed=listed, folder=self.desk.project.folder.name)

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
        name, opened = await self._opened(request)
        state = self._state(request, opened)
        # Compared as read: browsers differ in how they write an address.
        asked = parse_qsl(request.url.query, keep_blank_values=True)
        if asked != state.pairs() and not state.notes:
            return RedirectResponse(self._address(name, state), 303)
        job = self.desk.choice(name, opened, state)
        if not await settled(job, until - time.monotonic()):
            return self.page(
                "waiting.html", **self._about(name, opened, state), **self._working(job), refresh=2, poll=True
            )
        return self.page("desk.html", **await self._answered(name, opened, state, job))

    async def answer(self, request: Request) -> Response:
        """What changes on the page, for the script; anybody else is sent to the page."""
        name, opened = await self._opened(request)
        state = self._state(request, opened)
        if not request.headers.get("hx-request"):
            return RedirectResponse(self._address(name, state), 303)
        job = self.desk.choice(name, opened, state, request.headers.get("x-tab", "")[:40])
        asked = dict(request.query_params)
        ended = await settled(job, PART_WAITS)
        address = {"HX-Replace-Url": self._address(name, state)}
        if job.status == "stopped" and not job.wanted and job.result is None and "from" not in asked:
            # A newer question of the same tab took its place.
            newer = self.desk.choices.known(job.key)
            if newer is not job:
                return Response(status_code=204)
        pressed = any(value for key, value in request.query_params.multi_items() if key == "do")
        swap = "all" if pressed or asked.get("swap") == "all" else ""
        first = asked.get("from") == "waiting"
        if not ended:
            about = await self._answered(name, opened, state, job)
            return self.page("part_working.html", headers=address, **about, swap=swap, first=first)
        if first:
            return Response(status_code=200, headers={"HX-Redirect": self._address(name, state)})
        about = await self._answered(name, opened, state, job)
        return self.page("part_answer.html", headers=address, **about, swap=swap)

    async def tradeoff(self, request: Request) -> Response:
        """The trade-off of a state, as a page or as a part of one."""
        name, opened = await self._opened(request)
        state = self._state(request, opened)
        job = self.desk.errand("tradeoff", name, opened, state, tab=request.headers.get("x-tab", "")[:40])
        about = self._about(name, opened, state)
        part = bool(request.headers.get("hx-request"))
        ended = await settled(job, PART_WAITS if part else PAGE_WAITS)
        shown = self.desk.known_choice(name, opened, state)
        here = present_text(shown)
        links: list[str] = []
        chart = ""
        if ended and job.result is not None:
            links = [
                self._address(name, done(state, f"beside:{point['text']}", opened.movable(state.vehicle), {}))
                for point in job.result["points"]
            ]
            if len(job.result["points"]) > 1:
                chart = trade_chart(job.result["points"], job.result["aims"], links, here)
        return self.page(
            "part_trade.html" if part else "tradeoff.html",
            **about,
            **self._working(job),
            ended=ended,
            links=links,
            chart=chart,
            here=here,
            refresh=0 if ended else 2,
        )

    async def why(self, request: Request) -> Response:
        """Why a part is in the choice or not."""
        name, opened = await self._opened(request)
        state = self._state(request, opened)
        part = request.query_params.get("part", "")[:100].strip()
        about = self._about(name, opened, state)
        known = part in opened.parts
        if not known:
            return self.page("why.html", **about, part=part, known=False, refresh=0, view=None, **self._working(None))
        job = self.desk.errand("why", name, opened, state, part=part)
        ended = await settled(job, PAGE_WAITS)
        view = why_view(job.result, opened) if ended and job.status == "done" else None
        return self.page(
            "why.html", **about, part=part, known=True, refresh=0 if ended else 2, view=view, **self._working(job)
        )

    async def giving(self, request: Request) -> Response:
        """Which limits have to give way."""
        name, opened = await self._opened(request)
        state = self._state(request, opened)
        job = self.desk.errand("gives way", name, opened, state)
        ended = await settled(job, PAGE_WAITS)
        view = giving_view(job.result, opened) if ended and job.status == "done" else None
        return self.page(
            "giving.html",
            **self._about(name, opened, state),
            refresh=0 if ended else 2,
            view=view,
            **self._working(job),
        )

    async def keep(self, request: Request) -> Response:
        """The form that keeps a state as a file, and what the file would hold."""
        name, opened = await self._opened(request)
        state = self._state(request, opened)
        return await self._keep_page(name, opened, state, dict(request.query_params))

    async def write(self, request: Request) -> Response:
        """Show what a file for review would hold, or write it where that very text was shown before."""
        name, opened = await self._opened(request)
        pairs = await self._form(request)
        form = dict(pairs)
        state = read_state(pairs, opened.movable(form.get("vehicle", "")), opened.families)
        return await self._keep_page(name, opened, state, form, sent=True)

    async def _keep_page(
        self, name: str, opened: Opened, state: State, form: Mapping[str, str], *, sent: bool = False
    ) -> Response:
        kind = form.get("kind", "variant")
        if kind not in saving.ENDINGS:
            kind = "variant"
        fields = {key: form.get(key, "")[:300] for key in ("name", "why", "by", "on", "title")}
        fields["name"] = fields["name"] or f"{name}-new"
        about = self._about(name, opened, state)
        # Whoever presses Enter in a field looks; only the button that stands below the text writes.
        writing = sent and form.get("act") == "write"
        text, problem, written, job = "", "", "", None
        to: saving.Target | None = None
        status = 200
        try:
            to = await to_thread.run_sync(saving.target, self.desk.project.scenarios_folder, kind, fields["name"])
            if kind == "decision":
                text, job, problem = await self._decision(name, opened, state, to, fields)
            elif kind == "scenario":
                text = await to_thread.run_sync(saving.scenario_text, opened, state, fields["title"])
            else:
                text = await to_thread.run_sync(saving.variant_text, opened, state, fields["name"], fields["why"])
            if writing and text and form.get("seen", "") != saving.seen_stamp(to, text):
                status, problem = 409, "this text was not shown before: look at it below, then write the file"
            elif writing and text:
                await to_thread.run_sync(partial(saving.write, to, text, replace=form.get("replace", "")))
                written = f"scenarios/{to.path.name}"
        except saving.Standing as error:
            status, problem, to = 409, str(error), error.target
        except FindingsError as error:
            problem = "; ".join(one.message for one in error.findings[:4])
        except ConfigoptError as error:
            problem = str(error)
        if sent and not text and job is not None and job.status == "done" and not problem:
            problem = "a decision says who accepted it, on which day and why: fill in all three"
        if sent and status == 200 and (problem or (writing and not written)):
            status = 422
        waiting = job is not None and not job.ended
        return self.page(
            "keep.html",
            status,
            **about,
            **self._working(job),
            kind=kind,
            fields=fields,
            text=text,
            problem=problem,
            written=written,
            file="" if to is None else f"scenarios/{to.path.name}",
            there=None if to is None or written else to.there,
            stamp="" if to is None else to.stamp,
            seen="" if to is None or not text else saving.seen_stamp(to, text),
            waiting=waiting,
            new="" if not written or kind != "scenario" or to is None else to.path.stem,
        )

    async def _decision(
        self, name: str, opened: Opened, state: State, to: saving.Target, fields: Mapping[str, str]
    ) -> tuple[str, Job | None, str]:
        """Text of a decision, the job that is still to end for it, or what is in the way."""
        if state.changed:
            return (
                "",
                None,
                (
                    "a decision stands on the scenario as its file has it, and this page differs from it: keep a "
                    "scenario first, open that, and decide there"
                ),
            )
        job = self.desk.errand("decide", name, opened, State(opened.vehicles[0]))
        if not await settled(job, PAGE_WAITS):
            return "", job, ""
        if job.status != "done":
            return "", job, job.words or "it was ended before the choice was made"
        try:
            text = saving.decision_file_text(
                opened, job.result, to.path, by=fields["by"], on=fields["on"], why=fields["why"]
            )
        except UsageError as error:
            # Who has only just opened the form is told what to do beside it, not that something is wrong.
            return "", job, str(error) if any(fields[key] for key in ("by", "on", "why")) else ""
        return text, job, ""

    async def cancel(self, request: Request) -> Response:
        """End what is being worked out."""
        form = dict(await self._form(request))
        self.desk.cancel(form.get("key", ""))
        return RedirectResponse(self._back(form), 303)

    async def again(self, request: Request) -> Response:
        """Ask anew what was ended."""
        form = dict(await self._form(request))
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
        path = f"/s/{quote(name)}" + (f"/{where}" if where in ("tradeoff", "why", "giving", "keep") else "")
        return f"{path}?{urlencode(pairs, safe='~')}" if pairs else path

    async def _form(self, request: Request) -> list[tuple[str, str]]:
        body = await request.body()
        try:
            pairs = parse_qsl(body.decode("utf-8"), keep_blank_values=True, max_num_fields=MOST_FIELDS)
        except ValueError:
            raise HTTPException(400, "The form could not be read.") from None
        if not secrets.compare_digest(dict(pairs).get("token", "").encode(), self.token.encode()):
            raise HTTPException(
                403, "The form is from an earlier run of the program, or from elsewhere: open the page anew."
            )
        return pairs

    async def _opened(self, request: Request) -> tuple[str, Opened]:
        name = request.path_params["name"]
        if name not in await to_thread.run_sync(self.desk.project.listed):
            raise HTTPException(404, "There is no such scenario in this project.")
        if foreign(request.scope):
            raise LinkedFromElsewhere
        waits = PAGE_WAITS if request.method == "GET" else READING
        try:
            opened = await self.desk.opened(name, waits)
        except TimeoutError:
            raise StillReading from None
        if opened is None:
            raise HTTPException(404, "There is no such scenario in this project.")
        return name, opened

    def _state(self, request: Request, opened: Opened) -> State:
        try:
            pairs: Pairs = parse_qsl(request.url.query, keep_blank_values=True, max_num_fields=MOST_FIELDS)
        except ValueError:
            raise HTTPException(414, TOO_LONG) from None
        last = dict(pairs)
        of = opened.movable(last.get("vehicle", ""))
        state = read_state(pairs, of, opened.families)
        asked = last.get("vehicle", "")
        if asked and asked != of.vehicle:
            note = f"there is no vehicle “{plain(asked)}” in this scenario; {of.vehicle} is shown"
            state = replace(state, notes=(note, *state.notes))
        for key, action in pairs:
            if key == "do":
                state = done(state, action[:600], of, opened.families)
        return state

    def _address(self, name: str, state: State) -> str:
        return f"/s/{quote(name)}?{state.query()}"

    def _about(self, name: str, opened: Opened, state: State) -> dict[str, Any]:
        of = opened.movable(state.vehicle)
        one = next(vehicle for vehicle in opened.case.scenario.vehicles if vehicle.name == state.vehicle)
        return {
            "name": name,
            "scenario": opened.case.scenario,
            "vehicle": one,
            "vehicles": opened.vehicles,
            "state": state,
            "query": state.query(),
            "pairs": state.pairs(),
            "address": self._address(name, state),
            "plain_address": self._address(name, State(state.vehicle)),
            "notes": joined_notes([*state.notes, *contradictions(state, opened)]),
            "changes": changes(state, opened),
            "narrowed": narrowed_words(state),
            "of": of,
            "opened": opened,
            "currency": opened.case.catalog.currency,
            "live": is_live(opened, state),
            "tab": secrets.token_urlsafe(9),
        }

    def _working(self, job: Job | None) -> dict[str, Any]:
        return {"job": job}

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
            **self._about(name, opened, state),
            **self._working(job),
            "shown": shown,
            "view": desk_view(shown, state, opened, self.desk.fits(name, opened, state)),
            "offers": [(text, words) for text, words in offers if text not in state.beside],
            "more_limits": more,
            "key": choice_key(name, opened, state),
            "refresh": 0,
        }

    async def reading(self, request: Request, error: Exception) -> Response:
        """A page that waits for the files to be read."""
        where = f"{request.url.path}?{request.url.query}" if request.url.query else request.url.path
        target = part_target(request)
        if target:
            return self.page("part_reading.html", where=where, target=target, before=has_answer(request))
        return self.page("reading.html", where=where, refresh=1)

    async def linked(self, request: Request, error: Exception) -> Response:
        """A page with a button, for who came by a link of another site."""
        try:
            pairs = parse_qsl(request.url.query, keep_blank_values=True, max_num_fields=MOST_FIELDS)
        except ValueError:
            return self._no(request, 414, TOO_LONG)
        return self.page("linked.html", path=request.url.path, pairs=pairs)

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

    def _within(self, path: str) -> str:
        """A path as seen from the project."""
        try:
            return Path(path).relative_to(self.desk.project.folder).as_posix()
        except ValueError:
            return Path(path).name

    async def busy(self, request: Request, error: Exception) -> Response:
        """A page for too much at once."""
        words = "Too much is being worked out already. Wait a moment, then ask again."
        return self._no(request, 503, words, {"retry-after": "5"})

    async def broken(self, request: Request, error: Exception) -> Response:
        """A page for what was not foreseen; the terminal has the rest."""
        words = "Something went wrong inside the program. The terminal in which it runs says more; please report it."
        return self._no(request, 500, words)

    def _no(
        self, request: Request, status: int, words: str, headers: Mapping[str, str] | None = None, findings: Any = ()
    ) -> Response:
        """What cannot be shown, as a page or as the part of one that the script asked for."""
        template = "part_refused.html" if part_target(request) else "refused.html"
        before = has_answer(request)
        return self.page(template, status, headers, words=words, findings=findings, before=before)


def part_target(request: Request) -> str:
    """Id of the part of a page that the script is to fill with the answer; empty where the answer is a page."""
    target = request.headers.get("hx-target", "") if request.headers.get("hx-request") else ""
    return target if target in PARTS else ""


def has_answer(request: Request) -> bool:
    """Whether the part that is asked for stands above an answer that was there before."""
    return part_target(request) == "status" and request.query_params.get("from") != "waiting"


ERRORS: Mapping[Any, str] = {
    StillReading: "reading",
    LinkedFromElsewhere: "linked",
    HTTPException: "refused",
    FindingsError: "wrong",
    ConfigoptError: "wrong",
    Busy: "busy",
    Exception: "broken",
}
