"""K. Muniandy, Loh Pang Chai, "Tyre bead unseating test", Journal of the Rubber Research Institute of Malaysia 29(3),
138-145: the unseating force rises linearly with inflation pressure; silicone oil on the beads changes nothing.
"""

from __future__ import annotations

import inspect

import numpy as np
import pytest

from configopt.physics import handling


@pytest.mark.parametrize("pressures", [pytest.param([50e3, 100e3, 150e3, 200e3], id="linear increase")])
def test_the_unseating_force_rises_linearly_with_pressure(pressures: list[float]) -> None:
    slope = handling.unseating_slope(0.228, section_height=0.075)
    steps = np.diff(handling.unseating_force(pressures, at_zero=800.0, slope=slope))
    assert np.all(steps > 0.0)
    assert steps == pytest.approx(np.full(3, steps[0]), rel=1e-12)


@pytest.mark.parametrize("effect", [pytest.param(0.0, id="lubrication of the bead: no effect")])
def test_the_friction_of_the_bead_does_not_enter(effect: float) -> None:
    """An unseating model that took a friction coefficient would contradict the finding."""
    taken = {name for model in (handling.unseating_force, handling.unseating_slope) for name in _arguments(model)}
    assert len([name for name in taken if "friction" in name or "lubric" in name]) == effect
    assert taken == {"pressure", "at_zero", "slope", "bead_radius", "section_height", "share"}


def _arguments(function: object) -> list[str]:
    assert callable(function)
    return list(inspect.signature(function).parameters)
