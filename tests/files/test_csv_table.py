"""Tables as CSV: head, header row, rows, and where each cell stands."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import Finding, FindingsError
from configopt.files import csv_table
from configopt.files.csv_table import CELL_TEXT, TABLE_COLUMNS, CsvTable, read_csv_table

TEXT = (
    "# kind: demo\n"
    "# Who Rode: A. Rider\n"
    "# a remark without a value\n"
    "#\n"
    "time (s),note,run\n"
    "\n"
    '0,"on, two\n'
    'lines",1\n'
    "1,  plain ,2\n"
    ",,\n"
    '2,"with ""quotes""",3\n'
)


@pytest.fixture
def table(tmp_path: Path) -> CsvTable:
    return read(tmp_path, TEXT)


def read(folder: Path, text: str | bytes) -> CsvTable:
    path = folder / "t.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_csv_table(path)


def findings_of(folder: Path, text: str | bytes) -> list[tuple[int, int, str]]:
    with pytest.raises(FindingsError) as raised:
        read(folder, text)
    return [(found.line, found.column, found.rule) for found in raised.value.findings]


def test_head_header_and_rows_are_read_with_their_lines(table: CsvTable) -> None:
    assert table.head == {"kind": "demo", "who_rode": "A. Rider"}
    assert table.head_lines == {"kind": 1, "who_rode": 2}
    assert table.columns == ("time (s)", "note", "run")
    assert table.header_line == 5
    assert table.rows == (("0", "on, two\nlines", "1"), ("1", "plain", "2"), ("2", 'with "quotes"', "3"))
    assert table.lines == (7, 9, 11)


def test_a_finding_stands_where_its_cell_begins(table: CsvTable) -> None:
    assert [table.place(0, column) for column in range(3)][:2] == [(7, 1), (7, 3)]
    assert [table.place(1, column) for column in range(3)] == [(9, 1), (9, 3), (9, 12)]
    assert [table.place(2, column) for column in range(3)] == [(11, 1), (11, 3), (11, 21)]
    assert table.place(None, 1) == (5, 10)
    assert table.place(None, None) == (5, 1)


def test_a_finding_at_the_head_stands_at_its_line_or_at_the_first(table: CsvTable) -> None:
    assert table.head_finding("who_rode", "R", "m").line == 2
    assert table.head_finding("missing", "R", "m").line == 1
    assert table.finding(1, 2, "R", "m") == Finding(table.path, 9, 12, "R", "error", "m", "")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_separators_line_ends_and_marks_make_no_difference(
    separator: str, end: str, mark: bytes, tmp_path: Path
) -> None:
    text = end.join(["# kind: demo", separator.join(["a", "b"]), separator.join(["1", "2"]), ""])
    table = read(tmp_path, mark + text.encode())
    assert (table.columns, table.rows, table.lines, table.separator) == (("a", "b"), (("1", "2"),), (3,), separator)
    assert table.head == {"kind": "demo"}


@pytest.mark.parametrize("sign", ["\x0b", "\x0c", "\x1c", "\x85", "\u2028", "\u2029"])
def test_signs_that_end_no_line_in_an_editor_do_not_move_the_lines(sign: str, tmp_path: Path) -> None:
    table = read(tmp_path, f"a,b\n1,x{sign}y\n2,z\n")
    assert table.lines == (2, 3)
    assert table.rows[0][1] == f"x{sign}y"


def test_a_head_that_a_spreadsheet_padded_and_quoted_is_read(tmp_path: Path) -> None:
    table = read(tmp_path, '# kind: demo,,\n"# note: a, b",,\na,b,c\n1,2,3\n,,\n')
    assert table.head == {"kind": "demo", "note": "a, b"}
    assert table.rows == (("1", "2", "3"),)


def test_short_rows_are_filled_and_empty_cells_at_the_end_of_the_header_dropped(tmp_path: Path) -> None:
    table = read(tmp_path, "a,b,,\n1\n2,3,,\n")
    assert table.columns == ("a", "b")
    assert table.rows == (("1", ""), ("2", "3"))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", [(1, 1, "SHEET-EMPTY")]),
        ("# kind: a\n# more\n", [(2, 1, "SHEET-EMPTY")]),
        ("# kind: a\n# Kind: b\nx\n1\n", [(2, 1, "LOG-HEAD")]),
        ("a,A\n1,2\n", [(1, 1, "LOG-COLUMN")]),
        ("a,,c\n1,2,3\n", [(1, 1, "LOG-COLUMN")]),
        ("a,b\n1,2,3\n1,2\n4,5,6\n", [(2, 1, "SHEET-SYNTAX"), (4, 1, "SHEET-SYNTAX")]),
        ('a,b\n1,2\n3,"4\n5,6\n', [(3, 1, "SHEET-SYNTAX")]),
        ('a,b\n1,"2"x\n', [(2, 1, "SHEET-SYNTAX")]),
        (f"a,b\n1,{'x' * (CELL_TEXT + 1)}\n", [(2, 1, "SHEET-LIMIT")]),
        (f"# note: {'x' * (CELL_TEXT + 1)}\na\n", [(1, 1, "SHEET-LIMIT")]),
        (",".join(f"c{number}" for number in range(TABLE_COLUMNS + 1)) + "\n", [(1, 1, "SHEET-LIMIT")]),
        ("".join(f"# key{number}: x\n" for number in range(201)) + "a\n", [(201, 1, "SHEET-LIMIT")]),
        (b"a,b\n1,\xe9\n", [(2, 3, "SHEET-ENCODING")]),
        (b"a,b\n1,\0\n", [(2, 1, "SHEET-ENCODING")]),
        (b"\xff\xfea\0", [(0, 0, "SHEET-ENCODING")]),
        (b"PK\x03\x04", [(0, 0, "SHEET-ENCODING")]),
    ],
)
def test_a_mistake_is_found_at_its_place(
    text: str | bytes, expected: list[tuple[int, int, str]], tmp_path: Path
) -> None:
    assert findings_of(tmp_path, text) == expected


def test_limits_of_bytes_and_rows_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(csv_table, "TABLE_ROWS", 2)
    assert findings_of(tmp_path, "a\n1\n2\n3\n") == [(4, 1, "SHEET-LIMIT")]
    monkeypatch.setattr(csv_table, "TABLE_BYTES", 10)
    assert findings_of(tmp_path, "a\n" + "1\n" * 10) == [(0, 0, "SHEET-LIMIT")]


@given(st.text(max_size=200))
def test_any_text_is_a_table_or_findings(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        table = read_csv_table(path)
    except FindingsError as error:
        places = [(found.line, found.column) for found in error.findings]
    else:
        assert all(len(row) == len(table.columns) for row in table.rows)
        assert len(table.rows) == len(table.lines)
        places = [table.place(row, len(table.columns) - 1) for row in range(len(table.rows))]
    lines = path.read_bytes().count(b"\n") + path.read_bytes().count(b"\r") + 1
    assert all(0 <= line <= lines and column >= 0 for line, column in places)
