"""XLSX: one workbook, one sheet a family, and a sheet with the lines around the entries of each file."""

from __future__ import annotations

import datetime
import io
import re
import warnings
from collections.abc import Iterable, Sequence
from importlib.util import find_spec
from typing import Any

from configopt.errors import ConfigoptError, Finding, FindingsError, UsageError
from configopt.exchange import limits
from configopt.exchange.cells import Cell, Number, escaped, number_text
from configopt.exchange.csv_door import sheet_of
from configopt.exchange.layout import HeadLine, Place
from configopt.exchange.package import new_archive, packed_alike, require_harmless
from configopt.exchange.sheet import RawSheet, finding, header_text, no_formula
from configopt.exchange.table import COMMENTS, KEY_ORDER, Table
from configopt.files.yaml_source import FINDING_LIMIT

#: The sheet with the lines of each file before and after its entries.
ABOUT = "about"
_ABOUT_HEADER = ("file", "lines of the file before its entries, and after parts: those behind them")
_DATE = datetime.datetime(1980, 1, 1)
#: Of a number format what is no digit: texts, conditions and currencies in brackets, escaped and padding characters.
_FORMAT_TEXT = re.compile(r'"[^"]*"|\[[^\]]*\]|[\\_*].')
_DECIMALS = re.compile(r"[^0#?.,A-Za-z/]*[#0?](?:[#0?,]*[#0?])?(?:\.(0*)[#?]*)?[^0#?.,A-Za-z/]*")
#: A spreadsheet programme writes characters that XML cannot hold in this way, and so it reads them.
_CODED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_WIDEST, _NARROWEST = 44, 8


def require_openpyxl() -> None:
    """Refuse where workbooks cannot be read and written.

    Raises
    ------
    UsageError
        If openpyxl is not installed.
    """
    if find_spec("openpyxl") is None:
        raise UsageError("workbooks need openpyxl: pip install 'configopt[xlsx]'; CSV works without")


def xlsx_bytes(tables: Sequence[Table]) -> bytes:
    """Families as a workbook; the same families always give the same bytes.

    Parameters
    ----------
    tables
        One table a family.

    Returns
    -------
    bytes
        The workbook: a header row that stays in sight, texts as texts, numbers as numbers.
    """
    require_openpyxl()
    from openpyxl import Workbook
    from openpyxl.writer.excel import ExcelWriter

    workbook = Workbook()
    workbook.properties.creator = "configopt"
    workbook.properties.created = workbook.properties.modified = _DATE
    about = workbook.active
    assert about is not None
    about.title = ABOUT
    lines = [(table.family, escaped(line)) for table in tables for line in table.head]
    _fill(about, _ABOUT_HEADER, lines, text=[True, True])
    for table in tables:
        sheet = workbook.create_sheet(table.family)
        _fill(sheet, table.headers, table.rows, text=[kind.name in ("text", "any") for kind in table.kinds])
    out = io.BytesIO()
    with new_archive(out) as archive:
        ExcelWriter(workbook, archive).save()
    return packed_alike(out.getvalue(), _DATE.strftime("%Y-%m-%dT%H:%M:%SZ"))


def _fill(sheet: Any, headers: Sequence[str], rows: Iterable[Sequence[Cell]], text: Sequence[bool]) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    widths = [len(header) for header in headers]
    for number, header in enumerate(headers, 1):
        cell = sheet.cell(1, number)
        _set(cell, header)
        cell.font = Font(bold=True)
    for row, values in enumerate(rows, 2):
        for number, value in enumerate(values, 1):
            if value is None:
                continue
            cell = sheet.cell(row, number)
            _set(cell, value)
            longest = max(len(line) for line in str(value).split("\n"))
            widths[number - 1] = max(widths[number - 1], longest)
            if isinstance(value, str) and "\n" in value:
                cell.alignment = Alignment(wrap_text=True, vertical="top")
    for number, (width, is_text) in enumerate(zip(widths, text, strict=True), 1):
        dimension = sheet.column_dimensions[get_column_letter(number)]
        dimension.width = min(max(width + 2, _NARROWEST), _WIDEST)
        if is_text:  # also what is typed later stays what it is: 4-2 becomes no date
            dimension.number_format = "@"
    sheet.freeze_panes = "B2"


