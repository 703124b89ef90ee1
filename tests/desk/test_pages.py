"""Pages are sound HTML, small, and complete without scripts."""

from __future__ import annotations

import hashlib
import re
import time
from pathlib import Path
from typing import Any

import html5lib
import pytest
from served import BASE, NAME, VEHICLE, Served, by_id, words
from small_project import KEEP, small_project

from configopt.choice.shortlist import shortlist
from configopt.desk.candidate_text import text_of
from configopt.desk.pages import _STATIC, FILES
from configopt.desk.shortlist_view import shortlist_view
from configopt.desk.state import State
from configopt.desk.trade_chart import trade_chart
from configopt.scenario.case import load
from configopt.sheet.figures import figure_text

TIRE = "heron-moor-80-100-21"
PATHS = {
    "start": "/",
    "choice": BASE,
    "changed": f"{BASE}&limit.range=40.5&price.{TIRE}=120&beside=today&trade=follow",
    "nothing meets": f"{BASE}&limit.range=500",
    "giving": f"/s/{NAME}/giving?vehicle={VEHICLE}&limit.range=500",
    "tradeoff": f"/s/{NAME}/tradeoff?vehicle={VEHICLE}&rate.cost=0.01",
    "keep": f"/s/{NAME}/keep?vehicle={VEHICLE}&limit.range=40.5&kind=variant",
    "choice alone": f"/s/{NAME}/keep?vehicle={VEHICLE}&hold.front.tire={TIRE}&kind=choice",
    "short list": f"/s/{NAME}/shortlist?vehicle={VEHICLE}",
    "no part": f"/s/{NAME}/why?vehicle={VEHICLE}&part=nobody",
    "no page": "/nothing",
}


def require_sound(text: str) -> Any:
    """Parse errors, double ids, labels and references that lead nowhere."""
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    tree = parser.parse(text)
    assert [(place, code) for place, code, _ in parser.errors] == []
    every = list(tree.iter())
    ids = [element.get("id") for element in every if element.get("id")]
    assert sorted(ids) == sorted(set(ids))
    known = set(ids)
    for element in every:
        if not isinstance(element.tag, str):
            continue
        for name in ("for", "aria-labelledby", "aria-describedby", "form", "list", "data-moves", "data-home"):
            for one in (element.get(name) or "").split():
                assert one in known, (element.tag, name, one)
        if element.tag in ("input", "select") and element.get("type") not in ("hidden", "checkbox"):
            labelled = any(other.tag == "label" and other.get("for") == element.get("id") for other in every)
            inside = any(element in list(other.iter()) for other in every if other.tag == "label")
            assert labelled or inside or element.get("aria-label"), element.attrib
        if element.tag == "th":
            assert element.get("scope") in ("col", "row")
        if element.tag == "table":
            assert element.find("caption") is not None
    return tree


@pytest.mark.parametrize("name", PATHS)
def test_pages_are_sound(page: Served, name: str) -> None:
    found = page.settled(PATHS[name])
    assert found.status == (404 if name == "no page" else 200)
    assert found.text.startswith("<!DOCTYPE html>")
    tree = require_sound(found.text)
    assert tree.get("lang") == "en"
    assert len(list(tree.iter("h1"))) == 1
    assert len(found.text) < 1_000_000


def test_parts_of_a_page_only_replace_what_the_page_has(page: Served) -> None:
    whole = {element.get("id") for element in page.settled(BASE).tree.iter()}
    for query in ("&limit.range=40.4", "&do=hold%3Afront.tire%3Aheron-moor-80-100-21"):
        part = page.part(f"/s/{NAME}/answer?vehicle={VEHICLE}{query}").tree
        swapped = [element.get("id") for element in part.iter() if element.get("hx-swap-oob")]
        assert len(swapped) > 20
        assert set(swapped) <= whole


def test_the_first_page_comes_at_once_and_is_small(page: Served) -> None:
    page.settled(BASE)
    spent = []
    for _ in range(5):
        began = time.process_time()
        found = page.get(BASE)
        spent.append(time.process_time() - began)
        assert found.status == 200
    assert min(spent) <= 0.5
    assert len(found.text.encode()) + sum(map(len, FILES.values())) <= 1_000_000


