"""49 CFR 571.119, Standard No. 119 (new pneumatic tires for motorcycles and heavy vehicles), Table II: plunger and
least breaking energy of motorcycle tires.

The plunger's diameter as corrected in 77 FR 54836 (6 September 2012); the energies from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics.puncture import plunger_class, sidewall_energy


def test_the_plunger_for_motorcycle_tires_is_7_94_millimetres_thick() -> None:
    """Recovered from the energy over a wall of one metre cubed toughness: the plunger's area."""
    area = float(sidewall_energy(0.01, heavy_duty=False, casing_toughness=1e8)) / (0.01 * 1e8)
    assert np.sqrt(4.0 * area / np.pi) * 1e3 == pytest.approx(7.94, abs=0.005)


def test_the_plunger_in_inches_is_five_sixteenths() -> None:
    area = float(sidewall_energy(0.01, heavy_duty=False, casing_toughness=1e8)) / (0.01 * 1e8)
    assert np.sqrt(4.0 * area / np.pi) / 0.0254 == pytest.approx(5 / 16, abs=0.005 / 25.4)


@pytest.mark.parametrize(
    ("load_range", "joules"), [("A", 16), ("B", 33), ("C", 45)], ids=["A: 16 J", "B: 33 J", "C: 45 J"]
)
def test_the_breaking_energy_of_the_table_reaches_its_load_range(load_range: str, joules: float) -> None:
    place = "ABC".index(load_range) + 1
    assert int(plunger_class(joules)) == place
    assert int(plunger_class(joules - 0.5)) == place - 1
