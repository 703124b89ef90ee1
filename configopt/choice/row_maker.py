"""Rows and forbidden pairs of one box: how they are kept."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS, Bound, VehicleModel
from configopt.catalog.records import Position
from configopt.choice.context import Context, Integers
from configopt.choice.costing import NodeCosts
from configopt.choice.losses import LegLoss
from configopt.choice.terms import BadPairs, Row, Term

Array = NDArray[np.float64]


class RowMaker:
    """Keeps rows and forbidden pairs of one box."""

    def __init__(
        self,
        model: VehicleModel,
        made: dict[Position, Context],
        drives: Integers,
        losses: tuple[LegLoss, ...],
        costs: dict[Position, NodeCosts],
    ) -> None:
        self.model, self.made, self.drives, self.losses, self.costs = model, made, drives, losses, costs
        self.driven: Position = model.vehicle.drive.driven
        self.drive_mass = model.drive_masses[drives]
        self.found: list[Row] = []
        self.bad: list[BadPairs] = []

    def add(
        self,
        name: str,
        bound: Bound,
        unit: str,
        rhs: float,
        *,
        terms: dict[Position, Term] | None = None,
        wheel: dict[Position, Array] | None = None,
        brake: dict[Position, Array] | None = None,
        drive: Array | None = None,
        scale: float = 1.0,
        modelled: bool = True,
    ) -> None:
        """Keep one row."""
        where = f"{name}[{bound.terrain or 'all'},{bound.position or 'both'}]"
        where += f"#{sum(row.name.startswith(where) for row in self.found)}"
        self.found.append(
            Row(
                where,
                bound.limit.key,
                unit,
                dict(terms or {}),
                dict(wheel or {}),
                dict(brake or {}),
                drive,
                rhs,
                scale,
                modelled,
            )
        )

    def weight_row(
        self,
        name: str,
        bound: Bound,
        factor: float,
        *,
        angle: float = 0.0,
        deceleration: float = 0.0,
        extra: float = 0.0,
    ) -> None:
        """factor x front axle load <= extra x total mass part, exactly; see ``front_load_term``."""
        terms: dict[Position, Term] = {}
        fixed = 0.0
        for position in POSITIONS:
            term, chassis = self.made[position].front_load_term(factor, angle=angle, deceleration=deceleration)
            terms[position] = term + self.made[position].mass_term(extra)
            fixed = chassis
        least = min(extra * float(mass) for mass in self.drive_mass)
        self.add(name, bound, "N", -fixed - extra * self.model.laden_mass - least, terms=terms, scale=1000.0)

    def forbid(self, name: str, position: Position, left: str, has: Array, right: str, needs: Array) -> None:
        """Forbid pairs of nodes of a position, or of its nodes with final drives, whose need exceeds what is there."""
        if needs.size and has.size and float(needs.max()) > float(has.min()):
            side = "drive" if right == "drive" else f"{position} {right}"
            self.bad.append(BadPairs(f"{name}[{position}]", f"{position} {left}", side, has, needs))
