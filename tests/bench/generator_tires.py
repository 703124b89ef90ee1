"""Generated tires, inners and rim locks.

A tire starts from a standard size and the reference figures of its kind; four hidden properties move them, so that
what is good in one respect is bad in another:

- *quality* q, uniform 0 to 1: mass and rolling coefficient times 1.08 - 0.16 q, price times 0.55 + 0.95 q;
- *land fraction* of the tread, uniform within its class (open 0.28 to 0.42, medium 0.42 to 0.56, closed 0.56 to 0.72):
  more land grips better on firm ground (0.7 per unit), worse on loose and wet ground (0.55 and 0.6);
- *softness* s, normal, cut at 2: grip up (rock 0.05 s, firm and wet 0.03 s, loose 0.01 s), rolling coefficient times
  1 + 0.07 s, tread life times 1 - 0.2 s;
- *casing* thickness, log-normal with spread 0.13 and 1.35 times as thick for the heavy-duty quarter: mass in proportion
  to its half, rolling coefficient with its square root, casing pressure with its cube, lower pressures permitted,
  higher load and bead fit torque.

Lug depth is that of the tread class, log-normal with spread 0.12; the rolling coefficient goes with its power 0.35 and
with overall diameter to the power -0.35.  Mass goes with diameter times width.  Noise: mass 3 %, rolling 4 %, price
10 % (log-normal, cut).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from generator_trade import figure, normal, spread_evenly, stepped, trade

from configopt.catalog.records import GripFactors, Inner, LoadAtPressure, Position, RimLock, Tire, Tread
from configopt.quantities import Figure
from configopt.sizes import TireSize, parse_tire_size, permitted_rim_widths

Kind = Literal["off-road", "trials", "bicycle", "quad"]
TREADS: tuple[Tread, ...] = ("medium", "open", "closed")
LAND: dict[Tread, tuple[float, float]] = {"open": (0.28, 0.42), "medium": (0.42, 0.56), "closed": (0.56, 0.72)}
INCH = 0.0254
KMH = 1.0 / 3.6


@dataclass(frozen=True)
class Trend:
    """Reference figures of a kind of tire, in SI, pressures in kPa."""

    areal_mass: float
    """Mass over diameter times section width [kg/m2]."""
    casing: float
    lugs: dict[Tread, float]
    rolling: float
    diameter: float
    """Overall diameter at which ``rolling`` holds."""
    rolling_pressure: float
    rolling_speed: float
    rated: float
    lowest: float
    highest: float
    carcass: float
    bead_torque: float
    price: float
    life: float


TRENDS: dict[Kind, Trend] = {
    "off-road": Trend(64, 4.1e-3, {"open": 15e-3, "medium": 11e-3, "closed": 8e-3}, 0.0185, 0.68, 225, 30 * KMH,
                      225, 65, 265, 17, 105, 74, 3.6e6),
    "trials": Trend(55, 3.2e-3, {"open": 9e-3, "medium": 8.5e-3, "closed": 7e-3}, 0.0235, 0.68, 100, 30 * KMH,
                    125, 25, 200, 7.5, 62, 80, 1.9e6),
    "bicycle": Trend(25, 2.6e-3, {"open": 5.8e-3, "medium": 4.4e-3, "closed": 2.8e-3}, 0.0122, 0.70, 250, 25 * KMH,
                     250, 100, 310, 8.5, 30, 42, 3.4e6),
    "quad": Trend(57, 4.0e-3, {"open": 23e-3, "medium": 14e-3, "closed": 7e-3}, 0.0250, 0.56, 40, 30 * KMH,
                  40, 15, 56, 4.5, 455, 80, 4.2e6),
}  # fmt: skip

FRONT: tuple[Position, ...] = ("front",)
REAR: tuple[Position, ...] = ("rear",)
BOTH: tuple[Position, ...] = ("front", "rear")
#: Kind, size, positions, load index or maximum load [kg] of a standard casing.  The first twenty make a small catalog.
LINES: tuple[tuple[Kind, str, tuple[Position, ...], int], ...] = (
    ("off-road", "80/100-21", FRONT, 51), ("off-road", "100/100-18", REAR, 59), ("quad", "AT22x7-10", BOTH, 135),
    ("off-road", "90/90-21", FRONT, 54), ("off-road", "110/100-18", REAR, 64), ("quad", "AT22x10-10", REAR, 165),
    ("off-road", "2.75-21", BOTH, 45), ("off-road", "120/90-18", REAR, 65), ("bicycle", "65-584", BOTH, 112),
    ("off-road", "90/100-21", FRONT, 57), ("off-road", "3.50-18", REAR, 56), ("quad", "AT21x7-10", FRONT, 122),
    ("off-road", "80/100-21", BOTH, 51), ("off-road", "4.10-18", REAR, 60), ("off-road", "70/100-19", BOTH, 42),
    ("off-road", "90/90-21", FRONT, 54), ("trials", "4.00-18", REAR, 64), ("quad", "AT23x7-10", BOTH, 140),
    ("trials", "2.75-21", FRONT, 45), ("off-road", "110/90-19", REAR, 62), ("off-road", "3.00-21", FRONT, 51),
    ("off-road", "100/90-19", BOTH, 57), ("off-road", "120/80-18", REAR, 62), ("bicycle", "65-507", BOTH, 114),
    ("off-road", "80/90-21", FRONT, 48), ("off-road", "100/100-18", REAR, 59), ("quad", "AT22x9-10", REAR, 140),
    ("bicycle", "62-584", BOTH, 118), ("off-road", "90/100-16", REAR, 51), ("quad", "AT25x8-12", BOTH, 175),
    ("off-road", "80/100-21", FRONT, 51), ("off-road", "110/80-18", REAR, 58), ("quad", "AT20x10-9", REAR, 148),
    ("bicycle", "57-559", BOTH, 92), ("off-road", "4.60-18", REAR, 63), ("quad", "AT24x9-11", REAR, 170),
    ("trials", "80/100-21", FRONT, 51), ("off-road", "110/100-18", REAR, 64), ("bicycle", "60-622", BOTH, 98),
)  # fmt: skip


def measuring_rim(size: TireSize, kind: Kind) -> tuple[float, float, float]:
    """Measuring rim and permitted rim widths [m]."""
    width = size.section_width
    if kind == "quad":
        measuring = width - (2.0 if width > 9.5 * INCH else 1.5) * INCH
        return measuring, measuring - 0.5 * INCH, measuring + INCH
    # Where the table lacks an inch width (3.50), the nearest metric width stands for it.
    allowed = permitted_rim_widths(size) or permitted_rim_widths(parse_tire_size(f"{10 * round(100 * width)}/100-18"))
    assert allowed is not None
    if kind == "bicycle":
        return round(0.545 * width, 3), allowed.low, allowed.high
    widths = [float(code) * INCH for code in allowed.codes]
    return widths[len(widths) // 2], allowed.low - 5e-4, allowed.high + 1e-3


def tires(count: int, rng: np.random.Generator) -> tuple[Tire, ...]:
    """Tires of all kinds; sizes, treads and approvals go round so that every vehicle finds some in any catalog."""
    quality, softness = spread_evenly(rng, count), np.clip(rng.standard_normal(count), -2.0, 2.0)
    heavy = spread_evenly(rng, count) < 0.25
    casing = normal(rng, count, 0.13) * np.where(heavy, 1.35, 1.0)
    land, lug = rng.random(count), normal(rng, count, 0.12)
    mass_noise, rolling_noise = normal(rng, count, 0.03), normal(rng, count, 0.04)
    chance = rng.random((count, 6))
    lines = [LINES[i % len(LINES)] for i in range(count)]
    trends = [TRENDS[line[0]] for line in lines]
    price = (
        np.array([trend.price for trend in trends])
        * (0.55 + 0.95 * quality)
        * casing**0.35
        * (1.0 + 0.05 * softness)
        * normal(rng, count, 0.10)
    )
    made = []
    for i, common in enumerate(trade("tire", price, rng)):
        kind, written, positions, load = lines[i]
        trend, size = trends[i], parse_tire_size(written)
        # Adjoining lines and rounds take different treads, so that each size comes with each tread.
        tread = TREADS[(i // len(LINES) + i // 2) % 3]
        low, high = LAND[tread]
        share = low + (high - low) * float(land[i])
        lugs, thick, soft = trend.lugs[tread] * float(lug[i]), float(casing[i]), float(softness[i])
        better = 1.08 - 0.16 * float(quality[i])
        mass = trend.areal_mass * size.overall_diameter * size.section_width * (0.5 + 0.5 * thick) * better
        rolling = trend.rolling * better * thick**0.5 * (lugs / trend.lugs["medium"]) ** 0.35
        rolling *= (trend.diameter / size.overall_diameter) ** 0.35 * (1.0 + 0.07 * soft)
        made.append(
            Tire(
                **common,
                kind=kind,
                size=written,
                positions=list(positions),
                tread=tread,
                lug_depth=figure(lugs, 4),
                land_fraction=figure(share, 2),
                mass=figure(mass * mass_noise[i], 3),
                width=figure(size.section_width * (1.0 + 0.05 * (chance[i, 0] - 0.2)), 3)
                if chance[i, 0] < 0.4
                else None,
                casing="heavy-duty" if heavy[i] else "standard",
                casing_thickness=figure(trend.casing * thick, 4),
                carcass_pressure=stepped(1e3 * trend.carcass * thick**3, 500) if chance[i, 1] < 0.4 else None,
                rolling_coefficient=figure(rolling * rolling_noise[i], 5),
                rolling_pressure=Figure(1e3 * trend.rolling_pressure),
                rolling_speed=Figure(trend.rolling_speed),
                pressure_exponent=figure(-0.5 + 0.2 * chance[i, 2], 2) if chance[i, 2] < 0.2 else None,
                grip=_grip(share, soft, heavy=bool(heavy[i])),
                tubeless=kind == "quad" or bool(chance[i, 3] < (0.8 if kind == "bicycle" else 0.4)),
                road_approved=kind != "bicycle" and (tread == "closed" or (tread == "medium" and chance[i, 4] < 0.6)),
                bead_fit_torque=stepped(trend.bead_torque * thick * size.rim_diameter / BEADS[kind], 5)
                if kind == "quad" or chance[i, 5] < 0.6
                else None,
                tread_life=stepped(trend.life * (1.0 - 0.2 * soft) * (0.7 + 0.6 * share), 1e5),
                **_rim_widths(size, kind),
                **_loads(trend, kind, load, thick, float(chance[i, 1])),
            )
        )
    return tuple(made)


#: Bead seat diameter at which the bead fit torque of a kind holds [m].
BEADS: dict[Kind, float] = {"off-road": 0.533, "trials": 0.533, "bicycle": 0.584, "quad": 0.254}


def _grip(land: float, soft: float, *, heavy: bool) -> GripFactors:
    off = land - 0.46
    return GripFactors(
        firm=figure(1.0 + 0.70 * off + 0.03 * soft, 2),
        loose=figure(1.0 - 0.55 * off + 0.01 * soft, 2),
        wet=figure(1.0 - 0.60 * off + 0.03 * soft, 2),
        rock=figure(1.0 - 0.10 * off + 0.05 * soft + (0.05 if heavy else 0.0), 2),
    )


def _rim_widths(size: TireSize, kind: Kind) -> dict[str, Any]:
    measuring, low, high = measuring_rim(size, kind)
    return {
        "measuring_rim_width": figure(measuring, 5),
        "rim_width_min": figure(low, 4),
        "rim_width_max": figure(high, 4),
    }


def _loads(trend: Trend, kind: Kind, load: int, thick: float, chance: float) -> dict[str, Any]:
    """Load, speed and pressures: thin casings carry less at lower pressure, thick ones more."""
    rated = 5.0 * round(trend.rated * min(max(thick, 0.75), 1.1) / 5.0)
    found: dict[str, Any] = {
        "rated_pressure": Figure(1e3 * rated),
        "pressure_min": Figure(5e3 * round(trend.lowest * (1.25 - 0.25 * min(thick, 1.6)) / 5.0)),
        "pressure_max": Figure(5e3 * round(max(trend.highest * min(thick, 1.1), rated) / 5.0)),
    }
    if kind in ("off-road", "trials"):
        index = load + round(6.0 * min(max(thick - 1.0, -1.0), 0.2))
        found["service_description"] = f"{index}{'P' if chance < 0.3 else 'M'}"
        return found
    most = load * min(max(0.55 + 0.45 * thick, 0.8), 1.25)
    found["maximum_load"] = stepped(most, 1.0)
    found["maximum_speed"] = Figure((90 if kind == "quad" else 50 + 10 * round(2.4 * chance)) * KMH)
    if chance > 0.8:
        found["load_at_pressure"] = [
            LoadAtPressure(pressure=Figure(1e3 * p), load=stepped(most * p / rated, 1.0)) for p in (0.6 * rated, rated)
        ]
    return found


#: Kind, bead seats [m], section widths [m], mass [kg], rolling factor, price, pressure of a foam [Pa].
Inside = tuple[Literal["tube", "tubeless", "foam"], tuple[float, ...], float, float, float, float, float, int]
INNERS: tuple[Inside, ...] = (
    ("tube", (0.533,), 0.066, 0.098, 0.46, 1.00, 8.5, 0),
    ("tube", (0.457,), 0.084, 0.128, 0.68, 1.00, 9.5, 0),
    ("tubeless", (0.2286, 0.254, 0.2794, 0.3048), 0.14, 0.285, 0.04, 1.00, 3.0, 0),
    ("tube", (0.483,), 0.064, 0.118, 0.52, 1.00, 8.9, 0),
    ("tubeless", (0.406, 0.432, 0.457, 0.483, 0.533), 0.065, 0.135, 0.21, 0.96, 27.0, 0),
    ("tube", (0.507, 0.559, 0.584), 0.045, 0.082, 0.23, 1.00, 6.5, 0),
    ("tubeless", (0.507, 0.559, 0.584, 0.622), 0.04, 0.082, 0.13, 0.94, 16.0, 0),
    ("tube", (0.406, 0.432), 0.084, 0.135, 0.66, 1.00, 9.5, 0),
    ("foam", (0.533,), 0.074, 0.096, 1.74, 1.32, 118.0, 95_000),
    ("foam", (0.457,), 0.095, 0.124, 2.62, 1.36, 142.0, 95_000),
    ("tubeless", (0.2286, 0.254, 0.2794, 0.3048), 0.14, 0.285, 0.34, 0.99, 12.0, 0),
    ("tube", (0.457, 0.533), 0.068, 0.112, 0.29, 0.97, 34.0, 0),
    ("tube", (0.622,), 0.04, 0.064, 0.21, 1.00, 6.5, 0),
    ("tube", (0.2286, 0.254, 0.2794, 0.3048), 0.15, 0.285, 1.05, 1.05, 14.0, 0),
)  # fmt: skip


def inners(count: int, rng: np.random.Generator) -> tuple[Inner, ...]:
    """Tubes, tubeless kits and foam: the lighter (log-normal, 15 %), the dearer (its power -1.5) and easier to roll."""
    lines = [INNERS[i % len(INNERS)] for i in range(count)]
    lighter = normal(rng, count, 0.15)
    price = np.array([line[6] for line in lines]) * lighter**-1.5 * normal(rng, count, 0.08)
    return tuple(
        Inner(
            **common,
            kind=kind,
            bead_diameters=[Figure(seat) for seat in seats],
            section_width_min=Figure(low),
            section_width_max=Figure(high),
            mass=figure(mass * factor, 3),
            rolling_factor=figure(rolling * factor**0.1, 3),
            equivalent_pressure=Figure(pressure) if pressure else None,
        )
        for common, factor, (kind, seats, low, high, mass, rolling, _, pressure) in zip(
            trade("inner", price, rng), lighter, lines, strict=True
        )
    )


#: Rim widths [m] a lock is made for.
LOCK_WIDTHS = ((0.038, 0.050), (0.050, 0.066), (0.035, 0.043), (0.043, 0.050), (0.050, 0.058), (0.058, 0.068))


def rim_locks(count: int, rng: np.random.Generator) -> tuple[RimLock, ...]:
    """Rim locks: torque and mass grow with the rim's width; what holds more per mass (10 %) costs more."""
    better = normal(rng, count, 0.10)
    lines = [LOCK_WIDTHS[i % len(LOCK_WIDTHS)] for i in range(count)]
    size = np.array([(low + high) / 0.093 for low, high in lines])
    price = 10.0 * size * better**2 * normal(rng, count, 0.08)
    return tuple(
        RimLock(
            **common,
            rim_width_min=Figure(low),
            rim_width_max=Figure(high),
            torque=stepped(85.0 * factor**1.5 * good, 5.0),
            mass=figure(0.15 * factor**1.5 / good, 3),
            counterweight_mass=figure(0.11 * factor / good, 3),
        )
        for common, factor, good, (low, high) in zip(trade("lock", price, rng), size, better, lines, strict=True)
    )
