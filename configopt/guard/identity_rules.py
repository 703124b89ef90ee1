"""Which part an entry is: names that say something else than the figures, and names that stand twice."""

from __future__ import annotations

import re
from collections.abc import Iterator

from configopt.catalog.records import FAMILIES, Tire
from configopt.guard.looking import Broken, Look, each
from configopt.guard.rule import Example, Rule
from configopt.guard.shelf import Shelf
from configopt.guard.waivers import Found
from configopt.sizes import SizeError, parse_tire_size

NAME_SIZE = Rule(
    "NAME-SIZE",
    "warning",
    "a name with another size than the entry",
    "The name or id holds a designation, and it is not that of the entry's size: mostly an entry that was copied and "
    "changed in one place only. Correct the one that is wrong; an id that is in use stays, with a waiver.",
    Example("tires", "name: Heron Moor 80/100-21", "name: Heron Moor 70/100-19"),
    waivable=True,
)
SAME_NAME = Rule(
    "SAME-NAME",
    "warning",
    "two entries of one maker with the same name",
    "Lists and answers show names; two parts that share maker and name cannot be told apart there. Name what differs.",
    Example("tires:heron-moor-80-100-21", "name: Heron Moor 70/100-19", "name: Heron Moor 80/100-21"),
    waivable=True,
)
RULES = (NAME_SIZE, SAME_NAME)
_SIZE = re.compile(
    r"AT[0-9.]+x[0-9.]+-[0-9]+|[0-9]{2,3}/[0-9]{2,3}-[0-9]{2}|[0-9]\.[0-9]{2}-[0-9]{2}|[0-9]{2,3}-[0-9]{3}"
)
_IN_ID = re.compile(
    r"(?<![0-9])([0-9]{2,3})-([0-9]{2,3})-([0-9]{2})(?![0-9-])|(?<![0-9-])([0-9]{2,3})-([0-9]{3})(?![0-9-])"
)


def _designations(tire: Tire) -> Iterator[tuple[str, str]]:
    """Designations that name and id hold, each with the key where it stands."""
    for found in _SIZE.finditer(tire.name):
        yield "name", found.group()
    if found_in_id := _IN_ID.search(tire.id):
        width, ratio, code, section, seat = found_in_id.groups()
        yield "id", f"{section}-{seat}" if section else f"{width}/{ratio}-{code}"


def _named(tire: Tire) -> Iterator[Broken]:
    size = parse_tire_size(tire.size)
    for key, text in _designations(tire):
        try:
            said = parse_tire_size(text)
        except SizeError:
            continue
        # Names of bicycle sizes also stand for others: only what is of the same system is compared.
        if said.family == size.family and said != size:
            yield NAME_SIZE, key, f"the {key} says {said}, the size is {size}", "correct the one that is wrong"
            return


def _same_names(shelf: Shelf) -> Iterator[Found]:
    for family in FAMILIES:
        seen: dict[tuple[str, str], int] = {}
        for entry in shelf.entries(family):
            if family == "surfaces":
                key = ("", " ".join(entry.part.name.lower().split()))
            else:
                key = (entry.part.maker, " ".join(entry.part.name.lower().split()))
            line, _ = entry.document.position(("parts", entry.index, "id"))
            if key in seen:
                message = f'"{entry.part.name}" is also the name of the entry in line {seen[key]}'
                yield entry, entry.finding(SAME_NAME, "name", message, "name what differs")
            seen.setdefault(key, line)


LOOKS: tuple[Look, ...] = (each("tires", _named), _same_names)
