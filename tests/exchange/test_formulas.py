"""No text becomes a formula in a spreadsheet programme, and every text comes back as it was."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from configopt.errors import FindingsError
from configopt.exchange.convert import convert, written
from configopt.exchange.layout import FamilyText
from configopt.exchange.layout_reader import read_layout
from configopt.files.yaml_source import parse_yaml

RISKY = [
    "=1+1",
    '=HYPERLINK("http://example.invalid";"x")',
    "+1+1",
    "-1+1",
    "-5",
    "@SUM(A1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "  =1+1",
    "\xa0=1+1",
    "＝1+1",
    "＠SUM(A1)",
    "'=1+1",
    "''",
    "a;=1+1",
    'a,"=1+1',
    "#REF!",
    "#N/A",
    "a_x003D_b",
]
#: What a spreadsheet programme may take for the begin of a formula.
LEADS = "=+-@\t\r\n＝＋－＠"


def hostile() -> str:
    """A sources file whose titles and comments begin like formulas."""
    text = "# =1+1\nfamily: sources\nparts:\n"
    for number, title in enumerate(RISKY):
        quoted = title.replace("\\", "\\\\").replace('"', '\\"')
        for character, code in (("\t", "\\t"), ("\r", "\\r"), ("\n", "\\n")):
            quoted = quoted.replace(character, code)
        text += f'  - id: s-{number}\n    title: "{quoted}"   # =1+1\n    grade: measured\n    date: 2025-01-01\n'
    return text


@pytest.fixture(scope="module")
def families() -> tuple[FamilyText, ...]:
    text = hostile()
    assert [part["title"] for part in parse_yaml(text, "hostile").data["parts"]] == RISKY
    return (read_layout(text, "sources", "sources.yaml"),)


def titles(path: Path) -> list[str]:
    content = written(convert(path).families, "yaml")["sources"]
    return [part["title"] for part in parse_yaml(content, "back").data["parts"]]


def test_no_cell_of_a_csv_file_begins_like_a_formula(families: tuple[FamilyText, ...], tmp_path: Path) -> None:
    content = written(families, "csv")["sources"]
    cells = [cell for row in csv.reader(io.StringIO(content.decode(), newline="")) for cell in row]
    assert sum(cell.startswith("'") for cell in cells) >= 14
    assert [cell for cell in cells if cell.lstrip(" \xa0")[:1] in LEADS and cell] == []
    (tmp_path / "sources.csv").write_bytes(content)
    assert titles(tmp_path / "sources.csv") == RISKY


def test_no_cell_of_a_workbook_is_a_formula(families: tuple[FamilyText, ...], tmp_path: Path) -> None:
    path = tmp_path / "sources.xlsx"
    path.write_bytes(written(families, "xlsx")[""])
    workbook = openpyxl.load_workbook(path)
    cells = [cell for sheet in workbook for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} == {"s"}
    assert [cell.value for cell in cells if str(cell.value).lstrip(" \xa0")[:1] in LEADS] == []
    with zipfile.ZipFile(path) as archive:
        sheets = [archive.read(name) for name in archive.namelist() if name.startswith("xl/worksheets/")]
    assert len(sheets) == 2
    assert not any(re.search(rb"<f[ >/]", sheet) for sheet in sheets)
    assert titles(path) == RISKY


def test_negative_numbers_stay_numbers(shipped: dict[str, str], tmp_path: Path) -> None:
    made = (read_layout(shipped["disc-wheels"], "disc-wheels", "disc-wheels.yaml"),)
    content = written(made, "csv")["disc-wheels"].decode()
    rows = list(csv.reader(io.StringIO(content)))
    header = next(row for row in rows if row[0] == "id")
    offsets = [row[header.index("offset [mm]")] for row in rows[rows.index(header) + 1 :]]
    assert offsets[0] == "-12"
    (tmp_path / "a.xlsx").write_bytes(written(made, "xlsx")[""])
    sheet = openpyxl.load_workbook(tmp_path / "a.xlsx")["disc-wheels"]
    column = [cell.value for cell in sheet[1]].index("offset [mm]") + 1
    cell = sheet.cell(2, column)
    assert (cell.value, cell.data_type) == (-12, "n")


def test_a_formula_in_a_workbook_is_a_finding_at_its_cell(edited: Any) -> None:
    path = edited(pads={"F3": "=1+1", "H4": "=SUM(A1:A3)"})
    with pytest.raises(FindingsError) as caught:
        convert(path)
    first, second = caught.value.findings
    assert (first.line, first.column, first.rule) == (3, 6, "SHEET-FORMULA")
    assert first.message == "sheet pads, cell F3: a formula: =1+1"
    assert "paste it as value" in first.fix
    assert (second.line, second.column) == (4, 8)


def test_a_text_typed_with_an_equals_sign_is_taken_as_it_is(edited: Any, tmp_path: Path) -> None:
    # An apostrophe typed in front does not reach the file: the cell then holds the bare text.
    path = edited(sources={})
    workbook = openpyxl.load_workbook(path)
    cell = workbook["sources"]["B2"]
    cell.value, cell.data_type = "=no formula", "s"
    workbook.save(path)
    back = {made.family: made for made in convert(path).families}["sources"]
    assert back.entries[0].leaves[1].text == "=no formula"
