"""Fingerprints of what a decision depended on: short enough to stand in its file, fine enough to name a changed line.

A fingerprint is the hash of all values, followed by two characters for each of them in file order.  Aligned with the
values that are there later, the characters tell which were changed, added or taken away.  Two characters are twelve
bits: one change in 4,096 is seen by the hash of all alone and named by its entry instead of its line.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import Any

from configopt.files.yaml_source import KeyPath

#: What people read and no model uses.
SILENT = frozenset({"name", "maker", "note", "waivers", "title", "description"})
#: Characters of the hash of all values.
_HEAD = 10
#: Longest fingerprint that is kept whole; beyond it only the hash of all values is.
_MOST = 190


def values(data: Any, silent: frozenset[str] = SILENT, at: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    """The single values of nested groups and lists with their paths, in file order; silent keys are left out."""
    if isinstance(data, dict):
        for key, value in data.items():
            if key not in silent:
                yield from values(value, silent, (*at, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from values(value, silent, (*at, number))
    else:
        yield at, data


def fingerprint(data: Any, silent: frozenset[str] = SILENT) -> str:
    """Fingerprint of an entry as its file states it.

    Examples
    --------
    >>> fingerprint({"mass": "2 kg", "note": "heavy"}) == fingerprint({"mass": "2 kg"})
    True
    >>> len(fingerprint({"mass": "2 kg", "width": "80 mm"}))
    14
    """
    listed = [_short(path, value) for path, value in values(data, silent)]
    head = _hash("".join(_long(path, value) for path, value in values(data, silent)))[:_HEAD]
    whole = head + "".join(listed)
    return whole if len(whole) <= _MOST else head


def changed_paths(old: str, data: Any, silent: frozenset[str] = SILENT) -> list[KeyPath]:
    """Where an entry differs from what a fingerprint was made of.

    Parameters
    ----------
    old
        The fingerprint.
    data
        The entry as its file states it now.
    silent
        Keys that were left out of it.

    Returns
    -------
    list of path
        Paths of values that are other or new; the path before one that is gone; ``()`` where the entry changed and the
        fingerprint does not tell where.  Empty where it did not change.
    """
    new = fingerprint(data, silent)
    if new == old:
        return []
    paths = [path for path, _ in values(data, silent)]
    before = [old[at : at + 2] for at in range(_HEAD, len(old), 2)]
    after = [new[at : at + 2] for at in range(_HEAD, len(new), 2)]
    if not before or not after:
        return [()]
    found: list[KeyPath] = []
    for kind, _, _, low, high in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind == "delete":
            found.append(paths[max(low - 1, 0)][:1])
        elif kind != "equal":
            found += paths[low:high]
    return list(dict.fromkeys(found)) or [()]


def _long(path: KeyPath, value: Any) -> str:
    return json.dumps([list(path), value], ensure_ascii=False)


def _short(path: KeyPath, value: Any) -> str:
    # Numbers of a list's items move when one is put in before them, so they are no part of what is hashed.
    names = tuple(step for step in path if isinstance(step, str))
    return _hash(_long(names, value))[:2]


def _hash(text: str) -> str:
    return base64.urlsafe_b64encode(hashlib.sha256(text.encode()).digest()).decode()
