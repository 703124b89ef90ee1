"""The plain ways to the same answers, to compare with: everything in one model, and one solve per ceiling.

Nothing is taken out before: every footing, wheel and brake set that fits is a column of the model.
"""

from __future__ import annotations

import numpy as np
import pyomo.environ as pyo

from configopt.appraisal.vehicle import POSITIONS
from configopt.choice.audit import Candidates
from configopt.choice.boxes import full_box
from configopt.choice.candidates import make_instance
from configopt.choice.choose import Settings, run_search
from configopt.choice.model.build import ChoiceModel, build
from configopt.choice.solve import solve
from configopt.choice.weights import AIM_LIMITS, Weights
from configopt.scenario.case import Case


def whole_model(candidates: Candidates) -> ChoiceModel | None:
    """The layered model over everything that fits; ``None`` where the bounds rule everything out."""
    instance = make_instance(
        candidates.model, candidates.nodes(), full_box(candidates), candidates.drives, candidates.weights
    )
    return None if instance is None else build(instance)


def mass_ends(case: Case) -> tuple[float, float]:
    """The least mass of any choice, and the mass of one with the least rolling loss [kg]."""
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    masses = []
    for aim in ("mass", "rolling_loss"):
        search, _ = run_search(candidates.variant(weights=Weights.of({aim: 1.0})), Settings(solve=False))
        assert search.found is not None
        masses.append(float(candidates.quantities(search.found)[0][:, 0].min()))
    return masses[0], masses[1]


def least_losses(case: Case, levels: np.ndarray) -> list[float]:
    """Least rolling loss by the layered model under each ceiling of the mass [J/m]; infinite where it allows none."""
    candidates = Candidates(case.vehicle, case.catalog, case.scenario.aims)
    found = []
    for most in levels.tolist():
        model = candidates.model.base.within({AIM_LIMITS["mass"]: most})
        made = whole_model(candidates.variant(model, Weights.of({"rolling_loss": 1.0})))
        found.append(np.inf if made is None else solve(made.model).value)
    return found


def family_model(case: Case) -> pyo.ConcreteModel:
    """All vehicles of a family in one model, with at most so many different parts of a family; costs do not count.

    Raises
    ------
    ValueError
        A family whose aims count cost: its price tiers are not modelled here.
    """
    aims, sharing = case.scenario.aims, case.scenario.sharing
    if aims.cost or sharing is None:
        raise ValueError("only families that share parts and whose aims leave out cost")
    family = pyo.ConcreteModel()
    vehicles = case.scenario.vehicles
    built = sum(vehicle.quantity for vehicle in vehicles)
    total = 0.0
    used: dict[tuple[str, int], pyo.Var] = {}
    family.used, family.rows = pyo.VarList(domain=pyo.Binary), pyo.ConstraintList()
    for number, vehicle in enumerate(vehicles):
        candidates = Candidates(vehicle, case.catalog, aims)
        made = whole_model(candidates)
        if made is None:
            raise ValueError(f"nothing fits {vehicle.name}")
        family.add_component(f"vehicle_{number}", made.model)
        made.model.aim.deactivate()
        total = total + vehicle.quantity / built * made.model.aim.expr
        for position in POSITIONS:
            nodes, of = made.instance.nodes(position), candidates.of[position]
            layers = (
                (of.footing_mount[nodes.footing], made.footing[position]),
                (nodes.wheel, made.wheel[position]),
                (nodes.brake, made.brake[position]),
            )
            for layer, (rows, variables) in zip(candidates.parts[position], layers, strict=True):
                for name in set(layer.index) & set(sharing.at_most):
                    members: dict[int, list[pyo.Var]] = {}
                    for part, variable in zip(layer.index[name][rows].tolist(), variables, strict=True):
                        if part >= 0:
                            members.setdefault(part, []).append(variable)
                    for part, own in members.items():
                        if (name, part) not in used:
                            used[name, part] = family.used.add()
                        family.rows.add(sum(own) <= used[name, part])
    for name, most in sharing.at_most.items():
        family.rows.add(sum(variable for (of, _), variable in used.items() if of == name) <= most)
    family.aim = pyo.Objective(expr=total, sense=pyo.minimize)
    return family
