"""From rides to terrains: whatever is merged and rounded, climb, descent, way, time and stops stay what they are."""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import product
from pathlib import Path

import numpy as np
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from rides import hills, ridden

from configopt.appraisal.appraise import appraise
from configopt.errors import UsageError
from configopt.quantities import parse_quantity
from configopt.scenario.case import load
from configopt.tracks.classes import (
    GRADES,
    LEAST_SHARE,
    SHARE_UNITS,
    TERRAIN_LIMIT,
    Band,
    bands,
    merged,
    terrain_parts,
)
from configopt.tracks.fragment import fragment
from configopt.tracks.ground import Ground, parse_span
from configopt.tracks.settings import Settings
from configopt.tracks.terrain import Ride, load_ride, terrain

ROOT = Path(__file__).parents[2]
CLASSES = len(GRADES) + 1


@st.composite
def totals(draw: st.DrawFn) -> np.ndarray:
    """Way, time and rise of some surfaces; each class of grade holds grades of its own."""
    surfaces = draw(st.integers(1, 6))
    table = np.zeros((surfaces, CLASSES, 2, 3))
    edges = (0.0, *GRADES, 0.9)
    for place in product(range(surfaces), range(CLASSES), range(2)):
        length = draw(st.one_of(st.just(0.0), st.floats(1.0, 1e5)))
        grade = edges[place[1]] + draw(st.floats(0.0, 1.0)) * (edges[place[1] + 1] - edges[place[1]])
        speed = draw(st.floats(0.5, 20.0))
        table[place] = length, length / speed, length * math.sin(math.atan(grade))
    table[0, 0, 0, :2] += 100.0, 20.0
    return table


def sides(kept: list[Band]) -> tuple[float, float, float, float]:
    """Length, time, climb, descent."""
    up = sum(band.rise * {"up": 1.0, "both ways": 0.5, "down": 0.0}[band.direction] for band in kept)
    return sum(band.length for band in kept), sum(band.time for band in kept), up, sum(b.rise for b in kept) - up


@given(totals())
def test_bands_and_merged_bands_keep_way_time_climb_and_descent_of_every_surface(table: np.ndarray) -> None:
    names = [f"surface-{number}" for number in range(len(table))]
    made = bands(names, table)
    kept = merged(made)
    assert len(kept) <= TERRAIN_LIMIT
    for number, name in enumerate(names):
        expected = table[number, ..., 0].sum(), table[number, ..., 1].sum(), *table[number, ..., 2].sum(axis=0)
        for found in (made, kept):
            assert sides([band for band in found if band.surface == name]) == pytest.approx(
                expected, rel=1e-9, abs=1e-6
            )


@given(totals())
def test_a_small_class_is_kept_only_where_there_is_nothing_to_merge_it_with(table: np.ndarray) -> None:
    kept = merged(bands([f"surface-{number}" for number in range(len(table))], table))
    total = sum(band.length for band in kept)
    for band in kept:
        if band.length < LEAST_SHARE * total * (1.0 - 1e-9):
            beside = [other.direction for other in kept if other.surface == band.surface and other is not band]
            assert band.direction not in beside
            assert band.direction != "both ways" or not {"up", "down"} <= set(beside)


@given(totals())
def test_written_shares_sum_to_one_exactly_and_written_grades_keep_climb_and_descent(table: np.ndarray) -> None:
    kept = merged(bands([f"surface-{number}" for number in range(len(table))], table))
    parts = terrain_parts(kept, 0.5)
    assert sum(part.units for part in parts) == SHARE_UNITS
    assert len({part.name for part in parts}) == len(parts)
    length, _, climb, descent = sides(kept)
    weight = {"up": (1.0, 0.0), "down": (0.0, 1.0), "both ways": (0.5, 0.5)}
    for side, expected in enumerate((climb, descent)):
        found = sum(
            weight[part.direction][side] * part.units / SHARE_UNITS * length * math.sin(math.atan(part.grade))
            for part in parts
        )
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-6)


@given(totals())
def test_what_rises_or_falls_is_no_flatter_than_its_class_and_level_ground_no_steeper_than_it_was(
    table: np.ndarray,
) -> None:
    names = [f"surface-{number}" for number in range(len(table))]
    for band in bands(names, table):
        slope = math.tan(math.asin(band.rise / band.length))
        if band.direction != "both ways":
            assert slope >= GRADES[band.low - 1] * (1.0 - 1e-9)
        elif band.length > 1e-6:
            level = table[names.index(band.surface), 0].sum(axis=0)
            assert band.rise / band.length <= level[2] / level[0] + 1e-6


