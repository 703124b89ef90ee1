"""What the model has to assume because nothing was published: each with a middle value and a range.

The middle values stand in every appraisal; the ranges belong to the figures whose uncertainty is propagated.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from configopt.physics.soft_ground import RUT_FACTOR


@dataclass(frozen=True)
class Range:
    """An assumed figure: what it is, its middle value, and the ends of its range, all [1]."""

    wording: str
    middle: float
    low: float
    high: float

    def at(self, share: ArrayLike) -> NDArray[np.float64]:
        """Quantile of the triangular distribution between the ends with its peak at the middle.

        >>> half = Range("", 1.0, 0.5, 1.5).at([0.0, 0.5, 1.0])
        >>> half.tolist()
        [0.5, 1.0, 1.5]
        """
        u = np.asarray(share, dtype=np.float64)
        width, rise, fall = self.high - self.low, self.middle - self.low, self.high - self.middle
        below = self.low + np.sqrt(u * width * rise)
        above = self.high - np.sqrt((1.0 - u) * width * fall)
        return np.asarray(np.where(u * width < rise, below, above))


def _range(wording: str, middle: float, low: float, high: float) -> dict[str, Range]:
    return {"range": Range(wording, middle, low, high)}


@dataclass(frozen=True)
class Assumed:
    """The assumed figures of one appraisal, each a number or one per row.

    Their ranges are estimates.
    """

    envelopment: Any = field(
        default=1.0, metadata=_range("share of the tire's reserve that swallows an obstacle", 1.0, 0.5, 1.5)
    )
    rut_factor: Any = field(
        default=RUT_FACTOR,
        metadata=_range("share of the soil's resistance left for the wheel that follows", RUT_FACTOR, 0.3, 1.0),
    )
    edge_share: Any = field(
        default=0.5, metadata=_range("share of the tire's force that an edge mobilises", 0.5, 0.3, 0.7)
    )
    bead_friction: Any = field(default=0.2, metadata=_range("friction between bead and rim", 0.2, 0.1, 0.5))
    bead_unevenness: Any = field(
        default=0.5, metadata=_range("share of the bead's hold left at the ground", 0.5, 0.35, 0.65)
    )
    rolling_exponent: Any = field(
        default=-0.5, metadata=_range("exponent of the rolling loss with pressure below 1.5 bar", -0.5, -0.8, -0.3)
    )
    carcass_share: Any = field(default=1.0, metadata=_range("casing stiffness over its default", 1.0, 0.2, 1.8))
    track_emissivity: Any = field(default=0.25, metadata=_range("emissivity of the rotor's track", 0.25, 0.15, 0.6))
    rest_emissivity: Any = field(default=0.8, metadata=_range("emissivity of the rotor's carrier", 0.8, 0.6, 0.95))
    convection: Any = field(
        default=1.0, metadata=_range("heat that the air carries off a rotor, over the correlation", 1.0, 0.6, 1.6)
    )


#: The range of each assumed figure.
RANGES: dict[str, Range] = {f.name: f.metadata["range"] for f in fields(Assumed)}
#: Every assumed figure at its middle.
MIDDLE = Assumed()
