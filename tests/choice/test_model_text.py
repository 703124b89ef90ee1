"""Each family of constraints as a readable text: a tiny model with round numbers, written and compared."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pyomo.environ as pyo
import pytest

from configopt.appraisal.parts import PartRows
from configopt.choice.costing import LayerCosts, NodeCosts
from configopt.choice.losses import LegLoss
from configopt.choice.model import build as families
from configopt.choice.model.build import ChoiceModel
from configopt.choice.model.network import linear
from configopt.choice.model.products import add_product_below
from configopt.choice.terms import Row, Term
from configopt.choice.weights import Weights

LP = Path(__file__).parent / "lp"


def tiny_nodes() -> Any:
    """Two footings, two wheels of which one fits the second footing only, one brake set [kg]."""
    return SimpleNamespace(
        footing=np.array([0, 1]),
        wheel=np.array([0, 1]),
        brake=np.array([0]),
        footing_class=np.array([0, 1]),
        wheel_class=np.array([0, 1]),
        wheel_seat=np.array([0, 0]),
        brake_class=np.array([0]),
        wheel_mass=np.array([3.0, 4.0]),
        brake_mass=np.array([0.5]),
        candidates=SimpleNamespace(mounts_fit=np.array([[True, False], [True, True]]), seats_fit=np.array([[True]])),
    )


def tiny_model(*, with_network: bool = False) -> ChoiceModel:
    """Both positions alike, two final drives, rest masses between 3 and 5 kg; the network is left out of most texts."""
    nodes = tiny_nodes()
    grid = np.array([[3.0, 4.0, 5.0], [3.0, 4.0, 5.0]])
    context = SimpleNamespace(
        nodes=nodes, grid=grid, mass_term=lambda factor: Term(factor * np.array([2.0, 2.5]), np.full(2, factor))
    )
    none, pieces = np.full(2, -1), np.ones(2, dtype=np.int64)
    tires = PartRows({"tires": np.arange(2)}, {"tires": pieces})
    rims = PartRows({"rims": none}, {"rims": pieces})
    rotors = PartRows({"rotors": none[:1]}, {"rotors": pieces[:1]})
    wheel, brake = np.array([100.0, 120.0]), np.array([60.0])
    costs = NodeCosts(
        LayerCosts(np.array([40.0, 50.0]), np.array([38.0, 48.0]), np.array([4.0, 5.0]), tires),
        LayerCosts(wheel, wheel, 0.0 * wheel, rims),
        LayerCosts(brake, brake, np.array([1.0]), rotors),
    )
    book = SimpleNamespace(per_vehicle=lambda family, part, pieces: {1: 40.0, 2: 74.0}[pieces])
    model = SimpleNamespace(
        costs=book,
        drive_masses=np.array([1.0, 1.5]),
        drive_costs=np.array([20.0, 25.0]),
        laden_mass=150.0,
        others=(),
        drive_efficiency=0.8,
        air_force=lambda speed: 10.0,
        bounds=(),
        vehicle=SimpleNamespace(drive=SimpleNamespace(regeneration_efficiency=0.5), battery_energy=7.2e6),
    )
    instance = SimpleNamespace(
        model=model,
        contexts={"front": context, "rear": context},
        drives=np.array([0, 1]),
        rest_low={p: np.array([3.0, 3.0]) for p in ("front", "rear")},
        rest_high={p: np.array([4.0, 5.0]) for p in ("front", "rear")},
        costs={"front": costs, "rear": costs},
        weights=Weights.of({"mass": 1.0}),
        rates=Weights.of({"mass": 1.0}).rates,
        losses=(),
        others=(),
        nodes=lambda position: nodes,
    )
    made = ChoiceModel(pyo.ConcreteModel(), instance)  # type: ignore[arg-type]
    families.add_network(made)
    if not with_network:
        for constraint in made.model.component_objects(pyo.Constraint):
            constraint.deactivate()
    return made


def tiny_loss(made: ChoiceModel) -> LegLoss:
    """A leg on soft ground, 10 % up, with resistances of a few newtons."""
    resist = Term(np.array([5.0, 6.0]), np.array([1.0, 1.75]))
    return LegLoss(
        model=made.instance.model,
        leg=SimpleNamespace(  # type: ignore[arg-type]
            angle=0.1, share=1.0, ground=SimpleNamespace(speed=5.0), terrain=SimpleNamespace(stops_per_km=2.0)
        ),
        driven="rear",
        resist={p: SimpleNamespace(low=resist) for p in ("front", "rear")},  # type: ignore[misc]
        slip=Term(np.array([3.0, 4.0]), np.zeros(2), np.array([[0.5, 1.0], [0.5, 1.5]])),
        slip_growth=np.array([0.25, 1.0]),
        other_least=8.0,
        other_most=16.0,
        contexts=made.instance.contexts,
        stops={p: Term(np.array([0.25, 0.5]), np.full(2, 0.05)) for p in ("front", "rear")},
        regeneration_most=30.0,
        traction_least=-5.0,
    )


def network() -> pyo.ConcreteModel:
    return tiny_model(with_network=True).model


def rest_mass() -> pyo.ConcreteModel:
    made = tiny_model()
    families.add_rest_mass(made)
    return made.model


def product() -> pyo.ConcreteModel:
    model = pyo.ConcreteModel()
    model.x = pyo.Var(range(3), domain=pyo.Binary)
    model.mass = pyo.Var(bounds=(2.0, 6.0))
    coefficients, variables, constant = add_product_below(
        model,
        "product",
        [model.x[i] for i in range(3)],
        np.array([1.0, 1.75, 2.5]),
        ([1.0], [model.mass], 0.0),
        2.0,
        6.0,
    )
    model.aim = pyo.Objective(expr=linear(coefficients, variables, constant))
    return model


def limit_row() -> pyo.ConcreteModel:
    made = tiny_model()
    term = Term(np.array([10.0, 20.0]), np.array([2.0, 2.5]), np.array([[1.0, 2.0], [0.0, 4.0]]))
    families.add_row(
        made,
        Row(
            "climb: ground[gravel,both]",
            "climb_grade",
            "N",
            {"front": term},
            {"rear": np.array([-5.0, -6.0])},
            {"rear": np.array([-7.0])},
            np.array([1.0, 2.0]),
            100.0,
            50.0,
        ),
    )
    return made.model


def forbidden_pairs() -> pyo.ConcreteModel:
    made = tiny_model()
    groups = [(np.array([0]), np.array([1])), (np.array([1]), np.array([0, 1]))]
    families.add_bad_pairs(made, "top speed[rear]", "rear footing", "drive", groups)
    return made.model


def ground_loss() -> pyo.ConcreteModel:
    made = tiny_model()
    expression = families.add_ground_loss(made, 0, tiny_loss(made))
    made.model.aim = pyo.Objective(expr=linear(*expression))
    return made.model


def battery_energy() -> pyo.ConcreteModel:
    made = tiny_model()
    ground = ([2.0], [made.footing["rear"][0]], 15.0)
    expression = families.add_energy(made, 0, tiny_loss(made), ground)
    made.model.aim = pyo.Objective(expr=linear(*expression))
    return made.model


def cost_with_shared_parts() -> pyo.ConcreteModel:
    made = tiny_model()
    expression = families.add_cost(made)
    families.add_ceiling(made, "cost", expression, 300.0, scale=500.0)
    made.model.aim = pyo.Objective(expr=linear(*expression))
    return made.model


def weighted_aim() -> pyo.ConcreteModel:
    made = tiny_model()
    made.model.aim = pyo.Objective(expr=linear(*families.add_aim(made)))
    return made.model


FAMILIES: dict[str, Callable[[], pyo.ConcreteModel]] = {
    "network": network,
    "rest-mass": rest_mass,
    "product": product,
    "limit-row": limit_row,
    "forbidden-pairs": forbidden_pairs,
    "ground-loss": ground_loss,
    "battery-energy": battery_energy,
    "cost-with-shared-parts": cost_with_shared_parts,
    "weighted-aim": weighted_aim,
}


def text_of(model: pyo.ConcreteModel, path: Path) -> str:
    """The model as LP text with names, numbers to nine digits so that rounding does not show."""
    if not list(model.component_objects(pyo.Objective)):
        # The format needs an aim; the family under test has none.
        model.aim = pyo.Objective(expr=next(iter(model.component_data_objects(pyo.Var))))
    model.write(str(path), io_options={"symbolic_solver_labels": True})
    text = path.read_text(encoding="utf-8")
    return re.sub(r"[+-]?\d+\.\d+(e[+-]\d+)?", lambda number: f"{float(number[0]):+.9g}", text)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_family_reads_as_its_stored_text(family: str, tmp_path: Path) -> None:
    written = text_of(FAMILIES[family](), tmp_path / "model.lp")
    assert written == (LP / f"{family}.lp").read_text(encoding="utf-8")


def test_every_stored_text_belongs_to_a_family() -> None:
    assert {path.stem for path in LP.glob("*.lp")} == set(FAMILIES)
