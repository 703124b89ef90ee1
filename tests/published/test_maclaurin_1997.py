"""E. B. Maclaurin, vehicle limiting cone index, 7th European ISTVS Conference, Ferrara 1997.  From memory."""

from __future__ import annotations

import pytest

from configopt.physics import vehicle_cone_index as vci


@pytest.mark.parametrize("factor", [pytest.param(1.85, id="1.85 W/(2 n b^0.8 d^0.8 delta^0.4) - from memory")])
def test_limiting_cone_index(factor: float) -> None:
    """Two axles, 40 kN, b 0.30 m, d 0.90 m, delta 0.04 m; in kPa."""
    book = factor * 40 / (2 * 2 * 0.30**0.8 * 0.90**0.8 * 0.04**0.4)
    got = vci.vehicle_limiting_cone_index(40e3, wheels=4, width=0.30, diameter=0.90, deflection=0.04)
    assert got / 1e3 == pytest.approx(book, rel=1e-12)
