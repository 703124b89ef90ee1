"""Purchase cost under price tiers and a minimum order."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from configopt.physics.domain import Array, require


def tier_cost(
    quantity: ArrayLike, *, tier_quantities: ArrayLike, tier_prices: ArrayLike, minimum_order: ArrayLike
) -> tuple[Array, Array]:
    """Cheapest cost of at least a quantity, where a tier's unit price holds for all units bought.

    Parameters
    ----------
    quantity : units needed [1], any shape; 0 costs nothing
    tier_quantities : smallest quantity of each tier [1], shape (..., tiers), ascending along the last axis
    tier_prices : unit price in each tier [currency], same shape; need not fall
    minimum_order : smallest quantity the supplier sells [1], shape of ``quantity``

    Returns
    -------
    cost [currency] and quantity bought [1], both of the broadcast shape of quantity and tiers without their last axis

    Raises
    ------
    DomainError
        Negative argument, tiers that do not ascend.

    Notes
    -----
    min over q >= max(n, minimum) of q u(q).  Within a tier the cost rises with q, so only the need itself and the
    starts of the higher tiers can be cheapest.  Buying more than needed is chosen only where it is strictly cheaper.

    References
    ----------
    All-units quantity discount, standard in texts on inventory, e.g. Render, Stair and Hanna, Quantitative Analysis for
    Management, inventory chapter.

    >>> [float(x) for x in tier_cost(95, tier_quantities=[1, 100], tier_prices=[5.0, 4.5], minimum_order=1)]
    [450.0, 100.0]
    """
    need = require("quantity", quantity, unit="1", low=0.0)
    starts = require("tier_quantities", tier_quantities, unit="1", low=0.0)
    prices = require("tier_prices", tier_prices, unit="currency", low=0.0)
    minimum = require("minimum_order", minimum_order, unit="1", low=0.0)
    require("step between tier_quantities", np.diff(starts, axis=-1), unit="1", above=0.0)

    floor = np.maximum(np.maximum(need, minimum)[..., None], starts[..., :1])
    floor, starts, prices = np.broadcast_arrays(floor, starts, prices)
    bought = np.maximum(floor, starts)
    # A lower tier would sell the needed quantity at its own price only if no higher tier had begun by then.
    following = np.concatenate([starts[..., 1:], np.full((*starts.shape[:-1], 1), np.inf)], axis=-1)
    total = np.where(bought < following, bought * prices, np.inf)
    # argmin takes the first of equals, which is the smallest purchase.
    best = np.argmin(total, axis=-1)[..., None]
    wanted = np.broadcast_to(need, total.shape[:-1]) > 0.0
    cost = np.where(wanted, np.take_along_axis(total, best, axis=-1)[..., 0], 0.0)
    units = np.where(wanted, np.take_along_axis(bought, best, axis=-1)[..., 0], 0.0)
    return np.asarray(cost), np.asarray(units)
