"""The demo logs of ``scenarios/logs``: made by the full model from an invented truth that differs from the catalogs.

``python tests/learning/demo_logs.py`` writes them anew; a test compares.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from made_logs import GRAVITY, coast_down_runs

from configopt.appraisal.tables import carcass_pressure
from configopt.catalog.corrections import with_figure
from configopt.fit.rules import tire_diameter, tire_width_on
from configopt.learning.from_heat import cooled
from configopt.learning.log_reading import read_log
from configopt.learning.ridden import Ridden, ridden
from configopt.physics.tire import deflection
from configopt.quantities import Figure
from configopt.scenario.case import Case, load

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "scenarios" / "logs"
SCENARIO = ROOT / "scenarios" / "upland-wardens.yaml"
#: The invented truth: what the catalogs say is off by so much.
TRUTH = (
    ("tires", "heron-moor-80-100-21", "rolling_coefficient", 1.12),
    ("tires", "heron-moor-100-100-18", "rolling_coefficient", 1.18),
    ("tires", "heron-moor-80-100-21", "grip.rock", 0.95),
    ("tires", "heron-moor-100-100-18", "grip.rock", 0.93),
    ("surfaces", "wet-peat", "soil.frictional_modulus", 0.85),
)
CASING = 1.25
"""Casing stiffness of the front tire over the default."""
CONVECTION = 1.2
_INVENTED = "# note: demo data, invented; made by the model from an invented truth, with noise\n"


def true_case() -> Case:
    """The scenario with catalogs as they would truly be."""
    case = load(SCENARIO)
    catalog = case.catalog
    for family, name, figure, factor in TRUTH:
        parts = catalog.family(family)
        number = next(i for i, part in enumerate(parts) if part.id == name)
        part = parts[number]
        value: object = part
        for step in figure.split("."):
            value = getattr(value, step)
        changed = with_figure(part, figure, Figure(float(value) * factor, 0.0))  # type: ignore[arg-type]
        catalog = catalog.with_parts(
            {family: {number: changed.model_copy(update={"figure_sources": part.figure_sources})}}
        )
    return replace(case, catalog=catalog)


def head(kind: str, when: str, **values: object) -> str:
    lines = [f"# kind: {kind}", f"# when: {when}", "# who: invented rider"]
    return (
        "".join(f"{line}\n" for line in [*lines, *(f"# {key}: {value}" for key, value in values.items())]) + _INVENTED
    )


def as_ridden(case: Case, text: str, folder: Path) -> Ridden:
    """What a head says was ridden."""
    path = folder / "head.csv"
    path.write_text(text + "time (s),speed (km/h),run,way\n0,1,1,out\n", encoding="utf-8")
    return ridden(read_log(path), case)


def demo_logs(folder: Path) -> dict[str, str]:
    """Text of every demo log by its file name; ``folder`` is for passing files."""
    case = true_case()
    rng = np.random.default_rng(20260514)
    logs: dict[str, str] = {}
    for name, when, pressures in (
        ("coast-down-60-kpa.csv", "2026-05-14", (60, 60)),
        ("coast-down-100-kpa.csv", "2026-05-15", (100, 100)),
    ):
        plain = head("coast-down", when, surface="loose-gravel", temperature="12 °C", wind="1.1 m/s")
        text = plain + f"# pressure_front: {pressures[0]} kPa\n# pressure_rear: {pressures[1]} kPa\n# drive_drag: 3 N\n"
        one = as_ridden(case, text, folder)
        runs = coast_down_runs(
            one, "loose-gravel", pairs=6, fast=10.5, slow=3.0, rate=2.0, noise=0.06, wind=0.9, gusts=0.3, grade=0.004,
            scatter=0.015, drive_drag=3.0, seed=pressures[0],
        )  # fmt: skip
        header, *rows = runs.splitlines()
        short = [",".join((t, f"{float(v):.2f}", *rest)) for t, v, *rest in (row.split(",") for row in rows)]
        logs[name] = text + "\n".join([header, *short]) + "\n"
    text = head("climb", "2026-05-16", surface="rock-steps", place="quarry ramp")
    one = as_ridden(case, head("coast-down", "2026-05-16", surface="rock-steps"), folder).at([(2.0, 0.0)], "rock-steps")
    steepest = float(one.once().climb_grade("leg-1")[0][0])
    grades = np.repeat(np.round(steepest * np.array([0.85, 0.92, 0.97, 1.02, 1.08]), 3), 3)
    held = grades * (1.0 + 0.05 * rng.standard_normal(len(grades))) < steepest
    rows = [f"{100 * g:.1f},{'yes' if h else 'no'}" for g, h in zip(grades.tolist(), held.tolist(), strict=True)]
    logs["climb-rock-steps.csv"] = text + "\n".join(["grade (%),held", *rows]) + "\n"
    text = head("static", "2026-05-12", place="workshop")
    tire = case.catalog.part("tires", "heron-moor-80-100-21")
    rows = ["part,mass (g),load (kg),pressure (kPa),deflection (mm)"]
    rows += [f"{tire.id},{1000 * float(tire.mass) * (1 + 0.008 * rng.standard_normal()):.0f},,," for _ in range(3)]
    for load_kg in (60, 80, 100):
        for pressure in (60, 90):
            deflected = deflection(
                load_kg * GRAVITY, pressure=pressure * 1e3, carcass_pressure=CASING * carcass_pressure(tire)[1],
                width=tire_width_on(tire, float(tire.measuring_rim_width)), diameter=tire_diameter(tire),
            )  # fmt: skip
            rows.append(f"{tire.id},,{load_kg},{pressure},{1e3 * float(deflected) + 0.4 * rng.standard_normal():.1f}")
    logs["static-front-tire.csv"] = text + "\n".join(rows) + "\n"
    text = head("cooling", "2026-05-18", position="front", temperature="14 °C")
    front = as_ridden(case, head("coast-down", "2026-05-18", temperature="14 °C"), folder)
    rotor = front.packages["front"].brake.rotor
    time = np.arange(0.0, 91.0, 10.0)
    rows = ["time (s),temperature (°C),speed (km/h),run"]
    for run, start in enumerate((520.0, 490.0, 545.0), 1):
        speed = np.full(len(time), 25.0 / 3.6)
        hot = cooled(
            time, speed, start=start, factor=CONVECTION, rotor=rotor, thickness=float(rotor.thickness), ambient=287.15,
            emissivities=(0.25, 0.8),
        )  # fmt: skip
        rows += [
            f"{t:.0f},{T - 273.15 + 2.0 * rng.standard_normal():.0f},25,{run}"
            for t, T in zip(time.tolist(), hot.tolist(), strict=True)
        ]
    logs["cooling-front.csv"] = text + "\n".join(rows) + "\n"
    text = head("ground", "2026-05-19", surface="wet-peat", place="beck flat")
    soil = case.catalog.part("surfaces", "wet-peat").soil
    rows = ["plate width (mm),plate pressure (kPa),plate sinkage (mm)"]
    for width in (50, 100):
        for sunk in (10, 20, 40):
            carried = (float(soil.cohesive_modulus) / (width / 1e3) + float(soil.frictional_modulus)) * (
                sunk / 1e3
            ) ** float(soil.exponent)
            rows.append(f"{width},{carried / 1e3 * (1 + 0.06 * rng.standard_normal()):.1f},{sunk}")
    logs["ground-wet-peat.csv"] = text + "\n".join(rows) + "\n"
    text = head("tread", "2026-09-30", place="all season")
    depth = float(tire.lug_depth)
    rows = ["part,distance (km),tread depth (mm)"]
    for km in (0, 300, 700, 1100, 1600):
        left = depth * (1.0 - 0.7 * km / 2300.0)
        rows.append(f"{tire.id},{km},{1e3 * left + 0.1 * rng.standard_normal():.1f}")
    logs["tread-front-tire.csv"] = text + "\n".join(rows) + "\n"
    return logs


def main() -> None:
    import tempfile

    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        for name, text in demo_logs(Path(folder)).items():
            (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
