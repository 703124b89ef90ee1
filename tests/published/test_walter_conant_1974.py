"""J. D. Walter, F. S. Conant, "Energy losses in tires", Tire Science and Technology 2(4), 1974: the normal range of
rolling resistance is 10 to 20 lb per 1000 lb of load.
"""

from __future__ import annotations

import pytest

from configopt.physics import rolling


@pytest.mark.parametrize(
    ("bar", "kmh"), [pytest.param((2.0, 2.5), (10.0, 50.0), id="10 to 20 lb per 1000 lb at road pressures")]
)
def test_road_tires_at_moderate_speed_lie_in_the_normal_range(
    bar: tuple[float, float], kmh: tuple[float, float]
) -> None:
    for p in bar:
        for v in kmh:
            assert 0.010 <= rolling.bradley_coefficient(p * 1e5, speed=v / 3.6) <= 0.020
