"""What the tests of the command line share: a project folder of their own, and answers to print."""

from __future__ import annotations

import copy
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.cli import main

ROOT = Path(__file__).parents[2]
#: Parts beside today's that stay in each family's catalog.
KEEP = {"tires": 3, "rims": 1, "spokes": 0, "hubs": 0, "rotors": 1, "calipers": 0, "pads": 0, "inners": 0}


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with copies of the catalogs and the first scenario, safe to change."""
    shutil.copytree(ROOT / "catalogs", tmp_path / "catalogs")
    (tmp_path / "scenarios").mkdir()
    shutil.copy(ROOT / "scenarios" / "upland-wardens.yaml", tmp_path / "scenarios")
    shutil.copytree(ROOT / "scenarios" / "trials", tmp_path / "scenarios" / "trials")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


@pytest.fixture
def small(project: Path) -> Path:
    """A project folder with so few parts that a search takes a moment."""
    return with_few_parts(project, KEEP, "38 km")


def with_few_parts(project: Path, keep: dict[str, int], reach: str) -> Path:
    """The folder with today's parts and so many others of each family, and a range that they can reach."""
    scenario = project / "scenarios" / "upland-wardens.yaml"
    baseline = yaml.safe_load(scenario.read_text())["vehicles"][0]["baseline"]
    wanted = {str(value) for position in ("front", "rear") for value in baseline[position].values()}
    for family, count in {**keep, "rim-locks": 0}.items():
        path = project / "catalogs" / f"{family}.yaml"
        head, *entries = path.read_text().split("\n  - id: ")
        today = [entry for entry in entries if entry.split("\n", 1)[0] in wanted]
        others = [entry for entry in entries if entry not in today]
        path.write_text("\n  - id: ".join([head, *today, *others[:count]]).rstrip() + "\n")
    scenario.write_text(scenario.read_text().replace("at_least: 44 km", f"at_least: {reach}"))
    return project


@pytest.fixture
def smallest(project: Path) -> Path:
    """The same with even fewer tires, for what takes many searches."""
    return with_few_parts(project, {**KEEP, "tires": 2}, "41 km")


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    """The catalogs as they are, read once."""
    return load_catalog(ROOT / "catalogs")


@pytest.fixture
def run() -> Callable[..., Result]:
    """Run the program in this process."""

    def invoke(*arguments: str | Path) -> Result:
        return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)

    return invoke


_CAUSES = {
    "rolling": 9.0,
    "soft_ground": 4.0,
    "roughness": 1.5,
    "obstacles": 2.0,
    "slip": 1.0,
    "grade": 6.0,
    "air": 3.5,
    "stop_and_go": 2.0,
    "drivetrain": 5.0,
    "regeneration": -2.0,
}


def _package(position: str) -> dict[str, Any]:
    return {
        "position": position,
        "wheels": 1,
        "tire": f"{position}-tire",
        "pressure_kpa": 90.0,
        "inner": "tube-21",
        "rim_lock": "latch" if position == "rear" else None,
        "rim_locks": 1 if position == "rear" else 0,
        "rim": "rim-21",
        "spokes": "strand-35",
        "lacing": "3-cross",
        "disc_wheel": None,
        "hub": f"{position}-hub",
        "rotor": "rotor-220",
        "caliper": "clasp",
        "pad": "felt",
        "mass_kg": 8.25,
        "cost": 402.5,
        "static_load_n": 820.0,
        "unsprung_mass_kg": 13.4,
        "loaded_radius_mm": 331.0,
        "relative_deflection": 0.18,
        "width_mm": 82.0,
        "diameter_mm": 695.0,
        "spoke_length_left_mm": 213.2,
        "spoke_length_right_mm": 214.4,
        "tension_ratio": 0.61,
        "inertia_kg_m2": 0.42,
        "creep": "holds",
        "names": {"tire": f"Heron Moor {position}", "rim_lock": "Latch 1.85", "pad": "Felt kite"},
    }


