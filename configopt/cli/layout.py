"""Plain text on a screen of any width: paragraphs, tables, two columns."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field

#: Narrowest and widest page [characters]; a wider terminal does not make longer lines, which read badly.
NARROWEST, WIDEST = 40, 100
_LEAST_COLUMN = 12

Row = Sequence[str]


def wrapped(text: str, width: int, *, indent: str = "", hang: str = "") -> list[str]:
    """Lines of a paragraph; a word is broken only where it is longer than a line.

    Parameters
    ----------
    text
        The paragraph.
    width
        Longest line [characters].
    indent, hang
        What stands before the first line and before the others.

    Returns
    -------
    list of str
        The lines, at least one.

    Examples
    --------
    >>> wrapped("a tire that rolls easily", 14, hang="  ")
    ['a tire that', '  rolls easily']
    """
    lines = textwrap.wrap(
        text, max(width, len(hang) + 8), initial_indent=indent, subsequent_indent=hang, break_on_hyphens=False
    )
    return lines or [indent.rstrip()]


@dataclass
class Page:
    """Lines of text for one screen; ``bold`` marks headings for terminals that show it."""

    width: int = 80
    bold: bool = False
    lines: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.width = min(max(self.width, NARROWEST), WIDEST)

    def heading(self, text: str) -> None:
        """A heading, after an empty line unless the page is empty."""
        if self.lines:
            self.lines.append("")
        for line in wrapped(text, self.width, hang="  "):
            self.lines.append(f"\x1b[1m{line}\x1b[0m" if self.bold else line)

    def text(self, text: str, *, indent: str = "  ", hang: str | None = None) -> None:
        """A paragraph."""
        self.lines += wrapped(text, self.width, indent=indent, hang=indent if hang is None else hang)

    def item(self, text: str) -> None:
        """One item of a list."""
        self.text(text, indent="  - ", hang="    ")

    def table(
        self,
        rows: Sequence[Row],
        *,
        header: Row | None = None,
        right: frozenset[int] = frozenset(),
        flexible: Sequence[int] = (),
        indent: str = "  ",
    ) -> None:
        """Rows in columns; where they do not fit the width, ``flexible`` columns wrap, else each row becomes lines.

        Parameters
        ----------
        rows
            Cells of each row; all rows have as many.
        header
            Headings of the columns.
        right
            Columns whose cells stand at the right, for numbers.
        flexible
            Columns that may be narrower than their text.
        indent
            What stands before each row.
        """
        listed = [tuple(header)] if header else []
        listed += [tuple(row) for row in rows]
        if not rows:
            return
        widths = [max(len(row[column]) for row in listed) for column in range(len(listed[0]))]
        gap = 2
        room = self.width - len(indent) - gap * (len(widths) - 1)
        if sum(widths) > room and not _narrow(widths, room, flexible):
            gap, room = 1, room + len(widths) - 1
            if sum(widths) > room:
                self._stack(rows, header, indent)
                return
        for row in listed:
            cells = [wrapped(cell, widths[column]) if column in flexible else [cell] for column, cell in enumerate(row)]
            for number in range(max(len(cell) for cell in cells)):
                parts = [cell[number] if number < len(cell) else "" for cell in cells]
                aligned = [
                    part.rjust(widths[column]) if column in right else part.ljust(widths[column])
                    for column, part in enumerate(parts)
                ]
                self.lines.append((indent + (" " * gap).join(aligned)).rstrip())

    def _stack(self, rows: Sequence[Row], header: Row | None, indent: str) -> None:
        """Each row as a paragraph: its first cell, then the others with their headings."""
        for row in rows:
            heads = header or ("",) * len(row)
            cells = [f"{head} {cell}".strip() for head, cell in zip(heads[1:], row[1:], strict=True) if cell]
            self.text(f"{row[0]}: {', '.join(cells)}" if cells else row[0], indent=indent, hang=indent + "  ")

    def __str__(self) -> str:
        return "\n".join(self.lines) + "\n"


def _narrow(widths: list[int], room: int, flexible: Sequence[int]) -> bool:
    """Take the excess from the widest flexible columns, in place; False where that is not enough."""
    while sum(widths) > room:
        able = [column for column in flexible if widths[column] > _LEAST_COLUMN]
        if not able:
            return False
        widest = max(able, key=lambda column: widths[column])
        widths[widest] -= 1
    return True
