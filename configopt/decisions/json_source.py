"""JSON with the line and column of every value, as strict as the YAML loader."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from configopt.errors import Finding, FindingsError
from configopt.files.reading import read_start
from configopt.files.yaml_source import BYTE_LIMIT, DEPTH_LIMIT, DIGIT_LIMIT, NODE_LIMIT, Document, KeyPath, Position

#: What a sound JSON text consists of, without the blanks in between.
_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:]|[^\s{}\[\],:"]+')
_SURROGATE = re.compile("[\ud800-\udfff]")


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
        If the file cannot be read, is no JSON, names a key twice, holds NaN, infinity, half a character or a number of
        too many digits, holds too many values or nests too deep.
    """
    name = str(path)
    try:
        raw = read_start(path, BYTE_LIMIT + 1)
        if len(raw) > BYTE_LIMIT:
            raise _one(name, 0, 0, f"a file has at most {BYTE_LIMIT:,} bytes, this one has more")
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _one(name, 0, 0, f"byte {error.start + 1} is not UTF-8", "save the file as UTF-8") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        reason = getattr(error, "strerror", None) or str(error)
        raise _one(name, 0, 0, f"the file cannot be read: {reason}") from None
    return parse_json(text, name)


def parse_json(text: str, name: str) -> Document:
    """Read JSON from memory; as :func:`load_json`, with ``name`` standing for the file in findings.

    Examples
    --------
    >>> parse_json('{"mass_kg": 4.1}', "example.json").positions["mass_kg",]
    (1, 13)
    """
    try:
        data = json.loads(
            text, object_pairs_hook=_pairs, parse_constant=_constant, parse_int=_whole, parse_float=_fraction
        )
    except json.JSONDecodeError as error:
        message = f"not readable as JSON: {error.msg[:1].lower()}{error.msg[1:]}"
        raise _one(name, error.lineno, error.colno, message, "write the file again from the command") from None
    except RecursionError:
        raise _too_deep(name) from None
    except _Refused as error:
        raise _one(name, 0, 0, str(error)) from None
    _require_bearable(name, data)
    return Document(name, data, dict(_places(text)))


def _too_deep(name: str) -> FindingsError:
    return _one(name, 0, 0, f"values nest at most {DEPTH_LIMIT} deep, these nest deeper")


def _one(name: str, line: int, column: int, message: str, fix: str = "") -> FindingsError:
    return FindingsError([Finding(name, line, column, "JSON-SYNTAX", "error", message, fix)])


def _pairs(pairs: list[tuple[str, Any]]) -> Mapping[str, Any]:
    data = dict(pairs)
    if len(data) != len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise _Refused(f'the key "{twice[:60]}" is here twice')
    return data


def _constant(text: str) -> Any:
    raise _Refused(f"{text} is not finite")


def _whole(text: str) -> int:
    _require_digits(text)
    return int(text)


def _fraction(text: str) -> float:
    _require_digits(text)
    number = float(text)
    if math.isinf(number):
        raise _Refused(f"{text} is out of all range")
    return number


def _require_digits(text: str) -> None:
    digits = sum(character.isdigit() for character in text)
    if digits > DIGIT_LIMIT:
        raise _Refused(f"a number has too many digits: {digits:,}, allowed are {DIGIT_LIMIT}")


def _require_bearable(name: str, data: Any) -> None:
    """Refuse what nests too deep, holds too much, or text that no file can hold."""
    count, level = 0, [data]
    for _ in range(DEPTH_LIMIT):
        count += len(level)
        if count > NODE_LIMIT:
            raise _one(name, 0, 0, f"a file has at most {NODE_LIMIT:,} values, this one has more")
        texts = [value for value in level if isinstance(value, str)]
        texts += [key for value in level if isinstance(value, dict) for key in value]
        if any(map(_SURROGATE.search, texts)):
            raise _one(name, 0, 0, "a text holds half a character (a surrogate)", "save the file as UTF-8")
        level = [
            inner
            for value in level
            if isinstance(value, dict | list)
            for inner in (value.values() if isinstance(value, dict) else value)
        ]
        if not level:
            return
    raise _too_deep(name)


def _places(text: str) -> Iterator[tuple[KeyPath, Position]]:
    """Places of the values of a sound JSON text; JSON's own reader gives none."""
    path: list[str | int] = []
    line, line_start, done = 1, 0, 0
    key_next = False
    for token in _TOKEN.finditer(text):
        begin, found = token.start(), token[0]
        ends = text.count("\n", done, begin)
        if ends:
            line, line_start = line + ends, text.rindex("\n", done, begin) + 1
        done = begin
        if found == ",":
            if isinstance(path[-1], int):
                path[-1] += 1
            else:
                key_next = True
        elif found in "]}":
            path.pop()
            key_next = False
        elif found == ":":
            key_next = False
        elif key_next:
            path[-1] = json.loads(found, strict=False)
        else:
            yield tuple(path), (line, begin - line_start + 1)
            if found in "[{":
                path.append(0 if found == "[" else "")
                key_next = found == "{"
