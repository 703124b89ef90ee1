"""Estimates from simulated tests with known truth: unbiased, and 95 % intervals hold the truth as often as they say.

Of every estimator a quick suite with few seeds, and the same with 500 seeds marked slow.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr
from simulated import Track, coverage, require_coverage, require_sound, require_unbiased, ridden

from configopt.catalog.catalog import load_catalog
from configopt.learning.from_grip import ATTEMPTS_DIFFER, climbed_grade
from configopt.learning.from_heat import cooled, cooling_factor
from configopt.learning.from_stand import casing_stiffness, tread_life
from configopt.learning.reading import mean_of
from configopt.physics.tire import deflection

CATALOG = load_catalog(Path(__file__).parents[2] / "catalogs")
#: Few seeds in the quick line, all of them in the slow one.
SEEDS = [pytest.param(25, id="25 seeds"), pytest.param(500, id="500 seeds", marks=pytest.mark.slow)]
#: Of quick estimators so many that chance alone does not leave the band of 92.5 to 97.5 %.
MANY = [SEEDS[0], pytest.param(2000, id="2000 seeds", marks=pytest.mark.slow)]
SLOW = pytest.mark.slow

WINDY = {"wind": (0.0, 2.5), "grade": (-0.01, 0.01)}
#: How the ground's force rises with the speed, as on rough ground; 1 at the middle speed.
RISING = (np.linspace(2.0, 14.0, 49), 0.925 + 0.3 * np.linspace(0.0, 1.0, 49) ** 2)
#: Fast enough to tell the air.
FAST = {
    "white noise": Track(),
    "scatter, wind and grade": Track(scatter=0.02, gusts=0.3, rate=10.0, noise=0.1, **WINDY),
    "force rises with the speed": Track(scatter=0.02, shape=RISING, **WINDY),
    "200 readings a second": Track(rate=200.0, noise=0.3, scatter=0.02, **WINDY),
    "three pairs": Track(pairs=3, scatter=0.02, **WINDY),
    "ten pairs": Track(pairs=10, scatter=0.03, gusts=0.5, **WINDY),
}
#: Too slow to tell the air: it is given, and the truth lies around what is given.
GIVEN = {
    "white noise": Track(fast=8.0, air_known=0.1),
    "scatter, wind and grade": Track(fast=8.0, air_known=0.1, scatter=0.02, noise=0.1, **WINDY),
    "200 readings a second": Track(fast=8.0, air_known=0.1, rate=200.0, noise=0.3, scatter=0.02, **WINDY),
    "three pairs": Track(fast=8.0, air_known=0.1, pairs=3, scatter=0.02, **WINDY),
}


@pytest.mark.parametrize(
    ("name", "seeds"),
    [
        ("scatter, wind and grade", 25),
        *(pytest.param(name, 500, marks=SLOW) for name in FAST),
    ],
)
def test_a_coast_down_tells_force_and_air(name: str, seeds: int) -> None:
    track = FAST[name]
    found, _ = ridden(track, seeds)
    assert all(one.air_fitted for one in found)
    require_sound([one.force - track.force for one in found], [one.force_uncertainty for one in found])
    require_sound([one.air - track.air for one in found], [one.air_uncertainty for one in found])


@pytest.mark.parametrize(
    ("name", "seeds"),
    [("scatter, wind and grade", 12), *(pytest.param(name, 500, marks=SLOW) for name in GIVEN)],
)
def test_a_coast_down_too_slow_for_the_air_tells_the_force_with_what_the_air_leaves_unknown(
    name: str, seeds: int
) -> None:
    track = GIVEN[name]
    found, _ = ridden(track, seeds)
    assert not any(one.air_fitted for one in found)
    require_sound([one.force - track.force for one in found], [one.force_uncertainty for one in found])


@pytest.mark.parametrize("seeds", SEEDS)
def test_wind_and_grade_are_told_apart_from_the_ground(seeds: int) -> None:
    """Both come out of the pairs as they were, each way round."""
    found, _ = ridden(Track(noise=0.02, wind=(2.0, 2.0), grade=(-0.008, -0.008)), seeds)
    require_unbiased([float(np.mean([pair.wind for pair in one.pairs])) - 2.0 for one in found])
    require_unbiased([float(np.mean([pair.grade for pair in one.pairs])) + 0.008 for one in found])


def test_readings_10_times_a_second_and_1000_times_a_second_tell_the_same() -> None:
    few, many = (
        ridden(Track(rate=rate, noise=0.0, scatter=0.0, wind=(1.5, 1.5), grade=(0.005, 0.005)), 1)[0][0]
        for rate in (10.0, 1000.0)
    )
    assert many.force == pytest.approx(few.force, rel=2e-5)
    assert many.air == pytest.approx(few.air, rel=2e-5)


@pytest.mark.parametrize("seeds", SEEDS)
def test_one_or_two_pairs_are_not_trusted_beyond_their_noise(seeds: int) -> None:
    """How runs scatter is not known then; what the noise alone says is doubled: intervals hold the truth too often."""
    for pairs in (1, 2):
        found, _ = ridden(Track(pairs=pairs, wind=(0.0, 1.5)), seeds, first=pairs)
        assert coverage([one.force - 85.0 for one in found], [one.force_uncertainty for one in found]) > 0.95


@pytest.mark.parametrize("seeds", SEEDS)
@pytest.mark.parametrize(
    "grades",
    [np.arange(0.20, 0.41, 0.02), np.repeat(np.arange(0.2, 0.41, 0.05), 4), np.full(15, 0.3)],
    ids=["rising", "four at each grade", "one grade"],
)
def test_climbs_tell_the_steepest_grade(grades: np.ndarray, seeds: int) -> None:
    """The truth by the estimate's own probit, with attempts that differ as it supposes."""
    rng = np.random.default_rng(7)
    errors, spreads = [], []
    while len(errors) < seeds:
        steepest = rng.uniform(0.26, 0.34)
        held = rng.random(len(grades)) < ndtr((steepest - grades) / (ATTEMPTS_DIFFER * grades))
        if held.all() or not held.any():
            continue
        value, spread = climbed_grade(grades, held)
        errors.append(value - steepest)
        spreads.append(spread)
    require_sound(errors, spreads)


