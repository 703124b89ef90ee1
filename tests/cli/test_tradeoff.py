"""The trade-off from the command line: the real search on a small catalog, as text, table, JSON and drawing."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest
import yaml
from click.testing import Result

from configopt.schemas import schema

Run = Callable[..., Result]
ROOT = Path(__file__).parents[2]
SCENARIO = "scenarios/upland-wardens.yaml"
FAMILY = "scenarios/wardens-family.yaml"


@pytest.fixture
def ends(monkeypatch: pytest.MonkeyPatch) -> Callable[[dict[str, Any], int], dict[str, Any]]:
    """Put an answer in the search's place; gives what it was asked."""

    def put(payload: dict[str, Any], code: int) -> dict[str, Any]:
        asked: dict[str, Any] = {}

        def answer(case: Any, **options: Any) -> Any:
            asked.update(options, case=case)
            return SimpleNamespace(exit_code=code, to_json=lambda: payload)

        monkeypatch.setattr("configopt.choice.tradeoff.tradeoff", answer)
        return asked

    return put


Ends = Callable[[dict[str, Any], int], dict[str, Any]]


@pytest.fixture
def payload(choice: dict[str, Any]) -> dict[str, Any]:
    """An invented trade-off of three points over three aims, free to change."""
    (vehicle,) = choice["vehicles"]
    kept = (
        "name", "final_drive", "mass_kg", "cost", "currency", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km",
        "packages",
    )  # fmt: skip
    values = [(16.0, 19.0, 820.0), (16.5, 17.5, 805.0), (17.25, 17.0, 790.0)]
    points = [
        {
            "number": number,
            "values": {"mass": mass, "rolling_loss": loss, "cost": cost},
            "aim": mass + 0.8 * loss,
            "ties": number,
            "best_by_rates": number == 2,
            "vehicles": [{key: vehicle[key] for key in kept}],
            "tightest": vehicle["margins"][:2],
        }
        for number, (mass, loss, cost) in enumerate(values, start=1)
    ]
    return {
        "schema": "configopt/tradeoff/1",
        "scenario": "upland-wardens",
        "status": "complete",
        "aims": [
            {"name": "mass", "unit": "kg", "rate": 1.0},
            {"name": "rolling_loss", "unit": "Wh/km", "rate": 0.8},
            {"name": "cost", "unit": "EUR", "rate": None},
        ],
        "points": points,
        "counts": {"packages_that_fit": {"front": 120, "rear": 340}, "points": 3, "choices": 6},
        "audit": {"agrees": True, "largest_difference": 0.0, "rounds": 7},
        "remarks": [],
        "cautions": choice["cautions"],
        "made_with": choice["made_with"],
    }


@pytest.mark.parametrize("again", [False, pytest.param(True, marks=pytest.mark.slow)], ids=["once", "each time"])
def test_json_text_and_table_of_the_real_search_say_the_same(run: Run, smallest: Path, ends: Ends, again: bool) -> None:
    result = run("tradeoff", SCENARIO, "--format", "json", "--with", "cost")
    found = json.loads(result.stdout)
    jsonschema.validate(found, schema("tradeoff"))
    assert (result.exit_code, found["status"]) == (0, "complete")
    assert [aim["name"] for aim in found["aims"]] == ["mass", "rolling_loss", "cost"]
    assert [aim["rate"] for aim in found["aims"]] == [1.0, 0.8, None]
    points = found["points"]
    assert len(points) > 1
    for point in points:
        (vehicle,) = point["vehicles"]
        assert point["values"]["mass"] == pytest.approx(vehicle["mass_kg"], rel=1e-12)
        assert point["values"]["rolling_loss"] == pytest.approx(vehicle["rolling_loss_wh_per_km"], rel=1e-12)
        assert point["values"]["cost"] == pytest.approx(vehicle["cost"], rel=1e-12)
        for other in points:
            assert other is point or any(other["values"][name] > value for name, value in point["values"].items())
    # The point with the least weighted sum is what choose chooses.
    chosen = json.loads(run("choose", SCENARIO, "--format", "json").stdout)
    (best,) = [point for point in points if point["best_by_rates"]]
    assert best["aim"] == pytest.approx(chosen["aim"]["value"], rel=1e-9)
    assert best["vehicles"][0]["packages"] == chosen["vehicles"][0]["packages"]

    if not again:
        ends(found, 0)
    text = run("tradeoff", SCENARIO, "--with", "cost")
    assert text.exit_code == 0
    assert text.stdout.startswith(f"upland-wardens: {len(points)} points over ")
    assert "proven complete" in text.stdout
    assert max(map(len, text.stdout.splitlines())) <= 80
    assert "None" not in text.stdout

    table = run("tradeoff", SCENARIO, "--with", "cost", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(table.stdout)))
    assert len(rows) == len(points)
    for row, point in zip(rows, points, strict=True):
        assert float(row["mass [kg]"]) == point["values"]["mass"]
        assert float(row["rolling_loss [Wh/km]"]) == point["values"]["rolling_loss"]
        assert float(row["cost [EUR]"]) == point["values"]["cost"]
        front, rear = point["vehicles"][0]["packages"]
        assert (row["front_tire"], row["rear_tire"]) == (front["tire"], rear["tire"])
        assert row["best_by_rates"] == ("yes" if point["best_by_rates"] else "no")


