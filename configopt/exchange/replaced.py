"""What a file that is written over held and the new one does not: nobody is to lose it without a word."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from configopt.errors import ConfigoptError
from configopt.exchange.convert import read_families
from configopt.exchange.fields import RECORDS, column_name
from configopt.exchange.kinds import kind_of
from configopt.exchange.layout import Entry, FamilyText

_FAMILY = re.compile(r"^\ufeff?[\"']?family:\s*[\"']?([^\s\"'#,;]+)", re.MULTILINE)
_SHOWN = 3


def other_family(path: Path, names: Iterable[str]) -> str | None:
    """The family that the name of a file or the file that is there speaks of, where it is none of those to be written.

    Parameters
    ----------
    path
        The file to be written.
    names
        Families that it is to hold.

    Returns
    -------
    str or None
        What to say of it, such as "its name is that of the family rims"; None where nothing speaks against the file.
    """
    wanted = set(names)
    if path.stem.lower() in RECORDS and path.stem.lower() not in wanted:
        return f"its name is that of the family {path.stem.lower()}"
    if kind_of(path) not in ("yaml", "csv") or not path.is_file():
        return None
    found = _FAMILY.search(path.read_text(encoding="utf-8", errors="replace"))
    if found is not None:
        return None if found[1] in wanted else f"the file that is there says family: {found[1][:60]}"
    return "the file that is there is no catalog file" if kind_of(path) == "yaml" and path.stat().st_size else None


def families_there(paths: Iterable[Path]) -> dict[Path, list[FamilyText] | None]:
    """What the files that are there hold; None for one that cannot be read."""
    there: dict[Path, list[FamilyText] | None] = {}
    for path in paths:
        try:
            there[path] = read_families(path) if path.is_file() else []
        except (ConfigoptError, OSError, UnicodeError):
            there[path] = None
    return there


def fewer(before: Sequence[FamilyText], after: Sequence[FamilyText]) -> list[str]:
    """What is fewer than before, in words; a list of several families names them.

    Parameters
    ----------
    before, after
        The families of a file as it was and as it will be.

    Returns
    -------
    list of str
        Such as ``1 entry fewer: heron-80; note gone from 3 entries``; empty where nothing vanishes.
    """
    new = {made.family: made for made in after}
    lines = []
    for old in before:
        if old.family not in new:
            lines.append(f"{old.family}: all {_entries(len(old.entries))} gone")
        elif said := _of_family(old, new[old.family]):
            lines.append(f"{old.family}: {'; '.join(said)}" if len(before) > 1 else "; ".join(said))
    return lines


def _of_family(old: FamilyText, new: FamilyText) -> list[str]:
    now = {_id(entry): entry for entry in new.entries}
    gone = [_id(entry) for entry in old.entries if _id(entry) not in now]
    said = []
    if gone:
        said.append(f"{_entries(len(gone))} fewer: {_few(gone)}")
    fields: Counter[str] = Counter()
    for entry in old.entries:
        if _id(entry) in now:
            fields.update(_fields_gone(entry, now[_id(entry)]))
    listed = [f"{name} gone from {_entries(count)}" for name, count in fields.most_common()]
    said += listed[:_SHOWN]
    if len(listed) > _SHOWN:
        said.append(f"{len(listed) - _SHOWN} more fields gone from some")
    lines = Counter(line.text.strip() for line in (*old.head, *old.foot) if "#" in line.text)
    lines -= Counter(line.text.strip() for line in (*new.head, *new.foot))
    if lines:
        said.append(f"comments gone around the entries: {lines.total()}")
    return said


def _fields_gone(old: Entry, new: Entry) -> list[str]:
    """Fields, as the columns are named; comments count as one."""
    kept = {leaf.path[:depth] for leaf in new.leaves for depth in range(len(leaf.path) + 1)}
    said = [column_name(leaf.path) for leaf in old.leaves if leaf.path not in kept]
    texts = Counter(comment.text.strip() for comment in old.comments if comment.text)
    if texts - Counter(comment.text.strip() for comment in new.comments):
        said.append("comments")
    return said


def _id(entry: Entry) -> str:
    return next((leaf.text for leaf in entry.leaves if leaf.path == ("id",)), "")


def _entries(number: int) -> str:
    return f"{number:,} {'entry' if number == 1 else 'entries'}"


def _few(names: Sequence[str]) -> str:
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(names[:_SHOWN]) + more
