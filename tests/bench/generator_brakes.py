"""Generated rotors, calipers and pads.

Rotors: diameters of the trade spread evenly over each bolt pattern's range; thickness grows with diameter and varies by
a log-normal of spread 0.05; the mass is that of the track, a quarter of it cut away, and of a spider that goes with the
diameter squared (noise 4 %).  A thicker rotor is heavier and cooler; better steels cost more.  Calipers: mass and price
go with the area of their pistons.  Pads: resin, sintered and cermet trade friction against the temperature they bear,
life and price.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from generator_trade import figure, normal, spread_evenly, stepped, trade

from configopt.catalog.records import Caliper, Pad, Rotor
from configopt.quantities import Figure

#: Pattern, diameters [mm].  The first twenty make a small catalog; short ranges are those that clear a 10 in rim.
ROTOR_LINES: tuple[tuple[str, tuple[int, ...]], ...] = tuple(
    (pattern, diameters)
    for pattern, diameters in (
        ("6x44", (180, 200, 203, 220, 230)),
        ("4x80", (200, 220, 230, 240, 250)),
        ("4x80", (180, 190, 200)),
        ("5x70", (220, 230, 240, 250, 260)),
        ("6x44", (200, 220, 230)),
        ("4x80", (220, 240, 270)),
        ("4x80", (180, 200)),
        ("4x80", (200, 220)),
        ("5x70", (220, 240, 270)),
        ("3x64", (180, 190)),
    )
)
STEELS: tuple[Literal["410", "420", "12Cr-Nb", "1018"], ...] = ("410", "420", "12Cr-Nb", "1018")
STEEL_PRICE = {"410": 1.0, "420": 0.95, "12Cr-Nb": 1.7, "1018": 0.45}
DENSITY = 7740.0


def rotors(count: int, rng: np.random.Generator) -> tuple[Rotor, ...]:
    """Rotors of every bolt pattern."""
    where, thicker, noise = spread_evenly(rng, count), normal(rng, count, 0.05), normal(rng, count, 0.04)
    steels = [STEELS[int(i)] for i in rng.choice(4, size=count, p=(0.4, 0.2, 0.28, 0.12))]
    lines = [ROTOR_LINES[i % len(ROTOR_LINES)] for i in range(count)]
    sizes = [diameters[int(w * len(diameters))] for w, (_, diameters) in zip(where, lines, strict=True)]
    price = np.array([38.0 * (d / 220) ** 2 * STEEL_PRICE[s] for d, s in zip(sizes, steels, strict=True)])
    price = price * thicker * normal(rng, count, 0.08)
    made = []
    for i, common in enumerate(trade("rotor", price, rng)):
        pattern, _ = lines[i]
        diameter = sizes[i] * 1e-3
        if pattern == "6x44":
            thickness, height = 1.8e-3 + 0.014 * (diameter - 0.18), 0.0152 + 0.03 * (diameter - 0.18)
        elif diameter <= 0.2:
            thickness, height = 3.3e-3, 0.0195 + 0.005 * (where[i] > 0.3)
        else:
            thickness, height = 2.9e-3 + 0.016 * (diameter - 0.22), 0.0195 + 0.13 * (diameter - 0.22)
        thickness = round(thickness * float(thicker[i]), 4)
        ring = math.pi * (diameter - height) * height * thickness * DENSITY
        made.append(
            Rotor(
                **common,
                diameter=figure(diameter, 3),
                thickness=figure(thickness, 4),
                wear_limit=figure(0.84 * thickness, 4),
                track_height=figure(height, 4),
                pattern=pattern,
                mass=figure((0.78 * ring + 3.6 * diameter**2) * noise[i], 3),
                steel=steels[i],
                life=stepped(6.6e9 * thickness, 5e5),
            )
        )
    return tuple(made)


CaliperLine = tuple[str, str, int, float, int, int, float, float, float, float]
#: Mount, pad shape, pistons a side, piston diameter [mm], rotor diameters [mm], thicknesses [mm], mass [kg], price.
CALIPER_LINES: tuple[CaliperLine, ...] = (
    ("post-74", "kite-38", 1, 22, 160, 220, 1.7, 2.6, 0.150, 50),
    ("post-74", "shield-54", 2, 22, 195, 255, 2.2, 3.7, 0.318, 112),
    ("bracket-98", "shield-54", 1, 30, 175, 255, 2.6, 4.3, 0.410, 62),
    ("bracket-98", "block-60", 2, 27, 195, 275, 2.8, 4.4, 0.540, 112),
    ("post-74", "bar-46", 2, 17, 180, 235, 1.7, 2.9, 0.176, 90),
    ("bracket-98", "block-60", 1, 32, 170, 235, 2.8, 4.4, 0.462, 68),
    ("bracket-98", "shield-54", 2, 24, 180, 275, 2.4, 4.3, 0.372, 130),
    ("post-74", "shield-54", 1, 30, 195, 235, 2.2, 3.7, 0.330, 70),
)  # fmt: skip


def calipers(count: int, rng: np.random.Generator) -> tuple[Caliper, ...]:
    """Calipers of two mounts and four pad shapes."""
    lines = [CALIPER_LINES[i % len(CALIPER_LINES)] for i in range(count)]
    lighter, piston = normal(rng, count, 0.08), normal(rng, count, 0.03)
    price = np.array([line[9] for line in lines]) * lighter**-2.0 * piston * normal(rng, count, 0.06)
    return tuple(
        Caliper(
            **common,
            mount=mount,
            pad_shape=shape,
            pistons_per_side=pistons,
            piston_diameter=figure(bore * 1e-3 * wider, 4),
            rotor_diameter_min=figure(least * 1e-3, 3),
            rotor_diameter_max=figure(most * 1e-3, 3),
            rotor_thickness_min=figure(thin * 1e-3, 4),
            rotor_thickness_max=figure(thick * 1e-3, 4),
            mass=figure(mass * light * wider**2, 3),
        )
        for common, light, wider, (mount, shape, pistons, bore, least, most, thin, thick, mass, _) in zip(
            trade("caliper", price, rng), lighter, piston, lines, strict=True
        )
    )


#: Shape: area of a pad [m2], height [m], mass of a resin pair [kg], price of a resin pair.
SHAPES = {
    "shield-54": (9.6e-4, 0.0185, 0.047, 13.0),
    "kite-38": (4.9e-4, 0.0140, 0.018, 9.0),
    "block-60": (14.2e-4, 0.0235, 0.085, 18.0),
    "bar-46": (6.6e-4, 0.0145, 0.024, 11.0),
}
#: Compound: friction, highest temperature [K], mass and price against resin, life [m].
COMPOUNDS: dict[Literal["resin", "sintered", "cermet"], tuple[float, float, float, float, float]] = {
    "resin": (0.39, 573.15, 1.0, 1.0, 2.5e6),
    "sintered": (0.40, 753.15, 1.22, 1.35, 6e6),
    "cermet": (0.35, 873.15, 1.2, 1.8, 4.5e6),
}


def pads(count: int, rng: np.random.Generator) -> tuple[Pad, ...]:
    """Pads; more friction (5 %) costs life."""
    shapes = list(SHAPES)
    names = list(COMPOUNDS)
    lines = [(shapes[i % 4], names[(i // 4 + i) % 3]) for i in range(count)]
    friction = normal(rng, count, 0.05)
    price = np.array([SHAPES[shape][3] * COMPOUNDS[name][3] for shape, name in lines]) * normal(rng, count, 0.10)
    return tuple(
        Pad(
            **common,
            shape=shape,
            compound=name,
            friction=figure(COMPOUNDS[name][0] * grip, 3),
            area=Figure(SHAPES[shape][0]),
            height=Figure(SHAPES[shape][1]),
            maximum_temperature=Figure(COMPOUNDS[name][1]),
            mass=figure(SHAPES[shape][2] * COMPOUNDS[name][2], 4),
            life=stepped(COMPOUNDS[name][4] * grip**-3.0, 1e5),
        )
        for common, grip, (shape, name) in zip(trade("pad", price, rng), friction, lines, strict=True)
    )
