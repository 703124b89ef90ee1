"""Plain tables, as the page, the workbook and the tests see them."""

from __future__ import annotations

from dataclasses import dataclass

from configopt.sheet.figures import Shown

#: From so many letters on a cell takes the width of a text.
LONG = 60


@dataclass(frozen=True, slots=True)
class Beside:
    """A cell with a second line: what it was before."""

    now: str | Shown
    was: str | Shown


Cell = str | Shown | Beside


@dataclass(frozen=True, slots=True)
class Column:
    """Head of a column; figures stand to the right."""

    words: str
    figures: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A row whose first cell names it; a marked one is the row that matters."""

    cells: tuple[Cell, ...]
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table with its caption; ``note`` explains what its words and figures mean."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""

    @property
    def wide(self) -> bool:
        """Whether it is wider than a small screen may be: more than three columns, or long texts beside two others."""
        long = any(isinstance(cell, str) and len(cell) > LONG for row in self.rows for cell in row.cells[1:])
        return len(self.columns) > 3 or (len(self.columns) == 3 and long)

    def __post_init__(self) -> None:
        wrong = [row for row in self.rows if len(row.cells) != len(self.columns)]
        if wrong:
            raise ValueError(f"a row of {self.caption!r} has {len(wrong[0].cells)} cells, not {len(self.columns)}")


def columns(*heads: str) -> tuple[Column, ...]:
    """Columns from their heads; a head that begins with ``#`` is one of figures.

    >>> columns("part", "#mass")
    (Column(words='part', figures=False), Column(words='mass', figures=True))
    """
    return tuple(Column(head.removeprefix("#"), head.startswith("#")) for head in heads)
