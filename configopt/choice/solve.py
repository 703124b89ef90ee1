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

from configopt.choice.checkpoint import checkpoint
from configopt.errors import AuditError

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
    rows: list[Any]
    """Constraints, one per row."""


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

    rows: list[Any] = []
    start: list[int] = [0]
    index: list[int] = []
    value: list[float] = []
    row_low: list[float] = []
    row_high: list[float] = []
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
        rows.append(constraint)
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
        rows,
    )


def _program(arrays: Arrays) -> highspy.HighsLp:
    """Arrays as the solver takes them."""
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(arrays.variables), len(arrays.row_low)
    lp.col_cost_, lp.offset_ = arrays.cost, arrays.offset
    lp.col_lower_, lp.col_upper_ = arrays.low, arrays.high
    lp.row_lower_, lp.row_upper_ = arrays.row_low, arrays.row_high
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = arrays.start, arrays.index, arrays.value
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    lp.integrality_ = [kinds[int(flag)] for flag in arrays.integer]
    return lp


#: Rounds of cutting planes for row prices; every round's prices are valid, more rounds make better ones.
PRICE_ROUNDS = 60
#: Largest price of a row [aim per scaled unit of the row].
PRICE_MOST = 30.0


def best_prices(
    bounds: tuple[np.ndarray, np.ndarray],
    parts: tuple[np.ndarray, np.ndarray],
    room: np.ndarray,
    start: np.ndarray,
    enough: float,
) -> tuple[float, np.ndarray]:
    """Row prices that raise the least bound of a pair of packages as far as they can (cutting planes on the dual).

    Parameters
    ----------
    bounds : lower bound of every front and of every rear package (n,), (m,)
    parts : part of every package in every row (n, rows), (m, rows)
    start : prices to begin with (rows,); the result is never worse
    enough : bound at which to stop; beyond it prices only grow wild
    room : right side of the rows less what the final drive takes at least (rows,)

    Returns
    -------
    least bound over all pairs with the prices, and the prices >= 0 (rows,): max over prices of
    min_i (bound_i + prices part_i) + min_j (bound_j + prices part_j) - prices room
    """
    count = len(room)
    best, best_at = -np.inf, start
    at = np.minimum(start, PRICE_MOST)
    with _quiet():
        highs = highspy.Highs()  # type: ignore[no-untyped-call]
        highs.setOptionValue("output_flag", False)
        highs.setOptionValue("threads", 1)
        inf = highspy.kHighsInf
        ceiling = [
            float(b.max()) + PRICE_MOST * float(np.abs(p).max(initial=0.0)) * max(count, 1)
            for b, p in zip(bounds, parts, strict=True)
        ]
        for top in ceiling:
            highs.addVar(-inf, top)
        for _ in range(count):
            highs.addVar(0.0, PRICE_MOST)
        for column, cost in enumerate([-1.0, -1.0, *room.tolist()]):
            highs.changeColCost(column, cost)
        columns = np.arange(2, 2 + count, dtype=np.int32)
        for _ in range(PRICE_ROUNDS):
            checkpoint()
            value = -float(at @ room)
            for side in (0, 1):
                priced = bounds[side] + parts[side] @ at
                least = int(np.argmin(priced))
                value += float(priced[least])
                highs.addRow(
                    -inf,
                    float(bounds[side][least]),
                    count + 1,
                    np.concatenate([[side], columns]).astype(np.int32),
                    np.concatenate([[1.0], -parts[side][least]]),
                )
            if value > best:
                best, best_at = value, at
            if best > enough:
                break
            highs.run()
            if highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
                break
            outer = -float(highs.getInfo().objective_function_value)
            if outer - best <= 1e-6 * max(abs(best), 1.0):
                break
            solution = np.array(list(highs.getSolution().col_value))[2:]
            # Halfway to the best prices so far: plain cutting planes jump too far.
            at = 0.5 * solution + 0.5 * best_at
    return best, best_at


class Stop:
    """Asks running solves to end; set by a signal or another thread."""

    def __init__(self) -> None:
        self.asked = False


def solve(
    model: pyo.ConcreteModel,
    *,
    time_limit: float | None = None,
    threads: int = 1,
    stop: Stop | None = None,
    presolve: bool = False,
) -> Solution:
    """Solve a model.

    Parameters
    ----------
    time_limit : [s]; at the limit the best so far and its bound are kept
    stop : ends the solve when asked
    presolve : for models of many sparse rows; in those of one vehicle it takes far longer than the search it saves
    """
    arrays = to_arrays(model)
    with _quiet():
        # HiGHS keeps one pool of threads per process and fails where the next solve asks for another number.
        highspy.Highs.resetGlobalScheduler(True)
        highs = highspy.Highs()  # type: ignore[no-untyped-call]
        highs.setOptionValue("output_flag", False)
        highs.setOptionValue("threads", threads)
        highs.setOptionValue("mip_rel_gap", 0.0)
        highs.setOptionValue("mip_abs_gap", 1e-9)
        highs.setOptionValue("presolve", "on" if presolve else "off")
        if time_limit is not None:
            highs.setOptionValue("time_limit", max(time_limit, 0.0))
        highs.passModel(_program(arrays))
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
    by_identity = {id(v): x for v, x in zip(arrays.variables, values, strict=True)} if values is not None else None
    return Solution(outcome, by_identity, float(info.objective_function_value), float(info.mip_dual_bound))


@dataclass(frozen=True)
class Priced:
    """End of a continuous solve: values of variables, and what a unit of each row's right side is worth."""

    value: float
    values: dict[int, float]
    duals: dict[int, float]

    def of(self, variable: Any) -> float:
        """Value of a variable; a fixed one has the value it is fixed at."""
        return float(variable.value) if variable.fixed else self.values.get(id(variable), 0.0)

    def dual(self, row: Any) -> float:
        """Growth of the least value per unit of a row's right side."""
        return self.duals[id(row)]


def price_rows(model: pyo.ConcreteModel) -> Priced:
    """Solve a continuous model that has a solution, with the prices of its rows."""
    arrays = to_arrays(model)
    with _quiet():
        highspy.Highs.resetGlobalScheduler(True)
        highs = highspy.Highs()  # type: ignore[no-untyped-call]
        highs.setOptionValue("output_flag", False)
        highs.setOptionValue("threads", 1)
        for name in ("primal_feasibility_tolerance", "dual_feasibility_tolerance"):
            highs.setOptionValue(name, 1e-9)
        highs.passModel(_program(arrays))
        highs.run()
        status = highs.getModelStatus()
        solution = highs.getSolution()
        value = float(highs.getInfo().objective_function_value)
    if status != highspy.HighsModelStatus.kOptimal:
        raise AuditError(f"a continuous model that has a solution ended as {status}; please report the scenario")
    return Priced(
        value,
        {id(v): float(x) for v, x in zip(arrays.variables, solution.col_value, strict=True)},
        {id(row): float(x) for row, x in zip(arrays.rows, solution.row_dual, strict=True)},
    )
