"""Edits of a file's text by entry and key, and the line that they change."""

from __future__ import annotations

import re
from pathlib import Path


def entry_span(text: str, identifier: str) -> tuple[int, int]:
    """Where an entry of a list begins and ends."""
    begin = text.index(f"  - id: {identifier}\n")
    end = text.find("\n  - id: ", begin + 1)
    return begin, len(text) if end < 0 else end + 1


def set_key(path: Path, identifier: str, key: str, value: str) -> int:
    """Give a key of an entry another value; its line."""
    text = path.read_text()
    begin, end = entry_span(text, identifier)
    found = re.search(rf"\n +(?:- )?{key}: ", text[begin:end])
    assert found is not None
    at = begin + found.end()
    path.write_text(text[:at] + value + text[text.index("\n", at) :])
    return text[:at].count("\n") + 1


def scale_prices(path: Path, identifier: str, factor: float) -> int:
    """Multiply every price of an entry; the line of the first."""
    text = path.read_text()
    begin, end = entry_span(text, identifier)
    entry = re.sub(
        r"unit_price: ([0-9.]+)", lambda match: f"unit_price: {float(match[1]) * factor:.2f}", text[begin:end]
    )
    path.write_text(text[:begin] + entry + text[end:])
    return text[: text.index("unit_price:", begin)].count("\n") + 1


def take_away(path: Path, identifier: str) -> None:
    """Delete an entry."""
    text = path.read_text()
    begin, end = entry_span(text, identifier)
    path.write_text(text[:begin] + text[end:])