def level_and(up: float, down: float, *graded: tuple[int, int, float, float]) -> dict[str, tuple[float, float]]:
    """Terrains of 3 km of level ground with a climb and descent [m], and of class, side, length and rise of others.

    Length [m] and mean grade [1] by name, surface left out.
    """
    table = np.zeros((1, CLASSES, 2, 3))
    table[0, 0] = (1000.0, 200.0, up), (2000.0, 400.0, down)
    for number, side, length, rise in graded:
        table[0, number, side] = length, length / 5.0, rise
    kept = merged(bands(["gravel"], table))
    parts = terrain_parts(kept, 0.0)
    return {
        part.name.removeprefix("gravel-"): (band.length, part.grade) for part, band in zip(parts, kept, strict=True)
    }


def test_flat_ground_with_centimetres_more_of_descent_is_one_level_terrain() -> None:
    found = level_and(0.1, 0.5, (1, 0, 3000.0, 120.0), (1, 1, 1500.0, 60.0), (2, 1, 1500.0, 120.0))
    assert list(found) == ["level", "up", "down-1-6", "down-6-12"]
    # 0.4 m at 1 % are 40 m of way.
    assert found["level"] == (pytest.approx(2960.0, abs=0.01), pytest.approx(0.2 / 2960.0, rel=1e-3))
    assert found["down-1-6"] == (pytest.approx(1540.0, abs=0.01), pytest.approx(60.4 / 1540.0, rel=2e-3))
    assert found["up"][0] == 3000.0


def test_level_ground_that_falls_on_the_whole_is_partly_a_terrain_that_falls_at_one_percent() -> None:
    found = level_and(3.0, 18.0, (1, 0, 3000.0, 120.0), (2, 1, 3000.0, 240.0))
    assert list(found) == ["level", "up", "down-1-6", "down-6-12"]
    assert found["down-1-6"] == (pytest.approx(1500.0, rel=1e-4), pytest.approx(0.01, rel=1e-3))
    assert found["level"] == (pytest.approx(1500.0, rel=1e-4), pytest.approx(6.0 / 1500.0, rel=1e-3))


def test_flat_ground_whose_climb_and_descent_differ_by_rounding_only_is_level() -> None:
    assert list(level_and(2e-13, 3e-12)) == ["level"]
    # Where nothing else falls, what is left over stays by itself, or the descent would be lost.
    found = level_and(0.0, 0.1)
    assert list(found) == ["level", "down"]
    assert found["down"] == (pytest.approx(10.0, abs=0.01), pytest.approx(GRADES[0], rel=1e-3))


def test_leftovers_of_several_surfaces_too_short_for_a_share_are_written_with_the_smallest_one() -> None:
    table = np.zeros((3, CLASSES, 2, 3))
    table[:, 0, 0] = 10_000.0, 2000.0, 0.0
    table[:, 0, 1] = 0.0, 0.0, 1e-6
    parts = terrain_parts(merged(bands(["gravel", "mud", "rock"], table)), 0.0)
    assert sorted(part.units for part in parts)[:3] == [1, 1, 1]
    assert sum(part.units for part in parts) == SHARE_UNITS


def test_a_ride_a_third_of_which_is_flat_has_that_third_as_level_ground(tmp_path: Path) -> None:
    def height(s: np.ndarray) -> np.ndarray:
        noise = 0.02 * np.sin(2.0 * np.pi * s / 130.0) - 1e-4 * np.clip(s - 3000.0, 0.0, 3000.0)
        return noise + np.interp(s, [0, 1500, 3000, 6000, 6400, 9000], [300, 345, 300, 300, 340, 290.0])

    ride = load_ride(ridden(9000.0, height=height).write(tmp_path / "ride.gpx"), 1.0, Settings())
    parts = {part.name: part for part in terrain([ride], Ground(rest="gravel"), Settings()).terrains}
    assert list(parts) == ["gravel-level", "gravel-up-1-6", "gravel-up-6-12", "gravel-down"]
    # The 0.3 m that it falls are 30 m of way at 1 %; around tops and dips some steps are level as well.
    assert parts["gravel-level"].units / SHARE_UNITS == pytest.approx(2970.0 / 9000.0, abs=0.01)
    assert parts["gravel-level"].grade < 0.002


