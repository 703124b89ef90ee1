"""Limits that hold nowhere, stand twice or contradict each other: refused at their place, by check as by load."""

from __future__ import annotations

from pathlib import Path

import pytest

from configopt.errors import FindingsError
from configopt.guard.checking import check_paths
from configopt.scenario.case import Case, load
from configopt.scenario.limits import PAIRS

ROOT = Path(__file__).parents[2]
SMALLEST = (ROOT / "tests" / "fixtures" / "scenarios" / "good" / "smallest.yaml").read_text()
#: A surface without roughness_class, and a front end without suspension.
SMOOTH = ("surface: loose-gravel", "surface: packed-gravel")
RIGID = ("damping: 520 N s/m", "damping: 520 N s/m\n        rigid: true")
DESCENT = """\
    descents:
      - name: pass-road
        surface: loose-gravel
        grade: 8 %
        speed: 30 km/h
        height: 200 m
"""


def write(folder: Path, limits: str, more: str = "", *changes: tuple[str, str]) -> Path:
    """The smallest scenario with limits, further keys of the vehicle and other texts replaced."""
    text = SMALLEST.replace("../../../../catalogs", str(ROOT / "catalogs"))
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = folder / "case.yaml"
    path.write_text(f"{text}{more}    limits:\n{limits}")
    return path


def findings(path: Path) -> list[str]:
    """What is found, without the path; check and load must say the same."""
    with pytest.raises(FindingsError) as raised:
        load(path)
    assert sorted(check_paths([path]).findings) == raised.value.findings
    lines = path.read_text().splitlines()
    for finding in raised.value.findings:
        assert lines[finding.line - 1][finding.column - 1 :].strip(), finding
    return [f"{f.rule} {f.severity}: {f.message} ({f.fix})" for f in raised.value.findings]


def item(limit: str, bound: str, *keys: str) -> str:
    """One limit of the list."""
    return "".join(f"        {line}\n" for line in (f"limit: {limit}", *keys, bound)).replace("  limit", "- limit", 1)


MISTAKES = {
    "strike_margin": "needs a terrain with obstacles; this vehicle has none (add obstacles to a terrain, or remove",
    "sinkage": "needs a terrain on soft ground; this vehicle has none (add a terrain whose surface has a soil, or rem",
    "rotor_temperature": "needs a descent, or stops; this vehicle has none (add descents or stops, or remove the lim",
    "rotor_temperature_margin": "needs a descent, or stops; this vehicle has none (add descents or stops, or remove",
    "lateral_stability": "needs a quad; its rider balances a two-wheeler (remove the limit)",
    "statutory_deceleration": "needs the vehicle's category; none is stated (add category: L1, L2, L3 or L5, or rem",
}
BOUNDS = {"sinkage": "at_most: 40 mm", "rotor_temperature": "at_most: 400 degC"}


@pytest.mark.parametrize("limit", MISTAKES)
def test_a_limit_that_holds_nowhere_is_refused_with_what_is_missing(tmp_path: Path, limit: str) -> None:
    (found,) = findings(write(tmp_path, item(limit, BOUNDS.get(limit, "at_least: 1"))))
    assert found.startswith(f"LIMIT error: limit {limit} {MISTAKES[limit]}")


@pytest.mark.parametrize("limit", ["time_off_ground", "dynamic_load", "ride_acceleration"])
def test_a_ride_limit_needs_rough_ground_and_a_suspension(tmp_path: Path, limit: str) -> None:
    bound = "at_most: 1 m/s2" if limit == "ride_acceleration" else "at_most: 0.2"
    (found,) = findings(write(tmp_path, item(limit, bound), "", SMOOTH))
    assert found.startswith(
        f"LIMIT error: limit {limit} needs a terrain on rough ground; this vehicle has none (add a "
    )
    for keys in ((), ("position: front",)):
        (found,) = findings(write(tmp_path, item(limit, bound, *keys), "", RIGID))
        assert found == (
            f"LIMIT error: limit {limit} needs a suspension; the front has none "
            "(state it for position: rear, or remove the limit)"
        )
    assert isinstance(load(write(tmp_path, item(limit, bound, "position: rear"), "", RIGID)), Case)


@pytest.mark.parametrize("limit", ["deceleration", "strike_margin"])
def test_a_limit_of_a_terrain_stated_for_a_descent_is_refused(tmp_path: Path, limit: str) -> None:
    (found,) = findings(write(tmp_path, item(limit, "at_least: 0.2", "terrain: pass-road"), DESCENT))
    what, fix = {
        "deceleration": ("a terrain of the mix", "name gravel-track"),
        "strike_margin": ("a terrain with obstacles", "add obstacles to a terrain"),
    }[limit]
    assert found == f"LIMIT error: limit {limit} needs {what}; pass-road is none ({fix}, or remove the limit)"


def test_a_limit_of_a_descent_stated_for_a_terrain_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, item("rotor_temperature", "at_most: 400 degC", "terrain: gravel-track"), DESCENT)
    assert findings(path) == [
        "LIMIT error: limit rotor_temperature needs a descent, or stops; gravel-track is none "
        "(name pass-road, or remove the limit)"
    ]


def test_every_wrong_limit_is_found_at_once(tmp_path: Path) -> None:
    limits = (
        item("climb_grade", "at_least: 20 %", "terrain: gravel-trak")
        + item("strike_margin", "at_least: 1")
        + item("trail", "at_least: 90 mm")
        + item("trail", "at_least: 95 mm")
    )
    assert [found.partition(" (")[0] for found in findings(write(tmp_path, limits))] == [
        'REFERENCE error: limit climb_grade names "gravel-trak", which is no terrain or descent',
        "LIMIT error: limit strike_margin needs a terrain with obstacles; this vehicle has none",
        "LIMIT error: limit trail is stated twice for the same place",
    ]


CONTRADICTIONS = {
    "front_load_share": ("at_least: 55 %", "at_most: 45 %"),
    "trail": ("at_least: 120 mm", "at_most: 90 mm"),
    "least_relative_deflection": ("at_least: 0.3", "at_most: 0.2"),
}


@pytest.mark.parametrize("least", CONTRADICTIONS)
def test_a_least_value_above_the_most_is_refused(tmp_path: Path, least: str) -> None:
    most = dict(PAIRS)[least]
    low, high = CONTRADICTIONS[least]
    (found,) = findings(write(tmp_path, item(least, low) + item(most, high)))
    assert found.startswith(f"LIMIT error: limits {least} and {most} contradict each other: at least ")
    assert found.endswith(f" (lower {least}, or raise {most})")
    even = low.replace("at_least", "at_most")
    assert isinstance(load(write(tmp_path, item(least, low) + item(most, even))), Case)


def test_a_least_deflection_above_the_default_is_refused(tmp_path: Path) -> None:
    assert findings(write(tmp_path, item("least_relative_deflection", "at_least: 0.4"))) == [
        "LIMIT error: limits least_relative_deflection and relative_deflection contradict each other: at least 0.4, "
        "at most 0.35 by default (lower least_relative_deflection, or state relative_deflection)"
    ]


def test_a_terrain_cannot_take_the_name_of_the_stops(tmp_path: Path) -> None:
    path = write(tmp_path, item("trail", "at_least: 90 mm"), "", ("name: gravel-track", "name: repeated-stops"))
    (found,) = findings(path)
    assert found.startswith("VALUE error: repeated-stops is the name of the stops")
