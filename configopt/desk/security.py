"""Who may talk to the page and how much they may say: everything is checked before the application sees it.

The page serves one person on this machine.  A page of another site may try to reach it through the browser (by a
foreign name that points here, by a form or a picture), so names, origins and amounts are held to what is its own.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

#: Most characters of a path and of a query, headers and their bytes, and bytes of a body.
MOST_PATH, MOST_QUERY, MOST_HEADERS, MOST_HEADER_BYTES, MOST_BODY = 300, 16_000, 60, 24_000, 64_000
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "x-frame-options": "DENY",
}


def token() -> str:
    """A secret of this run, which every form that changes something has to carry."""
    return secrets.token_urlsafe(24)


def own_names(host: str, port: int) -> frozenset[str]:
    """Values of the Host header that mean this page.

    >>> sorted(own_names("127.0.0.1", 8080))
    ['127.0.0.1:8080', '[::1]:8080', 'localhost:8080']
    """
    hosts = {"127.0.0.1", "localhost", "[::1]"}
    if host not in ("127.0.0.1", "localhost", "::1", "0.0.0.0", "::"):
        hosts.add(f"[{host}]" if ":" in host else host.lower())
    names = {f"{one}:{port}" for one in hosts}
    return frozenset(names | hosts if port == 80 else names)


class Gate:
    """Lets through what comes from the page itself, and puts the headers on whatever goes out."""

    def __init__(self, app: App, *, names: frozenset[str]) -> None:
        self.app, self.names = app, names
        self.desk: Any = None
        self.token = ""
        self.origins = frozenset(f"http://{name}" for name in names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return

        async def answer(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                own = {key.lower() for key, _ in message.get("headers", ())}
                message["headers"] = [
                    *message.get("headers", ()),
                    *((k.encode(), v.encode()) for k, v in HEADERS.items() if k.encode() not in own),
                ]
            await send(message)

        refused = self.refusal(scope)
        if refused is not None:
            await plain_answer(answer, *refused)
            return
        body = await read_body(scope, receive)
        if body is None:
            await plain_answer(answer, 413, "What was sent is too long.")
            return
        sent = False

        async def whole() -> MutableMapping[str, Any]:
            nonlocal sent
            if sent:
                return await receive()
            sent = True
            return {"type": "http.request", "body": body, "more_body": False}

        await self.app(scope, whole, answer)

    def refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Status and words where a request is refused."""
        raw = list(scope["headers"])
        if len(raw) > MOST_HEADERS or sum(len(k) + len(v) for k, v in raw) > MOST_HEADER_BYTES:
            return 431, "The request has too many headers."
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "This page is read, and forms are sent to it; nothing else."
        if len(scope["path"]) > MOST_PATH:
            return 414, "There is no page with so long an address."
        if len(scope["query_string"]) > MOST_QUERY:
            return 414, "The address is too long: too much is changed at once."
        names = values(raw, b"host")
        if len(names) != 1 or names[0].lower() not in self.names:
            return 421, "This page answers only under its own address, the one that the terminal shows."
        origins = values(raw, b"origin")
        sites, modes = values(raw, b"sec-fetch-site"), values(raw, b"sec-fetch-mode")
        # Without a referrer browsers send no origin with a form either; then they still say that the site is the same.
        own = self.origins | {"null"} if sites == ["same-origin"] else self.origins
        if any(origin.lower() not in own for origin in origins):
            return 403, "This page takes no requests from other sites."
        # A link may lead here, into a tab of its own; nothing of the page is shown, loaded or sent inside another.
        link = modes == ["navigate"] and values(raw, b"sec-fetch-dest") == ["document"]
        if foreign(scope) and (scope["method"] == "POST" or not link):
            return 403, "This page takes no requests from other sites."
        if scope["method"] == "POST":
            referers = values(raw, b"referer")
            if any(not from_own(referer, self.origins) for referer in referers):
                return 403, "This page takes no forms from other sites."
            kinds = values(raw, b"content-type")
            if any(not kind.startswith("application/x-www-form-urlencoded") for kind in kinds) or not kinds:
                return 415, "Forms are sent as the page sends them."
        return None


def foreign(scope: Scope) -> bool:
    """Whether the browser says that a page of another site made the request."""
    return any(site not in ("same-origin", "none") for site in values(scope["headers"], b"sec-fetch-site"))


def from_own(referer: str, origins: Iterable[str]) -> bool:
    """Whether an address is one of the page's own."""
    return any(referer.lower() == origin or referer.lower().startswith(f"{origin}/") for origin in origins)


def values(headers: Iterable[tuple[bytes, bytes]], name: bytes) -> list[str]:
    """All values of a header."""
    return [value.decode("latin-1").strip() for key, value in headers if key.lower() == name]


async def read_body(scope: Scope, receive: Receive) -> bytes | None:
    """The body of a form; ``None`` where it is too long.  Of other requests nothing is read."""
    if scope["method"] != "POST":
        return b""
    length = values(scope["headers"], b"content-length")
    if length and (not length[0].isdecimal() or int(length[0][:12]) > MOST_BODY):
        return None
    found = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return None
        found += bytes(message.get("body", b""))
        if len(found) > MOST_BODY:
            return None
        if not message.get("more_body", False):
            return found


async def plain_answer(send: Send, status: int, words: str) -> None:
    """A refusal in plain words."""
    content = f"{words}\n".encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(content)).encode())]
    if status == 405:
        headers.append((b"allow", b"GET, HEAD, POST"))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": content})
