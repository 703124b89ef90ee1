"""R. S. Sharp and R. Granger, On car steering torques at parking speeds, Proc. IMechE D 217 (2003) 87-96.

From memory: 0.376 mu W sqrt(A) for a round patch of even pressure, and Gough's (mu/3) sqrt(W^3/q).
"""

from __future__ import annotations

import pytest
from scipy.integrate import quad

from configopt.physics.chassis import gough_steering_moment, standstill_steering_moment


def test_the_printed_factor_0_376_is_the_friction_moment_of_a_unit_disc() -> None:
    radius = 3.0
    area = quad(lambda r: 2.0 * 3.141592653589793 * r, 0.0, radius)[0]
    moment = quad(lambda r: 2.0 * 3.141592653589793 * r * r / area, 0.0, radius)[0]
    assert moment / area**0.5 == pytest.approx(0.376, abs=0.0005)
    assert float(standstill_steering_moment(1.0, friction=1.0, patch_area=area)) == pytest.approx(moment, rel=1e-3)


def test_gough_has_a_third_of_friction_times_load_times_the_root_of_load_over_pressure() -> None:
    # 900 N at 90 kPa is a patch of 0.01 m^2, 0.1 m across: a third of 0.8 * 900 N * 0.1 m.
    assert float(gough_steering_moment(900.0, friction=0.8, pressure=90e3)) == pytest.approx(24.0, rel=1e-12)
