"""Generated rims, spokes, hubs and disc wheels.

Rims: mass per length of an aluminium motorcycle rim is 0.25 kg/m + 13.2 kg/m2 times its width (bicycle 0.04 and 8.8),
times a log-normal *weight* of spread 0.11; carbon, one rim in six, is a third lighter.  Bending stiffness in the
wheel's plane goes with mass per length to the power 1.6, across it with mass per length times width squared, torsion
with mass per length; loads and spoke tension go with mass per length, so that a light rim is dear (price with weight to
the power -2.2, carbon 4.5 times) and carries less.

Hubs: a hidden *strength*, spread evenly over 0 to 1 in each class of axle, sets flange diameter, hole, rotor pattern,
torque and mass; *quality*, uniform 0 to 1, takes up to 25 % of the mass away and doubles the price.

Spokes: gauges as the trade has them; lengths by gauge, moved by up to 6 mm.  Disc wheels: steel, cast and forged
(55, 30, 15 %), each lighter, dearer and weaker than the one before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from generator_trade import figure, normal, spread_evenly, stepped, trade

from configopt.catalog.records import DiscWheel, Hub, Position, Rim, Spokes
from configopt.quantities import Figure
from configopt.sizes import parse_rim_size

#: Size and number of holes.  The first twenty make a small catalog.
RIM_LINES: tuple[tuple[str, int], ...] = (
    ("WM 1.85x21", 36), ("MT 2.15x18", 36), ("WM 1.60x21", 32), ("MT 2.50x18", 36), ("WM 1.85x21", 32),
    ("MT 2.15x18", 32), ("MT 2.15x21", 36), ("MT 1.85x18", 32), ("ISO 584x35", 32), ("WM 1.60x19", 36),
    ("MT 2.50x19", 36), ("WM 1.60x21", 36), ("MT 2.50x18", 36), ("WM 1.85x21", 36), ("MT 2.15x18", 36),
    ("ISO 507x35", 32), ("MT 2.15x19", 32), ("MT 2.75x18", 36), ("MT 2.15x21", 32), ("ISO 584x30", 28),
    ("MT 1.85x18", 36), ("WM 1.85x21", 32), ("MT 2.15x16", 32), ("ISO 559x35", 32), ("MT 2.50x18", 32),
    ("WM 1.60x19", 32), ("MT 2.15x18", 32), ("ISO 622x30", 32), ("WM 1.85x21", 36), ("ISO 584x35", 36),
)  # fmt: skip


def rims(count: int, rng: np.random.Generator) -> tuple[Rim, ...]:
    """Rims for motorcycle and bicycle tires."""
    weight, carbon = normal(rng, count, 0.11), rng.random(count) < 1.0 / 6.0
    depth, chance = normal(rng, count, 0.10), rng.random((count, 2))
    lines = [RIM_LINES[i % len(RIM_LINES)] for i in range(count)]
    bicycle = np.array([size.startswith("ISO") for size, _ in lines], dtype=bool)
    price = np.where(bicycle, 50.0, 78.0) * weight**-2.2 * np.where(carbon, 4.5, 1.0) * normal(rng, count, 0.08)
    made = []
    for i, common in enumerate(trade("rim", price, rng)):
        written, holes = lines[i]
        size = parse_rim_size(written)
        bike, light = bool(bicycle[i]), bool(carbon[i])
        base, slope = (0.04, 8.8) if bike else (0.25, 13.2)
        along = (base + slope * size.width) * float(weight[i]) * (0.66 if light else 1.0)
        seat_depth = (0.021 if bike else 0.017) * float(depth[i]) + (0.012 if light else 0.0)
        share = math.sqrt(holes / 36)
        made.append(
            Rim(
                **common,
                size=written,
                material="carbon" if light else "aluminium",
                mass=figure(along * math.pi * size.bead_diameter, 3),
                effective_diameter=figure(size.bead_diameter - seat_depth, 3),
                holes=holes,
                flange_height=figure(0.0065 if bike else 0.0128, 4),
                lock_holes=0 if bike else int(chance[i, 0] < 0.85) + int(chance[i, 0] < 0.5 and not light),
                tubeless=bike or bool(chance[i, 1] < 0.5),
                hookless=bike and light,
                maximum_pressure=stepped(350e3 if bike else 320e3, 5e3),
                maximum_load=stepped((400.0 if bike else 265.0) * along * share * (1.15 if light else 1.0), 1.0),
                maximum_spoke_tension=stepped((3500.0 if bike else 2500.0) * along * share, 10.0),
                radial_rigidity=stepped(1190.0 * along**1.6 * (3.0 if light else 1.0), 1.0),
                lateral_rigidity=stepped(2.6e6 * along * size.width**2 * (1.4 if light else 1.0), 10.0),
                torsional_rigidity=stepped((660.0 if light else 300.0 if bike else 76.0) * along, 1.0),
            )
        )
    return tuple(made)


#: End and middle diameter [mm], shortest and longest [mm], strength [MPa], price, crossings.
GAUGES: tuple[tuple[float, float, int, int, int, float, tuple[int, ...]], ...] = (
    (3.5, 3.0, 130, 270, 1150, 1.46, (2, 3)), (2.6, 2.3, 140, 300, 1200, 0.88, (2, 3)),
    (3.0, 2.6, 130, 290, 1150, 1.04, (2, 3)), (2.34, 2.0, 160, 310, 1250, 0.66, (1, 2, 3)),
    (4.0, 3.5, 120, 260, 1100, 1.72, (2, 3)), (2.0, 1.7, 180, 310, 1250, 0.62, (2, 3)),
    (3.0, 3.0, 120, 280, 1050, 0.74, (1, 2, 3)), (3.5, 3.5, 120, 260, 1050, 1.12, (2, 3)),
    (2.34, 1.8, 170, 310, 1300, 0.78, (2, 3)), (2.0, 2.0, 160, 310, 1150, 0.38, (0, 2, 3)),
    (3.0, 2.5, 140, 280, 1350, 1.68, (3,)), (3.5, 3.0, 130, 270, 1200, 1.60, (2, 3, 4)),
)  # fmt: skip


def spokes(count: int, rng: np.random.Generator) -> tuple[Spokes, ...]:
    """Spokes of the trade's gauges; stronger wire (5 %) costs more."""
    lines = [GAUGES[i % len(GAUGES)] for i in range(count)]
    strength, shift = normal(rng, count, 0.05), 2 * rng.integers(-3, 4, count)
    price = np.array([line[5] for line in lines]) * strength**3 * normal(rng, count, 0.06)
    return tuple(
        Spokes(
            **common,
            end_diameter=figure(end * 1e-3, 5),
            middle_diameter=figure(middle * 1e-3, 5),
            ends_length=figure(0.055, 3),
            length_min=figure((low + int(moved)) * 1e-3, 3),
            length_max=figure((high + int(moved)) * 1e-3, 3),
            length_step=Figure(0.002),
            nipple_mass=figure(0.11e-3 * end**3, 5),
            tensile_strength=stepped(wire * 1e6 * strong, 1e7),
            crossings=list(crossings),
        )
        for common, strong, moved, (end, middle, low, high, wire, _, crossings) in zip(
            trade("spoke", price, rng, per_piece=32), strength, shift, lines, strict=True
        )
    )


