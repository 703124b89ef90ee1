"""The mixed-integer model of one vehicle over one box of masses: a visible list of calls, one per constraint family."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pyomo.environ as pyo
from numpy.typing import NDArray

from configopt.appraisal.vehicle import POSITIONS, VehicleModel
from configopt.catalog.records import Position
from configopt.choice.candidates import Instance
from configopt.choice.conditions import counted_in_bound
from configopt.choice.costing import discount, shared_uses
from configopt.choice.losses import LegLoss
from configopt.choice.model.network import add_interface, add_one_of, linear
from configopt.choice.model.products import add_product_below
from configopt.choice.terms import ROW_SLACK, Row, Term
from configopt.physics.loads import GRAVITY

Array = NDArray[np.float64]
Expression = tuple[list[float], list[Any], float]


@dataclass
class ChoiceModel:
    """A built model with handles to what the solution is read from."""

    model: pyo.ConcreteModel
    instance: Instance
    footing: dict[Position, list[Any]] = field(default_factory=dict)
    wheel: dict[Position, list[Any]] = field(default_factory=dict)
    brake: dict[Position, list[Any]] = field(default_factory=dict)
    drive: list[Any] = field(default_factory=list)

    def layer(self, name: str) -> list[Any]:
        """Variables of a layer by its name, e.g. ``"front footing"`` or ``"drive"``."""
        if name in ("drive", "final drive"):
            return self.drive
        position, layer = name.split()
        variables: list[Any] = getattr(self, layer)[position]
        return variables


def build(instance: Instance) -> ChoiceModel:
    """Build the model from tables with bounds."""
    made = ChoiceModel(pyo.ConcreteModel(), instance)
    add_network(made)
    add_rest_mass(made)
    for row in instance.rows:
        if row.modelled:
            add_row(made, row)
    for pairs in instance.bad:
        add_bad_pairs(made, pairs.name, pairs.left, pairs.right, pairs.groups())
    aim = add_aim(made)
    made.model.aim = pyo.Objective(expr=linear(aim[0], aim[1], aim[2]), sense=pyo.minimize)
    return made


def add_network(made: ChoiceModel) -> None:
    """Exactly one footing, wheel and brake set per position that fit, and one final drive."""
    for position in POSITIONS:
        nodes = made.instance.nodes(position)
        block = pyo.Block()
        made.model.add_component(position, block)
        made.footing[position] = add_one_of(block, "footing", nodes.footing.size)
        made.wheel[position] = add_one_of(block, "wheel", nodes.wheel.size)
        made.brake[position] = add_one_of(block, "brake", nodes.brake.size)
        add_interface(
            block,
            "mount",
            made.footing[position],
            nodes.footing_class,
            made.wheel[position],
            nodes.wheel_class,
            nodes.candidates.mounts_fit,
        )
        add_interface(
            block,
            "seat",
            made.wheel[position],
            nodes.wheel_seat,
            made.brake[position],
            nodes.brake_class,
            nodes.candidates.seats_fit,
        )
    made.drive = add_one_of(made.model, "drive", made.instance.drives.size)


def rest_mass(made: ChoiceModel, position: Position) -> Expression:
    """Mass of wheels and brakes of an axle [kg]."""
    nodes = made.instance.nodes(position)
    return (
        nodes.wheel_mass.tolist() + nodes.brake_mass.tolist(),
        made.wheel[position] + made.brake[position],
        0.0,
    )


def add_rest_mass(made: ChoiceModel) -> None:
    """Rest mass within what each footing's own limits and the box allow [kg]: low_f x_f <= rest <= high_f x_f."""
    for position in POSITIONS:
        coefficients, variables, _ = rest_mass(made, position)
        low, high = made.instance.rest_low[position], made.instance.rest_high[position]
        slack = ROW_SLACK * 10.0
        chosen = made.footing[position]
        block = getattr(made.model, position)
        block.rest_least = pyo.Constraint(
            expr=linear([*coefficients, *(-low).tolist()], [*variables, *chosen]) >= -slack
        )
        block.rest_most = pyo.Constraint(
            expr=linear([*coefficients, *(-high).tolist()], [*variables, *chosen]) <= slack
        )


def term_expression(made: ChoiceModel, name: str, position: Position, term: Term) -> Expression:
    """A term as a linear expression; its slope times the rest mass goes through the hull rows."""
    grid = made.instance.contexts[position].grid
    base, slope = term.affine(grid)
    chosen = made.footing[position]
    low = float(made.instance.rest_low[position].min())
    high = float(made.instance.rest_high[position].max())
    block = getattr(made.model, position)
    coefficients, variables, constant = add_product_below(
        block, f"product_{name}", chosen, slope, rest_mass(made, position), low, high
    )
    return [*coefficients, *base.tolist()], [*variables, *chosen], constant


