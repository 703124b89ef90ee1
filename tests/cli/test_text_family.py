"""What vehicles share, as text."""

from __future__ import annotations

from typing import Any

import pytest

from configopt.cli.layout import Page
from configopt.cli.text_family import write_family

FAMILY: dict[str, Any] = {
    "vehicles_built": 60,
    "at_most": {"tires": 2},
    "spares": {"tires": 4, "rims": 0},
    "currency": "EUR",
    "parts": [
        {"family": "tires", "part": "heath-21", "used_by": ["a front", "b front"], "pieces": 60, "spares": 4,
         "bought": 64, "cost": 1920.0},
        {"family": "tires", "part": "heath-18", "used_by": ["a rear"], "pieces": 60, "spares": 4, "bought": 64,
         "cost": 2560.0},
    ],
    "together": {"cost": 4480.0, "different_parts": {"tires": 2}},
    "apart": {"cost": 5000.0, "different_parts": {"tires": 3}},
    "vehicles": [
        {"name": "a", "quantity": 40, "same_as_alone": True, "mass_kg": 0.0, "rolling_loss_wh_per_km": 0.0,
         "energy_wh_per_km": 0.0},
        {"name": "b", "quantity": 20, "same_as_alone": False, "mass_kg": 0.314, "rolling_loss_wh_per_km": -0.2,
         "energy_wh_per_km": 0.1},
    ],
}  # fmt: skip


def text(width: int = 80, **change: Any) -> str:
    sheet = Page(width)
    write_family(sheet, {**FAMILY, **change})
    return str(sheet)


def test_it_says_what_was_asked_what_is_saved_and_what_each_vehicle_pays() -> None:
    shown = text()
    assert "What 60 vehicles built share" in shown
    assert "at most 2 different tires, 4 spares of each tire" in shown
    assert "rim" not in shown
    assert "4480 EUR, 520 EUR less than if each were" in shown
    lines = {line.split()[0]: line.split() for line in shown.splitlines() if line.startswith("  ")}
    assert lines["tires"][1:3] == ["2", "3"]
    assert lines["a"][1:] == ["40", "same", "same", "same"]
    assert lines["b"][1:] == ["20", "+0.31", "-0.20", "+0.10"]


def test_where_a_vehicle_has_no_choice_alone_nothing_is_compared() -> None:
    row = {**FAMILY["vehicles"][0], "same_as_alone": None, "mass_kg": None}
    shown = text(apart=None, vehicles=[row])
    assert "than if each" not in shown
    assert "unknown" in shown


def test_sharing_that_costs_more_is_told_so() -> None:
    assert "20 EUR more than if each were" in text(apart={"cost": 4460.0, "different_parts": {"tires": 3}})


@pytest.mark.parametrize("width", [40, 60, 100])
def test_no_line_is_wider_than_the_page(width: int) -> None:
    assert max(len(line) for line in text(width).splitlines()) <= width
