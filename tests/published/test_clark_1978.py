"""S. K. Clark, "Rolling Resistance of Pneumatic Tires", Tire Science and Technology 6(3), 1978, 163-175, abstract:
linear relations between equilibrium rolling resistance, load and the reciprocal of inflation pressure.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics import rolling


@pytest.mark.parametrize("loads", [pytest.param([200.0, 400.0, 800.0], id="linear in load")])
def test_resistance_is_linear_in_load(loads: list[float]) -> None:
    test = {"pressure_exponent": -0.4, "load_exponent": 1.0, "constant": 0.08}
    resistance = rolling.sae_j2452_resistance(loads, pressure=200e3, speed=15.0, **test)
    assert resistance / resistance[0] == pytest.approx(np.array(loads) / loads[0])


@pytest.mark.parametrize("bars", [pytest.param([1.5, 2.0, 3.0, 6.0], id="linear in the reciprocal of pressure")])
def test_resistance_is_linear_in_the_reciprocal_of_pressure(bars: list[float]) -> None:
    pressures = 1e5 * np.array(bars)
    got = rolling.rolling_coefficient(
        0.02,
        pressure=pressures,
        carcass_pressure=15e3,
        speed=10.0,
        reference_pressure=2e5,
        reference_speed=10.0,
    )
    slopes = np.diff(got) / np.diff(1.0 / pressures)
    assert slopes == pytest.approx(np.full(3, slopes[0]), rel=1e-9)
    assert slopes[0] > 0.0
