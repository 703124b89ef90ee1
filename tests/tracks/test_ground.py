"""Surfaces by distance and by map."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rides import hills, ridden

from configopt.errors import FindingsError, UsageError
from configopt.tracks.area_map import Area, load_map, surfaces_at
from configopt.tracks.ground import Ground, Span, parse_span, require_rides
from configopt.tracks.settings import Settings
from configopt.tracks.surfaces import require_surfaces
from configopt.tracks.terrain import Ride, load_ride


@pytest.fixture(scope="module")
def ride(tmp_path_factory: pytest.TempPathFactory) -> Ride:
    path = tmp_path_factory.mktemp("ride") / "ride.gpx"
    return load_ride(ridden(6000.0, height=hills).write(path), 1.0, Settings())


def lengths(ground: Ground, ride: Ride, number: int = 1) -> dict[str, float]:
    names, which = ground.along(ride.made, number)
    return {name: float(ride.made.length[which == place].sum()) for place, name in enumerate(names)}


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("0..3.2=loose-gravel", ("loose-gravel", 0.0, 3200.0, None)),
        ("..3=mud", ("mud", 0.0, 3000.0, None)),
        (" 4.25..=mud ", ("mud", 4250.0, None, None)),
        ("12:0..1=mud", ("mud", 0.0, 1000.0, 12)),
        ("..=mud", ("mud", 0.0, None, None)),
    ],
)
def test_spans_are_read_as_people_write_them(text: str, span: tuple[Any, ...]) -> None:
    found = parse_span(text)
    assert (found.surface, found.begin, found.end, found.ride) == span


@pytest.mark.parametrize(
    "text",
    [
        "", "0-3=mud", "0..3", "0..3=", "3..1=mud", "2..2=mud", "-1..3=mud", "a..b=mud", "1e3..=mud", "x:0..1=mud",
        "0..1=a=b",
    ],
)  # fmt: skip
def test_a_text_that_is_no_span_is_wrong_usage_and_says_the_form(text: str) -> None:
    with pytest.raises(UsageError, match=r"wanted is .*FROM\.\.TO=SURFACE|ends before it begins"):
        parse_span(text)


def test_spans_take_their_part_of_the_way_and_the_rest_takes_what_is_left(ride: Ride) -> None:
    found = lengths(Ground((parse_span("1..2.5=mud"), parse_span("5..=snow")), rest="loose-gravel"), ride)
    total = float(ride.made.length.sum())
    # To a step of the profile at each end.
    assert found["mud"] == pytest.approx(1500.0, abs=5.1)
    assert found["snow"] == pytest.approx(total - 5000.0, abs=5.1)
    assert sum(found.values()) == pytest.approx(total, rel=1e-12)


def test_of_two_spans_that_meet_a_place_the_first_counts(ride: Ride) -> None:
    found = lengths(Ground((parse_span("0..2=mud"), parse_span("1..3=snow")), rest="loose-gravel"), ride)
    assert found["mud"] == pytest.approx(2000.0, abs=5.1)
    assert found["snow"] == pytest.approx(1000.0, abs=10.1)


def test_a_span_of_another_ride_does_not_count_here(ride: Ride) -> None:
    ground = Ground((parse_span("2:0..2=mud"),), rest="snow")
    assert set(lengths(ground, ride, 1)) == {"snow"}
    assert set(lengths(ground, ride, 2)) == {"mud", "snow"}
    with pytest.raises(UsageError, match="there is no ride 2, there are 1"):
        require_rides(ground.spans, 1)


def test_what_has_no_surface_is_named_with_its_place(ride: Ride) -> None:
    with pytest.raises(UsageError, match=r"have no surface, the first at km 2\.00; name it with --ground or --rest"):
        Ground((parse_span("..2=mud"),)).along(ride.made, 1)


def test_a_span_beyond_the_ride_is_wrong_usage(ride: Ride) -> None:
    with pytest.raises(UsageError, match=r"begins beyond ride 1, which is 6\.0\d km long"):
        Ground((parse_span("7..8=mud"),), rest="snow").along(ride.made, 1)


def box(west: float, south: float, east: float, north: float) -> list[list[float]]:
    return [[west, south], [east, south], [east, north], [west, north], [west, south]]


def feature(surface: str, coordinates: Any, kind: str = "Polygon") -> dict[str, Any]:
    return {
        "type": "Feature",
        "properties": {"surface": surface},
        "geometry": {"type": kind, "coordinates": coordinates},
    }


def written(path: Path, *features: Any) -> Path:
    file = path / "areas.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": list(features)}, indent=1))
    return file


def test_holes_and_several_polygons_and_the_first_of_two_areas_count(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        feature("mud", [box(0, 0, 10, 10), box(4, 4, 6, 6)]),
        feature("snow", [[box(5, 5, 20, 20)], [box(30, 30, 31, 31)]], "MultiPolygon"),
    )
    places = {
        "mud": (1.0, 1.0),
        "snow in the hole": (5.5, 5.5),
        "mud over snow": (8.0, 8.0),
        "snow": (15.0, 15.0),
        "far": (30.5, 30.5),
    }
    x, y = np.array(list(places.values())).T
    found = dict(surfaces_at(load_map(path), x, y))
    assert found["mud"].tolist() == [True, False, True, False, False]
    assert found["snow"].tolist() == [False, True, False, True, True]


def test_points_in_a_random_area_agree_with_counting_each_edge_alone() -> None:
    random = np.random.default_rng(11)
    for _ in range(20):
        ring = random.uniform(-1.0, 1.0, (9, 2))
        ring = np.vstack([ring, ring[:1]])
        x, y = random.uniform(-1.2, 1.2, (2, 400))
        ((_, inside),) = surfaces_at((Area("mud", (ring,)),), x, y)
        for number in range(400):
            odd = False
            for (x1, y1), (x2, y2) in itertools.pairwise(ring):
                if (y1 > y[number]) != (y2 > y[number]):
                    odd ^= bool(x[number] < (x2 - x1) * (y[number] - y1) / (y2 - y1) + x1)
            assert inside[number] == odd


def test_areas_that_share_an_edge_leave_no_point_between_them_and_none_in_both() -> None:
    random = np.random.default_rng(12)
    middle = np.array(
        [[0.0, -2.0], *np.column_stack([random.uniform(-0.5, 0.5, 30), np.linspace(-1.9, 1.9, 30)]), [0.0, 2.0]]
    )
    left = np.vstack([middle, [[-3.0, 2.0], [-3.0, -2.0]], middle[:1]])
    right = np.vstack([middle[::-1], [[3.0, -2.0], [3.0, 2.0]], middle[-1:]])
    y = np.concatenate([random.uniform(-1.99, 1.99, 500), middle[1:-1, 1]])
    x = np.concatenate([random.uniform(-1.0, 1.0, 500), middle[1:-1, 0]])
    inside = [surfaces_at((Area("mud", (ring,)),), x, y)[0][1] for ring in (left, right)]
    np.testing.assert_array_equal(inside[0] ^ inside[1], True)


def test_a_map_goes_before_the_rest_and_a_span_before_the_map(ride: Ride, tmp_path: Path) -> None:
    everywhere = load_map(written(tmp_path, feature("snow", [box(-180, -90, 180, 90)])))
    assert set(lengths(Ground((), everywhere, "mud"), ride)) == {"snow"}
    assert set(lengths(Ground((parse_span("..1=wet-peat"),), everywhere, "mud"), ride)) == {"snow", "wet-peat"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "JSON-SYNTAX"),
        ("[]", "this is no map (a map is a GeoJSON feature collection of areas)"),
        ('{"type": "FeatureCollection", "features": []}', "the map has no area"),
        ('{"type": "FeatureCollection", "features": [7]}', 'needs the property "surface"'),
        (json.dumps(feature("", [box(0, 0, 1, 1)])), 'needs the property "surface"'),
        (json.dumps(feature("mud", [[0, 0], [1, 1]], "LineString")), 'found "LineString"'),
        (json.dumps({**feature("mud", []), "geometry": None}), "found nothing"),
        (json.dumps(feature("mud", [])), "a polygon is a list of rings"),
        (json.dumps(feature("mud", [box(0, 0, 1, 1)[:3]])), "a ring is a list of at least four positions"),
        (json.dumps(feature("mud", [box(0, 0, 1, 1)[:4]])), "the last like the first"),
        (json.dumps(feature("mud", [box(0, 0, 1, 91)])), "a ring is"),
        (json.dumps(feature("mud", [[["0", 0]] * 4])), "a ring is"),
        (json.dumps(feature("mud", "x", "MultiPolygon")), "a polygon is"),
    ],
)
def test_what_is_no_map_is_a_finding_at_its_place(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "areas.geojson"
    path.write_text(text)
    with pytest.raises(FindingsError) as caught:
        load_map(path)
    assert said in str(caught.value)
    assert str(path) in str(caught.value)


def test_surfaces_that_a_catalog_lacks_are_named_where_they_stand_with_a_near_name(tmp_path: Path) -> None:
    known = ["loose-gravel", "wet-peat"]
    with pytest.raises(UsageError, match='--rest: there is no surface "lose-gravel"; did you mean "loose-gravel"'):
        require_surfaces(Ground(rest="lose-gravel"), known)
    with pytest.raises(UsageError, match=r'--ground "0\.\.1=lava": there is no surface "lava"; see configopt parts'):
        require_surfaces(Ground((Span("lava", 0.0, 1000.0, None, "0..1=lava"),)), known)
    areas = load_map(written(tmp_path, feature("wet-peat", [box(0, 0, 1, 1)]), feature("wet-peet", [box(0, 0, 1, 1)])))
    with pytest.raises(FindingsError, match=r'areas\.geojson:\d\d+:\d+: REFERENCE error: .*did you mean "wet-peat"'):
        require_surfaces(Ground((), areas, "loose-gravel"), known)
    require_surfaces(Ground(rest="wet-peat"), known)
