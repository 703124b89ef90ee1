"""D. Rowland, "Tracked vehicle ground pressure and its effect on soft ground performance", 4th ISTVS Conference,
Stockholm-Kiruna 1972.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics import vehicle_cone_index as vci


@pytest.mark.parametrize("factor", [pytest.param(1.26, id="1.26 W/(2 m b sqrt(p d))")])
def test_mean_maximum_pressure_of_tracks(factor: float) -> None:
    """Five road wheels a side, 135 kN, b 0.43 m, p 0.15 m, d 0.61 m; in kPa."""
    book = factor * 135 / (2 * 5 * 0.43 * math.sqrt(0.15 * 0.61))
    got = vci.rowland_track_pressure(135e3, wheels=10, width=0.43, pitch=0.15, diameter=0.61)
    assert got / 1e3 == pytest.approx(book, rel=1e-12)
