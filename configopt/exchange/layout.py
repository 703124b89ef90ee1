"""A catalog file as text: what is written for every value, in which order, and which comments stand where.

The house layout is block style with one ``key: value`` a line, indented by two.  A file in this layout comes back
byte for byte; of another one (flow style, folded text, quotes that are not needed) the values, their order and the
comments come back, in the house layout.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import yaml
from yaml.events import ScalarEvent

from configopt.files.yaml_source import KeyPath

LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
#: A line outside the entries as it may stay.
HEAD_LINE = re.compile(r"\s*#.*|---|(?:family|currency|parts):(?: .*)?|\s*")
#: Words that are no text where they stand bare, as the house layout writes them.
WORDS = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), "null"),
    **dict.fromkeys(("true", "True", "TRUE"), "true"),
    **dict.fromkeys(("false", "False", "FALSE"), "false"),
}
_NUMBER = re.compile(r"[-+]?(?:\.[0-9]+|(?:0|[1-9][0-9]*)(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_BARE = re.compile(r"[A-Za-z0-9°µØ(][A-Za-z0-9 _./,()%°+;*'^&-]*(?<! )")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t"}


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a value was read: a file, its row and column (1-based), and the sheet of a workbook."""

    path: str
    row: int
    column: int
    sheet: str | None = None