def test_a_link_opens_the_same_state_again(page: Served) -> None:
    address = f"{BASE}&mix.peat-path=30&mix.gravel-track=55&mix.rock-steps=25&limit.range=40.5&hold.front.tire={TIRE}"
    found = page.settled(address)
    assert by_id(found.tree, "mix-peat-path").get("value") == "30"
    assert by_id(found.tree, "limit-range").get("value") == "40.5"
    chosen = [one for one in by_id(found.tree, "pick-front-tire").iter("option") if one.get("selected") is not None]
    assert [one.get("value") for one in chosen] == [TIRE]
    assert page.ask("GET", address).status == 200


def test_an_address_that_a_browser_wrote_in_another_way_is_the_same(page: Served) -> None:
    text = page.settled(BASE).text
    (candidate,) = set(re.findall(r'value="beside:([^"]*~[^"]*)"', text))
    assert re.fullmatch(r"[a-z0-9_~.-]+", candidate)
    address = f"{BASE}&beside={candidate}&beside=today"
    assert page.settled(address).text.count('class="laid laid-') >= 2
    for written in (
        address,
        address.replace("~", "%7E").replace("_", "%5F"),
        address.replace("beside=t", "beside=%74"),
    ):
        assert page.ask("GET", written).status == 200


def test_a_form_without_a_script_ends_at_the_address_of_its_state(page: Served) -> None:
    page.settled(BASE)
    found = page.ask(
        "GET", f"{BASE}&limit.range=40.5&limit.cost=940&mix.peat-path=20&hold.front.tire=&do=out%3Ahythe-disc-220-4x80"
    )
    assert found.status == 303
    assert found.headers["location"] == f"{BASE}&limit.range=40.5&out=hythe-disc-220-4x80"


def test_a_page_that_is_worked_out_comes_again_by_itself_without_a_script(page: Served) -> None:
    found = page.get(f"{BASE}&mix.peat-path=33.3&mix.gravel-track=55&mix.rock-steps=25")
    if "Being worked out" in found.text:
        assert '<noscript><meta http-equiv="refresh" content="2"></noscript>' in found.text
        assert "Cancel" in found.text


def test_what_lies_over_the_choice_is_drawn_told_and_compared(page: Served) -> None:
    tree = page.settled(f"{BASE}&beside=today").tree
    key = words(by_id(tree, "pictures"))
    assert "A today’s packages" in key
    assert "misses range" in key
    assert any("laid-a" in (element.get("class") or "") for element in by_id(tree, "pictures").iter())
    heads = [words(head) for head in by_id(tree, "sums").iter("th") if head.get("scope") == "col"]
    assert "A, today’s packages" in heads


def test_nothing_met_with_what_is_held_or_left_out_is_said_so(page: Served) -> None:
    asked = {
        "&out=hythe-disc-220-4x80&limit.range=500": "meets every limit with what is left out here.",
        f"&hold.front.tire={TIRE}&limit.range=500": "meets every limit with what is held here.",
        f"&hold.front.tire={TIRE}&out={TIRE}": "meets every limit with what is held and left out here.",
        "&limit.range=500": "meets every limit.",
    }
    for query, said in asked.items():
        found = page.settled(f"{BASE}{query}")
        assert words(by_id(found.tree, "status")).startswith(f"Proven: nothing in these catalogs {said}")
        assert ("Heron Moor 80/100-21 is held (front tire) and left out at once" in found.text) == (
            query.count(TIRE) == 2
        )
    freed = page.settled(f"{BASE}&hold.front.tire={TIRE}&out={TIRE}&do=free%3Afront.tire")
    assert "at once" not in freed.text


