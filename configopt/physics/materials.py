"""Materials as data: rotor steels, pads, brake fluids, structural densities.  Temperatures in kelvin.

Warning temperatures are warnings: above them the part loses hardness, friction or pressure; nothing breaks at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from configopt.physics.constants import CELSIUS_ZERO


@dataclass(frozen=True, slots=True)
class RotorSteel:
    """Density [kg/m^3], specific heat [J/(kg K)], conductivity [W/(m K)] near 100 degrees Celsius, warning at [K]."""

    density: float
    specific_heat: float
    conductivity: float
    warning_temperature: float
    source: str


@dataclass(frozen=True, slots=True)
class PadMaterial:
    """Friction [1], long-term and highest temperature [K], range of working pressure and highest pressure [Pa]."""

    friction: float
    operating_temperature: float
    highest_temperature: float
    working_pressure: tuple[float, float]
    highest_pressure: float
    source: str


@dataclass(frozen=True, slots=True)
class BrakeFluid:
    """Equilibrium reflux boiling point, fresh and with 3.7 % water [K]."""

    dry_boiling_point: float
    wet_boiling_point: float
    source: str


@dataclass(frozen=True, slots=True)
class StructuralMaterial:
    """Density [kg/m^3] and, where it is used, Young's modulus [Pa]."""

    density: float
    modulus: float | None
    source: str


ROTOR_STEELS: Final[dict[str, RotorSteel]] = {
    "410": RotorSteel(
        7800.0,
        460.0,
        24.9,
        500.0 + CELSIUS_ZERO,
        "AISI 410S: ASM data. Warning: two-wheeler discs reach 500 C and soften there, patent application "
        "PCT/JP2010/059574, background; estimate for the plain grade",
    ),
    "420": RotorSteel(
        7740.0,
        460.0,
        24.9,
        427.0 + CELSIUS_ZERO,
        "AISI 420: steelmaker's Type 420 data sheet, rapid softening above 427 C",
    ),
    "12Cr-Nb": RotorSteel(
        7800.0,
        460.0,
        24.9,
        530.0 + CELSIUS_ZERO,
        "Niobium-alloyed 12 % chromium brake-disc steel: stays above 30 HRC to 530 C, brake-disc steel patent; "
        "physical properties of AISI 410S",
    ),
    "1018": RotorSteel(
        7870.0,
        486.0,
        51.9,
        427.0 + CELSIUS_ZERO,
        "AISI 1018: ASM data. Warning: carbon steel graphitises above 427 C, ASME B31.3 notes (from memory); estimate",
    ),
}
"""Rotor steels by name."""

PAD_MATERIALS: Final[dict[str, PadMaterial]] = {
    "resin": PadMaterial(
        0.32, 300.0 + CELSIUS_ZERO, 650.0 + CELSIUS_ZERO, (350e3, 1750e3), 5.5e6, "Tribology Handbook, Table 8.10"
    ),
    "sintered": PadMaterial(
        0.30, 300.0 + CELSIUS_ZERO, 650.0 + CELSIUS_ZERO, (350e3, 3500e3), 5.5e6, "Tribology Handbook, Table 8.10"
    ),
}
"""Disc pads by kind.  Calipers of light machines run above the working pressures: a warning, not a limit."""

BRAKE_FLUIDS: Final[dict[str, BrakeFluid]] = {
    "DOT 3": BrakeFluid(205.0 + CELSIUS_ZERO, 140.0 + CELSIUS_ZERO, "49 CFR 571.116, S5.1.1 and S5.1.2"),
    "DOT 4": BrakeFluid(230.0 + CELSIUS_ZERO, 155.0 + CELSIUS_ZERO, "49 CFR 571.116, S5.1.1 and S5.1.2"),
    "DOT 5.1": BrakeFluid(260.0 + CELSIUS_ZERO, 180.0 + CELSIUS_ZERO, "49 CFR 571.116, S5.1.1 and S5.1.2"),
}
"""Brake fluids by grade.  DOT 5.1 meets the boiling points that the rule sets for DOT 5."""

STRUCTURAL_MATERIALS: Final[dict[str, StructuralMaterial]] = {
    "aluminium 6061": StructuralMaterial(2700.0, None, "Aluminum Association data for 6061-T6"),
    "carbon laminate": StructuralMaterial(1600.0, None, "common practice, no source"),
    "spoke stainless steel": StructuralMaterial(
        7900.0,
        210e9,
        "density: common practice, no source; modulus: McMahon and Graham, The Bicycle and the Walkman, 1992",
    ),
}
"""Densities for mass estimates."""
