"""What parts cost at the quantity a scenario needs, price tiers and minimum orders included."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from configopt.catalog.catalog import Catalog
from configopt.physics.cost import tier_cost


class CostBook:
    """Cost of n pieces of a part per order, spread over the vehicles built.

    Parameters
    ----------
    catalog : the parts
    quantity : vehicles to be built
    """

    def __init__(self, catalog: Catalog, quantity: int) -> None:
        self.catalog = catalog
        self.quantity = quantity
        self._cost = lru_cache(maxsize=None)(self._order)
        self._number: dict[str, dict[str, int]] = {}

    def number(self, family: str, identifier: str) -> int:
        """Number of a part in its family."""
        if family not in self._number:
            self._number[family] = {part.id: i for i, part in enumerate(self.catalog.family(family))}
        return self._number[family][identifier]

    def _order(self, family: str, index: int, pieces: int) -> tuple[float, int]:
        part = self.catalog.family(family)[index]
        if pieces == 0:
            return 0.0, 0
        cost, bought = tier_cost(
            pieces,
            tier_quantities=[tier.quantity for tier in part.prices],
            tier_prices=[float(tier.unit_price) for tier in part.prices],
            minimum_order=part.minimum_order,
        )
        return float(cost) + float(part.one_off_cost), round(float(bought))

    def per_vehicle(self, family: str, index: int, pieces_per_vehicle: int) -> float:
        """Cost per vehicle [currency] of a part used so often on each."""
        return self._cost(family, index, pieces_per_vehicle * self.quantity)[0] / self.quantity

    def bought(self, family: str, index: int, pieces_per_vehicle: int) -> int:
        """Pieces bought in all, with what tiers and minimum orders add."""
        return self._cost(family, index, pieces_per_vehicle * self.quantity)[1]

    def per_vehicle_many(self, family: str, index: NDArray[np.int64], pieces: NDArray[np.int64]) -> NDArray[np.float64]:
        """The same for arrays; index -1 means no such part."""
        cost = np.zeros(index.shape)
        span = int(pieces.max(initial=0)) + 1
        distinct, inverse = np.unique(index.ravel() * span + pieces.ravel(), return_inverse=True)
        pairs = [divmod(int(key), span) for key in distinct]
        values = np.array([0.0 if i < 0 or n == 0 else self.per_vehicle(family, i, n) for i, n in pairs])
        cost.ravel()[:] = values[inverse.ravel()]
        return cost
