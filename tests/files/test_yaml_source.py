"""The strict loader: values, positions, limits, and one file for every mistake."""

from __future__ import annotations

import json
import math
import time
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import Finding, FindingsError
from configopt.files import yaml_source
from configopt.files.yaml_source import Document, load_yaml, parse_yaml

FIXTURES = Path(__file__).parent.parent / "fixtures" / "yaml"


@pytest.fixture(params=["C parser", "Python parser"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    if request.param == "Python parser":
        monkeypatch.setattr(yaml_source, "_Loader", yaml.SafeLoader)
    return str(request.param)


def findings_of(source: str | bytes) -> list[Finding]:
    with pytest.raises(FindingsError) as raised:
        parse_yaml(source, "f.yaml")
    return raised.value.findings


@pytest.mark.parametrize("path", sorted((FIXTURES / "bad").glob("*.yaml")), ids=lambda path: path.stem)
def test_a_file_with_one_mistake_gives_one_finding_at_its_place(path: Path) -> None:
    # The first line of the file says what to expect: "# expect LINE:COLUMN RULE words of the message".
    expected = path.read_bytes().split(b"\n")[0].decode().removeprefix("# expect ")
    place, rule, words = expected.split(" ", 2)
    with pytest.raises(FindingsError) as raised:
        load_yaml(path)
    (finding,) = raised.value.findings
    assert (f"{finding.line}:{finding.column}", finding.rule, finding.severity) == (place, rule, "error")
    assert words in finding.message
    assert finding.path == str(path)


def test_plain_scalars_follow_the_core_of_yaml_1_2_and_everything_else_stays_text(parser: str) -> None:
    data = load_yaml(FIXTURES / "good" / "scalars.yaml").data
    expected: dict[str, Any] = {
        **{word: word for word in ("yes", "no", "on", "off", "y")},
        "time": "12:30",
        "octal": "010",
        "hexadecimal": "0x1f",
        "underscored": "1_000",
        "date": "2025-03-31",
        "version": "1.2.3",
        "size": "57-622",
        "inch_size": "2.75-21",
        "metric_size": "80/100-21",
        "leading_zero": "007.5",
        "quoted_number": "12",
        "quoted_true": "true",
        "true_1": True,
        "true_2": True,
        "false_1": False,
        "null_1": None,
        "null_2": None,
        "null_3": None,
        "integer": 12,
        "signed": -12,
        "plus": 12,
        "float": 1.5,
        "exponent": 1000.0,
        "point_first": 0.5,
        "point_last": 5.0,
        "zero": 0.0,
    }
    assert data == expected
    assert {key: type(value) for key, value in data.items()} == {key: type(value) for key, value in expected.items()}


def test_every_key_and_value_has_its_place(parser: str) -> None:
    document = load_yaml(FIXTURES / "good" / "nested.yaml")
    assert document.data == {
        "parts": [
            {"id": "a", "mass": "412 g", "tags": ["x", {"k": 1}]},
            {"id": "b", "note": "folded text\n"},
        ],
        "ünit": "µm",
    }
    assert document.positions[()] == (1, 1)
    assert document.positions["parts",] == (2, 3)
    assert document.key_positions["parts",] == (1, 1)
    assert document.positions["parts", 0] == (2, 5)
    assert document.positions["parts", 0, "mass"] == (3, 11)
    assert document.key_positions["parts", 0, "mass"] == (3, 5)
    assert document.positions["parts", 0, "tags", 1, "k"] == (4, 19)
    assert document.positions["parts", 1, "note"] == (6, 11)
    assert document.positions["ünit",] == (9, 7)


def test_what_is_not_there_has_the_place_of_what_is_around_it() -> None:
    document = parse_yaml("a:\n  b: 1\n", "f.yaml")
    assert document.position(("a", "c", "d")) == (2, 3)
    assert document.key_position(("a",)) == (1, 1)
    assert document.key_position(("z",)) == (1, 1)


def test_a_finding_is_made_at_a_value_or_at_its_key() -> None:
    document = parse_yaml("a:\n  b: 1\n", "f.yaml")
    assert str(document.finding(("a", "b"), "RANGE", "too much", "less")) == "f.yaml:2:6: RANGE error: too much (less)"
    warning = document.finding(("a", "b"), "RANGE", "too much", severity="warning", at_key=True)
    assert str(warning) == "f.yaml:2:3: RANGE warning: too much"


def test_all_mistakes_of_a_file_are_reported_at_once_in_file_order(parser: str) -> None:
    findings = findings_of("a: &x 1\nb: .inf\na: 2\nc: *x\nd: !t 3\n")
    assert [(finding.line, finding.rule) for finding in findings] == [
        (1, "YAML-ALIAS"),
        (2, "YAML-NUMBER"),
        (3, "YAML-DUPLICATE"),
        (4, "YAML-ALIAS"),
        (5, "YAML-TAG"),
    ]


def test_a_mistake_before_a_syntax_error_is_reported_with_it(parser: str) -> None:
    assert [finding.rule for finding in findings_of("a: .inf\nb: [1\n")] == ["YAML-NUMBER", "YAML-SYNTAX"]


def test_the_repeated_key_keeps_the_place_of_the_first() -> None:
    builder = yaml_source._Builder("f.yaml")
    with pytest.raises(FindingsError):
        builder.document("a: {x: 1}\na: {x: 2, y: 3}\n")
    assert builder.positions["a", "x"] == (1, 8)
    assert ("a", "y") not in builder.positions


@pytest.mark.parametrize("limit", [200, 2000])
def test_a_text_of_exactly_the_limit_is_read(limit: int) -> None:
    key = "id" if limit == 200 else "note"
    assert parse_yaml(f"{key}: {'x' * limit}\n", "f.yaml").data == {key: "x" * limit}
    assert [finding.rule for finding in findings_of(f"{key}: {'x' * (limit + 1)}\n")] == ["YAML-LIMIT"]


def test_a_number_of_exactly_thirty_digits_is_read() -> None:
    assert parse_yaml(f"a: {'7' * 30}\n", "f.yaml").data == {"a": int("7" * 30)}


def test_thirty_levels_are_read() -> None:
    data = parse_yaml("[" * 30 + "]" * 30, "f.yaml").data
    for _ in range(29):
        (data,) = data
    assert data == []


def test_a_long_run_of_texts_under_a_list_of_notes_may_be_long() -> None:
    assert len(parse_yaml(f"notes:\n  - {'x' * 1500}\n", "f.yaml").data["notes"][0]) == 1500


def test_more_values_than_the_limit_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yaml_source, "NODE_LIMIT", 10)
    assert parse_yaml("[1, 2, 3, 4, 5, 6, 7, 8, 9]", "f.yaml").data[-1] == 9
    (finding,) = findings_of("[1, 2, 3, 4, 5, 6, 7, 8, 9, 10]")
    assert (finding.rule, finding.column) == ("YAML-LIMIT", 29)


def test_more_bytes_than_the_limit_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    path.write_bytes(b"# " + b"x" * 5_000_000)
    with pytest.raises(FindingsError, match="YAML-LIMIT error: a file has at most 5,000,000 bytes"):
        load_yaml(path)


def test_a_file_full_of_mistakes_prints_no_novel() -> None:
    assert len(findings_of("[" + ".inf, " * 1000 + "]")) == yaml_source.FINDING_LIMIT


def test_a_byte_order_mark_is_refused_with_the_fix() -> None:
    (finding,) = findings_of(b"\xef\xbb\xbfa: b\n")
    assert (finding.line, finding.column, finding.rule) == (1, 1, "YAML-ENCODING")
    assert finding.fix == "save it as UTF-8 without byte order mark"


@pytest.mark.parametrize("source", ["", "\n\n", "# only words\n", "---\n", "~\n", "null\n"])
def test_an_empty_file_is_a_finding(source: str, parser: str) -> None:
    (finding,) = findings_of(source)
    assert (finding.line, finding.rule) == (0, "YAML-EMPTY")


def test_an_explicit_start_of_the_document_and_other_line_ends_are_fine(parser: str) -> None:
    document = parse_yaml("---\r\na: b\r\nc: d\r\n", "f.yaml")
    assert document.data == {"a": "b", "c": "d"}
    assert document.positions["c",] == (3, 4)


def test_a_surrogate_is_refused_with_its_place() -> None:
    (finding,) = findings_of("a: b\ud800\n")
    assert (finding.line, finding.column, finding.rule) == (1, 5, "YAML-SYNTAX")
    (finding,) = findings_of('a: "\\ud800"\n')
    assert finding.rule == "YAML-SYNTAX"


def test_a_missing_file_a_folder_and_an_impossible_name_are_findings(tmp_path: Path) -> None:
    for path, words in [
        (tmp_path / "none.yaml", "there is no such file"),
        (tmp_path, "this is a folder"),
        (tmp_path / "a\0b", "the file cannot be read"),
        (tmp_path / ("x" * 300), "the file cannot be read"),
    ]:
        with pytest.raises(FindingsError) as raised:
            load_yaml(path)
        (finding,) = raised.value.findings
        assert (finding.line, finding.rule) == (0, "YAML-FILE")
        assert words in finding.message


def test_a_symbolic_link_to_a_file_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real.yaml").write_text("a: b\n")
    (tmp_path / "link.yaml").symlink_to(tmp_path / "real.yaml")
    assert load_yaml(tmp_path / "link.yaml").data == {"a": "b"}
    (tmp_path / "loop.yaml").symlink_to(tmp_path / "loop.yaml")
    with pytest.raises(FindingsError, match="YAML-FILE"):
        load_yaml(tmp_path / "loop.yaml")


@pytest.mark.parametrize(
    "source",
    [
        "[" * 1_000_000,
        "{a: " * 500_000,
        "- " * 500_000,
        "&a [" + "*a, " * 200_000 + "]",
        "x" * 1_000_000,
        '"' + "\\" * 1_000_000,
        "a: |\n" + " x\n" * 200_000,
        "? " * 200_000,
        "!" * 100_000,
        "%" * 100_000,
    ],
    ids=lambda source: source[:6],
)
def test_hostile_text_is_refused_quickly(source: str) -> None:
    began = time.perf_counter()
    findings_of(source)
    assert time.perf_counter() - began < 5


def _plain(data: object) -> bool:
    if isinstance(data, dict):
        return all(isinstance(key, str) and key and _plain(value) for key, value in data.items())
    if isinstance(data, list):
        return all(map(_plain, data))
    return data is None or isinstance(data, str | int | bool) or (isinstance(data, float) and math.isfinite(data))


yaml_like = st.text(alphabet=list("ab01:-,[]{}#&*!|>'\"%@`?~.e+<\n\t \\"), max_size=60)


@given(source=st.text(max_size=200) | yaml_like | st.binary(max_size=80))
def test_any_text_is_a_document_or_findings(source: str | bytes) -> None:
    try:
        document = parse_yaml(source, "f.yaml")
    except FindingsError as error:
        findings = error.findings
    else:
        assert isinstance(document, Document)
        assert _plain(document.data)
        assert all(line >= 1 and column >= 1 for line, column in document.positions.values())
        return
    lines = source.count(b"\n" if isinstance(source, bytes) else "\n") + source.count(
        b"\r" if isinstance(source, bytes) else "\r"
    )
    assert findings
    assert all(0 <= finding.line <= lines + 2 for finding in findings)


values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**29), 10**29)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=30),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.from_regex(r"\A[a-z]{1,8}\Z"), inner, max_size=4),
    max_leaves=12,
)


@given(data=st.dictionaries(st.from_regex(r"\A[a-z]{1,8}\Z"), values, min_size=1, max_size=4))
def test_values_written_as_json_are_read_back_unchanged(data: dict[str, Any]) -> None:
    # JSON is the part of YAML in which nothing depends on style.
    source = json.dumps(data, ensure_ascii=False)
    if "\ufeff" in source or "\ufffe" in source or "\uffff" in source:
        return
    assert parse_yaml(source, "f.yaml").data == data
