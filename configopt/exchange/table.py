"""A family as a table: one row an entry, one column a figure, the unit in the header.

Nested fields become columns with dots, lists columns with numbers.  A number alone is in the unit of its header; a
figure in another unit, or a range, stands in the cell as it was written.  What is known of a figure's uncertainty
stands in a column of its own behind it.  Comments, and an order of keys that the columns cannot show, have columns that
begin with ``#``.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from configopt.exchange.cells import Cell, cell_of, escaped, number
from configopt.exchange.fields import RECORDS, Header, Kind, column_name, column_path, kind_at
from configopt.exchange.layout import Comment, Entry, FamilyText, Leaf
from configopt.files.yaml_source import KeyPath

COMMENTS = "# comments"
KEY_ORDER = "# key order"
_FIGURE = re.compile(r"(?P<number>\S+)(?: (?P<unit>(?!\+-)\S.*?))?(?: \+- (?P<spread>\S+)(?: (?P<other>.+))?)?")


@dataclass(frozen=True, slots=True)
class Table:
    """A family as cells; ``kinds`` say of each column what it holds (text for the columns that begin with #)."""

    family: str
    head: tuple[str, ...]
    headers: tuple[str, ...]
    kinds: tuple[Kind, ...]
    rows: tuple[tuple[Cell, ...], ...]


def table_of(made: FamilyText) -> Table:
    """Lay a family out as a table.

    Parameters
    ----------
    made
        What its file says; it has passed the loader's checks.

    Returns
    -------
    Table
        Its cells.
    """
    record = RECORDS[made.family]
    currency = made.top("currency") or ""
    columns: list[tuple[Header, Kind]] = []
    written: dict[KeyPath, list[str]] = {}
    for entry in made.entries:
        for leaf in entry.leaves:
            written.setdefault(leaf.path, []).append(leaf.text)
    for path in _columns(made.entries):
        kind = kind_at(record, path) or Kind("any")
        unit, spread = _unit(written[path], kind, currency)
        columns.append((Header(path, unit), kind))
        if spread:
            columns.append((Header(path, unit, spread=True), kind))
    place = {header.path: number for number, (header, _) in reversed(list(enumerate(columns)))}
    orders = [_key_order(entry, place) for entry in made.entries]
    comments = [_comments_text(entry.comments) for entry in made.entries]
    extra = [(name, texts) for name, texts in ((KEY_ORDER, orders), (COMMENTS, comments)) if any(texts)]
    rows = []
    for entry, *more in zip(made.entries, *(texts for _, texts in extra), strict=True):
        row: list[Cell] = [None] * len(columns)
        for leaf in entry.leaves:
            at = place[leaf.path]
            header, kind = columns[at]
            split = at + 1 < len(columns) and columns[at + 1][0].path == leaf.path
            row[at], spread_cell = _cells(leaf, kind, header.unit, split)
            if split:
                row[at + 1] = spread_cell
        rows.append((*row, *(escaped(text) if text else None for text in more)))
    return Table(
        family=made.family,
        head=tuple(line.text for line in (*made.head, *made.foot)),
        headers=(*(str(header) for header, _ in columns), *(name for name, _ in extra)),
        kinds=(*(kind for _, kind in columns), *(Kind("text") for _ in extra)),
        rows=tuple(rows),
    )


def _cells(leaf: Leaf, kind: Kind, unit: str, split: bool) -> tuple[Cell, Cell]:
    """The cell of a value and that of its uncertainty."""
    if kind.name != "quantity":
        return cell_of(leaf, kind), None
    figure = _figure(leaf.text, "" if kind.dimension == "price" else unit)
    if figure is None or (figure[1] is not None and not split) or (leaf.bare == (leaf.text != figure[0])):
        return cell_of(leaf, kind), None
    return figure


def _figure(text: str, unit: str) -> tuple[Cell, Cell] | None:
    """Number and uncertainty of a figure that is written in the unit of its header."""
    match = _FIGURE.fullmatch(text)
    if match is None or (match["unit"] or "") != unit or number(match["number"]) is None:
        return None
    if match["spread"] is None:
        return number(match["number"]), None
    if match["other"] == "%" and unit != "%":
        return number(match["number"]), f"{match['spread']} %" if number(match["spread"]) else None
    spread = number(match["spread"])
    return (number(match["number"]), spread) if spread and (match["other"] or "") == unit else None


def _unit(texts: Iterable[str], kind: Kind, currency: str) -> tuple[str, bool]:
    """The unit of a column's header, that of most of its figures, and whether any states an uncertainty."""
    if kind.name != "quantity":
        return "", False
    listed = list(texts)
    unit = ""
    if kind.has_unit:
        matches = [_FIGURE.fullmatch(text) for text in listed]
        units = Counter(match["unit"] for match in matches if match and match["unit"] and number(match["number"]))
        units = Counter({name: count for name, count in units.items() if " to " not in name and "[" not in name})
        unit = max(units, key=lambda name: units[name]) if units else ""
    figures = [_figure(text, unit) for text in listed]
    spread = any(figure is not None and figure[1] is not None for figure in figures)
    return (currency if kind.dimension == "price" else unit), spread


def _columns(entries: Iterable[Entry]) -> list[KeyPath]:
    """Paths of all values, in an order that keeps the order of the keys in the entries where there is one."""
    sequences: dict[KeyPath, dict[tuple[str | int, ...], None]] = {}
    tree: dict[Any, Any] = {}
    for entry in entries:
        groups: dict[KeyPath, dict[str | int, None]] = {}
        for leaf in entry.leaves:
            node = tree
            for depth, step in enumerate(leaf.path):
                groups.setdefault(leaf.path[:depth], {})[step] = None
                node = node.setdefault(step, {})
            node[None] = leaf.path
        for group, keys in groups.items():
            pattern = tuple("*" if isinstance(step, int) else step for step in group)
            sequences.setdefault(pattern, {})[tuple(keys)] = None
    ranks = {pattern: _ranks(list(orders)) for pattern, orders in sequences.items()}
    return list(_walk(tree, (), ranks))


def _walk(node: dict[Any, Any], pattern: KeyPath, ranks: dict[KeyPath, dict[str | int, int]]) -> Iterator[KeyPath]:
    if None in node:
        yield node[None]
    steps = [step for step in node if step is not None]
    for step in sorted(steps, key=lambda step: step if isinstance(step, int) else ranks[pattern][step]):
        yield from _walk(node[step], (*pattern, "*" if isinstance(step, int) else step), ranks)


def _ranks(orders: Sequence[Sequence[str | int]]) -> dict[str | int, int]:
    """One order of keys that agrees with all given ones, or nearly so where they contradict each other."""
    after: dict[str | int, dict[str | int, None]] = {}
    for order in orders:
        for key in order:
            after.setdefault(key, {})
        for first, second in pairwise(order):
            after[first][second] = None
    ranks: dict[str | int, int] = {}
    while after:
        blocked = {key for following in after.values() for key in following}
        key = next((key for key in after if key not in blocked), next(iter(after)))
        ranks[key] = len(ranks)
        del after[key]
    return ranks


def _groups(leaves: Iterable[Leaf]) -> dict[KeyPath, list[KeyPath]]:
    """Of every group of keys its members in order, as paths; lists have the order of their numbers."""
    groups: dict[KeyPath, dict[KeyPath, None]] = {}
    for leaf in leaves:
        for depth, step in enumerate(leaf.path):
            if isinstance(step, str):
                groups.setdefault(leaf.path[:depth], {})[leaf.path[: depth + 1]] = None
    return {group: list(members) for group, members in groups.items()}


def _key_order(entry: Entry, place: dict[KeyPath, int]) -> str:
    """The keys of the groups whose order the columns do not show."""
    own = _groups(entry.leaves)
    shown = _groups(sorted(entry.leaves, key=lambda leaf: place[leaf.path]))
    return ", ".join(column_name(path) for group in own if own[group] != shown[group] for path in own[group])


def in_key_order(leaves: Iterable[Leaf], listed: str) -> list[Leaf]:
    """Values in the order that the column for it states; keys that it does not name follow in the order they have."""
    rank: dict[KeyPath, int] = {}
    for name in listed.split(","):
        path = column_path(name.strip())
        if path is not None:
            rank.setdefault(path, len(rank))

    def sorting(leaf: Leaf) -> tuple[int, ...]:
        return tuple(
            first[leaf.path[: depth + 1]] if isinstance(step, str) else step for depth, step in enumerate(leaf.path)
        )

    kept = list(leaves)
    first: dict[KeyPath, int] = {}
    for members in _groups(kept).values():
        for position, path in enumerate(sorted(members, key=lambda path: rank.get(path, len(rank)))):
            first[path] = position
    return sorted(kept, key=sorting)


_COMMENT = re.compile(
    r"(?P<entry>(?:#.*)?)|before (?P<before>[^\s#]+)(?: (?P<above>#.*))?|end(?: (?P<end>#.*))?"
    r"|(?P<behind>[^\s#]+)(?P<text>[ \t]+#.*)"
)


def _comments_text(comments: Iterable[Comment]) -> str:
    """The comments of an entry as the text of one cell."""
    lines = []
    for comment in comments:
        name = column_name(comment.path)
        if comment.where == "entry":
            lines.append(comment.text)
        elif comment.where == "behind":
            lines.append(f"{name}{comment.text}")
        else:
            lines.append(" ".join(part for part in (comment.where, name, comment.text) if part))
    # A line end more where the last line is empty, so that it shows.
    return "\n".join(lines) + ("\n" if lines and not lines[-1] else "")


def comments_of(text: str) -> list[Comment] | str:
    """The comments that a cell states, or the line in it that states none."""
    comments: list[Comment] = []
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if lines[-1] == "":
        lines.pop()
    for line in lines:
        match = _COMMENT.fullmatch(line) or _COMMENT.fullmatch(line.strip())
        if match is None:
            return line
        if match["entry"] is not None:
            comments.append(Comment("entry", match["entry"]))
        elif match["before"] is not None or match["behind"] is not None:
            path = column_path(match["before"] or match["behind"])
            if path is None:
                return line
            if match["before"] is not None:
                comments.append(Comment("before", match["above"] or "", path))
            else:
                comments.append(Comment("behind", match["text"], path))
        else:
            comments.append(Comment("end", match["end"] or ""))
    return comments
