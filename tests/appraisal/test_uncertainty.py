"""How sure margins are: against the law of propagation, with known shares, the same every time."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from configopt.appraisal.assumptions import RANGES, Range
from configopt.appraisal.one_vehicle import VehicleAppraisal, appraise_baseline
from configopt.appraisal.uncertain import changed, uncertain_figures
from configopt.appraisal.uncertainty import INTERVAL, Spread, uncertainty
from configopt.appraisal.vehicle import VehicleModel
from configopt.catalog.records import UNCERTAINTY_BY_GRADE
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.records import LimitRecord

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("coastal-survey", "forest-rescue", "upland-wardens")
#: One scenario quickly, the others on the slow line.
ONE_QUICK = (*(pytest.param(name, marks=pytest.mark.slow) for name in NAMES[:2]), NAMES[2])
#: Standard normal quantile of the interval's upper end (a printed table's 1.645 for 95 %).
Z95 = 1.645


@cache
def case_of(name: str) -> Case:
    return load(SCENARIOS / f"{name}.yaml")


def today(name: str, *limits: dict[str, object]) -> VehicleAppraisal:
    case = case_of(name)
    records = [*case.vehicle.limits, *(LimitRecord.model_validate(limit) for limit in limits)]
    vehicle = case.vehicle.model_copy(update={"limits": records})
    appraised = appraise_baseline(VehicleModel(vehicle, case.catalog))
    assert isinstance(appraised, VehicleAppraisal)
    return appraised


def spread_of(appraised: VehicleAppraisal, key: str, position: str | None = None) -> tuple[float, Spread]:
    """Value and spread of a limit."""
    for margin, spread in zip(appraised.outcome.margins, uncertainty(appraised).margins, strict=True):
        if (margin.bound.limit.key, margin.bound.position) == (key, position):
            assert margin.value is not None
            return float(margin.value[0]), spread
    raise AssertionError(key)


@pytest.mark.parametrize("name", ONE_QUICK)
def test_a_sum_of_masses_spreads_by_the_root_of_the_sum_of_squares(name: str) -> None:
    appraised = today(name, {"limit": "package_mass", "at_most": "90 kg"})
    value, spread = spread_of(appraised, "package_mass")
    pieces: dict[tuple[str, str], int] = {}
    for position in ("front", "rear"):
        for family, part, count in appraised.packages[position].parts(appraised.model.vehicle):
            pieces[family, part.id] = pieces.get((family, part.id), 0) + count
    masses = [f for f in uncertain_figures(appraised.model, appraised.packages) if f.name == "mass"]
    moves = {f.part: pieces[f.part] * f.uncertainty for f in masses if f.part is not None}
    sigma = float(np.sqrt(sum(move**2 for move in moves.values())))
    # 512 draws know a quantile of a normal figure to about a tenth of its standard deviation.
    assert spread.low == pytest.approx(value - Z95 * sigma, abs=0.15 * sigma)
    assert spread.high == pytest.approx(value + Z95 * sigma, abs=0.15 * sigma)
    largest = sorted(moves.items(), key=lambda row: -row[1])[:2]
    assert [figure.part for figure, _ in spread.matters] == [part for part, _ in largest]
    for (_, moved), (_, expected) in zip(spread.matters, largest, strict=True):
        assert moved == pytest.approx(expected, rel=1e-3)


def test_a_limit_at_the_value_itself_is_missed_by_half_and_one_far_off_never() -> None:
    value, _ = spread_of(today("forest-rescue", {"limit": "package_mass", "at_most": "90 kg"}), "package_mass")
    _, at = spread_of(today("forest-rescue", {"limit": "package_mass", "at_most": f"{value!r} kg"}), "package_mass")
    assert at.missed == pytest.approx(0.5, abs=0.02)
    _, far = spread_of(
        today("forest-rescue", {"limit": "package_mass", "at_most": f"{2 * value!r} kg"}), "package_mass"
    )
    assert far.missed == 0.0


@pytest.mark.parametrize("name", ONE_QUICK)
def test_the_same_packages_give_the_same_spread_and_the_value_lies_inside(name: str) -> None:
    appraised = today(name)
    first, second = uncertainty(appraised), uncertainty(today(name))
    assert first == second
    for margin, spread in zip(appraised.outcome.margins, first.margins, strict=True):
        assert margin.value is not None
        assert spread.low <= spread.high
        moved = sum(move for _, move in spread.matters)
        # A value may lie outside only where the figures pull it to one side, and not by more than they move it.
        assert spread.low - 2.0 * moved <= float(margin.value[0]) <= spread.high + 2.0 * moved
        assert 0.0 <= (spread.missed or 0.0) <= 1.0


def test_figures_without_uncertainty_leave_nothing_open() -> None:
    appraised = today("forest-rescue")
    cost = next(
        spread
        for margin, spread in zip(appraised.outcome.margins, uncertainty(appraised).margins, strict=True)
        if margin.bound.limit.key == "cost"
    )
    assert cost.low == cost.high
    assert cost.matters == ()
    assert cost.missed in (0.0, 1.0)


def test_a_part_at_both_ends_has_one_value_and_its_grade_counts_where_nothing_is_stated() -> None:
    appraised = today("upland-wardens")
    figures = uncertain_figures(appraised.model, appraised.packages)
    keys = [(figure.part, figure.name) for figure in figures]
    assert len(keys) == len(set(keys))
    grades = {source.id: source.grade for source in appraised.model.catalog.sources}
    tire = appraised.packages["front"].mount.tire
    found = next(f for f in figures if f.part == ("tires", tire.id) and f.name == "rolling_coefficient")
    stated = tire.rolling_coefficient.uncertainty
    grade = grades[tire.figure_sources.get("rolling_coefficient", tire.source)]
    by_grade = float(tire.rolling_coefficient) * UNCERTAINTY_BY_GRADE[grade]
    assert found.uncertainty == pytest.approx(by_grade if stated is None else stated)


def test_a_changed_part_stays_inside_what_its_record_allows() -> None:
    tire = case_of("upland-wardens").catalog.tires[0]
    wild = changed(tire, {"grip.firm": 9.0, "mass": -5.0, "rolling_coefficient": 0.03})
    assert float(wild.grip.firm) == 1.5
    assert float(wild.mass) > 0.0
    assert float(wild.rolling_coefficient) == 0.03
    assert type(tire).model_validate(wild.model_dump())
    assert float(tire.grip.firm) != 1.5


def test_a_range_is_a_triangle_between_its_ends() -> None:
    shares = (np.arange(200_000) + 0.5) / 200_000
    for assumed in RANGES.values():
        values = assumed.at(shares)
        # Mean and variance of a triangular distribution (from memory).
        a, b, c = assumed.low, assumed.high, assumed.middle
        assert values.mean() == pytest.approx((a + b + c) / 3, rel=1e-6)
        assert values.var() == pytest.approx((a * a + b * b + c * c - a * b - a * c - b * c) / 18, rel=1e-4)
    assert Range("", 1.0, 0.0, 2.0).at(0.5) == 1.0


def test_less_certain_figures_widen_the_interval() -> None:
    case = case_of("upland-wardens")
    tires = tuple(
        tire.model_copy(update={"mass": Figure(float(tire.mass), 0.2 * float(tire.mass))})
        for tire in case.catalog.tires
    )
    rough = VehicleModel(case.vehicle, replace(case.catalog, tires=tires))
    wide = appraise_baseline(rough)
    assert isinstance(wide, VehicleAppraisal)
    key = "lift_off_deceleration"
    _, before = spread_of(today("upland-wardens"), key)
    _, after = spread_of(wide, key)
    assert after.high - after.low > 1.5 * (before.high - before.low)
    assert INTERVAL == (0.05, 0.95)


def test_a_modulus_drawn_below_zero_keeps_a_twentieth_of_its_own() -> None:
    surface = load(Path(__file__).parents[2] / "scenarios" / "upland-wardens.yaml").catalog.part("surfaces", "wet-peat")
    drawn = changed(surface, {"soil.frictional_modulus": -1.0, "soil.exponent": 0.0})
    assert float(drawn.soil.frictional_modulus) == 0.05 * float(surface.soil.frictional_modulus)
    assert float(drawn.soil.exponent) == 0.25
