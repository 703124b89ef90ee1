"""F. Berto, All About Tire Inflation: one rider's tires at 75 and at 150 psi.

Cornering force 130 and 123 lbf; rolling resistance about a tenth less.  Used as bounds and signs, since neither load
nor tire is printed with enough detail for more.
"""

from __future__ import annotations

import pytest

from configopt.physics import grip, rolling

PSI = 6894.757
PRESSURES = [75 * PSI, 150 * PSI]


@pytest.mark.parametrize("forces", [pytest.param((130.0, 123.0), id="cornering force 130 lbf to 123 lbf")])
def test_the_loss_of_side_force_lies_within_the_range_of_the_pressure_exponent(forces: tuple[float, float]) -> None:
    def ratio(exponent: float) -> float:
        low, high = grip.friction_force(
            400.0,
            friction=0.8,
            load_exponent=1.0,
            reference_load=400.0,
            pressure=PRESSURES,
            reference_pressure=PRESSURES[0],
            pressure_exponent=exponent,
        )
        return float(high / low)

    # The exponent is an input with the range 0 to 0.25.
    assert ratio(0.25) < forces[1] / forces[0] < ratio(0.0)


@pytest.mark.parametrize("change", [pytest.param(-0.10, id="rolling resistance about 10 % less")])
def test_the_harder_tire_rolls_easier_on_the_road(change: float) -> None:
    soft, hard = rolling.pressure_speed_factor(PRESSURES, carcass_pressure=3e4, speed=7.0)
    assert (hard / soft - 1.0) * change > 0.0
