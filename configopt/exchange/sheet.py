"""A table that was read, row by row, back to the entries of a family."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from configopt.errors import Finding, FindingsError
from configopt.exchange.cells import Cell, leaf_of, unescaped
from configopt.exchange.fields import (
    RECORDS,
    Header,
    Kind,
    column_name,
    field_names,
    kind_at,
    parse_header,
)
from configopt.exchange.layout import Comment, Entry, FamilyText, HeadLine, Leaf, Place, is_number
from configopt.exchange.table import COMMENTS, KEY_ORDER, comments_of, in_key_order
from configopt.files.yaml_source import FINDING_LIMIT
from configopt.quantities import DIMENSIONS, QuantityError, parse_quantity

#: A number that a zero in front makes a text: its sign and what it should be.
_LEADING_ZERO = re.compile(r"([-+]?)0+([0-9]+(?:\.[0-9]*)?(?:[eE][-+]?[0-9]+)?)")


@dataclass(frozen=True, slots=True)
class RawSheet:
    """The cells of one table as read: lines above it, its header, and its rows with their numbers from 1."""

    path: str
    sheet: str | None
    header_row: int
    header: tuple[Cell, ...]
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]
    head: tuple[HeadLine, ...] = ()
    skipped: tuple[tuple[int, tuple[Cell, ...]], ...] = ()
    """Rows below the header that a mapping leaves out."""

    def place(self, row: int, column: int) -> Place:
        """The place of a cell; the column counts from 0."""
        return Place(self.path, row, column + 1, self.sheet)


@dataclass(frozen=True, slots=True)
class Column:
    """A column that is read: its number from 0, what it holds, and words that stand for others."""

    number: int
    header: Header
    kind: Kind
    words: Mapping[str, str | int | float | bool] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Reading:
    """How the rows of a sheet become entries."""

    columns: tuple[Column, ...]
    comments: int | None = None
    """Number of the column with comments."""
    key_order: int | None = None
    """Number of the column with the order of keys."""
    constants: tuple[Leaf, ...] = ()
    """Values that every entry has where its row states none."""


def letters(column: int) -> str:
    """The letters of a column of a workbook, from 1.

    >>> letters(1), letters(28)
    ('A', 'AB')
    """
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


def shown(place: Place) -> str:
    """A place in words: of a workbook the sheet and the cell, else row and column."""
    if place.sheet is None:
        return f"row {place.row}, column {place.column}"
    if not place.row:
        return f"sheet {place.sheet}"
    return f"sheet {place.sheet}, cell {letters(place.column)}{place.row}"


def finding(place: Place, rule: str, message: str, fix: str = "") -> Finding:
    """A finding at a cell; of a workbook its message begins with the sheet and the cell."""
    said = message if place.sheet is None else f"{shown(place)}: {message}"
    return Finding(place.path, place.row, place.column, rule, "error", said, fix)


def header_text(cell: Cell) -> str:
    """What a header cell says."""
    if cell is None or isinstance(cell, bool):
        return "" if cell is None else str(cell).upper()
    return " ".join(unescaped(cell)[0].split())


def native_reading(raw: RawSheet, family: str) -> Reading:
    """Read the headers that configopt writes, in any order.

    Parameters
    ----------
    raw
        The sheet.
    family
        The family its entries belong to.

    Returns
    -------
    Reading
        Its columns; those whose header begins with # are the reader's own notes and stay out.

    Raises
    ------
    FindingsError
        If a header is not understood.
    """
    findings: list[Finding] = []
    columns: list[Column] = []
    special: dict[str, int] = {}
    seen: dict[str, int] = {}
    for number, cell in enumerate(raw.header):
        text, place = header_text(cell), raw.place(raw.header_row, number)
        if not text:
            findings += _without_header(raw, number)
            continue
        if text in seen:
            message = f'the header "{text}" stands already in column {letters(seen[text] + 1)}'
            findings.append(finding(place, "SHEET-HEADER", message, "keep one of the two columns"))
            continue
        seen[text] = number
        if text.startswith("#"):
            if text in (COMMENTS, KEY_ORDER):
                special[text] = number
            continue
        column, wrong = column_for(place, number, text, parse_header(text), family)
        findings += wrong
        if column is not None:
            columns.append(column)
    findings += beyond_headers(raw)
    findings += incomplete(raw, family, columns, set())
    findings += without_unit(raw, columns)
    findings += _spreads(raw, columns)
    if findings:
        raise FindingsError(findings)
    return Reading(tuple(columns), special.get(COMMENTS), special.get(KEY_ORDER))


def column_for(
    place: Place, number: int, text: str, header: Header | None, family: str
) -> tuple[Column | None, list[Finding]]:
    """The column of a header, and what is wrong with it; ``text`` is how it was written."""
    record = RECORDS[family]
    kind = kind_at(record, header.path) if header else None
    if header is None or kind is None:
        near = get_close_matches(text[:60].split("[")[0].strip(), field_names(record), n=1, cutoff=0.5)
        message = f'the header "{text[:60]}" is no field of {family}'
        fix = f'did you mean "{near[0]}"?' if near else "see configopt schema " + family
        return None, [finding(place, "SHEET-HEADER", message, f"{fix} A column whose header begins with # is left out")]
    unit = header.unit
    if kind.name == "quantity" and kind.dimension == "price":
        unit = ""  # the currency; it is compared with that of the whole catalog
    if unit or header.spread:
        if kind.name != "quantity":
            message = (
                f'the header "{text[:60]}" states a unit or an uncertainty, but {column_name(header.path)} has none'
            )
            return None, [finding(place, "SHEET-HEADER", message, f"write {column_name(header.path)}")]
        try:
            parse_quantity(f"1 {unit}", kind.dimension)
        except QuantityError as error:
            if unit:
                return None, [finding(place, "SHEET-HEADER", error.message, error.fix)]
    return Column(number, Header(header.path, unit, header.spread), kind), []


def beyond_headers(raw: RawSheet) -> list[Finding]:
    """Values to the right of the last header: nobody would miss them."""
    width = max((len(cells) for _, cells in raw.rows), default=0)
    return [found for number in range(len(raw.header), width) for found in _without_header(raw, number)]


def _without_header(raw: RawSheet, number: int) -> list[Finding]:
    filled = [
        (row, str(cells[number])) for row, cells in raw.rows if number < len(cells) and not _blank(cells[number])
    ]  # fmt: skip
    if not filled:
        return []
    (first, text), *others = filled
    message = f"a value in a column without header: {text[:40]}"
    if others:
        more = f" and {len(others) - 3} more" if len(others) > 3 else ""
        message += f" (also in row {', '.join(str(row) for row, _ in others[:3])}{more})"
    fix = "name the column in its header or empty it"
    if raw.sheet is None:
        fix += "; put a text that holds the separator in quotes"
    return [finding(raw.place(first, number), "SHEET-HEADER", message, fix)]


def _blank(cell: Cell) -> bool:
    return cell is None or (isinstance(cell, str) and not cell.strip())


def incomplete(raw: RawSheet, family: str, columns: Iterable[Column], given: Iterable[str | int]) -> list[Finding]:
    """Fields that every entry needs and that have no column and are not given: said once, not for every row."""
    there = {column.header.path[0] for column in columns} | set(given)
    missing = [name for name, info in RECORDS[family].model_fields.items() if info.is_required() and name not in there]
    if not missing:
        return []
    names = [next(known for known in field_names(RECORDS[family]) if known.split(".")[0] == name) for name in missing]
    place = raw.place(raw.header_row, 0)
    return [
        finding(place, "MISSING-KEY", f"no column for {', '.join(names)}", "add the columns that every entry needs")
    ]


def without_unit(raw: RawSheet, columns: Iterable[Column]) -> list[Finding]:
    """Columns of numbers whose unit nobody states."""
    findings = []
    for column in columns:
        if not column.kind.has_unit or column.header.unit or column.header.spread:
            continue
        for row, cells in raw.rows:
            cell = cells[column.number] if column.number < len(cells) else None
            if isinstance(cell, str) and is_number(cell.strip()):
                name = column_name(column.header.path)
                message = f"the column {name} holds numbers (first in row {row}), but its header states no unit"
                place = raw.place(raw.header_row, column.number)
                fix = f"write for example {name} [{_usual(column.kind.dimension)}]"
                findings.append(finding(place, "SHEET-UNIT", message, fix))
                break
    return findings


def _usual(dimension: str) -> str:
    return DIMENSIONS[dimension].unit_names[0]


def _spreads(raw: RawSheet, columns: Sequence[Column]) -> list[Finding]:
    figures = {column.header.path for column in columns if not column.header.spread}
    return [
        finding(
            raw.place(raw.header_row, column.number),
            "SHEET-HEADER",
            f"an uncertainty of {column_name(column.header.path)} without its column",
            f"add the column {column_name(column.header.path)}",
        )
        for column in columns
        if column.header.spread and column.header.path not in figures
    ]


def family_of(raw: RawSheet, family: str, reading: Reading, currency: str = "") -> FamilyText:
    """Make the entries of a family from the rows of a sheet.

    Parameters
    ----------
    raw
        The sheet.
    family
        The family.
    reading
        How its columns are read.
    currency
        The currency for a head that is to be made; by default that in the headers of prices.

    Returns
    -------
    FamilyText
        The family, each value with the place of its cell.

    Raises
    ------
    FindingsError
        If cells contradict each other; whether values are allowed is for the loader to say.
    """
    findings: list[Finding] = []
    entries: list[Entry] = []
    read = {column.number for column in reading.columns} | ({reading.comments} - {None})
    for row, cells in raw.rows:
        filled = (number for number, cell in enumerate(cells) if isinstance(cell, bool) or (cell and cell.strip()))
        if read.isdisjoint(filled):  # nothing at all, or only the reader's own notes
            continue
        if len(findings) >= FINDING_LIMIT:
            message = f"reading ends here, after {len(findings)} findings"
            findings.append(finding(raw.place(row, 0), "MORE", message, "correct those first"))
            break
        entry, wrong = _entry(raw, row, cells, reading)
        findings += wrong
        entries.append(entry)
    head, foot, wrong = _head(raw, family, reading, currency)
    findings += wrong
    if not entries:
        place = raw.place(raw.header_row, 0)
        findings.append(finding(place, "EMPTY-FAMILY", f"no rows of {family}", "add at least one"))
    if findings:
        raise FindingsError(findings)
    numbers = [(column.header.path, column.number + 1) for column in reading.columns if not column.header.spread]
    return FamilyText(family, head, tuple(entries), foot, tuple(numbers), raw.place(raw.header_row, 0))


def _entry(raw: RawSheet, row: int, cells: tuple[Cell, ...], reading: Reading) -> tuple[Entry, list[Finding]]:
    findings: list[Finding] = []
    leaves: dict[Any, Leaf] = {}
    for column in sorted(reading.columns, key=lambda column: column.header.spread):
        cell = cells[column.number] if column.number < len(cells) else None
        cell = _word(cell, column.words)
        place, path, unit = raw.place(row, column.number), column.header.path, column.header.unit
        if column.kind.has_unit and unit and isinstance(cell, str):
            # Without this the text would be taken for a figure without unit, and a unit of another kind advised.
            zeros = _LEADING_ZERO.fullmatch(unescaped(cell)[0])
            if zeros is not None:
                plain = zeros[1] + zeros[2]
                message = f'"{zeros[0][:40]}" begins with a zero too many'
                findings.append(finding(place, "SHEET-CELL", message, f'write "{plain}" or "{plain} {unit}"'))
                continue
        if not column.header.spread:
            leaf = leaf_of(cell, column.kind, path, unit, place)
            if leaf is not None:
                leaves[path] = leaf
            continue
        text = "" if cell is None else str(cell).strip()
        if not text:
            continue
        if path not in leaves:
            message = f"an uncertainty, but {column_name(path)} is empty"
            findings.append(finding(place, "SHEET-CELL", message, "fill it or empty this cell"))
            continue
        spread = f"{text} {unit}" if unit and is_number(text) else text
        leaves[path] = Leaf(path, f"{leaves[path].text} +- {spread}", place=leaves[path].place)
    order = {column.header.path: column.number for column in reading.columns if not column.header.spread}
    kept = sorted(leaves.values(), key=lambda leaf: order[leaf.path])
    given = {leaf.path for leaf in kept}
    kept += [leaf for leaf in reading.constants if leaf.path not in given]
    findings += _gaps(raw, row, kept)
    listed = _text(cells, reading.key_order)
    if listed and not findings:
        kept = in_key_order(kept, listed)
    comments: list[Comment] | str = comments_of(_text(cells, reading.comments)) if reading.comments is not None else []
    if isinstance(comments, str):
        place = raw.place(row, reading.comments or 0)
        message = f'"{comments[:60]}" is no comment'
        fix = "begin each line with #, with FIELD #, with before FIELD # or with end #"
        findings.append(finding(place, "SHEET-CELL", message, fix))
        comments = []
    return Entry(tuple(kept), tuple(comments), raw.place(row, _id_column(reading))), findings


def _id_column(reading: Reading) -> int:
    return next((column.number for column in reading.columns if column.header.path == ("id",)), 0)


def _word(cell: Cell, words: Mapping[str, str | int | float | bool]) -> Cell:
    if not words or cell is None:
        return cell
    text = str(cell).strip() if not isinstance(cell, bool) else str(cell).lower()
    if text not in words:
        return cell
    found = words[text]
    return found if isinstance(found, bool) else str(found)


def _text(cells: tuple[Cell, ...], column: int | None) -> str:
    cell = cells[column] if column is not None and column < len(cells) else None
    if not isinstance(cell, str) or not cell:
        return ""
    return cell[1:] if cell.startswith("'") else cell


def _gaps(raw: RawSheet, row: int, leaves: Iterable[Leaf]) -> list[Finding]:
    """Lists whose numbers leave one out, and fields that are filled both as a whole and in parts."""
    findings = []
    children: dict[Any, dict[str | int, Leaf]] = {}
    ends: dict[Any, Leaf] = {}
    for leaf in leaves:
        ends[leaf.path] = leaf
        for depth, step in enumerate(leaf.path):
            children.setdefault(leaf.path[:depth], {}).setdefault(step, leaf)
    for path, steps in children.items():
        if path in ends:
            message = f"{column_name(path)} is filled as a whole and in parts"
            place = ends[path].place or raw.place(row, 0)
            findings.append(finding(place, "SHEET-CELL", message, "empty one of them"))
        numbers = sorted(step for step in steps if isinstance(step, int))
        for wanted, number in enumerate(numbers):
            if number != wanted:
                name = column_name((*path, wanted))
                message = f"{column_name((*path, number))} is filled, but {name} is empty"
                place = steps[number].place or raw.place(row, 0)
                findings.append(finding(place, "SHEET-CELL", message, "fill the numbers from 1 on, none left out"))
                break
    return findings


def _head(
    raw: RawSheet, family: str, reading: Reading, currency: str
) -> tuple[tuple[HeadLine, ...], tuple[HeadLine, ...], list[Finding]]:
    """The lines before and after the entries; made where the sheet brings none."""
    findings: list[Finding] = []
    stated: dict[str, int] = {}
    for column in reading.columns:
        header = parse_header(header_text(raw.header[column.number])) if column.number < len(raw.header) else None
        if column.kind.dimension == "price" and header is not None and header.unit:
            stated.setdefault(header.unit, column.number)
    lines = list(raw.head)
    cut = next((number for number, line in enumerate(lines) if line.text.startswith("parts:")), len(lines))
    top = {line.text.partition(":")[0] for line in lines[:cut]}
    found = currency or next(iter(stated), "")
    wanted = {"family": family, **({"currency": found} if found else {})}
    missing = [HeadLine(f"{key}: {value}") for key, value in wanted.items() if key not in top]
    lines[cut:cut] = missing if cut < len(lines) else [*missing, HeadLine("parts:")]
    cut += len(missing) + 1
    made = FamilyText(family, tuple(lines[:cut]), ())
    priced = any(column.kind.dimension == "price" for column in reading.columns)
    place = raw.place(raw.header_row, 0)
    agreed = made.top("currency")
    if priced and agreed is None and not raw.head:
        message = "the prices have no currency"
        findings.append(finding(place, "CURRENCY", message, "write it in their headers: prices.1.unit_price [EUR]"))
    for unit, number in stated.items():
        if agreed is not None and unit != agreed:
            at = raw.place(raw.header_row, number)
            findings.append(
                finding(at, "CURRENCY", f"the header says {unit}, the head of the file {agreed}", "use one")
            )
    return made.head, tuple(lines[cut:]), findings


def no_formula(place: Place, text: str) -> Finding:
    """The finding at a cell that is computed."""
    message = f"a formula: {text[:60]}"
    return finding(
        place, "SHEET-FORMULA", message, "copy the cell and paste it as value; formulas are not computed here"
    )
