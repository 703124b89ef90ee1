"""R. Limpert, Motorcycle Braking Dynamics, 2008: dynamic wheel loads, equations 1 and 2 and the example beside them.

psi is the static share of the rear wheel, chi the height of the centre of gravity over the wheelbase, a in g.
"""

from __future__ import annotations

import pytest

from configopt.physics.constants import STANDARD_GRAVITY
from configopt.physics.loads import AxleLoads, Chassis, axle_loads

POUND = 0.45359237


def loads(mass: float, *, psi: float, chi: float, a: float) -> AxleLoads:
    base = 1.4
    chassis = Chassis(mass, base, (1.0 - psi) * base, chi * base, 0.3, 0.3)
    return axle_loads(
        chassis,
        front_mass=0.0,
        rear_mass=0.0,
        front_radius=0.3,
        rear_radius=0.3,
        deceleration=a * STANDARD_GRAVITY,
    )


@pytest.mark.parametrize("a", [pytest.param([0.0, 0.4, 0.8], id="front (1 - psi + chi a) W, eq. 1")])
def test_front_load_while_braking(a: list[float]) -> None:
    for one in a:
        got = float(loads(200.0, psi=0.52, chi=0.45, a=one).front)
        assert got / (200.0 * STANDARD_GRAVITY) == pytest.approx(1 - 0.52 + 0.45 * one, rel=1e-12)


@pytest.mark.parametrize("a", [pytest.param([0.0, 0.4, 0.8], id="rear (psi - chi a) W, eq. 2")])
def test_rear_load_while_braking(a: list[float]) -> None:
    for one in a:
        got = float(loads(200.0, psi=0.52, chi=0.45, a=one).rear)
        assert got / (200.0 * STANDARD_GRAVITY) == pytest.approx(0.52 - 0.45 * one, rel=1e-12)


@pytest.mark.parametrize("printed", [pytest.param(245.0, id="0.7 g, 700 lb, chi 0.5: 245 lb more at the front")])
def test_load_transfer_of_the_printed_example(printed: float) -> None:
    still, braking = (loads(700 * POUND, psi=0.5, chi=0.5, a=a).front for a in (0.0, 0.7))
    assert float(braking - still) / (POUND * STANDARD_GRAVITY) == pytest.approx(printed, abs=0.5)
