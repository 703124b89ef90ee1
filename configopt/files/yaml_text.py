"""Plain values as YAML text that the strict loader reads back as the same values."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

#: Texts that need no quotes: words, ids, and a number with its unit.
_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_./()+-]*( [A-Za-z0-9_./()+-]+)*|[0-9.]+ [A-Za-z%/^][A-Za-z0-9%/^ ]*")
_WORDS = re.compile(r"(true|false|null|yes|no|on|off|y|n)", re.IGNORECASE)


def yaml_text(data: Mapping[str, Any]) -> str:
    """Block style, one key and value a line, in the order of the mapping.

    Parameters
    ----------
    data
        Nested mappings and lists of texts, finite numbers, truth values and None; keys are plain words.

    Returns
    -------
    str
        The text, with a line end at its end.

    Examples
    --------
    >>> print(yaml_text({"name": "a: b", "mass_kg": 1.5, "parts": [{"id": "x", "count": 2}]}), end="")
    name: "a: b"
    mass_kg: 1.5
    parts:
      - id: x
        count: 2
    """
    return "".join(f"{line}\n" for line in _lines(data))


def _lines(data: Any) -> Iterator[str]:
    if isinstance(data, Mapping):
        for key, value in data.items():
            name = _scalar(str(key))
            if isinstance(value, Mapping | list | tuple) and value:
                yield f"{name}:"
                yield from (f"  {line}" for line in _lines(value))
            else:
                yield f"{name}: {_scalar(value)}"
        return
    for item in data:
        if isinstance(item, Mapping | list | tuple) and item:
            first, *rest = _lines(item)
            yield f"- {first}"
            yield from (f"  {line}" for line in rest)
        else:
            yield f"- {_scalar(item)}"


def _scalar(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(float(value)) if isinstance(value, float) else str(value)
    if isinstance(value, Mapping):
        return "{}"
    if isinstance(value, list | tuple):
        return "[]"
    text = str(value)
    if _PLAIN.fullmatch(text) and not _WORDS.fullmatch(text):
        return text
    # A JSON string is also one of YAML; the strict loader takes no control characters, escaped or not.
    return json.dumps(text, ensure_ascii=False)
