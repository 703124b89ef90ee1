"""Logs made by the full model: what a test reads where the vehicle has the figures of a case, with noise if wanted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from configopt.appraisal.assumptions import RANGES
from configopt.appraisal.forces import RESISTING
from configopt.appraisal.tables import carcass_pressure
from configopt.fit.rules import tire_diameter, tire_width_on
from configopt.learning.from_grip import climbed_grade
from configopt.learning.from_heat import cooled
from configopt.learning.log_reading import read_log
from configopt.learning.ridden import WALKING, Ridden, ridden
from configopt.physics.brakes import line_pressure
from configopt.physics.tire import deflection
from configopt.quantities import Figure
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
    step, time, speed = 0.04, [0.0], [fast]
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


def ridden_in(case: Case, folder: Path) -> Ridden:
    """The first vehicle with its baseline, as a log without anything else in its head has it."""
    path = write(folder / "empty.csv", head("climb") + "grade (%),held\n10,yes\n")
    return ridden(read_log(path), case)


def climb_rows(one: Ridden, surface: str, attempts: int = 8) -> str:
    """Attempts that speak for exactly the steepest grade of the model: held below, lost above."""
    modelled = float(one.at([(WALKING, 0.0)], surface).once().climb_grade("leg-1")[0][0])
    steps = np.linspace(0.85, 1.15, 2 * (attempts // 2))
    held = steps < 1.0
    # What attempts speak for is in proportion to their grades.
    grades = steps * modelled / climbed_grade(steps, held)[0]
    rows = [f"{g!r},{'yes' if h else 'no'}" for g, h in zip(grades.tolist(), held.tolist(), strict=True)]
    return "\n".join(["grade,held", *rows]) + "\n"


def slip_rows(one: Ridden, surface: str, grade: float) -> str:
    evaluation = one.at([(WALKING, grade)], surface).once()
    up = next(leg for leg in evaluation.model.legs if leg.angle > 0.0)
    slip = float(evaluation.ride(up).slip[0])
    return "grade,held,slip\n" + f"{grade!r},yes,{slip!r}\n" * 3


def brake_rows(one: Ridden, surface: str) -> str:
    """Stops ended by the grip, and by a hand too weak to lock a wheel, with the line pressure that it makes."""
    grip = one.at([(WALKING, 0.0)], surface, hand_force=Figure(1e5)).once().deceleration("leg-1")[0]
    force = 25.0
    hand = one.at([(WALKING, 0.0)], surface, hand_force=Figure(force)).once().deceleration("leg-1")[0]
    circuit = one.vehicle.front.brake
    pressure = float(
        line_pressure(
            force,
            lever_ratio=float(circuit.lever_ratio),
            master_diameter=float(circuit.master_diameter),
        )
    )
    rows = [f"{float(grip)!r},grip,"] * 4 + [f"{float(hand)!r},brake,{pressure!r}"] * 4
    return "\n".join(["deceleration (m/s2),ended by,pressure (Pa)", *rows]) + "\n"


def cooling_rows(one: Ridden, position: str, factor: float = 1.0, noise: float = 0.0, seed: int = 0) -> str:
    rng = np.random.default_rng(seed)
    rotor = one.packages[position].brake.rotor
    time = np.arange(0.0, 240.0, 4.0)
    speed = np.interp(time, [0.0, 120.0, 240.0], [4.0, 8.0, 5.0])
    rows = ["time (s),temperature (°C),speed (m/s),run"]
    for run, start in enumerate((520.0, 480.0, 550.0), 1):
        temperature = cooled(
            time,
            speed,
            start=start,
            factor=factor,
            rotor=rotor,
            thickness=float(rotor.thickness),
            ambient=float(one.vehicle.temperature),
            emissivities=(RANGES["track_emissivity"].middle, RANGES["rest_emissivity"].middle),
        )
        read = temperature + noise * rng.normal(size=len(time)) - 273.15
        rows += [
            f"{t!r},{c!r},{v!r},{run}" for t, c, v in zip(*map(np.ndarray.tolist, (time, read, speed)), strict=True)
        ]
    return "\n".join(rows) + "\n"


def plate_rows(case: Case, surface: str, noise: float = 0.0, seed: int = 0, sinkages: int = 6) -> str:
    rng = np.random.default_rng(seed)
    soil = case.catalog.part("surfaces", surface).soil
    rows = ["plate width (m),plate pressure (Pa),plate sinkage (m)"]
    for width in (0.05, 0.1, 0.15):
        for z in np.linspace(0.01, 0.06, sinkages).tolist():
            modulus = float(soil.cohesive_modulus) / width + float(soil.frictional_modulus)
            pressure = modulus * z ** float(soil.exponent) * (1.0 + noise * rng.normal())
            rows.append(f"{width!r},{float(pressure)!r},{z!r}")
    return "\n".join(rows) + "\n"


def rut_rows(one: Ridden, surface: str) -> str:
    evaluation = one.at([(WALKING, 0.0)], surface).once()
    leg = evaluation.ride(evaluation.model.legs[0])
    depth = max(float(leg.sinkage[position][0]) for position in ("front", "rear"))
    return "rut depth (m)\n" + f"{depth!r}\n" * 4


def cone_rows(case: Case, surface: str) -> str:
    return "cone index (Pa)\n" + f"{float(case.catalog.part('surfaces', surface).cone_index)!r}\n" * 4


def static_rows(case: Case, one: Ridden) -> str:
    """Masses of what is mounted, and deflections of its tires by their default casing or their own."""
    rows = ["part,mass (kg),load (kg),pressure (Pa),deflection (m)"]
    seen = set()
    for position in ("front", "rear"):
        for family, part, _ in one.packages[position].parts(one.vehicle):
            if family == "spokes" or part.id in seen:
                continue
            seen.add(part.id)
            rows += [f"{part.id},{float(part.mass)!r},,,"] * 3
            if family != "tires":
                continue
            casing = sum(carcass_pressure(part))
            width = tire_width_on(part, float(part.measuring_rim_width))
            for load in (40.0, 70.0, 100.0, 130.0):
                for pressure in (40e3, 80e3):
                    sunk = deflection(
                        load * GRAVITY,
                        pressure=pressure,
                        carcass_pressure=casing,
                        width=width,
                        diameter=tire_diameter(part),
                    )
                    rows.append(f"{part.id},,{load!r},{pressure!r},{float(sunk)!r}")
    return "\n".join(rows) + "\n"


def energy_rows(one: Ridden, surface: str, speeds: tuple[float, ...] = (4.0, 6.0, 9.0)) -> str:
    rows = ["distance (km),energy (J),speed (m/s)"]
    for speed in speeds:
        evaluation = one.at([(speed, 0.0)], surface).once()
        per_metre = sum(
            leg.share * sum(float(part[0]) for part in evaluation.ride(leg).battery.values())
            for leg in evaluation.model.legs
        )
        rows += [f"1.0,{1000.0 * per_metre!r},{speed!r}"] * 3
    return "\n".join(rows) + "\n"


def tread_rows(case: Case, tires: list[str]) -> str:
    rows = ["part,distance (km),tread depth (m)"]
    for name in dict.fromkeys(tires):
        tire = case.catalog.part("tires", name)
        life, new = float(tire.tread_life or 2_000e3), float(tire.lug_depth)
        rows += [f"{name},{share * life / 1e3!r},{new * (1.0 - 0.7 * share)!r}" for share in (0.0, 0.2, 0.4, 0.6)]
    return "\n".join(rows) + "\n"
