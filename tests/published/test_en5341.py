"""US Army Engineer School, EN5341, pages 3-30 to 3-34: rating cone index of a layer, examples for a 105 mm howitzer."""

from __future__ import annotations

import pytest

from configopt.physics import vehicle_cone_index as vci


@pytest.mark.parametrize(
    ("cone_index", "remolding_index", "printed"),
    [
        pytest.param(49.0, 0.87, 43.0, id="one pass: 49 x 0.87 is approximately 43"),
        pytest.param(56.0, 0.85, 48.0, id="fifty passes: 56 x 0.85 is approximately 48"),
    ],
)
def test_rating_cone_index(cone_index: float, remolding_index: float, printed: float) -> None:
    got = vci.rating_cone_index(cone_index * vci.PSI, remolding_index=remolding_index)
    assert got / vci.PSI == pytest.approx(printed, abs=0.5)
