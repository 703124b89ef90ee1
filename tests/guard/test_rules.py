"""Every rule of the check finds its own example, at its place, and lets the sound one pass."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import yaml
from laid import ROOT, lay, same_as_shipped
from rule_table import section, written

from configopt.catalog.catalog import load_catalog
from configopt.errors import Finding, FindingsError
from configopt.files.validation import validate
from configopt.files.yaml_source import FINDING_LIMIT, load_yaml, parse_yaml
from configopt.guard import deciding
from configopt.guard.checking import check_paths, limited
from configopt.guard.rule import Example
from configopt.guard.rules import CATALOG_CHECKS, RULES
from configopt.guard.verdict import Verdict
from configopt.scenario.case import reference_findings
from configopt.scenario.records import Scenario

#: Rules that need more than one snippet to break, and the file of tests that breaks them.
ELSEWHERE = {
    "YAML-FILE": "tests/files/test_yaml_source.py",
    "YAML-ENCODING": "tests/files/test_yaml_source.py",
    "JSON-SYNTAX": "tests/decisions/test_choice_file.py",
    "PATH": "tests/guard/test_hostile_paths.py",
    "CATALOG": "tests/cli/test_check.py",
    "FAMILY": "tests/cli/test_check.py",
    "EMPTY-FAMILY": "tests/cli/test_check.py",
    "CURRENCY": "tests/cli/test_check.py",
    "DUPLICATE-ID": "tests/cli/test_check.py",
    "MORE": "configopt/guard/checking.py",
    "UNCHECKED-VARIANTS": "tests/guard/test_rules.py",
    "DECISION-BROKEN": "tests/guard/test_decisions.py",
    "DECISION-BEATEN": "tests/guard/test_decisions.py",
    "DECISION-MOVED": "tests/guard/test_decisions.py",
    "DECISION-WITHDRAWN": "tests/guard/test_decisions.py",
    "DECISION-UNCHECKED": "tests/guard/test_decisions.py",
    "DECISION-UNPROVEN": "tests/guard/test_rules.py",
    "DECISION-CONTRADICTION": "tests/guard/test_rules.py",
    "FUTURE-SOURCE": "tests/guard/test_provenance_rules.py",
    "UNUSED-SOURCE": "tests/guard/test_provenance_rules.py",
}
EXAMPLES = {rule.id: rule.example for rule in RULES.values() if rule.example is not None}


def _found(folder: Path, example: Example, keys: str, rule: str) -> list[tuple[int, set[int]]]:
    """Lines of the rule's findings, each with the lines where it may stand."""
    if example.of == "yaml":
        try:
            parse_yaml(keys, "example.yaml")
        except FindingsError as error:
            return [
                (finding.line, set(range(keys.count("\n") + 3))) for finding in error.findings if finding.rule == rule
            ]
        return []
    if example.of == "vehicle":
        return _of_vehicle(folder, keys, rule)
    if same_as_shipped(example.of, keys):
        return []  # the shipped catalogs are found sound as a whole, once
    # Only peers need the whole population of tires.
    laid = lay(folder, example.of, keys, few=not rule.startswith("OUTLIER"))
    names = {"id", *(parse_yaml(keys, "example").data)}
    first = {laid.lines[name] for name in names if name in laid.lines}
    # A finding inside a list or group stands on a later line than its key.
    after = {line + more for line in first for more in range(4)}
    return [(finding.line, after) for finding in laid.here(rule)]


def _of_vehicle(folder: Path, keys: str, rule: str) -> list[tuple[int, set[int]]]:
    shipped = ROOT / "scenarios" / "upland-wardens.yaml"
    scenario = yaml.safe_load(shipped.read_text())
    scenario["vehicles"][0].update(parse_yaml(keys, "example").data)
    path = folder / "example.yaml"
    path.write_text(yaml.safe_dump(scenario, sort_keys=False, allow_unicode=True))
    try:
        document = load_yaml(path)
        read = validate(document, Scenario)
        findings = reference_findings(document, read, load_catalog(ROOT / "catalogs"))
    except FindingsError as error:
        findings = error.findings
    lines = {number for number, line in enumerate(path.read_text().splitlines(), 1) if line.strip(" -").startswith("l")}
    return [(finding.line, lines) for finding in findings if finding.rule == rule]


