"""89 Federal Register 4188 (23 January 2024), 16 CFR part 1420, Requirements for All Terrain Vehicles: low-pressure
tires are those up to 10 psi, 69 kPa.
"""

from __future__ import annotations

import pytest

from configopt.quantities import from_unit, parse_quantity


def test_the_low_pressure_of_a_quads_tires_is_69_kilopascals() -> None:
    assert from_unit(10.0, "psi") / 1e3 == pytest.approx(69.0, abs=0.5)
    assert float(parse_quantity("10 psi", "pressure")) == from_unit(10.0, "psi")
