"""Records checked against files: rule, place and plain words for every kind of mistake."""

from __future__ import annotations

import json
import re
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Literal, Self

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from configopt.errors import Finding, FindingsError
from configopt.files.validation import collect_items, problem, validate, validate_items
from configopt.files.yaml_source import parse_yaml
from configopt.quantities import Figure, Force, LengthPositive, Mass, Ratio, quantity
from configopt.sizes import TireSizeText


class Steel(StrEnum):
    plain = "plain"
    hardened = "hardened"


class Record(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Bead(Record):
    width: LengthPositive
    hook: bool = False


class Tire(Record):
    kind: Literal["tire"]
    id: str = Field(min_length=2, max_length=20, pattern="^[a-z0-9-]+$")
    mass: Mass
    size: TireSizeText | None = None
    plies: int = Field(2, ge=1, lt=20)
    tags: tuple[str, ...] = ()
    bead: Bead | None = None
    masses: dict[str, Mass] = {}
    tested: date | None = None

    @model_validator(mode="after")
    def check(self) -> Self:
        if self.plies == 13:
            raise problem("13 plies bring bad luck", "write 12", at="plies", rule="LUCK")
        if self.plies == 14:
            raise ValueError("14 plies are too stiff")
        return self


class Rim(Record):
    kind: Literal["rim"]
    id: str
    load: Force | None = None
    holes: Annotated[int, Field(multiple_of=4)] = 36
    grip: Ratio | Literal["auto", "none"] = "auto"
    steel: Steel = Steel.plain
    bead: Bead | str | None = None
    offsets: list[Annotated[Figure, quantity("length", low=-0.1, high=0.1)]] = Field([], max_length=2)

    @field_validator("id")
    @classmethod
    def no_blank(cls, value: str) -> str:
        if " " in value:
            raise ValueError("an id has no blank")
        return value


Part = Annotated[Tire | Rim, Field(discriminator="kind")]


class Catalog(Record):
    name: str
    parts: list[Part] = []


def findings_of(source: str, model: type[BaseModel] = Catalog) -> list[Finding]:
    with pytest.raises(FindingsError) as raised:
        validate(parse_yaml(source, "f.yaml"), model)
    return raised.value.findings


def only(source: str, model: type[BaseModel] = Catalog) -> str:
    (finding,) = findings_of(source, model)
    return str(finding).removeprefix("f.yaml:")


def test_a_sound_file_becomes_its_record() -> None:
    source = """
name: demo
parts:
  - kind: tire
    id: a1
    mass: 412 g +- 5 g
    size: 80/100-21
    tags: [x, y]
    bead: {width: 5 mm}
    masses: {new: 420 g}
    tested: 2025-03-31
  - {kind: rim, id: b, grip: 0.6, steel: hardened, bead: none}
"""
    catalog = validate(parse_yaml(source, "f.yaml"), Catalog)
    tire, rim = catalog.parts
    assert isinstance(tire, Tire)
    assert isinstance(rim, Rim)
    assert (tire.mass, tire.mass.uncertainty, tire.tags) == (0.412, 0.005, ("x", "y"))
    assert (tire.tested, str(tire.size)) == (date(2025, 3, 31), "80/100-21")
    assert (rim.grip, rim.steel, rim.bead) == (0.6, Steel.hardened, "none")


TIRE = "name: n\nparts:\n  - kind: tire\n    id: a1\n    mass: 1 g\n"
RIM = "name: n\nparts:\n  - kind: rim\n    id: a1\n"


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("nam: 1\n", None),
        (TIRE.replace("mass", "wieght"), None),
        (
            TIRE + "    wdth: 3 mm\n",
            '6:5: UNKNOWN-KEY error: the key "wdth" is not known here; known: bead, id, kind, mass, masses, plies, '
            "size, tags, tested (remove it)",
        ),
        (
            TIRE + "    plys: 3\n",
            '6:5: UNKNOWN-KEY error: the key "plys" is not known here; known: bead, id, kind, mass, masses, plies, '
            'size, tags, tested (did you mean "plies"?)',
        ),
        (
            TIRE + "    bead:\n      width: 1 mm\n      hok: true\n",
            '8:7: UNKNOWN-KEY error: the key "hok" is not known here; known: hook, width (did you mean "hook"?)',
        ),
        (TIRE + "    bead:\n      hook: true\n", '6:5: MISSING-KEY error: the key "width" is missing (add "width:")'),
        ("parts: []\n", '1:1: MISSING-KEY error: the key "name" is missing (add "name:")'),
        (
            TIRE.replace("1 g", "412"),
            '5:11: QUANTITY error: 412 has no unit, expected a mass (write "412 g" or "0.412 kg")',
        ),
        (
            TIRE.replace("1 g", "-1 g"),
            '5:11: RANGE error: found "-1 g", allowed is at least 0 g',
        ),
        (
            TIRE.replace("mass: 1 g", "mass:"),
            '5:10: QUANTITY error: found nothing, expected a mass (write for example "412 g" or "0.412 kg")',
        ),
        (
            TIRE + "    masses: {new: 3}\n",
            '6:19: QUANTITY error: 3 has no unit, expected a mass (write "3 g" or "0.003 kg")',
        ),
        (
            TIRE + "    size: 3-18\n",
            '6:11: SIZE error: "3-18" is no tire size (write the width in inches with two decimals: "3.00-18")',
        ),
        (TIRE + "    plies: 0\n", "6:12: RANGE error: found 0, allowed is at least 1"),
        (TIRE + "    plies: 20\n", "6:12: RANGE error: found 20, allowed is below 20"),
        (TIRE + "    plies: 1.5\n", "6:12: TYPE error: expected a whole number, found 1.5"),
        (TIRE + "    plies: 1.0\n", "6:12: TYPE error: expected a whole number, found 1.0"),
        (
            TIRE + '    plies: "2"\n',
            '6:12: TYPE error: expected a whole number, found "2" (write the number alone, without quotes or unit)',
        ),
        (TIRE + "    plies: true\n", "6:12: TYPE error: expected a whole number, found true"),
        (TIRE + "    plies: 13\n", "6:12: LUCK error: 13 plies bring bad luck (write 12)"),
        (TIRE + "    plies: 14\n", "3:5: VALUE error: 14 plies are too stiff"),
        (TIRE + "    tags: x\n", '6:11: TYPE error: expected a list, found "x" (start each item with "- ")'),
        (TIRE + "    tags: [x, 2]\n", "6:15: TYPE error: expected text, found 2 (put it in quotes)"),
        (TIRE + "    tags: [x, {a: 1}]\n", "6:15: TYPE error: expected text, found a group of keys"),
        (TIRE + "    bead: 3\n", "6:11: TYPE error: expected a group of keys, found 3"),
        (TIRE + "    bead: {width: 1 mm, hook: no}\n", '6:31: TYPE error: expected true or false, found "no"'),
        (TIRE + "    tested: 31.3.2025\n", '6:13: TYPE error: expected a date such as 2025-03-31, found "31.3.2025"'),
        (TIRE.replace("a1", "a"), "4:9: RANGE error: found 1 character, allowed is at least 2 characters"),
        (TIRE.replace("a1", "A 1"), '4:9: VALUE error: found "A 1", allowed is text of the form ^[a-z0-9-]+$'),
        (TIRE.replace("a1", "12"), "4:9: TYPE error: expected text, found 12 (put it in quotes)"),
        (RIM.replace("a1", "a 1"), "4:9: VALUE error: an id has no blank"),
        (RIM + "    holes: 30\n", "5:12: RANGE error: found 30, allowed is a multiple of 4"),
        (
            RIM + "    steel: hardned\n",
            '5:12: CHOICE error: found "hardned", allowed: plain, hardened (did you mean "hardened"?)',
        ),
        (RIM + "    offsets: [1 mm, 2 mm, 3 mm]\n", "5:14: RANGE error: found 3 items, allowed is at most 2 items"),
        (
            RIM + "    offsets: [1 mm, 200 mm]\n",
            '5:21: RANGE error: found "200 mm", allowed is at least -100 mm and at most 100 mm',
        ),
        (
            RIM + "    load: 3 kg\n",
            '5:11: QUANTITY error: "kg" is a unit of mass, expected a force, allowed: N, kN, '
            'daN, lbf (write for example "640 N" or "0.64 kN")',
        ),
        (
            "name: n\nparts:\n  - kind: rym\n    id: a1\n",
            '3:11: CHOICE error: found "rym", allowed: tire, rim (did you mean "rim"?)',
        ),
        (
            "name: n\nparts:\n  - id: a1\n",
            '3:5: MISSING-KEY error: the key "kind" is missing (add "kind:" with one of tire, rim)',
        ),
        ("name: n\nparts:\n  - tire\n", '3:5: TYPE error: expected a group of keys, found "tire"'),
        ("name: n\nparts: {}\n", '2:8: TYPE error: expected a list, found a group of keys (start each item with "- ")'),
        ("just text\n", '1:1: TYPE error: expected a group of keys, found "just text"'),
        ("- a\n", "1:1: TYPE error: expected a group of keys, found a list"),
    ],
)
def test_a_mistake_is_reported_at_its_place_in_plain_words(source: str, expected: str | None) -> None:
    if expected is None:  # a misspelled key is unknown, and the right one is missing
        assert [finding.rule for finding in findings_of(source)] in (
            ["MISSING-KEY", "UNKNOWN-KEY"],
            ["UNKNOWN-KEY", "MISSING-KEY"],
        )
    else:
        assert only(source) == expected


