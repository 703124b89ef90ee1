"""Logs made by the full model: what a test would have read had the vehicle the figures of a case, with noise if wanted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from configopt.appraisal.forces import RESISTING
from configopt.learning.ridden import Ridden
from configopt.scenario.case import Case

GRAVITY = 9.80665


def head(kind: str, **values: object) -> str:
    lines = [f"# kind: {kind}", "# when: 2026-05-14"]
    return "".join(f"{line}\n" for line in [*lines, *(f"# {key}: {value}" for key, value in values.items())])


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def ground_force(one: Ridden, surface: str, speeds: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    """Force of the ground over speed [N], from the full model on a grid."""
    grid = np.linspace(max(speeds.min(), 0.3), speeds.max(), 40)
    evaluation = one.at([(float(v), 0.0) for v in grid], surface).once()
    force = [float(sum(evaluation.ride(leg).wheel[cause] for cause in RESISTING)[0]) for leg in evaluation.model.legs]
    return lambda v: np.interp(v, grid, force)


def coast_down_runs(
    one: Ridden,
    surface: str,
    *,
    pairs: int,
    fast: float,
    slow: float,
    rate: float = 5.0,
    noise: float = 0.0,
    wind: float = 0.0,
    gusts: float = 0.0,
    grade: float = 0.0,
    scatter: float = 0.0,
    drive_drag: float = 0.0,
    seed: int = 0,
) -> str:
    """Rows of a coast-down log; speeds in km/h."""
    rng = np.random.default_rng(seed)
    now = one.once()
    mass = float(now.total[0])
    inertia = mass + float(now.rotating_mass()[0])
    drag = 0.5 * one.model.air_density * float(one.vehicle.drag_area)
    force = ground_force(one, surface, np.array([slow, fast]))
    rows = ["time (s),speed (km/h),run,way"]
    for number in range(1, pairs + 1):
        along = wind + rng.normal(0.0, gusts) if gusts else wind
        for way, sign in (("out", 1.0), ("back", -1.0)):
            factor = 1.0 + (rng.normal(0.0, scatter) if scatter else 0.0)
            time, speed = rolled(
                lambda v, s=sign, f=factor, a=along: (
                    -(f * force(v) + drive_drag + s * mass * GRAVITY * grade + drag * (v + s * a) * abs(v + s * a))
                    / inertia
                ),
                fast,
                slow,
            )
            at = np.arange(0.0, time[-1], 1.0 / rate)
            read = np.interp(at, time, speed) + (rng.normal(0.0, noise, len(at)) if noise else 0.0)
            rows += [f"{t:.4f},{3.6 * v!r},{number},{way}" for t, v in zip(at.tolist(), read.tolist(), strict=True)]
    return "\n".join(rows) + "\n"


def rolled(slowing: Callable[[float], float], fast: float, slow: float) -> tuple[np.ndarray, np.ndarray]:
    """Speed over time until it is slow, by fine steps of the classical fourth-order rule."""
    step, time, speed = 0.02, [0.0], [fast]
    while speed[-1] > slow and time[-1] < 300.0:
        v = speed[-1]
        a = slowing(v)
        b = slowing(v + 0.5 * step * a)
        c = slowing(v + 0.5 * step * b)
        d = slowing(v + step * c)
        speed.append(float(v + step / 6.0 * (a + 2.0 * b + 2.0 * c + d)))
        time.append(time[-1] + step)
    return np.array(time), np.array(speed)


def first_vehicle(case: Case) -> str:
    return case.scenario.vehicles[0].name
