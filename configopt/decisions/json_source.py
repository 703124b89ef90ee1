"""JSON with the line and column of every value, as strict as the YAML loader."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from configopt.errors import Finding, FindingsError
from configopt.files.yaml_source import BYTE_LIMIT, Document, KeyPath, Position

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_DEPTH_LIMIT = 30


class _Refused(ValueError):
    """Something JSON readers accept that has no place in a file."""


def load_json(path: str | Path) -> Document:
    """Read a JSON file.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Document
        Its values and their places.

    Raises
    ------
    FindingsError
        If the file cannot be read, is no JSON, names a key twice, holds NaN or infinity, or nests too deep.
    """
    name = str(path)
    try:
        with open(path, "rb") as stream:
            raw = stream.read(BYTE_LIMIT + 1)
        if len(raw) > BYTE_LIMIT:
            raise _one(name, 0, 0, f"a file has at most {BYTE_LIMIT:,} bytes, this one has more")
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _one(name, 0, 0, f"byte {error.start + 1} is not UTF-8", "save the file as UTF-8") from None
    except OSError as error:
        raise _one(name, 0, 0, f"the file cannot be read: {error.strerror or error}") from None
    try:
        data = json.loads(text, object_pairs_hook=_pairs, parse_constant=_constant)
    except json.JSONDecodeError as error:
        message = f"not readable as JSON: {error.msg[:1].lower()}{error.msg[1:]}"
        raise _one(name, error.lineno, error.colno, message, "write the file again from the command") from None
    except RecursionError:
        raise _too_deep(name) from None
    except ValueError as error:  # also an integer of thousands of digits
        raise _one(name, 0, 0, str(error) if isinstance(error, _Refused) else "a number has too many digits") from None
    if _depth(data) > _DEPTH_LIMIT:
        raise _too_deep(name)
    return Document(name, data, _positions(text))


def _too_deep(name: str) -> FindingsError:
    return _one(name, 0, 0, f"values nest at most {_DEPTH_LIMIT} deep, these nest deeper")


def _one(name: str, line: int, column: int, message: str, fix: str = "") -> FindingsError:
    return FindingsError([Finding(name, line, column, "JSON-SYNTAX", "error", message, fix)])


def _pairs(pairs: list[tuple[str, Any]]) -> Mapping[str, Any]:
    data = dict(pairs)
    if len(data) != len(pairs):
        names = [key for key, _ in pairs]
        twice = next(key for key in names if names.count(key) > 1)
        raise _Refused(f'the key "{twice[:60]}" is here twice')
    return data


def _constant(text: str) -> Any:
    raise _Refused(f"{text} is not finite")


def _depth(data: Any) -> int:
    depth, level = 0, [data]
    while level and depth <= _DEPTH_LIMIT:
        depth += 1
        level = [
            inner
            for value in level
            if isinstance(value, dict | list)
            for inner in (value.values() if isinstance(value, dict) else value)
        ]
    return depth


def _positions(text: str) -> dict[KeyPath, Position]:
    """Places of the values; JSON's own reader gives none, but its texts are also YAML's."""
    try:
        root = yaml.compose(text, Loader=_Loader)
    except (yaml.YAMLError, ValueError):
        return {(): (1, 1)}  # a character only JSON permits: findings then name the file alone
    positions: dict[KeyPath, Position] = {}
    waiting: list[tuple[KeyPath, Any]] = [((), root)]
    while waiting:
        path, node = waiting.pop()
        positions[path] = (node.start_mark.line + 1, node.start_mark.column + 1)
        if isinstance(node, yaml.MappingNode):
            waiting += [((*path, key.value), value) for key, value in node.value]
        elif isinstance(node, yaml.SequenceNode):
            waiting += [((*path, index), value) for index, value in enumerate(node.value)]
    return positions
