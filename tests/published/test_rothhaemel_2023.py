"""M. Rothhaemel, "Measuring vertical tyre stiffness of bicycle tyres", Bicycle and Motorcycle Dynamics 2023,
abstract: 20-inch (406) tires measured between 31 and 147 N/mm; below 50 N/mm the rim is expected to puncture the tube.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics import tire

# A 47-406 tire rated at 4 bar; the abstract gives no pressures, so the usual span of such a tire is taken.
CASING = {"carcass_pressure": tire.default_carcass_pressure(4e5, heavy_duty=False), "width": 0.047, "diameter": 0.50}


@pytest.mark.parametrize("printed", [pytest.param((31.0, 147.0), id="31 to 147 N/mm over the whole test range")])
def test_stiffness_of_a_twenty_inch_tire_lies_in_the_measured_range(printed: tuple[float, float]) -> None:
    stiffness = tire.vertical_stiffness(0.006, pressure=np.array([1.0, 2.0, 3.0, 3.5]) * 1e5, **CASING) / 1e3
    assert np.all((stiffness > printed[0]) & (stiffness < printed[1]))


@pytest.mark.parametrize("printed", [pytest.param(50.0, id="50 N/mm belongs to an extremely low pressure")])
def test_the_stiffness_that_endangers_the_tube_needs_an_extremely_low_pressure(printed: float) -> None:
    low, usual = tire.vertical_stiffness(0.006, pressure=[0.9e5, 2.5e5], **CASING) / 1e3
    assert low < printed < usual


@pytest.mark.parametrize("widths", [pytest.param((0.040, 0.055), id="pressure matters more than the tire's type")])
def test_pressure_is_the_main_driver_of_stiffness(widths: tuple[float, float]) -> None:
    base = {"carcass_pressure": 3e4, "pressure": 2e5}
    narrow, wide = (tire.vertical_stiffness(0.15 * w, **base, width=w, diameter=0.406 + 2 * w) for w in widths)
    hard = tire.vertical_stiffness(
        0.15 * widths[0], **(base | {"pressure": 4e5}), width=widths[0], diameter=0.406 + 2 * widths[0]
    )
    assert hard / narrow > wide / narrow > 1.0
