"""Halving of brackets, many at a time."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from configopt.physics.domain import Array


def halve(holds: Callable[[Array], NDArray[np.bool_]], low: Array, high: Array, *, rounds: int) -> tuple[Array, Array]:
    """Narrow brackets of the value up to which something holds.

    Parameters
    ----------
    holds : whether it holds at an array of values; true up to some value of each element and false beyond
    low, high : ends of the brackets, of one shape
    rounds : how often each bracket is halved

    Returns
    -------
    low end, where it holds (unless it holds nowhere), and high end, where it does not (unless it holds everywhere)

    >>> low, high = halve(lambda x: x * x <= 2.0, np.zeros(1), np.full(1, 2.0), rounds=40)
    >>> round(float(low[0]), 9), round(float(high[0]), 9)
    (1.414213562, 1.414213562)
    """
    for _ in range(rounds):
        middle = 0.5 * (low + high)
        good = holds(middle)
        low, high = np.where(good, middle, low), np.where(good, high, middle)
    return low, high
