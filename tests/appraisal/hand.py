"""Words in which figures are drawn up by hand from printed inputs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

#: Standard gravity [m/s2]; exact by definition.
G = 9.80665
KMH = 1.0 / 3.6
ENDS = ("front", "rear")

Inputs = Mapping[str, float]
Row = Mapping[str, Any]
Hand = Callable[[Inputs, Row], float]


def named(v: Inputs, *words: str) -> list[float]:
    """Inputs whose names have all of these words, in order."""
    return [value for name, value in v.items() if all(word in name for word in words)]


def directions(v: Inputs, name: str) -> list[float]:
    """An input of each direction in which the terrain is ridden."""
    return [v[name]] if name in v else [v[f"{name} uphill"], v[f"{name} downhill"]]


def mean(values: list[float]) -> float:
    return sum(values) / len(values)


def over(above: str, below: str) -> Hand:
    return lambda v, row: v[above] / v[below]
