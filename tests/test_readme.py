"""The README's worked scenario, limits, commands and Start lines say what the program does."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from configopt.cli import main
from configopt.files.yaml_source import load_yaml
from configopt.scenario.limits import LIMITS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SCENARIO = ROOT / "scenarios" / "upland-wardens.yaml"
#: Standard gravity [m/s2], exact by definition.
G = 9.80665
#: A row of the worked scenario: figure, by hand, result, key in the JSON.
ROW = re.compile(r"^\| ([^|]+) \| ([^|]+) \| (-?[\d.]+)( [^|]+)? \| `([^`|]+)` \|$", re.MULTILINE)
WORKED = README[README.index("## A worked scenario") : README.index("## CHANGELOG")]
ROWS = ROW.findall(WORKED)


def blocks(language: str) -> list[str]:
    """Fenced blocks of a language, in file order."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def choice_text() -> str:
    """The choice file the README prints."""
    (text,) = [block for block in blocks("yaml") if block.startswith("vehicles:")]
    return text


@cache
def appraised() -> dict[str, Any]:
    """What ``configopt appraise --format json`` prints for the README's choice file."""
    with TemporaryDirectory() as folder:
        choice = Path(folder) / "today.yaml"
        choice.write_text(choice_text(), encoding="utf-8")
        run = CliRunner().invoke(main, ["appraise", str(SCENARIO), str(choice), "--format", "json"])
    assert run.exit_code == 0, run.stderr
    vehicle: dict[str, Any] = json.loads(run.stdout)["vehicles"][0]
    return vehicle


def at(key: str) -> float:
    """Value of a key such as ``packages[0].static_load_n``."""
    value: Any = appraised()
    for name, number in re.findall(r"([a-z_]+)(?:\[(\d+)\])?", key):
        value = value[name]
        if number:
            value = value[int(number)]
    return float(value)