class TestUnions:
    def test_a_value_that_no_branch_takes_is_reported_once_with_what_each_allows(self) -> None:
        text = only(RIM + "    grip: atuo\n")
        assert text.startswith("5:11: ")
        assert 'found "atuo", expected a ratio' in text
        assert "allowed: auto, none" in text
        assert 'did you mean "auto"?' in text

    def test_the_branch_that_looked_inside_is_the_one_reported(self) -> None:
        expected = '6:14: QUANTITY error: 3 has no unit, expected a length (write "3 mm" or "0.3 cm")'
        assert only(RIM + "    bead:\n      width: 3\n") == expected

    def test_a_value_of_quite_another_kind_names_both_kinds(self) -> None:
        text = only(RIM + "    bead: [1]\n")
        assert "expected a group of keys, found a list" in text
        assert "expected text, found a list" in text

    def test_a_key_with_the_name_of_its_branch_is_still_found(self) -> None:
        class Inner(Record):
            kind: Literal["rim"]
            rim: Mass

        class Other(Record):
            kind: Literal["tire"]

        class File(Record):
            part: Annotated[Inner | Other, Field(discriminator="kind")]

        assert only("part:\n  kind: rim\n  rim: 3\n", File).startswith("3:8: QUANTITY")
        assert only("part:\n  kind: rim\n", File).startswith('1:1: MISSING-KEY error: the key "rim" is missing')


