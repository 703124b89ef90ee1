"""Logs without noise that the full model made teach nothing: no mean moves by 0.01 of its standard uncertainty."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from made_logs import (
    GRAVITY,
    brake_rows,
    climb_rows,
    coast_down_runs,
    cone_rows,
    cooling_rows,
    energy_rows,
    head,
    plate_rows,
    ridden_in,
    rut_rows,
    slip_rows,
    static_rows,
    tread_rows,
    write,
)

from configopt.appraisal.forces import RESISTING
from configopt.learning.from_grip import ENDS
from configopt.learning.learn import Lesson, learn
from configopt.learning.ridden import WALKING, Ridden
from configopt.scenario.case import Case, load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ("upland-wardens", "coastal-survey", "forest-rescue")
FARTHEST = 0.01


@cache
def case_of(name: str) -> Case:
    return load(SCENARIOS / f"{name}.yaml")


@pytest.fixture(params=NAMES)
def case(request: pytest.FixtureRequest) -> Case:
    return case_of(request.param)


@pytest.fixture
def one(case: Case, tmp_path: Path) -> Ridden:
    return ridden_in(case, tmp_path)


def require_nothing_learned(lesson: Lesson, *, figures: tuple[str, ...]) -> None:
    """Nothing moves, and what the log is about was weighed."""
    about = {one.figure.name for one in lesson.combined.learned if one.readings}
    assert about >= set(figures), about
    for one in lesson.combined.learned:
        (before, spread), (after, left) = one.before, one.after
        assert abs(after - before) <= FARTHEST * spread, (one.figure, (after - before) / spread)
        assert left <= spread * (1.0 + 1e-9)
    assert all(abs(judged.off) <= FARTHEST for judged in lesson.combined.judged)
    assert all(told.kind != "outlier" for told in lesson.told)


def hardly_passable(one: Ridden, surface: str) -> bool:
    """Whether the ground slows by more than 0.15 of gravity."""
    evaluation = one.at([(7.0, 0.0)], surface).once()
    ride = evaluation.ride(evaluation.model.legs[0])
    resistance = sum(float(ride.wheel[cause][0]) for cause in RESISTING)
    return resistance > 0.15 * GRAVITY * float(evaluation.total[0])


#: Firm, loose, wet and soft ones, for the quick line; the first vehicle rides some more.
FEW = ("packed-gravel", "wet-roots", "lete-sand")
MORE = (*FEW, "asphalt-dry", "farm-track", "loose-gravel", "rock-steps", "snow-packed", "wet-peat")
GROUNDS = [
    (name, surface)
    if surface in (MORE if name == NAMES[0] else FEW)
    else pytest.param(name, surface, marks=pytest.mark.slow)
    for name in NAMES
    for surface in [surface.id for surface in case_of(name).catalog.surfaces]
]


@pytest.mark.parametrize(("name", "surface"), GROUNDS)
def test_a_coast_down_teaches_nothing_on(name: str, surface: str, tmp_path: Path) -> None:
    """Wind and grade along the stretch do not, either."""
    case = case_of(name)
    one = ridden_in(case, tmp_path)
    rows = coast_down_runs(one, surface, pairs=1, fast=12.0, slow=2.5, wind=1.5, grade=0.006)
    path = write(tmp_path / "log.csv", head("coast-down", surface=surface, drive_drag="0 N") + rows)
    lesson = learn(case, [path])
    require_nothing_learned(lesson, figures=())
    if not lesson.combined.judged:
        # On the softest it stops so soon that the run is told to be too short.
        assert hardly_passable(one, surface)
        assert any("too short" in told.text for told in lesson.told)


def test_a_coast_down_with_the_drag_of_the_drive_stated_teaches_nothing(tmp_path: Path) -> None:
    case = case_of("forest-rescue")
    one = ridden_in(case, tmp_path)
    rows = coast_down_runs(one, "wet-roots", pairs=1, fast=12.0, slow=2.5, drive_drag=6.0)
    path = write(tmp_path / "log.csv", head("coast-down", surface="wet-roots", drive_drag="6 N") + rows)
    require_nothing_learned(learn(case, [path]), figures=("rolling_coefficient",))


GRIP = ("loose-gravel", "wet-grass")


@pytest.mark.parametrize("surface", GRIP)
def test_climbs_teach_nothing(case: Case, one: Ridden, surface: str, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("climb", surface=surface) + climb_rows(one, surface))
    lesson = learn(case, [path])
    if any("ends this climb" in told.text for told in lesson.told):
        # Dry enough for the motor or tipping to end the climb: then nothing is weighed, which is told.
        assert lesson.combined.judged == ()
        assert ENDS[int(one.at([(WALKING, 0.0)], surface).once().climb_grade("leg-1")[1][0])] != "grip"
        return
    require_nothing_learned(lesson, figures=("friction",))


def test_grip_ends_a_climb_of_some_vehicle_on_some_of_these_surfaces(tmp_path: Path) -> None:
    """Else the test above would weigh nothing."""
    ends = {
        ENDS[int(one.at([(WALKING, 0.0)], surface).once().climb_grade("leg-1")[1][0])]
        for one in [ridden_in(case_of(name), tmp_path) for name in NAMES]
        for surface in GRIP
    }
    assert "grip" in ends


def test_slip_on_soft_ground_teaches_nothing(case: Case, one: Ridden, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("climb", surface="lete-sand") + slip_rows(one, "lete-sand", 0.04))
    require_nothing_learned(learn(case, [path]), figures=("soil.friction_angle",))


@pytest.mark.parametrize("surface", ["loose-gravel", "asphalt-dry"])
def test_hardest_stops_by_grip_and_by_brake_teach_nothing(
    case: Case, one: Ridden, surface: str, tmp_path: Path
) -> None:
    path = write(tmp_path / "log.csv", head("brake", surface=surface) + brake_rows(one, surface))
    lesson = learn(case, [path])
    wordings = " ".join(one.reading.wording for one in lesson.combined.judged)
    judged = {end for end in ("grip", "brake") if f"ended by {end}" in wordings}
    assert "brake" in judged
    # On the grippiest ground the rear wheel lifts first, which is told.
    assert "grip" in judged or any("lifting rear wheel" in told.text for told in lesson.told)
    require_nothing_learned(lesson, figures=("friction",))


@pytest.mark.parametrize("position", ["front", "rear"])
def test_a_cooling_rotor_teaches_nothing(case: Case, one: Ridden, position: str, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("cooling", position=position) + cooling_rows(one, position))
    require_nothing_learned(learn(case, [path]), figures=("convection_factor",))


def test_plates_teach_nothing(case: Case, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("ground", surface="lete-sand") + plate_rows(case, "lete-sand"))
    require_nothing_learned(learn(case, [path]), figures=("soil.exponent", "soil.frictional_modulus"))


def test_ruts_teach_nothing(case: Case, one: Ridden, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("ground", surface="wet-peat") + rut_rows(one, "wet-peat"))
    require_nothing_learned(learn(case, [path]), figures=("soil.exponent",))


def test_a_cone_teaches_nothing(case: Case, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("ground", surface="tilled-field") + cone_rows(case, "tilled-field"))
    require_nothing_learned(learn(case, [path]), figures=("cone_index",))


def test_scales_and_stand_teach_nothing(case: Case, one: Ridden, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("static") + static_rows(case, one))
    lesson = learn(case, [path])
    assert {learned.figure.name for learned in lesson.combined.learned} & {"carcass_share", "carcass_pressure"}
    require_nothing_learned(lesson, figures=("mass",))


@pytest.mark.parametrize("surface", ["loose-gravel", "lete-sand"])
def test_energy_over_distance_teaches_nothing(case: Case, one: Ridden, surface: str, tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", head("energy", surface=surface) + energy_rows(one, surface))
    lesson = learn(case, [path])
    assert len(lesson.combined.judged) == 3
    require_nothing_learned(lesson, figures=())


def test_depths_of_a_tread_teach_nothing(case: Case, one: Ridden, tmp_path: Path) -> None:
    tires = [one.packages[position].mount.tire.id for position in ("front", "rear")]
    path = write(tmp_path / "log.csv", head("tread") + tread_rows(case, tires))
    require_nothing_learned(learn(case, [path]), figures=("tread_life",))