def test_too_many_surfaces_for_a_scenario_are_refused() -> None:
    table = np.tile(np.array([100.0, 20.0, 5.0]), (11, CLASSES, 2, 1))
    with pytest.raises(UsageError, match="11 surfaces make 22 terrains, a scenario has at most 20; name fewer"):
        merged(bands([f"surface-{number}" for number in range(11)], table))
    assert len(merged(bands([f"surface-{number}" for number in range(10)], table[:10]))) == TERRAIN_LIMIT


def loaded(path: Path, length: float, weight: float, name: str = "ride.gpx", **more: object) -> Ride:
    made = ridden(length, height=hills, **more)  # type: ignore[arg-type]
    return load_ride(made.write(path / name), weight, Settings())


MIXED = Ground((parse_span("1:1..2.5=wet-peat"), parse_span("1:4..4.6=rock-steps")), rest="loose-gravel")


@pytest.fixture(scope="module")
def rides(tmp_path_factory: pytest.TempPathFactory) -> tuple[Ride, Ride]:
    path = tmp_path_factory.mktemp("rides")
    first = loaded(path, 8000.0, 3.0, "daily.gpx", stops=((2000.0, 30.0), (5000.0, 60.0)))
    return first, loaded(path, 5000.0, 0.5, "weekly.gpx", speed=9.0, stops=((1000.0, 30.0),))


def test_the_written_terrains_have_climb_descent_way_time_and_stops_of_the_rides(rides: tuple[Ride, Ride]) -> None:
    text = fragment(terrain(rides, MIXED, Settings()))
    written = yaml.safe_load(text)["terrains"]
    assert sum(Decimal(part["share"].removesuffix(" %")) for part in written) == 100
    length = sum(ride.weight * float(np.hypot(ride.made.run, ride.made.rise).sum()) for ride in rides)
    climb = sum(ride.weight * float(np.maximum(ride.made.rise, 0.0).sum()) for ride in rides)
    descent = sum(ride.weight * float(np.maximum(-ride.made.rise, 0.0).sum()) for ride in rides)
    found = {"up": 0.0, "down": 0.0}
    time = stops = 0.0
    for part in written:
        share, grade = float(parse_quantity(part["share"], "ratio")), float(parse_quantity(part["grade"], "ratio"))
        for direction in found:
            half = {"both ways": 0.5, direction: 1.0}.get(part["direction"], 0.0)
            found[direction] += half * share * length * math.sin(math.atan(grade))
        time += share * length / float(parse_quantity(part["speed"], "speed"))
        stops += share * length / 1000.0 * part["stops_per_km"]
    # Grades are written to a millimetre in a kilometre, speeds to 10 m/h, stops to a ten-thousandth.
    assert found["up"] == pytest.approx(climb, abs=1e-6 * length)
    assert found["down"] == pytest.approx(descent, abs=1e-6 * length)
    assert time == pytest.approx(sum(ride.weight * float(ride.made.duration.sum()) for ride in rides), rel=1e-3)
    assert stops == pytest.approx(3.0 * 2.0 + 0.5 * 1.0, rel=1e-3)


def test_each_surface_has_its_share_of_the_weighted_way(rides: tuple[Ride, Ride]) -> None:
    result = terrain(rides, MIXED, Settings())
    length = sum(ride.weight * float(ride.made.length.sum()) for ride in rides)
    for surface, way in (("wet-peat", 1500.0), ("rock-steps", 600.0)):
        share = sum(part.units for part in result.terrains if part.surface == surface) / SHARE_UNITS
        assert share == pytest.approx(3.0 * way / length, abs=3.0 * 10.1 / length)


def test_a_ride_counted_three_times_is_three_rides(tmp_path: Path) -> None:
    three = loaded(tmp_path, 4000.0, 3.0)
    once = [loaded(tmp_path, 4000.0, 1.0, f"{number}.gpx") for number in range(3)]
    other = loaded(tmp_path, 2500.0, 1.0, "other.gpx", speed=9.0)
    ground = Ground(rest="loose-gravel")
    first = terrain([three, other], ground, Settings()).to_json()
    second = terrain([*once, other], ground, Settings()).to_json()
    for one, two in zip(first["terrains"], second["terrains"], strict=True):
        numbers = [key for key, value in one.items() if isinstance(value, float)]
        assert len(numbers) == 4
        assert [one[key] for key in numbers] == pytest.approx([two[key] for key in numbers], rel=1e-6)
        assert one["name"] == two["name"]
    assert first["together"]["climb_m"] == pytest.approx(second["together"]["climb_m"])


