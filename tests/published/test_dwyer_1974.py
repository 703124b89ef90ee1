"""M. J. Dwyer, J. A. Comely, D. W. Evernden, "The field performance of some tractor tyres related to soil mechanical
properties", Journal of Agricultural Engineering Research 19 (1974), abstract (authors from memory): five tire sizes in
thirteen fields.  Signs only.
"""

from __future__ import annotations

import pytest

from configopt.physics import grip, mobility_numbers, soft_ground

FIELD = {"cohesive_modulus": 52.53e3, "frictional_modulus": 1127.97e3, "exponent": 0.9}
SHEAR = {"cohesion": 4830.0, "friction_angle": 0.349, "shear_modulus": 0.02}


@pytest.mark.parametrize("pressures", [pytest.param([80e3, 50e3], id="less inflation, more traction")])
def test_reducing_inflation_pressure_increases_traction(pressures: list[float]) -> None:
    wheel = soft_ground.wheel_on_soil(15e3, pressure=pressures, width=0.4, diameter=1.5, firm_patch_length=0.6, **FIELD)
    thrust = grip.soil_thrust(15e3, slip=0.15, area=wheel.patch_area, length=wheel.patch_length, **SHEAR)
    assert thrust[1] > thrust[0]


@pytest.mark.parametrize("widths", [pytest.param([0.30, 0.45], id="more section width, less rolling resistance")])
def test_increasing_section_width_reduces_rolling_resistance(widths: list[float]) -> None:
    m = mobility_numbers.clay_numeric(15e3, cone_index=500e3, width=widths, diameter=1.5, deflection_ratio=0.2)
    resistance = mobility_numbers.gee_clough_rolling_resistance(m)
    assert resistance[1] < resistance[0]
