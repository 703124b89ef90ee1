"""M. Hetenyi, Beams on Elastic Foundation, University of Michigan Press, 1946: the infinite beam under one load."""

from __future__ import annotations

import pytest

from configopt.physics.wheel_stiffness import radial_stiffness


def test_a_wheel_of_soft_rim_is_as_stiff_as_an_endless_beam() -> None:
    # y = P beta/(2 k) with beta = (k/(4 E I))^(1/4), so K = (64 E I k^3)^(1/4).  That the ring keeps its length matters
    # less and less, as lambda^(-1/4): 1e-4 here.
    stiffness = radial_stiffness(1e16, rim_radius=1.0, radial_rigidity=1.0)
    assert float(stiffness) == pytest.approx((64.0 * 1e16**3) ** 0.25, rel=1e-4)
