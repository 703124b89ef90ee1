"""Choose, appraise and compare from the command line: the real engine on a small catalog, and every way to end."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import Result

from configopt.cli.layout import Page
from configopt.cli.text_choice import write_choice
from configopt.schemas import schema

Run = Callable[..., Result]
SCENARIO = "scenarios/upland-wardens.yaml"
#: Families whose parts beside today's are thinned out, so that a whole search takes a moment.
KEEP = {
    "tires": 3,
    "rims": 4,
    "spokes": 2,
    "hubs": 2,
    "rotors": 1,
    "calipers": 1,
    "pads": 1,
    "inners": 4,
    "rim-locks": 1,
}


def todays_parts(scenario: Path) -> set[str]:
    baseline = yaml.safe_load(scenario.read_text())["vehicles"][0]["baseline"]
    return {str(value) for position in ("front", "rear") for value in baseline[position].values()}


def thin(catalog: Path, wanted: set[str], *, keep: dict[str, int]) -> None:
    """Cut a catalog down by its text: today's parts and the first few others of each family stay."""
    for family, count in keep.items():
        path = catalog / f"{family}.yaml"
        head, *entries = path.read_text().split("\n  - id: ")
        today = [entry for entry in entries if entry.split("\n", 1)[0] in wanted]
        others = [entry for entry in entries if entry not in today]
        path.write_text("\n  - id: ".join([head, *today, *others[:count]]).rstrip() + "\n")


@pytest.fixture
def small(project: Path) -> Path:
    """A project folder with a small catalog that still holds all of today's parts."""
    thin(project / "catalogs", todays_parts(project / SCENARIO), keep=KEEP)
    scenario = project / SCENARIO
    scenario.write_text(scenario.read_text().replace("at_least: 44 km", "at_least: 41 km"))
    return project


@pytest.fixture
def ends(monkeypatch: pytest.MonkeyPatch) -> Callable[[dict[str, Any], int], dict[str, Any]]:
    """Put an answer in the engine's place; gives the options with which it was asked."""

    def put(payload: dict[str, Any], code: int) -> dict[str, Any]:
        asked: dict[str, Any] = {}

        def answer(case: Any, **options: Any) -> Any:
            asked.update(options)
            if options["progress"] is not None:
                options["progress"]("round 1")
            return SimpleNamespace(status=payload["status"], exit_code=code, to_json=lambda: payload)

        monkeypatch.setattr("configopt.choice.result.choose", answer)
        return asked

    return put


Ends = Callable[[dict[str, Any], int], dict[str, Any]]


@pytest.mark.parametrize(("status", "code"), [("optimal", 0), ("infeasible", 3), ("unknown", 4)])
def test_the_exit_code_is_the_answer_s_and_json_is_printed_all_the_same(
    run: Run, project: Path, ends: Ends, choice: dict[str, Any], refusal: dict[str, Any], status: str, code: int
) -> None:
    payload = {**(choice if status == "optimal" else refusal), "status": status}
    ends(payload, code)
    result = run("choose", SCENARIO, "--format", "json")
    assert result.exit_code == code
    assert json.loads(result.stdout) == payload
    assert run("choose", SCENARIO).stdout.startswith("upland-wardens: ")


def test_an_answer_that_ctrl_c_cut_short_is_printed_and_ends_with_4(
    run: Run, project: Path, ends: Ends, choice: dict[str, Any]
) -> None:
    choice["status"], choice["aim"]["gap"] = "feasible", 0.013
    ends(choice, 4)
    result = run("choose", SCENARIO)
    assert result.exit_code == 4
    assert result.stdout.startswith("upland-wardens: proven to within 1.3 %")


def test_progress_goes_to_standard_error_unless_quiet(
    run: Run, project: Path, ends: Ends, choice: dict[str, Any]
) -> None:
    asked = ends(choice, 0)
    loud = run("choose", SCENARIO, "--time-limit", "7.5", "--gap", "0.01", "--threads", "2")
    assert loud.stderr == "round 1\n"
    assert {key: asked[key] for key in ("time_limit", "gap", "threads")} == {
        "time_limit": 7.5,
        "gap": 0.01,
        "threads": 2,
    }
    quiet = run("choose", SCENARIO, "--quiet")
    assert quiet.stderr == ""
    assert asked["progress"] is None
    assert quiet.stdout == loud.stdout


def test_a_wrong_scenario_ends_with_1_before_any_search(
    run: Run, project: Path, ends: Ends, choice: dict[str, Any]
) -> None:
    asked = ends(choice, 0)
    path = project / SCENARIO
    path.write_text(path.read_text().replace("wheelbase:", "wheel_base:"))
    result = run("choose", SCENARIO, "--format", "json")
    assert (result.exit_code, result.stdout, asked) == (1, "", {})
    assert f"{SCENARIO}:" in result.stderr
    assert 'did you mean "wheelbase"?' in result.stderr


def program(folder: Path, *arguments: str, **options: Any) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", "from configopt.cli import main; main(prog_name='configopt')", *arguments],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **options,
    )