def test_all_mistakes_come_at_once_in_file_order() -> None:
    source = """
nam: 12
parts:
  - kind: tire
    id: x
    mass: 412
  - kind: rim
    id: 12
    load: 3 kg
"""
    findings = findings_of(source)
    assert [(finding.line, finding.rule) for finding in findings] == [
        (2, "MISSING-KEY"),
        (2, "UNKNOWN-KEY"),
        (5, "RANGE"),
        (6, "QUANTITY"),
        (8, "TYPE"),
        (9, "QUANTITY"),
    ]


ITEMS = """
name: n
parts:
  - {kind: tire, id: a1, mass: 1}
  - {kind: rim, id: b1}
  - {kind: tire, id: c1, mass: 1 g, plies: 13}
"""


class TestItems:
    document = parse_yaml(ITEMS, "f.yaml")

    def test_one_bad_item_hides_neither_the_others_nor_their_own_checks(self) -> None:
        with pytest.raises(FindingsError) as raised:
            validate_items(self.document, "parts", Part)
        assert [(finding.line, finding.rule) for finding in raised.value.findings] == [(4, "QUANTITY"), (6, "LUCK")]

    def test_the_sound_items_are_handed_back_by_their_place(self) -> None:
        records, findings = collect_items(self.document, "parts", Part)
        assert {place: record.id for place, record in records.items()} == {1: "b1"}
        assert len(findings) == 2

    def test_sound_items_come_in_file_order(self) -> None:
        document = parse_yaml("a:\n  b:\n    - {kind: rim, id: x}\n    - {kind: rim, id: y}\n", "f.yaml")
        assert [record.id for record in validate_items(document, ("a", "b"), Part)] == ["x", "y"]

    def test_a_missing_list_and_a_value_that_is_no_list_are_findings(self) -> None:
        with pytest.raises(FindingsError, match='1:1: MISSING-KEY error: the key "parts" is missing'):
            validate_items(parse_yaml("a: 1\n", "f.yaml"), "parts", Part)
        with pytest.raises(FindingsError, match="1:8: TYPE error: expected a list, found 1"):
            validate_items(parse_yaml("parts: 1\n", "f.yaml"), "parts", Part)

    def test_an_empty_list_is_no_mistake_of_its_own(self) -> None:
        assert validate_items(parse_yaml("parts: []\n", "f.yaml"), "parts", Part) == []


def test_a_part_of_a_file_can_be_checked_alone() -> None:
    document = parse_yaml("other: 1\nbead:\n  width: 3\n", "f.yaml")
    with pytest.raises(FindingsError, match="3:10: QUANTITY"):
        validate(document, Bead, at=("bead",))
    with pytest.raises(FindingsError, match='1:1: MISSING-KEY error: the key "rim" is missing'):
        validate(document, Bead, at=("rim",))


_INTERNAL_WORDS = re.compile(
    r"\b(Tire|Rim|Bead|Catalog|Record|Figure|dict|list\[|str\b|int\b|NoneType|BaseModel|pydantic|validator|"
    r"literal\[|function-|Input should)"
)

scalars = st.sampled_from(
    [None, True, 3, 2.5, -1, "", "x", "412 g", "80/100-21", "tire", "rim", [], {}, ["x"], {"width": "3 mm"}, {"a": 1}]
)
keys = [
    "kind",
    "id",
    "mass",
    "size",
    "plies",
    "tags",
    "bead",
    "masses",
    "grip",
    "steel",
    "holes",
    "offsets",
    "load",
    "xx",
]
items = st.dictionaries(st.sampled_from(keys), scalars, max_size=6) | scalars


@given(data=st.fixed_dictionaries({"name": scalars, "parts": st.lists(items, max_size=3) | scalars}))
def test_whatever_a_file_holds_the_answer_is_a_record_or_plain_findings(data: dict[str, Any]) -> None:
    document = parse_yaml(json.dumps(data), "f.yaml")
    try:
        validate(document, Catalog)
    except FindingsError as error:
        findings = error.findings
    else:
        return
    assert findings
    assert len(set(findings)) == len(findings)
    for finding in findings:
        assert finding.line == 1
        assert not _INTERNAL_WORDS.search(finding.message), finding
