"""What all pages share: the templates, reading an address or a form, and what stands on every page of a scenario."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, quote

from anyio import to_thread
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from configopt.desk.cells import SLOT_WORDS
from configopt.desk.changes_view import changes, contradictions, joined_notes, narrowed_words, used_shares
from configopt.desk.jobs import Job
from configopt.desk.project import Opened
from configopt.desk.security import foreign
from configopt.desk.service import Desk, is_live
from configopt.desk.state import Pairs, State, done, number, plain, read_state
from configopt.desk.views import STEPS
from configopt.sheet.figures import figure_text, unit_words
from configopt.sheet.words import AIMS

#: Seconds for which a page, and a part of one, waits before it says that it is being worked out.
PAGE_WAITS, PART_WAITS = 0.35, 1.5
#: Seconds for which a form waits until a scenario is read.
READING = 30.0
#: Fields of a form or an address.
MOST_FIELDS = 800
TOO_LONG = "The address is too long: too much is changed at once."


class StillReading(Exception):
    """The files of a scenario are not read yet."""


class LinkedFromElsewhere(Exception):
    """A link of another site led here: nothing is read or worked out before somebody wants it."""


class Site:
    """What all pages of one desk share; ``token`` has to come with every form that changes something."""

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

    async def listed(self, request: Request) -> str:
        """Name of the scenario that an address means.

        Raises
        ------
        HTTPException
            If the project has none of that name.
        LinkedFromElsewhere
            If a page of another site asks.
        """
        name: str = request.path_params["name"]
        if name not in await to_thread.run_sync(self.desk.project.listed):
            raise HTTPException(404, "There is no such scenario in this project.")
        if foreign(request.scope):
            raise LinkedFromElsewhere
        return name

    async def opened(self, request: Request) -> tuple[str, Opened]:
        """The scenario that an address means, with its name.

        Raises
        ------
        HTTPException, LinkedFromElsewhere
            As for :meth:`listed`.
        StillReading
            If that takes longer than a page waits.
        FindingsError
            If it, or its catalogs, are wrong.
        """
        name = await self.listed(request)
        waits = PAGE_WAITS if request.method == "GET" else READING
        try:
            opened = await self.desk.opened(name, waits)
        except TimeoutError:
            raise StillReading from None
        if opened is None:
            raise HTTPException(404, "There is no such scenario in this project.")
        return name, opened

    def state(self, request: Request, opened: Opened) -> State:
        """The state that an address means, after the buttons that were pressed.

        Raises
        ------
        HTTPException
            If it holds too much.
        """
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
                if action == "ask":
                    # Which limit stands in a field beside the button.
                    action = f"ask:{last.get('ask', '')}"
                state = done(state, action[:600], of, opened.families)
        return state

    async def form(self, request: Request) -> list[tuple[str, str]]:
        """Fields of a form that the page itself made.

        Raises
        ------
        HTTPException
            If it cannot be read, or lacks the secret.
        """
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

    def address(self, name: str, state: State) -> str:
        """Address of a scenario in a state."""
        return f"/s/{quote(name)}?{state.query()}"

    def about(self, name: str, opened: Opened, state: State) -> dict[str, Any]:
        """What stands on every page of a scenario in a state."""
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
            "address": self.address(name, state),
            "plain_address": self.address(name, State(state.vehicle)),
            "notes": joined_notes([*state.notes, *contradictions(state, opened)]),
            "changes": changes(state, opened),
            "narrowed": narrowed_words(state),
            "shares": used_shares(state, of),
            "of": of,
            "opened": opened,
            "stamp": opened.stamp,
            "currency": opened.case.catalog.currency,
            "live": is_live(opened, state),
            "tab": secrets.token_urlsafe(9),
        }

    def still(self, request: Request, job: Job, place: str) -> Response | None:
        """How long a job takes so far, where that is all that is asked; ``None`` where more is to be shown.

        What is read aloud is said once and stays; only the time beside it moves, and the focus stays where it is.
        """
        if job.ended or "again" not in request.query_params or not request.headers.get("hx-request"):
            return None
        return self.page("part_still.html", headers={"HX-Reswap": "none"}, job=job, place=place)