def test_a_trade_off_that_was_ended_shows_the_points_found(page: Served) -> None:
    path = f"/s/{NAME}/tradeoff?vehicle={VEHICLE}&rate.cost=0.02"
    whole = page.settled(path).tree
    desk = page.gate.desk
    (job,) = [one for key, one in desk.errands._jobs.items() if "tradeoff" in key and "rate.cost=0.02" in key]
    before = job.status, job.result
    try:
        job.status, job.cancelled = "stopped", True
        job.result = {**job.result, "complete": False}
        found = page.get(path)
        assert "Ended early." in found.text
        assert "others may be missing" in found.text
        marks = [words(one) for one in found.tree.iter("td")]
        assert marks == [words(one) for one in whole.iter("td")]
        links = [one for one in found.tree.iter("a") if "lay over point" in (one.get("aria-label") or "")]
        assert len(links) == len(job.result["points"]) > 0
        require_sound(found.text)
    finally:
        job.status, job.result = before
        job.cancelled = False


def test_what_is_laid_over_is_no_other_question(page: Served) -> None:
    text = page.settled(BASE).text
    (candidate,) = set(re.findall(r'value="beside:([^"]*~[^"]*)"', text))
    jobs = page.gate.desk.choices._jobs
    price = f"price.{TIRE}=150"
    page.settled(f"{BASE}&{price}")
    before = dict(jobs)
    tree = page.settled(f"{BASE}&{price}&beside=today&beside={candidate}&beside=nobody&beside=file%3Anone").tree
    assert dict(jobs) == before
    key = [words(one) for one in by_id(tree, "pictures").iter("li")]
    assert key[0].startswith("A today’s packages")
    assert "none" not in key[0]
    assert key[2].startswith("C a candidate: it names parts that these catalogs do not have")
    assert key[3].startswith("D decision none: there is no such decision")
    assert "today" not in " ".join(key[1:])


def test_todays_packages_are_told_where_nothing_meets_the_limits(page: Served) -> None:
    tree = page.settled(f"{BASE}&limit.range=500&beside=today").tree
    (key,) = [words(one) for one in by_id(tree, "pictures").iter("li")]
    assert key.startswith("A today’s packages; misses range")


def test_a_candidate_laid_over_has_the_prices_of_the_page(page: Served) -> None:
    desk = page.gate.desk
    opened = desk.project.open(NAME)
    (one,) = desk.laid(NAME, opened, State(VEHICLE, prices=((TIRE, 300.0),), beside=("today",)))
    (plain,) = desk.laid(NAME, opened, State(VEHICLE, beside=("today",)))
    prices = [float(tier.unit_price) for tier in opened.parts[TIRE].prices]
    used = [getattr(one.record, position).tire for position in ("front", "rear")].count(TIRE)
    assert used
    dearer = one.entry["cost"] - plain.entry["cost"]
    assert any(dearer == pytest.approx(2.0 * used * price) for price in prices)


def test_a_vehicle_that_is_not_there_is_told(page: Served) -> None:
    tree = page.settled(f"/s/{NAME}?vehicle=nonesuch").tree
    assert f"There is no vehicle “nonesuch” in this scenario; {VEHICLE} is shown." in words(by_id(tree, "status"))
    assert "no vehicle" not in page.settled(BASE).text


def test_a_small_rate_stands_in_its_field_as_it_is_read(page: Served) -> None:
    tree = page.settled(f"{BASE}&rate.cost=0.00001").tree
    assert by_id(tree, "rate-cost").get("value") == "0.00001"
    assert "is no number" not in words(by_id(tree, "status"))
    assert "cost counts 0.00001 per EUR instead of 0 per EUR" in words(by_id(tree, "status"))
    assert "(a sum without unit)" in words(by_id(tree, "sums"))


def test_how_far_the_figures_carry_is_told(page: Served) -> None:
    tree = page.settled(BASE).tree
    opened = page.gate.desk.project.open(NAME)
    shown = page.gate.desk.known_choice(NAME, opened, State(VEHICLE))
    assert len(shown.remarks) > 1
    told = [words(one) for one in by_id(tree, "remarks").iter("li")]
    assert told == [f"{one[0].upper()}{one[1:]}." for one in shown.remarks]
    part = page.part(f"/s/{NAME}/answer?vehicle={VEHICLE}&limit.range=40.5").tree
    assert by_id(part, "remarks").get("hx-swap-oob") == "true"
    assert [words(one) for one in by_id(part, "remarks").iter("li")]