def add_row(made: ChoiceModel, row: Row) -> None:
    """One limit as a row: sum of its parts <= rhs, scaled to about 1 and relaxed outward."""
    coefficients: list[float] = []
    variables: list[Any] = []
    constant = 0.0
    name = _component_name(made.model, row.name)
    for position, term in row.terms.items():
        c, v, k = term_expression(made, f"{name}_{position}", position, term)
        coefficients += c
        variables += v
        constant += k
    for position, values in row.wheel.items():
        coefficients += values.tolist()
        variables += made.wheel[position]
    for position, values in row.brake.items():
        coefficients += values.tolist()
        variables += made.brake[position]
    if row.drive is not None:
        coefficients += row.drive.tolist()
        variables += made.drive
    scaled = [c / row.scale for c in coefficients]
    made.model.add_component(
        name,
        pyo.Constraint(expr=linear(scaled, variables) <= (row.rhs - constant) / row.scale + ROW_SLACK),
    )


def add_bad_pairs(
    made: ChoiceModel,
    name: str,
    left: str,
    right: str,
    groups: Iterable[tuple[NDArray[np.int64], NDArray[np.int64]]],
) -> None:
    """Pairs that cannot go together: (sum of a group on the left) + (sum of its forbidden nodes on the right) <= 1."""
    rows = pyo.ConstraintList()
    made.model.add_component(_component_name(made.model, name), rows)
    left_nodes, right_nodes = made.layer(left), made.layer(right)
    for members, forbidden in groups:
        variables = [left_nodes[i] for i in members] + [right_nodes[i] for i in forbidden]
        rows.add(linear([1.0] * len(variables), variables) <= 1.0)


def add_ground_loss(made: ChoiceModel, number: int | str, loss: LegLoss) -> Expression:
    """Rolling loss of one leg [J/m]: both axles' resistance, the slip loss, and its growth with the other axle."""
    coefficients: list[float] = []
    variables: list[Any] = []
    constant = 0.0
    other: Position = "rear" if loss.driven == "front" else "front"
    for position in POSITIONS:
        c, v, k = term_expression(made, f"loss_{number}", position, loss.ground(position))
        if position == other and loss.slip_growth is not None:
            # Slip grows with what the other axle resists above its least.
            spread = max(loss.other_most - loss.other_least, 0.0)
            more = add_product_below(
                made.model,
                f"slip_growth_{number}",
                made.footing[loss.driven],
                loss.slip_growth,
                (list(c), list(v), k - loss.other_least),
                0.0,
                spread,
            )
            coefficients += more[0]
            variables += more[1]
            constant += more[2]
        coefficients += c
        variables += v
        constant += k
    return coefficients, variables, constant


def add_energy(made: ChoiceModel, number: int | str, loss: LegLoss, ground: Expression) -> Expression:
    """Battery energy of one leg [J/m]: above every line of the convex battery curve, plus stop-and-go."""
    model = loss.model
    weight = GRAVITY * loss.sine
    traction_c, traction_v, traction_k = list(ground[0]), list(ground[1]), ground[2]
    stop_c: list[float] = []
    stop_v: list[Any] = []
    stop_k = loss.stop_factor * model.laden_mass
    for position in POSITIONS:
        mass = made.instance.contexts[position].mass_term(weight)
        c, v, k = term_expression(made, f"grade_{number}", position, mass)
        traction_c, traction_v, traction_k = traction_c + c, traction_v + v, traction_k + k
        c, v, k = term_expression(made, f"stops_{number}", position, loss.stops[position])
        stop_c, stop_v, stop_k = stop_c + c, stop_v + v, stop_k + k
    drive_mass = model.drive_masses[made.instance.drives]
    traction_c += (weight * drive_mass).tolist()
    traction_v += made.drive
    traction_k += weight * model.laden_mass + model.air_force(loss.leg.ground.speed)
    stop_c += (loss.stop_factor * drive_mass).tolist()
    stop_v += made.drive
    energy = pyo.Var(bounds=(None, None))
    made.model.add_component(f"energy_{number}", energy)
    rows = pyo.ConstraintList()
    made.model.add_component(f"energy_rows_{number}", rows)
    for slope, offset in loss.lines():
        rows.add(linear([1.0, *(-slope * c for c in traction_c)], [energy, *traction_v]) >= slope * traction_k + offset)
    forward = 1.0 / model.drive_efficiency
    return [1.0, *(forward * c for c in stop_c)], [energy, *stop_v], forward * stop_k


def add_cost(made: ChoiceModel) -> Expression:
    """Cost per vehicle [currency]: nodes bought alone, less what parts used at both ends save by their tiers."""
    instance = made.instance
    coefficients: list[float] = []
    variables: list[Any] = []
    for position in POSITIONS:
        cost = instance.costs[position]
        for values, nodes in (
            (cost.footing.full, made.footing[position]),
            (cost.wheel.full, made.wheel[position]),
            (cost.brake.full, made.brake[position]),
        ):
            coefficients += values.tolist()
            variables += nodes
    coefficients += instance.model.drive_costs[instance.drives].tolist()
    variables += made.drive
    shared = pyo.VarList(bounds=(0.0, 1.0))
    made.model.add_component("shared_part", shared)
    rows = pyo.ConstraintList()
    made.model.add_component("shared_part_rows", rows)
    for uses in shared_uses(instance.costs).values():
        fronts = [(use, where["front"]) for use, where in uses.items() if where["front"]]
        rears = [(use, where["rear"]) for use, where in uses.items() if where["rear"]]
        for front_use, front_nodes in fronts:
            for rear_use, rear_nodes in rears:
                saved = discount(instance.model, front_use, rear_use[2])
                if saved <= 0.0:
                    continue
                both = shared.add()
                for position, members in (("front", front_nodes), ("rear", rear_nodes)):
                    nodes = [made.layer(f"{position} {layer}")[number] for layer, number in members]
                    rows.add(linear([1.0] + [-1.0] * len(nodes), [both, *nodes]) <= 0.0)
                coefficients.append(-saved)
                variables.append(both)
    return coefficients, variables, 0.0


