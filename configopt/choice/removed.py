"""What took choices away, in words: rules of fit and limits of single parts, with counts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from configopt.appraisal.vehicle import POSITIONS, Bound
from configopt.choice.audit import Candidates

#: Beginnings of counted reasons that have lost their figures, and what they say in full.
_WORDING = (
    ("hubs: axle", "hubs: for another axle diameter"),
    ("hubs: hub width", "hubs: for another width between the fork ends or dropouts"),
    ("hubs: drive interface", "hubs: another drive interface"),
    ("hubs: chain line", "hubs: chain line too far off"),
    ("rotors: rotor pattern", "rotors: bolt pattern of another axle"),
    ("rotors: rotor mm", "rotors: larger than the frame takes"),
    ("tires: tire diameter", "tires: larger than the frame takes"),
    ("tires: tire is rated", "tires: rated below the speeds of the scenario"),
)
#: What the limits take away, by the layer that is counted.
_LAYERS = {
    "footings": "tires with rim width, inner and pressure",
    "wheels": "built wheels",
    "final drives": "final drives",
}


def fit_words(reason: str) -> str:
    """A counted reason of fit as a person reads it.

    >>> fit_words("hubs: axle mm, the vehicle has mm"), fit_words("tires: tire is withdrawn")
    ('hubs: for another axle diameter', 'tires: withdrawn')
    """
    for start, words in _WORDING:
        if reason.startswith(start):
            return words
    return re.sub(r"^(\w+)s: \1 (?:is|are) ", r"\1s: ", reason)


def limit_name(bound: Bound) -> str:
    """A limit with where it holds, as the counts name it."""
    return bound.limit.wording + (f" on {bound.terrain}" if bound.terrain else "")


def removed_rows(candidates: Candidates, by_limits: Mapping[str, int]) -> list[dict[str, Any]]:
    """Everything that was taken away, most first.

    Parameters
    ----------
    candidates : what fits, with what does not
    by_limits : counts of the search, by layer and limit

    Returns
    -------
    list of dict
        ``position`` (``None`` for the whole vehicle), ``what`` and ``count``.
    """
    counts: dict[tuple[str | None, str], int] = {}
    for position in POSITIONS:
        for reason, count in candidates.of[position].removed.items():
            key: tuple[str | None, str] = (position, fit_words(reason))
            counts[key] = counts.get(key, 0) + int(count)
    for reason, count in by_limits.items():
        where, layer, limit = _parts(reason)
        cause = (where, f"{_LAYERS.get(layer, layer)}: cannot meet the limit on {limit}")
        counts[cause] = counts.get(cause, 0) + int(count)
    rows = [{"position": p, "what": what, "count": count} for (p, what), count in counts.items() if count > 0]
    return sorted(rows, key=lambda row: (-int(str(row["count"])), str(row["position"]), str(row["what"])))


def _parts(reason: str) -> tuple[str | None, str, str]:
    """Position, layer and limit of a count of the search."""
    head, _, limit = reason.partition(": ")
    position, _, layer = head.partition(" ")
    return (position, layer, limit) if position in POSITIONS else (None, head, limit)
