"""Tables that people keep as CSV (test logs, ride verdicts): lines of a head, one header row, rows of text.

A head is lines ``# key: value`` above the header row; other lines that begin with ``#`` are remarks.  The separator is
the comma, the semicolon or the tab, whichever the header row has most of.
"""

from __future__ import annotations

import codecs
import csv
import hashlib
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from configopt.errors import Finding, FindingsError, Severity
from configopt.files.reading import read_start

#: Bytes of a file: an hour at 1 kHz with a few columns.
TABLE_BYTES = 120_000_000
TABLE_ROWS = 4_000_000
TABLE_COLUMNS = 100
#: Characters of one cell, and lines of a head.
CELL_TEXT = 2_000
HEAD_LINES = 200
_HEAD_LINE = re.compile(r"#\s*([A-Za-z][A-Za-z0-9 _]*?)\s*:\s*(.*?)\s*")


@dataclass(frozen=True)
class CsvTable:
    """One file as text.

    ``head`` holds the values of the head by key, ``head_lines`` their lines; ``columns`` the header row and ``rows``
    what stands below it, cells stripped of blanks around them, every row as long as the header row.  ``sha256`` is that
    of the file's bytes, in hexadecimal.
    """

    path: str
    sha256: str
    head: dict[str, str]
    head_lines: dict[str, int]
    columns: tuple[str, ...]
    header_line: int
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    """Line on which each row begins, from 1."""
    separator: str
    texts: tuple[str, ...]
    """The file's lines."""

    def place(self, row: int | None, column: int | None) -> tuple[int, int]:
        """Line and column, from 1, where a cell begins; ``row`` None is the header row, ``column`` None its start."""
        line = self.header_line if row is None else self.lines[row]
        if column is None:
            return line, 1
        text = self.texts[line - 1]
        at, quoted, cell = 0, False, 0
        while cell < column and at < len(text):
            if text[at] == '"':
                quoted = not quoted
            elif text[at] == self.separator and not quoted:
                cell += 1
            at += 1
        return line, at + 1 if cell == column else len(text) + 1

    def finding(
        self,
        row: int | None,
        column: int | None,
        rule: str,
        message: str,
        fix: str = "",
        *,
        severity: Severity = "error",
    ) -> Finding:
        """Make a finding at a cell of the table."""
        return Finding(self.path, *self.place(row, column), rule, severity, message, fix)

    def head_finding(
        self, key: str | None, rule: str, message: str, fix: str = "", *, severity: Severity = "error"
    ) -> Finding:
        """Make a finding at a line of the head, or where the head begins."""
        line = self.head_lines.get(key, 1) if key is not None else 1
        return Finding(self.path, line, 1, rule, severity, message, fix)


def read_csv_table(path: str | Path) -> CsvTable:
    """Read one file.

    Parameters
    ----------
    path
        The file: UTF-8, with or without byte order mark; nothing but a plain file is opened.

    Returns
    -------
    CsvTable
        Its head, header and rows.  Rows without any text are left out.

    Raises
    ------
    FindingsError
        If it cannot be read, is no CSV, has no header row, names a column or a key twice, or breaks a limit.
    """
    name = str(path)
    try:
        raw = read_start(path, TABLE_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        message = f"the file cannot be read: {reason}"
        raise FindingsError([Finding(name, 0, 0, "FILE", "error", message, "correct the path")]) from None
    text = decoded_csv(raw, name, TABLE_BYTES)
    # Only what editors count as the end of a line: a form feed or U+2028 in a cell ends none.
    texts = tuple(re.split("\r\n|\r|\n", text.removesuffix("\n").removesuffix("\r")))
    head, head_lines, header_line = _read_head(name, texts)
    separator = separator_of(texts[header_line - 1])
    columns, rows, lines = _read_rows(name, texts, header_line, separator)
    return CsvTable(
        name, hashlib.sha256(raw).hexdigest(), head, head_lines, columns, header_line, rows, lines, separator, texts
    )


def _read_head(name: str, texts: Sequence[str]) -> tuple[dict[str, str], dict[str, int], int]:
    """Values of the head, their lines, and the line of the header row."""
    head: dict[str, str] = {}
    head_lines: dict[str, int] = {}
    for number, text in enumerate(texts, 1):
        # A spreadsheet quotes a line that holds a separator and pads it with empty cells.
        bare = text.strip().rstrip(",;\t")
        bare = bare[1:-1] if bare.startswith('"') and bare.endswith('"') else bare
        if not bare:
            continue
        if not bare.startswith("#"):
            return head, head_lines, number
        found = _HEAD_LINE.fullmatch(bare)
        if found is None:
            continue
        key = found[1].casefold().replace(" ", "_")
        if key in head:
            message = f'the head states "{key}" a second time, first on line {head_lines[key]}'
            raise FindingsError([Finding(name, number, 1, "LOG-HEAD", "error", message, "keep one of them")])
        if len(found[2]) > CELL_TEXT or len(head) == HEAD_LINES:
            message = f"a head has at most {HEAD_LINES} lines of at most {CELL_TEXT:,} characters"
            raise FindingsError([Finding(name, number, 1, "SHEET-LIMIT", "error", message, "shorten it")])
        head[key], head_lines[key] = found[2], number
    message, fix = "there is no header row", "name the columns in one row, each with its unit, as in: speed (km/h)"
    raise FindingsError([Finding(name, max(1, len(texts)), 1, "SHEET-EMPTY", "error", message, fix)])


def _read_rows(
    name: str, texts: Sequence[str], header_line: int, separator: str
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...], tuple[int, ...]]:
    """The header row, the rows below it, and the line of each."""
    reader = csv.reader(io.StringIO("\n".join(texts[header_line - 1 :])), delimiter=separator, strict=True)
    columns: tuple[str, ...] = ()
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    findings: list[Finding] = []
    begin = header_line
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            break
        except csv.Error as error:
            message = f"not readable as CSV: {error}"
            fix = "put a cell with a quote, a separator or a line end in quotes, and double the quotes in it"
            raise FindingsError([Finding(name, begin, 1, "SHEET-SYNTAX", "error", message, fix)]) from None
        line, begin = begin, header_line + reader.line_num
        row = tuple(cell.strip() for cell in cells)
        if not columns:
            columns = _named_columns(name, line, row)
            continue
        if not any(row):
            continue
        if len(rows) == TABLE_ROWS:
            message = f"a table has at most {TABLE_ROWS:,} rows, this one has more"
            raise FindingsError([Finding(name, line, 1, "SHEET-LIMIT", "error", message, "split it")])
        if max(map(len, row)) > CELL_TEXT:
            message = f"a cell has at most {CELL_TEXT:,} characters"
            raise FindingsError([Finding(name, line, 1, "SHEET-LIMIT", "error", message, "shorten it")])
        if len(row) > len(columns) and any(row[len(columns) :]):
            message = f"the row has {len(row)} cells, the header row names {len(columns)} columns"
            fix = "put a cell that holds the separator in quotes, or name the column"
            findings.append(Finding(name, line, 1, "SHEET-SYNTAX", "error", message, fix))
            if len(findings) == 20:
                break
        rows.append((*row[: len(columns)], *("",) * (len(columns) - len(row))))
        lines.append(line)
    if findings:
        raise FindingsError(findings)
    return columns, tuple(rows), tuple(lines)


