"""Generated catalogs are sound, whole at every size, read back equal, and hold a real trade-off."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from cases import SCENARIOS, SHIPPED, bench_case, first_parts
from generator import MAKERS, SIZES, generate, same_parts, write

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.catalog.records import FAMILIES
from configopt.fit.candidates import position_candidates
from configopt.guard.checking import check_paths
from configopt.scenario.case import load

SEEDS = (1, 2, 3, 4)


@cache
def made(size: str, seed: int) -> Catalog:
    """A generated catalog, made once for all tests that only read it."""
    return generate(size, seed)


@pytest.fixture(scope="module", params=["S", pytest.param("M", marks=pytest.mark.slow)])
def on_disk(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Catalog, Path]:
    folder = tmp_path_factory.mktemp("generated")
    catalog = made(request.param, 1)
    write(catalog, folder)
    return catalog, folder


def test_a_written_catalog_is_sound_and_reads_back_equal(on_disk: tuple[Catalog, Path]) -> None:
    catalog, folder = on_disk
    check = check_paths([folder])
    assert [finding for finding in check.findings if finding.severity == "error"] == []
    assert len(check.files) == len(FAMILIES) + 1
    assert same_parts(load_catalog(folder), catalog)


def test_files_are_in_block_style(on_disk: tuple[Catalog, Path]) -> None:
    _, folder = on_disk
    for line in (folder / "tires.yaml").read_text(encoding="utf-8").splitlines():
        assert line.count(": ") <= 1
        assert not set(line) & set("{}[]")


@pytest.mark.parametrize("size", ["S", "M", "L"])
def test_every_size_holds_the_number_of_parts_it_says(size: str) -> None:
    catalog = made(size, 1)
    assert [len(getattr(catalog, family)) for family in MAKERS] == list(SIZES[size])
    ids = [part.id for family in FAMILIES for part in catalog.family(family)]
    assert len(set(ids)) == len(ids)


def test_one_seed_gives_one_catalog_and_another_seed_another() -> None:
    assert same_parts(generate("S", 5), generate("S", 5))
    assert not same_parts(generate("S", 5), generate("S", 6))


@pytest.mark.parametrize("scenario", SHIPPED)
@pytest.mark.parametrize("seed", [SEEDS[0], *(pytest.param(seed, marks=pytest.mark.slow) for seed in SEEDS[1:])])
def test_every_vehicle_finds_packages_for_both_ends(seed: int, scenario: str) -> None:
    vehicle = load(SCENARIOS / f"{scenario}.yaml").vehicle
    for catalog in (made("S", seed), first_parts(made("L", seed))):
        for position in ("front", "rear"):
            found = position_candidates(catalog, vehicle, position)
            assert found.package_count() > 0, (scenario, position)


def test_no_tire_of_a_size_is_best_in_everything() -> None:
    catalog = made("M", 1)
    by_size: dict[str, list[tuple[float, ...]]] = {}
    for tire in catalog.tires:
        figures = (float(tire.mass), float(tire.rolling_coefficient), float(tire.prices[0].unit_price))
        by_size.setdefault(tire.size, []).append((*figures, -float(tire.grip.rock), -float(tire.grip.loose)))
    beaten = [np.lexsort(np.array(rows).T)[0] for rows in by_size.values() if len(rows) > 1]
    assert beaten
    for rows in by_size.values():
        table = np.array(rows)
        if len(table) > 2:
            assert not (table <= table.min(axis=0)).all(axis=1).any()


def test_better_rolling_costs_money() -> None:
    tires = [tire for tire in made("L", 1).tires if tire.size == "80/100-21" and tire.kind == "off-road"]
    rolling = np.array([float(tire.rolling_coefficient) for tire in tires])
    price = np.array([float(tire.prices[0].unit_price) for tire in tires])
    lower = rolling < np.quantile(rolling, 0.25)
    upper = rolling > np.quantile(rolling, 0.75)
    assert price[lower].mean() > price[upper].mean()


@pytest.mark.parametrize("hard", [False, True])
def test_a_case_of_the_benchmark_states_limits_of_its_own(hard: bool) -> None:
    case = bench_case("S", 1, hard=hard)
    limits = {(limit.limit, limit.terrain) for limit in case.vehicle.limits}
    assert ("lift_off_deceleration", None) in limits
    assert case.vehicle.baseline is None
    climbs = [terrain for name, terrain in limits if name == "climb_grade"]
    assert len(climbs) == (3 if hard else 1)
    assert any(name == "rotor_temperature" for name, _ in limits) == hard


def test_the_program_writes_a_folder(tmp_path: Path) -> None:
    program = Path(__file__).with_name("generator.py")
    command = [sys.executable, str(program), "--size", "S", "--seed", "3", "-o", str(tmp_path / "made")]
    run = subprocess.run(command, capture_output=True, text=True, check=True, timeout=120)
    assert run.stderr == ""
    assert same_parts(load_catalog(tmp_path / "made"), generate("S", 3))
