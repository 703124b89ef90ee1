"""Ride verdicts: a table of what riders said, one row a ride, kept for years as CSV.

A row says who rode which tire, when and where, and, where it was compared, whether it was better than another one.
The columns may stand in any order; ``when``, ``who``, ``tire``, ``verdict`` and ``than`` have to be there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Literal

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import FAMILIES
from configopt.errors import Finding, FindingsError, one_line
from configopt.files.csv_table import CsvTable, read_csv_table
from configopt.files.yaml_source import FINDING_LIMIT
from configopt.quantities import DIMENSIONS, QuantityError, format_quantity, parse_quantity
from configopt.scenario.case import Case

Word = Literal["better", "worse", "alike"]
#: What may stand in a column of words, by what it is read as.
VERDICT_WORDS: dict[str, Word] = {"better": "better", "worse": "worse", "alike": "alike"}
POSITION_WORDS = {"front": "front", "rear": "rear", "both": "both"}
YES_WORDS = {"yes": True, "no": False}
#: Columns with what they hold; a dimension for those whose header names a unit.
COLUMNS = {
    "when": "day of the ride, as 2026-03-31",
    "who": "rider",
    "place": "where",
    "conditions": "ground and weather",
    "distance": "distance ridden, unit in the header",
    "position": "front, rear or both",
    "tire": "id of the tire",
    "pressure": "its inflation pressure, unit in the header",
    "for": "what was judged, such as wet roots",
    "verdict": "better, worse or alike; empty where nothing was compared",
    "than": "id of the tire it was compared with",
    "than pressure": "inflation pressure of that tire, unit in the header",
    "dropped": "yes where the tire was given up",
    "why": "reason for the verdict or for giving up",
    "note": "anything else",
}
REQUIRED = ("when", "who", "tire", "verdict", "than")
DIMENSION_OF = {"distance": "length", "pressure": "pressure", "than pressure": "pressure"}
_EXAMPLES = {"length": "km", "pressure": "kPa"}
#: A pressure [Pa] or distance [m] beyond which a unit or a digit must be wrong.
MOST = {"length": 2e6, "pressure": 1e6}
#: Rows of a table: a thousand rides a year for twenty years.
MOST_VERDICTS = 20_000
#: Bytes of a table.
MOST_BYTES = 10_000_000
_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_HEADER = re.compile(r"(.*?)\s*(?:[(\[]\s*(.*?)\s*[)\]])?")


@dataclass(frozen=True)
class Verdict:
    """One row.  Pressures [Pa] and distance [m] are None where the table does not state them."""

    line: int
    when: date
    who: str
    tire: str
    place: str = ""
    conditions: str = ""
    distance: float | None = None
    position: str = ""
    pressure: float | None = None
    purpose: str = ""
    """What was judged (column ``for``), in lower case."""
    verdict: Word | None = None
    than: str = ""
    than_pressure: float | None = None
    dropped: bool = False
    why: str = ""
    note: str = ""


@dataclass(frozen=True)
class VerdictTable:
    """A table of verdicts, and notes on names in it that the catalogs do not have."""

    path: str
    sha256: str
    rows: tuple[Verdict, ...]
    notes: tuple[Finding, ...]

    @property
    def name(self) -> str:
        """Name of the file."""
        return Path(self.path).name

    @property
    def compared(self) -> tuple[Verdict, ...]:
        """Rows that compare two tires, or one at two pressures."""
        return tuple(row for row in self.rows if row.verdict is not None)

    @property
    def purposes(self) -> tuple[str, ...]:
        """What was judged in comparisons, by name."""
        return tuple(sorted({row.purpose for row in self.compared if row.purpose}))


def load_verdicts(path: str | Path, catalog: Catalog | None = None) -> VerdictTable:
    """Read a table of verdicts.

    Parameters
    ----------
    path
        CSV as :func:`configopt.files.csv_table.read_csv_table` takes it.
    catalog
        Parts that ids are looked up in.  A tire that is not there may have been withdrawn years ago: that is a note.

    Raises
    ------
    FindingsError
        With every mistake, by line and column.
    """
    _require_small(path)
    table = read_csv_table(path)
    reading = _Reading(table, catalog)
    rows = reading.rows()
    if reading.findings:
        raise FindingsError(reading.findings)
    return VerdictTable(table.path, table.sha256, rows, tuple(reading.notes.values()))


def _require_small(path: str | Path) -> None:
    """Refuse a file that cannot be such a table before it is read."""
    try:
        size = Path(path).stat().st_size
    except (OSError, ValueError):
        return  # the reader says what is wrong
    if size > MOST_BYTES:
        message = f"a table of verdicts has at most {MOST_BYTES:,} bytes, this file has {size:,}"
        raise FindingsError([Finding(str(path), 0, 0, "SHEET-LIMIT", "error", message, "divide it")])


def verdicts_of(case: Case) -> VerdictTable | None:
    """The table that a scenario names (``trials``), or None where it names none.

    Raises
    ------
    FindingsError
        With every mistake in it.
    """
    named = case.scenario.trials
    return None if named is None else load_verdicts(case.path.parent / named, case.catalog)


class _Reading:
    """Rows read so far, and what was found wrong."""

    def __init__(self, table: CsvTable, catalog: Catalog | None) -> None:
        self.table = table
        self.findings: list[Finding] = []
        self.notes: dict[str, Finding] = {}
        self.at: dict[str, int] = {}
        self.units: dict[str, str] = {}
        self.tires = None if catalog is None else {tire.id for tire in catalog.tires}
        self.others: dict[str, str] = {}
        if catalog is not None:
            self.others = {part.id: name for name in FAMILIES for part in catalog.family(name) if name != "tires"}

    def rows(self) -> tuple[Verdict, ...]:
        self._columns()
        if self.findings:
            return ()
        if len(self.table.rows) > MOST_VERDICTS:
            message = f"a table of verdicts has at most {MOST_VERDICTS:,} rows, this one has {len(self.table.rows):,}"
            self._wrong(MOST_VERDICTS, None, "SHEET-LIMIT", message, "divide it")
            return ()
        found = []
        for row in range(len(self.table.rows)):
            found.append(self._row(row))
            if len(self.findings) >= FINDING_LIMIT:
                break
        return tuple(found)

    def _wrong(self, row: int | None, column: int | None, rule: str, message: str, fix: str) -> None:
        self.findings.append(self.table.finding(row, column, rule, message, fix))

    def _columns(self) -> None:
        for number, header in enumerate(self.table.columns):
            parts = _HEADER.fullmatch(header)
            name, unit = (parts[1], parts[2]) if parts else (header, None)
            name = " ".join(name.casefold().replace("_", " ").split())
            if name not in COLUMNS:
                near = get_close_matches(name, COLUMNS, n=1)
                fix = f'did you mean "{near[0]}"?' if near else f"columns are {', '.join(COLUMNS)}; more go into note"
                self._wrong(None, number, "LOG-COLUMN", f'there is no column "{header}"', fix)
            elif name in self.at:
                self._wrong(None, number, "LOG-COLUMN", f'there are two columns "{name}"', "keep one of them")
            else:
                self.at[name] = number
                self._unit(name, number, unit)
        for name in REQUIRED:
            if name not in self.at and not any("did you mean" in f.fix and f'"{name}"' in f.fix for f in self.findings):
                self._wrong(None, None, "LOG-COLUMN", f'there is no column "{name}" ({COLUMNS[name]})', "add it")

    def _unit(self, name: str, number: int, unit: str | None) -> None:
        dimension = DIMENSION_OF.get(name)
        if dimension is None:
            if unit is not None:
                self._wrong(None, number, "LOG-COLUMN", f'"{name}" has no unit', f'write "{name}"')
            return
        example = f'write for example "{name} ({_EXAMPLES[dimension]})"'
        if not unit:
            self._wrong(None, number, "UNIT", f'the header "{name}" names no unit', example)
        elif unit not in DIMENSIONS[dimension].units:
            known = ", ".join(DIMENSIONS[dimension].unit_names)
            self._wrong(
                None, number, "UNIT", f'"{unit}" is no unit of {DIMENSIONS[dimension].title}', f"one of {known}"
            )
        else:
            self.units[name] = unit

    def _cell(self, row: int, name: str) -> str:
        return self.table.rows[row][self.at[name]] if name in self.at else ""

    def _bad(self, row: int, name: str, rule: str, message: str, fix: str) -> None:
        self._wrong(row, self.at.get(name), rule, message, fix)

    def _row(self, row: int) -> Verdict:
        def text(name: str) -> str:
            return " ".join(self._cell(row, name).split())

        for name in self.at:
            if one_line(text(name)) != text(name):
                self._bad(row, name, "VERDICT", f'"{name}" holds a character that cannot be shown', "remove it")
        for name in ("when", "who", "tire"):
            if not text(name):
                self._bad(row, name, "VERDICT", f'"{name}" is empty', f"write the {COLUMNS[name]}")
        verdict = self._word(row, "verdict", VERDICT_WORDS)
        than = self._tire(row, "than")
        tire = self._tire(row, "tire")
        pressure, than_pressure = self._quantity(row, "pressure"), self._quantity(row, "than pressure")
        if verdict and not text("than"):
            self._bad(row, "than", "VERDICT", f'"{verdict}" than what is not said', "name the other tire, by its id")
        if text("than") and not text("verdict"):
            fix = "write better, worse or alike, or clear than"
            self._bad(row, "verdict", "VERDICT", f'compared with "{than}", but there is no verdict', fix)
        if tire and tire == than and (pressure is None or than_pressure is None or pressure == than_pressure):
            fix = "name another tire, or state two different pressures"
            self._bad(row, "than", "VERDICT", f'"{tire}" is compared with itself', fix)
        dropped = bool(self._word(row, "dropped", YES_WORDS))
        if dropped and not text("why"):
            self._bad(row, "why", "VERDICT", "the tire was dropped, and why is not said", "write the reason")
        return Verdict(
            line=self.table.lines[row],
            when=self._day(row),
            who=text("who"),
            tire=tire,
            place=text("place"),
            conditions=text("conditions"),
            distance=self._quantity(row, "distance"),
            position=self._word(row, "position", POSITION_WORDS) or "",
            pressure=pressure,
            purpose=text("for").casefold(),
            verdict=verdict,
            than=than,
            than_pressure=than_pressure,
            dropped=dropped,
            why=text("why"),
            note=text("note"),
        )

    def _day(self, row: int) -> date:
        written = self._cell(row, "when")
        try:
            # Only the long form: 20260331 reads as a number in a spreadsheet.
            if written and not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", written):
                raise ValueError
            return date.fromisoformat(written) if written else date.min
        except ValueError:
            self._bad(row, "when", "VERDICT", f'"{written}" is no day', "write year, month and day, as 2026-03-31")
            return date.min

    def _word(self, row: int, name: str, words: dict[str, Any]) -> Any:
        written = self._cell(row, name)
        if not written:
            return None
        if written.casefold() not in words:
            near = get_close_matches(written.casefold(), words, n=1)
            hint = f'did you mean "{near[0]}"?' if near else f"write {', '.join(words)}, or nothing"
            self._bad(row, name, "VERDICT", f'found "{written}" in {name}', hint)
        return words.get(written.casefold())

    def _tire(self, row: int, name: str) -> str:
        written = self._cell(row, name)
        if not written:
            return ""
        if not _ID.fullmatch(written):
            lower = re.sub(r"[^a-z0-9]+", "-", written.casefold()).strip("-")
            fix = f'did you mean "{lower}"?' if self.tires and lower in self.tires else "see configopt parts tires"
            message = f'"{written}" is no id: lower case, digits, single dashes'
            self._bad(row, name, "REFERENCE", message, fix)
        elif written in self.others:
            self._bad(row, name, "REFERENCE", f'"{written}" is in {self.others[written]}, not in tires', "name a tire")
        elif self.tires is not None and written not in self.tires and written not in self.notes:
            near = get_close_matches(written, self.tires, n=1, cutoff=0.9)
            hint = f', or did you mean "{near[0]}"?' if near else ""
            message = f'"{written}" is not in the catalogs'
            fix = f"nothing to do where it was taken out of them{hint}"
            self.notes[written] = self.table.finding(row, self.at[name], "REFERENCE", message, fix, severity="note")
        return written

    def _quantity(self, row: int, name: str) -> float | None:
        written = self._cell(row, name)
        if not written or name not in self.units:
            return None
        dimension, unit = DIMENSION_OF[name], self.units[name]
        bare = re.fullmatch(r"[-+0-9.,eE]+", written) is not None
        try:
            value = float(parse_quantity(f"{written} {unit}" if bare else written, dimension))
        except QuantityError as error:
            self._bad(row, name, "QUANTITY", error.message, error.fix)
            return None
        if not 0.0 <= value <= MOST[dimension]:
            most = format_quantity(MOST[dimension], dimension)
            self._bad(
                row, name, "QUANTITY", f'found "{written}" in {unit}, allowed is 0 to {most}', "see to unit and digits"
            )
            return None
        return value
