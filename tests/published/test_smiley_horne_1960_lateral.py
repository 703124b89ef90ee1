"""R. F. Smiley, W. B. Horne, NASA TR R-64, 1960: lateral spring constant of a standing tire.  From memory.

The factors are recovered from values of the function, without looking at its text.
"""

from __future__ import annotations

import pytest

from configopt.physics.handling import lateral_stiffness

WIDTH = 0.20


def stiffness(*, deflection: float = 0.0, pressure: float = 0.0, rated: float = 0.0) -> float:
    return float(lateral_stiffness(deflection, pressure=pressure, rated_pressure=rated, width=WIDTH))


@pytest.mark.parametrize("factor", [pytest.param(2.0, id="2 w q - from memory")])
def test_inflation_gives_two_widths_of_stiffness(factor: float) -> None:
    assert stiffness(pressure=1e5) / (WIDTH * 1e5) == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize("share", [pytest.param(0.24, id="0.24 of the rated pressure - from memory")])
def test_the_casing_counts_as_its_share_of_the_rated_pressure(share: float) -> None:
    assert stiffness(rated=1e5) / stiffness(pressure=1e5) == pytest.approx(share, rel=1e-12)


@pytest.mark.parametrize("share", [pytest.param(0.7, id="1 - 0.7 d/w - from memory")])
def test_deflection_takes_its_share(share: float) -> None:
    lost = 1.0 - stiffness(deflection=0.05, pressure=1e5) / stiffness(pressure=1e5)
    assert lost / (0.05 / WIDTH) == pytest.approx(share, rel=1e-12)
