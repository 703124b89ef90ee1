"""The page answers its own user only, and whatever is sent to it, nothing breaks, leaks or is written."""

from __future__ import annotations

import hashlib
import random
import re
import resource
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from served import BASE, NAME, VEHICLE, Served, served
from small_project import small_project

from configopt.desk.security import MOST_BODY, MOST_QUERY, POLICY

FORM = {"Content-Type": "application/x-www-form-urlencoded"}


def fingerprint(folder: Path) -> str:
    """Changes with any file of a folder."""
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        digest.update(str(path).encode())
        if path.is_file():
            digest.update(path.read_bytes())
    return digest.hexdigest()


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(small_project(tmp_path_factory.mktemp("hostile"))) as running:
        running.settled(BASE)
        yield running


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.evil.example:{port}", ""]
)
def test_a_foreign_name_is_refused(page: Served, host: str) -> None:
    assert page.ask("GET", "/", headers={"Host": host.format(port=page.port)}).status in (400, 421)


@pytest.mark.parametrize("host", ["127.0.0.1:{port}", "localhost:{port}", "[::1]:{port}", "LOCALHOST:{port}"])
def test_its_own_names_are_answered(page: Served, host: str) -> None:
    assert page.ask("GET", "/", headers={"Host": host.format(port=page.port)}).status == 200