@dataclass(frozen=True)
class HubClass:
    """Hubs of one place: axle, width, drive; torque, mass and price from the weakest to the strongest."""

    position: Position
    axle: float
    width: float
    torque: tuple[float, float]
    mass: tuple[float, float]
    price: tuple[float, float]
    flange: tuple[float, float] = (0.0, 0.0)
    offsets: tuple[float, float] = (0.0, 0.0)
    drive: str | None = None
    chain_line: float | None = None


HUB_CLASSES: dict[str, HubClass] = {
    "front": HubClass("front", 0.020, 0.110, (400, 1200), (0.38, 1.25), (70, 150), (0.058, 0.098), (0.025, 0.033)),
    "rear-142": HubClass("rear", 0.020, 0.142, (420, 1150), (0.70, 1.70), (115, 180), (0.062, 0.110), (0.034, 0.022),
                         "sprocket-6x70", 0.046),
    "rear-150": HubClass("rear", 0.025, 0.150, (800, 1700), (1.25, 2.30), (150, 240), (0.088, 0.126), (0.034, 0.024),
                         "sprocket-6x90", 0.050),
    "quad-front": HubClass("front", 0.025, 0.060, (650, 950), (1.0, 1.7), (60, 70)),
    "quad-rear": HubClass("rear", 0.025, 0.070, (950, 1500), (1.15, 1.8), (60, 80), drive="spline-26"),
}  # fmt: skip
#: Class and holes (0: studs).  The first twenty make a small catalog.
HUB_LINES: tuple[tuple[str, int], ...] = (
    ("front", 36), ("rear-142", 36), ("quad-front", 0), ("rear-150", 36), ("front", 32), ("rear-142", 32),
    ("quad-rear", 0), ("front", 36), ("rear-142", 36), ("rear-150", 36), ("front", 32), ("rear-142", 32),
    ("quad-front", 0), ("rear-150", 32), ("front", 36), ("rear-142", 36), ("quad-rear", 0), ("front", 36),
    ("rear-150", 36), ("rear-142", 32), ("front", 28), ("rear-142", 28),
)  # fmt: skip


def _hole(strength: float) -> float:
    """Spoke hole by strength [mm]: from gauges of 2 mm to those of 4 mm."""
    return next(hole for most, hole in ((0.2, 2.6), (0.4, 2.9), (0.6, 3.3), (0.92, 3.9), (2.0, 4.4)) if strength < most)


