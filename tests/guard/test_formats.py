"""The forms of the findings: they are read back by independent readers, whatever a message or a path holds."""

from __future__ import annotations

import importlib.util
import json
import re
import time
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import unquote_to_bytes, urlsplit
from xml.etree import ElementTree

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from configopt.errors import Finding, UsageError, one_line
from configopt.guard.formats.github import escaped_data, escaped_property, github_text
from configopt.guard.formats.junit import junit_text
from configopt.guard.formats.report import Report, RuleText, plain
from configopt.guard.formats.sarif import sarif_text

SCHEMA = json.loads((Path(__file__).parents[1] / "fixtures" / "guard" / "sarif-schema-2.1.0.json").read_text("utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
RULES = {
    "YAML-DUPLICATE": RuleText("A key is here twice", "Only one of them could count.", "error", "Keep one."),
    "PRICE-OLD": RuleText("A price is old", "Prices change every year.", "warning"),
    "MASS-ROUND": RuleText("A mass is a round figure", "It may have been guessed.", "note", "Weigh it."),
}
ERROR = Finding("catalogs/tires.yaml", 12, 5, "YAML-DUPLICATE", "error", "the key is here twice", "keep one")
WARNING = Finding("catalogs/rims.yaml", 3, 1, "PRICE-OLD", "warning", "the price is of 2019")
NOTE = Finding("catalogs/rims.yaml", 0, 0, "MASS-ROUND", "note", "500 g")
FILES = ("catalogs/rims.yaml", "catalogs/tires.yaml", "scenarios/moor.yaml")


def report(*findings: Finding, files: tuple[str, ...] = FILES, version: str = "0.1.0") -> Report:
    return Report(files, findings, RULES, version)


MIXED = report(NOTE, WARNING, ERROR)
SEVERITIES = st.sampled_from(("error", "warning", "note"))
# Every code point, and often the pieces that mean something to one of the readers.
TEXTS = st.lists(
    st.one_of(
        st.text(st.characters(exclude_categories=()), max_size=5),
        st.sampled_from(("::set-output name=a::b", "\n", "\r", "%0A", "%25", "##[add-path]/", "::", "]]>", "&#0;")),
        st.sampled_from(("{0}", "[a](1)", "<script>", "|", ",", "=", "\u2028", "\x1b[2J", "\ud800", "\ufffe", "ü")),
    ),
    max_size=5,
).map("".join)
PATHS = TEXTS.filter(lambda text: not text.startswith("/"))
FINDINGS = st.builds(
    Finding,
    path=PATHS,
    line=st.integers(0, 9),
    column=st.integers(0, 9),
    rule=st.one_of(st.sampled_from(sorted(RULES)), TEXTS),
    severity=SEVERITIES,
    message=TEXTS,
    fix=TEXTS,
)
REPORTS = st.builds(
    Report,
    files=st.lists(PATHS, max_size=3).map(tuple),
    findings=st.lists(FINDINGS, max_size=4).map(tuple),
    rules=st.just(RULES),
    version=st.just("0.1.0"),
)


# Plain text


def test_a_summary_counts_files_once_and_findings_by_severity() -> None:
    assert report(files=("a.yaml", "a.yaml")).summary() == "1 file checked: sound"
    assert report(ERROR).summary() == "3 files checked: 1 error, 0 warnings"
    assert report(ERROR, ERROR, NOTE, files=()).summary() == "0 files checked: 2 errors, 0 warnings, 1 note"


def test_plain_text_keeps_letters_and_line_ends_and_shows_the_rest_by_number() -> None:
    assert plain("größe|<&>\r\n轮\rb\nc") == "größe|<&>\n轮\nb\nc"
    assert plain("\x00\x1b\x85\u2028\u202e\ud800\uffff") == r"\x00\x1b\x85\u2028\u202e\ud800\uffff"


# JUnit


def cases(text: str) -> dict[str, Any]:
    """Tests by name, after a look at the structure that all readers share."""
    document = ElementTree.fromstring(text.encode("utf-8"))
    assert document.tag == "testsuites"
    (suite,) = document
    assert suite.tag == "testsuite"
    assert {child.tag for child in suite} <= {"testcase"}
    failed = 0
    for case in suite:
        assert set(case.attrib) == {"name", "classname", "time"}
        assert [child.tag for child in case] in ([], ["failure"], ["system-out"], ["failure", "system-out"])
        for failure in case.iter("failure"):
            assert set(failure.attrib) == {"message", "type"}
            failed += 1
    for element in (document, suite):
        counts = [int(element.attrib[key]) for key in ("tests", "failures", "errors", "skipped")]
        assert counts == [len(suite), failed, 0, 0]
    return {case.attrib["name"]: case for case in suite}


def test_every_file_is_a_test_and_an_error_fails_it() -> None:
    found = cases(junit_text(MIXED))
    assert list(found) == list(FILES)
    assert {case.attrib["classname"] for case in found.values()} == {"configopt.check"}
    (failure,) = found["catalogs/tires.yaml"]
    assert failure.attrib == {"message": "YAML-DUPLICATE: the key is here twice", "type": "YAML-DUPLICATE"}
    assert failure.text == str(ERROR)
    (output,) = found["catalogs/rims.yaml"]
    assert output.text == f"{NOTE}\n{WARNING}"
    assert len(found["scenarios/moor.yaml"]) == 0


def test_a_warning_fails_its_test_only_where_warnings_count() -> None:
    (failure, output) = cases(junit_text(MIXED, strict=True))["catalogs/rims.yaml"]
    assert (failure.tag, failure.text) == ("failure", str(WARNING))
    assert (output.tag, output.text) == ("system-out", str(NOTE))


def test_several_errors_of_a_file_stand_in_one_failure() -> None:
    second = replace(ERROR, line=20, message="again")
    (failure,) = cases(junit_text(report(ERROR, second)))["catalogs/tires.yaml"]
    assert failure.text == f"{ERROR}\n{second}"
    assert failure.attrib["message"] == "2 findings, first YAML-DUPLICATE: the key is here twice"


def test_a_finding_in_a_file_that_was_not_read_is_a_test_of_its_own() -> None:
    missing, nowhere = replace(ERROR, path="catalogs/hubs.yaml", line=0), replace(ERROR, path="")
    assert list(cases(junit_text(report(missing, nowhere, files=())))) == ["catalogs/hubs.yaml", "all files"]


def test_nothing_checked_is_an_empty_suite() -> None:
    assert cases(junit_text(report(files=()))) == {}


def test_without_junitparser_the_line_that_installs_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    found = importlib.util.find_spec
    monkeypatch.setattr(
        "configopt.guard.formats.junit.find_spec", lambda name: None if name == "junitparser" else found(name)
    )
    with pytest.raises(UsageError, match=re.escape("pip install 'configopt[reports]'")):
        junit_text(MIXED)


@settings(max_examples=80, deadline=None)
@given(REPORTS, st.booleans())
def test_no_text_breaks_the_xml(found: Report, strict: bool) -> None:
    text = junit_text(found, strict=strict)
    text.encode("utf-8")
    cases(text)
    listed = "".join(element.text or "" for element in ElementTree.fromstring(text.encode("utf-8")).iter())
    for finding in found.findings:
        assert plain(str(finding)) in listed


# SARIF


def run(text: str) -> Any:
    """The one run of a log, after validation against the published schema and what the standard says besides."""
    log = json.loads(text)
    VALIDATOR.validate(log)
    (only,) = log["runs"]
    rules = only["tool"]["driver"]["rules"]
    assert len({rule["id"] for rule in rules}) == len(rules)
    for result in only["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        for location in result.get("locations", []):
            artifact = location["physicalLocation"]["artifactLocation"]
            if "index" in artifact:
                assert only["artifacts"][artifact["index"]]["location"]["uri"] == artifact["uri"]
            assert artifact["uriBaseId"] in only["originalUriBaseIds"]
            assert urlsplit(artifact["uri"])[:2] == ("", "")
            assert re.fullmatch(r"[\w.~/%-]+", artifact["uri"], re.ASCII)
    return only


def identities(*findings: Finding) -> list[str]:
    results = run(sarif_text(report(*findings)))["results"]
    return [result["partialFingerprints"]["configoptFinding/v1"] for result in results]


def test_a_log_names_the_tool_the_rules_and_the_files() -> None:
    only = run(sarif_text(MIXED))
    driver = only["tool"]["driver"]
    assert (driver["name"], driver["version"], driver["semanticVersion"]) == ("configopt", "0.1.0", "0.1.0")
    assert [rule["id"] for rule in driver["rules"]] == sorted(RULES)
    assert driver["rules"][2] == {
        "id": "YAML-DUPLICATE",
        "shortDescription": {"text": "A key is here twice"},
        "fullDescription": {"text": "Only one of them could count."},
        "help": {"text": "Keep one."},
        "defaultConfiguration": {"level": "error"},
    }
    assert driver["rules"][1]["help"]["text"] == "Prices change every year."
    assert [artifact["location"]["uri"] for artifact in only["artifacts"]] == list(FILES)
    assert only["invocations"] == [{"executionSuccessful": True}]
    assert only["columnKind"] == "unicodeCodePoints"


def test_a_result_has_level_message_with_fix_and_place() -> None:
    note, warning, error = run(sarif_text(MIXED))["results"]
    assert [result["level"] for result in (note, warning, error)] == ["note", "warning", "error"]
    assert error["message"]["text"] == "the key is here twice (keep one)"
    assert error["locations"] == [
        {
            "physicalLocation": {
                "artifactLocation": {"uri": "catalogs/tires.yaml", "uriBaseId": "%SRCROOT%", "index": 1},
                "region": {"startLine": 12, "startColumn": 5},
            }
        }
    ]
    assert "region" not in note["locations"][0]["physicalLocation"]


def test_a_line_without_column_and_a_finding_without_file_claim_no_more() -> None:
    line, nowhere = run(sarif_text(report(replace(ERROR, column=0), replace(ERROR, path=""))))["results"]
    assert line["locations"][0]["physicalLocation"]["region"] == {"startLine": 12}
    assert "locations" not in nowhere


@pytest.mark.parametrize(
    ("path", "uri"),
    [
        ("catalogs/my rims.yaml", "catalogs/my%20rims.yaml"),
        ("catalogs/50%#1?.yaml", "catalogs/50%25%231%3F.yaml"),
        ("catalogs/größe.yaml", "catalogs/gr%C3%B6%C3%9Fe.yaml"),
        ("a:b.yaml", "a%3Ab.yaml"),
    ],
)
def test_paths_become_relative_uris(path: str, uri: str) -> None:
    (result,) = run(sarif_text(report(replace(ERROR, path=path))))["results"]
    assert result["locations"][0]["physicalLocation"]["artifactLocation"] == {"uri": uri, "uriBaseId": "%SRCROOT%"}


def test_a_name_that_is_not_utf_8_keeps_its_bytes() -> None:
    path = b"caf\xe9.yaml".decode("utf-8", "surrogateescape")
    found = report(replace(ERROR, path=path), files=(path,))
    only = run(sarif_text(found))
    assert only["artifacts"][0]["location"]["uri"] == "caf%E9.yaml"
    assert only["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "caf%E9.yaml"
    assert list(cases(junit_text(found))) == [r"caf\udce9.yaml"]


def test_an_absolute_path_has_no_root() -> None:
    log = json.loads(sarif_text(report(replace(ERROR, path="/srv/a b.yaml"), files=("/srv/a b.yaml",))))
    VALIDATOR.validate(log)
    place = log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
    assert place == {"uri": "file:///srv/a%20b.yaml", "index": 0}


def test_fingerprints_stay_when_findings_move() -> None:
    second = replace(ERROR, line=40)
    before = identities(ERROR, second, WARNING)
    moved = identities(replace(ERROR, line=99, column=1), replace(second, line=130), replace(WARNING, line=7))
    assert before == moved
    elsewhere = replace(ERROR, message="the key is here twice, first in line 7")
    assert identities(elsewhere) == identities(replace(elsewhere, message="the key is here twice, first in line 8"))


def test_fingerprints_tell_rules_files_messages_and_repeats_apart() -> None:
    different = (
        ERROR,
        ERROR,
        replace(ERROR, rule="PRICE-OLD"),
        replace(ERROR, path="catalogs/rims.yaml"),
        replace(ERROR, message="another key is here twice"),
    )
    assert len(set(identities(*different))) == len(different)
    # Each by what it is, not by what stands before it.
    assert [identities(finding) for finding in different[2:]] == [[found] for found in identities(*different)[2:]]


def test_a_rule_that_is_not_in_the_table_is_shown_by_its_id() -> None:
    only = run(sarif_text(report(replace(WARNING, rule="NEW-RULE"))))
    (rule,) = [rule for rule in only["tool"]["driver"]["rules"] if rule["id"] == "NEW-RULE"]
    assert rule["shortDescription"]["text"] == "NEW-RULE"
    assert rule["defaultConfiguration"] == {"level": "warning"}
    assert "title=NEW-RULE::" in github_text(report(replace(WARNING, rule="NEW-RULE")))


def test_braces_are_no_placeholders_and_brackets_no_links() -> None:
    (result,) = run(sarif_text(report(replace(NOTE, message="see {0} at [here](sarif:/runs/0)"))))["results"]
    assert result["message"]["text"] == "see {{0}} at [here] (sarif:/runs/0)"


def test_a_version_that_is_not_semantic_is_not_called_so() -> None:
    driver = run(sarif_text(report(version="0.2.dev1")))["tool"]["driver"]
    assert driver["version"] == "0.2.dev1"
    assert "semanticVersion" not in driver


def test_the_log_depends_on_nothing_but_the_report(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = sarif_text(MIXED)
    monkeypatch.chdir(tmp_path)
    backwards = replace(MIXED, rules=dict(reversed(RULES.items())))
    assert sarif_text(backwards) == before
    assert str(tmp_path) not in before


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("version",), "2.0.0"),
        (("runs", 0, "results", 0, "level"), "fatal"),
        (("runs", 0, "results", 0, "message"), {}),
        (("runs", 0, "results", 2, "locations", 0, "physicalLocation", "region", "startLine"), 0),
        (("runs", 0, "tool", "driver", "rules", 0, "help"), "text"),
        (("runs", 0, "invocations", 0), {}),
        (("runs", 0, "columnKind"), "bytes"),
        (("runs", 0, "extra"), 1),
    ],
)
def test_the_schema_refuses_what_is_wrong(place: tuple[str | int, ...], value: object) -> None:
    log = json.loads(sarif_text(MIXED))
    VALIDATOR.validate(log)
    inner = log
    for step in place[:-1]:
        inner = inner[step]
    inner[place[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate(log)


def encoded(text: str, surrogates: str) -> bytes | None:
    try:
        return text.encode("utf-8", surrogates)
    except UnicodeEncodeError:
        return None


@settings(max_examples=60, deadline=None)
@given(REPORTS)
def test_no_text_breaks_the_log(found: Report) -> None:
    text = sarif_text(found)
    text.encode("utf-8")
    only = run(text)
    for finding, result in zip(found.findings, only["results"], strict=True):
        if finding.path:
            uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
            read = {one_line(path): path for path in found.files}
            meant = read.get(one_line(finding.path), finding.path)
            assert unquote_to_bytes(uri) in (encoded(meant, "surrogateescape"), encoded(meant, "surrogatepass"))


# Workflow commands


def commands(text: str) -> list[tuple[str, dict[str, str], str]]:
    """Commands of a log, read as the runner reads them: name, properties, message; also of the older kind."""
    read = []
    for line in re.split(r"\r\n|\r|\n", text):
        head = re.match(r"\s*::([^ ]*?)(?: (.*?))?::", line, re.DOTALL)
        if head:
            properties = dict(pair.split("=", 1) for pair in (head[2] or "").split(",") if "=" in pair)
            read.append((head[1], {key: taken_back(value) for key, value in properties.items()}, line[head.end() :]))
        elif "##[" in line:
            read.append((line, {}, line))
    return [(name, properties, taken_back(message)) for name, properties, message in read]


def taken_back(text: str) -> str:
    for written, meant in (("%0D", "\r"), ("%0A", "\n"), ("%3A", ":"), ("%2C", ","), ("%25", "%")):
        text = text.replace(written, meant)
    return text


def test_findings_become_commands_and_a_plain_line_sums_up() -> None:
    assert github_text(MIXED) == (
        "::notice file=catalogs/rims.yaml,title=MASS-ROUND%3A A mass is a round figure::500 g\n"
        "::warning file=catalogs/rims.yaml,line=3,col=1,title=PRICE-OLD%3A A price is old::the price is of 2019\n"
        "::error file=catalogs/tires.yaml,line=12,col=5,title=YAML-DUPLICATE%3A A key is here twice"
        "::the key is here twice (keep one)\n"
        "3 files checked: 1 error, 1 warning, 1 note\n"
    )


def test_nothing_found_is_one_plain_line() -> None:
    assert github_text(report()) == "3 files checked: sound\n"


def test_a_path_with_signs_of_the_syntax_stays_one_property() -> None:
    path = "catalogs/a b,line=9::error::ü%#.yaml"
    ((name, properties, _),) = commands(github_text(report(replace(ERROR, path=path))))
    assert name == "error"
    assert properties == {"file": path, "line": "12", "col": "5", "title": "YAML-DUPLICATE: A key is here twice"}


@pytest.mark.parametrize(
    ("text", "data", "property_"),
    [
        ("100 % of 3:4, done", "100 %25 of 3:4, done", "100 %25 of 3%3A4%2C done"),
        ("a\r\nb", "a%0D%0Ab", "a%0D%0Ab"),
        ("%0A%25", "%250A%2525", "%250A%2525"),
    ],
)
def test_the_escapes_are_the_published_ones(text: str, data: str, property_: str) -> None:
    assert (escaped_data(text), escaped_property(text)) == (data, property_)
    assert taken_back(data) == taken_back(property_) == text


def test_neither_a_message_nor_a_title_can_hold_a_command() -> None:
    text = "a\n::set-output name=x::y\r\n##[add-path]/tmp\r::stop-commands::z"
    rules = {text: replace(RULES["PRICE-OLD"], title=f"{text}!")}
    found = replace(report(replace(ERROR, rule=text, message=text, path=text, fix=text)), rules=rules)
    written = github_text(found)
    assert len(written.splitlines()) == 2
    ((name, properties, _),) = commands(written)
    assert name == "error"
    assert properties["title"] == "{0}: {0}!".format(plain(text).replace("##[", "## ["))


@settings(max_examples=150, deadline=None)
@given(REPORTS)
def test_every_finding_is_one_command_that_reads_as_it_was(found: Report) -> None:
    text = github_text(found)
    text.encode("utf-8")
    assert len(text.splitlines()) == len(found.findings) + 1
    read = commands(text)
    assert len(read) == len(found.findings)
    for finding, (name, properties, message) in zip(found.findings, read, strict=True):
        assert name == {"error": "error", "warning": "warning", "note": "notice"}[finding.severity]
        assert set(properties) <= {"file", "line", "col", "title"}
        assert properties.get("file", "") == plain(finding.path).replace("##[", "## [")
        assert ("line" in properties) == bool(finding.path and finding.line)
        said = f"{finding.message} ({finding.fix})" if finding.fix else finding.message
        assert message == plain(said).replace("##[", "## [")


# All


@pytest.mark.parametrize("form", [junit_text, sarif_text, github_text])
def test_ten_thousand_findings_take_seconds(form: Any) -> None:
    many = [
        replace(ERROR, path=f"catalogs/{n % 2000}.yaml", line=n + 1, message=f"wrong {n % 7}") for n in range(10_000)
    ]
    large = report(*many, files=tuple(f"catalogs/{n}.yaml" for n in range(2000)))
    began = time.process_time()
    text = form(large)
    assert time.process_time() - began < 5
    assert text.count("wrong") >= 10_000
