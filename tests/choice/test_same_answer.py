"""One answer to one question, on any number of threads and in any order of the catalogs; smallest questions as well."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from random_cases import (
    BASE_LIMITS,
    RandomCase,
    aims_of,
    as_set,
    cached_case,
    case_of,
    stated,
    suite,
    vehicle_with,
    with_pressures,
)
from step_cases import also, appraised, few_parts, fresh, optimal_parts, optimum_of, searched, suite_case
from test_family import drawn

from configopt.catalog.catalog import Catalog
from configopt.catalog.records import FAMILIES
from configopt.choice.audit import Candidates, Choices
from configopt.choice.choose import Settings, run_search
from configopt.choice.family import FamilySearch, Sharing, find_family
from configopt.choice.frontier import find_frontier
from configopt.choice.result import choose
from configopt.choice.ties import record_of
from configopt.choice.weights import AIMS, Weights
from configopt.quantities import Figure
from configopt.scenario.case import Case
from configopt.scenario.records import Aims

BOTH = ("mass", "rolling_loss")


def turned(catalog: Catalog, seed: int) -> Catalog:
    """The catalog with all parts in another order."""
    rng = np.random.default_rng(seed)
    changed = {}
    for name in FAMILIES:
        parts = catalog.family(name)
        changed[name.replace("-", "_")] = tuple(parts[i] for i in rng.permutation(len(parts)))
    return replace(catalog, **changed)


def named(candidates: Candidates, choices: Choices) -> set[str]:
    """Choices by the ids of their parts, with their pressures."""
    return {record_of(candidates, choices, row).model_dump_json() for row in range(len(choices))}


def whole(case: RandomCase, catalog: Catalog | None = None) -> Case:
    """A random case as a scenario with its catalogs."""
    shipped = case_of(case.scenario)
    changed = {"vehicles": [case.candidates.model.vehicle], "aims": aims_of(case.candidates)}
    return Case(shipped.path, shipped.scenario.model_copy(update=changed), catalog or case.candidates.model.catalog)


def plain(case: Case, **options: Any) -> dict[str, Any]:
    """An answer without what one run differs in from the next."""
    payload = choose(case, **options).to_json()
    del payload["made_with"]
    for key in ("rounds", "choices_appraised", "appraised"):
        payload["audit"].pop(key, None)
    return payload


def test_order_and_threads_change_no_answer_and_no_tie() -> None:
    case = few_parts(12)
    first = plain(whole(case))
    assert first["counts"]["ties"] > 1
    assert plain(whole(case), threads=2) == first
    assert plain(whole(case, turned(case.candidates.model.catalog, 1))) == first


@pytest.mark.slow
def test_order_and_threads_change_no_family() -> None:
    candidates, sharing = drawn(24)

    def parts_of(found: FamilySearch) -> list[set[str]]:
        assert found.proven
        assert found.found is not None
        rows = [np.array(one.choice, dtype=np.int64)[None, :] for one in found.found]
        choices = [Choices(row[:, :3], row[:, 3:6], row[:, 6]) for row in rows]
        return [named(m.candidates, choice) for m, choice in zip(found.members, choices, strict=True)]

    first = find_family([fresh(one) for one in candidates], sharing, Settings())
    second = find_family([fresh(one) for one in candidates], sharing, Settings(threads=2))
    other = turned(candidates[0].model.catalog, 2)
    again = [Candidates(one.model.vehicle, other, aims_of(one)).variant(weights=one.weights) for one in candidates]
    third = find_family(again, sharing, Settings())
    assert second.best == first.best
    assert third.best == pytest.approx(first.best, rel=1e-12)
    assert parts_of(first) == parts_of(second) == parts_of(third)


@pytest.mark.slow
def test_order_and_threads_change_no_trade_off() -> None:
    case = cached_case(*suite()[19])
    model = case.candidates.model
    again = Candidates(model.vehicle, turned(model.catalog, 3), aims_of(case.candidates))
    found = []
    for candidates, threads in ((fresh(case.candidates), 1), (fresh(case.candidates), 2), (again, 1)):
        search = find_frontier(candidates, BOTH, Settings(enumerate_at_most=0, threads=threads))
        assert search.complete
        found.append([(point.values, named(candidates, point.choices)) for point in search.points])
    assert len(found[0]) > 2
    for other in found[1:]:
        for (value, names), (other_value, other_names) in zip(found[0], other, strict=True):
            np.testing.assert_allclose(other_value, value, rtol=1e-12)
            assert other_names == names


# The smallest questions


@cache
def one_choice() -> RandomCase:
    """A case with a single package at each end and one final drive: the parts of an optimum, at one pressure."""
    case = suite_case(24)
    parts, drawn_vehicle = optimal_parts(case), case.candidates.model.vehicle
    of, rear = case.candidates.of["rear"], optimum_of(case).rear[0]
    pressure = float(of.footing_pressure[rear[0]])
    catalog = case.candidates.model.catalog.subset({name: sorted(ids) for name, ids in parts.items()})
    drive = drawn_vehicle.drive.model_copy(update={"final_drives": drawn_vehicle.drive.final_drives[:1]})
    vehicle = vehicle_with(drawn_vehicle, BASE_LIMITS[case.scenario]).model_copy(update={"drive": drive})
    single = with_pressures(catalog, dict.fromkeys(parts["tires"], (pressure, pressure)))
    return appraised(case, vehicle, single, "one choice")


def test_one_choice_alone_is_chosen() -> None:
    case = one_choice()
    assert len(case.choices) == 1
    assert case.met.all()
    for settings in (Settings(), Settings(appraise_at_most=1, first_footings=1), Settings(solve=False)):
        searched(case, settings)
    answer = choose(whole(case))
    assert answer.status == "optimal"
    assert answer.audit.agrees
    assert answer.counts["ties"] == answer.counts["choices_that_meet_all"] == 1
    frontier = find_frontier(fresh(case.candidates), BOTH, Settings(enumerate_at_most=0))
    assert frontier.complete
    assert [as_set(point.choices) for point in frontier.points] == [as_set(case.choices)]


def test_one_choice_alone_that_misses_a_limit_is_refused() -> None:
    case = one_choice()
    vehicle = also(case.candidates.model.vehicle, stated("package_mass", 1.0))
    made = Candidates(vehicle, case.candidates.model.catalog, aims_of(case.candidates))
    for settings in (Settings(), Settings(appraise_at_most=1, first_footings=1)):
        search, proven = run_search(fresh(made), settings)
        assert proven
        assert search.found is None
    frontier = find_frontier(fresh(made), BOTH, Settings(enumerate_at_most=0))
    assert frontier.complete
    assert not frontier.points
    family = find_family([fresh(made)], Sharing(), Settings())
    assert family.proven
    assert family.found is None
    assert family.nothing_for == 0


@pytest.mark.slow
def test_a_family_of_one_choice_each_has_it() -> None:
    case = one_choice()
    vehicle = case.candidates.model.vehicle
    weights = Weights.of({"mass": 1.0, "cost": 0.1})
    members = []
    for name, quantity in (("one", 3), ("two", 40)):
        changed = vehicle.model_copy(update={"name": name, "quantity": quantity})
        made = Candidates(changed, case.candidates.model.catalog, aims_of(case.candidates))
        members.append(made.variant(weights=weights))
    family = find_family(members, Sharing({"hubs": 2, "tires": 1}), Settings())
    assert family.proven
    assert family.found is not None
    assert [one.choice for one in family.found] == 2 * [next(iter(as_set(case.choices)))]
    assert family.bound == pytest.approx(family.best, rel=1e-6)
    narrow = find_family([fresh(one) for one in members], Sharing({"hubs": 1}), Settings())
    assert narrow.proven
    assert narrow.found is None


@pytest.mark.parametrize("name", AIMS)
def test_one_aim_alone_with_no_rate_on_the_others(name: str) -> None:
    case = few_parts(33)
    aims = Aims.model_construct(**{field: Figure(0.7) if field == name else None for field in Aims.model_fields})
    made = Candidates(case.candidates.model.vehicle, case.candidates.model.catalog, aims)
    values, met = made.appraise(case.choices)
    for settings in (Settings(), Settings(appraise_at_most=20, first_footings=2)):
        searched(RandomCase(33, case.scenario, name, made, case.choices, values, met, False), settings)


def test_an_aim_without_any_rate_has_every_choice_that_meets_the_limits_as_a_tie() -> None:
    case = few_parts(33)
    made = fresh(case.candidates).variant(weights=Weights.of({}))
    for settings in (Settings(), Settings(appraise_at_most=20, first_footings=2)):
        search, proven = run_search(fresh(made), settings)
        assert proven
        assert search.best == 0.0
        assert search.found is not None
        assert as_set(search.found) == as_set(case.choices.take(np.flatnonzero(case.met)))
