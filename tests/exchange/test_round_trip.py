"""Nothing is lost: YAML to CSV or XLSX and back gives the same bytes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from configopt.exchange.convert import convert, written
from configopt.exchange.csv_door import csv_text
from configopt.exchange.layout import Comment, Entry, FamilyText, HeadLine, Leaf, render, scalar
from configopt.exchange.layout_reader import read_layout
from configopt.exchange.table import table_of
from configopt.files.yaml_source import parse_yaml

ROOT = Path(__file__).parents[2]
FEW = settings(max_examples=20, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


def back(folder: Path) -> dict[str, str]:
    """Text of every family that a folder or a workbook holds, as it would be written."""
    return {name: content.decode() for name, content in written(convert(folder).families, "yaml").items()}


def test_every_shipped_catalog_is_in_the_house_layout(shipped: dict[str, str]) -> None:
    for name, text in shipped.items():
        assert render(read_layout(text, name, name)).text == text


def test_the_shipped_catalogs_come_back_from_csv_byte_for_byte(
    families: tuple[FamilyText, ...], shipped: dict[str, str], tmp_path: Path
) -> None:
    for name, content in written(families, "csv").items():
        (tmp_path / f"{name}.csv").write_bytes(content)
    assert back(tmp_path) == shipped


def test_the_shipped_catalogs_come_back_from_a_workbook_byte_for_byte(
    workbook_bytes: bytes, shipped: dict[str, str], tmp_path: Path
) -> None:
    (tmp_path / "catalogs.xlsx").write_bytes(workbook_bytes)
    assert back(tmp_path / "catalogs.xlsx") == shipped


def test_two_runs_give_the_same_workbook(families: tuple[FamilyText, ...], workbook_bytes: bytes) -> None:
    assert written(families, "xlsx")[""] == workbook_bytes


def through(text: str, family: str, kind: str, folder: Path) -> str:
    """A file through CSV or XLSX and back, with the loader's checks of a single family."""
    (folder / f"{family}.yaml").write_text(text, encoding="utf-8", newline="\n")
    made = convert(folder / f"{family}.yaml").families
    (content,) = written(made, kind).values()
    other = folder / "other"
    other.mkdir(exist_ok=True)
    (other / f"{family}.{kind}").write_bytes(content)
    (result,) = written(convert(other / f"{family}.{kind}").families, "yaml").values()
    return result.decode()


COMMENTED = """\
# Head.

#   indented text

family: rims   # of the family
currency: EUR
parts:  # here they are
  # Group one.

  # Still group one.
  - id: one   # behind the id
    name: "#1 + \\"two\\""
    # before the maker
    maker: A & B
    supplier: =SUM(A1:A9)   # a formula that is none
    lead_time: 30 days

    size: WM 1.60x21
    material: aluminium
    mass: 1.32 kg +- 0.02 kg
    effective_diameter: 517.0 mm
    holes: 36
    flange_height: 0.5 in
    lock_holes: 1
    tubeless: false
    maximum_pressure: 350 kPa
    maximum_load: 210 kg +- 5 %
    maximum_spoke_tension: 2100 N
    radial_rigidity: 820 N m2
    lateral_rigidity: 3600 N m2
    torsional_rigidity: 58 N m2
    prices:   # tiers
      # the first
      - quantity: 1   # piece
        unit_price: 74.00
      - quantity: 20
        unit_price: 1e1
    source: harrowbeck-sheet
    figure_sources:
      # weighed
      mass: weighing-2025
      holes: parts-estimate   # counted
    # the end of one
  # Group two.
  - id: two
    name: "null"
    supplier: "-5"
    maker: "+49"
    status: concept
    lead_time: 30 days
    size: WM 1.85x21
    material: aluminium
    mass: 1120 to 1220 g
    effective_diameter: 516 mm
    holes: 36
    flange_height: 12.50 mm
    tubeless: true
    maximum_pressure: 3 bar
    maximum_load: 0.205 t
    maximum_spoke_tension: 1800 N
    radial_rigidity: 600 to 760 N m2
    lateral_rigidity: 4000 N m2 +- 200 N m2
    torsional_rigidity: 58.10 N m2
    prices:
      - quantity: 1
        unit_price: 118 to 130
    source: own-parts-estimate
    figure_sources:
      holes: parts-estimate
      mass: weighing-2025
    note: ""
    # nothing follows

# Foot.
"""


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_comments_empty_lines_units_and_orders_of_keys_come_back(kind: str, tmp_path: Path) -> None:
    assert through(COMMENTED, "rims", kind, tmp_path) == COMMENTED