def test_shares_that_are_weighed_are_told_beside_their_fields(page: Served) -> None:
    assert words(by_id(page.settled(BASE).tree, "share-peat-path")) == ""
    query = "&mix.peat-path=30&mix.gravel-track=60&mix.rock-steps=30"
    for tree in (
        page.settled(f"{BASE}{query}").tree,
        page.part(f"/s/{NAME}/answer?vehicle={VEHICLE}{query}").tree,
    ):
        shares = [words(by_id(tree, f"share-{name}")) for name in ("peat-path", "gravel-track", "rock-steps")]
        assert [share.replace("\N{NO-BREAK SPACE}", " ") for share in shares] == [
            "counts 25.0 %", "counts 50.0 %", "counts 25.0 %",
        ]  # fmt: skip


def test_a_page_made_from_older_files_is_told_and_refilled(page: Served) -> None:
    page.settled(BASE)
    opened = page.gate.desk.project.open(NAME)
    headers = {"HX-Request": "true", "HX-Target": "files"}
    assert page.ask("GET", f"/s/{NAME}/files?stamp={opened.stamp}", headers=headers).status == 204
    found = page.ask("GET", f"/s/{NAME}/files?stamp=older", headers=headers)
    assert "changed since this was worked out" in found.text
    path = f"/s/{NAME}/answer?vehicle={VEHICLE}&limit.range=40.4"
    same, older = page.part(f"{path}&stamp={opened.stamp}"), page.part(f"{path}&stamp=older")
    assert "changed since the page was opened" not in same.text
    assert "changed since the page was opened" in older.text
    assert by_id(older.tree, "stamp").get("value") == opened.stamp
    ids = [{one.get("id") for one in found.tree.iter() if one.get("hx-swap-oob")} for found in (same, older)]
    assert {"limits", "other-front-tire"} <= ids[1] - ids[0]


def test_the_short_list_is_that_of_the_command(page: Served) -> None:
    tree = page.settled(f"/s/{NAME}/shortlist?vehicle={VEHICLE}").tree
    told = shortlist(load(page.folder / "scenarios" / f"{NAME}.yaml")).to_json()
    cells = [[words(cell) for cell in row.findall("td")] for row in tree.iter("tr")][1:]
    assert len(cells) == len(told["candidates"]) > 0
    for row, one in zip(cells, told["candidates"], strict=True):
        vehicle = one["vehicles"][0]
        assert row[1:5] == [
            figure_text(one["loss_percent"], "%"),
            figure_text(vehicle["mass_kg"], "kg"),
            figure_text(vehicle["rolling_loss_wh_per_km"], "Wh/km"),
            figure_text(vehicle["cost"], "EUR"),
        ]
        for package in vehicle["packages"]:
            assert f"{package['names']['tire']} at {figure_text(package['pressure_kpa'], 'kPa')}" in row[0]
    rides = [words(one) for one in by_id(tree, "found").iter("li")]
    assert len(rides) == len(told["plan"])
    (first,) = [one.get("href") for one in tree.iter("a") if one.get("aria-label") == "lay over candidate 1"]
    over = page.settled(first).tree
    assert words(by_id(over, "pictures")).count("take away") == 1


def test_a_short_list_names_every_candidate_and_ride(tmp_path: Path) -> None:
    case = load(small_project(tmp_path, {**KEEP, "tires": 8}) / "scenarios" / f"{NAME}.yaml")
    found = shortlist(case, within=0.9)
    told = {**found.to_json(), "texts": [text_of(entry.record) for entry in found.candidates]}
    view = shortlist_view(told)
    assert len(view.candidates) == len(found.candidates) > 1
    assert [one.text for one in view.candidates] == told["texts"]
    assert len(view.rides) == len(told["plan"]) > 0
    assert all(re.match(r"candidates \d and \d, .*: \d.* against \d", one) for one in view.rides)
    assert "within 90.0\N{NO-BREAK SPACE}%" in view.words
    none = shortlist_view({**told, "status": "infeasible", "candidates": [], "texts": [], "plan": [], "remarks": []})
    assert none.words.startswith("Proven: nothing")