def test_climbs_that_contradict_each_other_are_less_sure() -> None:
    grades = np.array([0.20, 0.22, 0.25, 0.55, 0.60, 0.65])
    plain = np.array([True, True, True, False, False, False])
    _, sure = climbed_grade(grades, plain)
    _, unsure = climbed_grade(grades, ~plain)
    assert unsure > 0.06
    assert climbed_grade(grades, ~plain, differ=0.5)[1] > sure


@pytest.mark.parametrize("seeds", MANY)
@pytest.mark.parametrize("stops", [3, 5, 12])
def test_hardest_stops_tell_their_mean(stops: int, seeds: int) -> None:
    rng = np.random.default_rng(stops)
    found = [mean_of(rng.normal(5.2, 0.4, stops)) for _ in range(seeds)]
    require_sound([mean - 5.2 for mean, _ in found], [spread for _, spread in found])


COOLING = {
    "ambient": 283.15,
    "emissivities": (0.25, 0.8),
    "rotor": CATALOG.rotors[0],
    "thickness": float(CATALOG.rotors[0].thickness),
}


@pytest.mark.parametrize("seeds", SEEDS)
@pytest.mark.parametrize(("noise", "runs"), [(1.0, 1), (3.0, 1), (2.0, 3)])
def test_a_cooling_rotor_tells_its_convection(noise: float, runs: int, seeds: int) -> None:
    rng = np.random.default_rng(int(10 * noise) + runs)
    time = np.arange(0.0, 200.0, 5.0)
    speed = np.interp(time, [0.0, 100.0, 200.0], [4.0, 7.0, 5.0])
    truth = cooled(time, speed, start=480.0, factor=1.2, **COOLING)
    errors, spreads = [], []
    for _ in range(seeds):
        one = [cooling_factor(time, speed, truth + noise * rng.normal(size=len(time)), **COOLING) for _ in range(runs)]
        value, spread = one[0] if runs == 1 else mean_of(np.array([factor for factor, _ in one]))
        errors.append(value - 1.2)
        spreads.append(spread)
    require_sound(errors, spreads)


@pytest.mark.parametrize("seeds", MANY)
@pytest.mark.parametrize(("noise", "count"), [(0.3e-3, 4), (0.3e-3, 10), (1e-3, 10)])
def test_deflections_tell_the_stiffness_of_the_casing(noise: float, count: int, seeds: int) -> None:
    rng = np.random.default_rng([count, int(1e6 * noise)])
    load = np.linspace(500.0, 1300.0, count)
    pressure = np.tile([80e3, 150e3], count)[:count]
    truth = {"pressure": pressure, "width": np.full(count, 0.085), "diameter": 0.68}
    exact = deflection(load, carcass_pressure=18e3, **truth)
    errors, spreads = [], []
    for _ in range(seeds):
        read = exact + noise * rng.normal(size=count)
        value, spread, _ = casing_stiffness(load, pressure, read, width=truth["width"], diameter=0.68)
        errors.append(value - 18e3)
        spreads.append(spread)
    require_sound(errors, spreads)


@pytest.mark.parametrize("seeds", SEEDS)
@pytest.mark.parametrize(("noise", "count"), [(0.1e-3, 4), (0.1e-3, 8), (0.2e-3, 12)])
def test_depths_of_a_tread_tell_its_life(noise: float, count: int, seeds: int) -> None:
    """8 mm when new, worn at 2.4 mm after 2,000 km; ridden to 1,200 km."""
    rng = np.random.default_rng(count)
    distance = np.linspace(0.0, 1200e3, count)
    exact = 8e-3 - 5.6e-3 * distance / 2000e3
    found = [tread_life(distance, exact + noise * rng.normal(size=count), worn=2.4e-3) for _ in range(seeds)]
    known = [one for one in found if one is not None]
    assert len(known) == seeds
    require_sound([life - 2000e3 for life, _ in known], [spread for _, spread in known])
    require_coverage([1.0 / life - 1.0 / 2000e3 for life, _ in known], [spread / life**2 for life, spread in known])