def _pattern(strength: float) -> str:
    """Bolt circle of the rotor by strength."""
    return "6x44" if strength < 0.35 else "4x80" if strength < 0.8 else "5x70"


def hubs(count: int, rng: np.random.Generator) -> tuple[Hub, ...]:
    """Hubs of every class of axle."""
    lines = [HUB_LINES[i % len(HUB_LINES)] for i in range(count)]
    strength = np.empty(count)
    for name in HUB_CLASSES:
        members = [i for i, line in enumerate(lines) if line[0] == name]
        strength[members] = spread_evenly(rng, len(members))
    quality, chance = rng.random(count), rng.random(count)
    chain = np.clip(rng.standard_normal(count), -2.6, 2.6) * 1.4e-3
    noise = normal(rng, count, 0.04)
    base = np.array(
        [np.interp(s, (0, 1), HUB_CLASSES[name].price) for s, (name, _) in zip(strength, lines, strict=True)]
    )
    price = base * (0.55 + 0.9 * quality) * normal(rng, count, 0.08)
    made = []
    for i, common in enumerate(trade("hub", price, rng)):
        name, holes = lines[i]
        cls, strong = HUB_CLASSES[name], float(strength[i])
        heavier = 1.12 - 0.25 * float(quality[i])
        fields: dict[str, Any] = {
            "position": cls.position,
            "axle_diameter": Figure(cls.axle),
            "width": Figure(cls.width),
            "mass": figure(float(np.interp(strong, (0, 1), cls.mass)) * heavier * noise[i], 3),
            "maximum_torque": stepped(float(np.interp(strong, (0, 1), cls.torque)) * noise[i], 10.0),
            "drive_interface": cls.drive,
        }
        if holes:
            wide = float(np.interp(strong, (0, 1), cls.flange))
            left, right = cls.offsets
            fields |= {
                "kind": "spoked",
                "holes": holes,
                "flange_diameter_left": figure(wide, 3),
                "flange_diameter_right": figure(wide + (0.006 if chance[i] < 0.5 and cls.drive else 0.0), 3),
                "flange_offset_left": figure(left, 4),
                "flange_offset_right": figure(right, 4),
                "spoke_hole_diameter": figure(_hole(strong) * 1e-3, 4),
                "rotor_pattern": _pattern(strong),
                "driven_flanges": 0 if cls.drive is None else 1 + int(chance[i] < 0.5),
                "chain_line": None if cls.chain_line is None else figure(cls.chain_line + chain[i], 4),
            }
        else:
            # Every fourth quad hub but the first few has the less usual stud circle.
            fields |= {"kind": "studded", "studs": "4x115" if i > 20 and chance[i] < 0.25 else "4x110"}
            fields["rotor_pattern"] = None if cls.drive else "3x64" if i > 20 and chance[i] > 0.6 else "4x80"
        made.append(Hub(**common, **fields))
    return tuple(made)


#: Diameter code and width [in] of disc wheels.  The first eight make a small catalog.
DISC_LINES = (
    (10, 5.5),
    (10, 8.0),
    (10, 5.0),
    (9, 8.0),
    (10, 5.5),
    (10, 8.0),
    (12, 6.5),
    (11, 6.5),
    (11, 8.0),
    (12, 8.0),
)
#: Mass and price against steel, share of the load a steel wheel of this size carries.
MAKES: dict[str, tuple[float, float, float]] = {
    "steel": (1.0, 1.0, 1.0),
    "cast": (0.70, 2.9, 0.93),
    "forged": (0.57, 5.8, 0.84),
}


def disc_wheels(count: int, rng: np.random.Generator) -> tuple[DiscWheel, ...]:
    """Disc wheels of three makes."""
    lines = [DISC_LINES[i % len(DISC_LINES)] for i in range(count)]
    makes = rng.choice(list(MAKES), size=count, p=(0.55, 0.30, 0.15))
    weight, chance = normal(rng, count, 0.06), rng.random(count)
    price = np.array([29.0 * MAKES[make][1] for make in makes]) * weight**-1.5 * normal(rng, count, 0.08)
    made = []
    for i, common in enumerate(trade("disc", price, rng)):
        code, width = lines[i]
        lighter, _, carries = MAKES[str(makes[i])]
        made.append(
            DiscWheel(
                **common,
                size=f"AT {code}x{width}",
                studs="4x115" if i >= 8 and chance[i] < 0.25 else "4x110",
                offset=figure(0.047 - 0.0058 * width + 0.004 * (chance[i] - 0.5), 3),
                mass=figure(0.0416 * code * (width + 2.38) * lighter * weight[i], 3),
                flange_height=Figure(0.016),
                maximum_load=stepped((128.0 + 9.8 * width) * carries * float(weight[i]) ** 0.7, 1.0),
                maximum_pressure=Figure(85e3),
            )
        )
    return tuple(made)