def half_a_digit(printed: str) -> float:
    """Half a unit of the last printed digit."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


def by_hand(text: str) -> float:
    """Value of a hand calculation as printed: digits grouped by blanks, x for times, ^ for powers."""
    plain = re.sub(r"(?<=\d) (?=\d{3})", "", text).replace(" x ", " * ").replace("^", "**")
    assert re.fullmatch(r"[\d.\s()+*/-]+", plain), text
    return float(eval(plain))


def test_the_worked_scenario_has_its_rows() -> None:
    table = [line for line in WORKED.splitlines() if line.startswith("| ")]
    assert len(ROWS) == len(table) - 2
    assert len(ROWS) >= 12


@pytest.mark.parametrize("row", ROWS, ids=[row[0] for row in ROWS])
def test_a_printed_result_is_what_the_program_gives_to_the_printed_digit(row: tuple[str, ...]) -> None:
    _, _, printed, _, key = row
    assert at(key) == pytest.approx(float(printed), abs=1.0001 * half_a_digit(printed))


@pytest.mark.parametrize(
    "row", [row for row in ROWS if "output" not in row[1]], ids=[row[0] for row in ROWS if "output" not in row[1]]
)
def test_a_printed_hand_calculation_gives_the_printed_result(row: tuple[str, ...]) -> None:
    _, formula, printed, _, _ = row
    # The inputs of a hand calculation are rounded to four digits or more.
    tolerance = max(half_a_digit(printed), 2e-4 * float(printed))
    assert by_hand(formula) == pytest.approx(float(printed), abs=tolerance)


def test_the_hand_calculation_follows_from_scenario_and_catalogs() -> None:
    front_load = G * (172 * (0.610 - 0.4403 * 0.0075 / 1.290) / 1.290 + at("packages[0].mass_kg"))
    total = G * (172 + at("mass_kg") + 1.51)
    assert at("packages[0].static_load_n") == pytest.approx(front_load, rel=1e-5)
    assert at("packages[1].static_load_n") == pytest.approx(total - front_load, rel=1e-5)
    for number, (load, width, diameter) in enumerate([(front_load, 0.082, 0.697), (total - front_load, 0.103, 0.662)]):
        deflection = width * (0.03 + load / (78e3 * width * math.sqrt(width * diameter) * 2.4))
        assert at(f"packages[{number}].loaded_radius_mm") == pytest.approx(1e3 * (diameter / 2 - deflection), rel=1e-5)
        sinkage = (78e3 / (8e3 / width + 1.1e6)) ** (1 / 0.9)
        assert at(f"terrains[0].sinkage_{('front', 'rear')[number]}_mm") == pytest.approx(1e3 * sinkage, rel=1e-6)
    here = 0.0085 + (0.018 + 1.59e-6 * 32**2) / 1.5
    there = 0.0085 + (0.018 + 1.59e-6 * 30**2) / 2.25
    factor = here / there * (78 / 168) ** -0.5 * 1.25
    force = factor * (0.0196 * front_load + 0.0218 * (total - front_load)) * math.cos(math.atan(0.05))
    assert at("terrains[1].energy_by_cause_wh_per_km.rolling") == pytest.approx(force / 3.6, rel=1e-5)


def test_the_printed_choice_file_holds_todays_packages() -> None:
    scenario = load_yaml(SCENARIO).data
    (vehicle,) = yaml.safe_load(choice_text())["vehicles"]
    assert vehicle.pop("name") == scenario["vehicles"][0]["name"]
    assert vehicle == scenario["vehicles"][0]["baseline"]


def test_the_printed_catalog_entry_is_sound_and_equals_the_catalog_where_they_share_figures() -> None:
    (text,) = [block for block in blocks("yaml") if block.startswith("family: tires")]
    (printed,) = yaml.safe_load(text)["parts"]
    catalog = load_yaml(ROOT / "catalogs" / "tires.yaml").data
    (entry,) = [part for part in catalog["parts"] if part["id"] == printed["id"]]
    different = {key for key in printed if printed[key] != entry.get(key)}
    assert different <= {"prices", "figure_sources"}
    assert all(tier in entry["prices"] for tier in printed["prices"])


def test_every_limit_stands_in_the_table_with_its_default() -> None:
    rows = dict(re.findall(r"^\| `([a-z_]+)` \| (at_[^|]+\|[^|]*)\|", README, re.MULTILINE))
    assert set(rows) == set(LIMITS)
    for key, limit in LIMITS.items():
        bound, default = (cell.strip() for cell in rows[key].split("|"))
        assert bound.startswith(limit.bound), key
        if limit.default is not None:
            assert default == f"{limit.default:g}", key


def test_every_command_stands_in_the_table() -> None:
    named = set(re.findall(r"^\| `configopt (\w+)", README, re.MULTILINE))
    assert named == set(main.commands)


def test_every_exit_code_of_the_help_stands_in_the_table() -> None:
    text = CliRunner().invoke(main, ["--help"]).stdout
    codes = re.findall(r"^    (\d)  ", text, re.MULTILINE)
    table = README[README.index("| exit code |") :]
    assert re.findall(r"^\| (\d) \|", table, re.MULTILINE) == codes
    assert len(codes) == 6


def test_the_file_begins_with_two_start_lines_of_one_line_each() -> None:
    shell = blocks("sh")
    assert len(shell) == 2
    assert all(block.count("\n") == 1 for block in shell)
    assert "configopt choose scenarios/upland-wardens.yaml" in shell[0]
    assert "'.[all,test]'" in shell[1]
    assert "pytest -n 2" in shell[1]
    assert README.index("```") == README.index("```sh")


def test_the_first_paragraph_comes_before_any_heading_but_the_title() -> None:
    first = README.split("\n\n")
    assert first[0] == "# configopt"
    assert first[1].startswith("configopt chooses")
    assert first[2] == "## Start"