OTHER_LAYOUT = """\
---
{family: sources, parts: [
  # one
  {id: a, title: 'It''s "so"', grade: measured, date: '2025-01-01'},   # behind
  # two
  {id: b, title: >-
    folded
    text, grade: estimated, date: 2025-01-01}
  # last
]}
"""

OUTSIDE_IN = """\
parts:
# at the dash
- id: a
  title: |   # literal
    two
    lines # no comment

  grade: measured
  date:   "2025-01-01"   # quoted
# between
- {id: b, title: b, grade: measured, date: 2025-01-01}   # flow
# after
family: sources   # at the end
# foot
"""


@pytest.mark.parametrize("kind", ["csv", "xlsx", "yaml"])
@pytest.mark.parametrize("text", [OUTSIDE_IN, COMMENTED.replace("\n", "\r\n")])
def test_another_layout_keeps_its_values_and_comments(kind: str, text: str, tmp_path: Path) -> None:
    family = "rims" if "rims" in text else "sources"
    came = through(text, family, kind, tmp_path)
    assert parse_yaml(came, "came").data == parse_yaml(text, "text").data
    assert comments(came) == comments(text.replace("# no comment", ""))
    assert through(came, family, kind, tmp_path) == came  # from then on nothing changes


def comments(text: str) -> list[str]:
    return sorted(re.findall(r"#[^\n\r]*", re.sub(r"""["']#1.*|lines # no comment""", "", text)))


def test_flow_style_keeps_its_values(tmp_path: Path) -> None:
    text = OTHER_LAYOUT.replace(">-\n    folded\n    text", "'folded\n    text'")
    came = through(text, "sources", "csv", tmp_path)
    assert parse_yaml(came, "came").data == parse_yaml(text, "text").data
    assert comments(came) == comments(text)


def test_a_head_that_a_table_could_not_tell_from_its_rows_is_made_anew(tmp_path: Path) -> None:
    text = '--- # one\n"family": sources   # two\n# three\nparts:\n  - id: a\n    title: a\n    grade: measured\n'
    text += "    date: 2025-01-01\n   \n  # end\n \n"
    came = through(text, "sources", "csv", tmp_path)
    assert came.splitlines()[:6] == ["# one", "# two", "# three", "family: sources", "parts:", "  - id: a"]
    assert came.endswith("    date: 2025-01-01\n\n  # end\n\n")


def test_a_list_of_records_that_was_added_later_just_works(tmp_path: Path) -> None:
    text = (ROOT / "catalogs" / "pads.yaml").read_text(encoding="utf-8")
    waived = '    waivers:\n      - rule: FIGURE-USUAL\n        reason: Measured twice, "so" it is.\n'
    text = text.replace("    source: arrowhythe-sheet\n", f"    source: arrowhythe-sheet\n{waived}", 1)
    assert through(text, "pads", "csv", tmp_path) == text
    assert "waivers.1.rule,waivers.1.reason" in csv_text(table_of(read_layout(text, "pads", "pads")))


# Characters that the strict loader allows, among them those that spreadsheets, CSV and XML treat in their own way.
ODD = "=+-@'\"#:,;|{}[]&*!%?<>_x000D_\\/$`~ \t\n\r\xa0\u2009°µé漢😀\u0301＝＋"
TEXTS = st.one_of(
    st.text(alphabet=ODD, max_size=20),
    st.text(alphabet=st.characters(min_codepoint=0x20, max_codepoint=0x2FF, exclude_characters="\x7f"), max_size=20),
    st.sampled_from(
        [
            "null",
            "true",
            "~",
            "''",
            '""',
            "{}",
            "[]",
            "-5",
            "007",
            "1e5",
            "2025-01-01",
            "TRUE",
            ".inf",
            "#N/A",
            "_x0041_",
        ]
    ),
).filter(lambda text: re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]", text) is None)
COMMENT_TEXTS = st.text(alphabet="ab =+'\",;:{}-é😀", max_size=12).map(lambda text: f"# {text}".rstrip())


