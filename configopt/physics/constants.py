"""Physical constants shared by the physics, each with its source."""

from __future__ import annotations

from typing import Final

STANDARD_GRAVITY: Final = 9.80665
"""Standard acceleration of gravity [m/s^2]; 3rd CGPM (1901)."""

STEFAN_BOLTZMANN: Final = 5.670374419e-8
"""Stefan-Boltzmann constant [W/(m^2 K^4)]; CODATA 2018."""

CELSIUS_ZERO: Final = 273.15
"""Zero of the Celsius scale [K]."""

KMH: Final = 1.0 / 3.6
"""One kilometre per hour [m/s]; regulations state speeds and their coefficients in it."""
