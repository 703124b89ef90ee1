"""J. Y. Wong, "Theory of Ground Vehicles", 2nd ed., Wiley 1993, page 26: peak friction of tires on roads.

The surface catalog keeps the printed figure at one tread and estimates the others around it.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from configopt.files.yaml_source import load_yaml
from configopt.quantities import parse_quantity

SURFACES = Path(__file__).parents[2] / "catalogs" / "surfaces.yaml"


@cache
def surfaces() -> dict[str, Any]:
    return {part["id"]: part for part in load_yaml(SURFACES).data["parts"]}


@pytest.mark.parametrize(
    ("surface", "tread", "low", "high"),
    [
        pytest.param("asphalt-dry", "closed", 0.80, 0.90, id="dry asphalt: 0.80 to 0.90"),
        pytest.param("packed-gravel", "medium", 0.60, 0.60, id="gravel: 0.60"),
        pytest.param("dry-earth", "medium", 0.68, 0.68, id="dry earth road: 0.68"),
        pytest.param("snow-packed", "closed", 0.20, 0.20, id="hard-packed snow: 0.20"),
    ],
)
def test_a_surface_has_the_printed_peak_friction(surface: str, tread: str, low: float, high: float) -> None:
    assert low <= float(parse_quantity(str(surfaces()[surface]["friction"][tread]), "ratio")) <= high
