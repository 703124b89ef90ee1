"""How long it takes to appraise many footings on five terrains, all pieces, without a loop over rows.

Run as ``python tests/bench/footings.py [--rows N] [--format json]``.  The footings are those of the demo catalogs at
pressures and widths drawn around their own.  Beside the seconds stands the ratio to a plain NumPy workload of as many
rows, measured in the same run, because seconds depend on the machine and the ratio hardly does.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal import ground as on
from configopt.appraisal.tables import FootingTable, footing_table
from configopt.appraisal.vehicle import SLIP_LIMIT, VehicleModel
from configopt.fit.layers import TireOnRim
from configopt.physics.grip import slip_for_thrust, slip_loss_force
from configopt.scenario.case import load

Array = NDArray[np.float64]
SCENARIOS = Path(__file__).parents[2] / "scenarios"
ROWS = 100_000
#: Terrains of the demo scenarios: peat, gravel with stones, rock with stones, dry sand, dense sand.
TERRAINS = (("upland-wardens", 3), ("coastal-survey", 2))
#: Wheel load [N], its spread, unsprung mass [kg], suspension rate [N/m], damping [N s/m], flange height [m].
LOAD, SPREAD, UNSPRUNG, RATE, DAMPING, FLANGE = 850.0, 0.25, 14.0, 8e3, 600.0, 0.012
#: Passes over the rows in the plain workload; about what one piece of physics does.
PASSES = 100
#: Runs of which the fastest counts.
RUNS = 3


def terrains() -> dict[str, on.Ground]:
    """The five terrains by name."""
    found = {}
    for scenario, count in TERRAINS:
        case = load(SCENARIOS / f"{scenario}.yaml")
        model = VehicleModel(case.vehicle, case.catalog)
        found |= {terrain.name: model.grounds[terrain.name] for terrain in case.vehicle.terrains[:count]}
    return found


def footings(rows: int, rng: np.random.Generator) -> FootingTable:
    """Footings of the demo catalogs at drawn pressures and widths."""
    case = load(SCENARIOS / "upland-wardens.yaml")
    inner = next(inner for inner in case.catalog.inners if inner.kind == "tube")
    mounts = [TireOnRim(tire, inner, None, 0, float(tire.measuring_rim_width)) for tire in case.catalog.tires]
    gauge = np.array([float(tire.rated_pressure) for tire in case.catalog.tires])
    parts = footing_table(mounts, np.arange(len(mounts)), gauge, case.vehicle)
    table = parts.take(rng.integers(len(parts), size=rows))
    pressure = table.pressure * rng.uniform(0.3, 1.0, rows)
    return replace(
        table,
        pressure=pressure,
        total_pressure=pressure + table.carcass_pressure,
        width=table.width * rng.uniform(0.95, 1.05, rows),
    )


def appraise(f: FootingTable, ground: on.Ground, loads: Array, unsprung: Array) -> dict[str, Array]:
    """Every piece of one terrain for every footing."""
    soil = on.on_soil(f, ground, loads) if ground.soft else None
    ride = on.rough_ride(f, ground, loads, unsprung_mass=unsprung, stiffness=RATE, damping=DAMPING)
    ceiling = on.thrust_ceiling(f, ground, loads, soil)
    found = {
        "deflection": on.firm_deflection(f, loads),
        "ground_pressure": on.ground_pressure(f, loads, soil),
        "rolling": on.rolling_resistance(f, ground, loads, soil, on.coefficient(f, ground)),
        "soil": on.soil_resistance(ground, soil, loads, follows=False),
        "roughness": ride.resistance,
        "time_off_ground": ride.off_ground_share,
        "obstacles": on.obstacle_resistance(f, ground, loads, unsprung_mass=unsprung, damping=DAMPING, suspended=True),
        "grip": on.grip_force(f, ground, loads),
        "strike_margin": on.strike_margin(
            f, ground, loads, flange_height=FLANGE, unsprung_mass=unsprung, suspended=True
        ),
        "lateral_stiffness": on.lateral_stiffness(f, loads),
    }
    need = found["rolling"] + found["soil"] + found["roughness"] + found["obstacles"]
    if soil is None:
        found["slip"] = np.zeros_like(need)
    else:
        found["slip"], _ = slip_for_thrust(
            need,
            maximum_thrust=ceiling,
            length=soil.patch_length,
            shear_modulus=ground.figures.shear_modulus,
            slip_limit=SLIP_LIMIT,
        )
    found["slip_loss"] = slip_loss_force(need, slip=found["slip"])
    return found


def plain_workload(rows: int) -> None:
    """Passes of elementary functions over as many rows."""
    x = np.linspace(0.1, 2.0, rows)
    for _ in range(PASSES):
        x = np.sqrt(x * x + np.exp(-x)) / (1.0 + 0.1 * np.log1p(x))


def fastest(run: Callable[[], Any]) -> float:
    """Least seconds of processor time of some runs."""
    seconds = []
    for _ in range(RUNS):
        begin = time.process_time()
        run()
        seconds.append(time.process_time() - begin)
    return min(seconds)


def measured(rows: int) -> dict[str, Any]:
    """Seconds by terrain and in all, footings per second, ratio to the plain workload."""
    rng = np.random.default_rng(8608)
    f = footings(rows, rng)
    loads, unsprung = LOAD * rng.uniform(1 - SPREAD, 1 + SPREAD, rows), UNSPRUNG * rng.uniform(0.7, 1.3, rows)
    # What is imported on first use is no part of the measurement.
    few = slice(min(rows, 10))
    grounds = terrains()
    for ground in grounds.values():
        appraise(f.take(few), ground, loads[few], unsprung[few])
    by_terrain = {
        name: fastest(lambda ground=ground: appraise(f, ground, loads, unsprung)) for name, ground in grounds.items()
    }
    seconds = sum(by_terrain.values())
    plain = fastest(lambda: plain_workload(rows))
    return {
        "rows": rows,
        "terrains": by_terrain,
        "seconds": seconds,
        "footings_per_second": rows / seconds,
        "plain_workload_seconds": plain,
        "ratio": seconds / plain,
    }


def table(result: dict[str, Any]) -> str:
    """The result for people."""
    rows = result["rows"]
    lines = [f"{'terrain':<16}{'rows':>10}{'seconds':>10}{'footings/s':>14}"]
    for name, seconds in (*result["terrains"].items(), ("all", result["seconds"])):
        lines.append(f"{name:<16}{rows:>10,}{seconds:>10.3f}{rows / seconds:>14,.0f}")
    lines.append(f"plain workload {result['plain_workload_seconds']:.3f} s, ratio {result['ratio']:.2f}")
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Appraise many footings on five terrains and say how long it takes.")
    parser.add_argument("--rows", type=int, default=ROWS, help=f"footings (default {ROWS:,})")
    parser.add_argument("--format", choices=("text", "json"), default="text")
    options = parser.parse_args(arguments)
    if options.rows < 1:
        parser.error("--rows must be at least 1")
    result = measured(options.rows)
    print(json.dumps(result) if options.format == "json" else table(result))


if __name__ == "__main__":
    main()
