"""P. W. Richmond, S. A. Shoop, G. L. Blaisdell, "Cold Regions Mobility Models", CRREL Report 95-1, 1995, Table A5:
sample input and output, a light tracked carrier on undisturbed snow of 0.2 g/cm3.
"""

from __future__ import annotations

import pytest

from configopt.physics.snow import compacted_density, snow_sinkage


@pytest.mark.parametrize(
    ("depth", "printed"),
    [
        pytest.param(15.0, 9.0, id="example 1: 15 cm of snow, rut 9.0 cm"),
        pytest.param(12.0, 7.2, id="example 5: 12 cm of snow on ice, rut 7.2 cm"),
    ],
)
def test_rut_in_undisturbed_snow(depth: float, printed: float) -> None:
    # A carrier of this class presses far less than 210 kPa.
    final = compacted_density(60e3)
    rut = snow_sinkage(depth / 100, initial_density=200.0, final_density=final)
    assert float(rut) * 100 == pytest.approx(printed, abs=0.05)