def _named_columns(name: str, line: int, row: tuple[str, ...]) -> tuple[str, ...]:
    """The header row without the empty cells at its end."""
    columns = list(row)
    while columns and not columns[-1]:
        columns.pop()
    findings = []
    if len(columns) > TABLE_COLUMNS:
        message = f"a table has at most {TABLE_COLUMNS} columns, this one has {len(columns)}"
        findings.append(Finding(name, line, 1, "SHEET-LIMIT", "error", message, "remove some"))
    for number, column in enumerate(columns):
        if not column:
            message = f"column {number + 1} has no name"
            findings.append(Finding(name, line, 1, "LOG-COLUMN", "error", message, "name it, or remove it"))
        elif column.casefold() in (other.casefold() for other in columns[:number]):
            message = f'there are two columns "{column}"'
            findings.append(Finding(name, line, 1, "LOG-COLUMN", "error", message, "keep one of them"))
    if findings:
        raise FindingsError(findings)
    return tuple(columns)


def separator_of(header: str) -> str:
    """Comma, semicolon or tab: what a header row has most of outside quotes.

    >>> separator_of("time (s);speed (km/h)")
    ';'
    """
    bare = re.sub(r'"[^"]*"', "", header)
    return max(",;\t", key=bare.count)


def decoded_csv(raw: bytes, path: str, most: int) -> str:
    """The text of a CSV file.

    Parameters
    ----------
    raw
        Its bytes: UTF-8, with or without byte order mark.
    path
        What findings call it.
    most
        Bytes it may have.

    Raises
    ------
    FindingsError
        If it has more bytes, is no UTF-8 text, or holds a NUL character.
    """
    if len(raw) > most:
        message = f"a CSV file has at most {most:,} bytes, this one has more"
        raise FindingsError([Finding(path, 0, 0, "SHEET-LIMIT", "error", message, "split it")])
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        message, fix = "the file is UTF-16 text", "save it as CSV in UTF-8"
        raise FindingsError([Finding(path, 0, 0, "SHEET-ENCODING", "error", message, fix)])
    if raw.startswith(b"PK\x03\x04"):
        message, fix = "the file is a workbook or another archive, no CSV", "save its sheet as CSV in UTF-8"
        raise FindingsError([Finding(path, 0, 0, "SHEET-ENCODING", "error", message, fix)])
    data = raw.removeprefix(codecs.BOM_UTF8)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8")
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        message, fix = f"byte 0x{data[error.start]:02x} is not UTF-8", "save the file as CSV in UTF-8"
        raise FindingsError([Finding(path, line, column, "SHEET-ENCODING", "error", message, fix)]) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        message = "the file holds the character U+0000"
        raise FindingsError([Finding(path, line, 1, "SHEET-ENCODING", "error", message, "save it as CSV in UTF-8")])
    return text
