"""Ride verdicts from the command line, and beside the short list, the reasons and the sheet."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import Result

from configopt.cli.layout import Page
from configopt.cli.text_trials import write_ride_verdicts, write_trials
from configopt.learning.ride_beside import Calculated, beside, in_explanation
from configopt.learning.ride_verdicts import trials_report
from configopt.learning.ride_words import preference_words, said
from configopt.learning.verdicts import load_verdicts
from configopt.scenario.case import load
from configopt.schemas import schema
from configopt.sheet.contents_riders import riders_said
from configopt.sheet.given import Given

Run = Callable[..., Result]
ROOT = Path(__file__).parents[2]
TABLE = "scenarios/trials/upland-rides.csv"
SCENARIO = "scenarios/upland-wardens.yaml"
HEADER = "when,who,tire,pressure (kPa),for,verdict,than,than pressure (kPa),dropped,why"


def rows(first: str, second: str, better: int, worse: int, purpose: str = "") -> list[str]:
    """Verdicts of as many riders on one day."""
    return [
        f"2026-03-31,rider {n},{first},60,{purpose},{'better' if n < better else 'worse'},{second},80,,"
        for n in range(better + worse)
    ]


def report(folder: Path, *lines: str, **how: Any) -> dict[str, Any]:
    path = folder / "rides.csv"
    path.write_text("\n".join([HEADER, *lines]) + "\n")
    made = trials_report(load_verdicts(path), **how)
    jsonschema.validate(made, schema("trials"))
    return made


def beside_of(folder: Path, lines: list[str], *listed: Calculated) -> dict[str, Any]:
    path = folder / "rides.csv"
    path.write_text("\n".join([HEADER, *lines]) + "\n")
    made = beside(load_verdicts(path), listed)
    jsonschema.validate(made, {"$defs": schema("trials")["$defs"], "$ref": "#/$defs/ride_verdicts"})
    return made


def test_the_shipped_table_is_ranked_with_what_was_dropped_and_what_to_compare_next(run: Run, project: Path) -> None:
    result = run("trials", TABLE)
    assert result.exit_code == 0
    text = " ".join(result.stdout.split())
    for words in (
        "For all purposes together: 25 verdicts of 4 riders, 3 alike",
        "group 1 of 2, never compared with the others",
        "For wet roots",
        "riders probably prefer sirrane-80-100-21 to plover-fell-80-100-21",
        "Comparing these next would teach most",
        "scree-100-100-18 at 90 kPa, 2025-08-21 by warden B, long fell loop, mixed, 14 °C: four flints",
        "25 verdicts count as 24",
        "without the verdicts of warden D, scree-100-100-18 would come before sirrane-100-100-18",
        '"tern-80-100-21" is not in the catalogs',
        "they change nothing in the choice",
    ):
        assert words in text
    assert all(len(line) <= 80 for line in result.stdout.splitlines())


@pytest.mark.parametrize("options", [[], ["--by-pressure"], ["--for", "peat"]])
def test_the_json_keeps_to_its_schema(run: Run, project: Path, options: list[str]) -> None:
    payload = json.loads(run("trials", TABLE, "--format", "json", *options).stdout)
    jsonschema.validate(payload, schema("trials"))
    assert payload["rides"] == 27
    every = [item for one in payload["rankings"] for group in one["groups"] for item in group["items"]]
    assert all(
        item["chance_over_middle_low"] <= item["chance_over_middle"] <= item["chance_over_middle_high"]
        for item in every
    )
    assert all(item["better"] + item["alike"] + item["worse"] == item["verdicts"] for item in every)
    for one in payload["rankings"]:
        for group in one["groups"]:
            strengths = [item["strength"] for item in group["items"]]
            assert strengths == sorted(strengths, reverse=True)
            assert sum(item["chance_best"] for item in group["items"]) == pytest.approx(1.0)


def test_without_catalogs_ids_are_not_looked_up(run: Run, project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(project / "scenarios")
    payload = json.loads(run("trials", "trials/upland-rides.csv", "--format", "json").stdout)
    assert payload["notes"] == []
    noted = run("trials", "trials/upland-rides.csv", "--format", "json", "--catalogs", "../catalogs").stdout
    assert len(json.loads(noted)["notes"]) == 1


def test_a_word_picks_what_was_judged_for_it(run: Run, project: Path) -> None:
    for word, found in (("peat", ["peat"]), ("Rock", ["rock steps"]), ("ro", ["rock steps", "wet roots"])):
        payload = json.loads(run("trials", TABLE, "--for", word, "--format", "json").stdout)
        assert [one["for"] for one in payload["rankings"]] == found
    result = run("trials", TABLE, "--for", "sand")
    assert result.exit_code == 2
    assert 'nothing was compared for "sand"; there are: gravel, peat, rock steps, wet roots' in result.stderr


def test_a_wrong_table_is_told_with_every_mistake_and_exit_code_1(run: Run, project: Path) -> None:
    path = project / "rides.csv"
    path.write_text(f"{HEADER}\n2026-3-31,A,a-1,60,,better,b-2,80,,\n2026-03-31,A,a-1,60,,best,b-2,80,,\n")
    result = run("trials", "rides.csv")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert 'rides.csv:2:1: VERDICT error: "2026-3-31" is no day' in result.stderr
    assert 'rides.csv:3:22: VERDICT error: found "best" in verdict' in result.stderr
    assert "2 findings: correct the file and run again" in result.stderr


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["missing.csv"], 2, "does not exist"),
        (["catalogs"], 2, "is a directory"),
        (["catalogs/tires.yaml"], 1, "SHEET-SYNTAX error"),
        ([TABLE, "--catalogs", "nowhere"], 2, "does not exist"),
        ([TABLE, "-o", TABLE], 2, "would overwrite an input"),
    ],
)
def test_wrong_usage_says_what_is_wrong(run: Run, project: Path, arguments: list[str], code: int, words: str) -> None:
    result = run("trials", *arguments)
    assert (result.exit_code, result.stdout) == (code, "")
    assert words in result.stderr
    assert "Traceback" not in result.stderr


def test_the_result_goes_to_a_file_whole(run: Run, project: Path) -> None:
    result = run("trials", TABLE, "-o", "said.txt")
    assert (result.exit_code, result.stdout) == (0, "")
    assert (project / "said.txt").read_text().startswith(f"{TABLE}: what riders said\n")


def test_a_reader_who_goes_away_is_no_error(project: Path) -> None:
    command = [sys.executable, "-c", "from configopt.cli import main; main()", "trials", TABLE]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=project) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


@pytest.mark.parametrize("width", [40, 80, 100])
def test_the_text_fits_its_page(project: Path, width: int) -> None:
    page = Page(width)
    write_trials(page, trials_report(load_verdicts(TABLE)))
    assert max(len(line) for line in page.lines) <= width


def test_an_empty_table_and_one_without_comparisons_say_so(tmp_path: Path) -> None:
    for lines, words in (([], "the table holds no ride yet"), (["2026-03-31,A,a-1,60,,,,,,"], "nothing was compared")):
        page = Page(80)
        made = report(tmp_path, *lines)
        write_trials(page, made)
        assert made["rankings"] == []
        assert words in str(page)


def test_a_table_for_one_purpose_is_ranked_once(tmp_path: Path) -> None:
    made = report(tmp_path, *rows("a-1", "b-2", 2, 1, "peat"))
    assert [one["for"] for one in made["rankings"]] == ["peat"]
    made = report(tmp_path, *rows("a-1", "b-2", 2, 1, "peat"), *rows("a-1", "b-2", 1, 0))
    assert [one["for"] for one in made["rankings"]] == [None, "peat"]


def test_what_one_rider_says_of_two_purposes_on_one_day_counts_once_over_all(tmp_path: Path) -> None:
    made = report(tmp_path, *rows("a-1", "b-2", 1, 0, "peat"), *rows("a-1", "b-2", 0, 1, "sand"))
    assert [(one["for"], one["verdicts"], one["counted"]) for one in made["rankings"]] == [
        (None, 2, 1.0),
        ("peat", 1, 1.0),
        ("sand", 1, 1.0),
    ]
    (group,) = made["rankings"][0]["groups"]
    assert group["pairs"][0]["chance_preferred"] == pytest.approx(0.5)


def test_pressures_are_told_apart_in_steps_where_that_is_asked(tmp_path: Path) -> None:
    lines = [
        "2026-03-31,A,a-1,61,,better,a-1,80,,",
        "2026-03-31,B,a-1,59,,better,b-2,,,",
    ]
    plain = report(tmp_path, *lines)
    assert [item["name"] for item in plain["rankings"][0]["groups"][0]["items"]] == ["a-1", "b-2"]
    assert plain["remarks"] == [
        "rows that compare one tire with itself at two pressures, ranked by --by-pressure only: 1"
    ]
    (ranking,) = report(tmp_path, *lines, by_pressure=True)["rankings"]
    items = [(item["name"], item["tire"], item["pressure_kpa"]) for item in ranking["groups"][0]["items"]]
    assert items[0] == ("a-1 at 60 kPa", "a-1", 60.0)
    assert set(items[1:]) == {("a-1 at 80 kPa", "a-1", 80.0), ("b-2, pressure not stated", "b-2", None)}


def test_what_was_given_up_or_is_not_on_offer_is_not_to_be_compared_again(tmp_path: Path) -> None:
    lines = [*rows("a-1", "b-2", 1, 0), *rows("b-2", "c-3", 1, 0), "2026-04-01,A,c-3,60,,,,,yes,holed"]
    (ranking,) = report(tmp_path, *lines)["rankings"]
    assert [(row["first"], row["second"]) for row in ranking["teaches_most"]] == [("a-1", "b-2")]
    assert [row["why"] for row in report(tmp_path, *lines)["dropped"]] == ["holed"]


@pytest.mark.parametrize(
    ("better", "worse", "aims", "agree"),
    [(9, 0, (30.0, 31.0), "same"), (0, 9, (30.0, 31.0), "opposite"), (9, 0, (31.0, 30.0), "opposite"),
     (5, 4, (30.0, 31.0), "open"), (9, 0, (30.0, 30.0), "open"), (9, 0, (30.0, None), None)],
)  # fmt: skip
def test_riders_and_the_aim_are_set_beside_each_other(
    tmp_path: Path, better: int, worse: int, aims: tuple[float, float | None], agree: str | None
) -> None:
    told = beside_of(
        tmp_path,
        rows("a-1", "b-2", better, worse),
        Calculated("front", "a-1", 60.0, aims[0], 10.0, 30.0, "candidate 1"),
        Calculated("front", "b-2", 80.0, aims[1], 10.4, 29.5, "candidate 2"),
    )
    (pair,) = told["pairs"]
    assert pair["agree"] == agree
    assert pair["mass_change_kg"] == pytest.approx(0.4)
    assert pair["rolling_loss_change_wh_per_km"] == pytest.approx(-0.5)
    text = " ".join(said(told))
    words = {
        "same": "riders and calculation point the same way",
        "opposite": "riders and calculation point opposite ways",
        "open": "riders have not decided between them",
        None: "riders clearly prefer a-1 to b-2",
    }
    assert words[agree] in text
    assert "change nothing in the choice" in text


def test_the_chosen_tire_is_set_against_the_others_of_its_end_whichever_comes_last(tmp_path: Path) -> None:
    told = beside_of(
        tmp_path,
        rows("a-1", "b-2", 3, 0),
        Calculated("front", "a-1", 60.0, 30.0),
        Calculated("rear", "a-1", 70.0, 30.0),
        Calculated("front", "b-2", 80.0, 31.0),
        Calculated("rear", "a-1", 75.0, 31.0),
        Calculated("front", "a-1", 65.0, 32.0),
        Calculated("rear", "c-3", 65.0, 32.0),
    )
    assert [(row["position"], row["tire"], row["pressure_kpa"]) for row in told["tires"]] == [
        ("front", "a-1", 60.0),
        ("rear", "a-1", 70.0),
        ("front", "b-2", 80.0),
        ("rear", "c-3", 65.0),
    ]
    assert [(row["position"], row["first"], row["second"]) for row in told["pairs"]] == [
        ("front", "a-1", "b-2"),
        ("rear", "a-1", "c-3"),
    ]
    lines = said(told)
    assert lines[1].startswith("front and rear a-1: 3 verdicts of 3 riders; place 1 of 2")
    assert "Never compared with what is chosen there, not even through others: rear c-3." in lines


def test_a_pressure_that_nobody_rode_is_told(tmp_path: Path) -> None:
    lines = said(beside_of(tmp_path, rows("a-1", "b-2", 3, 0), Calculated("front", "a-1", 120.0, 30.0)))
    assert "front a-1: ridden at 60 kPa, calculated at 120 kPa; what riders said may not hold there." in lines
    near = said(beside_of(tmp_path, rows("a-1", "b-2", 3, 0), Calculated("front", "a-1", 65.0, 30.0)))
    assert not any("ridden at" in line for line in near)


def test_a_dropped_tire_is_told_with_its_reason_and_others_are_not(tmp_path: Path) -> None:
    lines = ["2026-04-01,A,a-1,60,,,,,yes,holed", "2026-04-01,A,x-9,60,,,,,yes,slow"]
    told = said(beside_of(tmp_path, lines, Calculated("front", "a-1", 60.0)))
    assert "front a-1: nobody has compared it yet." in told
    assert "Dropped: a-1 at 60 kPa, 2026-04-01 by A: holed." in told
    assert "x-9" not in " ".join(told)


def test_a_preference_is_told_from_the_side_that_is_preferred() -> None:
    found = {"chance_preferred": 0.1, "chance_preferred_low": 0.05, "chance_preferred_high": 0.2, "chance_ahead": 0.01}
    assert preference_words("a", "b", found) == (
        "riders clearly prefer b to a: 90 % (90 % interval: 80 % to 95 %) of decided verdicts"
    )


def test_an_explanation_gives_the_choices_that_differ_in_one_tire() -> None:
    figures = {"mass_kg": 11.0, "rolling_loss_wh_per_km": 30.0}

    def other(aim: float, *parts: tuple[str, str, Any]) -> dict[str, Any]:
        listed = [{"position": position, "part": part, "second": second} for position, part, second in parts]
        return {"aim": aim, "figures": figures, "parts": listed}

    packages = {end: {"tire": f"{end}-tire", "pressure_kpa": 60.0} for end in ("front", "rear")}
    payload = {
        "choice": {"aim": 30.0, "figures": figures, "choice": packages},
        "runners_up": [{"best": [other(31.0, ("front", "tire", "b"), ("front", "pressure_kpa", 90.0))]}],
        "losing": [
            {"instead": None},
            {"instead": other(32.0, ("rear", "hub", "h"))},
            {"instead": other(33.0, ("front", "tire", "c"), ("rear", "tire", "c"))},
        ],
        "part": {
            "family": "tires",
            "part": "d",
            "best_with_it": other(34.0, ("rear", "tire", "d")),
            "places": [{"position": "front", "reason": "too wide"}, {"position": "rear", "reason": None}],
        },
    }
    found = [(one.position, one.tire, one.pressure_kpa, one.aim) for one in in_explanation(payload)]
    assert found == [
        ("front", "front-tire", 60.0, 30.0),
        ("rear", "rear-tire", 60.0, 30.0),
        ("front", "b", 90.0, 31.0),
        ("rear", "d", 60.0, 34.0),
        ("rear", "d", None, None),
    ]
    assert in_explanation({**payload, "choice": None}) == []


def test_the_short_list_tells_what_riders_said_and_picks_the_same_without(run: Run, small: Path) -> None:
    told = json.loads(run("shortlist", SCENARIO, "-q", "-n", "2", "--within", "0.5", "--format", "json").stdout)
    jsonschema.validate(told, schema("shortlist"))
    assert told["ride_verdicts"]["rides"] == 27
    page = Page(80)
    write_ride_verdicts(page, told["ride_verdicts"])
    assert "What riders said" in str(page)
    scenario = small / SCENARIO
    scenario.write_text(scenario.read_text().replace("trials: trials/upland-rides.csv\n", ""))
    plain = json.loads(run("shortlist", SCENARIO, "-q", "-n", "2", "--within", "0.5", "--format", "json").stdout)
    assert "ride_verdicts" not in plain
    assert plain["candidates"] == told["candidates"]


@pytest.mark.parametrize("command", ["shortlist", "explain", "sheet"])
def test_a_table_that_is_wrong_is_told_before_any_search(run: Run, project: Path, command: str) -> None:
    path = project / TABLE
    path.write_text(path.read_text().replace("2023-05-12", "2023-05-42"))
    result = run(command, SCENARIO)
    assert result.exit_code == 1
    assert 'upland-rides.csv:6:1: VERDICT error: "2023-05-42" is no day' in result.stderr
    assert "looking for" not in result.stderr
    path.unlink()
    assert "upland-rides.csv:0:0: FILE error: the file cannot be read" in run(command, SCENARIO).stderr


def test_the_check_tells_a_missing_and_a_wrong_table_where_the_scenario_names_it(run: Run, project: Path) -> None:
    assert run("check", SCENARIO).exit_code == 0
    line = (project / SCENARIO).read_text().splitlines().index("trials: trials/upland-rides.csv") + 1
    path = project / TABLE
    path.write_text(path.read_text().replace("2023-05-12", "2023-05-42").replace("2025-03-26", "2025-3-26"))
    result = run("check", SCENARIO)
    assert result.exit_code == 1
    assert f'{SCENARIO}:{line}:9: VALUE error: "trials/upland-rides.csv", line 6' in result.stdout
    assert "and 2 more" in result.stdout
    path.unlink()
    assert 'there is no table of ride verdicts "trials/upland-rides.csv"' in run("check", SCENARIO).stdout
    outside = (project / SCENARIO).read_text().replace("trials/upland-rides.csv", "../../elsewhere.csv")
    (project / SCENARIO).write_text(outside)
    assert "PATH error" in run("check", SCENARIO).stdout


def test_the_sheet_says_nothing_of_riders_where_the_scenario_names_no_table() -> None:
    case = load(ROOT / "scenarios" / "coastal-survey.yaml")
    assert riders_said(Given(case, (), None, searched=False)) == ()  # type: ignore[arg-type]
