"""Recorded decisions: written whole, read by the other commands, decided again at the line that changed."""

from __future__ import annotations

import errno
import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
import yaml
from click.testing import CliRunner, Result
from decision_project import ACCEPTED, DECISION
from edits import scale_prices, set_key, take_away

from configopt.choice.result import choose
from configopt.cli import main
from configopt.decisions.choice_file import load_choice
from configopt.decisions.decision_file import load_decision
from configopt.guard.apart import Apart, _lacks_memory
from configopt.guard.verdict import judge
from configopt.scenario.case import load
from configopt.schemas import schema

pytestmark = pytest.mark.usefixtures("no_catalog_rules")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)


def in_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Decide in this process: what a process of its own adds has a test of its own."""
    monkeypatch.setattr("configopt.guard.apart.Apart.__call__", lambda self, *case, **more: judge(*case, **more))


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    if "decided_apart" not in request.fixturenames:
        in_process(monkeypatch)


@pytest.fixture
def decided_apart() -> None:
    """Decide in processes of their own, as the command does."""


def best_tire(project: Path, position: str = "front") -> str:
    return str(yaml.safe_load((project / DECISION).read_text())["vehicles"][0][position]["tire"])


def findings(*arguments: str | Path) -> list[dict[str, object]]:
    listed: list[dict[str, object]] = json.loads(run("check", "--format", "json", *arguments).stdout)["findings"]
    return listed


def test_a_decision_keeps_who_when_why_and_the_figures_of_the_choice(project: Path) -> None:
    decision = load_decision(project / DECISION).record
    case = load(project / "scenarios" / "upland-wardens.yaml")
    choice = choose(case)
    assert (decision.decision.by, decision.decision.date, decision.decision.why) == tuple(ACCEPTED[1::2])
    assert decision.decision.scenario == "upland-wardens.yaml"
    assert tuple(one.model_dump(exclude={"name"}) for one in decision.vehicles) == tuple(
        one.model_dump() for one in choice.records
    )
    assert decision.figures.aim == pytest.approx(choice.value, rel=1e-9)
    assert decision.figures.vehicles[0].mass_kg == pytest.approx(choice.vehicles[0]["mass_kg"], rel=1e-9)
    ratios = sorted(row["ratio"] for row in choice.vehicles[0]["margins"] if row["ratio"] is not None)
    assert [row.limit for row in decision.figures.vehicles[0].tightest[:1]] == [
        row["limit"] for row in choice.vehicles[0]["margins"] if row["ratio"] == ratios[0]
    ]
    jsonschema.validate(yaml.safe_load((project / DECISION).read_text()), schema("decision"))


def test_a_decision_is_read_wherever_a_choice_is(project: Path) -> None:
    assert load_choice(project / DECISION).names == ("warden-two-wheeler",)
    scenario = project / "scenarios" / "upland-wardens.yaml"
    assert run("appraise", scenario, project / DECISION).exit_code == 0
    assert run("compare", scenario, project / DECISION, project / DECISION).exit_code == 0
    assert run("choose", scenario, "-q", "--begin-with", project / DECISION).exit_code == 0


def test_a_fresh_decision_stands(project: Path) -> None:
    assert run("check").exit_code == 0
    assert findings() == []


def test_recording_needs_who_when_and_why_and_overwrites_nothing(project: Path) -> None:
    scenario = project / "scenarios" / "upland-wardens.yaml"
    assert "needs --by, --on, --why" in run("choose", scenario, "--record", "scenarios/new.decision.yaml").stderr
    assert run("choose", scenario, *ACCEPTED).exit_code == 2
    assert run("choose", scenario, *ACCEPTED, "--record", "scenarios/new.yaml").exit_code == 2
    assert run("choose", scenario, *ACCEPTED, "--record", DECISION).exit_code == 2
    wrong = ("--by", "x", "--on", "2026-02-30", "--why", "y")
    assert "is no date" in run("choose", scenario, *wrong, "--record", "scenarios/new.decision.yaml").stderr
    assert not (project / "scenarios" / "new.decision.yaml").exists()


def test_nothing_is_recorded_where_nothing_meets_the_limits(project: Path) -> None:
    scenario = project / "scenarios" / "upland-wardens.yaml"
    scenario.write_text(scenario.read_text().replace("at_least: 38 km", "at_least: 400 km"))
    result = run("choose", scenario, "-q", *ACCEPTED, "--record", "scenarios/new.decision.yaml")
    assert result.exit_code == 3
    assert "nothing is recorded" in result.stderr
    assert not (project / "scenarios" / "new.decision.yaml").exists()


def test_a_better_part_is_found_at_its_line_and_is_what_choose_would_choose(project: Path) -> None:
    line = set_key(project / "catalogs" / "rims.yaml", "harrow-21-160-36", "mass", "0.3 kg")
    found = [one for one in findings() if str(one["rule"]).startswith("DECISION")]
    assert [(one["rule"], one["path"], one["line"], one["severity"]) for one in found] == [
        ("DECISION-BEATEN", "catalogs/rims.yaml", line, "warning")
    ]
    case = load(project / "scenarios" / "upland-wardens.yaml")
    now, was = choose(case), load_decision(project / DECISION)
    verdict = judge(case, was.records)
    assert (verdict.status, verdict.best) == ("beaten", now.value)
    assert verdict.loss > 0
    assert all(f"{row['second']:g} kPa" in str(found[0]["message"]) for row in verdict.instead)
    assert f"{verdict.loss:.3%} of the aim" in str(found[0]["message"])
    assert run("check").exit_code == 0  # a warning
    assert run("check", "--strict").exit_code == 1


def test_a_limit_that_is_missed_is_named_at_the_line_that_changed(project: Path) -> None:
    line = scale_prices(project / "catalogs" / "tires.yaml", best_tire(project), 9.0)
    found = [one for one in findings() if str(one["rule"]).startswith("DECISION")]
    assert [(one["rule"], one["path"], one["line"]) for one in found] == [
        ("DECISION-BROKEN", "catalogs/tires.yaml", line)
    ]
    assert "cost is" in str(found[0]["message"])
    assert run("check").exit_code == 1


def test_a_limit_that_was_tightened_is_found_at_its_line_in_the_scenario(project: Path) -> None:
    scenario = project / "scenarios" / "upland-wardens.yaml"
    text = scenario.read_text()
    scenario.write_text(text.replace("at_least: 38 km", "at_least: 51 km"))
    line = text[: text.index("at_least: 38 km")].count("\n") + 1
    found = findings()
    assert [(one["rule"], one["path"], one["line"]) for one in found] == [
        ("DECISION-BROKEN", "scenarios/upland-wardens.yaml", line)
    ]
    assert "range is" in str(found[0]["message"])


def test_parts_that_are_gone_or_cannot_be_had_are_found_in_the_decision(project: Path) -> None:
    tires, mine = project / "catalogs" / "tires.yaml", best_tire(project)
    text = tires.read_text()
    set_key(tires, mine, "lead_time", "21 days\n    status: withdrawn")
    assert [one["rule"] for one in findings() if str(one["rule"]).startswith("DECISION")] == ["DECISION-WITHDRAWN"]
    tires.write_text(text.replace(f"id: {mine}\n", f"id: {mine}-b\n"))
    scenario = project / "scenarios" / "upland-wardens.yaml"
    scenario.write_text(scenario.read_text().replace(f"tire: {mine}\n", f"tire: {mine}-b\n"))
    found = [one for one in findings() if one["path"] == DECISION]
    assert {str(one["rule"]) for one in found} == {"REFERENCE"}
    assert {str(one["fix"]) for one in found} == {f'did you mean "{mine}-b"?'}
    lines = (project / DECISION).read_text().splitlines()
    assert all(mine in lines[int(str(one["line"])) - 1] for one in found)


def test_a_decision_whose_figures_moved_is_a_note(project: Path) -> None:
    # A little heavier or lighter together changes the aim and not the choice.
    scenario = project / "scenarios" / "upland-wardens.yaml"
    scenario.write_text(scenario.read_text().replace("mass: 1 per kg", "mass: 1.001 per kg"))
    found = findings()
    assert [(one["rule"], one["severity"], one["path"]) for one in found] == [("DECISION-MOVED", "note", DECISION)]
    assert run("check", "--strict").exit_code == 0


def test_what_was_looked_at_is_recorded_anew(project: Path) -> None:
    set_key(project / "catalogs" / "rims.yaml", "harrow-21-160-36", "mass", "0.3 kg")
    accept = ("check", DECISION, "--accept")
    assert "DECISION-BEATEN" in run("check").stdout
    before = load_decision(project / DECISION).record
    assert run(*accept, "kept", "--by", "R. Sallow", "--on", "2026-04-01", "--why", "in stock").exit_code == 0
    kept = load_decision(project / DECISION).record
    assert kept.vehicles == before.vehicles
    assert kept.decision.accepted_loss > 0
    assert "DECISION" not in run("check").stdout
    assert run(*accept, "best", "--by", "R. Sallow", "--on", "2026-04-02", "--why", "stock is gone").exit_code == 0
    best = load_decision(project / DECISION).record
    assert best.vehicles != before.vehicles
    assert best.decision.accepted_loss == 0
    assert best.figures.aim == pytest.approx(
        choose(load(project / "scenarios" / "upland-wardens.yaml")).value, rel=1e-9
    )
    assert "DECISION" not in run("check").stdout


def test_packages_that_miss_a_limit_are_not_kept(project: Path) -> None:
    scale_prices(project / "catalogs" / "tires.yaml", best_tire(project), 9.0)
    text = (project / DECISION).read_text()
    result = run("check", DECISION, "--accept", "kept", *ACCEPTED)
    assert result.exit_code == 1
    assert "record the best choice instead" in result.stderr
    assert (project / DECISION).read_text() == text


def test_a_decision_about_a_wrong_scenario_says_so(project: Path) -> None:
    scenario = project / "scenarios" / "upland-wardens.yaml"
    scenario.write_text(scenario.read_text().replace("chassis_mass: 78 kg", "chassis_mass: 78"))
    assert {one["rule"] for one in findings()} == {"QUANTITY", "DECISION-UNCHECKED"}
    scenario.unlink()
    (project / "scenarios" / "other.yaml").write_text("title: x\n")
    assert "REFERENCE" in {one["rule"] for one in findings(DECISION)}


BROKEN_FILES: list[tuple[str, Callable[[str], str], str]] = [
    ("no one", lambda text: text.replace("  by: Ines Marram\n", ""), "MISSING-KEY"),
    ("no such day", lambda text: text.replace("2026-03-02", "2026-13-02"), "VALUE"),
    ("out of the project", lambda text: text.replace("scenario: upland-wardens.yaml", "scenario: /etc/passwd"), "PATH"),
    (
        "up and away",
        lambda text: text.replace("scenario: upland-wardens.yaml", f"scenario: {'../' * 30}x.yaml"),
        "PATH",
    ),
    ("a hash of another kind", lambda text: text.replace("  configopt: ", "  configopt:\n    x: "), "TYPE"),
]


@pytest.mark.parametrize(("what", "change", "rule"), BROKEN_FILES, ids=[row[0] for row in BROKEN_FILES])
def test_a_decision_file_that_is_wrong_is_a_finding_in_it(
    project: Path, what: str, change: Callable[[str], str], rule: str
) -> None:
    path = project / DECISION
    path.write_text(change(path.read_text()))
    found = findings()
    assert [(one["rule"], one["path"]) for one in found] == [(rule, DECISION)]
    assert int(str(found[0]["line"])) >= 1


def test_a_search_that_takes_too_long_or_too_much_memory_is_told(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.undo()
    monkeypatch.chdir(project)
    monkeypatch.setattr("configopt.guard.apart.MEMORY_LIMIT", 1)

    case, decision = load(project / "scenarios" / "upland-wardens.yaml"), load_decision(project / DECISION)
    with Apart(60.0, memory=200 * 1024**2) as little:
        assert little(case, decision.records, accepted_loss=0.0).status == "unproven"
    with Apart(60.0) as enough:
        verdict = enough(case, decision.records, accepted_loss=0.0)
    assert verdict == judge(case, decision.records)


def test_since_a_revision_only_what_the_change_did_is_reported(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def git(*arguments: str) -> None:
        who = ("-c", "user.name=x", "-c", "user.email=x@example.org")
        subprocess.run(["git", *who, *arguments], check=True, capture_output=True, cwd=project)

    tires, mine = project / "catalogs" / "tires.yaml", best_tire(project)
    scale_prices(tires, mine, 9.0)  # broken before the change already
    git("init", "-q", "-b", "main")
    git("add", "-A")
    git("commit", "-q", "-m", "begin")
    assert findings("--since", "main") == []
    assert [one["rule"] for one in findings()] == ["DECISION-BROKEN"]
    take_away(project / "catalogs" / "surfaces.yaml", "rock-steps")
    text = tires.read_text()
    tires.write_text(f"# one line more\n{text}")
    new = findings("--since", "main")
    assert {one["rule"] for one in new} == {"REFERENCE", "DECISION-UNCHECKED"}
    git("checkout", "-q", "-b", "change")
    git("commit", "-q", "-a", "-m", "change")
    assert findings("--since", "main") == new
    assert run("check", "--since", "nothing-of-this-name").exit_code == 2
    assert run("check", "--since", "--output=x").exit_code == 2
    monkeypatch.chdir(project.parent)
    assert run("check", "--since", "HEAD", project / "catalogs").exit_code == 2


def test_a_library_that_cannot_be_loaded_for_want_of_memory_is_no_other_mistake() -> None:
    lacking = ImportError("/x/_ufuncs.so: failed to map segment from shared object")
    assert _lacks_memory(lacking)
    assert _lacks_memory(OSError(errno.ENOMEM, "Cannot allocate memory"))
    assert not _lacks_memory(ImportError("No module named 'x'"))
    assert not _lacks_memory(OSError(errno.ENOENT, "no such file"))


@pytest.mark.usefixtures("decided_apart")
def test_a_search_that_does_not_stop_in_time_is_ended(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("configopt.guard.apart._GRACE_SECONDS", 0.2)
    case, decision = load(project / "scenarios" / "upland-wardens.yaml"), load_decision(project / DECISION)
    with Apart(0.001) as hurried:
        verdict = hurried(case, decision.records, accepted_loss=0.0)
    assert (verdict.status, "time was up" in verdict.reason) == ("unproven", True)
