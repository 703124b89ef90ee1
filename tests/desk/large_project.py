"""A project folder with a generated catalog of a size, and the scenario of the benchmarks for it."""

from __future__ import annotations

from pathlib import Path

import generator
import yaml
from cases import bench_case

from configopt.files.writing import write_whole
from configopt.files.yaml_text import yaml_text
from configopt.scenario.limits import LIMITS

ROOT = Path(__file__).parents[2]
NAME = "upland-wardens"


def large_project(folder: Path, size: str, *, tires: int | None = None) -> Path:
    """A project of a size of ``generator.SIZES``; ``tires`` takes another number of tires."""
    sizes = dict(generator.SIZES)
    if tires is not None:
        generator.SIZES[size] = (tires, *sizes[size][1:])
    try:
        case = bench_case(size, 1, hard=False)
    finally:
        generator.SIZES.update(sizes)
    generator.write(case.catalog, folder / "catalogs")
    data = yaml.safe_load((ROOT / "scenarios" / f"{NAME}.yaml").read_text())
    vehicle = data["vehicles"][0]
    del vehicle["baseline"]
    vehicle["limits"] = [record.model_dump(mode="json", exclude_none=True) for record in case.vehicle.limits]
    assert {record.limit for record in case.vehicle.limits} <= LIMITS.keys()
    (folder / "scenarios").mkdir()
    write_whole(folder / "scenarios" / f"{NAME}.yaml", yaml_text(data))
    return folder
