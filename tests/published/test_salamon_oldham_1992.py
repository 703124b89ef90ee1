"""N. J. Salamon, R. A. Oldham, Analysis for design of spoked bicycle wheels, Finite Elements in Analysis and Design 10.

1992, as cited by M. Ford, Reinventing the Wheel, 2018: a wheel with radial spokes was only 5 % stiffer radially than
one with tangent spokes.  Their wheel's data are not at hand; Ford's standard research wheel stands in, laced radially
and with three crossings.
"""

from __future__ import annotations

import pytest

from configopt.physics.spoke_foundation import spoke_foundation, spoke_side
from configopt.physics.wheel_stiffness import radial_stiffness


def stiffness(crossings: int) -> float:
    geometry = {"flange_offset": 0.025, "flange_radius": 0.029, "rim_radius": 0.304, "crossings": crossings}
    side = spoke_side(18, rigidity=522e3, tension=0.0, **geometry)
    found = spoke_foundation(side, side, rim_radius=0.304)
    return float(radial_stiffness(found.radial, rim_radius=0.304, radial_rigidity=111.0))


def test_radial_spokes_are_five_per_cent_stiffer_than_tangent_ones() -> None:
    assert stiffness(0) / stiffness(3) - 1.0 == pytest.approx(0.05, abs=0.005)
