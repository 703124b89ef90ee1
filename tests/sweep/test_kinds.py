"""Scenarios of every kind go through the route that choose takes: families, conditions, aims in order, alternates."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from small_cases import address, base_of, run_of, variant

from configopt.choice.result import choose
from configopt.scenario.case import Case
from configopt.scenario.records import Scenario
from configopt.sweep.answers import Kept, aim_of, answer, appraised_in
from configopt.sweep.changing import Base, changed
from configopt.sweep.least_regret import least_regret
from configopt.sweep.regrets import Numbers, Portable
from configopt.sweep.run import Solved

NUMBER = 38


def based_on(number: int, **changes: Any) -> Base:
    """A small case with keys of its scenario set."""
    base = base_of(number)
    data = {**base.data, **changes}
    case = Case(Path("small.yaml"), Scenario.model_validate(data), base.case.catalog)
    return Base(case, data, base.variants_path)


def family() -> Base:
    """Two vehicles, the second one heavier, that share tires."""
    (vehicle,) = base_of(NUMBER).data["vehicles"]
    other = {**vehicle, "name": "second", "rider_mass": "70 kg", "quantity": 40}
    return based_on(NUMBER, vehicles=[vehicle, other], sharing={"at_most": {"tires": 3}})


@pytest.mark.slow
def test_vehicles_chosen_together_get_the_answer_of_choose_and_the_aim_of_what_is_kept() -> None:
    base = family()
    first, record = answer(changed(base, variant("as-it-stands", {})))
    chosen = choose(base.case)
    assert record == chosen.records
    assert chosen.value is not None
    assert first["aim"] == pytest.approx(chosen.value, rel=1e-9)
    plan = variant("dear", {"prices." + chosen.records[0].front.tire: 1.5, "every_vehicle.cargo_mass": "11 kg"})
    made, other = answer(changed(base, plan), (Kept("today", record),))
    assert other is not None
    again = choose(changed(base, plan).case)
    assert made["aim"] == pytest.approx(again.value, rel=1e-9)
    assert [vehicle["name"] for vehicle in made["vehicles"]] == [base.case.vehicle.name, "second"]
    (kept,) = made["kept"]
    if kept["meets"]:
        case = changed(base, plan).case
        assert kept["aim"] == pytest.approx(aim_of(case, appraised_in(case, record)), rel=1e-9)
        assert kept["regret"] == pytest.approx(kept["aim"] - made["aim"], abs=1e-8 * made["aim"])
    else:
        assert kept["misses"]
    found = least_regret(run_of(base), [Solved(0, plan, made, other)])
    assert found["status"] == "not looked for"


@pytest.mark.slow
def test_more_different_parts_than_a_variant_allows_are_a_miss() -> None:
    base = family()
    _, record = answer(changed(base, variant("a", {})))
    assert record is not None
    tires = {end.tire for one in record for end in (one.front, one.rear)}
    assert len(tires) > 1
    made, _ = answer(changed(base, variant("one", {"sharing.at_most.tires": 1})), (Kept("today", record),))
    assert {"text": f"{len(tires)} different tires, allowed are 1"} in made["kept"][0]["misses"]
    assert made["kept"][0]["regret"] is None


@pytest.mark.slow
def test_a_vehicle_with_conditions_is_answered_as_by_choose_and_stands_alone() -> None:
    (vehicle,) = base_of(NUMBER).data["vehicles"]
    mild = {"name": "cool", "temperature": "2 °C"}
    base = based_on(NUMBER, vehicles=[{**vehicle, "conditions": [mild]}])
    solved = []
    for number, plan in enumerate(
        [variant("as-it-stands", {}), variant("tall", {address(base, "cargo_mass"): "11 kg"})]
    ):
        made, record = answer(changed(base, plan))
        chosen = choose(changed(base, plan).case)
        assert record == chosen.records
        assert made["aim"] == pytest.approx(chosen.value, rel=1e-9)
        solved.append(Solved(number, plan, made, record))
    found = least_regret(run_of(base), solved)
    assert found["status"] == "proven"


@pytest.mark.slow
@pytest.mark.parametrize(
    "changes",
    [
        {"aims": {"in_order": [{"mass": "1 per kg", "give_up": "3 %"}, {"rolling_loss": "1 per Wh/km"}]}},
        {"alternates": {"rotors": "100 %"}},
    ],
    ids=["aims in order", "alternates"],
)
def test_where_not_every_choice_may_be_the_answer_no_regret_is_stated(changes: dict[str, Any]) -> None:
    if "alternates" in changes:
        (vehicle,) = base_of(NUMBER).data["vehicles"]
        changes = {"vehicles": [{**vehicle, **changes}]}
    base = based_on(NUMBER, **changes)
    plan = variant("as-it-stands", {})
    chosen = choose(base.case)
    assert chosen.records
    made, record = answer(changed(base, plan), (Kept("today", chosen.records),))
    assert record == chosen.records
    assert made["aim"] == pytest.approx(chosen.value, rel=1e-9)
    assert made["kept"][0]["meets"]
    assert made["kept"][0]["regret"] is None
    assert least_regret(run_of(base), [Solved(0, plan, made, record)] * 2)["status"] == "not looked for"


def test_a_variant_that_asks_for_alternates_is_not_compared_with_others() -> None:
    base = base_of(NUMBER)
    plans = [variant("plain", {}), variant("asks", {address(base, "alternates"): {"rotors": "100 %"}})]
    solved = [Solved(n, plan, {"status": "optimal", "aim": 1.0}) for n, plan in enumerate(plans)]
    found = least_regret(run_of(base), solved)
    assert found["status"] == "not looked for"
    assert "variant asks asks for alternates" in found["text"]


def test_a_choice_keeps_its_parts_on_the_way_from_one_variant_to_another() -> None:
    base = base_of(NUMBER)
    tire = base.case.catalog.tires[0].id
    here = Portable(base, changed(base, variant("a", {})))
    there = Portable(base, changed(base, variant("b", {f"withdrawn.{tire}": True})))
    every = next(here.candidates.every_choice(batch=100_000))
    rows = here.rows(every)
    back, kept = here.choices(rows)
    assert len(kept) == len(every)
    for mine, found in ((every.front, back.front), (every.rear, back.rear), (every.drive, back.drive)):
        assert np.array_equal(mine, found)
    moved, kept = there.choices(rows)
    assert len(kept) == there.candidates.count()
    assert 0 < len(kept) < len(every)
    assert np.array_equal(there.rows(moved), rows[kept])
    numbers = Numbers(base)
    for row in rows[:: len(rows) // 7]:
        assert numbers.row(numbers.record(row)) == row.tolist()
