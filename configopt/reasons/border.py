"""The border between figures with which some choice is good enough and figures with which none is."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeVar

#: How near a border is found, as a share of it.
CLOSE = 2e-4
Winner = TypeVar("Winner")


def border(
    wins: Winner,
    good: float,
    bad: float,
    *,
    last: Callable[[Winner, float, float], float],
    some: Callable[[float, Winner], Winner | None],
) -> tuple[float, float, Winner]:
    """The last good factor between a good one and a bad one, a factor just beyond it, and who is good there.

    A choice is followed to the last factor at which it is good; just beyond, either none is, and that is the border, or
    another one is.  As there may be many of these in a row, the middle of what is left is tried in turn.

    Parameters
    ----------
    wins : good at the good factor
    good, bad : factors [1]
    last : the last factor, from a good one towards a bad one, at which a choice still is good
    some : some choice that is good at a factor, nothing where there is none; it may begin with the one that was good
    """
    beyond = True
    while True:
        good = last(wins, good, bad)
        size = CLOSE * max(abs(good), 0.05)
        if abs(bad - good) <= 1.01 * size:
            return good, bad, wins
        step = good + math.copysign(size, bad - good) if beyond else 0.5 * (good + bad)
        other = some(step, wins)
        if other is None:
            bad = step
        else:
            wins, good = other, step
        beyond = not beyond


def last_good(good: float, bad: float, still: Callable[[float], bool]) -> float:
    """The last factor from a good one towards another at which a choice still is good, to a tenth of the border."""
    if still(bad):
        return bad
    while abs(good - bad) > 0.1 * CLOSE * max(abs(good), 0.05):
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if still(middle) else (good, middle)
    return good
