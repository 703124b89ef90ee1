"""Looks at a catalog, put together from what a rule says about one part."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from configopt.files.yaml_source import KeyPath
from configopt.guard.rule import Rule
from configopt.guard.shelf import Shelf
from configopt.guard.waivers import Found

#: A rule that a part breaks: the rule, the key where, what was found and what is allowed, what to do.
Broken = tuple[Rule, KeyPath | str, str, str]
Look = Callable[[Shelf], Iterator[Found]]


def each(family: str, judge: Callable[[Any], Iterator[Broken]]) -> Look:
    """A look at every part of a family.

    Parameters
    ----------
    family
        Name of the family.
    judge
        What a part of it breaks.

    Returns
    -------
    Look
        Yields each entry with its findings, in file order.
    """

    def look(shelf: Shelf) -> Iterator[Found]:
        for entry in shelf.entries(family):
            for rule, path, message, fix in judge(entry.part):
                yield entry, entry.finding(rule, path, message, fix)

    return look
