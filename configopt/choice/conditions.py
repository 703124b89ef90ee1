"""Bounds of a vehicle's other conditions over the same nodes and the same box as those of the vehicle as stated.

The packages are the same in all conditions, so masses, radii and the cells of rest mass are too; loads, grounds and
air are not.  The aim counts the conditions by a rule (:func:`configopt.appraisal.conditions.most_counted`); fixed
weights that the rule allows give a lower bound of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.conditions import condition_weights, most_counted
from configopt.appraisal.tables import PositionTables, position_tables, riding_pressure
from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.choice.context import Context, Nodes
from configopt.choice.losses import LegLoss
from configopt.fit.candidates import PositionCandidates

Array = NDArray[np.float64]
#: Tables of a condition by position, with those as stated that they were made beside.
_TABLES: WeakKeyDictionary[VehicleModel, dict[Position, tuple[PositionTables, PositionTables]]] = WeakKeyDictionary()
#: Pressures that tell whether all are the same: while riding they are affine in what is set.
_PRESSURES = np.array([1e5, 2e5])


@dataclass(frozen=True)
class ConditionBounds:
    """What bounds one more condition of the vehicle in a box."""

    model: VehicleModel
    contexts: dict[Position, Context]
    losses: tuple[LegLoss, ...]


def tables_in(condition: VehicleModel, of: PositionCandidates, tables: PositionTables) -> PositionTables:
    """Tables of a position's candidates in a condition: those as stated unless the air changes the pressures."""
    if (riding_pressure(_PRESSURES, condition.vehicle) == riding_pressure(_PRESSURES, of.vehicle)).all():
        return tables
    known = _TABLES.setdefault(condition, {})
    if of.position not in known or known[of.position][0] is not tables:
        known[of.position] = (tables, position_tables(replace(of, vehicle=condition.vehicle)))
    return known[of.position][1]


def contexts_in(condition: VehicleModel, made: dict[Position, Context]) -> dict[Position, Context]:
    """Contexts of a condition over the nodes and the box of those of the vehicle as stated."""
    found: dict[Position, Context] = {}
    for position in POSITIONS:
        ctx, nodes = made[position], made[position].nodes
        tables = tables_in(condition, nodes.candidates, nodes.tables)
        if tables is not nodes.tables:
            nodes = Nodes(nodes.candidates, tables, nodes.footing, nodes.wheel, nodes.brake)
        found[position] = replace(ctx, model=condition, nodes=nodes, cache={})
    return found


def counted_in_bound(model: VehicleModel, mix: tuple[float, ...]) -> tuple[float, ...]:
    """What each condition counts in the bound of the aim: as asked, or as much as may be on the vehicle as stated."""
    if mix or not model.others:
        return mix or (1.0,)
    most = most_counted(model.vehicle)
    return tuple(float(weight) for weight in condition_weights(np.zeros((1, most.size)), most)[0])
