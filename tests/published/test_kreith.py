"""F. Kreith, Principles of Heat Transfer: convection of a disc spinning in still air.  From memory.

The printed correlation is recovered from values of the functions, without looking at their text.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics.rotor_cooling import free_disc_convection, free_disc_laminar_convection

K, NU, R = 0.026, 1.5e-5, 0.11


def nusselt(reynolds: float, *, transition: float = 2.4e5) -> float:
    """Mean h r/k at Re = omega r^2/nu."""
    h = free_disc_convection(
        reynolds * NU / R**2, radius=R, conductivity=K, viscosity=NU, transition_reynolds=transition
    )
    return float(h) * R / K


@pytest.mark.parametrize("factor", [pytest.param(0.36, id="laminar h = 0.36 k sqrt(omega/nu) - from memory")])
def test_laminar_disc(factor: float) -> None:
    for omega in (5.0, 25.0, 60.0):
        h = float(free_disc_laminar_convection(omega, conductivity=K, viscosity=NU))
        assert h / (K * np.sqrt(omega / NU)) == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize("factor", [pytest.param(0.015, id="turbulent part 0.015 Re^0.8 - from memory")])
def test_turbulent_disc(factor: float) -> None:
    """Turbulent from the centre on, only the second part is left."""
    for reynolds in (3e5, 1e6):
        assert nusselt(reynolds, transition=0.0) / reynolds**0.8 == pytest.approx(factor, rel=1e-9)


@pytest.mark.parametrize("exponent", [pytest.param(2.6, id="turbulent outside r_c: 1 - (r_c/r)^2.6 - from memory")])
def test_share_of_the_turbulent_ring(exponent: float) -> None:
    reynolds, change = 8e5, 2.4e5
    inner = np.sqrt(change / reynolds)
    turbulent = nusselt(reynolds) - 0.36 * np.sqrt(reynolds) * inner**2
    share = turbulent / nusselt(reynolds, transition=0.0)
    assert np.log(1.0 - share) / np.log(inner) == pytest.approx(exponent, rel=1e-9)
