"""The page that keeps a state as a file for review: first what it would hold is shown, then it is written."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response

from configopt.desk import saving
from configopt.desk.answer import Shown
from configopt.desk.jobs import Job
from configopt.desk.project import Opened
from configopt.desk.service import settled
from configopt.desk.site import PAGE_WAITS, Site
from configopt.desk.state import State, read_state
from configopt.errors import ConfigoptError, FindingsError, UsageError


class KeepPages:
    """The form that keeps a state, and what becomes of it."""

    def __init__(self, site: Site) -> None:
        self.site, self.desk = site, site.desk

    async def keep(self, request: Request) -> Response:
        """The form that keeps a state as a file, and what the file would hold."""
        name, opened = await self.site.opened(request)
        state = self.site.state(request, opened)
        form = dict(request.query_params)
        if form.get("kind") == "choice":
            return await self._choice(request, name, opened, state)
        return await self._keep_page(request, name, opened, state, form)

    async def write(self, request: Request) -> Response:
        """Show what a file for review would hold, or write it where that very text was shown before."""
        name, opened = await self.site.opened(request)
        pairs = await self.site.form(request)
        form = dict(pairs)
        state = read_state(pairs, opened.movable(form.get("vehicle", "")), opened.families)
        return await self._keep_page(request, name, opened, state, form, sent=True)

    async def _choice(self, request: Request, name: str, opened: Opened, state: State) -> Response:
        """The choice on the page as a text to copy: it alone can say what is held."""
        job = self.desk.choice(name, opened, state)
        seen = await settled(job, PAGE_WAITS)
        still = self.site.still(request, seen, "question")
        if still is not None:
            return still
        shown: Shown | None = seen.result
        text = ""
        if shown is not None and shown.record is not None:
            text = await to_thread.run_sync(saving.choice_text, opened, state, shown)
        about = self.site.about(name, opened, state)
        return self.site.page("copy.html", **about, job=seen, text=text, refresh=0 if seen.ended else 2)

    async def _keep_page(
        self, request: Request, name: str, opened: Opened, state: State, form: Mapping[str, str], *, sent: bool = False
    ) -> Response:
        kind = form.get("kind", "variant")
        if kind not in saving.ENDINGS:
            kind = "variant"
        fields = {key: form.get(key, "")[:300] for key in ("name", "why", "by", "on", "title")}
        fields["name"] = fields["name"] or f"{name}-new"
        about = self.site.about(name, opened, state)
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
        still = None if job is None else self.site.still(request, job, "keep")
        if still is not None:
            return still
        return self.site.page(
            "keep.html",
            status,
            **about,
            job=job,
            kind=kind,
            fields=fields,
            text=text,
            problem=problem,
            written=written,
            file="" if to is None else f"scenarios/{to.path.name}",
            there=None if to is None or written else to.there,
            there_stamp="" if to is None else to.stamp,
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
        seen = await settled(job, PAGE_WAITS)
        if not seen.ended:
            return "", seen, ""
        if seen.status != "done":
            return "", seen, seen.words or "it was ended before the choice was made"
        try:
            text = saving.decision_file_text(
                opened, seen.result, to.path, by=fields["by"], on=fields["on"], why=fields["why"]
            )
        except UsageError as error:
            # Who has only just opened the form is told what to do beside it, not that something is wrong.
            return "", seen, str(error) if any(fields[key] for key in ("by", "on", "why")) else ""
        return text, seen, ""
