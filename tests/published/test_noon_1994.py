"""R. K. Noon, Engineering Analysis of Vehicular Accidents, CRC Press 1994: friction of tires.

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
    ("surface", "tread", "printed"),
    [
        pytest.param("asphalt-worn", "medium", 0.65, id="dry asphalt: 0.65"),
        pytest.param("loose-gravel", "closed", 0.35, id="gravel and dirt road: 0.35"),
        pytest.param("wet-grass", "closed", 0.20, id="wet grassy field: 0.20"),
    ],
)
def test_a_surface_has_the_printed_friction(surface: str, tread: str, printed: float) -> None:
    assert float(parse_quantity(str(surfaces()[surface]["friction"][tread]), "ratio")) == printed
