"""Check: every mistake with its place, all at once, and the right exit code."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import jsonschema
import pytest
from click.testing import Result

from configopt.guard.rules import RULES
from configopt.schemas import schema

ROOT = Path(__file__).parents[2]
BAD = sorted((ROOT / "tests" / "fixtures" / "scenarios" / "bad").glob("*.yaml"))
Run = Callable[..., Result]


def edit(path: Path, old: str, new: str, *, count: int = 1) -> int:
    """Replace a text in a file; the line on which it starts."""
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, count))
    return text[: text.index(old)].count("\n") + 1


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_each_mistake_of_a_scenario_is_found_at_its_place_with_its_fix(
    run: Run, monkeypatch: pytest.MonkeyPatch, path: Path
) -> None:
    monkeypatch.chdir(ROOT)
    head = [line.partition(":")[2].strip() for line in path.read_text().splitlines()[:3]]
    result = run("check", path)
    assert result.exit_code == 1
    finding, summary = result.stdout.splitlines()
    assert finding.startswith(f"{path.relative_to(ROOT)}:{head[0]}: {head[1]}")
    assert head[2] in finding
    assert summary.endswith("checked: 1 error, 0 warnings")


def test_the_smallest_scenario_is_sound(run: Run) -> None:
    result = run("check", ROOT / "tests" / "fixtures" / "scenarios" / "good" / "smallest.yaml")
    assert (result.exit_code, result.stdout) == (0, "13 files checked: sound\n")


def test_without_paths_the_catalogs_and_scenarios_here_are_checked(run: Run, project: Path) -> None:
    (project / "scenarios" / "notes.txt").write_text("no scenario\n")
    result = run("check")
    assert (result.exit_code, result.stdout) == (0, "14 files checked: sound\n")


def test_nothing_to_check_is_wrong_usage(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("check").exit_code == 2
    (tmp_path / "empty").mkdir()
    result = run("check", "empty")
    assert result.exit_code == 2
    assert "there is nothing to check in empty" in result.stderr


CATALOG_MISTAKES = [
    ("tires", "size: 70/100-19", "size: 70/100/19", "VALUE error: ", 11),
    ("tires", "mass: 2.58 kg +- 0.05 kg", "mass: -2.58 kg", 'RANGE error: found "-2.58 kg", allowed is above 0 g', 11),
    ("tires", "source: tarnfell-sheet", "source: tarnfell", 'REFERENCE error: there is no source "tarnfell"', 13),
    ("tires", "tread: open", "tread: opem", 'CHOICE error: found "opem", allowed: open, medium, closed', 12),
    ("tires", "lug_depth: 12.5 mm", "lug_depth: 12.5", "QUANTITY error: 12.5 has no unit, expected a length", 16),
    ("rims", "holes: 36", "holes: 36.5", "TYPE error: expected a whole number", 12),
    ("rims", "family: rims", "family: tires", 'FAMILY error: found "tires", this file is for "rims" (write rims)', 9),
    ("pads", "currency: EUR", "currency: USD", "CURRENCY error: found USD, tires.yaml has EUR", 11),
    ("surfaces", "wong_1993", "wong_1066", 'REFERENCE error: there is no "wong_1066" in the bibliography', 9),
    (
        "tires",
        "unit_price: 47.85",
        "unit_price: 60.00",
        "VALUE error: unit prices must not rise with quantity: 60.00 from 20 pieces, 52.00 from 1",
        21,
    ),
    (
        "tires",
        "quantity: 20",
        "quantity: 1",
        "VALUE error: price tiers must rise in quantity: found 1 after 1",
        19,
    ),
    (
        "tires",
        "pressure_min: 60 kPa",
        "pressure_min: 280 kPa",
        "VALUE error: pressure_min is above pressure_max: 280 kPa, 260 kPa",
        19,
    ),
    (
        "tires",
        "rim_width_min: 35 mm",
        "rim_width_min: 50 mm",
        "VALUE error: rim_width_min is above rim_width_max: 50 mm, 48 mm",
        20,
    ),
    (
        "rotors",
        "wear_limit: 1.5 mm",
        "wear_limit: 1.9 mm",
        "VALUE error: wear_limit must be below thickness: 1.9 mm, 1.8 mm",
        17,
    ),
    (
        "rotors",
        "track_height: 15 mm",
        "track_height: 95 mm",
        "VALUE error: track_height is not below the rotor's radius: 95 mm, 90 mm",
        19,
    ),
    ("hubs", "holes: 32", "holes: 33", "VALUE error: holes must be even, half on each flange: 33", 12),
]


@pytest.mark.parametrize(("family", "old", "new", "words", "column"), CATALOG_MISTAKES)
def test_each_mistake_of_a_catalog_is_found_at_its_place(
    run: Run, project: Path, family: str, old: str, new: str, words: str, column: int
) -> None:
    line = edit(project / "catalogs" / f"{family}.yaml", old, new)
    result = run("check", "catalogs")
    assert result.exit_code == 1
    findings = result.stdout.splitlines()[:-1]
    assert len(findings) == 1
    assert findings[0].startswith(f"catalogs/{family}.yaml:{line}:{column}: {words}")


def test_a_surface_that_is_total_and_built_up_is_refused(run: Run, project: Path) -> None:
    path = project / "catalogs" / "surfaces.yaml"
    line = edit(path, "    texture_factor: 1.00\n", "    texture_factor: 1.00\n    total_coefficient: 0.02\n") - 3
    result = run("check", path)
    assert result.stdout.splitlines()[:-1] == [
        f"catalogs/surfaces.yaml:{line}:5: VALUE error: state either total_coefficient or texture_factor, not both and "
        "not neither"
    ]


def test_an_empty_family_is_refused(run: Run, project: Path) -> None:
    (project / "catalogs" / "pads.yaml").write_text("family: pads\ncurrency: EUR\nparts: []\n")
    result = run("check")
    assert "catalogs/pads.yaml:3:8: EMPTY-FAMILY error: the family has no parts (add at least one)" in result.stdout
    assert result.exit_code == 1


def test_a_part_that_stands_twice_names_the_first(run: Run, project: Path) -> None:
    path = project / "catalogs" / "pads.yaml"
    ids = [line for line in path.read_text().splitlines() if line.startswith("  - id: ")]
    first = path.read_text().splitlines().index(ids[0]) + 1
    line = edit(path, ids[1], ids[0])
    name = ids[0].split()[-1]
    assert run("check", path).stdout.splitlines()[0] == (
        f'catalogs/pads.yaml:{line}:9: DUPLICATE-ID error: the id "{name}" stands already at line {first} '
        "(give every part an id of its own)"
    )


def test_a_missing_family_file_is_found(run: Run, project: Path) -> None:
    (project / "catalogs" / "pads.yaml").unlink()
    assert "catalogs/pads.yaml:0:0: YAML-FILE error: there is no such file" in run("check").stdout


def test_all_mistakes_of_all_files_are_found_at_once_in_file_order(run: Run, project: Path) -> None:
    edit(project / "catalogs" / "rims.yaml", "material: aluminium", "material: alumnium")
    edit(project / "catalogs" / "tires.yaml", "tread: open", "tread: opem")
    edit(project / "catalogs" / "tires.yaml", "lug_depth: 12.5 mm", "lug_depth: 12.5")
    edit(project / "scenarios" / "upland-wardens.yaml", "kind: two-wheeler", "kind: three-wheeler")
    edit(project / "scenarios" / "upland-wardens.yaml", "hub_width: 110 mm", "hub_width: 110 kg")
    result = run("check")
    places = [":".join(line.split(":")[:2]) for line in result.stdout.splitlines()[:-1]]
    assert [place.split(":")[0] for place in places] == [
        "catalogs/rims.yaml",
        "catalogs/tires.yaml",
        "catalogs/tires.yaml",
        "scenarios/upland-wardens.yaml",
        "scenarios/upland-wardens.yaml",
    ]
    assert places == sorted(places, key=lambda place: (place.split(":")[0], int(place.split(":")[1])))
    assert result.stdout.splitlines()[-1] == "13 files checked: 5 errors, 0 warnings"


def test_one_family_file_shows_only_its_own_findings(run: Run, project: Path) -> None:
    edit(project / "catalogs" / "rims.yaml", "material: aluminium", "material: alumnium")
    edit(project / "catalogs" / "pads.yaml", "compound: resin", "compound: raisin")
    result = run("check", "catalogs/pads.yaml")
    assert len(result.stdout.splitlines()) == 2
    assert result.stdout.startswith("catalogs/pads.yaml:")
    assert result.stdout.endswith("1 file checked: 1 error, 0 warnings\n")


def test_a_file_named_twice_is_checked_once(run: Run, project: Path) -> None:
    scenario = "scenarios/upland-wardens.yaml"
    assert run("check", scenario, scenario, "scenarios", "catalogs").stdout == "14 files checked: sound\n"


def test_a_project_folder_stands_for_its_catalogs_and_scenarios(run: Run, project: Path) -> None:
    assert run("check", ".").stdout == "14 files checked: sound\n"


def test_choice_files_are_checked_too(run: Run, project: Path) -> None:
    (project / "a.json").write_text('{"schema": "configopt/choice/1",}')
    result = run("check", "a.json")
    assert result.exit_code == 1
    assert result.stdout.startswith("a.json:1:")


def test_paths_outside_the_working_folder_stay_as_they_were_given(
    run: Run, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edit(project / "catalogs" / "pads.yaml", "compound: resin", "compound: raisin")
    monkeypatch.chdir(project / "scenarios")
    assert run("check", project / "catalogs").stdout.startswith(f"{project}/catalogs/pads.yaml:")


def test_json_holds_the_same_findings_and_keeps_to_its_schema(run: Run, project: Path) -> None:
    line = edit(project / "catalogs" / "pads.yaml", "compound: resin", "compound: raisin")
    result = run("check", "--format", "json")
    payload = json.loads(result.stdout)
    jsonschema.validate(payload, schema("findings"))
    assert result.exit_code == 1
    assert (payload["files"], payload["errors"], payload["warnings"]) == (13, 1, 0)
    assert payload["findings"][0]["path"] == "catalogs/pads.yaml"
    assert payload["findings"][0]["line"] == line


def test_no_finding_speaks_in_names_of_the_program(run: Run, project: Path) -> None:
    edit(project / "catalogs" / "hubs.yaml", "holes: 32", "holes: 33")
    (project / "scenarios" / "list.yaml").write_text("- a\n- b\n")
    text = run("check").stdout
    assert "holes must be even" in text
    assert "expected a group of keys" in text
    for word in ("pydantic", "Scenario", "Hub", "BaseModel", "ValidationError", "None"):
        assert word not in text


def test_the_form_is_that_of_the_place_unless_another_is_asked_for(
    run: Run, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = edit(project / "catalogs" / "pads.yaml", "compound: resin", "compound: raisin")
    where = f"file=catalogs/pads.yaml,line={line},col=15"
    monkeypatch.setenv("GITHUB_ACTIONS", "true")
    assert f"::error {where},title=CHOICE" in run("check").stdout
    assert run("check", "--format", "text").stdout.startswith(f"catalogs/pads.yaml:{line}:15: CHOICE error: ")
    sarif = json.loads(run("check", "--format", "sarif").stdout)
    (result,) = sarif["runs"][0]["results"]
    region = result["locations"][0]["physicalLocation"]["region"]
    assert (result["ruleId"], region["startLine"], region["startColumn"]) == ("CHOICE", line, 15)
    tree = ElementTree.fromstring(run("check", "--format", "junit").stdout)
    assert [case.get("name") for case in tree.iter("testcase") if case.find("failure") is not None] == [
        "catalogs/pads.yaml"
    ]
    assert run("check", "--format", "sarif", "-o", "out.sarif").exit_code == 1
    assert json.loads((project / "out.sarif").read_text()) == sarif


def test_a_rule_is_explained_with_what_fails_and_what_passes(run: Run) -> None:
    result = run("check", "--rule", "quantity")
    assert result.exit_code == 0
    assert result.stdout.startswith("QUANTITY (error): ")
    assert "FAIL (in tires.yaml)\n  mass: 2.58\n" in result.stdout
    assert "PASS (in tires.yaml)\n  mass: 2.58 kg\n" in result.stdout
    assert "It cannot be waived." in result.stdout
    assert "waivers:\n    - rule: STALE-SOURCE\n" in run("check", "--rule", "STALE-SOURCE").stdout
    listed = run("check", "--rule", "all").stdout.splitlines()
    assert [line.split()[0] for line in listed] == list(RULES)
    assert "did you mean 'QUANTITY'?" in run("check", "--rule", "QUANTITI").stderr


def test_what_is_stale_is_judged_on_the_day_that_is_named_and_never_by_the_clock(run: Run, project: Path) -> None:
    assert "STALE-SOURCE" not in run("check").stdout
    late = run("check", "--as-of", "2075-01-01")
    assert "catalogs/sources.yaml" in late.stdout
    assert "STALE-SOURCE warning" in late.stdout
    assert (late.exit_code, run("check", "--as-of", "2075-01-01", "--strict").exit_code) == (0, 1)
    assert run("check", "--as-of", "2075-02-30").exit_code == 2


@pytest.mark.parametrize(
    "options",
    [("--by", "x"), ("--accept", "best"), ("--accept", "best", "--since", "HEAD", "--by", "a"), ("--format", "xml")],
)
def test_options_that_do_not_go_together_are_wrong_usage(run: Run, project: Path, options: tuple[str, ...]) -> None:
    assert run("check", *options).exit_code == 2