def test_the_grade_classes_hold_all_of_the_way_and_their_speeds_all_of_the_time(rides: tuple[Ride, Ride]) -> None:
    payload = terrain(rides, Ground(), Settings()).to_json()
    for figures in (*payload["rides"], payload["together"]):
        grades = figures["grades"]
        assert sum(row["share_percent"] for row in grades) == pytest.approx(100.0)
        assert sum(row["length_km"] for row in grades) == pytest.approx(figures["length_km"])
        time = sum(3600.0 * row["length_km"] / row["speed_km_h"] for row in grades if row["length_km"])
        assert time == pytest.approx(figures["moving_time_s"])


def test_without_surfaces_there_are_profiles_and_a_remark_but_no_terrains(rides: tuple[Ride, Ride]) -> None:
    result = terrain(rides, Ground(), Settings())
    assert result.terrains == ()
    assert any("No surfaces are stated" in remark for remark in result.remarks)


@pytest.mark.parametrize("scenario", ["upland-wardens", "forest-rescue"])
def test_the_fragment_put_into_a_shipped_scenario_loads_and_appraises(
    scenario: str, rides: tuple[Ride, Ride], tmp_path: Path
) -> None:
    result = terrain(rides, MIXED, Settings())
    part = yaml.safe_load(fragment(result))
    data = yaml.safe_load((ROOT / "scenarios" / f"{scenario}.yaml").read_text())
    data["catalogs"] = str(ROOT / "catalogs")
    vehicle = data["vehicles"][0]
    vehicle.pop("conditions", None)
    vehicle.update(part)
    vehicle["limits"] = [limit for limit in vehicle["limits"] if "terrain" not in limit]
    path = tmp_path / "scenario.yaml"
    path.write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True))
    case = load(path)
    read = case.vehicle.terrains
    assert [terrain.name for terrain in read] == [part.name for part in result.terrains]
    assert sum(float(terrain.share) for terrain in read) == pytest.approx(1.0, abs=1e-12)
    assert [descent.name for descent in case.vehicle.descents] == [part.name for part in result.descents]
    assert case.vehicle.baseline is not None
    (appraised,) = appraise(case, [case.vehicle.baseline]).to_json()["vehicles"]
    assert [row["name"] for row in appraised["terrains"]] == [part.name for part in result.terrains]
    assert all(math.isfinite(row["energy_wh_per_km"]) for row in appraised["terrains"])


def test_the_head_of_the_fragment_names_files_hashes_weights_and_cleaning_and_cannot_be_left(tmp_path: Path) -> None:
    made = ridden(3000.0, height=hills).write(tmp_path / "ride\nterrains: [].gpx")
    text = fragment(terrain([load_ride(made, 2.0, Settings())], Ground(rest="wet-peat"), Settings()))
    head = text[: text.index("\nterrains:\n")]
    assert all(line.startswith("# ") for line in head.splitlines())
    assert "ride\\nterrains: [].gpx, counted 2 times" in head
    assert "undulations below 2 m levelled" in head
    assert "replace terrains and descents of a vehicle by it" in head
    assert "sha256" in head
    assert list(yaml.safe_load(text)) == ["terrains", "descents"]


def test_descents_are_the_highest_and_the_steeper_ones_with_the_surface_they_mostly_lie_on(tmp_path: Path) -> None:
    def height(s: np.ndarray) -> np.ndarray:
        return np.interp(s, [0, 3000, 3500, 3700, 8000], [500, 350, 350, 310, 310.0])

    ride = load_ride(ridden(8000.0, height=height).write(tmp_path / "ride.gpx"), 1.0, Settings())
    ground = Ground((parse_span("3.2..3.8=rock-steps"),), rest="loose-gravel")
    found = {part.name: part for part in terrain([ride], ground, Settings()).descents}
    highest = found["descent-highest"]
    assert (highest.surface, highest.height) == ("loose-gravel", pytest.approx(190.0, abs=1.0))
    steep = found["descent-steepest-100-m"]
    assert (steep.surface, steep.grade) == ("rock-steps", pytest.approx(0.2, abs=0.003))
    assert steep.speed == pytest.approx(6.0, rel=0.05)
