"""J. K. Moore, Human Control of a Bicycle, PhD thesis, University of California, Davis, 2012.

Chapter on physical parameters, tables of measured and of derived (benchmark) parameters: wheels swung as compound
pendulums, g = 9.81 m/s^2, and steering geometry.  Bicycles are numbered in the order of the tables.  The tolerance is
half a unit of the last digit of the result plus what half a unit of the last digits of the inputs makes of it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from configopt.physics.chassis import trail
from configopt.physics.inertia import compound_pendulum_inertia

# mass [kg], period [s], arm [m], spin inertia [kg m^2]
WHEELS = {
    "first bicycle, front": (2.02, 1.481127, 0.293, 0.149),
    "first bicycle, rear": (3.11, 1.361090, 0.293, 0.152),
    "third bicycle, front": (3.33, 1.353666, 0.297, 0.157),
    "third bicycle, rear": (3.96, 1.312177, 0.296, 0.154),
    "fourth bicycle, front": (3.54, 1.354974, 0.301, 0.166),
    "fourth bicycle, rear": (3.96, 1.299370, 0.297, 0.144),
    "fifth bicycle, front": (1.50, 1.463519, 0.264, 0.106),
    "fifth bicycle, rear": (1.94, 1.362063, 0.265, 0.101),
    "sixth bicycle, front": (1.58, 1.451154, 0.297, 0.106),
    "sixth bicycle, rear": (1.38, 1.395046, 0.297, 0.076),
}
# front radius [m], head angle from the horizontal [deg], fork offset [m], trail [m]
FORKS = {
    "first bicycle": (0.3435, 67.1, 0.070, 0.069),
    "second bicycle": (0.3426, 67.1, 0.070, 0.068),
    "third bicycle": (0.3400, 73.1, 0.045, 0.056),
    "fourth bicycle": (0.3426, 69.0, 0.045, 0.083),
    "fifth bicycle": (0.3302, 71.1, 0.038, 0.072),
    "sixth bicycle": (0.3338, 74.2, 0.032, 0.062),
}


def spread(law: Callable[..., float], values: tuple[float, ...], halves: tuple[float, ...]) -> float:
    """Return the sum of changes that half a unit of the last digit of each input makes."""
    base = law(*values)
    moved = [[v + (h if i == j else 0.0) for j, v in enumerate(values)] for i, h in enumerate(halves)]
    return sum(abs(law(*inputs) - base) for inputs in moved)


def inertia(mass: float, period: float, arm: float) -> float:
    return float(compound_pendulum_inertia(mass, period=period, arm=arm, gravity=9.81))


def fork_trail(radius: float, head_angle: float, offset: float) -> float:
    return float(trail(radius, caster_angle=np.radians(90.0 - head_angle), fork_offset=offset))


@pytest.mark.parametrize(("mass", "period", "arm", "spin"), WHEELS.values(), ids=WHEELS)
def test_a_swinging_wheel_has_the_printed_spin_inertia(mass: float, period: float, arm: float, spin: float) -> None:
    tolerance = 0.0005 + spread(inertia, (mass, period, arm), (0.005, 5e-7, 0.0005))
    assert inertia(mass, period, arm) == pytest.approx(spin, abs=tolerance)


@pytest.mark.parametrize(("radius", "head_angle", "offset", "printed"), FORKS.values(), ids=FORKS)
def test_a_fork_has_the_printed_trail(radius: float, head_angle: float, offset: float, printed: float) -> None:
    tolerance = 0.0005 + spread(fork_trail, (radius, head_angle, offset), (0.00005, 0.05, 0.0005))
    assert fork_trail(radius, head_angle, offset) == pytest.approx(printed, abs=tolerance)
