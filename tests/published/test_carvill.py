"""J. Carvill, Mechanical Engineer's Data Handbook: rolling resistance of tires, as the surface catalog states it."""

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
    ("key", "printed"),
    [
        pytest.param("total_coefficient", 0.04, id="loose worn gravel: 0.04"),
        pytest.param("total_reference_coefficient", 0.01, id="new asphalt: 0.01"),
    ],
)
def test_worn_gravel_has_the_printed_coefficients(key: str, printed: float) -> None:
    assert float(parse_quantity(str(surfaces()["worn-gravel-drive"][key]), "ratio")) == printed
