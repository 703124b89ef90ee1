"""The sheet as a page: sound HTML that needs nothing else, and every figure as the results have it."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

import html5lib
import pytest
from sheets import Sheet, sheet_of

from configopt.sheet.figures import PLACES, figure_text, places_of
from configopt.sheet.page import sheet_page

XHTML = "{http://www.w3.org/1999/xhtml}"
#: Units by the end of a result's key.
UNITS = {
    "_kg": "kg",
    "_kg_m2": "kg m2",
    "_mm": "mm",
    "_wh_per_km": "Wh/km",
    "_km": "km",
    "_km_h": "km/h",
    "_kpa": "kPa",
    "_n": "N",
    "_n_m": "N m",
    "_kn_m": "kN/m",
    "_percent": "%",
    "_deg": "°",
    "_g": "g",
    "_days": "days",
    "cost": "EUR",
    "unit_price": "EUR",
    "bought": "pieces",
}
#: Words of optimisation that nobody who rides has to know.
JARGON = re.compile(
    r"\b(dual|slack variable|binary|binaries|infeasib\w*|feasib\w*|objective|lagrang\w*|relaxation|solver)\b", re.I
)


def tree(html: str) -> Any:
    """The page as a strict HTML5 parser sees it; any error of the standard is one here."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=True).parse(html)


def visible(page: Any) -> str:
    """What is read: all text outside of styles."""
    return " ".join("".join(part.itertext()) for part in page.iter(f"{XHTML}body"))


def number_of(text: str) -> float:
    """The number at the beginning of a printed figure."""
    plain = text.replace("\N{NARROW NO-BREAK SPACE}", "").replace("\N{MINUS SIGN}", "-")
    found = re.match(r"[+-]?\d+(?:\.\d+)?", plain)
    assert found is not None, text
    return float(found[0])


def at(document: Any, path: str) -> Any:
    for step in path.split("/"):
        document = document[int(step)] if isinstance(document, list | tuple) else document[step]
    return document


def figures(page: Any) -> list[tuple[str, str, float]]:
    """(path, text, value) of every figure of a result, on the page and on its drawings."""
    found = []
    for mark in page.iter():
        path = mark.get("data-of")
        if path is not None:
            found.append((path, "".join(mark.itertext()), float(mark.get("value") or mark.get("data-value"))))
    return found


def test_the_page_is_sound_html(sheet: Sheet) -> None:
    page = tree(sheet.html)
    assert page.get("lang") == "en"
    ids = [mark.get("id") for mark in page.iter() if mark.get("id")]
    assert len(ids) == len(set(ids))
    linked = [mark.get("href") for mark in page.iter(f"{XHTML}a")]
    assert linked
    assert {link.removeprefix("#") for link in linked} <= set(ids)


def test_nothing_is_fetched_and_nothing_runs(sheet: Sheet) -> None:
    page = tree(sheet.html)
    tags = {str(mark.tag).rpartition("}")[2] for mark in page.iter()}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "base", "form", "image", "foreignObject"}
    for mark in page.iter():
        for name, value in mark.attrib.items():
            key = str(name).rpartition("}")[2].rpartition(":")[2]
            assert key not in ("src", "srcset", "action", "poster", "background"), (mark.tag, name)
            assert not key.startswith("on"), (mark.tag, name)
            if key == "href":
                assert value.startswith("#"), value
    styles = "".join("".join(mark.itertext()) for mark in page.iter() if str(mark.tag).endswith("}style"))
    assert "@import" not in styles
    assert "@font-face" not in styles
    assert re.findall(r"url\(([^)]*)\)", styles) == []
    assert all(link.startswith("#") for link in re.findall(r"url\(([^)]*)\)", sheet.html))