@pytest.mark.parametrize("rule", EXAMPLES)
def test_the_example_that_fails_is_found_at_its_place_and_the_other_passes(tmp_path: Path, rule: str) -> None:
    example = EXAMPLES[rule]
    found = _found(tmp_path, example, example.fails, rule)
    assert found, f"{rule} is not found"
    assert all(line in places for line, places in found), found
    assert not _found(tmp_path, example, example.passes, rule)


def test_every_rule_has_an_example_or_a_test_of_its_own() -> None:
    assert {rule.id for rule in RULES.values() if rule.example is None} == set(ELSEWHERE)
    for rule, path in ELSEWHERE.items():
        assert rule in (ROOT / path).read_text(), f"{path} does not name {rule}"


def test_variants_beyond_what_is_looked_at_are_counted(tmp_path: Path) -> None:
    scenario = ROOT / "scenarios" / "upland-wardens.yaml"
    (tmp_path / "scenarios").mkdir()
    shutil.copytree(ROOT / "catalogs", tmp_path / "catalogs")
    shutil.copy(scenario, tmp_path / "scenarios")
    wrong = [{"name": f"wrong-{i}", "withdrawn": ["nobody"]} for i in range(FINDING_LIMIT + 20)]
    path = tmp_path / "scenarios" / "upland-wardens.variants.yaml"
    path.write_text(yaml.safe_dump({"title": "Too many", "variants": wrong}, sort_keys=False))
    noted = [finding for finding in check_paths([path]).findings if finding.rule == "UNCHECKED-VARIANTS"]
    assert [finding.severity for finding in noted] == ["note"]
    assert noted[0].message == "20 variants from here on are not looked at"


@pytest.mark.parametrize(
    ("verdict", "rule", "words"),
    [
        (Verdict("unproven", 11.0, 11.0, 10.0), "DECISION-UNPROVEN", "it could be beaten by up to 10.00% of the aim"),
        (Verdict("contradiction", 11.0, reason="the models disagree"), "DECISION-CONTRADICTION", "the models disagree"),
    ],
)
def test_what_deciding_again_cannot_tell_stands_at_the_decision(verdict: Verdict, rule: str, words: str) -> None:
    document = parse_yaml("scenario: x.yaml\ndecision:\n  by: somebody\n", "x.decision.yaml")
    decision: Any = SimpleNamespace(path=Path("x.decision.yaml"), document=document, records=())
    nothing: Any = None
    found = deciding._finding(decision, nothing, nothing, verdict)
    assert found is not None
    assert (found.rule, found.line) == (rule, 2)
    assert words in found.message


@pytest.mark.parametrize("severity", ["error", "warning", "note"])
def test_how_much_more_there_is_weighs_as_the_rule_says(severity: Any) -> None:
    many = [Finding("a.yaml", line, 1, "TYPE", severity, "wrong") for line in range(1, FINDING_LIMIT + 3)]
    more = max(limited(many))
    assert (more.rule, more.severity) == ("MORE", severity)
    assert f"{severity}s" in RULES["MORE"].about
    assert severity == RULES["MORE"].severity or severity in RULES["MORE"].title


def test_the_readme_lists_every_rule() -> None:
    assert written() == section(), "rewrite it: python -m tests.guard.rule_table"


def test_ids_are_stable_words_and_severities_those_of_findings() -> None:
    for name, rule in RULES.items():
        assert name == rule.id
        assert all(word.isalpha() and word.isupper() for word in name.split("-"))
        assert rule.severity in ("error", "warning", "note")
        assert rule.title[0].islower() or rule.title[:4] == "JSON"
        assert rule.about.endswith(".")


def test_what_cannot_be_is_not_waivable_and_what_is_only_unlikely_is() -> None:
    looking = {rule.id: rule for check in CATALOG_CHECKS for rule in check.rules}
    impossible = {"LOAD-TABLE", "TIRE-MASS", "RIM-MASS", "SPOKE-LENGTHS", "HUB-WIDTH", "HUB-CIRCLE", "ROTOR-TRACK"}
    impossible |= {"ROTOR-MASS", "RANGE-ORDER"}
    assert {name for name, rule in looking.items() if not rule.waivable} == impossible
    assert all(looking[name].severity == "error" for name in impossible)
    assert (looking["STALE-SOURCE"].severity, looking["STALE-SOURCE"].waivable) == ("warning", True)


def test_the_shipped_catalogs_are_sound(tmp_path: Path) -> None:
    assert lay(tmp_path, "tires", {}).findings() == []
