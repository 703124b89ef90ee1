"""What a choice is weighed by: rates of quantities, and amounts on single nodes beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.records import Position

Array = NDArray[np.float64]
#: What can be an aim, each with the limit on the same quantity.
AIM_LIMITS = {"mass": "package_mass", "rolling_loss": "rolling_loss", "energy": "energy", "cost": "cost"}
AIMS = tuple(AIM_LIMITS)


@dataclass(frozen=True)
class Weights:
    """The weighted aim: rates x quantities, plus an amount for each candidate that is chosen.

    ``nodes`` has the amounts of all footings, wheels and brake sets of a position, ``drives`` those of the final
    drives; without them nothing is added.  ``mix`` says what each condition of the vehicle counts in the aim's lower
    bound.
    """

    rates: dict[str, float]
    nodes: dict[Position, tuple[Array, Array, Array]] = field(default_factory=dict)
    drives: Array | None = None
    mix: tuple[float, ...] = ()
    within: tuple[Ceiling, ...] = ()
    """Other weighted aims that must not be exceeded; the bounds know them, a search has to hold its choices to them."""

    @staticmethod
    def of(rates: Mapping[str, float]) -> Weights:
        """Rates alone; what is not named has none."""
        return Weights({name: float(rates.get(name, 0.0)) for name in AIMS})


@dataclass(frozen=True)
class Ceiling:
    """A weighted aim, itself without ceilings, and the most it may come to."""

    weights: Weights
    most: float
