"""J. Y. Wong, "Theory of Ground Vehicles", 4th ed., Wiley 2008, Table 2.3 (terrain values): the soils of the surface
catalog are the printed rows.  Shear deformation moduli from the text of chapter 2, where it names the soil.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from configopt.files.yaml_source import load_yaml
from configopt.quantities import parse_quantity, to_unit

SURFACES = Path(__file__).parents[2] / "catalogs" / "surfaces.yaml"
FIGURES = {
    "n": ("exponent", "ratio", ""),
    "k_c": ("cohesive_modulus", "kc_modulus", "kN/m^(n+1)"),
    "k_phi": ("frictional_modulus", "kphi_modulus", "kN/m^(n+2)"),
    "c": ("cohesion", "pressure", "kPa"),
    "phi": ("friction_angle", "angle", "deg"),
    "K": ("shear_modulus", "length", "m"),
}
# surface: name of the row, n, k_c [kN/m^(n+1)], k_phi [kN/m^(n+2)], c [kPa], phi [deg]
ROWS = {
    "dry-sand": ("dry sand (LLL)", "1.10", "0.99", "1528.43", "1.04", "28"),
    "sandy-loam-15": ("sandy loam 15 % (LLL)", "0.70", "5.27", "1515.04", "1.72", "29"),
    "sandy-loam-26": ("sandy loam 26 % (Hanamoto)", "0.30", "2.79", "141.11", "13.79", "22"),
    "tilled-field": ("sandy loam 11 % (Michigan)", "0.90", "52.53", "1127.97", "4.83", "20"),
    "clayey-soil-38": ("clayey soil 38 % (Thailand)", "0.50", "13.19", "692.15", "4.14", "13"),
    "mud": ("clayey soil 55 % (Thailand)", "0.70", "16.03", "1262.53", "2.07", "10"),
    "lete-sand": ("LETE sand", "0.79", "102", "5301", "1.3", "31.1"),
    "upland-sandy-loam-51": ("upland sandy loam 51 %", "1.10", "74.6", "2080", "3.3", "33.7"),
    "rubicon-sandy-loam-43": ("Rubicon sandy loam 43 %", "0.66", "6.9", "752", "3.7", "29.8"),
    "north-gower-clayey-loam-46": ("North Gower clayey loam 46 %", "0.73", "41.6", "2471", "6.1", "26.6"),
    "grenville-loam": ("Grenville loam 24 %", "1.01", "0.06", "5880", "3.1", "29.8"),
    "snow": ("snow (U.S.)", "1.60", "4.37", "196.72", "1.03", "19.7"),
}
MODULI = {"lete-sand": "0.012", "dry-sand": "0.025", "clayey-soil-38": "0.010"}
CHECKS = [
    *((surface, symbol, row[i + 1]) for surface, row in ROWS.items() for i, symbol in enumerate(list(FIGURES)[:5])),
    *((surface, "K", modulus) for surface, modulus in MODULI.items()),
]


@cache
def soils() -> dict[str, Any]:
    return {part["id"]: part.get("soil") for part in load_yaml(SURFACES).data["parts"]}


@pytest.mark.parametrize(
    ("surface", "symbol", "printed"),
    CHECKS,
    ids=[f"{ROWS[surface][0]}: {symbol} {value}" for surface, symbol, value in CHECKS],
)
def test_a_soil_figure_is_the_printed_one(surface: str, symbol: str, printed: str) -> None:
    key, dimension, unit = FIGURES[symbol]
    value = to_unit(float(parse_quantity(str(soils()[surface][key]), dimension)), unit, dimension)
    assert value == pytest.approx(float(printed), rel=1e-9)
