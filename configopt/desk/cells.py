"""What several parts of the page print alike: rows of figures, names of parts, figures of limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from configopt.desk.project import Opened
from configopt.sheet.figures import figure_text
from configopt.sheet.words import PARTS

Payload = Mapping[str, Any]
SLOT_WORDS = {**PARTS, "rim_lock": "rim locks"}


@dataclass(frozen=True)
class Cells:
    """A row of a table: words, then cells."""

    words: str
    cells: tuple[str, ...]
    strong: bool = False


def part_name(opened: Opened, identifier: str) -> str:
    part = opened.parts.get(identifier)
    return identifier if part is None else part.name


def figure_or_ratio(value: float | None, unit: str, currency: str) -> str:
    """A figure in its unit; one without unit is said to be a ratio.

    >>> figure_or_ratio(1.25, "1", "EUR"), figure_or_ratio(None, "1", "EUR")
    ('1.250 (ratio)', 'no figure')
    """
    text = figure_text(value, currency if unit == "currency" else unit)
    return f"{text} (ratio)" if unit == "1" and any(sign.isdigit() for sign in text) else text
