"""S. K. Clark (ed.), "Mechanics of Pneumatic Tires", NBS Monograph 122, 1971, equation 5.9: contact pressure is
inflation pressure plus a function of structure, torque and speed, p = p0 + f.
"""

from __future__ import annotations

import pytest

from configopt.physics import soft_ground


@pytest.mark.parametrize("structure", [pytest.param(12e3, id="p = p0 + f, eq. 5.9")])
def test_a_flattened_tire_presses_with_inflation_plus_what_its_structure_adds(structure: float) -> None:
    soil = {"cohesive_modulus": 5.27e3, "frictional_modulus": 1515.04e3, "exponent": 0.70}
    wheel = soft_ground.wheel_on_soil(
        1000.0, pressure=35e3 + structure, width=0.20, diameter=0.635, firm_patch_length=0.2, **soil
    )
    assert not wheel.rigid
    assert wheel.ground_pressure == pytest.approx(35e3 + structure)
