"""Nilges, dissertation on rolling resistance of mountain bikes, German Sport University Cologne, as summarised in
print: over 350 runs.  Signs only; the bicycle's watts depend on speed and rider.
"""

from __future__ import annotations

import pytest

from configopt.physics import rolling, soft_ground

SOFT = {"cohesive_modulus": 13.19e3, "frictional_modulus": 692.15e3, "exponent": 0.5}
# Firm enough that a bicycle tire at 1.5 bar presses less than a rigid wheel would, so that it flattens.
MEADOW = {"cohesive_modulus": 102e3, "frictional_modulus": 5301e3, "exponent": 0.79}
WHEEL = {"diameter": 0.67, "firm_patch_length": 0.045}


@pytest.mark.parametrize("watts", [pytest.param(-20.0, id="meadow, 4.0 to 1.5 bar: about -20 W")])
def test_lower_pressure_rolls_easier_on_a_meadow(watts: float) -> None:
    """Compaction and flexing together."""
    wheel = soft_ground.wheel_on_soil(450.0, pressure=[400e3, 150e3], width=0.055, **WHEEL, **MEADOW)
    flexing = soft_ground.flexing_resistance(450.0, rolling_coefficient=0.01, carrying_fraction=wheel.carrying_fraction)
    hard, soft = wheel.compaction + flexing
    assert (soft - hard) * watts > 0.0


@pytest.mark.parametrize(
    "watts", [pytest.param(15.41, id="soft soil, equal pressure: the wide tire is 15.41 W better")]
)
def test_a_wide_tire_rolls_easier_on_soft_ground_at_a_bicycles_pressure(watts: float) -> None:
    narrow, wide = soft_ground.wheel_on_soil(450.0, pressure=200e3, width=[0.050, 0.060], **WHEEL, **SOFT).compaction
    assert (narrow - wide) * watts > 0.0


@pytest.mark.parametrize("direction", [pytest.param(-1.0, id="on tarmac lower pressure does not roll easier")])
def test_lower_pressure_does_not_roll_easier_on_tarmac(direction: float) -> None:
    hard, soft = rolling.pressure_speed_factor([400e3, 150e3], carcass_pressure=2e4, speed=5.0)
    assert (hard - soft) * direction > 0.0
