"""Figures on the page are those of the JSON of choose, to the printed digit; every one has its unit."""

from __future__ import annotations

import re
from typing import Any

import pytest
from served import BASE, NAME, VEHICLE, Served, by_id, rows, words

from configopt.choice.result import choose
from configopt.desk.views import FIGURES, GROUND_FIGURES, SUMS
from configopt.scenario.case import Case
from configopt.scenario.limits import LIMITS
from configopt.scenario.variants import Planned, Setting
from configopt.sheet.figures import figure_text
from configopt.sweep.changing import Base, changed

#: A change as the address has it, and the same as a variants file would.
STATES: dict[str, tuple[str, dict[str, Any]]] = {
    "as the file has it": ("", {}),
    "other limits": (
        "&limit.range=40.5&limit.cost=900&limit.climb_grade.peat-path=16",
        {
            f"vehicles.{VEHICLE}.limits.range": "40.5 km",
            f"vehicles.{VEHICLE}.limits.cost": 900.0,
            f"vehicles.{VEHICLE}.limits.climb_grade.peat-path": "16 %",
        },
    ),
    "other ground": (
        "&mix.peat-path=10&mix.gravel-track=60&mix.rock-steps=30&speed.gravel-track=30",
        {
            f"vehicles.{VEHICLE}.terrain_mix": {"peat-path": 0.1, "gravel-track": 0.6, "rock-steps": 0.3},
            f"vehicles.{VEHICLE}.terrains.gravel-track.speed": "30 km/h",
        },
    ),
    "everything other": (
        "&mix.peat-path=10&mix.gravel-track=60&mix.rock-steps=30&speed.gravel-track=30&limit.climb_grade.peat-path=16"
        "&rate.cost=0.05&price.heron-moor-80-100-21=150&out=hythe-disc-230-4x80&off=range&off=cost",
        {
            f"vehicles.{VEHICLE}.terrain_mix": {"peat-path": 0.1, "gravel-track": 0.6, "rock-steps": 0.3},
            f"vehicles.{VEHICLE}.terrains.gravel-track.speed": "30 km/h",
            f"vehicles.{VEHICLE}.limits.climb_grade.peat-path": "16 %",
            "aims.cost": 0.05,
            "prices.heron-moor-80-100-21": 1.5,
            "withdrawn.hythe-disc-230-4x80": True,
            f"vehicles.{VEHICLE}.limits.range": None,
            f"vehicles.{VEHICLE}.limits.cost": None,
        },
    ),
}


def stated(page: Served, fields: dict[str, Any]) -> Case:
    base = Base.of(page.folder / "scenarios" / f"{NAME}.yaml", "test")
    return changed(base, Planned("test", settings=tuple(Setting(*row) for row in fields.items()))).case


_KEPT: dict[str, Any] = {}


def chosen(page: Served, name: str) -> Any:
    """JSON of choose for a state, made once."""
    if name not in _KEPT:
        _KEPT[name] = choose(stated(page, STATES[name][1])).to_json()
    return _KEPT[name]


#: Choosing with all that goes into its JSON takes some seconds, so the states in between are left to the slow line.
ASKED = [
    pytest.param(name, marks=() if number in (0, len(STATES) - 1) else pytest.mark.slow)
    for number, name in enumerate(STATES)
]


@pytest.mark.parametrize("name", ASKED)
def test_figures_are_those_of_choose(page: Served, name: str) -> None:
    found = page.settled(BASE + STATES[name][0])
    made = chosen(page, name)
    tree = found.tree
    if made["status"] == "infeasible":
        assert "Proven: nothing in these catalogs meets every limit" in found.text
        return
    vehicle = made["vehicles"][0]
    sums = rows(by_id(tree, "sums"))
    for key, text, unit in SUMS:
        assert sums[text][0] == figure_text(vehicle[key], "EUR" if unit == "currency" else unit)
    ground = rows(by_id(tree, "ground-rows"))
    for key, text, unit in GROUND_FIGURES:
        values = [terrain[key] for terrain in vehicle["terrains"]]
        if any(value is not None for value in values):
            assert ground[text] == ["–" if value is None else figure_text(value, unit) for value in values]
    for step, figures in FIGURES.items():
        table = rows(by_id(tree, f"{step}-rows"))
        for key, text, unit in figures:
            values = [package[key] for package in vehicle["packages"]]
            if any(value is not None for value in values):
                shown = [figure_text(value, "EUR" if unit == "currency" else unit) for value in values]
                assert table[text] == [f"{figure} (ratio)" if unit == "1" else figure for figure in shown]
    names = [words(by_id(tree, f"slot-{p}-tire")) for p in ("front", "rear")]
    for shown, package in zip(names, vehicle["packages"], strict=True):
        assert shown.startswith(package["names"]["tire"])
    assert f"weighed: {made['aim']['value']:.4f} (a sum without unit) =" in found.text


def test_margins_on_the_page_are_those_of_choose(page: Served) -> None:
    tree = page.settled(BASE).tree
    margins = chosen(page, "as the file has it")["vehicles"][0]["margins"]
    for margin in margins:
        limit = LIMITS[margin["limit"]]
        if limit.relaxable and margin["terrain"] and not margin["position"] and limit.key == "climb_grade":
            shown = words(by_id(tree, f"is-{limit.key}-{margin['terrain']}"))
            assert shown.startswith(f"is {figure_text(margin['value'], margin['unit'])}:")
    text = words(by_id(tree, "is-range"))
    value = next(one["value"] for one in margins if one["limit"] == "range")
    assert text.startswith(f"is {figure_text(value, 'km')}: met")


def test_every_figure_has_a_unit_or_is_a_ratio(page: Served) -> None:
    tree = page.settled(f"{BASE}&beside=today").tree
    looked = 0
    for row in tree.iter("tr"):
        head = row.find("th")
        if head is None or not row.findall("td"):
            continue
        for cell in row.findall("td"):
            text = words(cell)
            number = re.match(r"[+\N{MINUS SIGN}]?\d[\d.,\N{NARROW NO-BREAK SPACE}]*", text)
            if number is None or re.match(r"[A-Za-z]", text) or "×" in text:
                continue
            looked += 1
            rest = text[number.end() :]
            assert rest.startswith((" ", "\N{NO-BREAK SPACE}", "°")), (words(head), text)
    assert looked > 60


def test_moving_a_limit_by_parts_of_the_page_gives_the_same_figures(page: Served) -> None:
    part = page.part(f"/s/{NAME}/answer?vehicle={VEHICLE}&limit.range=40.7")
    whole = page.settled(f"{BASE}&limit.range=40.7")
    assert rows(by_id(part.tree, "sums")) == rows(by_id(whole.tree, "sums"))
    assert part.headers["hx-replace-url"] == f"{BASE}&limit.range=40.7"
