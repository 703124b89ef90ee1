"""Answers for a vehicle in several conditions: what they say, and every other question that is asked of it."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from typing import Any

import jsonschema
import numpy as np
import pytest
from random_cases import RandomCase, aims_of, as_set, case_of, few_quick
from test_alternates import parts_by_choice
from test_conditions import ConditionCase, condition, fresh, judged_apart, random_case
from test_family import by_combinations
from test_shortlist import tires

from configopt.appraisal.appraise import appraise
from configopt.choice.alternates import search_with_alternates
from configopt.choice.audit import Candidates
from configopt.choice.choose import TIE, Settings
from configopt.choice.family import Sharing
from configopt.choice.result import Choice, choose
from configopt.choice.shortlist import tire_pool
from configopt.choice.stages import search_in_order
from configopt.choice.ties import record_of
from configopt.choice.tradeoff import tradeoff
from configopt.choice.weights import AIMS
from configopt.cli.layout import Page
from configopt.cli.text_appraisal import write_appraisal
from configopt.cli.text_choice import write_choice
from configopt.errors import UsageError
from configopt.quantities import Figure
from configopt.scenario.case import Case
from configopt.scenario.conditions import vehicle_in
from configopt.scenario.records import Aims, SharingRecord, Stage
from configopt.schemas import schema


def whole(case: ConditionCase, **update: Any) -> Case:
    """A random case as a scenario with its catalogs."""
    model = case.candidates.model
    name = next(name for name in ("upland-wardens", "coastal-survey", "forest-rescue") if _is(name, model.vehicle.name))
    shipped = case_of(name)
    changed = {"vehicles": [model.vehicle.model_copy(update=update)], "aims": aims_of(case.candidates)}
    return Case(shipped.path, shipped.scenario.model_copy(update=changed), model.catalog)


def _is(scenario: str, vehicle: str) -> bool:
    return case_of(scenario).vehicle.name == vehicle


def page_of(write: Any, payload: dict[str, Any], **options: Any) -> str:
    """A page of text."""
    sheet = Page(width=100)
    write(sheet, payload, **options)
    return str(sheet)


def best_row(case: ConditionCase) -> int:
    """The best choice by enumeration, where it is the only one."""
    rows = np.flatnonzero(case.met & (case.aims <= case.best + TIE * abs(case.best)))
    return int(rows[0])


#: Cases with one best choice, of each kind: worst, mean, mean of the worst part.
NUMBERS = (6, 13, 24)


@cache
def answer_of(seed: int) -> Choice:
    """The answer of a random case."""
    return choose(whole(random_case(seed)))


@pytest.mark.parametrize("seed", few_quick(NUMBERS, (6,)))
def test_an_answer_says_what_each_condition_comes_to_and_which_decides(seed: int) -> None:
    case = random_case(seed)
    answer = answer_of(seed)
    assert answer.status == "optimal"
    assert answer.audit.agrees
    assert answer.counts["choices_that_meet_all"] == int(case.met.sum())
    assert answer.value == pytest.approx(case.best, rel=1e-9)
    payload = answer.to_json()
    jsonschema.validate(json.loads(json.dumps(payload)), schema("choice"))
    conditions = payload["vehicles"][0]["conditions"]
    each = conditions["each"]
    assert conditions["over"] == {"worst": "worst", "mean": "mean", "mean of worst": "mean_of_worst"}[case.kind]
    assert [one["name"] for one in each] == [
        "as stated",
        *(one.name for one in case.candidates.model.vehicle.conditions),
    ]
    row = best_row(case)
    if answer.counts["ties"] == 1:
        np.testing.assert_allclose([one["aim"] for one in each], case.values[row], rtol=1e-9)
    assert sum(one["counts"] for one in each) == pytest.approx(1.0)
    assert sum(one["counts"] * one["aim"] for one in each) == pytest.approx(answer.value, rel=1e-9)
    terms = payload["aim"]["terms"].values()
    assert sum(term["value"] * term["rate"] for term in terms) == pytest.approx(answer.value, rel=1e-9)


@pytest.fixture
def answer() -> Choice:
    """The answer of one case."""
    return answer_of(6)


def test_each_limit_stands_once_with_the_condition_that_has_least_to_spare(answer: Choice) -> None:
    case = random_case(6)
    vehicle = answer.to_json()["vehicles"][0]
    scopes = [(m["limit"], m["terrain"], m["position"]) for m in vehicle["margins"]]
    assert len(scopes) == len(set(scopes))
    names = ["as stated", *(one.name for one in case.candidates.model.vehicle.conditions)]
    of = [margin for margin in vehicle["margins"] if "condition" in margin]
    assert len(of) > len(scopes) / 2
    apart = appraised_apart(answer)
    for margin in of:
        ratios = {
            name: other["ratio"]
            for name, margins in zip(names, apart, strict=True)
            for other in margins
            if (other["limit"], other["terrain"], other["position"])
            == (margin["limit"], margin["terrain"], margin["position"])
        }
        assert margin["by_condition"].keys() <= ratios.keys()
        known = [ratio for ratio in ratios.values() if ratio is not None]
        if known:
            assert margin["ratio"] == pytest.approx(min(known), rel=1e-9)
            assert ratios[margin["condition"]] == pytest.approx(min(known), rel=1e-9)
    same = {margin["limit"] for margin in vehicle["margins"] if "condition" not in margin}
    assert "tire_load" not in same


def appraised_apart(answer: Choice) -> list[list[dict[str, Any]]]:
    """Margins of the answer on vehicles that are built as each condition is."""
    case = whole(random_case(6))
    vehicle = case.vehicle
    plain = vehicle.model_copy(update={"conditions": []})
    found = []
    for one in (plain, *(vehicle_in(vehicle, one) for one in vehicle.conditions)):
        apart = Case(case.path, case.scenario.model_copy(update={"vehicles": [one]}), case.catalog)
        found.append(appraise(apart, answer.records, explained=False).vehicles[0]["margins"])
    return found


def test_the_text_of_an_answer_names_the_conditions(answer: Choice) -> None:
    text = page_of(write_choice, answer.to_json())
    assert "In each condition (the worst counts" in text
    assert text.count("decides") == 1
    assert "(load)" in text or "(wet)" in text
    detail = page_of(write_choice, answer.to_json(), detail=True)
    assert "as stated" in detail
    for name in ("wet", "load"):
        assert f"{name} " in detail


def test_an_appraisal_says_in_which_condition_a_limit_is_missed() -> None:
    case = random_case(3)
    row = int(np.flatnonzero(case.met_in[:, 0] & ~case.met)[0])
    record = record_of(case.candidates, case.choices.take(np.array([row])))
    made = appraise(whole(case), [record])
    payload = made.to_json()
    jsonschema.validate(json.loads(json.dumps(payload)), schema("appraisal"))
    vehicle = payload["vehicles"][0]
    missed = [margin for margin in vehicle["margins"] if not margin["met"]]
    assert missed
    assert all(margin["condition"] != "as stated" for margin in missed)
    each = vehicle["conditions"]["each"]
    assert [one["limits_not_met"] > 0 for one in each] == (~case.met_in[row]).tolist()
    np.testing.assert_allclose([one["aim"] for one in each], case.values[row], rtol=1e-9)
    text = page_of(write_appraisal, payload)
    assert "misses" in text
    assert f"({missed[0]['condition']})" in text


def test_what_came_closest_names_the_condition_that_misses_most() -> None:
    case = random_case(0)
    assert not case.met.any()
    assert case.met_in[:, 0].any()
    answer = answer_of(0)
    assert answer.status == "infeasible"
    assert answer.closest
    # Left out in all conditions, a limit lets something through.
    values = {row["text"] for row in answer.closest}
    assert any("(load)" in text for text in values), values


def test_a_limit_left_out_in_the_condition_lets_choices_through() -> None:
    case = random_case(0)
    missed = {row["limit"] for row in answer_of(0).closest}
    vehicle = case.candidates.model.vehicle
    eased = [one.model_copy(update={"without_limits": sorted(missed)}) for one in vehicle.conditions]
    answer = choose(whole(case, conditions=eased))
    assert answer.status == "optimal"
    assert answer.audit.agrees
    for margin in answer.to_json()["vehicles"][0]["margins"]:
        if margin["limit"] in missed:
            assert set(margin.get("by_condition", {"as stated": None})) == {"as stated"}


@pytest.mark.parametrize("seed", few_quick([6, 24], (6,)))
def test_the_shortlist_has_the_best_choice_with_every_tire(seed: int) -> None:
    case = random_case(seed)
    pool = tire_pool(fresh(case), Settings(), 0.1)
    assert pool.complete
    rows = as_set(pool.choices)
    cutoff = case.best + 0.1 * abs(case.best)
    kinds = 0
    for position in ("front", "rear"):
        numbers = tires(case, position)  # type: ignore[arg-type]
        for tire in np.unique(numbers).tolist():
            mine = np.flatnonzero(case.met & (numbers == tire))
            least = float(case.aims[mine].min(initial=np.inf))
            if least <= cutoff:
                kinds += 1
                ties = mine[case.aims[mine] <= least + TIE * max(abs(least), 1.0)]
                assert rows & as_set(case.choices.take(ties))
    assert kinds


@pytest.mark.slow
def test_vehicles_with_conditions_share_parts() -> None:
    case = random_case(22)
    model, aims = case.candidates.model, aims_of(case.candidates)
    other = model.vehicle.model_copy(
        update={
            "name": "another",
            "quantity": 17,
            "chassis_mass": Figure(0.95 * float(model.vehicle.chassis_mass)),
            "conditions": [condition(name="high", altitude=Figure(2000.0))],
        }
    )
    candidates = (fresh(case), Candidates(other, model.catalog, aims))
    sharing = Sharing({"tires": 1, "rotors": 1, "rims": 1}, {})
    truth = by_combinations(candidates, sharing)
    assert truth is not None
    assert np.isfinite(truth)
    one = whole(case)
    scenario = one.scenario.model_copy(
        update={
            "vehicles": [model.vehicle, other],
            "sharing": SharingRecord.model_construct(at_most=dict(sharing.at_most), spares={}),
        }
    )
    answer = choose(replace(one, scenario=scenario))
    assert answer.status == "optimal"
    assert answer.audit.agrees
    assert answer.value == pytest.approx(truth, rel=1e-9)
    jsonschema.validate(json.loads(json.dumps(answer.to_json())), schema("choice"))


@pytest.mark.parametrize(("seed", "give_up"), few_quick([(6, 0.0), (6, 0.03), (19, 0.0), (19, 0.03)], [(6, 0.03)]))
def test_aims_in_order_are_each_judged_over_the_conditions(seed: int, give_up: float) -> None:
    case = random_case(seed)
    model = case.candidates.model
    every = [vehicle_in(model.vehicle, one) for one in model.vehicle.conditions]
    rates = ({"rolling_loss": 1.0}, {"mass": 1.0, "energy": 0.01})
    aims = []
    for rate in rates:
        apart = [
            Candidates(one, model.catalog, Aims.model_construct(**dict.fromkeys(AIMS) | figures(rate)))
            for one in (model.vehicle.model_copy(update={"conditions": []}), *every)
        ]
        values = np.stack([one.appraise(case.choices)[0] for one in apart], axis=1)
        aims.append(judged_apart(values, model.vehicle))
    first = aims[0][case.met].min()
    left = case.met & (aims[0] <= first * (1.0 + give_up + TIE))
    stages = [Stage(**figures(rates[0]), give_up=give_up), Stage(**figures(rates[1]))]
    made = search_in_order(fresh(case), stages, Settings())
    assert made.proven
    assert made.stages[0].value == pytest.approx(first, rel=1e-9)
    assert made.stages[1].value == pytest.approx(aims[1][left].min(), rel=1e-9)


def figures(rates: dict[str, float]) -> dict[str, Any]:
    """Rates as a record has them."""
    return {name: Figure(rate) for name, rate in rates.items()}


@pytest.mark.parametrize("seed", few_quick([3, 15], (3,)))
def test_alternates_are_judged_over_the_conditions(seed: int) -> None:
    case = random_case(seed)
    plain = RandomCase(seed, "", "", case.candidates, case.choices, case.aims, case.met, binds=True)
    used = parts_by_choice(plain)
    met = np.flatnonzero(case.met)
    every = {part for i in met for part in used[i] if part[0] in ("tires", "rotors")}
    left = {p: min((float(case.aims[i]) for i in met if p not in used[i]), default=np.inf) for p in every}
    within = 0.04
    value = min(
        (
            float(case.aims[i])
            for i in met
            if all(left[p] <= (1.0 + within) * float(case.aims[i]) for p in used[i] if p in left)
        ),
        default=np.inf,
    )
    found = search_with_alternates(fresh(case), {"tires": within, "rotors": within}, Settings())
    assert found.proven
    assert found.search.best == pytest.approx(value, rel=1e-9)


def test_a_trade_off_over_conditions_is_refused() -> None:
    with pytest.raises(UsageError, match="several conditions"):
        tradeoff(whole(random_case(6)))
