"""CSV: a family as text, with the lines of its head above the table.

The separator is the comma.  A file with semicolons is read too: what follows the first header ``id`` decides, and
without such a header the more frequent of the two in the header row.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from configopt.errors import FindingsError
from configopt.exchange import limits
from configopt.exchange.cells import Cell, escaped, unescaped
from configopt.exchange.layout import HEAD_LINE, HeadLine, Place
from configopt.exchange.sheet import RawSheet, finding
from configopt.exchange.table import Table
from configopt.files.csv_table import decoded_csv, separator_of

_PARTING = re.compile(r"""[",;\t\r\n]|^\s|\s$""")


def csv_text(table: Table) -> str:
    """A family as CSV (RFC 4180, but lines end with a line feed)."""
    rows: list[Sequence[Cell]] = [[escaped(line)] for line in table.head]
    rows += [table.headers, *table.rows]
    return "".join(f"{','.join(map(_quoted, row))}\n" for row in rows)


def _quoted(cell: Cell) -> str:
    """A cell, in quotes where any separator or line end in it could part it (the library's writer misses some)."""
    text = "" if cell is None else ("true" if cell else "false") if isinstance(cell, bool) else cell
    return '"' + text.replace('"', '""') + '"' if _PARTING.search(text) else text


def read_csv(
    raw: bytes,
    path: str,
    *,
    header_row: int | None = None,
    delimiter: str | None = None,
    skip: Iterable[int] = (),
) -> RawSheet:
    """Read a CSV file.

    Parameters
    ----------
    raw
        Its bytes: UTF-8, with or without byte order mark.
    path
        What findings call it.
    header_row
        Number of the row with the headers, from 1; by default the first row below the lines of a head.
    delimiter
        Comma, semicolon or tab; by default what the headers say.
    skip
        Numbers of rows that are left out.

    Returns
    -------
    RawSheet
        Its cells, all text.

    Raises
    ------
    FindingsError
        If it is no CSV, or breaks a limit.
    """
    text = decoded_csv(raw, path, limits.CSV_BYTES)
    rows = _rows(text, path, delimiter or _delimiter(text, header_row))
    return sheet_of(rows, path, None, header_row, set(skip), with_head=True)


def sheet_of(
    rows: Sequence[tuple[Cell, ...]],
    path: str,
    sheet: str | None,
    header_row: int | None,
    skip: set[int],
    *,
    with_head: bool,
) -> RawSheet:
    """Part rows into the lines of a head, the header and the rows below it."""
    head: list[HeadLine] = []
    at = 0
    if header_row is not None:
        at = header_row - 1
    else:
        for at, cells in enumerate(rows):
            filled = [number for number, cell in enumerate(cells) if cell not in (None, "")]
            if not filled:
                continue
            first = cells[0]
            line = unescaped(first)[0] if isinstance(first, str) and filled == [0] else None
            literal = first[1:] if isinstance(first, str) and first.startswith("'") else line
            if not with_head or line is None or literal is None or HEAD_LINE.fullmatch(literal) is None:
                break
            head.append(HeadLine(literal, Place(path, at + 1, 1, sheet)))
        else:
            at = len(rows)
    if at >= len(rows):
        place = Place(path, min(at, len(rows)), 1, sheet)
        raise FindingsError([finding(place, "SHEET-EMPTY", "there is no header row", "name the columns in one row")])
    below = [(number + 1, cells) for number, cells in enumerate(rows) if number > at and number + 1 not in skip]
    left = [(number + 1, cells) for number, cells in enumerate(rows) if number > at and number + 1 in skip]
    return RawSheet(path, sheet, at + 1, tuple(rows[at]), tuple(below), tuple(head), tuple(left))


def _delimiter(text: str, header_row: int | None) -> str:
    match = re.search(r'^"?id"?([,;\t])', text, re.MULTILINE)
    if match is not None:
        return match[1]
    lines = text.splitlines()
    if header_row is None:
        line = next((line for line in lines if line.strip() and not line.lstrip('"').startswith("#")), "")
    else:
        line = lines[header_row - 1] if header_row <= len(lines) else ""
    return separator_of(line)


def _rows(text: str, path: str, delimiter: str) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    cells = 0
    while True:
        place = Place(path, len(rows) + 1, 1)
        try:
            row = next(reader)
        except StopIteration:
            return rows
        except csv.Error as error:
            message = f"not readable as CSV: {error}"
            fix = "put a cell with a quote, a separator or a line end in quotes, and double the quotes in it"
            raise FindingsError([finding(place, "SHEET-SYNTAX", message, fix)]) from None
        cells += len(row)
        for wrong, most, noun in (
            (len(rows) >= limits.ROWS, limits.ROWS, "rows"),
            (len(row) > limits.COLUMNS, limits.COLUMNS, "columns"),
            (cells > limits.CELLS, limits.CELLS, "cells"),
        ):
            if wrong:
                message = f"a table has at most {most:,} {noun}, this one has more"
                raise FindingsError([finding(place, "SHEET-LIMIT", message, "split it")])
        for number, cell in enumerate(row):
            if len(cell) > limits.CELL_TEXT:
                at = Place(path, len(rows) + 1, number + 1)
                message = f"a cell has at most {limits.CELL_TEXT:,} characters, this one has {len(cell):,}"
                raise FindingsError([finding(at, "SHEET-LIMIT", message, "shorten it")])
        rows.append(tuple(row))