def _set(cell: Any, value: str | bool) -> None:
    if isinstance(value, bool):
        cell.value = value
    elif isinstance(value, Number):
        decimals = len(value.partition(".")[2])
        cell.value = float(value) if decimals else int(value)
        cell.number_format = f"0.{'0' * decimals}" if decimals else "0"
    else:
        if len(value) > limits.CELL_TEXT:
            message = f"a text of {len(value):,} characters ({value[:40]}...) does not fit into a cell of a workbook"
            raise ConfigoptError(f"{message}, which holds {limits.CELL_TEXT:,}: shorten it, or convert to CSV")
        cell.value = _CODED.sub(r"_x005F_x\1_", value).replace("\r", "_x000D_")
        cell.data_type = "s"  # never a formula, whatever it begins with, and never an error value
        cell.number_format = "@"


def read_xlsx(
    raw: bytes, path: str, *, only: str | None = None, header_row: int | None = None
) -> list[tuple[str, list[tuple[Cell, ...]]]]:
    """Read the cells of a workbook.

    Parameters
    ----------
    raw
        Its bytes.
    path
        What findings call it.
    only
        The one sheet that is wanted; the others are not looked at.
    header_row
        Number of the row with the headers, from 1; by default the first that is filled.

    Returns
    -------
    list
        Of every sheet its name and its rows; sheets and columns whose name begins with # are the reader's own and stay
        out, whatever they hold.

    Raises
    ------
    FindingsError
        If it is no workbook, holds formulas or breaks a limit.
    """
    require_openpyxl()
    require_harmless(raw, path)
    from openpyxl import load_workbook

    findings: list[Finding] = []
    sheets = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what a workbook may hold besides cells
            # Formulas are to be seen, not their last values: those may be older than what they are made of.
            workbook = load_workbook(io.BytesIO(raw), read_only=True, data_only=False, keep_links=False)
            if len(workbook.worksheets) > limits.SHEETS:
                message = f"a workbook has at most {limits.SHEETS} sheets, this one has {len(workbook.worksheets)}"
                raise FindingsError([Finding(path, 0, 0, "SHEET-LIMIT", "error", message, "split it")])
            budget = limits.CELLS
            for sheet in workbook.worksheets:
                name = str(sheet.title)
                if name.startswith("#") or (only is not None and name != only):
                    continue
                rows, budget = _rows(sheet, name, path, budget, findings, header_row)
                sheets.append((name, rows))
    except FindingsError as error:
        raise FindingsError([*findings, *error.findings]) from None
    except Exception as error:  # a hostile file may break any assumption of the parser behind; that is no bug here
        message = f"the workbook is damaged: {' '.join(str(error).split())[:100] or type(error).__name__}"
        raise FindingsError([Finding(path, 0, 0, "SHEET-FILE", "error", message, "save it anew as .xlsx")]) from None
    if findings:
        raise FindingsError(findings)
    return sheets


def _rows(
    sheet: Any, name: str, path: str, budget: int, findings: list[Finding], header_row: int | None
) -> tuple[list[tuple[Cell, ...]], int]:
    rows: list[tuple[Cell, ...]] = []
    own: set[int] = set()  # columns whose header begins with #, but for those that configopt writes
    filled = 0
    sheet.reset_dimensions()  # what the file states of its size need not be true
    for row, cells in enumerate(sheet.iter_rows(), 1):
        budget -= len(cells) + 1
        place = Place(path, row, 1, name)
        if budget < 0:
            message = f"a workbook has at most {limits.CELLS:,} cells, this one has more"
            raise FindingsError(
                [finding(place, "SHEET-LIMIT", message, "delete the empty rows and columns, or split it")]
            )
        if len(findings) >= FINDING_LIMIT:
            message = f"reading ends here, after {len(findings)} findings"
            raise FindingsError([finding(place, "MORE", message, "correct those first")])
        values: list[Cell] = []
        for column, cell in enumerate(cells, 1):
            if cell.value is None:
                continue
            if (cell.row, cell.column) != (row, column):  # cells must come in order; the parser drops some that do not
                raise ValueError(f"the cells of sheet {name[:40]} are out of order")
            if column in own:
                continue
            value = _value(cell, Place(path, row, column, name), findings)
            if value is not None:
                values += [None] * (column - 1 - len(values)) + [value]
        if row == header_row or (header_row is None and values and not filled):
            texts = [header_text(value) for value in values]
            own = {at for at, text in enumerate(texts, 1) if text.startswith("#") and text not in (COMMENTS, KEY_ORDER)}
        for wrong, most, noun in (
            (bool(values) and row > limits.ROWS, limits.ROWS, "rows"),
            (len(values) > limits.COLUMNS, limits.COLUMNS, "columns"),
        ):
            if wrong:
                message = f"a sheet has at most {most:,} {noun}, this one has more"
                raise FindingsError([finding(place, "SHEET-LIMIT", message, "split it")])
        if row <= limits.ROWS:
            rows.append(tuple(values))
            filled = row if values else filled
    return rows[:filled], budget