@st.composite
def source_entries(draw: st.DrawFn) -> Entry:
    """An entry of sources with any texts, any order of keys and comments anywhere."""
    number = draw(st.integers(0, 10**9))
    values = {
        "id": f"s-{number}",
        "title": draw(TEXTS),
        "grade": draw(st.sampled_from(["measured", "data sheet", "estimated"])),
        "date": "2025-06-20",
        "note": draw(TEXTS),
    }
    keys = draw(st.permutations(list(values)))
    leaves = tuple(Leaf((key,), values[key]) for key in keys if key != "note" or draw(st.booleans()))
    said: list[Comment] = [
        Comment("entry", draw(st.one_of(COMMENT_TEXTS, st.just("")))) for _ in range(draw(st.integers(0, 2)))
    ]
    for leaf in leaves:
        if draw(st.booleans()) and leaf is not leaves[0]:
            said.append(Comment("before", draw(st.one_of(COMMENT_TEXTS, st.just(""))), leaf.path))
        if draw(st.booleans()):
            said.append(Comment("behind", f"{draw(st.sampled_from([' ', '   ']))}{draw(COMMENT_TEXTS)}", leaf.path))
    if draw(st.booleans()):
        said.append(Comment("end", draw(COMMENT_TEXTS)))
    return Entry(leaves, tuple(said))


@FEW
@example(
    [
        Entry(
            (Leaf(("id",), "s"), Leaf(("title",), "\xa0"), Leaf(("grade",), "measured"), Leaf(("date",), "2025-01-01")),
            (Comment("behind", " #", ("title",)),),
        )
    ]
)
@given(st.lists(source_entries(), min_size=1, max_size=4, unique_by=lambda entry: dict_of(entry)["id"]))
def test_any_texts_and_comments_come_back(tmp_path_factory: pytest.TempPathFactory, entries: list[Entry]) -> None:
    head = tuple(map(HeadLine, ("# head", "family: sources", "parts:")))
    text = render(FamilyText("sources", head, tuple(entries), (HeadLine("# foot"),))).text
    data = parse_yaml(text, "made").data
    assert [dict(part) for part in data["parts"]] == [dict_of(entry) for entry in entries]
    folder = tmp_path_factory.mktemp("any")
    for kind in ("csv", "xlsx"):
        assert through(text, "sources", kind, folder) == text


def dict_of(entry: Entry) -> dict[str, str]:
    return {str(leaf.path[0]): leaf.text for leaf in entry.leaves}


NUMBERS = st.one_of(
    st.decimals("0.001", "999", places=3).map(str),
    st.integers(1, 9999).map(str),
    st.sampled_from(["1.0", "2.50", "1e2", "5.", "3.14159265358979323846", "0012.5"]),
)


@st.composite
def masses(draw: st.DrawFn) -> str:
    """A mass as people write it."""
    number, unit = draw(NUMBERS), draw(st.sampled_from(["g", "kg", "lb", "oz"]))
    spread = draw(st.sampled_from(["", "", " +- 2 %", " +- 0.5 g", " ± 1 oz", " +/- 0.01 kg", f" +- 0.10 {unit}"]))
    return f"{number}{draw(st.sampled_from([' ', ' ', '', '  ']))}{unit}{spread}"


@FEW
@given(
    st.lists(
        st.tuples(masses(), st.sampled_from(["0.40", "0.4 +- 0.03", "40 %", "0.4 +- 6 %", "'0.40'"])),
        min_size=1,
        max_size=6,
    )
)
def test_any_way_of_writing_a_figure_comes_back(
    tmp_path_factory: pytest.TempPathFactory, written_figures: list[tuple[str, str]]
) -> None:
    text = "family: pads\ncurrency: EUR\nparts:\n"
    for number, (mass, friction) in enumerate(written_figures):
        text += (
            f"  - id: pad-{number}\n    name: Pad\n    maker: M\n    supplier: S\n    lead_time: 14 days\n"
            f"    shape: bar\n    compound: resin\n    friction: {friction}\n    area: 4.9 cm2\n    height: 14 mm\n"
            f"    maximum_temperature: 300 °C\n    mass: {mass}\n    prices:\n      - quantity: 1\n"
            f"        unit_price: 9.50\n    source: sheet\n"
        )
    folder = tmp_path_factory.mktemp("figures")
    expected = text.replace("'0.40'", '"0.40"')
    for kind in ("csv", "xlsx"):
        assert through(text, "pads", kind, folder) == expected


@given(TEXTS)
@settings(max_examples=200, deadline=None)
def test_a_text_is_quoted_only_where_it_needs_it_and_reads_as_itself(text: str) -> None:
    shown = scalar(text)
    assert parse_yaml(f"k: {shown}\nl:\n  - {shown}\n", "made").data == {"k": text, "l": [text]}
    assert not shown.startswith('"') or "\t" in text or not reads_bare(text)


def reads_bare(text: str) -> bool:
    try:
        return bool(parse_yaml(f"k: {text}\nl:\n  - {text}\n", "bare").data == {"k": text, "l": [text]})
    except Exception:
        return False
