"""What stands in a cell: texts that no spreadsheet programme may take for a formula, and numbers as they are written.

A text that begins like a formula gets an apostrophe in front and loses it on the way back.  So does a text that reads
as one of the words below, that begins with an apostrophe itself, or that has blanks around it.
"""

from __future__ import annotations

import re
from decimal import Decimal

from configopt.exchange.fields import Kind
from configopt.exchange.layout import Leaf, Place, is_number
from configopt.files.yaml_source import KeyPath

#: An empty text, nothing at all, an empty group and an empty list, as cells.
WORDS = ('""', "null", "{}", "[]")
#: What a formula may begin with, in any programme; the wide forms are taken for the narrow ones by some.
_LEADS = "=+-@\t\r\n＝＋－＠"
_PLAIN = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
#: Decimal digits that any number in a spreadsheet keeps.
DIGITS = 15


class Number(str):
    """A number in a cell, with its digits as written."""

    __slots__ = ()


Cell = Number | str | bool | None


def number(text: str) -> Number | None:
    """The number a text stands for where a spreadsheet can keep it digit by digit, else None.

    >>> number("52.00"), number("-0.5"), number("1e3"), number("0.1234567890123456")
    ('52.00', '-0.5', None, None)
    """
    if _PLAIN.fullmatch(text) is None or len(re.sub(r"^0+|\.", "", text.lstrip("-0."))) > DIGITS:
        return None
    if len(text) > 2 * DIGITS or (text.startswith("-") and not text.strip("-0.")):
        return None
    return Number(text)


def number_text(value: float | int, decimals: int = 0) -> Number:
    """A number of a spreadsheet as text: with the digits it has, and at least so many decimals as its cell shows.

    >>> number_text(52, 2), number_text(2.585, 2), number_text(1e-7)
    ('52.00', '2.585', '0.0000001')
    """
    text = format(Decimal(f"{value:.{DIGITS}g}"), "f")
    whole, _, fraction = text.partition(".")
    fraction = fraction.rstrip("0").ljust(decimals, "0")
    return Number(f"{whole}.{fraction}" if fraction else whole)


def escaped(text: str) -> str:
    """A text as a cell holds it.

    >>> escaped("=1+1"), escaped("plain"), escaped(""), escaped("null")
    ("'=1+1", 'plain', '""', "'null")
    """
    if not text:
        return WORDS[0]
    risky = text.lstrip(" \xa0")[:1]
    if text in WORDS or text[0] == "'" or text != text.strip() or not risky or risky in _LEADS:
        return f"'{text}"
    return text


def unescaped(cell: str) -> tuple[str, bool]:
    """The text of a cell, and whether it is one of the words rather than text; blanks around it do not count.

    >>> unescaped("'=1+1"), unescaped(" null "), unescaped("'null")
    (('=1+1', False), ('null', True), ('null', False))
    """
    if cell.startswith("'"):
        return cell[1:], False
    text = cell.strip()
    if text == WORDS[0]:
        return "", False
    return text, text in WORDS


def cell_of(leaf: Leaf, kind: Kind) -> Cell:
    """The cell of a value without unit."""
    if leaf.bare:
        if leaf.text in ("true", "false"):
            return leaf.text == "true"
        return number(leaf.text) or leaf.text
    # Where a number may stand, digits in quotes must stay a text.
    if kind.is_number and (is_number(leaf.text) or leaf.text.lower() in ("true", "false")):
        return f"'{leaf.text}"
    return escaped(leaf.text)


def leaf_of(cell: Cell, kind: Kind, path: KeyPath, unit: str, place: Place | None) -> Leaf | None:
    """The value of a cell: None where the cell is empty.

    Parameters
    ----------
    cell
        What the cell holds.
    kind, path
        What the field holds, and where it stands in the entry.
    unit
        The unit of a number alone; empty where the column has none.
    place
        Where the cell stands.

    Returns
    -------
    Leaf or None
        The value; whether it is allowed is for the records to say.
    """
    if cell is None or (isinstance(cell, str) and not cell.strip()):
        return None
    if isinstance(cell, bool):
        return Leaf(path, "true" if cell else "false", kind.name in ("boolean", "any"), place)
    literal = cell.startswith("'")
    text, word = unescaped(cell)
    if word:
        return Leaf(path, text, bare=True, place=place)
    if literal:
        return Leaf(path, text, place=place)
    if kind.name in ("boolean", "any") and text.lower() in ("true", "false"):
        return Leaf(path, text.lower(), bare=True, place=place)
    if kind.is_number and is_number(text):
        if unit:
            return Leaf(path, f"{text} {unit}", place=place)
        return Leaf(path, text, bare=True, place=place)
    return Leaf(path, text, place=place)
