"""A small project for recorded decisions."""

from __future__ import annotations

import re
from pathlib import Path

from small_project import small_project

DECISION = "scenarios/upland-wardens.decision.yaml"
ACCEPTED = ("--by", "Ines Marram", "--on", "2026-03-02", "--why", "spring order")


def changeable_project(folder: Path) -> Path:
    """A small project in which a change of a figure can change the choice."""
    small_project(folder)
    (folder / "scenarios" / "upland-wardens.variants.yaml").unlink()
    tires, scenario = folder / "catalogs" / "tires.yaml", folder / "scenarios" / "upland-wardens.yaml"
    text = re.sub(r"pressure_min: .*", "pressure_min: 195 kPa", tires.read_text())
    tires.write_text(re.sub(r"pressure_max: .*", "pressure_max: 225 kPa", text))
    text = scenario.read_text()
    for old, new in (("0.90", "0.80"), ("0.12", "0.08"), ("41 km", "38 km")):
        text = text.replace(f"at_least: {old}", f"at_least: {new}")
    scenario.write_text(text.replace("at_most: 940", "at_most: 1100").replace("at_most: 85 kPa", "at_most: 150 kPa"))
    for path in sorted((folder / "catalogs").glob("*.yaml")):
        path.write_text(re.sub(r"    waivers:\n(?:      .*\n)+", "", path.read_text()))
    return folder
