"""J. P. Meijaard et al., "Linearized dynamics equations for the balance and steer of a bicycle", Proceedings of the
Royal Society A 463, 2007, Table 1: wheels of the benchmark bicycle.  From memory.

The table prints mass, spin inertia and diametral inertia.  A thin ring has half its spin inertia about a diameter; a
bicycle wheel is less than 0.1 m wide.
"""

from __future__ import annotations

import pytest

from configopt.physics.inertia import diametral_inertia


@pytest.mark.parametrize(
    ("mass", "spin", "printed"),
    [
        pytest.param(2.0, 0.12, 0.0603, id="rear: 2 kg, 0.12, 0.0603 kg m2 - from memory"),
        pytest.param(3.0, 0.28, 0.1405, id="front: 3 kg, 0.28, 0.1405 kg m2 - from memory"),
    ],
)
def test_the_diametral_inertia_lies_between_a_thin_ring_and_a_wide_wheel(
    mass: float, spin: float, printed: float
) -> None:
    thin, wide = diametral_inertia(spin, mass=mass, width=[0.0, 0.1])
    assert thin < printed < wide
