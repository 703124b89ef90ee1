"""How a sheet that was made by hand becomes entries: a mapping file."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from configopt.catalog.records import Record
from configopt.errors import Finding, FindingsError
from configopt.exchange import limits
from configopt.exchange.fields import RECORDS, field_names, kind_at, parse_header
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
    """Whether 2,58 means two and a half; a comma never parts thousands, and a point has no place in a number."""
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
