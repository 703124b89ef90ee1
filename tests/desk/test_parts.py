"""Parts of a page stay parts: while files are read anew, and where they are wrong."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import html5lib
import pytest
from served import BASE, NAME, VEHICLE, Answer, Served, served
from small_project import small_project

from configopt.sweep.changing import Base

PLACES = {"status": f"/s/{NAME}/answer?vehicle={VEHICLE}", "trade": f"/s/{NAME}/tradeoff?vehicle={VEHICLE}"}


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(small_project(tmp_path_factory.mktemp("parts"))) as running:
        running.settled(BASE)
        yield running
        assert running.errors == []


def part_of(page: Served, target: str, path: str = "") -> Answer:
    return page.ask("GET", path or PLACES[target], headers={"HX-Request": "true", "HX-Target": target})


def require_part(text: str) -> None:
    """A part has nothing of a whole document in it."""
    assert "<html" not in text
    assert "<main" not in text
    assert "<h1" not in text
    html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parseFragment(text)


@pytest.mark.parametrize("target", PLACES)
def test_a_part_waits_in_its_own_place_while_files_are_read(
    own: Served, target: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = Base.of

    def slowly(scenario: str | Path, variants_path: str) -> Base:
        time.sleep(0.8)
        return whole(scenario, variants_path)

    monkeypatch.setattr(Base, "of", staticmethod(slowly))
    (own.folder / "catalogs" / "tires.yaml").touch()
    found = part_of(own, target)
    assert "Reading the catalogs" in found.text
    require_part(found.text)
    (asking,) = [one for one in found.tree.iter("div") if one.get("hx-get")]
    assert asking.get("hx-get") == PLACES[target]
    assert asking.get("hx-target") == f"#{target}"
    until = time.monotonic() + 20.0
    while "Reading the catalogs" in found.text:
        assert time.monotonic() < until
        time.sleep(0.05)
        found = part_of(own, target, asking.get("hx-get"))
    require_part(found.text)


@pytest.mark.parametrize("target", PLACES)
def test_wrong_files_are_told_in_the_place_that_asked(own: Served, target: str) -> None:
    path = own.folder / "catalogs" / "tires.yaml"
    before = path.read_text()
    path.write_text(before.replace("mass:", "mas:"))
    try:
        found = part_of(own, target)
        assert found.status == 422
        assert "catalogs/tires.yaml:" in found.text
        require_part(found.text)
        assert ("Below still stands" in found.text) == (target == "status")
        first = part_of(own, "status", f"{PLACES['status']}&from=waiting")
        assert "Below still stands" not in first.text
        assert "<html" in own.ask("GET", BASE).text
    finally:
        path.write_text(before)


def test_files_that_take_long_to_be_found_wrong_are_told_to_who_asks_later(
    own: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, path = Base.of, own.folder / "catalogs" / "tires.yaml"
    before = path.read_text()

    def slowly(scenario: str | Path, variants_path: str) -> Base:
        time.sleep(0.8)
        return whole(scenario, variants_path)

    monkeypatch.setattr(Base, "of", staticmethod(slowly))
    path.write_text(before.replace("mass:", "mas:"))
    try:
        assert "Reading the catalogs" in part_of(own, "status").text
        time.sleep(2.0)  # it ends while nobody waits
        found = part_of(own, "status")
        assert (found.status, "catalogs/tires.yaml:" in found.text) == (422, True)
        path.write_text(before)
        until = time.monotonic() + 20.0
        while part_of(own, "status").status == 422:
            assert time.monotonic() < until
            time.sleep(0.1)
    finally:
        path.write_text(before)