def test_the_drawing_is_sound_svg_with_an_id_for_each_point_and_the_same_every_time(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any]
) -> None:
    ends(payload, 0)
    result = run("tradeoff", SCENARIO, "--plot", "first.svg")
    assert (result.exit_code, result.stderr) == (0, "written: first.svg\n")
    run("tradeoff", SCENARIO, "--plot", "second.svg", "-o", "page.txt")
    first, second = ((project / name).read_bytes() for name in ("first.svg", "second.svg"))
    assert first == second
    root = ElementTree.fromstring(first)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    ids = [node.get("id") for node in root.iter() if str(node.get("id")).startswith("point-")]
    assert sorted(map(str, ids)) == sorted(
        f"point-{number}-{name}" for number in (1, 2, 3) for name in ("rolling_loss", "cost")
    )
    words = "".join(root.itertext())
    assert "mass, kg" in words
    assert "rolling loss, Wh/km" in words
    assert "cost, EUR" in words


def test_without_matplotlib_a_drawing_is_refused_in_one_line_before_any_search(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = ends(payload, 0)
    monkeypatch.setattr("configopt.sheet.charts.find_spec", lambda name: None)
    result = run("tradeoff", SCENARIO, "--plot", "drawing.svg")
    assert (result.exit_code, result.stdout, asked) == (2, "", {})
    assert "pip install 'configopt[plots]'" in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert run("tradeoff", SCENARIO).exit_code == 0


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("-o", "nowhere/page.txt"), "there is no folder nowhere"),
        (("--plot", "nowhere/drawing.svg"), "there is no folder nowhere"),
        (("-o", SCENARIO), "would overwrite an input"),
        (("--plot", SCENARIO), "would overwrite an input"),
        (("--plot", "catalogs"), "is a directory"),
        (("-o", "both.svg", "--plot", "both.svg"), "the drawing needs a file of its own"),
        (("--with", "weight"), "'weight' is not one of"),
        (("--time-limit", "0"), "allowed is a number above 0 s"),
        (("--vehicle", "cart"), 'the scenario has no vehicle "cart"; it has warden-two-wheeler'),
    ],
)
def test_what_cannot_work_is_refused_before_any_search(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any], options: tuple[str, ...], said: str
) -> None:
    asked = ends(payload, 0)
    before = sorted(project.rglob("*"))
    result = run("tradeoff", SCENARIO, *options)
    assert (result.exit_code, result.stdout, asked) == (2, "", {})
    assert said in result.stderr
    assert sorted(project.rglob("*")) == before


@pytest.mark.parametrize(
    ("status", "code", "said"),
    [
        ("partial", 4, "stopped early"),
        ("unknown", 4, "stopped before any point was found"),
        ("infeasible", 3, "proven: nothing in these catalogs meets every limit"),
    ],
)
def test_every_way_to_end_is_said_and_has_its_exit_code(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any], status: str, code: int, said: str
) -> None:
    payload["status"] = status
    if status != "partial":
        payload["points"], payload["counts"]["points"] = [], 0
    jsonschema.validate(payload, schema("tradeoff"))
    ends(payload, code)
    result = run("tradeoff", SCENARIO, "--plot", "drawing.svg")
    assert result.exit_code == code
    assert said in " ".join(result.stdout.split())
    drawn = project / "drawing.svg"
    if payload["points"]:
        ElementTree.fromstring(drawn.read_bytes())
    else:
        assert not drawn.exists()
        assert "nothing to draw" in result.stderr


def test_a_drawing_is_svg_by_its_name(run: Run, project: Path) -> None:
    result = run("tradeoff", SCENARIO, "--plot", "drawing.png")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "ends in .svg" in result.stderr


def test_options_reach_the_search(run: Run, project: Path, ends: Ends, payload: dict[str, Any]) -> None:
    asked = ends(payload, 0)
    run("tradeoff", SCENARIO, "--with", "cost", "--with", "energy", "--time-limit", "7.5", "--threads", "2", "-q")
    assert asked["extra"] == ("cost", "energy")
    assert (asked["time_limit"], asked["threads"], asked["progress"]) == (7.5, 2, None)


def test_of_several_vehicles_one_must_be_named(run: Run, project: Path) -> None:
    shutil.copy(ROOT / FAMILY, project / FAMILY)
    names = [vehicle["name"] for vehicle in yaml.safe_load((project / FAMILY).read_text())["vehicles"]]
    assert len(names) > 1
    result = run("tradeoff", FAMILY)
    assert (result.exit_code, result.stdout) == (2, "")
    assert all(name in result.stderr for name in names)
    assert "--vehicle" in result.stderr


def test_the_named_vehicle_is_looked_at_alone(run: Run, project: Path, ends: Ends, payload: dict[str, Any]) -> None:
    shutil.copy(ROOT / FAMILY, project / FAMILY)
    name = yaml.safe_load((project / FAMILY).read_text())["vehicles"][1]["name"]
    asked = ends(payload, 0)
    assert run("tradeoff", FAMILY, "--vehicle", name).exit_code == 0
    assert [vehicle.name for vehicle in asked["case"].scenario.vehicles] == [name]
    assert not asked["case"].together
