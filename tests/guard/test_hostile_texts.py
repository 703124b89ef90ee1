"""Texts at the limits: refused or read in seconds and in bounded memory, whatever they are made of."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hostile_texts import JSON, YAML
from hypothesis import given, settings
from hypothesis import strategies as st

from configopt.catalog.catalog import PART_LIMIT, FamilyFile, read_catalog
from configopt.catalog.records import FAMILIES
from configopt.decisions import json_source
from configopt.decisions.choice_file import load_choice
from configopt.decisions.json_source import parse_json
from configopt.errors import Finding, FindingsError
from configopt.files import budget, yaml_source
from configopt.files.budget import ReadingBudget
from configopt.files.validation import collect_items, validate
from configopt.files.within import ReadableFolders
from configopt.files.yaml_source import FINDING_LIMIT, Document, load_yaml, parse_yaml
from configopt.guard.checking import Check, limited
from configopt.scenario.records import Scenario, Vehicle
from configopt.scenario.variants import read_variants

ROOT = Path(__file__).parents[2]
#: Those that took the most time or memory, for the quick line.
WORST = (
    ("yaml", "entries that are wrong"),
    ("yaml", "vehicles"),
    ("json", "lines"),
)
#: Of one file, program and libraries included.  Measured: 5 s and 420 MB at most.
SECONDS, MEGABYTES = 15, 700


def measured(kind: str, name: str) -> dict[str, float]:
    """Seconds, megabytes, findings and the longest of them, in a process of its own."""
    command = [sys.executable, str(Path(__file__).with_name("hostile_texts.py")), kind, name]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True, cwd=ROOT)
    result: dict[str, float] = json.loads(done.stdout)
    return result


def judge(kind: str, name: str) -> None:
    result = measured(kind, name)
    assert result["seconds"] < SECONDS
    assert result["megabytes"] < MEGABYTES
    # Of one entry all is said; the next one is only counted.
    assert result["findings"] <= 2 * FINDING_LIMIT + 1
    assert result["longest"] < 3_000


@pytest.mark.parametrize(("kind", "name"), WORST)
def test_the_worst_texts_are_read_in_bounded_time_and_memory(kind: str, name: str) -> None:
    judge(kind, name)


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "name"), [*(("yaml", name) for name in YAML), *(("json", name) for name in JSON)])
def test_every_text_is_read_in_bounded_time_and_memory(kind: str, name: str) -> None:
    judge(kind, name)


def errors(source: str) -> list[Finding]:
    with pytest.raises(FindingsError) as raised:
        parse_yaml(source, "a.yaml")
    return raised.value.findings


def test_reading_that_ends_early_says_so() -> None:
    found = errors("[" + ".inf, " * 1_000 + "]")
    assert len(found) == FINDING_LIMIT
    assert (found[-1].rule, found[-1].message) == ("MORE", f"reading ends here, after {FINDING_LIMIT - 1} findings")


def test_a_group_of_too_many_keys_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(yaml_source, "GROUP_LIMIT", 2)
    assert parse_yaml("a: 1\nb: {c: 1, d: 2}\n", "a.yaml").data["b"]["d"] == 2
    (found,) = errors("a: 1\nb: 2\nc: 3\n")
    assert (found.line, found.message) == (3, "a group has at most 2 keys, this one has more")


def test_entries_beyond_the_limit_of_findings_are_counted() -> None:
    document = parse_yaml("parts:\n" + "- {a: 1}\n" * 500, "a.yaml")
    records, found = collect_items(document, "parts", FAMILIES["pads"])
    assert records == {}
    assert found[-1].rule == "MORE"
    shown = {finding.line for finding in found[:-1]}
    assert found[-1].message == f"{500 - len(shown)} more entries from here on are wrong"
    assert found[-1].line == max(shown) + 1


def test_sound_entries_behind_many_wrong_ones_are_still_there() -> None:
    entry = (ROOT / "catalogs" / "pads.yaml").read_text().split("\n  - id: ")[1]
    text = "parts:\n" + "  - {a: 1}\n" * 300 + "  - id: " + entry + "\n"
    records, _ = collect_items(parse_yaml(text, "a.yaml"), "parts", FAMILIES["pads"])
    assert list(records) == [300]


def test_a_record_with_many_mistakes_shows_the_first_and_counts_the_rest() -> None:
    document = parse_yaml("".join(f"k{n}: 1\n" for n in range(1_000)), "a.yaml")
    with pytest.raises(FindingsError) as raised:
        validate(document, Scenario)
    found = raised.value.findings
    assert len(found) == FINDING_LIMIT + 1
    assert [finding.line for finding in found] == sorted(finding.line for finding in found)
    required = sum(field.is_required() for field in Scenario.model_fields.values())
    assert found[-1].message == f"and {1_000 + required - FINDING_LIMIT:,} more from here on"


def test_a_file_of_another_kind_is_one_finding() -> None:
    document = parse_yaml("".join(f"k{n}: 1\n" for n in range(6_000)), "a.yaml")
    with pytest.raises(FindingsError, match="6,005 values are wrong here: this is a file of another kind") as raised:
        validate(document, Scenario)
    assert len(raised.value.findings) == 1


def test_findings_of_a_file_are_limited_by_severity_so_that_no_error_is_lost() -> None:
    many = [Finding("a.yaml", line, 1, "ORPHAN", "warning", "lonely") for line in range(1, 1_000)]
    error = Finding("a.yaml", 2_000, 1, "TYPE", "error", "wrong")
    assert len(limited([*many, error])) == FINDING_LIMIT + 2
    assert error in limited([*many, error])


def test_a_family_of_too_many_parts_is_refused_at_its_list() -> None:
    document = parse_yaml("family: pads\nparts: [" + "1," * (PART_LIMIT + 1) + "]\n", "pads.yaml")
    with pytest.raises(FindingsError) as raised:
        validate(document, FamilyFile)
    (found,) = raised.value.findings
    assert (found.line, found.rule) == (2, "RANGE")
    assert found.message == f"found {PART_LIMIT + 1} items, allowed is at most {PART_LIMIT} items"


def test_no_list_or_table_of_a_scenario_is_without_a_limit() -> None:
    from configopt.schemas import schema

    made = schema("scenario")
    for name, group in (("scenario", made), *made["$defs"].items()):
        for key, form in group.get("properties", {}).items():
            for one in (form, *form.get("anyOf", ())):
                if one.get("type") == "array":
                    assert "maxItems" in one, f"{name}.{key}"
                if one.get("type") == "object" and "enum" not in one.get("propertyNames", {}):
                    assert "maxProperties" in one or "$ref" in one.get("propertyNames", {}), f"{name}.{key}"
    assert Vehicle.model_fields["limits"].metadata


def test_a_figure_of_absurd_size_is_refused_at_its_line() -> None:
    lines = (ROOT / "scenarios" / "upland-wardens.yaml").read_text().split("\n")
    figures = [n for n, line in enumerate(lines) if re.match(r" +(- )?[a-z_]+: -?[0-9.]+( |$)", line)]
    assert len(figures) > 60
    for number in figures:
        line = re.sub(r"(: -?)[0-9.]+", r"\g<1>1e300", lines[number], count=1)
        text = "\n".join([*lines[:number], line, *lines[number + 1 :]])
        with pytest.raises(FindingsError) as raised:
            validate(parse_yaml(text, "a.yaml"), Scenario)
        assert number + 1 in {finding.line for finding in raised.value.findings}, line


def test_many_files_within_the_limit_of_a_file_are_not_read_without_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budget, "VALUE_LIMIT", 100)
    for name in "abc":
        (tmp_path / f"{name}.yaml").write_text("[" + "1," * 60 + "]")
    left = ReadingBudget(100)
    left.load(tmp_path / "a.yaml")
    left.load(tmp_path / "b.yaml")
    with pytest.raises(FindingsError, match="the files of a check have at most 100 values"):
        left.load(tmp_path / "c.yaml")
    with pytest.raises(FindingsError, match="no such file"):
        ReadingBudget().load(tmp_path / "none.yaml")


def test_a_check_looks_at_as_many_variants_as_take_some_seconds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (ROOT / "scenarios" / "upland-wardens.yaml").read_text().replace("../catalogs", f"{ROOT}/catalogs")
    (tmp_path / "a.yaml").write_text(text)
    (tmp_path / "a.variants.yaml").write_text(
        "title: x\ngrids:\n  - name: g\n    vary:\n"
        "      - {field: every_vehicle.battery_energy, from: 1 kWh, to: 2 kWh, steps: 1000}\n"
        "      - {field: every_vehicle.cargo_mass, from: 1 kg, to: 9 kg, steps: 10}\n"
    )
    monkeypatch.chdir(ROOT)
    variants = tmp_path / "a.variants.yaml"
    size = len(load_yaml(tmp_path / "a.yaml").positions)
    each = size + size * size // 10_000 + 200
    check = Check(folders=ReadableFolders.around([variants]), _variant_work=5 * each)
    check.path(variants)
    (found,) = [finding for finding in check.findings if finding.rule == "UNCHECKED-VARIANTS"]
    assert (found.severity, found.line) == ("note", 3)
    assert found.message == "9,995 variants from here on are not looked at"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{"a": 1e999}', "1e999 is out of all range"),
        ('{"a": ' + "1" * 31 + "}", "a number has too many digits: 31, allowed are 30"),
        ('{"a": "\\ud800"}', "half a character"),
        ('{"\\udfff": 1}', "half a character"),
        ('{"a": {"b": 1, "b": 2}}', 'the key "b" is here twice'),
        ("[" * 31 + "]" * 31, "values nest at most 30 deep"),
    ],
)
def test_what_json_permits_and_no_file_may_hold_is_a_finding(text: str, words: str) -> None:
    with pytest.raises(FindingsError) as raised:
        parse_json(text, "a.json")
    assert words in str(raised.value)


def test_more_values_of_json_than_the_limit_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(json_source, "NODE_LIMIT", 4)
    assert parse_json("[1, [2]]", "a.json").data == [1, [2]]
    with pytest.raises(FindingsError, match="a file has at most 4 values"):
        parse_json("[1, [2, 3]]", "a.json")


whole_text = st.characters(exclude_categories=["Cs"])
values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**29), 10**29)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(whole_text, max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(whole_text, max_size=6), inner, max_size=4),
    max_leaves=15,
)


@given(data=values, indent=st.sampled_from([None, 0, 2]), plain=st.booleans())
def test_every_value_of_json_has_the_place_at_which_it_stands(data: object, indent: int | None, plain: bool) -> None:
    text = json.dumps(data, indent=indent, ensure_ascii=plain)
    document = parse_json(text, "a.json")
    assert document.data == data
    lines = text.split("\n")
    for path, (line, column) in document.positions.items():
        value = data
        for step in path:
            value = value[step]  # type: ignore[index]
        begin = lines[line - 1][column - 1 :]
        if isinstance(value, dict | list):
            assert begin[0] == ("{" if isinstance(value, dict) else "[")
        else:
            assert begin.startswith(json.dumps(value, ensure_ascii=plain))
    assert len(document.positions) == count_of(data)


def count_of(data: object) -> int:
    inner = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
    return 1 + sum(map(count_of, inner))


PIECES = st.sampled_from(
    [
        "a",
        "name",
        "title",
        ": ",
        ":",
        "\n",
        "\n  ",
        "\n- ",
        "- ",
        "[",
        "]",
        "{",
        "}",
        ", ",
        '"',
        "'",
        "#",
        "&",
        "*",
        "!",
        "|",
        ">",
        "1",
        "1.5",
        "12 psi",
        "null",
        "true",
        ".inf",
        "---",
        "\\",
        "%",
        "?",
        "\t",
        "\r",
        "é",
        "\u202e",
        "vehicles",
        "parts",
        "family",
        "variants",
        "grids",
        "set",
        "front",
        "tire",
        "schema",
        "configopt/choice/1",
    ]
)
texts = st.lists(PIECES, max_size=30).map("".join) | st.text(max_size=80) | st.binary(max_size=80)


@st.composite
def changed_text(draw: st.DrawFn, names: tuple[str, ...]) -> tuple[str, bytes]:
    """A shipped file with a stretch of it replaced."""
    name = draw(st.sampled_from(names))
    raw = (ROOT / name).read_bytes()
    begin = draw(st.integers(0, len(raw)))
    length = draw(st.sampled_from([0, 0, 1, 2, 10, 200, len(raw)]))
    new = draw(st.lists(PIECES, max_size=4).map("".join).map(str.encode) | st.binary(max_size=6))
    return name, raw[:begin] + new + raw[begin + length :]


def sound(findings: list[Finding], text: bytes) -> None:
    """Findings are plain, one line each, and stand in the text."""
    lines = len(text.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n"))
    for finding in findings:
        assert 0 <= finding.line <= lines + 1
        assert "\n" not in str(finding)
        assert str(finding).encode()
        assert len(str(finding)) < 3_000


def attempt(load: Callable[[], object], text: bytes) -> None:
    try:
        load()
    except FindingsError as error:
        sound(error.findings, text)


@given(source=texts | changed_text(("scenarios/upland-wardens.yaml", "catalogs/pads.yaml")).map(lambda one: one[1]))
def test_any_text_is_a_document_or_findings(source: str | bytes) -> None:
    text = source if isinstance(source, bytes) else source.encode("utf-8", "surrogatepass")
    attempt(lambda: parse_yaml(source, "a.yaml"), text)


@given(source=texts)
def test_any_text_as_json_is_a_document_or_findings(source: str | bytes) -> None:
    if isinstance(source, str):
        attempt(lambda: parse_json(source, "a.json"), source.encode("utf-8", "surrogatepass"))


CHOICE = json.dumps(
    {
        "schema": "configopt/choice/1",
        "scenario": "a",
        "vehicles": [
            {
                "name": "b",
                "final_drive": "c",
                "packages": [
                    {"position": "front", "tire": "t", "pressure_kpa": 60.0, "lacing": "3-cross", "rim_locks": 0},
                    {"position": "rear", "tire": "t", "pressure_kpa": 60.0, "lacing": None, "rim_locks": 0},
                ],
            }
        ],
    }
)


@given(
    source=texts,
    begin=st.integers(0, len(CHOICE)),
    length=st.integers(0, 30),
    value=values.map(json.dumps) | st.sampled_from(['"\\ud800"', "1e999", "NaN", "-0", "9" * 40]),
)
def test_any_choice_file_is_read_or_found_wrong(
    tmp_path_factory: pytest.TempPathFactory, source: str | bytes, begin: int, length: int, value: str
) -> None:
    path = tmp_path_factory.getbasetemp() / "choice.json"
    text = source if isinstance(source, bytes) else source.encode("utf-8", "surrogatepass")
    for raw in (text, (CHOICE[:begin] + value + CHOICE[begin + length :]).encode()):
        path.write_bytes(raw)
        attempt(lambda: load_choice(path), raw)


@given(changed=changed_text(("scenarios/upland-wardens.variants.yaml",)), source=texts)
def test_any_variants_file_is_read_or_found_wrong(changed: tuple[str, bytes], source: str | bytes) -> None:
    for text in (changed[1], source if isinstance(source, bytes) else source.encode("utf-8", "surrogatepass")):
        attempt(lambda text=text: read_variants(parse_yaml(text, "a.yaml")), text)


@pytest.fixture(scope="module")
def few() -> dict[str, Document]:
    """The shipped families with an entry each."""
    read = {}
    for path in sorted((ROOT / "catalogs").glob("*.yaml")):
        entries = path.read_text().split("\n  - id: ")
        kept = entries if path.stem == "sources" else entries[:2]
        read[path.name] = parse_yaml("\n  - id: ".join(kept) + "\n", path.name)
    return read


@settings(max_examples=40, deadline=None)
@given(changed=changed_text(("catalogs/pads.yaml", "catalogs/sources.yaml", "catalogs/calipers.yaml")))
def test_any_catalog_is_read_or_found_wrong(few: dict[str, Document], changed: tuple[str, bytes]) -> None:
    def read(path: Path) -> Document:
        return parse_yaml(changed[1], path.name) if path.name in changed[0] else few[path.name]

    reading = read_catalog(ROOT / "catalogs", read)
    sound([one for one in reading.findings if one.path in changed[0]], changed[1])
