"""Zones in which points that no other beats can still lie, for any number of quantities of which less is better."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass
class Zones:
    """Upper corners of the zones that are still open; a point lies in a zone where it is below the corner throughout.

    References
    ----------
    K. Klamroth, R. Lacour, D. Vanderpooten, On the representation of the search region in multi-objective optimization,
    European Journal of Operational Research 245 (2015) 767-778, update with removal of redundant corners.

    >>> zones = Zones(2)
    >>> zones.add(np.array([3.0, 4.0]))
    >>> sorted(tuple(float(x) for x in corner) for corner in zones.corners)
    [(3.0, inf), (inf, 4.0)]
    """

    count: int
    corners: list[Array] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.corners = [np.full(self.count, np.inf)]

    def add(self, point: Array) -> None:
        """Take a point's own zone, and all that it beats, out of the open zones."""
        hit = [corner for corner in self.corners if bool((point < corner).all())]
        kept = [corner for corner in self.corners if not bool((point < corner).all())]
        made = []
        for corner in hit:
            for axis in range(self.count):
                smaller = corner.copy()
                smaller[axis] = point[axis]
                made.append(smaller)
        for number, corner in enumerate(made):
            others = [other for at, other in enumerate(made) if at != number]
            inside = any(bool((corner <= other).all()) for other in kept)
            inside |= any(bool((corner <= other).all() and (corner < other).any()) for other in others)
            inside |= any(bool((corner == other).all()) for other in made[:number])
            if not inside:
                kept.append(corner)
        self.corners = kept

    def close(self, corner: Array) -> None:
        """Nothing lies in a zone."""
        self.corners = [other for other in self.corners if other is not corner]
