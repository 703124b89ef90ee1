"""The same model by SCIP, so that no answer rests on one solver alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pyscipopt

from configopt.choice.solve import Arrays, Solution


class OtherSolver:
    """A model as arrays in SCIP, to be solved, cut and solved again."""

    def __init__(self, arrays: Arrays, fixed: Mapping[int, float] | None = None) -> None:
        """Take a model, with some variables fixed by their identity."""
        self.arrays = arrays
        self.model = pyscipopt.Model()
        self.model.hideOutput()
        self.model.setRealParam("limits/gap", 0.0)
        self.model.setRealParam("limits/absgap", 1e-9)
        self.model.setRealParam("numerics/feastol", 1e-7)
        self.variables = []
        for number, variable in enumerate(arrays.variables):
            at = (fixed or {}).get(id(variable))
            low, high = (arrays.low[number], arrays.high[number]) if at is None else (at, at)
            kind = "I" if arrays.integer[number] else "C"
            cost = float(arrays.cost[number])
            self.variables.append(self.model.addVar(vtype=kind, lb=finite(low), ub=finite(high), obj=cost))
        for row, (low, high) in enumerate(zip(arrays.row_low, arrays.row_high, strict=True)):
            span = range(int(arrays.start[row]), int(arrays.start[row + 1]))
            if not span:
                continue
            body = pyscipopt.quicksum(float(arrays.value[i]) * self.variables[arrays.index[i]] for i in span)
            if low == high:
                self.model.addCons(body == float(low))
                continue
            if np.isfinite(low):
                self.model.addCons(body >= float(low))
            if np.isfinite(high):
                self.model.addCons(body <= float(high))
        self.model.addObjoffset(arrays.offset)

    def solve(self) -> Solution:
        """The least value and a solution that has it."""
        self.model.optimize()
        status = self.model.getStatus()
        if status == "infeasible":
            return Solution("infeasible", None, float("inf"), float("inf"))
        assert status == "optimal"
        values = {
            id(variable): float(self.model.getVal(own))
            for variable, own in zip(self.arrays.variables, self.variables, strict=True)
        }
        return Solution("optimal", values, float(self.model.getObjVal()), float(self.model.getDualbound()))

    def forbid(self, together: Sequence[Any]) -> None:
        """Not all of some variables may be 1 at once."""
        known = {id(variable): own for variable, own in zip(self.arrays.variables, self.variables, strict=True)}
        self.model.freeTransform()
        self.model.addCons(pyscipopt.quicksum(known[id(variable)] for variable in together) <= len(together) - 1)


def finite(value: float) -> float | None:
    """A bound, or none."""
    return float(value) if np.isfinite(value) else None