@dataclass(frozen=True, slots=True)
class Leaf:
    """One value of an entry.

    ``path`` goes through keys and list numbers (from 0).  ``text`` is what was written; ``bare`` says that it stands
    in the file as it is (a number, ``true``, ``null``, ``{}``, ``[]``) and is no text.
    """

    path: KeyPath
    text: str
    bare: bool = False
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Comment:
    """A comment of an entry, or an empty line (no text).

    ``where``: before the entry, in a line before a key, behind the value of a key, or after the last key.  ``text``
    begins with ``#``; behind a value with the blanks in front of it.
    """

    where: str
    text: str
    path: KeyPath = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a family: its values in file order, with its comments."""

    leaves: tuple[Leaf, ...]
    comments: tuple[Comment, ...] = ()
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class HeadLine:
    """A line of the file outside its entries, as it is."""

    text: str
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class FamilyText:
    """A catalog file: the lines up to ``parts:``, the entries, and the lines after them."""

    family: str
    head: tuple[HeadLine, ...]
    entries: tuple[Entry, ...]
    foot: tuple[HeadLine, ...] = ()
    columns: tuple[tuple[KeyPath, int], ...] = ()
    """Of what was read from a table: the fields that have a column, with its number from 1."""
    header: Place | None = None
    """Of what was read from a table: where its header row begins."""

    def top(self, key: str) -> str | None:
        """The text of a key in the head, such as the currency."""
        for line in self.head:
            match = re.fullmatch(rf"{key}:\s+(.*?)(?:\s+#.*)?\s*", line.text)
            if match:
                return match[1].strip("\"'")
        return None


@dataclass(frozen=True, slots=True)
class Rendered:
    """A catalog file made of a :class:`FamilyText`; of each line (from line 1 on) what it was made of.

    ``places`` say where its content was read, ``paths`` which value or group of the entry it begins, ``entries`` where
    the entry stands: a constant of a mapping file has its place there, its entry in the sheet.
    """

    family: str
    text: str
    places: tuple[Place | None, ...]
    paths: tuple[KeyPath, ...] = ()
    entries: tuple[Place | None, ...] = ()

    def place(self, line: int) -> Place | None:
        """Where the content of a line was read."""
        return self.places[line - 1] if 1 <= line <= len(self.places) else None

    def entry(self, line: int) -> tuple[Place | None, KeyPath]:
        """Where the entry of a line stands, and the path of what the line begins."""
        return (self.entries[line - 1], self.paths[line - 1]) if 1 <= line <= len(self.entries) else (None, ())


def is_number(text: str) -> bool:
    """Whether a text stands for a number where it stands bare in a catalog file.

    >>> is_number("-5.20"), is_number("1e3"), is_number("007"), is_number("5 g")
    (True, True, False, False)
    """
    return _NUMBER.fullmatch(text) is not None


@lru_cache(maxsize=65536)
def scalar(text: str) -> str:
    """A text as it stands in a catalog file: in double quotes only where it would else be something else.

    >>> scalar("80/100-21"), scalar("410"), scalar("a: b"), scalar("")
    ('80/100-21', '"410"', '"a: b"', '""')
    """
    if not (text in WORDS or is_number(text)):
        if _BARE.fullmatch(text):
            return text
        if _reads_back(text):
            return text
    return f'"{"".join(_ESCAPES.get(character, character) for character in text)}"'


def _reads_back(text: str) -> bool:
    """Whether the text, without quotes, is read as this very text."""
    if re.search(r"[\n\r\t]", text) or _not_finite(text):
        return False
    try:
        events = list(yaml.parse(f"- k: {text}\n  l: x\n- {text}\n", Loader=LOADER))
    except yaml.YAMLError:
        return False
    values = [(event.value, event.style or "") for event in events if isinstance(event, ScalarEvent)]
    return values == [("k", ""), (text, ""), ("l", ""), ("x", ""), (text, "")] and len(events) == 13


def _not_finite(text: str) -> bool:
    return re.fullmatch(r"[-+]?\.(?:inf|nan)", text, re.IGNORECASE) is not None


def render(made: FamilyText) -> Rendered:
    """Write a catalog file in the house layout.

    Parameters
    ----------
    made
        Its lines and entries.

    Returns
    -------
    Rendered
        The text, with the place behind each line.
    """
    lines = [_Line(line.text, line.place) for line in made.head]
    for entry in made.entries:
        lines += _EntryLines(entry).lines()
    lines += [_Line(line.text, line.place) for line in made.foot]
    return Rendered(
        made.family,
        "".join(f"{line.text}\n" for line in lines),
        tuple(line.place for line in lines),
        tuple(line.path for line in lines),
        tuple(line.entry for line in lines),
    )


class _Line(NamedTuple):
    text: str
    place: Place | None
    path: KeyPath = ()
    entry: Place | None = None


class _EntryLines:
    """The lines of one entry."""

    def __init__(self, entry: Entry) -> None:
        self.entry = entry
        self.out: list[_Line] = []
        self.before: dict[KeyPath, list[str]] = {}
        self.behind: dict[KeyPath, str] = {}
        for comment in entry.comments:
            if comment.where == "before":
                self.before.setdefault(comment.path, []).append(comment.text)
            elif comment.where == "behind":
                self.behind[comment.path] = comment.text

    def lines(self) -> list[_Line]:
        self._comments((comment.text for comment in self.entry.comments if comment.where == "entry"), 2)
        tree = _tree(self.entry.leaves)
        if isinstance(tree, dict):
            self._mapping(tree, 4, "  - ", ())
        # A comment on a key that is gone keeps its place in the entry.
        lost = [text for texts in self.before.values() for text in texts]
        lost += [text.strip() for text in self.behind.values()]
        self._comments(lost, 4)
        self._comments((comment.text for comment in self.entry.comments if comment.where == "end"), 4)
        return self.out

    def _comments(self, texts: Iterable[str], indent: int) -> None:
        place = self.entry.place
        self.out += [_Line(f"{' ' * indent}{text}" if text else "", place, (), place) for text in texts]

    def _line(self, lead: str, text: str, path: KeyPath, place: Place | None) -> None:
        indent = len(lead) - len(lead.lstrip(" "))
        self._comments(self.before.pop(path, []), indent)
        written = f"{lead}{text}{self.behind.pop(path, '')}"
        self.out.append(_Line(written, place or self.entry.place, path, self.entry.place))

    def _mapping(self, node: dict[str | int, Any], indent: int, lead: str, path: KeyPath) -> None:
        for key, child in node.items():
            here = (*path, key)
            if isinstance(child, Leaf):
                self._line(lead, f"{scalar(str(key))}: {_written(child)}", here, child.place)
            else:
                self._line(lead, f"{scalar(str(key))}:", here, _first_place(child))
                self._children(child, indent, here)
            lead = " " * indent

    def _children(self, node: dict[str | int, Any], indent: int, path: KeyPath) -> None:
        if not all(isinstance(key, int) for key in node):
            self._mapping(node, indent + 2, " " * (indent + 2), path)
            return
        lead = f"{' ' * (indent + 2)}- "
        for number, child in node.items():
            here = (*path, number)
            if isinstance(child, Leaf):
                self._line(lead, _written(child), here, child.place)
            else:
                self._mapping(child, indent + 4, lead, here)


def _written(leaf: Leaf) -> str:
    return leaf.text if leaf.bare else scalar(leaf.text)


def _first_place(node: Any) -> Place | None:
    while isinstance(node, dict):
        node = next(iter(node.values()))
    return node.place if isinstance(node, Leaf) else None


def _tree(leaves: Iterable[Leaf]) -> Any:
    """Values by key and number, nested, in the order in which they first come."""
    root: dict[str | int, Any] = {}
    for leaf in leaves:
        if not leaf.path:
            continue
        node = root
        for step in leaf.path[:-1]:
            node = node.setdefault(step, {})
        node[leaf.path[-1]] = leaf
    return root
