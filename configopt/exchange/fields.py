"""What the records say about a field of an entry: what kind of value it holds, and how a column is named after it."""

from __future__ import annotations

import re
import types
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from configopt.catalog.records import FAMILIES, Record, Source
from configopt.files.yaml_source import KeyPath
from configopt.quantities import DIMENSIONS, Quantity

#: The record of an entry, by family; sources come last, so that a workbook begins with what people look for.
RECORDS: dict[str, type[Record]] = {**FAMILIES, "sources": Source}


@dataclass(frozen=True, slots=True)
class Kind:
    """What a field holds: text, boolean, integer, number, quantity, group (of further fields) or any."""

    name: str
    dimension: str = ""

    @property
    def has_unit(self) -> bool:
        """Whether a number alone is not enough."""
        return self.name == "quantity" and not DIMENSIONS[self.dimension].plain

    @property
    def is_number(self) -> bool:
        """Whether a number in a cell is a number, and no text of digits."""
        return self.name in ("integer", "number", "quantity", "any")


@lru_cache(maxsize=4096)
def kind_at(record: type[Record], path: KeyPath) -> Kind | None:
    """What the field at a path holds; None where the record has no such field.

    >>> from configopt.catalog.records import Tire
    >>> kind_at(Tire, ("mass",)), kind_at(Tire, ("prices", 0, "quantity")).name, kind_at(Tire, ("colour",))
    (Kind(name='quantity', dimension='mass'), 'integer', None)
    """
    found: list[Any] = [record]
    for step in path:
        found = [inner for kind in found for inner in _inside(kind, step)]
    names = {_kind(kind) for kind in found}
    if not names:
        return None
    return names.pop() if len(names) == 1 else Kind("any")


def field_names(record: type[Record]) -> list[str]:
    """Names of the columns a record can have; lists with their first item, maps with the record's own keys."""
    return list(dict.fromkeys(_names(record, (), record)))


def _names(kind: Any, path: KeyPath, record: type[Record]) -> Iterator[str]:
    if len(path) > 8:
        return
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        steps: list[str | int] = list(kind.model_fields)
    elif get_origin(kind) is list:
        steps = [0]
    elif get_origin(kind) is dict:
        steps = list(record.model_fields)
    else:
        yield column_name(path)
        return
    for step in steps:
        for inner in _inside(kind, step):
            yield from _names(inner, (*path, step), record)


def _inside(kind: Any, step: str | int) -> list[Any]:
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        field = kind.model_fields.get(step) if isinstance(step, str) else None
        if field is None:
            return []
        quantity = next((item for item in field.metadata if isinstance(item, Quantity)), None)
        return [quantity] if quantity is not None else _members(field.annotation)
    origin, arguments = get_origin(kind), get_args(kind)
    if origin in (list, tuple) and isinstance(step, int):
        return _members(arguments[0])
    if origin is dict and isinstance(step, str):
        return _members(arguments[1])
    return []


def _members(annotation: Any) -> list[Any]:
    """The members of an annotation, without what surrounds them; nothing stands for None."""
    annotation = getattr(annotation, "__value__", annotation)
    origin = get_origin(annotation)
    if origin is Annotated:
        quantity = next((item for item in get_args(annotation)[1:] if isinstance(item, Quantity)), None)
        return [quantity] if quantity is not None else _members(get_args(annotation)[0])
    if origin is Union or origin is types.UnionType:
        return [inner for member in get_args(annotation) for inner in _members(member)]
    return [] if annotation is type(None) else [annotation]


def _kind(kind: Any) -> Kind:
    if isinstance(kind, Quantity):
        return Kind("quantity", kind.dimension)
    if get_origin(kind) in (list, tuple, dict) or (isinstance(kind, type) and issubclass(kind, BaseModel)):
        return Kind("group")
    if get_origin(kind) is Literal and all(isinstance(value, str) for value in get_args(kind)):
        return Kind("text")
    simple = {bool: "boolean", int: "integer", float: "number", str: "text"}
    return Kind(simple.get(kind, "any"))


_HEADER = re.compile(r"(?P<name>[^\s\[\]]+)(?P<spread>\s*(?:\+-|±))?\s*(?:\[(?P<unit>[^\[\]]*)\])?")


@dataclass(frozen=True, slots=True)
class Header:
    """A column: the field, whether it holds the field's uncertainty, and the unit of plain numbers in it."""

    path: KeyPath
    unit: str = ""
    spread: bool = False

    def __str__(self) -> str:
        """The header of the column.

        >>> str(Header(("mass",), "kg", spread=True)), str(Header(("prices", 0, "quantity")))
        ('mass +- [kg]', 'prices.1.quantity')
        """
        name = column_name(self.path)
        return f"{name}{' +-' if self.spread else ''}{f' [{self.unit}]' if self.unit else ''}"


def column_name(path: KeyPath) -> str:
    """A path as people write it: dots between keys, list numbers from 1."""
    return ".".join(str(step + 1) if isinstance(step, int) else step for step in path)


def column_path(name: str) -> KeyPath | None:
    """The path of a column's name; None where it is no name.

    >>> column_path("prices.2.unit_price"), column_path("prices.0.quantity"), column_path("a..b")
    (('prices', 1, 'unit_price'), None, None)
    """
    steps: list[str | int] = []
    for part in name.split("."):
        if not part or (part.isdecimal() and not 1 <= len(part) <= 4):
            return None
        if part.isdecimal():
            if int(part) == 0:
                return None
            steps.append(int(part) - 1)
        else:
            steps.append(part)
    return tuple(steps)


def parse_header(text: str) -> Header | None:
    """Read the header of a column; None where it has not the form ``name [unit]`` or ``name +- [unit]``."""
    match = _HEADER.fullmatch(text.strip())
    path = column_path(match["name"]) if match else None
    if match is None or path is None:
        return None
    return Header(path, (match["unit"] or "").strip(), bool(match["spread"]))
