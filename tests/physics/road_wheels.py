"""Suspended wheels on rough roads that the tests of the quarter car and of the rough ride share."""

from __future__ import annotations

from typing import Any

import numpy as np

from configopt.physics.roughness import roughness_constant

WHEEL = {
    "stiffness": 60e3,
    "unsprung_mass": 14.0,
    "sprung_mass": 75.0,
    "suspension_rate": 9e3,
    "damping": 600.0,
    "patch_length": 0.12,
    "speed": 8.0,
    "roughness": roughness_constant("C"),
}
#: Far beyond light vehicles on all sides; log-uniform.
ANY = {
    "stiffness": (5e3, 500e3),
    "unsprung_mass": (1.0, 80.0),
    "sprung_mass": (5.0, 500.0),
    "suspension_rate": (1e3, 200e3),
    "damping": (30.0, 10e3),
    "patch_length": (0.01, 0.5),
    "speed": (0.3, 40.0),
    "roughness": (1e-7, 4.1e-5),
}
#: Where the tire force is taken to grow with the stiffness and the unsprung mass.
LIGHT = {
    "stiffness": (50e3, 150e3),
    "unsprung_mass": (5.0, 20.0),
    "sprung_mass": (40.0, 150.0),
    "suspension_rate": (4e3, 12e3),
    "damping": (300.0, 1500.0),
    "patch_length": (0.05, 0.2),
    "speed": (4.0, 15.0),
    "roughness": (1e-7, 4.1e-5),
}


def sampled(ranges: dict[str, tuple[float, float]], *, count: int, seed: int) -> dict[str, Any]:
    draw = np.random.default_rng(seed)
    return {name: low * (high / low) ** draw.random(count) for name, (low, high) in ranges.items()}