def test_what_is_shown_speaks_of_no_method(page: Served) -> None:
    shown = [
        words(page.settled(path).tree.find("body"))
        for path in (*PATHS.values(), f"{BASE}&rate.mass=0&rate.rolling_loss=0")
    ]
    shown += [path.read_text() for path in (_STATIC.parent / "templates").iterdir()]
    for text in shown:
        found = re.findall(r"(?i)\b(?:bound(?:ed|ing|s)?|exchange rates?|dual|infeasible|optimi[sz]\w*)\b", text)
        assert found == [], text[:200]


def test_what_waits_for_other_work_is_told_so(page: Served) -> None:
    errands, text = page.gate.desk.errands, f"/s/{NAME}/giving?vehicle={VEHICLE}&limit.range=40.05"
    page.settled(text)
    (job,) = [one for key, one in errands._jobs.items() if "gives way" in key and "40.05" in key]
    job.status = "waiting"
    try:
        assert "Being worked out: it waits until something else is worked out" in words(page.get(text).tree)
    finally:
        job.status = "done"


def test_only_what_moves_is_sent_again_while_work_goes_on(page: Served) -> None:
    choices, path = page.gate.desk.choices, f"/s/{NAME}/answer?vehicle={VEHICLE}&limit.range=40.15"
    page.part(path)
    (job,) = [one for key, one in choices._jobs.items() if "40.15" in key]
    job.status, job.progress = "running", "counting spokes"
    try:
        whole = page.ask("GET", path, headers={"HX-Request": "true", "HX-Target": "status"})
        (asking,) = [one.get("hx-get") for one in whole.tree.iter("div") if "/answer" in (one.get("hx-get") or "")]
        again = page.ask("GET", asking, headers={"HX-Request": "true", "HX-Target": "status"})
    finally:
        job.status = "done"
    assert "Cancel" in whole.text
    assert again.headers["hx-reswap"] == "none"
    assert words(again.tree).startswith(": counting spokes")
    (moved,) = [one for one in again.tree.iter() if one.get("id")]
    assert (moved.get("id"), moved.get("hx-swap-oob"), moved.get("aria-live")) == ("choice-so-far", "innerHTML", "off")
    assert by_id(whole.tree, "choice-so-far") is not None


def test_why_not_is_answered(page: Served) -> None:
    found = page.settled(f"/s/{NAME}/why?vehicle={VEHICLE}&part=hythe-disc-220-4x80")
    assert "It is in the best choice (rear)." in found.text


def test_the_vendored_script_is_what_its_note_says() -> None:
    note = (_STATIC / "htmx.txt").read_text()
    assert hashlib.sha256(FILES["htmx.min.js"]).hexdigest() in note
    assert 'version:"2.0.11"' in FILES["htmx.min.js"].decode()
    assert "Zero-Clause BSD" in (_STATIC / "htmx.LICENSE.txt").read_text()
    assert "htmx.LICENSE.txt" in note


def test_the_trade_off_is_drawn_with_a_link_for_every_point() -> None:
    aims = [{"name": "mass", "unit": "kg"}, {"name": "rolling_loss", "unit": "Wh/km"}]
    values = [(17.9, 41.0), (18.4, 40.2), (21.2, 39.9)]
    points = [
        {"values": {"mass": mass, "rolling_loss": loss}, "text": f"<{number}>"}
        for number, (mass, loss) in enumerate(values)
    ]
    links = [f"/s/a?beside={number}&x" for number in range(3)]
    chart = trade_chart(points, aims, links, "<1>")
    tree = require_sound(f"<!DOCTYPE html><html><head><title>t</title></head><body>{chart}</body></html>")
    marks = [one for one in tree.iter() if str(one.tag).startswith("{http://www.w3.org/2000/svg}")]
    assert [one.get("href") for one in marks if one.tag.endswith("}a")] == links
    assert [one.get("class") for one in marks if one.tag.endswith("}rect")] == ["here"]
    places = [(float(one.get("cx")), float(one.get("cy"))) for one in marks if one.tag.endswith("}circle")]
    # Heavier stands to the right, less lost further down.
    assert places[0][0] < places[1][0]
    assert places[0][1] < places[1][1]
    assert "mass of the packages, kg" in chart
