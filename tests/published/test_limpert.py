"""R. Limpert, Brake Design and Safety: convection of solid rotors.  From memory.

The printed correlation is recovered from values of the function, without looking at its text.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics.rotor_heat import solid_rotor_convection


def nusselt(reynolds: float) -> float:
    """Return h D/k at a Reynolds number, with D = 0.2 m, nu = 1.5e-5 m^2/s, k = 0.026 W/(m K)."""
    h = solid_rotor_convection(reynolds * 1.5e-5 / 0.2, diameter=0.2, conductivity=0.026, viscosity=1.5e-5)
    return float(h) * 0.2 / 0.026


@pytest.mark.parametrize(
    ("low", "high", "exponent"), [(2e4, 2e5, 0.55), (3e5, 3e6, 0.8)], ids=["Re <= 2.4e5", "Re > 2.4e5"]
)
def test_the_exponent_of_the_reynolds_number_is_the_printed_one(low: float, high: float, exponent: float) -> None:
    assert np.log10(nusselt(high) / nusselt(low)) == pytest.approx(exponent, abs=1e-9)


@pytest.mark.parametrize(
    ("reynolds", "exponent", "factor"), [(1e5, 0.55, 0.70), (1e6, 0.8, 0.04)], ids=["Re <= 2.4e5", "Re > 2.4e5"]
)
def test_the_factor_of_the_correlation_is_the_printed_one(reynolds: float, exponent: float, factor: float) -> None:
    assert nusselt(reynolds) / reynolds**exponent == pytest.approx(factor, rel=1e-9)
