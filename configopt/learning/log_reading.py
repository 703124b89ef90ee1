"""Reading test logs: CSV with units in the header row becomes columns of SI numbers, with a place for every mistake."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from configopt.errors import Finding, FindingsError
from configopt.files.csv_table import CsvTable, read_csv_table
from configopt.learning.log_kinds import HEAD, KINDS, PACKAGE_KEYS, Column, Kind
from configopt.quantities import DIMENSIONS, QuantityError, format_quantity, from_unit, parse_quantity

Array = NDArray[np.float64]
_HEADER = re.compile(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]")
_FLAGS = {"yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}
#: Mistakes of one column that are told; a file of another kind must not print a novel.
_TOLD = 10
#: Largest figures [SI] that any test can read: what is beyond is a slip of the pen or another unit.
_LARGEST = {
    "acceleration": 100.0,
    "energy": 1e10,
    "force": 1e6,
    "length": 1e9,
    "mass": 1e4,
    "pressure": 1e9,
    "ratio": 10.0,
    "speed": 100.0,
    "temperature": 2000.0,
    "time": 1e10,
}


@dataclass(frozen=True)
class Log:
    """One log: columns by name, numbers in SI, empty cells as not-a-number; head values, numbers in SI."""

    table: CsvTable
    kind: Kind
    head: dict[str, Any]
    columns: dict[str, Any]

    @property
    def path(self) -> Path:
        """The file."""
        return Path(self.table.path)

    def numbers(self, name: str) -> Array:
        """A column of numbers; all not-a-number where the log lacks it."""
        found = self.columns.get(name)
        return np.full(len(self.table.rows), np.nan) if found is None else np.asarray(found)

    def texts(self, name: str) -> list[str]:
        """A column of texts; all empty where the log lacks it."""
        return list(self.columns.get(name, [""] * len(self.table.rows)))

    def has(self, *names: str) -> NDArray[np.bool_]:
        """Rows in which all of some columns of numbers are filled."""
        return np.asarray(np.logical_and.reduce([np.isfinite(self.numbers(name)) for name in names]))

    def finding(self, row: int | None, column: str | None, rule: str, message: str, fix: str = "") -> Finding:
        """Make a finding at a cell of the log."""
        names = [_parted(text)[0] for text in self.table.columns]
        return self.table.finding(row, names.index(column) if column in names else None, rule, message, fix)


def read_log(path: str | Path) -> Log:
    """Read one log.

    Raises
    ------
    FindingsError
        With every mistake of the file: no or an unknown kind, missing or unknown columns and keys, units that are
        missing or wrong, cells that are no numbers, no rows.
    """
    table = read_csv_table(path)
    kind = _kind(table)
    findings: list[Finding] = []
    head = _head(table, kind, findings)
    columns = _columns(table, kind, findings)
    if not table.rows:
        findings.append(table.finding(None, None, "LOG-EMPTY", "the log has no rows", "write what was measured"))
    if findings:
        raise FindingsError(findings)
    return Log(table, kind, head, columns)


def _kind(table: CsvTable) -> Kind:
    name = table.head.get("kind")
    name = None if name is None else name.casefold()
    known = ", ".join(KINDS)
    if name is None:
        fix = f"write a first line such as: # kind: coast-down; one of {known}"
        raise FindingsError(
            [table.head_finding(None, "LOG-HEAD", "the head does not say which kind of log it is", fix)]
        )
    if name not in KINDS:
        fix = _near(name, KINDS) or f"one of {known}"
        raise FindingsError([table.head_finding("kind", "LOG-HEAD", f'there is no kind "{name}"', fix)])
    return KINDS[name]


def _head(table: CsvTable, kind: Kind, findings: list[Finding]) -> dict[str, Any]:
    known = {column.name: column for column in (*HEAD, *kind.head)}
    known |= {
        f"{key}_{position}": Column(f"{key}_{position}", "pressure" if key == "pressure" else "", "")
        for key in PACKAGE_KEYS
        for position in ("front", "rear")
    }
    head: dict[str, Any] = {}
    for key, text in table.head.items():
        column = known.get(key)
        if column is None:
            fix = _near(key, known) or f"keys of a {kind.name} log: {', '.join(c.name for c in (*HEAD, *kind.head))}"
            findings.append(table.head_finding(key, "LOG-HEAD", f'there is no key "{key}"', fix))
        elif not text:
            findings.append(table.head_finding(key, "LOG-HEAD", f'"{key}" says nothing', "fill it, or remove the line"))
        elif column.dimension:
            try:
                head[key] = float(parse_quantity(text, column.dimension))
                low, high = _ends(column)
                if not low <= head[key] <= high:
                    message = f"{key}: {text} cannot be, allowed is {_range_text(column)}"
                    findings.append(table.head_finding(key, "LOG-HEAD", message, "correct it"))
            except QuantityError as error:
                findings.append(table.head_finding(key, "LOG-HEAD", f"{key}: {error.message}", error.fix))
        else:
            head[key] = text
    for column in (*HEAD, *kind.head):
        if column.required and column.name not in table.head:
            fix = f"write a line: # {column.name}: ... ({column.wording})"
            findings.append(table.head_finding(None, "LOG-HEAD", f'the head lacks "{column.name}"', fix))
    if "when" in head:
        try:
            date.fromisoformat(head["when"])
        except ValueError:
            message = f'"{head["when"]}" is no day'
            findings.append(table.head_finding("when", "LOG-HEAD", message, "write it as 2026-05-31"))
    return head


def _parted(text: str) -> tuple[str, str | None]:
    """Name and unit of a column as written.

    >>> _parted("speed (km/h)"), _parted("Run")
    (('speed', 'km/h'), ('run', None))
    """
    found = _HEADER.fullmatch(text)
    name, unit = (found[1], found[2].strip()) if found is not None else (text, None)
    return name.casefold().replace("_", " ").strip(), unit


def _columns(table: CsvTable, kind: Kind, findings: list[Finding]) -> dict[str, Any]:
    known = {column.name: column for column in kind.columns}
    columns: dict[str, Any] = {}
    for number, written in enumerate(table.columns):
        name, unit = _parted(written)
        column = known.get(name)
        if column is None:
            fix = _near(name, known) or f"columns of a {kind.name} log: {', '.join(known)}"
            findings.append(table.finding(None, number, "LOG-COLUMN", f'there is no column "{name}"', fix))
            continue
        if name in columns:
            message = f'the column "{name}" is here twice'
            findings.append(table.finding(None, number, "LOG-COLUMN", message, "keep one of them"))
            continue
        cells = [row[number] for row in table.rows]
        if column.content == "number":
            columns[name] = _numbers(table, number, column, unit, cells, findings)
        elif column.content == "yes or no":
            columns[name] = _flags(table, number, cells, findings)
        else:
            columns[name] = cells
        if column.required and column.content == "text":
            _require_filled(table, number, name, cells, findings)
    missing = [column for column in kind.columns if column.required and column.name not in columns]
    for column in missing:
        example = f"{column.name} ({column.unit})" if column.unit else column.name
        message = f'a {kind.name} log needs the column "{column.name}": {column.wording}'
        findings.append(table.finding(None, None, "LOG-COLUMN", message, f"add it, for example as: {example}"))
    if kind.one_of and not any(set(group) <= columns.keys() for group in kind.one_of):
        groups = "; or ".join(" and ".join(group) for group in kind.one_of)
        message = f"a {kind.name} log needs columns for what was measured: {groups}"
        findings.append(table.finding(None, None, "LOG-COLUMN", message, "add them"))
    return columns


def _numbers(
    table: CsvTable, number: int, column: Column, unit: str | None, cells: list[str], findings: list[Finding]
) -> Array:
    """Cells as SI numbers; what is wrong with them is told."""
    found = np.full(len(cells), np.nan)
    dimension = DIMENSIONS[column.dimension]
    if unit is None and not dimension.plain:
        fix = f"write for example: {column.name} ({column.unit})"
        findings.append(table.finding(None, number, "LOG-UNIT", f'the column "{column.name}" has no unit', fix))
        return found
    if (unit or "") not in dimension.units:
        units = ", ".join(dimension.unit_names)
        message = f'"{unit}" is no unit of {dimension.title}'
        findings.append(table.finding(None, number, "LOG-UNIT", message, f"one of {units}"))
        return found
    zero = from_unit(0.0, unit or "", column.dimension)
    factor = from_unit(1.0, unit or "", column.dimension) - zero
    wrong = 0
    # A file with semicolons comes from a program that writes decimal commas.
    comma = table.separator == ";"
    for row, cell in enumerate(cells):
        if not cell:
            if not column.required:
                continue
            problem = "the cell is empty"
        else:
            try:
                value = float(cell.replace(",", ".") if comma else cell)
                if np.isfinite(value) and "_" not in cell:
                    found[row] = zero + factor * value
                    continue
                problem = f'"{cell[:40]}" is no finite number'
            except ValueError:
                problem = f'"{cell[:40]}" is no number'
        wrong += 1
        if wrong <= _TOLD:
            fix = "write a number with a point, or leave the row out"
            findings.append(table.finding(row, number, "LOG-NUMBER", problem, fix))
    if wrong > _TOLD:
        message = f"{wrong - _TOLD:,} more cells of this column are wrong"
        findings.append(table.finding(None, number, "LOG-NUMBER", message, "correct the column"))
    low, high = _ends(column)
    outside = np.flatnonzero((found < low) | (found > high))
    for row in outside[:_TOLD].tolist():
        message = f"found {cells[row][:40]}, allowed is {_range_text(column)}"
        findings.append(table.finding(row, number, "LOG-NUMBER", message, "correct it, or leave the row out"))
    if len(outside) > _TOLD:
        message = f"{len(outside) - _TOLD:,} more cells of this column lie outside its range"
        findings.append(table.finding(None, number, "LOG-NUMBER", message, "correct the column"))
    return found


def _ends(column: Column) -> tuple[float, float]:
    """What a number may lie between [SI]."""
    floor = DIMENSIONS[column.dimension].low
    most = _LARGEST[column.dimension]
    low = column.low if column.low is not None else floor if floor is not None else -most
    return low, most if column.high is None else column.high


def _range_text(column: Column) -> str:
    low, high = _ends(column)
    return " to ".join(format_quantity(end, column.dimension, unit=column.unit or None) for end in (low, high))


def _flags(table: CsvTable, number: int, cells: list[str], findings: list[Finding]) -> list[bool]:
    flags = []
    wrong = 0
    for row, cell in enumerate(cells):
        flag = _FLAGS.get(cell.casefold())
        wrong += flag is None
        if flag is None and wrong <= _TOLD:
            message = f'"{cell[:40]}" is neither yes nor no'
            findings.append(table.finding(row, number, "LOG-CELL", message, "write yes or no"))
        flags.append(bool(flag))
    return flags


def _require_filled(table: CsvTable, number: int, name: str, cells: list[str], findings: list[Finding]) -> None:
    empty = [row for row, cell in enumerate(cells) if not cell]
    for row in empty[:_TOLD]:
        findings.append(table.finding(row, number, "LOG-CELL", f'"{name}" is empty', "fill it, or remove the row"))


def _near(name: str, known: Iterable[str]) -> str:
    close = get_close_matches(name, list(known), n=1, cutoff=0.7)
    return f'did you mean "{close[0]}"?' if close else ""
