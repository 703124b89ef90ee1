"""The rows of a sheet that was made by hand, as entries: what a mapping file says, carried out."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from difflib import get_close_matches

from configopt.catalog.records import Part
from configopt.errors import Finding, FindingsError
from configopt.exchange.cells import Cell, Number, leaf_of, number_text
from configopt.exchange.fields import RECORDS, Header, column_path, field_names, kind_at, parse_header
from configopt.exchange.layout import Entry, FamilyText, Leaf, Place
from configopt.exchange.mapping import Mapping, MappingFile
from configopt.exchange.sheet import (
    Column,
    RawSheet,
    Reading,
    beyond_headers,
    column_for,
    family_of,
    finding,
    header_text,
    incomplete,
    without_unit,
)
from configopt.files.yaml_source import KeyPath
from configopt.quantities import QuantityError, is_range, parse_quantity


def mapped_family(raw: RawSheet, read: MappingFile) -> FamilyText:
    """Make entries of the rows of a sheet as a mapping says.

    Parameters
    ----------
    raw
        The sheet.
    read
        The mapping.

    Returns
    -------
    FamilyText
        The family, each value with the place of its cell; constants have the place in the mapping file.

    Raises
    ------
    FindingsError
        If sheet and mapping do not fit together.
    """
    mapping = read.mapping
    headers = {header_text(cell): number for number, cell in reversed(list(enumerate(raw.header))) if header_text(cell)}
    findings: list[Finding] = []
    columns = _mapped_columns(raw, read, headers, findings)
    ids: list[int] = []
    for number, name in enumerate(mapping.ids.columns if mapping.ids else ()):
        if " ".join(name.split()) in headers:
            ids.append(headers[" ".join(name.split())])
        else:
            findings.append(_no_header(read, ("ids", "columns", number), name, headers))
    findings += _not_mapped(raw, read, headers, columns, ids)
    if mapping.ids and any(column.header.path == ("id",) for column in columns):
        findings.append(read.finding(("ids",), "the sheet has ids already, in a column of its own", "remove ids"))
    constants = _constants(read)
    if not findings:
        given = {leaf.path[0] for leaf in constants} | ({"id"} if mapping.ids else set())
        findings += [*incomplete(raw, mapping.family, columns, given), *without_unit(raw, columns)]
        findings += [*beyond_headers(raw), *_points(raw, columns, mapping)]
    clean = replace(raw, rows=tuple((row, _clean(cells, columns, mapping)) for row, cells in raw.rows), head=())
    if not findings:
        findings += _skipped_entries(clean, columns, read)
    if findings:
        raise FindingsError(findings)
    reading = Reading(tuple(columns), constants=tuple(constants))
    made = family_of(clean, mapping.family, reading, mapping.currency or "")
    rows = dict(raw.rows)
    order = {name: number for number, name in enumerate(_in_house_order(mapping.family))}
    return replace(made, entries=tuple(_finished(entry, raw, rows, ids, mapping, order) for entry in made.entries))


def _in_house_order(family: str) -> list[str]:
    """Fields in the order of the catalogs: what the family has of its own stands before prices, sources and notes."""
    names = field_names(RECORDS[family])
    common = list(Part.model_fields) if issubclass(RECORDS[family], Part) else []
    last = common[common.index("prices") :] if common else []
    return sorted(names, key=lambda name: name.split(".")[0] in last)


def _mapped_columns(raw: RawSheet, read: MappingFile, headers: dict[str, int], findings: list[Finding]) -> list[Column]:
    columns = []
    for number, column in enumerate(read.mapping.columns):
        text = " ".join(column.header.split())
        if text not in headers:
            findings.append(_no_header(read, ("columns", number, "header"), text, headers))
            continue
        header = parse_header(column.field)
        assert header is not None  # load_mapping has looked
        kind = kind_at(RECORDS[read.mapping.family], header.path)
        assert kind is not None
        columns.append(Column(headers[text], Header(header.path, column.unit or "", header.spread), kind, column.words))
    return columns


def _no_header(read: MappingFile, at: KeyPath, text: str, headers: dict[str, int]) -> Finding:
    near = get_close_matches(text, headers, n=1)
    listed = ", ".join(list(headers)[:12])
    fix = f'did you mean "{near[0]}"?' if near else f"the row {read.mapping.header_row} says: {listed[:200]}"
    return read.finding(at, f'the sheet has no column "{text[:60]}"', fix)


def _not_mapped(
    raw: RawSheet, read: MappingFile, headers: dict[str, int], columns: list[Column], ids: list[int]
) -> list[Finding]:
    """Columns that the mapping does not speak of: they are those that configopt writes, or a mistake."""
    findings = []
    out = {" ".join(text.split()) for text in read.mapping.leave_out}
    taken = {column.number for column in columns} | set(ids)
    fields = {(column.header.path, column.header.spread) for column in columns}
    for text, number in headers.items():
        if number in taken or text in out or text.startswith("#"):
            continue
        place = raw.place(raw.header_row, number)
        column, wrong = column_for(place, number, text, parse_header(text), read.mapping.family)
        if column is None or wrong:
            message = f'the mapping does not speak of the column "{text[:60]}"'
            findings.append(finding(place, "SHEET-HEADER", message, "add it to columns or to leave_out"))
        elif (column.header.path, column.header.spread) in fields:
            message = f'two columns for the same field: "{text[:60]}"'
            findings.append(finding(place, "SHEET-HEADER", message, "add one of them to leave_out"))
        else:
            columns.append(column)
    for number, text in enumerate(read.mapping.leave_out):
        if " ".join(text.split()) not in headers:
            findings.append(_no_header(read, ("leave_out", number), text, headers))
    return findings


def _constants(read: MappingFile) -> list[Leaf]:
    leaves = []
    for name, value in read.mapping.constants.items():
        path = column_path(name)
        assert path is not None  # load_mapping has looked
        line, column = read.document.position(("constants", name))
        place = Place(read.document.path, line, column)
        if isinstance(value, bool):
            leaves.append(Leaf(path, "true" if value else "false", bare=True, place=place))
        elif isinstance(value, int | float):
            leaves.append(Leaf(path, number_text(value), bare=True, place=place))
        else:
            leaves.append(Leaf(path, value, place=place))
    return leaves


def _clean(cells: tuple[Cell, ...], columns: list[Column], mapping: Mapping) -> tuple[Cell, ...]:
    """Cells without the words for nothing, and with decimal points."""
    numbers = {column.number for column in columns if column.kind.is_number}
    cleaned: list[Cell] = []
    for number, cell in enumerate(cells):
        text = cell
        if isinstance(text, str) and not isinstance(text, Number):
            if text.strip() in mapping.empty:
                text = None
            elif mapping.decimal_comma and number in numbers:
                text = re.sub(r"(?<=\d),(?=\d)", ".", text)
        cleaned.append(text)
    return tuple(cleaned)


_POINT = re.compile(r"[0-9.,]*(?:[0-9]\.|\.[0-9])[0-9.,]*")
_THOUSANDS = re.compile(r"[0-9]{1,3}(?:\.[0-9]{3})+(,[0-9]*)?")


def _points(raw: RawSheet, columns: list[Column], mapping: Mapping) -> list[Finding]:
    """Points in numbers where the comma is the decimal sign: read as decimal ones they might be off a thousandfold."""
    if not mapping.decimal_comma:
        return []
    findings = []
    for row, cells in raw.rows:
        for column in columns:
            cell = cells[column.number] if column.number < len(cells) else None
            if not column.kind.is_number or not isinstance(cell, str) or isinstance(cell, Number):
                continue
            match = _POINT.search(cell)
            if match is None or cell.strip() in mapping.empty or cell.strip() in column.words:
                continue
            found = match[0]
            thousands, bare, decimal = _THOUSANDS.fullmatch(found), found.replace(".", ""), found.replace(".", ",")
            if thousands is None:
                fix = f"with decimal_comma, write {decimal if found.count('.') == 1 and ',' not in found else bare}"
            elif thousands[1] is None:
                fix = f"with decimal_comma, write {bare} or {bare},00"
                fix += f", or {decimal} if the point is a decimal one" if found.count(".") == 1 else ""
            else:
                fix = f"with decimal_comma, write {bare}"
            message = f'a point in the number "{cell.strip()[:40]}"'
            findings.append(finding(raw.place(row, column.number), "SHEET-CELL", message, fix))
    return findings


def _skipped_entries(raw: RawSheet, columns: list[Column], read: MappingFile) -> list[Finding]:
    """Rows that are skipped although they look like entries: readable wherever an entry needs a value and has one."""
    fields = RECORDS[read.mapping.family].model_fields
    constants = {column_path(name) for name in read.mapping.constants}
    needed = [
        column for column in columns if fields[str(column.header.path[0])].is_required()
        and column.header.path not in constants and not column.header.spread
    ]  # fmt: skip
    rows = [cells for _, cells in raw.rows if any(_cell(cells, column) is not None for column in columns)]
    usual = [
        column for column in needed if 2 * sum(_cell(cells, column) is not None for cells in rows) >= len(rows) > 0
    ]  # fmt: skip
    findings = []
    for row, raw_cells in raw.skipped:
        cells = _clean(raw_cells, columns, read.mapping)
        if not usual or not all(_readable(_cell(cells, column), column) for column in usual):
            continue
        if all(header_text(_cell(cells, column)) == header_text(raw.header[column.number]) for column in usual):
            continue  # the headers once more
        at = read.mapping.skip_rows.index(row)
        message = f'row {row} is skipped, but holds an entry: "{" ".join(str(_cell(cells, usual[0])).split())[:60]}"'
        findings.append(read.finding(("skip_rows", at), message, "correct skip_rows; the rows have moved"))
    return findings


def _cell(cells: tuple[Cell, ...], column: Column) -> Cell:
    cell = cells[column.number] if column.number < len(cells) else None
    return None if isinstance(cell, str) and not cell.strip() else cell


def _readable(cell: Cell, column: Column) -> bool:
    """Whether a cell holds what its column is for."""
    if cell is None:
        return False
    if str(cell).strip() in column.words:
        return True
    leaf = leaf_of(cell, column.kind, column.header.path, column.header.unit, None)
    if leaf is None or column.kind.name not in ("quantity", "integer", "number"):
        return leaf is not None
    if column.kind.name != "quantity":
        return leaf.bare
    try:
        parse_quantity(leaf.text, column.kind.dimension)
    except QuantityError:
        return is_range(leaf.text)
    return True


def _finished(
    entry: Entry,
    raw: RawSheet,
    rows: dict[int, tuple[Cell, ...]],
    ids: list[int],
    mapping: Mapping,
    order: dict[str, int],
) -> Entry:
    """The entry with its id, its fields in the order of the records."""
    leaves = list(entry.leaves)
    if mapping.ids is not None and entry.place is not None:
        cells = rows[entry.place.row]
        texts = [str(cells[number]) for number in ids if number < len(cells) and cells[number] is not None]
        slug = identifier(" ".join([mapping.ids.prefix, *texts]))
        if slug:
            place = raw.place(entry.place.row, ids[0])
            leaves.insert(0, Leaf(("id",), slug, place=place))
            entry = replace(entry, place=place)
    rank = {leaf.path: order.get(_first_of(leaf.path), len(order)) for leaf in leaves}
    return replace(entry, leaves=tuple(sorted(leaves, key=lambda leaf: rank[leaf.path])))


def _first_of(path: KeyPath) -> str:
    return ".".join("1" if isinstance(step, int) else step for step in path)


def identifier(text: str) -> str:
    """An id made of a text.

    >>> identifier("Fenn & Sons, Größe 80/100-21")
    'fenn-sons-grosse-80-100-21'
    """
    plain = unicodedata.normalize("NFKD", text.replace("ß", "ss")).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")
