"""One unit of flow through footing, wheel and brake layers of a position, and the final drive."""

from __future__ import annotations

import numpy as np
import pyomo.environ as pyo
from numpy.typing import NDArray
from pyomo.core.expr.numeric_expr import LinearExpression


def linear(coefficients: list[float], variables: list[object], constant: float = 0.0) -> LinearExpression:
    """Sum of coefficient x variable, zeros left out."""
    kept = [(c, v) for c, v in zip(coefficients, variables, strict=True) if c != 0.0]
    return LinearExpression(constant=constant, linear_coefs=[c for c, _ in kept], linear_vars=[v for _, v in kept])


def add_one_of(block: pyo.Block, name: str, count: int) -> list[object]:
    """Binary choice of exactly one of ``count`` nodes [1]: sum x = 1."""
    variables = pyo.Var(range(count), domain=pyo.Binary)
    block.add_component(name, variables)
    members = [variables[i] for i in range(count)]
    block.add_component(f"one_{name}", pyo.Constraint(expr=linear([1.0] * count, members) == 1.0))
    return members


def add_interface(
    block: pyo.Block,
    name: str,
    left: list[object],
    left_class: NDArray[np.int64],
    right: list[object],
    right_class: NDArray[np.int64],
    fits: NDArray[np.bool_],
) -> None:
    """What fits between two layers, by classes of equal interface.

    Flow between classes, z >= 0 [1]:
    sum of left nodes of class c = sum over fitting d of z[c, d];
    sum of right nodes of class d = sum over fitting c of z[c, d].
    """
    left_groups = _merge(left_class, fits, axis=0)
    right_groups = _merge(right_class, fits, axis=1)
    pairs = [(a, b) for a, (_, c) in enumerate(left_groups) for b, (_, d) in enumerate(right_groups) if fits[c, d]]
    flow = pyo.Var(range(len(pairs)), bounds=(0.0, 1.0))
    block.add_component(f"flow_{name}", flow)
    balance = pyo.ConstraintList()
    block.add_component(f"balance_{name}", balance)
    for side, groups, nodes in ((0, left_groups, left), (1, right_groups, right)):
        for number, (members, _) in enumerate(groups):
            through = [flow[i] for i, pair in enumerate(pairs) if pair[side] == number]
            balance.add(
                linear([1.0] * len(members) + [-1.0] * len(through), [nodes[m] for m in members] + through) == 0.0
            )


def _merge(classes: NDArray[np.int64], fits: NDArray[np.bool_], *, axis: int) -> list[tuple[list[int], int]]:
    """Nodes grouped by equal interface: members and one class that stands for them."""
    groups: dict[bytes, tuple[list[int], int]] = {}
    for node, cls in enumerate(classes.tolist()):
        pattern = fits[cls] if axis == 0 else fits[:, cls]
        groups.setdefault(pattern.tobytes(), ([], cls))[0].append(node)
    return list(groups.values())