def _value(cell: Any, place: Place, findings: list[Finding]) -> Cell:
    value = cell.value
    if cell.data_type == "f":
        findings.append(no_formula(place, str(getattr(value, "text", value))))
        return None
    if cell.data_type == "e":
        message = f"an error of the spreadsheet: {str(value)[:20]}"
        findings.append(finding(place, "SHEET-CELL", message, "correct it, or empty the cell"))
        return None
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        return _number(value, str(cell.number_format or ""), place, findings)
    if isinstance(value, datetime.datetime | datetime.date):
        midnight = not isinstance(value, datetime.datetime) or value.time() == datetime.time()
        if midnight:
            return (value.date() if isinstance(value, datetime.datetime) else value).isoformat()
    if not isinstance(value, str):
        message = f"a time: {str(value)[:30]}"
        findings.append(finding(place, "SHEET-CELL", message, "format the cell as text and type it anew"))
        return None
    text = _CODED.sub(lambda match: chr(int(match[1], 16)), value)
    if len(text) > limits.CELL_TEXT:
        message = f"a cell has at most {limits.CELL_TEXT:,} characters, this one has {len(text):,}"
        findings.append(finding(place, "SHEET-LIMIT", message, "shorten it"))
        return None
    return text or None


def _number(value: float, form: str, place: Place, findings: list[Finding]) -> Cell:
    if value != value or abs(value) > 1e300:
        findings.append(finding(place, "SHEET-CELL", "a number out of all range", "correct it"))
        return None
    if "%" in form:
        return Number(f"{number_text(value * 100, _decimals(form))} %")
    return number_text(value, _decimals(form))


def _decimals(form: str) -> int:
    """Decimals that a number format always shows.

    >>> [_decimals(form) for form in ("0.00", '#,##0.00 "€"', "[$€-407] 0.0##;[Red]-0.0##", "0.00E+00", "General")]
    [2, 2, 1, 0, 0]
    """
    match = _DECIMALS.fullmatch(_FORMAT_TEXT.sub("", form).partition(";")[0])
    return len(match[1] or "") if match else 0


def about_lines(rows: Sequence[tuple[Cell, ...]], path: str, families: Iterable[str]) -> dict[str, list[HeadLine]]:
    """The lines around the entries of each family, from the sheet that holds them.

    Raises
    ------
    FindingsError
        If a line names no family.
    """
    known = set(families)
    lines: dict[str, list[HeadLine]] = {}
    findings = []
    for row, cells in enumerate(rows, 1):
        if row == 1 or not cells:
            continue
        name = header_text(cells[0])
        place = Place(path, row, 2, ABOUT)
        text = cells[1] if len(cells) > 1 else None
        if not name:
            findings.append(finding(Place(path, row, 1, ABOUT), "SHEET-CELL", "a line without its file", "name it"))
        elif name not in known:
            fix = "name the file, such as tires, or put # in front of the name of a sheet of your own"
            findings.append(finding(Place(path, row, 1, ABOUT), "FAMILY", f'"{name[:60]}" is no family', fix))
        else:
            line = "" if text is None else str(text)
            line = line[1:] if line.startswith("'") else "" if line == '""' else line
            lines.setdefault(name, []).append(HeadLine(line, place))
    if findings:
        raise FindingsError(findings)
    return lines


def sheet_rows(
    rows: Sequence[tuple[Cell, ...]], path: str, name: str, header_row: int | None = None, skip: Iterable[int] = ()
) -> RawSheet:
    """The rows of one sheet as a table."""
    return sheet_of(rows, path, name, header_row, set(skip), with_head=False)
