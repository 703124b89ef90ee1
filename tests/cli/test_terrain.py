"""Terrain from the command line: what is printed, written and refused."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import Result

from configopt.schemas import schema

Run = Callable[..., Result]
TRACKS = Path(__file__).parents[2] / "scenarios" / "tracks"
RIDE, ROAD, MAP = "scenarios/tracks/fell-round.gpx", "scenarios/tracks/depot-road.gpx", "scenarios/tracks/areas.geojson"
GROUND = ("--map", MAP, "--rest", "loose-gravel")


@pytest.fixture
def tracks(project: Path) -> Path:
    """The project folder with the demo rides."""
    shutil.copytree(TRACKS, project / "scenarios" / "tracks")
    return project


def test_one_ride_alone_gives_a_profile_that_fits_a_screen(run: Run, tracks: Path) -> None:
    result = run("terrain", RIDE)
    words = " ".join(result.stdout.split())
    assert (result.exit_code, result.stderr) == (0, "")
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "1 point far off the line" in words
    assert "steepest over 500 m" in words
    assert "No surfaces are stated" in words
    assert "Terrains for a scenario" not in words
    assert "None" not in words


@pytest.mark.parametrize("columns", [40, 60, 200])
def test_the_text_keeps_to_the_width_of_the_terminal(
    run: Run, tracks: Path, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    result = run("terrain", RIDE, ROAD, *GROUND)
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= min(columns, 100)


def test_the_json_keeps_to_its_schema_and_its_unit_is_in_every_key(run: Run, tracks: Path) -> None:
    result = run("terrain", RIDE, ROAD, "--weight", "5", "--weight", "2", *GROUND, "--format", "json", "-q")
    payload = json.loads(result.stdout)
    jsonschema.validate(payload, schema("terrain"))
    assert [ride["weight"] for ride in payload["rides"]] == [5.0, 2.0]
    assert {part["surface"] for part in payload["terrains"]} == {"loose-gravel", "wet-peat", "rock-steps"}
    assert sum(part["share_percent"] for part in payload["terrains"]) == pytest.approx(100.0, abs=1e-9)
    jsonschema.validate(json.loads(run("terrain", RIDE, "--format", "json").stdout), schema("terrain"))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**payload, "rides": []}, schema("terrain"))
    payload["rides"][0]["colour"] = "green"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(payload, schema("terrain"))


def test_a_yaml_file_gets_the_terrains_and_the_screen_the_text(run: Run, tracks: Path) -> None:
    result = run("terrain", RIDE, *GROUND, "-o", "terrain.yaml")
    assert result.exit_code == 0
    assert "Terrains for a scenario" in result.stdout
    assert "written: terrain.yaml" in result.stderr
    text = (tracks / "terrain.yaml").read_text()
    assert f"# Ride 1: {RIDE}, counted 1 time\n" in text
    assert set(yaml.safe_load(text)) == {"terrains", "descents"}
    assert run("terrain", RIDE, *GROUND, "--format", "yaml").stdout == text


def test_the_written_terrains_stand_in_a_scenario_that_check_and_appraise_take(run: Run, tracks: Path) -> None:
    run("terrain", RIDE, *GROUND, "-o", "terrain.yaml")
    path = tracks / "scenarios" / "upland-wardens.yaml"
    data = yaml.safe_load(path.read_text())
    vehicle = data["vehicles"][0]
    vehicle.update(yaml.safe_load((tracks / "terrain.yaml").read_text()))
    vehicle["limits"] = [limit for limit in vehicle["limits"] if "terrain" not in limit]
    path.write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True))
    baseline: dict[str, Any] = {"vehicles": [{"name": vehicle["name"], **vehicle["baseline"]}]}
    (tracks / "today.yaml").write_text(yaml.safe_dump(baseline))
    assert run("check", path, "--skip-decisions").exit_code == 0
    appraised = run("appraise", path, "today.yaml", "--format", "json")
    assert appraised.exit_code == 0
    names = [row["name"] for row in json.loads(appraised.stdout)["vehicles"][0]["terrains"]]
    assert names == [part["name"] for part in vehicle["terrains"]]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((RIDE, "--weight", "2", "--weight", "3"), "--weight is given 2 times for 1 tracks"),
        ((RIDE, "--weight", "0"), "allowed is a number above 0 times"),
        ((RIDE, "--weight", "1e308"), "--weight: allowed are 0.000001 to 1000000 times"),
        ((RIDE, "--weight", "nan"), "allowed is a number above 0 times"),
        ((RIDE, "--smoothing", "-1"), "allowed is a number at least 0 m"),
        ((RIDE, "--smoothing", "1001"), "--smoothing is 1001 m, allowed are at most 1000 m"),
        ((RIDE, "--undulation", "1e9"), "allowed are at most 100 m"),
        ((RIDE, "--fastest", "0"), "allowed is a number above 0 km/h"),
        ((RIDE, "--ground", "0-3=mud"), "wanted is [RIDE:]FROM..TO=SURFACE in km"),
        ((RIDE, "--ground", "2:0..3=mud", "--rest", "mud"), "there is no ride 2, there are 1"),
        ((RIDE, "--ground", "0..3=mud"), "have no surface, the first at km 3.00"),
        ((RIDE, "--ground", "60..=mud", "--rest", "mud"), "begins beyond ride 1"),
        ((RIDE, "--rest", "wet-peet"), '--rest: there is no surface "wet-peet"; did you mean "wet-peat"?'),
        ((RIDE, "--format", "yaml"), "terrains of a scenario need surfaces"),
        ((RIDE, "-o", "terrain.yaml"), "terrains of a scenario need surfaces"),
        ((RIDE, "-o", "scenarios"), "is a folder"),
        ((RIDE, "-o", "no/where.txt"), "there is no folder no"),
        ((RIDE, "-o", RIDE), "would overwrite an input"),
        ((RIDE, "--rest", "mud", "-o", "scenarios/upland-wardens.yaml"), "would overwrite a YAML file"),
        ((RIDE, "--map", "no.geojson"), "does not exist"),
        ((), "Missing argument"),
    ],
)
def test_wrong_usage_is_refused_with_what_to_do(run: Run, tracks: Path, arguments: tuple[str, ...], said: str) -> None:
    result = run("terrain", *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert said in " ".join(result.stderr.split())


def test_what_is_wrong_with_several_rides_is_told_of_all_of_them(run: Run, tracks: Path) -> None:
    (tracks / "bad.gpx").write_text("<gpx>\n<oops></gpx>")
    result = run("terrain", "bad.gpx", RIDE, "absent.gpx")
    assert (result.exit_code, result.stdout) == (1, "")
    assert "bad.gpx:2:9: GPX-XML error" in result.stderr
    assert "absent.gpx:0:0: GPX-FILE error: there is no such file" in result.stderr
    assert "2 findings" in result.stderr


def test_a_map_with_an_unknown_surface_is_a_finding_in_the_map(run: Run, tracks: Path) -> None:
    path = tracks / MAP
    path.write_text(path.read_text().replace("rock-steps", "rock-stairs"))
    result = run("terrain", RIDE, *GROUND)
    assert result.exit_code == 1
    assert f"{MAP}:" in result.stderr
    assert 'there is no surface "rock-stairs" (did you mean "rock-steps"?)' in " ".join(result.stderr.split())


def test_without_a_catalog_surfaces_are_taken_as_they_are_and_that_is_said(run: Run, tracks: Path) -> None:
    shutil.rmtree(tracks / "catalogs")
    result = run("terrain", RIDE, "--rest", "my-own-ground")
    assert result.exit_code == 0
    assert "surfaces are not checked" in result.stderr
    assert "my-own-ground-level" in result.stdout
    result = run("terrain", RIDE, "--rest", "My Ground")
    assert result.exit_code == 2
    assert '"My Ground" cannot be the id of a surface; small letters' in " ".join(result.stderr.split())


def test_a_pipe_and_a_device_are_not_waited_for(run: Run, tracks: Path) -> None:
    import os

    os.mkfifo(tracks / "pipe.gpx")
    result = run("terrain", "pipe.gpx")
    assert result.exit_code == 1
    assert "it is no plain file" in result.stderr


@pytest.mark.slow
def test_a_million_points_end_within_a_minute(run: Run, tracks: Path) -> None:
    with (tracks / "long.gpx").open("w") as file:
        file.write('<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n')
        for number in range(1_000_000):
            days, rest = divmod(number, 86_400)
            clock = f"2026-03-{days + 1:02d}T{rest // 3600:02d}:{rest // 60 % 60:02d}:{rest % 60:02d}Z"
            swing = abs(number % 100_000 - 50_000)
            file.write(
                f'<trkpt lat="{swing * 6e-5:.6f}" lon="10.{number // 100:06d}"><ele>{300 + swing / 500:.2f}</ele>'
                f"<time>{clock}</time><extensions><speed>6.7</speed></extensions></trkpt>\n"
            )
        file.write("</trkseg></trk></gpx>\n")
    began = time.process_time()
    result = run("terrain", "long.gpx", "--map", MAP, "--rest", "loose-gravel", "--format", "json")
    assert time.process_time() - began < 60.0
    payload = json.loads(result.stdout)
    assert payload["rides"][0]["points"] == 1_000_000
    # 6e-5 degrees of latitude at the equator are 6.634 m.
    assert payload["together"]["length_km"] == pytest.approx(6634.0, rel=2e-3)
    assert payload["together"]["climb_m"] == pytest.approx(1000.0, rel=1e-2)
