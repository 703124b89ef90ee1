"""A project folder with so few parts that a choice takes a moment, and a file of variants in it."""

from __future__ import annotations

import re
import shutil
from collections.abc import Mapping
from pathlib import Path

import yaml

ROOT = Path(__file__).parents[2]
#: Parts beside today's that stay in each family's catalog.
KEEP = {"tires": 1, "rims": 1, "rotors": 1, "spokes": 0, "hubs": 0, "calipers": 0, "pads": 0, "inners": 0}
VARIANTS = """\
title: Small
variants:
  - name: lighter-load
    why: =without tools
    set:
      vehicles.warden-two-wheeler.cargo_mass: 8 kg
  - name: tire-gone
    withdrawn: [heron-moor-80-100-21]
  - name: impossible
    set:
      vehicles.warden-two-wheeler.limits.range: 90 km
  - name: wrong
    set:
      vehicles.warden-two-wheeler.batery_energy: 2300 Wh
grids:
  - name: budget
    vary:
      - field: vehicles.warden-two-wheeler.limits.cost
        values: [900, 940]
"""


def small_project(folder: Path, keep: Mapping[str, int] = KEEP) -> Path:
    """A project folder with so few parts that a choice takes a moment: today's, and so many others of each family."""
    shutil.copytree(ROOT / "catalogs", folder / "catalogs")
    shutil.copytree(ROOT / "scenarios" / "trials", folder / "scenarios" / "trials")
    text = (ROOT / "scenarios" / "upland-wardens.yaml").read_text()
    baseline = yaml.safe_load(text)["vehicles"][0]["baseline"]
    wanted = {str(value) for position in ("front", "rear") for value in baseline[position].values()}
    for family, count in {**keep, "rim-locks": 0}.items():
        path = folder / "catalogs" / f"{family}.yaml"
        head, *entries = path.read_text().split("\n  - id: ")
        today = [entry for entry in entries if entry.split("\n", 1)[0] in wanted]
        others = [entry for entry in entries if entry not in today]
        path.write_text("\n  - id: ".join([head, *today, *others[:count]]).rstrip() + "\n")
    tires = folder / "catalogs" / "tires.yaml"
    # Few pressures leave few choices, which are appraised rather than searched.
    narrow = re.sub(r"pressure_min: .*", "pressure_min: 145 kPa", tires.read_text())
    tires.write_text(re.sub(r"pressure_max: .*", "pressure_max: 190 kPa", narrow))
    scenario = folder / "scenarios" / "upland-wardens.yaml"
    # One final drive of three.
    one = re.sub(r"        - id: drive-(10-6|12-1)\n(          .*\n){3}", "", text)
    one = one.replace("final_drive: drive-10-6", "final_drive: drive-9-2")
    scenario.write_text(one.replace("at_least: 44 km", "at_least: 41 km"))
    scenario.with_name("upland-wardens.variants.yaml").write_text(VARIANTS)
    return folder
