"""How figures come about, as text: complete, on wide and narrow pages, and only where it is asked for."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from configopt.appraisal.appraise import appraise
from configopt.appraisal.models import MODELS
from configopt.cli.layout import Page
from configopt.cli.text_appraisal import write_appraisal
from configopt.cli.text_explanation import write_explanations
from configopt.cli.words import number
from configopt.scenario.case import load

ROOT = Path(__file__).parents[2]
TITLE = "How it comes about"


@cache
def payload(name: str = "upland-wardens") -> dict[str, Any]:
    """The baseline's appraisal, as JSON gives it back."""
    case = load(ROOT / "scenarios" / f"{name}.yaml")
    assert case.vehicle.baseline is not None
    found: dict[str, Any] = json.loads(json.dumps(appraise(case, [case.vehicle.baseline]).to_json()))
    return found


@cache
def text(name: str = "upland-wardens", width: int = 80) -> str:
    page = Page(width)
    for vehicle in payload(name)["vehicles"]:
        write_explanations(page, vehicle)
    return str(page)


def squeezed(words: str) -> str:
    """Text without its line breaks."""
    return " ".join(words.split())


@pytest.mark.parametrize("name", ["upland-wardens", "coastal-survey", "forest-rescue"])
@pytest.mark.parametrize("width", [40, 80])
def test_no_line_is_longer_than_the_page(name: str, width: int) -> None:
    assert max(len(line) for line in text(name, width).splitlines()) <= width


@pytest.mark.parametrize("width", [40, 80])
def test_every_figure_stands_there_with_its_value_and_what_went_into_it(width: int) -> None:
    written = squeezed(text(width=width))
    for row in payload()["vehicles"][0]["explanations"]:
        assert f": {number(row['value'], digits=4)}" in written, row["figure"]
        for part in row["inputs"]:
            assert f"{part['name']} = {number(part['value'], digits=6)}" in written, (row["figure"], part)
        for remark in row["remarks"]:
            assert f"remark: {remark}" in written


@pytest.mark.parametrize("width", [40, 80])
def test_every_model_stands_over_its_figures_with_formula_source_validity_and_check(width: int) -> None:
    written = squeezed(text(width=width))
    for key in {row["model"] for row in payload()["vehicles"][0]["explanations"]}:
        model = MODELS[key]
        assert squeezed(f"formula: {model.formula}") in written
        assert squeezed(f"source: {' '.join(cited.text for cited in model.sources)}") in written
        assert squeezed(f"holds for: {model.validity}") in written
        checks = ", ".join(check.removeprefix("test_") for check in model.checks)
        assert f"checked in tests/published: {checks or 'no published value was found'}" in written


def test_a_model_with_its_figures_reads_as_a_small_block() -> None:
    model = {
        "model": "axle",
        "subject": "loads and tire",
        "quantity": "load of an axle",
        "formula": "W = m g",
        "sources": ["A. Author, A Book, 1990. Chapter 1."],
        "validity": "level ground",
        "estimates": "",
        "not_modelled": "wind",
        "checks": ["test_author_1990"],
        "assumed": [{"name": "share", "wording": "share of all", "value": 0.5, "low": 0.25, "high": 1.0}],
    }
    inputs = [{"name": "mass", "value": 86.25, "unit": "kg"}, {"name": "wheels", "value": 2, "unit": "pieces"}]
    figure = {"figure": "axle_load", "position": "front", "terrain": None, "value": 845.8236, "unit": "N"}
    rows = [
        {**model, **figure, "inputs": inputs, "remarks": ["a guess"]},
        {**model, **figure, "figure": "pull", "terrain": "hill", "inputs": inputs, "remarks": ["a guess"]},
    ]
    page = Page(60)
    write_explanations(page, {"name": "cart", "explanations": rows})
    assert page.lines == [
        "How it comes about: loads and tire (cart)",
        "  Load of an axle",
        "    formula: W = m g",
        "    source: A. Author, A Book, 1990. Chapter 1.",
        "    holds for: level ground",
        "    assumed: share of all 0.5 (0.25 to 1)",
        "    left out: wind",
        "    checked in tests/published: author_1990",
        "    - axle load, front: 845.8 N",
        "    - pull, front on hill: 845.8 N",
        "      mass = 86.25 kg; wheels = 2",
        "      remark: a guess",
    ]


def test_models_come_by_subject_each_subject_once() -> None:
    headings = [line for line in text(width=100).splitlines() if line.startswith(TITLE)]
    subjects = [line.partition(": ")[2].partition(" (")[0] for line in headings]
    assert subjects == ["loads and tire", "wheel", "ground", "torque and brakes", "vehicle", "energy", "cost"]


def test_only_detail_explains_and_it_comes_last() -> None:
    short, long = Page(80), Page(80)
    write_appraisal(short, payload())
    write_appraisal(long, payload(), detail=True)
    assert TITLE not in str(short)
    before, _, after = str(long).partition(TITLE)
    assert "Cautions" in before
    assert "All limits" in before
    assert squeezed(TITLE + after) == squeezed(text())


def test_a_vehicle_without_explanations_gets_no_section() -> None:
    page = Page(80)
    write_explanations(page, {"name": "somebody"})
    assert page.lines == []