def test_headings_go_down_step_by_step_and_tables_name_their_columns(sheet: Sheet) -> None:
    page = tree(sheet.html)
    levels = [int(mark.tag[-1]) for mark in page.iter() if re.fullmatch(rf"{re.escape(XHTML)}h[1-6]", str(mark.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    for table in page.iter(f"{XHTML}table"):
        assert "".join(table.find(f"{XHTML}caption").itertext()).strip()
        heads = list(table.find(f"{XHTML}thead").iter(f"{XHTML}th"))
        assert heads
        assert {head.get("scope") for head in heads} == {"col"}
        assert all("".join(head.itertext()).strip() for head in heads)
        for row in table.find(f"{XHTML}tbody"):
            assert row[0].get("scope") == "row"
    for mark in page.iter(f"{XHTML}section"):
        assert mark.get("aria-labelledby")


def test_what_may_be_wider_than_the_screen_scrolls_by_itself_and_by_keys(sheet: Sheet) -> None:
    page = tree(sheet.html)
    scrolling = [mark for mark in page.iter(f"{XHTML}div") if mark.get("class") == "scroll"]
    inside = {id(one) for mark in scrolling for one in mark.iter()}
    assert all(mark.get("tabindex") == "0" and mark.get("aria-label") for mark in scrolling)
    wide = [*page.iter(f"{XHTML}table"), *page.iter("{http://www.w3.org/2000/svg}svg")]
    assert wide
    assert all(id(mark) in inside for mark in wide)


def test_it_prints_and_knows_light_and_dark(sheet: Sheet) -> None:
    assert "@page" in sheet.html
    assert "@media print" in sheet.html
    assert "prefers-color-scheme: dark" in sheet.html
    assert ":focus-visible" in sheet.html
    for colour in re.findall(r'(?:fill|stroke)[:=]"?\s*(#[0-9a-f]{3,6})', sheet.html):
        raise AssertionError(f"{colour} would not follow the page into the dark")


def test_a_wide_table_says_that_it_can_be_moved(sheet: Sheet) -> None:
    page = tree(sheet.html)
    for part in page.iter(f"{XHTML}section"):
        before = ""
        for mark in part:
            if mark.get("class") == "scroll" and (heads := mark.findall(f".//{XHTML}thead/{XHTML}tr/*")):
                assert (before == "hint") or len(heads) <= 3, mark.get("aria-label")
            before = mark.get("class") or ""


def test_on_paper_pages_are_numbered_and_no_row_stands_alone(sheet: Sheet) -> None:
    printed = sheet.html[sheet.html.index("@media print") : sheet.html.index("</style>")]
    assert 'content: counter(page) " of " counter(pages)' in printed
    assert re.search(r"tbody tr:first-child[^{]*\{ break-after: avoid", printed)
    assert re.search(r"tbody tr:last-child \{ break-before: avoid", printed)


def test_every_figure_is_that_of_the_results_to_the_printed_digit(sheet: Sheet) -> None:
    found = figures(tree(sheet.html))
    mine = [path for path, _, _ in found if path.startswith("choice/")]
    assert len(mine) > 150
    documents = {**sheet.made.results.documents, "choice": sheet.payload}
    for path, text, value in found:
        truth = at(documents, path)
        assert value == truth, path
        decimals = len(text.partition(".")[2].partition("\N{NO-BREAK SPACE}")[0].rstrip("°"))
        assert number_of(text) == pytest.approx(truth, abs=0.5000001 * 10.0**-decimals), (path, text)


def test_every_figure_has_its_unit(sheet: Sheet) -> None:
    for path, text, _ in figures(tree(sheet.html)):
        unit = text.replace("\N{NARROW NO-BREAK SPACE}", "")
        unit = re.sub(r"^[+\N{MINUS SIGN}]?\d+(\.\d+)?", "", unit).strip("\N{NO-BREAK SPACE}")
        key = path.rpartition("/")[2]
        endings = [end for end in UNITS if key.endswith(end)]
        if endings and "/margins/" not in path:
            assert unit == UNITS[max(endings, key=len)], (path, text)


def test_margins_carry_the_unit_of_their_limit(sheet: Sheet) -> None:
    for path, text, _ in figures(tree(sheet.html)):
        if "/margins/" in path:
            margin = at(sheet.payload, path.removeprefix("choice/").rpartition("/")[0])
            assert text == figure_text(margin["value"], margin["unit"])


def test_main_figures_and_every_part_are_there(sheet: Sheet) -> None:
    page = tree(sheet.html)
    shown = {path for path, _, _ in figures(page)}
    text = visible(page)
    for number, vehicle in enumerate(sheet.payload["vehicles"]):
        base = f"choice/vehicles/{number}"
        for key in ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km", "cost"):
            assert f"{base}/{key}" in shown
        for at_terrain, terrain in enumerate(vehicle["terrains"]):
            assert f"{base}/terrains/{at_terrain}/energy_wh_per_km" in shown
            for cause in terrain["energy_by_cause_wh_per_km"]:
                assert f"{base}/terrains/{at_terrain}/energy_by_cause_wh_per_km/{cause}" in shown
        for at_margin, margin in enumerate(vehicle["margins"]):
            assert margin["value"] is None or f"{base}/margins/{at_margin}/value" in shown
        for at_package, package in enumerate(vehicle["packages"]):
            for role in ("tire", "inner", "rim", "disc_wheel", "hub", "rotor", "caliper", "pad", "spokes"):
                assert package[role] is None or package[role] in text
            for key in ("spoke_length_left_mm", "spoke_tension_tight_n", "pressure_kpa", "static_load_n"):
                assert package[key] is None or f"{base}/packages/{at_package}/{key}" in shown


def test_every_caution_and_remark_is_said(sheet: Sheet) -> None:
    text = " ".join(visible(tree(sheet.html)).split())
    # The sheet says by itself at which pressure a rating holds.
    rated = [text for text in sheet.payload["cautions"] if "rated at its reference pressure" in text]
    cautions = [text for text in sheet.payload["cautions"] if text not in rated]
    assert bool(rated) == any(text.startswith("Load rating of the tire, ") for text in sheet.made.cautions)
    for words in (*cautions, *(remark.replace("+-", "±") for remark in sheet.payload["remarks"])):
        assert " ".join(words.split()) in text
    beside = {*sheet.made.vehicles[0].at_tires, *sheet.made.vehicles[0].at_brakes}
    # General cautions stand at the end, those of tires, rim locks and rotors beside the parts as well.
    general = ("This is a pre-selection", "Before use", "Road approval", "Not for public roads", "Local codes")
    assert beside == {words for words in sheet.made.cautions if not words.startswith(general)}
    assert beside


def test_versions_hashes_and_the_choice_stand_on_it(sheet: Sheet) -> None:
    text = visible(tree(sheet.html))
    made = sheet.payload["made_with"]
    for key in ("configopt", "highs", "pyomo", "catalogs_sha256"):
        assert str(made[key]) in text
    for package in sheet.payload["vehicles"][0]["packages"]:
        assert f"tire: {package['tire']}" in text


def test_models_and_sources_are_cited_as_text(sheet: Sheet) -> None:
    behind = sheet.made.behind
    text = " ".join(visible(tree(sheet.html)).split())
    assert len(behind.models.rows) > 30
    assert behind.bibliography
    for source in behind.bibliography:
        assert " ".join(source.split()) in text
    for row in behind.models.rows:
        for number, letter in re.findall(r"(\d+)([a-z]?)", str(row.cells[-1])):
            assert f"({letter})" in behind.bibliography[int(number) - 1] or not letter


def test_nobody_needs_words_of_optimisation(sheet: Sheet) -> None:
    assert JARGON.findall(visible(tree(sheet.html))) == []


def test_what_was_not_made_is_said(quad: Sheet, two_wheeler: Sheet) -> None:
    without = " ".join(visible(tree(quad.html)).split())
    assert "No trade-off was made for this sheet." in without
    assert "No short list was made for this sheet." in without
    assert "Proven" not in quad.made.proof
    withal = " ".join(visible(tree(two_wheeler.html)).split())
    assert "Proven: no better choice exists in these catalogs, under these models." in withal
    assert "No trade-off was made" not in withal


def test_what_is_on_the_vehicle_today_is_not_drawn_twice(quad: Sheet) -> None:
    # The packages are today's: nothing differs, and no outline is dashed.
    assert 'class="today"' not in quad.html
    assert "as today" in quad.html


def test_hostile_texts_stay_texts(quad: Sheet) -> None:
    payload = copy.deepcopy(quad.payload)
    evil = '<script>alert("x")</script>&amp;'
    payload["cautions"] = [evil, *payload["cautions"]]
    payload["vehicles"][0]["packages"][0]["names"]["tire"] = evil
    payload["vehicles"][0]["terrains"][0]["remarks"] = [evil]
    vehicle = quad.case.scenario.vehicles[0]
    scenario = quad.case.scenario.model_copy(update={"title": evil, "description": evil})
    case = replace(quad.case, scenario=scenario)
    page = tree(sheet_of(case, payload, [vehicle.baseline], searched=False).html)
    assert not [mark for mark in page.iter() if str(mark.tag).endswith("}script")]
    assert visible(page).count(evil) >= 4


def test_without_matplotlib_every_figure_still_stands(quad: Sheet, monkeypatch: pytest.MonkeyPatch) -> None:
    import configopt.sheet.page as page_module

    monkeypatch.setattr(page_module, "find_spec", lambda name: None)
    plain = tree(sheet_page(quad.made))
    assert {path for path, _, _ in figures(plain)} == {path for path, _, _ in figures(tree(quad.html))}
    assert not [mark for mark in plain.iter() if "chart" in (mark.get("class") or "").split()]


def test_printed_figures_are_rounded_by_their_unit() -> None:
    assert all(places >= 0 for places in PLACES.values())
    assert figure_text(1234.5678, "N") == "1\N{NARROW NO-BREAK SPACE}235\N{NO-BREAK SPACE}N"
    assert figure_text(-0.004, "EUR") == "0.00\N{NO-BREAK SPACE}EUR"
    assert figure_text(-2.5, "mm", sign=True) == "\N{MINUS SIGN}2.5\N{NO-BREAK SPACE}mm"
    assert places_of("EUR") == 2
