"""The shortlist from the command line: the real search on a small catalog, and every way it can end."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import Result

from configopt.schemas import schema

Run = Callable[..., Result]
Ends = Callable[[dict[str, Any], int], dict[str, Any]]
ROOT = Path(__file__).parents[2]
SCENARIO = "scenarios/upland-wardens.yaml"
FAMILY = "scenarios/wardens-family.yaml"


@pytest.fixture
def ends(monkeypatch: pytest.MonkeyPatch) -> Ends:
    """Put an answer in the search's place; gives what it was asked."""

    def put(payload: dict[str, Any], code: int) -> dict[str, Any]:
        asked: dict[str, Any] = {}

        def answer(case: Any, **options: Any) -> Any:
            asked.update(options, case=case)
            return SimpleNamespace(exit_code=code, to_json=lambda: payload)

        monkeypatch.setattr("configopt.choice.shortlist.shortlist", answer)
        return asked

    return put


@pytest.fixture
def payload(choice: dict[str, Any]) -> dict[str, Any]:
    """An invented shortlist of two, free to change."""
    (vehicle,) = choice["vehicles"]
    kept = (
        "name", "final_drive", "mass_kg", "cost", "currency", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km",
        "packages",
    )  # fmt: skip
    candidates = [
        {
            "number": number,
            "aim": 30.0 + number,
            "loss_percent": 2.5 * (number - 1),
            "labels": ["cheapest"] if number == 1 else [],
            "ridden": {"front": number == 1, "rear": False},
            "vehicles": [{key: vehicle[key] for key in kept}],
            "tightest": vehicle["margins"][:2],
            "riskiest": None,
        }
        for number in (1, 2)
    ]
    ride = {
        "about": "limit",
        "limit": "climb_grade",
        "position": None,
        "first": 1,
        "second": 2,
        "place": "peat-path",
        "doubt": "steepest grade that can be climbed on peat-path",
        "values": [25.2, 31.0],
        "required": 24.0,
        "unit": "%",
        "separates": 0.2,
        "why": "chance of a miss 30 % against 10 %; it hangs most on the cohesion of wet-peat",
    }
    return {
        "schema": "configopt/shortlist/1",
        "scenario": "upland-wardens",
        "status": "complete",
        "within_percent": 3.0,
        "candidates": candidates,
        "plan": [ride],
        "counts": {
            "packages_that_fit": {"front": 120, "rear": 340},
            "tires_that_may_come_near": {"front": 2, "rear": 1},
            "choices_to_pick_from": 2,
            "least_distance": 1.5,
            "no_other_set_differs_more": True,
        },
        "audit": {"agrees": True, "largest_difference": 0.0, "rounds": 3},
        "remarks": [],
        "cautions": choice["cautions"],
        "made_with": choice["made_with"],
    }


def test_the_real_search_gives_a_sound_list_that_begins_with_what_choose_chooses(run: Run, small: Path) -> None:
    result = run("shortlist", SCENARIO, "-n", "2", "--within", "0.5", "--format", "json", "-o", "list.json", "-q")
    found = json.loads((small / "list.json").read_text())
    jsonschema.validate(found, schema("shortlist"))
    assert (result.exit_code, found["status"]) == (0, "complete")
    assert len(found["candidates"]) == 2
    chosen = json.loads(run("choose", SCENARIO, "--format", "json").stdout)
    first = found["candidates"][0]
    assert first["aim"] == pytest.approx(chosen["aim"]["value"], rel=1e-9)
    assert first["vehicles"][0]["packages"] == chosen["vehicles"][0]["packages"]
    assert found["plan"]


def test_the_text_fits_a_screen_and_says_who_rides_where(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any]
) -> None:
    jsonschema.validate(payload, schema("shortlist"))
    ends(payload, 0)
    result = run("shortlist", SCENARIO)
    words = " ".join(result.stdout.split())
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "None" not in words
    assert words.startswith("upland-wardens: 2 candidates to ride")
    assert "the best choice with every tire" in words
    assert "front-tire*" in words
    assert "already ridden" in words
    assert "Qualified riders only, on closed ground" in words
    assert "1 and 2: climb on peat-path: 25.2 % against 31 % (asked: 24 %); chance of a miss" in words


@pytest.mark.parametrize(
    ("status", "code", "said"),
    [
        ("partial", 4, "stopped early"),
        ("unknown", 4, "stopped before any choice was found"),
        ("infeasible", 3, "proven: nothing in these catalogs meets every limit"),
    ],
)
def test_every_way_to_end_is_said_and_has_its_exit_code(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any], status: str, code: int, said: str
) -> None:
    payload["status"] = status
    if status != "partial":
        payload["candidates"], payload["plan"] = [], []
    jsonschema.validate(payload, schema("shortlist"))
    ends(payload, code)
    result = run("shortlist", SCENARIO)
    assert result.exit_code == code
    assert said in " ".join(result.stdout.split())


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("-n", "1"), "1 is not in the range 2<=x<=20"),
        (("--within", "-0.1"), "allowed is a number at least 0"),
        (("--within", "nan"), "allowed is a number at least 0"),
        (("-o", SCENARIO), "would overwrite an input"),
        (("--vehicle", "cart"), 'the scenario has no vehicle "cart"; it has warden-two-wheeler'),
    ],
)
def test_what_cannot_work_is_refused_before_any_search(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any], options: tuple[str, ...], said: str
) -> None:
    asked = ends(payload, 0)
    result = run("shortlist", SCENARIO, *options)
    assert (result.exit_code, result.stdout, asked) == (2, "", {})
    assert said in result.stderr


def test_options_reach_the_search_and_the_named_vehicle_is_looked_at_alone(
    run: Run, project: Path, ends: Ends, payload: dict[str, Any]
) -> None:
    shutil.copy(ROOT / FAMILY, project / FAMILY)
    name = yaml.safe_load((project / FAMILY).read_text())["vehicles"][1]["name"]
    asked = ends(payload, 0)
    run("shortlist", FAMILY, "--vehicle", name, "-n", "7", "--within", "0.1", "--time-limit", "9", "-q")
    assert (asked["count"], asked["within"], asked["time_limit"], asked["progress"]) == (7, 0.1, 9.0, None)
    assert [vehicle.name for vehicle in asked["case"].scenario.vehicles] == [name]


def test_of_several_vehicles_one_must_be_named(run: Run, project: Path) -> None:
    shutil.copy(ROOT / FAMILY, project / FAMILY)
    result = run("shortlist", FAMILY)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "--vehicle" in result.stderr