def test_the_real_answer_in_a_process_of_its_own_is_clean_json_and_can_be_appraised_and_compared(
    run: Run, small: Path
) -> None:
    done = program(small, "choose", SCENARIO, "--format", "json", stdin=subprocess.DEVNULL)
    stdout, _ = done.communicate(timeout=120)
    payload = json.loads(stdout)
    jsonschema.validate(payload, schema("choice"))
    assert done.returncode == 0
    assert payload["status"] == "optimal"
    (small / "choice.json").write_text(stdout)
    vehicle = payload["vehicles"][0]
    assert sum(vehicle["energy_by_cause_wh_per_km"].values()) == pytest.approx(vehicle["energy_wh_per_km"], rel=1e-9)
    assert all(margin["met"] for margin in vehicle["margins"])

    appraised = run("appraise", SCENARIO, "choice.json", "--format", "json")
    again = json.loads(appraised.stdout)
    jsonschema.validate(again, schema("appraisal"))
    assert (appraised.exit_code, appraised.stderr) == (0, "")
    for key in ("mass_kg", "rolling_loss_wh_per_km", "energy_wh_per_km", "range_km", "cost"):
        assert again["vehicles"][0][key] == pytest.approx(vehicle[key], rel=1e-9)

    (small / "today.yaml").write_text(today_yaml(small / SCENARIO))
    compared = run("compare", SCENARIO, "today.yaml", "choice.json", "--format", "json")
    difference = json.loads(compared.stdout)
    jsonschema.validate(difference, schema("comparison"))
    row = difference["vehicles"][0]
    for key, figure in row["figures"].items():
        assert figure["second"] == pytest.approx(vehicle[key], rel=1e-9)
        assert sum(step[key] for step in row["steps"]) == pytest.approx(figure["change"], abs=1e-9)
        assert vehicle["against_baseline"][key] == pytest.approx(figure["change"], abs=1e-6)
    assert sum(row["energy_by_cause_wh_per_km"].values()) == pytest.approx(
        row["figures"]["energy_wh_per_km"]["change"], abs=1e-9
    )

    for arguments in (
        ("appraise", SCENARIO, "choice.json"),
        ("appraise", SCENARIO, "today.yaml", "--detail"),
        ("compare", SCENARIO, "today.yaml", "choice.json"),
    ):
        result = run(*arguments)
        assert (result.exit_code, result.stderr) == (0, "")
        assert max(map(len, result.stdout.splitlines())) <= 80
        # Symbols of formulas have subscripts; words of the rest have none.
        assert "_" not in result.stdout.partition("How it comes about")[0]
        assert "None" not in result.stdout
    page = Page(80)
    write_choice(page, payload)
    assert len(page.lines) <= 60
    assert max(map(len, page.lines)) <= 80


def today_yaml(scenario: Path) -> str:
    """The baseline of a scenario as a choice file."""
    vehicle = yaml.safe_load(scenario.read_text())["vehicles"][0]
    return yaml.safe_dump({"vehicles": [{"name": vehicle["name"], **vehicle["baseline"]}]}, sort_keys=False)


def test_a_choice_made_for_another_scenario_is_warned_of(run: Run, small: Path) -> None:
    (small / "today.yaml").write_text("scenario: coast\n" + today_yaml(small / SCENARIO))
    result = run("appraise", SCENARIO, "today.yaml")
    assert result.exit_code == 0
    assert "warning: today.yaml was made for scenario coast, this one is upland-wardens" in result.stderr


def test_a_choice_that_does_not_fit_is_appraised_and_says_so(run: Run, small: Path) -> None:
    text = today_yaml(small / SCENARIO)
    front = yaml.safe_load(text)["vehicles"][0]["front"]["pressure"]
    (small / "soft.yaml").write_text(text.replace(f"pressure: {front}", "pressure: 5 kPa", 1))
    result = run("appraise", SCENARIO, "soft.yaml")
    assert result.exit_code == 0
    assert "the choice does not fit" in result.stdout.splitlines()[0]
    assert "pressure 5 kPa outside" in result.stdout


def test_a_part_that_is_not_there_ends_with_1_and_its_line(run: Run, small: Path) -> None:
    text = today_yaml(small / SCENARIO)
    tire = yaml.safe_load(text)["vehicles"][0]["front"]["tire"]
    (small / "gone.yaml").write_text(text.replace(tire, "gone-tire"))
    result = run("appraise", SCENARIO, "gone.yaml")
    assert (result.exit_code, result.stdout) == (1, "")
    assert 'REFERENCE error: there is no "gone-tire" in tires' in result.stderr
    assert result.stderr.startswith("gone.yaml:5:")


def test_a_choice_compared_with_itself_differs_in_nothing(run: Run, small: Path) -> None:
    (small / "today.yaml").write_text(today_yaml(small / SCENARIO))
    result = run("compare", SCENARIO, "today.yaml", "today.yaml")
    assert "both choices are the same" in result.stdout


def test_limits_that_nothing_meets_end_with_3_and_what_came_closest(run: Run, small: Path) -> None:
    path = small / SCENARIO
    text = path.read_text()
    head, _, tail = text.partition("      - limit: cost\n")
    path.write_text(head + "      - limit: cost\n" + tail.replace(tail.split("\n")[0], "        at_most: 5", 1))
    result = run("choose", SCENARIO, "--format", "json")
    payload = json.loads(result.stdout)
    jsonschema.validate(payload, schema("choice"))
    assert (result.exit_code, payload["status"], payload["vehicles"], payload["aim"]) == (3, "infeasible", [], None)
    page = Page(80)
    write_choice(page, payload)
    assert str(page).startswith("upland-wardens: proven: nothing in these catalogs meets every limit")
    assert all(row["text"].split()[0] in str(page) for row in payload["closest"])
    assert payload["closest"]


def test_ctrl_c_during_the_search_ends_with_4_and_still_prints_json(project: Path) -> None:
    running = program(project, "choose", SCENARIO, "--format", "json")
    assert running.stderr is not None
    assert running.stderr.readline() != ""  # the search has begun
    time.sleep(0.2)
    os.kill(running.pid, signal.SIGINT)
    stdout, stderr = running.communicate(timeout=120)
    assert "Traceback" not in stderr
    payload = json.loads(stdout)
    jsonschema.validate(payload, schema("choice"))
    # A quick machine may have been done before the signal came.
    assert (running.returncode, payload["status"]) in [(4, "feasible"), (4, "unknown"), (0, "optimal")]
