"""P. W. Richmond, "Motion Resistance of Wheeled Vehicles in Snow", CRREL Report 95-7, 1995, equation 1 and its table
of theoretical final density.  The table as printed; the equation from memory (its symbols are printed).
"""

from __future__ import annotations

import pytest

from configopt.physics.snow import compacted_density, snow_sinkage


@pytest.mark.parametrize(
    ("kilopascals", "printed"),
    [
        pytest.param([50, 210], 0.50, id="0.50 Mg/m3 up to 210 kPa"),
        pytest.param([211, 350], 0.55, id="0.55 Mg/m3 above 210 kPa"),
        pytest.param([351, 700], 0.60, id="0.60 Mg/m3 above 350 kPa"),
        pytest.param([701, 2000], 0.65, id="0.65 Mg/m3 above 700 kPa"),
    ],
)
def test_final_density_of_compacted_snow(kilopascals: list[float], printed: float) -> None:
    got = compacted_density([1e3 * p for p in kilopascals]) / 1e3
    assert got == pytest.approx([printed, printed], abs=1e-9)


@pytest.mark.parametrize("depths", [pytest.param([0.10, 0.22, 0.37], id="z = h (1 - rho0/rhof) - from memory")])
def test_sinkage_of_a_wheel(depths: list[float]) -> None:
    book = [h * (1 - 0.16 / 0.50) for h in depths]
    assert snow_sinkage(depths, initial_density=160.0, final_density=500.0) == pytest.approx(book, rel=1e-12)
