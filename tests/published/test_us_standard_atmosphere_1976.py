"""U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562), Table I, by geometric altitude.  From memory, save sea level.

Below 11 km the same as ISO 2533:1975.  Tolerance: half a unit of the last printed digit.
"""

from __future__ import annotations

import pytest

from configopt.physics.air import air_density, atmospheric_pressure, standard_temperature

# altitude [m], temperature [K], pressure [hPa], density [kg/m^3]
ROWS = [
    (1000, 281.651, 898.76, 1.1117),
    (2000, 275.154, 795.01, 1.0066),
    (3000, 268.659, 701.21, 0.90925),
    (5000, 255.676, 540.48, 0.73643),
]
NAMES = [f"{row[0]} m" for row in ROWS]


def test_density_at_sea_level_is_1_225() -> None:
    assert float(air_density(0.0)) == pytest.approx(1.225, abs=0.0005)


@pytest.mark.parametrize(("altitude", "temperature"), [row[:2] for row in ROWS], ids=NAMES)
def test_temperature_is_the_printed_one(altitude: float, temperature: float) -> None:
    assert float(standard_temperature(altitude)) == pytest.approx(temperature, abs=0.0005)


@pytest.mark.parametrize(("altitude", "pressure"), [(row[0], row[2]) for row in ROWS], ids=NAMES)
def test_pressure_is_the_printed_one(altitude: float, pressure: float) -> None:
    assert float(atmospheric_pressure(altitude)) / 100.0 == pytest.approx(pressure, abs=0.005)


@pytest.mark.parametrize(("altitude", "density"), [(row[0], row[3]) for row in ROWS], ids=NAMES)
def test_density_is_the_printed_one(altitude: float, density: float) -> None:
    half = 0.00005 if density > 1.0 else 0.000005
    assert float(air_density(altitude)) == pytest.approx(density, abs=half)
