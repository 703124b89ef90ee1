"""The model of a family: one choice per vehicle out of lists, parts that are shared, and prices by quantity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import pyomo.environ as pyo

from configopt.choice.model.network import linear

Part = tuple[str, int]
"""Family and number in the catalog."""
Link = tuple[int, str, Part]
"""Vehicle, position and part."""


@dataclass(frozen=True)
class PartPrice:
    """What a part costs in the aim: tiers as (smallest quantity, price of one), once, and pieces kept as spares."""

    tiers: tuple[tuple[int, float], ...]
    once: float
    spares: int
    most: int
    """Pieces that the family can need at most, with spares."""


@dataclass(frozen=True)
class Column:
    """One choice of one vehicle: what it adds to the aim without its parts' prices, and the pieces of every part."""

    vehicle: int
    value: float
    uses: tuple[tuple[str, Part], ...]
    """Position and part."""
    pieces: tuple[tuple[Part, int], ...]
    """Pieces for all of the vehicle's number built; empty where prices do not count."""


@dataclass
class SharingModel:
    """A built model with handles to what is read from it."""

    model: pyo.ConcreteModel
    chosen: list[Any]
    missing: list[Any]
    used: dict[Part, Any] = field(default_factory=dict)
    one_each: list[Any] = field(default_factory=list)
    links: dict[Link, Any] = field(default_factory=dict)
    amounts: dict[Part, Any] = field(default_factory=dict)
    numbers: dict[str, Any] = field(default_factory=dict)


def build_sharing(
    columns: Sequence[Column],
    vehicles: int,
    *,
    prices: Mapping[Part, PartPrice],
    at_most: Mapping[str, int],
    penalty: float,
    whole: bool,
    out: frozenset[Part] = frozenset(),
    within: frozenset[Part] = frozenset(),
) -> SharingModel:
    """Build the model over listed choices.

    Parameters
    ----------
    columns : listed choices of all vehicles
    vehicles : number of vehicles
    prices : of every part whose price or number counts
    at_most : number of different parts by family
    penalty : value of a vehicle without a choice, above that of any choice
    whole : whether choices are taken whole, or in shares that sum to one
    out, within : parts that must not be used, and parts that are counted as used
    """
    model = pyo.ConcreteModel()
    domain = pyo.Binary if whole else pyo.NonNegativeReals
    model.chosen = pyo.Var(range(len(columns)), domain=domain)
    model.missing = pyo.Var(range(vehicles), domain=pyo.NonNegativeReals)
    made = SharingModel(
        model, [model.chosen[i] for i in range(len(columns))], [model.missing[k] for k in range(vehicles)]
    )
    add_one_choice_each(made, columns, vehicles)
    add_parts_in_use(made, columns, prices, at_most, whole=whole, out=out, within=within)
    add_links(made, columns)
    cost = add_prices(made, columns, prices, whole=whole)
    coefficients = [column.value for column in columns] + [penalty] * vehicles + cost[0]
    model.aim = pyo.Objective(expr=linear(coefficients, made.chosen + made.missing + cost[1]), sense=pyo.minimize)
    return made


def add_one_choice_each(made: SharingModel, columns: Sequence[Column], vehicles: int) -> None:
    """Every vehicle has exactly one choice, or none at the penalty."""
    made.model.one_each = pyo.ConstraintList()
    for vehicle in range(vehicles):
        own = [made.chosen[i] for i, column in enumerate(columns) if column.vehicle == vehicle]
        terms = [*own, made.missing[vehicle]]
        made.one_each.append(made.model.one_each.add(linear([1.0] * len(terms), terms) == 1.0))


def add_parts_in_use(
    made: SharingModel,
    columns: Sequence[Column],
    prices: Mapping[Part, PartPrice],
    at_most: Mapping[str, int],
    *,
    whole: bool,
    out: frozenset[Part],
    within: frozenset[Part],
) -> None:
    """A part is in use or not; of each family at most so many are."""
    parts = sorted({part for column in columns for _, part in column.uses} | within)
    model = made.model
    model.used = pyo.Var(range(len(parts)), domain=pyo.Binary if whole else pyo.UnitInterval)
    made.used = {part: model.used[i] for i, part in enumerate(parts)}
    for part, variable in made.used.items():
        if part in out:
            variable.fix(0.0)
        elif part in within:
            variable.fix(1.0)
    for family, number in sorted(at_most.items()):
        variables = [variable for part, variable in made.used.items() if part[0] == family]
        if variables:
            row = pyo.Constraint(expr=sum(variables) <= float(number))
            model.add_component(f"at_most_{family.replace('-', '_')}", row)
            made.numbers[family] = row


def add_links(made: SharingModel, columns: Sequence[Column]) -> None:
    """A choice that uses a part at a position has it in use: shares of choices <= use."""
    users: dict[Link, list[int]] = {}
    for number, column in enumerate(columns):
        for position, part in column.uses:
            users.setdefault((column.vehicle, position, part), []).append(number)
    made.model.link = pyo.ConstraintList()
    for link, numbers in sorted(users.items()):
        variables = [made.chosen[i] for i in numbers]
        row = made.model.link.add(linear([1.0] * len(variables) + [-1.0], [*variables, made.used[link[2]]]) <= 0.0)
        made.links[link] = row


def add_prices(
    made: SharingModel, columns: Sequence[Column], prices: Mapping[Part, PartPrice], *, whole: bool
) -> tuple[list[float], list[Any]]:
    """Pieces needed <= pieces bought, in one price tier whose smallest quantity is reached [pieces]."""
    needed: dict[Part, list[tuple[int, int]]] = {}
    for number, column in enumerate(columns):
        for part, pieces in column.pieces:
            needed.setdefault(part, []).append((number, pieces))
    model = made.model
    model.tier = pyo.VarList(domain=pyo.Binary if whole else pyo.UnitInterval)
    model.bought = pyo.VarList(domain=pyo.NonNegativeReals)
    model.amount, model.tiers = pyo.ConstraintList(), pyo.ConstraintList()
    coefficients: list[float] = []
    variables: list[Any] = []
    for part, users in sorted(needed.items()):
        price = prices[part]
        # Counted in shares of the most that can be needed, so that rows are of one size.
        scale = float(price.most)
        tiers, bought = [], []
        for start, unit in price.tiers:
            tier, amount = model.tier.add(), model.bought.add()
            model.tiers.add(linear([1.0, -1.0], [amount, tier]) <= 0.0)
            if start < price.most:
                model.tiers.add(linear([1.0, -start / scale], [amount, tier]) >= 0.0)
                coefficients.append(unit * scale)
                variables.append(amount)
            else:
                # More is bought than can be needed: one lot at its whole price.
                coefficients.append(unit * start)
                variables.append(tier)
            tiers.append(tier)
            bought.append(amount)
        model.tiers.add(linear([1.0] * len(tiers) + [-1.0], [*tiers, made.used[part]]) == 0.0)
        coefficients.append(price.once)
        variables.append(made.used[part])
        terms = [pieces / scale for _, pieces in users] + [price.spares / scale] + [-1.0] * len(bought)
        row = model.amount.add(linear(terms, [*(made.chosen[i] for i, _ in users), made.used[part], *bought]) <= 0.0)
        made.amounts[part] = row
    return coefficients, variables