def test_two_names_are_refused(page: Served) -> None:
    with socket.create_connection(("127.0.0.1", page.port), timeout=10) as raw:
        host = f"127.0.0.1:{page.port}"
        raw.sendall(f"GET / HTTP/1.1\r\nHost: {host}\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode())
        assert raw.recv(100).startswith((b"HTTP/1.1 421 ", b"HTTP/1.1 400 "))


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:{port}", "http://127.0.0.1:1"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_foreign_origin_is_refused(page: Served, origin: str, method: str) -> None:
    headers = {**FORM, "Origin": origin.format(port=page.port)}
    assert page.ask(method, "/cancel" if method == "POST" else "/", "token=x", headers).status == 403


def test_a_foreign_page_may_link_here_but_not_load_parts(page: Served) -> None:
    link = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
    assert page.ask("GET", "/", headers=link).status == 200
    for place in ("iframe", "frame", "embed", "object", "fencedframe", ""):
        assert page.ask("GET", "/", headers={**link, "Sec-Fetch-Dest": place}).status == 403
    assert page.ask("GET", "/", headers={"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}).status == 403
    for mode in ("no-cors", "cors", "websocket"):
        assert page.ask("GET", "/", headers={**link, "Sec-Fetch-Mode": mode}).status == 403
    assert page.ask("POST", "/cancel", f"token={page.token}", {**FORM, **link}).status == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
@pytest.mark.parametrize("place", ["", "/answer", "/tradeoff", "/why", "/giving", "/keep"])
def test_a_link_of_another_site_starts_no_work(own: Served, site: str, place: str) -> None:
    desk = own.gate.desk
    before = set(desk.choices._jobs) | set(desk.errands._jobs)
    query = f"vehicle={VEHICLE}&limit.range=40.{len(place)}&part=hythe-disc-220-4x80&kind=decision"
    link = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
    found = own.ask("GET", f"/s/{NAME}{place}?{query}", headers=link)
    assert found.status == 200
    assert set(desk.choices._jobs) | set(desk.errands._jobs) == before
    assert desk._reading == {}
    (form,) = found.tree.iter("form")
    assert form.get("action") == f"/s/{NAME}{place}"
    sent = [(one.get("name"), one.get("value")) for one in form.iter("input")]
    assert sent == [tuple(pair.split("=")) for pair in query.split("&")]


def test_a_form_from_elsewhere_is_refused(page: Served) -> None:
    form = f"token={page.token}"
    assert page.ask("POST", "/cancel", form, {**FORM, "Referer": "http://evil.example/"}).status == 403
    assert page.ask("POST", "/cancel", form, {"Content-Type": "text/plain"}).status == 415
    assert page.ask("POST", "/cancel", form, {}).status == 415
    assert page.ask("POST", "/cancel", "token=wrong", FORM).status == 403
    assert page.ask("POST", "/cancel", "", FORM).status == 403
    assert page.ask("POST", "/cancel", form, FORM).status == 303


def test_a_form_leads_back_to_a_page_of_this_project_only(page: Served) -> None:
    for name in ("//evil.example", "https://evil.example/", "../../x", "nobody"):
        found = page.post("/cancel", token=page.token, scenario=name, state="a=b", where="//evil")
        assert found.headers["location"] == "/"
    found = page.post("/cancel", token=page.token, scenario=NAME, state="vehicle=x\r\nSet-Cookie: a", where="why")
    assert found.headers["location"].startswith(f"/s/{NAME}/why?vehicle=")
    assert "set-cookie" not in found.headers


def test_every_answer_carries_the_headers(page: Served) -> None:
    for path in ("/", BASE, "/nothing", "/static/desk.css", f"/s/{NAME}/keep?vehicle={VEHICLE}"):
        found = page.get(path)
        assert found.headers["content-security-policy"] == POLICY
        assert found.headers["x-content-type-options"] == "nosniff"
        assert found.headers["referrer-policy"] == "no-referrer"
        assert found.headers["cross-origin-opener-policy"] == "same-origin"
        assert found.headers["cross-origin-resource-policy"] == "same-origin"
        assert found.headers["cache-control"] == ("private, max-age=600" if "static" in path else "no-store")
        assert "server" not in found.headers
        assert "set-cookie" not in found.headers


def test_amounts_are_limited(page: Served) -> None:
    assert page.ask("GET", f"{BASE}&x={'a' * MOST_QUERY}").status == 414
    assert page.ask("GET", "/" + "a" * 400).status == 414
    assert page.ask("GET", f"{BASE}&{'&' * 2_000}").status == 414
    assert page.post("/cancel", token=page.token, scenario=NAME, state="&" * 2_000).status == 303
    assert page.ask("POST", "/cancel", "&" * 2_000, FORM).status == 400
    assert page.ask("GET", "/", headers={f"X-{number}": "a" for number in range(80)}).status == 431
    assert page.ask("POST", "/cancel", "a" * (MOST_BODY + 1), FORM).status == 413
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"):
        assert page.ask(method, "/").status == 405


def test_no_page_says_anything_to_or_of_other_sites(page: Served) -> None:
    for path in ("/", BASE, f"/s/{NAME}/keep?vehicle={VEHICLE}&kind=scenario", f"/s/{NAME}/why?vehicle={VEHICLE}"):
        text = page.settled(path).text
        assert re.findall(r"(?:src|href|action|hx-get)=[\"'](?:https?:)?//", text) == []
        assert "style=" not in text
        assert "<style" not in text
        assert not re.search(r"\son[a-z]+=", text)
    for name in ("desk.css", "desk.js"):
        assert not re.search(r"https?://", page.get(f"/static/{name}").text)


def test_an_error_shows_no_insides(own: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> dict[str, Any]:
        raise RuntimeError("secret insides")

    monkeypatch.setattr(own.gate.desk.project, "listed", broken)
    found = own.ask("GET", "/")
    assert found.status == 500
    assert "secret insides" not in found.text
    assert "Traceback" not in found.text
    assert "The terminal" in found.text


KEYS = [
    "vehicle", "mix.peat-path", "mix.nothing", "speed.gravel-track", "limit.range", "limit.cost", "limit.trail",
    "limit.climb_grade.peat-path", "limit.sinkage.front.rear.x", "limit.", "off", "rate.mass", "rate.cost", "out",
    "hold.front.tire", "hold.rear.rotor", "hold..", "press.front.low", "press.rear.high", "beside", "trade", "do",
    "price.heron-moor-80-100-21", "price.", "swap", "from", "part", "kind", "name", "why", "on", "by",
]  # fmt: skip
TEXTS = [
    "", "0", "-1", "41", "55.5", "1e9", "nan", "9" * 300, "heron-moor-80-100-21", "hythe-disc-220-4x80", "today",
    "../../../etc/passwd", "/etc/passwd", "file:../../x", "file:/etc/passwd", "<script>alert(1)</script>",
    "'\"><svg/onload=1>",
    "{{7*7}}", "{% raw %}", "\x00", "\r\nX: y", "%00", "‮", "\ud7ff", "𝕏" * 90, "out:heron-moor-80-100-21",
    "hold:front.tire:x", "ask:trail", "ask:" + "x" * 500, "beside:" + "a|" * 300, "drive-9-2~a|b~c|d", "scenario",
    "decision", "con", "aux.yaml", ".yaml", "~", "${jndi:x}", "a" * 5000, "=&=&", "vehicles.x", "__class__",
]  # fmt: skip


def hostile(rng: random.Random) -> str:
    """A query of keys and values that mean harm or nothing."""
    from urllib.parse import quote

    pairs = [
        f"{quote(rng.choice(KEYS), safe='')}={quote(rng.choice(TEXTS), safe='')[:6000]}"
        for _ in range(rng.randrange(1, 9))
    ]
    return "&".join(pairs)[:20_000]


@pytest.mark.parametrize("count", [12, pytest.param(200, marks=pytest.mark.slow)])
def test_random_forms_break_nothing(own: Served, count: int) -> None:
    rng, before = random.Random(7), fingerprint(own.folder)
    for _ in range(count):
        values = {
            "mix.peat-path": rng.choice(["", "1", "20", "99", "-4", "x"]),
            "limit.range": f"{rng.uniform(-10, 90):.3g}",
            "limit.cost": f"{rng.uniform(1, 2000):.4g}",
            "rate.mass": f"{rng.uniform(-1, 5):.3g}",
            "press.front.low": f"{rng.uniform(0, 500):.3g}",
            "out": rng.choice(["", "hythe-disc-220-4x80", "nobody"]),
        }
        query = "&".join(f"{key}={value}" for key, value in values.items() if rng.random() < 0.6)
        found = own.get(f"{BASE}&{query}")
        assert found.status in (200, 503), found.text[:500]
    assert fingerprint(own.folder) == before
    assert own.errors == []


def test_500_hostile_requests_break_nothing_and_touch_no_file(own: Served) -> None:
    rng, before = random.Random(8), fingerprint(own.folder)
    start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    paths = [
        f"/s/{NAME}", f"/s/{NAME}/answer", f"/s/{NAME}/keep", f"/s/{NAME}/why", f"/s/{NAME}/files",
        f"/s/{NAME}/shortlist", "/s/..%2f..%2fetc%2fpasswd",
        f"/s/{NAME}%00", "/s/%2e%2e", "/static/..%2f..%2fapp.py", "/static/htmx.txt", "/s/" + "x" * 200,
        "//evil.example/",
        f"/s/{NAME}/keep/../..", "/cancel", "/again", f"/s/{NAME}.yaml", "/s/upland-wardens.variants",
    ]  # fmt: skip
    seen: set[int] = set()
    for number in range(500):
        path = rng.choice(paths)
        if number % 5 == 4:
            fields = {
                "token": rng.choice(["", own.token[:-1], "x"]),
                "kind": rng.choice(TEXTS),
                "name": rng.choice(TEXTS),
            }
            found = own.ask(
                "POST",
                path,
                "&".join(f"{k}={v[:3000]}" for k, v in fields.items()).encode("utf-8", "replace").decode("latin-1"),
                FORM,
            )
        else:
            headers = {"HX-Request": "true", "X-Tab": rng.choice(["a", "b" * 500])} if rng.random() < 0.5 else {}
            found = own.ask("GET", f"{path}?{hostile(rng)}", headers=headers)
        seen.add(found.status)
        assert found.status < 500 or found.status == 503, (path, found.status, found.text[:300])
        assert "Traceback" not in found.text
        assert "<script>alert" not in found.text
        assert "root:" not in found.text
    assert {200, 303, 403, 404} <= seen
    assert fingerprint(own.folder) == before
    assert own.errors == []
    # In kilobytes: what is kept of a thousand states stays small beside the catalogs.
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - start < 200_000