def add_node_amounts(made: ChoiceModel) -> Expression:
    """Amounts of the aim on single nodes and final drives."""
    instance = made.instance
    coefficients: list[float] = []
    variables: list[Any] = []
    for position, amounts in instance.weights.nodes.items():
        nodes = instance.nodes(position)
        for values, layer in (
            (amounts[0][nodes.footing], made.footing[position]),
            (amounts[1][nodes.wheel], made.wheel[position]),
            (amounts[2][nodes.brake], made.brake[position]),
        ):
            coefficients += values.tolist()
            variables += layer
    if instance.weights.drives is not None:
        coefficients += instance.weights.drives[instance.drives].tolist()
        variables += made.drive
    return coefficients, variables, 0.0


def add_aim(made: ChoiceModel) -> Expression:
    """The weighted aim, each condition as much as it counts, and the limits on whole quantities in its expressions."""
    instance = made.instance
    rates = instance.rates
    bounds = {bound.limit.key: bound for bound in instance.model.bounds}
    total = add_node_amounts(made)
    every = [(instance.model, instance.losses), *((other.model, other.losses) for other in instance.others)]
    if rates["mass"]:
        for position in POSITIONS:
            term = instance.contexts[position].mass_term(rates["mass"])
            total = _sum(total, term_expression(made, "aim_mass", position, term))
    mix = counted_in_bound(instance.model, instance.weights.mix)
    for number, (counts, (model, losses)) in enumerate(zip(mix, every, strict=True)):
        total = add_energies(made, total, f"_{number}" if number else "", model, losses, counts)
    if rates["cost"] or "cost" in bounds:
        cost = add_cost(made)
        total = _sum(total, _times(cost, rates["cost"]))
        if "cost" in bounds:
            add_ceiling(made, "cost", cost, bounds["cost"].relaxed, scale=500.0)
    return total


def add_energies(
    made: ChoiceModel, total: Expression, label: str, model: VehicleModel, losses: Sequence[LegLoss], counts: float
) -> Expression:
    """The aim with the energies of one condition, as much as it counts; with them, the limits on them."""
    rates = made.instance.rates
    bounds = {bound.limit.key: bound for bound in model.bounds}
    needs_energy = bool(counts * rates["energy"]) or "energy" in bounds or "range" in bounds
    needs_loss = bool(counts * rates["rolling_loss"]) or "rolling_loss" in bounds
    if not (needs_energy or needs_loss):
        return total
    loss_sum: Expression = ([], [], 0.0)
    energy_sum: Expression = ([], [], 0.0)
    for number, loss in enumerate(losses):
        ground = add_ground_loss(made, f"{number}{label}", loss)
        loss_sum = _sum(loss_sum, _times(ground, loss.leg.share))
        if needs_energy:
            part = add_energy(made, f"{number}{label}", loss, ground)
            energy_sum = _sum(energy_sum, _times(part, loss.leg.share))
    total = _sum(total, _times(loss_sum, counts * rates["rolling_loss"]))
    total = _sum(total, _times(energy_sum, counts * rates["energy"]))
    if "rolling_loss" in bounds:
        add_ceiling(made, f"rolling_loss{label}", loss_sum, bounds["rolling_loss"].relaxed, scale=50.0)
    if "energy" in bounds:
        add_ceiling(made, f"energy{label}", energy_sum, bounds["energy"].relaxed, scale=100.0)
    if "range" in bounds:
        most = float(model.vehicle.battery_energy) / bounds["range"].relaxed
        add_ceiling(made, f"range{label}", energy_sum, most, scale=100.0)
    return total


def add_ceiling(made: ChoiceModel, name: str, expression: Expression, most: float, *, scale: float) -> None:
    """A whole quantity <= its limit, scaled and relaxed outward."""
    coefficients, variables, constant = expression
    made.model.add_component(
        f"limit_{name}",
        pyo.Constraint(
            expr=linear([c / scale for c in coefficients], variables) <= (most - constant) / scale + ROW_SLACK
        ),
    )


def _sum(one: Expression, other: Expression) -> Expression:
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]


def _times(expression: Expression, factor: float) -> Expression:
    if factor == 0.0:
        return [], [], 0.0
    return [factor * c for c in expression[0]], expression[1], factor * expression[2]


def _component_name(model: pyo.ConcreteModel, wanted: str) -> str:
    plain = "".join(c if c.isalnum() else "_" for c in wanted)
    name, number = plain, 1
    while model.component(name) is not None:
        number += 1
        name = f"{plain}_{number}"
    return name
