"""Every mistake in a table is told at its sheet, row and column."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from configopt.errors import Finding, FindingsError
from configopt.exchange.convert import convert, written
from configopt.exchange.layout import FamilyText
from configopt.exchange.sheet import letters

ROOT = Path(__file__).parents[2]


def found(path: Path, beside: Path | None = None) -> list[Finding]:
    with pytest.raises(FindingsError) as caught:
        convert(path, beside=beside)
    return caught.value.findings


@pytest.fixture(scope="module")
def pads(few: tuple[FamilyText, ...]) -> list[list[str]]:
    """The pads as rows of a CSV file without its head."""
    content = written(few[:1], "csv")["pads"].decode()
    rows = list(csv.reader(io.StringIO(content, newline="")))
    return rows[[row[0] for row in rows].index("id") :]


@pytest.fixture
def changed(pads: list[list[str]], tmp_path: Path) -> Callable[..., Path]:
    """The pads as a CSV file with some cells changed, by header and row."""

    def make(cells: dict[tuple[str, int], str], *, head: str = "family: pads\ncurrency: EUR\n") -> Path:
        rows = [list(row) for row in pads]
        for (header, row), value in cells.items():
            rows[row - 1][rows[0].index(header)] = value
        out = io.StringIO()
        out.write(head)
        csv.writer(out, lineterminator="\n").writerows(rows)
        path = tmp_path / "pads.csv"
        path.write_text(out.getvalue(), encoding="utf-8")
        return path

    return make


CASES = [
    ("mass [g]", 3, "-18", "RANGE", 'found "-18 g", allowed is above 0 g'),
    ("mass [g]", 3, "eighteen", "QUANTITY", 'found "eighteen", expected a mass'),
    ("mass [g]", 3, "18 mm", "QUANTITY", '"mm" is a unit of length, expected a mass'),
    ("mass [g]", 3, "1,8", "QUANTITY", "found a comma"),
    ("mass [g]", 3, "", "MISSING-KEY", "mass is empty"),
    ("id", 3, "Hythe Spark", "VALUE", 'found "Hythe Spark", allowed is text of the form'),
    ("id", 3, "hythe-felt-kite", "DUPLICATE-ID", 'the id "hythe-felt-kite" stands already at'),
    ("id", 3, "", "MISSING-KEY", "id is empty"),
    ("compound", 3, "resn", "CHOICE", 'found "resn", allowed: resin, sintered, cermet'),
    ("prices.1.quantity", 3, "1.5", "TYPE", "expected a whole number, found 1.5"),
    ("prices.1.quantity", 3, "", "MISSING-KEY", "prices.1.quantity is empty"),
    ("prices.2.unit_price [EUR]", 3, "99.00", "VALUE", "unit prices must not rise with quantity"),
    ("friction", 3, "", "SHEET-CELL", "an uncertainty, but friction is empty"),
    ("figure_sources.life", 3, "nowhere", "REFERENCE", 'there is no source "nowhere"'),
    ("maker", 3, "x" * 300, "YAML-LIMIT", "a text has at most 200 characters here, this one has 300"),
    ("maker", 3, "bell\x07", "YAML-SYNTAX", "the character U+0007 is not allowed"),
    ("name", 3, "{}", "TYPE", "expected text, found a group of keys"),
]


@pytest.mark.parametrize(
    ("header", "row", "value", "rule", "message"), CASES, ids=[f"{c[0]}={c[2][:8]!r}" for c in CASES]
)
def test_a_mistake_in_a_csv_file_is_told_at_its_row_and_column(
    changed: Callable[..., Path], pads: list[list[str]], header: str, row: int, value: str, rule: str, message: str
) -> None:
    path = changed({(header, row): value})
    findings = found(path, beside=ROOT / "catalogs")
    assert [(one.path, one.line, one.rule) for one in findings] == [(str(path), row + 2, rule)]
    assert message in findings[0].message
    column = pads[0].index(header) + 1
    # An uncertainty stands beside its figure.
    assert findings[0].column == column + (header == "friction")


@pytest.mark.parametrize(("header", "row", "value", "rule", "message"), CASES[:3] + CASES[5:7])
def test_the_same_mistake_in_a_workbook_names_sheet_and_cell(
    edited: Callable[..., Path], pads: list[list[str]], header: str, row: int, value: str, rule: str, message: str
) -> None:
    column = pads[0].index(header) + 1
    cell = f"{letters(column)}{row}"
    path = edited(pads={cell: float(value) if value == "-18" else value})
    findings = found(path, beside=ROOT / "catalogs")
    assert [(one.line, one.column, one.rule) for one in findings] == [(row, column, rule)]
    assert findings[0].message.startswith(f"sheet pads, cell {cell}: ")
    assert message in findings[0].message


def test_a_duplicate_names_the_cell_of_the_first(edited: Callable[..., Path]) -> None:
    (one,) = found(edited(pads={"A4": "hythe-felt-kite"}), beside=ROOT / "catalogs")
    assert one.message == 'sheet pads, cell A4: the id "hythe-felt-kite" stands already at sheet pads, cell A2'


def test_an_id_of_a_part_that_lies_beside_names_both_places(edited: Callable[..., Path], copies: Path) -> None:
    lines = (copies / "rims.yaml").read_text(encoding="utf-8").splitlines()
    (one,) = found(edited(pads={"A4": "harrow-21-160-36"}), beside=copies)
    line = lines.index("  - id: harrow-21-160-36") + 1
    assert one.message == (
        f'sheet pads, cell A4: the id "harrow-21-160-36" stands already at {copies / "rims.yaml"}:{line}'
    )


def test_all_mistakes_are_told_at_once_in_order(edited: Callable[..., Path]) -> None:
    findings = found(edited(pads={"G2": "resn", "A5": "Bad Id", "M6": -1}, sources={"C4": "guess"}))
    assert [(one.line, one.column) for one in findings] == [(2, 7), (4, 3), (5, 1), (6, 13)]
    assert [one.message.split(":")[0] for one in findings] == [
        "sheet pads, cell G2",
        "sheet sources, cell C4",
        "sheet pads, cell A5",
        "sheet pads, cell M6",
    ]


def test_a_source_that_a_part_beside_needs_is_missed_there(edited: Callable[..., Path], copies: Path) -> None:
    (one,) = {(finding.path, finding.rule) for finding in found(edited(sources={"A2": "other-sheet"}), beside=copies)}
    assert one == (str(copies / "tires.yaml"), "REFERENCE")


HEADERS = [
    ("mass [g]", "mas [g]", 'the header "mas [g]" is no field of pads', 'did you mean "mass"?'),
    ("mass [g]", "mass [mm]", '"mm" is a unit of length, expected a mass', ""),
    ("mass [g]", "mass [stone]", '"stone" is no unit of mass', ""),
    ("mass [g]", "mass", "the column mass holds numbers (first in row 4), but its header states no unit", "mass [g]"),
    ("name", "name [g]", "states a unit or an uncertainty, but name has none", "write name"),
    ("name", "maker", 'the header "maker" stands already in column B', ""),
    ("name", "", "a value in a column without header: Felt kite", ""),
    ("prices.1.unit_price [EUR]", "prices.1.unit_price [USD]", "the header says USD, the head of the file EUR", ""),
    ("prices.1.quantity", "prices.0.quantity", 'the header "prices.0.quantity" is no field', ""),
    ("name", "a" * 3000, "is no field of pads", ""),
]


@pytest.mark.parametrize(("old", "new", "message", "fix"), HEADERS, ids=[case[1][:20] for case in HEADERS])
def test_a_mistake_in_a_header_is_told_at_it(
    changed: Callable[..., Path], pads: list[list[str]], old: str, new: str, message: str, fix: str
) -> None:
    findings = found(changed({(old, 1): new}))
    assert any(message in one.message and fix in one.fix and one.line in (3, 4) for one in findings)
    column = pads[0].index(old) + 1
    # Of two columns with one header the second is told.
    assert any(one.column == column + (new == "maker") for one in findings)


def test_a_column_that_every_entry_needs_is_missed_once(changed: Callable[..., Path]) -> None:
    (one,) = found(changed({("maker", 1): "# maker", ("area [cm2]", 1): "# area"}))
    assert (one.line, one.column, one.message) == (3, 1, "no column for maker, area")


def test_columns_in_another_order_give_the_same_entries(pads: list[list[str]], tmp_path: Path) -> None:
    order = sorted(range(len(pads[0])), key=lambda number: pads[0][number][::-1])
    for name, rows in (("one", pads), ("two", [[row[number] for number in order] for row in pads])):
        (tmp_path / name).mkdir()
        with open(tmp_path / name / "pads.csv", "w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows(rows)
    one, two = (convert(tmp_path / name).families[0] for name in ("one", "two"))
    flat = [[{(leaf.path, leaf.text) for leaf in entry.leaves} for entry in made.entries] for made in (one, two)]
    assert flat[0] == flat[1]


def test_a_list_with_a_hole_is_told_at_the_value_behind_it(changed: Callable[..., Path]) -> None:
    (one,) = found(changed({("prices.2.quantity", 2): "", ("prices.2.unit_price [EUR]", 2): ""}))
    assert (one.line, one.rule) == (4, "SHEET-CELL")
    assert one.message == "prices.3 is filled, but prices.2 is empty"


def test_a_comment_that_is_none_is_told(changed: Callable[..., Path], pads: list[list[str]], tmp_path: Path) -> None:
    rows = [
        [*row, text] for row, text in zip(pads, ["# comments", "# fine", *["mass # fine"] * 8, "not fine"], strict=True)
    ]
    path = tmp_path / "pads.csv"
    with open(path, "w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    (one,) = found(path)
    assert (one.line, one.column) == (11, len(pads[0]) + 1)
    assert one.message == '"not fine" is no comment'


def test_notes_of_the_reader_stay_out(edited: Callable[..., Path]) -> None:
    path = edited(pads={})
    workbook = openpyxl.load_workbook(path)
    workbook.create_sheet("# my sums")["A1"] = "=1+1"
    sheet = workbook["pads"]
    sheet.cell(1, sheet.max_column + 1).value = "# asked"
    sheet.cell(2, sheet.max_column).value = "on Monday"
    sheet.cell(sheet.max_row + 3, sheet.max_column).value = "in a row without an entry"
    workbook.save(path)
    assert [made.family for made in convert(path).families] == ["pads", "sources"]


def test_a_sheet_of_formulas_does_not_print_a_novel(edited: Callable[..., Path]) -> None:
    path = edited(pads={})
    workbook = openpyxl.load_workbook(path)
    for row in range(20, 420):
        workbook["pads"].cell(row, 1).value = "=1+1"
    workbook.save(path)
    findings = found(path)
    assert len(findings) == 201
    assert (findings[-1].rule, findings[-1].line) == ("MORE", 220)


@pytest.mark.parametrize(
    ("name", "hint"), [("tire", 'did you mean "tires"?'), ("Tabelle1", "families are tires, rims")]
)
def test_a_sheet_of_no_family_is_a_finding(edited: Callable[..., Path], name: str, hint: str) -> None:
    path = edited(pads={})
    workbook = openpyxl.load_workbook(path)
    workbook["pads"].title = name
    workbook.save(path)
    (one,) = found(path)
    assert one.message == f"sheet {name}: its name is no family"
    assert hint in one.fix


def test_what_a_spreadsheet_makes_of_typed_texts_is_understood_or_told(edited: Callable[..., Path]) -> None:
    path = edited(sources={"D2": datetime.datetime(2025, 3, 12), "D3": datetime.date(2024, 11, 4), "B2": 410})
    made = {family.family: family for family in convert(path).families}["sources"]
    assert [leaf.text for leaf in made.entries[0].leaves[1:4]] == ["410", "data sheet", "2025-03-12"]
    assert made.entries[1].leaves[3].text == "2024-11-04"
    (one,) = found(edited(sources={"D2": datetime.datetime(2025, 3, 12, 7, 30)}))
    assert one.message == "sheet sources, cell D2: a time: 2025-03-12 07:30:00"


def test_a_percent_cell_keeps_its_meaning(edited: Callable[..., Path], pads: list[list[str]]) -> None:
    path = edited(pads={})
    workbook = openpyxl.load_workbook(path)
    cell = workbook["pads"].cell(2, pads[0].index("friction") + 1)
    cell.value, cell.number_format = 0.41, "0.0%"
    workbook["pads"].cell(2, pads[0].index("friction +-") + 1).value = None
    workbook.save(path)
    made = convert(path).families[0]
    assert {leaf.path: leaf.text for leaf in made.entries[0].leaves}["friction",] == "41.0 %"


def test_a_price_that_was_typed_keeps_the_decimals_of_its_cell(
    edited: Callable[..., Path], pads: list[list[str]]
) -> None:
    path = edited(pads={})
    workbook = openpyxl.load_workbook(path)
    cell = workbook["pads"].cell(2, pads[0].index("prices.1.unit_price [EUR]") + 1)
    assert cell.number_format == "0.00"
    cell.value = 9.4
    workbook.save(path)
    made = convert(path).families[0]
    assert {leaf.path: leaf.text for leaf in made.entries[0].leaves}["prices", 0, "unit_price"] == "9.40"


def test_sheets_without_a_head_need_a_currency(changed: Callable[..., Path], pads: list[list[str]]) -> None:
    made = convert(changed({}, head="")).families[0]
    assert [line.text for line in made.head] == ["family: pads", "currency: EUR", "parts:"]
    bare = {(name, 1): name.split(" [")[0] for name in pads[0] if "[EUR]" in name}
    (one,) = found(changed(bare, head=""))
    assert (one.rule, one.message) == ("CURRENCY", "the prices have no currency")


def test_an_empty_table_and_one_without_header_are_told(tmp_path: Path) -> None:
    path = tmp_path / "pads.csv"
    for text, rule in (("", "SHEET-EMPTY"), ("\n\n", "SHEET-EMPTY"), ("# only\nfamily: pads\n", "SHEET-EMPTY")):
        path.write_text(text, encoding="utf-8")
        assert [one.rule for one in found(path)] == [rule]
    path.write_text("id,title,grade,date\n", encoding="utf-8")
    other = path.rename(tmp_path / "sources.csv")
    assert [one.rule for one in found(other)] == ["EMPTY-FAMILY"]
    openpyxl.Workbook().save(tmp_path / "empty.xlsx")
    assert {one.rule for one in found(tmp_path / "empty.xlsx")} == {"FAMILY"}


def test_values_beyond_the_last_header_are_told(changed: Callable[..., Path], pads: list[list[str]]) -> None:
    path = changed({})
    lines = path.read_text(encoding="utf-8").splitlines()
    for at in (4, 6):
        lines[at] += ",lost"
    lines[5] += ",,  "
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    (one,) = found(path)
    assert (one.line, one.column, one.rule) == (5, len(pads[0]) + 1, "SHEET-HEADER")
    assert one.message == "a value in a column without header: lost (also in row 7)"


def test_a_cell_beyond_the_last_header_of_a_workbook_is_told(
    edited: Callable[..., Path], pads: list[list[str]]
) -> None:
    cell = f"{letters(len(pads[0]) + 2)}3"
    (one,) = found(edited(pads={cell: "lost"}))
    assert (one.line, one.column) == (3, len(pads[0]) + 2)
    assert one.message == f"sheet pads, cell {cell}: a value in a column without header: lost"


def test_a_column_inside_a_group_is_missed_once_with_its_full_name(tmp_path: Path) -> None:
    text = written(convert(ROOT / "catalogs" / "tires.yaml", beside=ROOT / "catalogs").families, "csv")["tires"]
    rows = list(csv.reader(io.StringIO(text.decode(), newline="")))
    at = [row[0] for row in rows].index("id")
    column = rows[at].index("grip.firm")
    spread = [number for number, name in enumerate(rows[at]) if name.startswith("grip.firm +-")]
    path = tmp_path / "tires.csv"
    with open(path, "w", encoding="utf-8", newline="") as stream:
        for number, row in enumerate(rows):
            kept = [cell for place, cell in enumerate(row) if number < at or place not in (column, *spread)]
            csv.writer(stream, lineterminator="\n").writerow(kept)
    (one,) = found(path, beside=ROOT / "catalogs")
    assert (one.line, one.column) == (at + 1, 1)
    assert (one.message, one.fix) == ("no column for grip.firm", "add the column grip.firm")


@pytest.mark.parametrize(
    ("value", "number", "right"), [("03.42", "03.42", "3.42"), ("'03.42", "03.42", "3.42"), ("-00.5", "-00.5", "-0.5")]
)
def test_a_leading_zero_is_told_with_the_unit_of_the_header(
    changed: Callable[..., Path], value: str, number: str, right: str
) -> None:
    (one,) = found(changed({("mass [g]", 3): value}), beside=ROOT / "catalogs")
    assert one.message == f'"{number}" begins with a zero too many'
    assert one.fix == f'write "{right}" or "{right} g"'


@pytest.mark.parametrize(
    ("form", "text"),
    [
        ("#,##0.00", "9.40"),
        ('#,##0.00 "€"', "9.40"),
        ("#,##0.00\\ [$€-407];[Red]-#,##0.00\\ [$€-407]", "9.40"),
        ('"EUR" 0.000', "9.400"),
        ("_-* #,##0.00 €_-", "9.40"),
        ("0.##", "9.4"),
        ("General", "9.4"),
        ("0.00E+00", "9.4"),
    ],
)
def test_the_decimals_a_cell_shows_are_kept(
    edited: Callable[..., Path], pads: list[list[str]], form: str, text: str
) -> None:
    path = edited(pads={})
    workbook = openpyxl.load_workbook(path)
    cell = workbook["pads"].cell(2, pads[0].index("prices.1.unit_price [EUR]") + 1)
    cell.value, cell.number_format = 9.4, form
    workbook.save(path)
    made = convert(path).families[0]
    assert {leaf.path: leaf.text for leaf in made.entries[0].leaves}["prices", 0, "unit_price"] == text


def test_a_formula_in_a_column_of_the_reader_stays_out(edited: Callable[..., Path]) -> None:
    path = edited(pads={})
    before = convert(path).families
    workbook = openpyxl.load_workbook(path)
    sheet = workbook["pads"]
    column = sheet.max_column + 1
    sheet.cell(1, column).value = "# my sum"
    sheet.cell(2, column).value = "=1+1"
    workbook.save(path)
    assert convert(path).families == before
    sheet.cell(1, column).value = "# comments"
    workbook.save(path)
    assert "SHEET-FORMULA" in {one.rule for one in found(path)}
