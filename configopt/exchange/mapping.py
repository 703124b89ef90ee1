"""How a sheet that was made by hand becomes entries: a mapping file."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from configopt.catalog.records import Part, Record
from configopt.errors import Finding, FindingsError
from configopt.exchange import limits
from configopt.exchange.cells import Cell, Number, number_text
from configopt.exchange.fields import RECORDS, Header, column_path, field_names, kind_at, parse_header
from configopt.exchange.layout import Entry, FamilyText, Leaf, Place
from configopt.exchange.sheet import (
    Column,
    RawSheet,
    Reading,
    column_for,
    family_of,
    finding,
    header_text,
    incomplete,
    without_unit,
)
from configopt.files.validation import validate
from configopt.files.yaml_source import Document, KeyPath, load_yaml
from configopt.quantities import QuantityError, parse_quantity

Word = str | int | float | bool
Row = Annotated[int, Field(ge=1, le=limits.ROWS)]


class ColumnMapping(Record):
    """One column of the sheet."""

    header: str
    """What the header cell says; blanks at its ends and line ends in it do not count."""
    field: str
    """The field, as configopt names its columns: mass, grip.firm, prices.1.unit_price."""
    unit: str | None = None
    """Unit of numbers that stand alone in the column: lb, oz, in, psi, mph, mm, kg, %."""
    words: dict[str, Word] = Field(default_factory=dict)
    """Words of the sheet and what they mean: {V: front, H: rear}."""


class Ids(Record):
    """Ids made of what columns say: lower case, everything but letters and digits as a dash."""

    columns: Annotated[list[str], Field(min_length=1, max_length=6)]
    """Headers of the columns, in order."""
    prefix: str = ""
    """What stands before, such as the name of the maker."""


class Mapping(Record):
    """How a sheet that was made by hand becomes the entries of one family."""

    family: Literal[
        "tires", "rims", "spokes", "hubs", "disc-wheels", "rotors", "calipers", "pads", "inners", "rim-locks",
        "surfaces", "sources",
    ]  # fmt: skip
    """The family that the rows belong to."""
    sheet: str | None = None
    """Sheet of a workbook; its only one by default."""
    header_row: Row = 1
    """Row that names the columns; what stands above is left out."""
    skip_rows: list[Row] = Field(default_factory=list)
    """Rows below it that hold no entry, such as sums and headings."""
    separator: Literal["comma", "semicolon", "tab"] | None = None
    """Of a CSV file; by default the more frequent one in the header row."""
    decimal_comma: bool = False
    """Whether 2,58 means two and a half; a comma never parts thousands."""
    empty: list[str] = Field(default_factory=list)
    """Texts that stand for an empty cell, such as "-" or "n/a"."""
    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")] | None = None
    """Currency of all prices."""
    columns: list[ColumnMapping] = Field(default_factory=list, max_length=limits.COLUMNS)
    """Columns whose headers are not already those that configopt writes."""
    leave_out: list[str] = Field(default_factory=list)
    """Headers of columns that are not wanted."""
    constants: dict[str, Word] = Field(default_factory=dict)
    """Fields that the sheet does not have, or has not in every row: {source: tarnfell-sheet, positions.1: front}."""
    ids: Ids | None = None
    """Where the ids come from, if the sheet has none."""

    @property
    def delimiter(self) -> str | None:
        """The separator as a character."""
        return None if self.separator is None else {"comma": ",", "semicolon": ";", "tab": "\t"}[self.separator]


@dataclass(frozen=True, slots=True)
class MappingFile:
    """A mapping with the file it stands in."""

    document: Document
    mapping: Mapping

    def finding(self, path: KeyPath, message: str, fix: str = "") -> Finding:
        """A finding at a value of the mapping file."""
        return self.document.finding(path, "MAPPING", message, fix)


def load_mapping(path: Path) -> MappingFile:
    """Load a mapping file.

    Raises
    ------
    FindingsError
        With every mistake in it: keys, fields that the family does not have, units of another kind.
    """
    document = load_yaml(path)
    read = MappingFile(document, validate(document, Mapping))
    findings = [*_field_findings(read), *_constant_findings(read)]
    if findings:
        raise FindingsError(findings)
    return read


def _field_findings(read: MappingFile) -> list[Finding]:
    findings = []
    seen: dict[str, int] = {}
    for number, column in enumerate(read.mapping.columns):
        at: KeyPath = ("columns", number)
        wrong = _unknown_field(read, (*at, "field"), column.field)
        findings += wrong
        for key, value in (("header", " ".join(column.header.split())), ("field", column.field)):
            if f"{key} {value}" in seen:
                findings.append(read.finding((*at, key), f'the {key} "{value}" stands already above', "keep one"))
            seen[f"{key} {value}"] = number
        if wrong or column.unit is None:
            continue
        header = parse_header(column.field)
        kind = kind_at(RECORDS[read.mapping.family], header.path) if header else None
        if kind is None or kind.name != "quantity":
            findings.append(read.finding((*at, "unit"), f"{column.field} has no unit", "remove the unit"))
            continue
        try:
            parse_quantity(f"1 {column.unit}", kind.dimension)
        except QuantityError as error:
            findings.append(read.finding((*at, "unit"), error.message, error.fix))
    return findings


def _constant_findings(read: MappingFile) -> list[Finding]:
    return [
        found
        for name in read.mapping.constants
        for found in _unknown_field(read, ("constants", name), name)
    ]  # fmt: skip


def _unknown_field(read: MappingFile, at: KeyPath, name: str) -> list[Finding]:
    record = RECORDS[read.mapping.family]
    header = parse_header(name)
    kind = kind_at(record, header.path) if header and not header.unit else None
    if kind is not None and kind.name != "group":
        return []
    near = get_close_matches(name, field_names(record), n=1, cutoff=0.4)
    fix = f'did you mean "{near[0]}"?' if near else f"see configopt schema {read.mapping.family}"
    message = f'"{name[:60]}" is no field of {read.mapping.family}'
    if kind is not None:
        message, fix = f'"{name[:60]}" has fields of its own', f'write for example "{near[0]}"' if near else fix
    return [read.finding(at, message, fix)]


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
    if findings:
        raise FindingsError(findings)
    clean = replace(raw, rows=tuple((row, _clean(cells, columns, mapping)) for row, cells in raw.rows), head=())
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