def _margin(limit: str, value: float, required: float, ratio: float | None, **more: Any) -> dict[str, Any]:
    return {
        "limit": limit,
        "terrain": None,
        "position": None,
        "value": value,
        "required": required,
        "unit": "1",
        "ratio": ratio,
        "met": ratio is None or ratio >= 1.0,
        "binding": False,
        **more,
    }


def _vehicle() -> dict[str, Any]:
    figures = {
        "mass_kg": 16.5,
        "rolling_loss_wh_per_km": 17.5,
        "energy_wh_per_km": 32.0,
        "range_km": 75.0,
        "cost": 805.0,
    }
    changes = {
        "mass_kg": -2.31,
        "rolling_loss_wh_per_km": -4.2,
        "energy_wh_per_km": -5.0,
        "range_km": 10.1,
        "cost": 45.0,
    }
    terrain = {
        "name": "peat-path",
        "share": 0.3,
        "energy_wh_per_km": 52.0,
        "passable": True,
        "remarks": ["bogs below 40 kPa"],
        "climb_grade_percent": 25.2,
        "climb_limited_by": "grip",
    }
    return {
        "name": "warden-two-wheeler",
        "final_drive": "drive-10-6",
        **figures,
        "currency": "EUR",
        "energy_by_cause_wh_per_km": dict(_CAUSES),
        "terrains": [terrain, {**terrain, "name": "gravel-track", "share": 0.7, "passable": False, "remarks": []}],
        "packages": [_package("front"), _package("rear")],
        "margins": [
            _margin("tire_load", 1.9, 1.0, 1.9, position="front"),
            _margin("climb_grade", 25.2, 24.0, 1.05, terrain="peat-path", unit="%"),
            _margin("cost", 805.0, 805.0, 1.0, unit="currency", binding=True),
            _margin("sinkage", 92.0, 85.0, 0.924, terrain="peat-path", position="rear", unit="mm"),
            _margin("rotor_temperature", 180.0, -5.0, None, unit="degC"),
        ],
        "against_baseline": {
            **changes,
            "baseline": {
                **{key: figures[key] - change for key, change in changes.items()},
                "limits_not_met": ["climb_grade on peat-path"],
                "misfits": [],
            },
        },
        "trail_mm": 98.0,
        "ground_clearance_mm": 318.0,
        "top_speed_km_h": 61.0,
        "lift_off_deceleration_g": 0.74,
    }


_CHOICE: dict[str, Any] = {
    "schema": "configopt/choice/1",
    "scenario": "upland-wardens",
    "status": "optimal",
    "aim": {
        "value": 30.5,
        "bound": 30.5,
        "gap": 0.0,
        "terms": {
            "mass": {"value": 16.5, "rate": 1.0, "unit": "kg"},
            "rolling_loss": {"value": 17.5, "rate": 0.8, "unit": "Wh/km"},
        },
    },
    "vehicles": [_vehicle()],
    "counts": {"packages_that_fit": {"front": 120, "rear": 340}, "choices_that_meet_all": None, "ties": 2},
    "removed": [{"position": "front", "what": "tires: made for the rear only", "count": 12}],
    "closest": [],
    "audit": {"agrees": True, "largest_difference": 0.0, "rounds": 2},
    "remarks": [],
    "cautions": ["A pre-selection by calculation; it certifies nothing."],
    "made_with": {
        "configopt": "0.1.0",
        "highs": "1.16.0",
        "pyomo": "6.10.1",
        "catalogs_sha256": "0" * 64,
        "scenario_sha256": "0" * 64,
        "seconds": 1.5,
    },
}


@pytest.fixture
def choice() -> dict[str, Any]:
    """A whole answer of choose, invented, free to change."""
    return copy.deepcopy(_CHOICE)


@pytest.fixture
def refusal(choice: dict[str, Any]) -> dict[str, Any]:
    """An answer of choose where nothing meets the limits."""
    closest = {
        "limit": "climb_grade",
        "terrain": "peat-path",
        "position": None,
        "required": 45.0,
        "reached": 31.0,
        "unit": "%",
        "text": "climb on peat-path: 31 % reached, 45 % asked",
    }
    return {**choice, "status": "infeasible", "aim": None, "vehicles": [], "closest": [closest]}
