"""Pyomo model to HiGHS and back: silent, one thread by default, never raising by accident."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal

import highspy
import numpy as np
import pyomo.environ as pyo
from pyomo.repn import generate_standard_repn

Status = Literal["optimal", "stopped", "infeasible", "unknown"]


@dataclass(frozen=True)
class Solution:
    """End of one solve: values by variable identity, value and proven bound of the model's aim."""

    status: Status
    values: dict[int, float] | None
    value: float
    bound: float

    def of(self, variable: Any) -> float:
        """Value of a variable; 0 if it does not occur in the model's rows."""
        assert self.values is not None
        return self.values.get(id(variable), 0.0)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep standard output clean: HiGHS prints a banner through the file descriptor at its first use."""
    sys.stdout.flush()
    try:
        saved = os.dup(1)
    except OSError:
        yield
        return
    sink = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(sink, 1)
        yield
    finally:
        os.dup2(saved, 1)
        os.close(saved)
        os.close(sink)


@dataclass
class Arrays:
    """A linear mixed-integer model as arrays, columns in the order of ``variables``."""

    variables: list[Any]
    cost: np.ndarray
    offset: float
    low: np.ndarray
    high: np.ndarray
    integer: np.ndarray
    row_low: np.ndarray
    row_high: np.ndarray
    start: np.ndarray
    index: np.ndarray
    value: np.ndarray


def to_arrays(model: pyo.ConcreteModel) -> Arrays:
    """Rows and columns of a Pyomo model whose expressions are all linear."""
    columns: dict[int, int] = {}
    variables: list[Any] = []

    def column(variable: Any) -> int:
        key = id(variable)
        if key not in columns:
            columns[key] = len(variables)
            variables.append(variable)
        return columns[key]

    start, index, value, row_low, row_high = [0], [], [], [], []
    for constraint in model.component_data_objects(pyo.Constraint, active=True):
        body = generate_standard_repn(constraint.body, quadratic=False)
        merged: dict[int, float] = {}
        for coefficient, variable in zip(body.linear_coefs, body.linear_vars, strict=True):
            at = column(variable)
            merged[at] = merged.get(at, 0.0) + float(coefficient)
        kept = {at: c for at, c in merged.items() if c != 0.0}
        index += kept
        value += kept.values()
        start.append(len(index))
        constant = float(body.constant)
        row_low.append(-np.inf if constraint.lower is None else float(constraint.lower) - constant)
        row_high.append(np.inf if constraint.upper is None else float(constraint.upper) - constant)
    objective = next(model.component_data_objects(pyo.Objective, active=True))
    aim = generate_standard_repn(objective.expr, quadratic=False)
    weights: dict[int, float] = {}
    for coefficient, variable in zip(aim.linear_coefs, aim.linear_vars, strict=True):
        at = column(variable)
        weights[at] = weights.get(at, 0.0) + float(coefficient)
    count = len(variables)
    cost = np.zeros(count)
    cost[list(weights)] = list(weights.values())
    return Arrays(
        variables,
        cost,
        float(aim.constant),
        np.array([-np.inf if v.lb is None else float(v.lb) for v in variables]),
        np.array([np.inf if v.ub is None else float(v.ub) for v in variables]),
        np.array([v.is_binary() or v.is_integer() for v in variables], dtype=bool),
        np.array(row_low),
        np.array(row_high),
        np.array(start, dtype=np.int32),
        np.array(index, dtype=np.int32),
        np.array(value),
    )


class Stop:
    """Asks running solves to end; set by a signal or another thread."""

    def __init__(self) -> None:
        self.asked = False


def solve(
    model: pyo.ConcreteModel,
    *,
    time_limit: float | None = None,
    threads: int = 1,
    relative_gap: float = 0.0,
    stop: Stop | None = None,
) -> Solution:
    """Solve a model.

    Parameters
    ----------
    time_limit : [s]; at the limit the best so far and its bound are kept
    stop : ends the solve when asked
    """
    arrays = to_arrays(model)
    with _quiet():
        highs = highspy.Highs()
        highs.setOptionValue("output_flag", False)
        highs.setOptionValue("threads", threads)
        highs.setOptionValue("mip_rel_gap", relative_gap)
        highs.setOptionValue("mip_abs_gap", 1e-9)
        # The rows are few and dense: presolve takes far longer than the search it saves.
        highs.setOptionValue("presolve", "off")
        if time_limit is not None:
            highs.setOptionValue("time_limit", max(time_limit, 0.0))
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(arrays.variables), len(arrays.row_low)
        lp.col_cost_, lp.offset_ = arrays.cost, arrays.offset
        lp.col_lower_, lp.col_upper_ = arrays.low, arrays.high
        lp.row_lower_, lp.row_upper_ = arrays.row_low, arrays.row_high
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = arrays.start, arrays.index, arrays.value
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[int(flag)] for flag in arrays.integer]
        highs.passModel(lp)
        if stop is not None:

            def interrupt(event: Any) -> None:
                event.interrupt(stop.asked)

            highs.cbMipInterrupt += interrupt
        highs.run()
        status = highs.getModelStatus()
        info = highs.getInfo()
        found = info.primal_solution_status == 2
        values = list(highs.getSolution().col_value) if found else None
    end = highspy.HighsModelStatus
    named = {
        end.kOptimal: "optimal",
        end.kInfeasible: "infeasible",
        end.kUnboundedOrInfeasible: "infeasible",
        end.kObjectiveBound: "infeasible",
        end.kTimeLimit: "stopped",
        end.kInterrupt: "stopped",
        end.kIterationLimit: "stopped",
        end.kSolutionLimit: "stopped",
    }
    outcome: Status = named.get(status, "unknown")  # type: ignore[assignment]
    by_identity = (
        {id(v): x for v, x in zip(arrays.variables, values, strict=True)} if values is not None else None
    )
    return Solution(outcome, by_identity, float(info.objective_function_value), float(info.mip_dual_bound))
