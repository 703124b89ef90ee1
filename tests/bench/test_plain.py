"""The plain ways bound what the search finds from below, and answer the same question."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from cases import bench_family
from exact import small_cases
from plain import family_model, least_losses, mass_ends, whole_model

from configopt.choice.audit import Candidates
from configopt.choice.result import choose
from configopt.choice.solve import solve
from configopt.scenario.case import Case


@cache
def small() -> Case:
    return next(iter(small_cases([1])))


def family(at_most: int, count: int = 2) -> Case:
    """Vehicles of a small case that may use so many different tires."""
    together = bench_family(small(), count)
    sharing = together.scenario.sharing
    assert sharing is not None
    sharing = sharing.model_copy(update={"at_most": {"tires": at_most}})
    scenario = together.scenario.model_copy(update={"sharing": sharing})
    return Case(together.path, scenario, together.catalog)


def value_of(case: Case) -> float:
    answer = choose(case)
    assert answer.status == "optimal"
    return float(answer.to_json()["aim"]["value"])


def test_the_whole_model_lies_below_the_best_choice_and_close_to_it() -> None:
    case = small()
    made = whole_model(Candidates(case.vehicle, case.catalog, case.scenario.aims))
    assert made is not None
    least, best = solve(made.model).value, value_of(case)
    assert 0.9 * best < least <= best * (1.0 + 1e-6)


def test_a_family_in_one_model_lies_below_the_best_family_and_sharing_costs() -> None:
    free = solve(family_model(family(4))).value
    apart = [
        solve(whole_model(Candidates(vehicle, small().catalog, small().scenario.aims)).model).value  # type: ignore[union-attr]
        for vehicle in family(4).scenario.vehicles
    ]
    quantities = [vehicle.quantity for vehicle in family(4).scenario.vehicles]
    # Four tires are as many as two vehicles can use.
    assert free == pytest.approx(np.average(apart, weights=quantities), rel=1e-6)
    together = family(2)
    least, best = solve(family_model(together)).value, value_of(together)
    assert free * (1.0 - 1e-6) <= least <= best * (1.0 + 1e-6)
    assert least > 0.9 * best


def test_less_mass_costs_rolling_loss() -> None:
    low, high = mass_ends(small())
    losses = least_losses(small(), np.linspace(low, high, 4))
    assert np.isfinite(losses).all()
    assert all(one >= other * (1.0 - 1e-6) for one, other in pairwise(losses))


def test_a_family_whose_cost_counts_is_refused() -> None:
    together = family(2)
    aims = together.scenario.aims.model_copy(update={"cost": 1.0})
    with pytest.raises(ValueError, match="leave out cost"):
        family_model(Case(together.path, together.scenario.model_copy(update={"aims": aims}), together.catalog))
