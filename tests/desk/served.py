"""A page served from a thread of the test, and plain requests to it."""

from __future__ import annotations

import asyncio
import http.client
import re
import socket
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import html5lib

from configopt.desk.app import application
from configopt.desk.serving import server as server_of

NAME = "upland-wardens"
VEHICLE = "warden-two-wheeler"
BASE = f"/s/{NAME}?vehicle={VEHICLE}"
#: Seconds in which a choice of a small project has to be there.
PATIENCE = 90.0


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    text: str

    @property
    def tree(self) -> Any:
        """The page as a tree of elements."""
        return html5lib.parse(self.text, namespaceHTMLElements=False)


@dataclass
class Served:
    """A running page."""

    folder: Path
    port: int
    gate: Any
    errors: list[str] = field(default_factory=list)

    @property
    def url(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.port}"

    def ask(self, method: str, path: str, body: str | None = None, headers: Mapping[str, str] | None = None) -> Answer:
        """One request as it stands, nothing followed."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            connection.request(method, path, body, dict(headers or {}))
            found = connection.getresponse()
            text = found.read().decode("utf-8", errors="replace")
            return Answer(found.status, {key.lower(): value for key, value in found.getheaders()}, text)
        finally:
            connection.close()

    def get(self, path: str, headers: Mapping[str, str] | None = None) -> Answer:
        """A page, redirections followed."""
        found = self.ask("GET", path, headers=headers)
        for _ in range(5):
            if found.status != 303:
                break
            found = self.ask("GET", found.headers["location"], headers=headers)
        return found

    def settled(self, path: str, headers: Mapping[str, str] | None = None) -> Answer:
        """A page once nothing is being worked out on it."""
        until = time.monotonic() + PATIENCE
        while True:
            found = self.get(path, headers)
            if "Being worked out" not in found.text and "Reading the catalogs" not in found.text:
                return found
            assert time.monotonic() < until, found.text
            time.sleep(0.03)

    def part(self, path: str, tab: str = "") -> Answer:
        """A part of a page as the script asks for it, once it is worked out."""
        headers = {"HX-Request": "true", **({"X-Tab": tab} if tab else {})}
        return self.settled(path, headers)

    def post(self, path: str, headers: Mapping[str, str] | None = None, **fields: str) -> Answer:
        """A form."""
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self.ask("POST", path, urlencode(fields), {**kind, **(headers or {})})

    @property
    def token(self) -> str:
        """The secret of its forms."""
        return str(self.gate.token)


@contextmanager
def served(folder: Path) -> Iterator[Served]:
    """Serve a project until the block ends."""
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    port = listening.getsockname()[1]
    errors: list[str] = []
    gate = application(folder, port=port, log=errors.append)
    server = server_of(gate)
    thread = threading.Thread(target=lambda: asyncio.run(server.serve([listening])), daemon=True)
    thread.start()
    try:
        while not server.started:
            time.sleep(0.01)
        yield Served(folder, port, gate, errors)
    finally:
        server.should_exit = True
        thread.join(timeout=20)
        listening.close()


def words(element: Any) -> str:
    """The words of an element."""
    return re.sub(r"[ \n]+", " ", "".join(element.itertext())).strip(" \n")


def by_id(tree: Any, name: str) -> Any:
    """The element of an id."""
    found = [element for element in tree.iter() if element.get("id") == name]
    assert len(found) == 1, (name, len(found))
    return found[0]


def rows(element: Any) -> dict[str, list[str]]:
    """Cells of all tables in an element, by the words at the beginning of their rows."""
    found = {}
    for row in element.iter("tr"):
        head, cells = row.find("th"), row.findall("td")
        if head is not None and cells:
            found[words(head)] = [words(cell) for cell in cells]
    return found
