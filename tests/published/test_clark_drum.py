"""S. K. Clark's correction between drum and flat road, sqrt(1 + r/R), as quoted in a text on roller brake testers."""

from __future__ import annotations

import pytest

from configopt.physics import rolling


@pytest.mark.parametrize(
    ("ratio", "factor", "places"),
    [
        pytest.param(1.0, 1.414, 5e-4, id="tire radius equal to the roller's: 1.414"),
        pytest.param(3.0, 2.0, 1e-12, id="tire radius three times the roller's: 2.0"),
    ],
)
def test_a_roller_resists_more_than_a_flat_road(ratio: float, factor: float, places: float) -> None:
    assert rolling.drum_to_flat_factor(tire_radius=ratio * 0.1, drum_radius=0.1) == pytest.approx(factor, abs=places)
