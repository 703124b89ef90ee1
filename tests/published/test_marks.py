"""Marks' Standard Handbook for Mechanical Engineers: rolling resistance after Moyer, in the surface catalog."""

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
        pytest.param("total_coefficient", 0.012, id="dry firm packed gravel: 0.012"),
        pytest.param("total_reference_coefficient", 0.008, id="hard road: 0.008"),
    ],
)
def test_packed_gravel_has_the_printed_coefficients(key: str, printed: float) -> None:
    assert float(parse_quantity(str(surfaces()["packed-gravel"][key]), "ratio")) == printed
