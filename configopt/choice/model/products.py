"""Products of a choice with a mass: rows of the projected convex hull, never a hand-picked constant."""

from __future__ import annotations

import numpy as np
import pyomo.environ as pyo
from numpy.typing import NDArray

from configopt.choice.model.network import linear

Array = NDArray[np.float64]
#: Rows put in at the start per product.
ROWS = 4


def add_product_below(
    block: pyo.Block,
    name: str,
    chosen: list[object],
    factors: Array,
    amount: tuple[list[float], list[object], float],
    low: float,
    high: float,
) -> tuple[list[float], list[object], float]:
    """Lower bound of (sum of factor_i x_i) d, where one x_i is 1 and d = amount lies in [low, high].

    v >= L (d - low) - (high - low) sum_i max(L - factor_i, 0) x_i for several L, and factor_i low exactly; with L = the
    chosen factor the row is exact at whole choices.

    Returns
    -------
    coefficients, variables, constant of the expression
    """
    least = float(factors.min())
    coefficients, variables, fixed = amount
    # The part common to all footings is exact: least x d.
    expression = [least * c for c in coefficients]
    terms = list(variables)
    constant = least * fixed
    rest = factors - least
    if float(rest.max()) * (high - low) <= 0.0:
        return expression + [float(r) * low for r in rest], terms + list(chosen), constant
    expression += (rest * low).tolist()
    terms += list(chosen)
    value = pyo.Var(bounds=(0.0, float(rest.max()) * (high - low)))
    block.add_component(name, value)
    levels = np.unique(np.quantile(rest, np.linspace(0.0, 1.0, ROWS)))
    rows = pyo.ConstraintList()
    block.add_component(f"{name}_hull", rows)
    width = high - low
    for level in levels[levels > 0.0].tolist():
        short = np.maximum(level - rest, 0.0) * width
        rows.add(
            linear(
                [1.0] + [-level * c for c in coefficients] + short.tolist(),
                [value, *variables, *chosen],
            )
            >= level * (fixed - low)
        )
    return [*expression, 1.0], [*terms, value], constant
