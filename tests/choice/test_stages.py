"""Aims that count one after the other: equal to enumeration, stage by stage, and what is said about them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray
from random_cases import RandomCase, as_set, cached_case, case_of, few_quick, stopping_at, suite

from configopt.choice import candidates as bounds
from configopt.choice import stages
from configopt.choice.audit import Choices
from configopt.choice.choose import Settings
from configopt.choice.result import choose
from configopt.choice.shortlist import shortlist
from configopt.choice.stages import InOrder, search_in_order
from configopt.choice.tradeoff import tradeoff
from configopt.cli.layout import Page
from configopt.cli.text_choice import write_choice
from configopt.errors import ExitCode, FindingsError, UsageError
from configopt.quantities import Figure
from configopt.scenario.case import Case, load
from configopt.scenario.records import Aims, LimitRecord, SharingRecord, Stage
from configopt.schemas import schema

Array = NDArray[np.float64]
ROOT = Path(__file__).parents[2]
NAMES = ("mass", "rolling_loss", "energy", "cost")
#: Size of one kilogram, of one Wh/km and of one unit of currency among the aims.
SCALES = {"mass": 1.0, "rolling_loss": 1.0 / 3.6, "energy": 0.5 / 3.6, "cost": 0.03}
TIE = 1e-9
#: Few choices at once, so that boxes are split and the model is solved again and again.
SMALL = Settings(appraise_at_most=30, first_footings=4)


@dataclass(frozen=True)
class Staged:
    """Random stages of a random case, with their truth by enumeration."""

    case: RandomCase
    asked: tuple[Stage, ...]
    values: tuple[float, ...]
    ends: set[tuple[int, ...]]
    """Every choice that is best in all stages."""
    alone: set[tuple[int, ...]]
    """Every choice that is best in the first stage."""


def drawn_rates(rng: np.random.Generator, *, least: int = 1) -> dict[str, float]:
    """One or two aims with rates."""
    names = rng.permutation(NAMES)[: int(rng.integers(least, 3))].tolist()
    return {name: SCALES[name] * float(rng.uniform(0.3, 2.0)) for name in names}


def stage_of(rates: dict[str, float], give_up: float = 0.0) -> Stage:
    """A stage with rates in SI."""
    return Stage.model_construct(
        **{name: Figure(rates[name]) if name in rates else None for name in NAMES}, give_up=Figure(give_up)
    )


def weighed(rates: dict[str, float], quantities: Array) -> Array:
    """The weighted sum of quantities, written out."""
    total = np.zeros(len(quantities))
    for name, rate in rates.items():
        total += rate * quantities[:, NAMES.index(name)]
    return total


@cache
def staged(number: int) -> Staged:
    """Stages whose give-up lets, where one can be found, a choice in that a later aim prefers."""
    case = cached_case(*suite()[number])
    rng = np.random.default_rng([77, number])
    quantities, met = case.candidates.quantities(case.choices)
    left = np.flatnonzero(met)
    count = 2 + (number // 2) % 2
    # Mass does not depend on the pressure: a stage of mass alone leaves ties.
    every = [{"mass": 1.0}] if number % 3 == 0 else [drawn_rates(rng)]
    every += [drawn_rates(rng) for _ in range(count - 1)]
    if number % 3 == 0:
        every[1] = {"rolling_loss": SCALES["rolling_loss"]}
    asked, values, alone = [], [], set()
    for place, rates in enumerate(every):
        aims = weighed(rates, quantities)
        value = float(aims[left].min())
        give_up = 0.0
        if place < count - 1 and (number % 3 or place):
            ties = left[aims[left] <= value * (1.0 + TIE)]
            losses = aims[left] / value - 1.0
            for _ in range(20):
                later = weighed(every[place + 1], quantities)[left]
                least = weighed(every[place + 1], quantities)[ties].min()
                better = np.flatnonzero((later < least * (1.0 - 1e-6)) & (losses > 1e-6) & (losses < 0.9))
                if better.size:
                    # Just short of the next choice that is let in, so that the ceiling decides.
                    allowed = float(losses[int(rng.choice(better))])
                    above = losses[losses > allowed * (1.0 + 1e-6)]
                    give_up = allowed + 0.5 * (min(float(above.min(initial=0.9)), 0.9) - allowed)
                    break
                every[place + 1] = drawn_rates(rng)
        if place == 0:
            alone = as_set(case.choices.take(left[aims[left] <= value * (1.0 + TIE)]))
        left = left[aims[left] <= value + (give_up + TIE) * abs(value)]
        asked.append(stage_of(rates, give_up))
        values.append(value)
    return Staged(case, tuple(asked), tuple(values), as_set(case.choices.take(left)), alone)


#: Random cases, in each of which something meets every limit.
NUMBERS = range(0, 56, 2)


def disagrees(one: Staged, settings: Settings) -> str:
    """How the stages differ from the enumerated ones; empty where they do not."""
    fresh = one.case.candidates.variant()
    fresh.whole = []
    found = search_in_order(fresh, one.asked, settings)
    if not found.proven or not all(stage.exact for stage in found.stages):
        return "not proven"
    reached = [stage.value for stage in found.stages]
    if reached != pytest.approx(list(one.values), rel=1e-9):
        return f"values {reached}, enumerated {one.values}"
    if [stage.bound for stage in found.stages] != pytest.approx(list(one.values), rel=1e-6):
        return "bounds"
    assert found.search.found is not None
    return "" if as_set(found.search.found) == one.ends else "other choices"


@cache
def told(number: int) -> str:
    """How the stages of a case differ from the enumerated ones; empty where they do not."""
    return disagrees(staged(number), Settings())


@pytest.mark.parametrize("number", few_quick(NUMBERS, (0, 10, 38)))
def test_the_stages_end_where_enumeration_ends(number: int) -> None:
    assert told(number) == ""
    if number % 4 == 0:
        assert disagrees(staged(number), SMALL) == ""


@pytest.mark.slow
def test_in_most_cases_a_later_stage_changes_the_answer() -> None:
    every = [staged(number) for number in NUMBERS]
    assert len(every) >= 25
    # Among ties of the first stage, or beyond them where something is given up.
    changed = [one for one in every if one.ends != one.alone]
    beyond = [one for one in every if not one.ends <= one.alone]
    among = [one for one in every if one.ends < one.alone]
    assert len(changed) >= len(every) / 2
    assert len(beyond) >= len(every) / 3
    assert len(among) >= 5
    assert sum(len(one.asked) == 3 for one in every) >= 8


def let_everything_in(ends: Any) -> Any:
    """Earlier stages are forgotten when choices are appraised."""
    return lambda choices, found: np.ones(len(choices), dtype=bool)


def ties_are_lost(candidates: Any, allowed: Choices, *rest: Any) -> Any:
    """Only one of the ties of a stage is kept."""
    return DECIDED(candidates, allowed.take(np.arange(1)), *rest)


def rows_too_strong(instance: Any) -> Any:
    """Ceilings three percent too low in the bounds."""
    return [replace(row, rhs=row.rhs - 0.03 * abs(row.rhs)) for row in CEILINGS(instance)]


DECIDED, CEILINGS = stages.decided, bounds.ceiling_rows
#: Room, name in it, what stands there instead, and a case that has to notice.
MUTATIONS: dict[str, tuple[Any, str, Any, int]] = {
    "ceilings forgotten": (stages, "within", let_everything_in, 10),
    "ties lost": (stages, "decided", ties_are_lost, 0),
    "rows too strong": (bounds, "ceiling_rows", rows_too_strong, 10),
}


@pytest.mark.parametrize("name", MUTATIONS)
def test_a_mistake_shows_as_another_answer(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    *mistake, number = MUTATIONS[name]
    assert told(number) == ""
    monkeypatch.setattr(*mistake)
    assert disagrees(staged(number), Settings())


def whole_case(one: Staged, **more: Any) -> Case:
    """A random case as a scenario with its stages."""
    shipped, model = case_of(one.case.scenario), one.case.candidates.model
    aims = Aims.model_construct(**dict.fromkeys(NAMES), in_order=list(one.asked))
    changed = {"vehicles": [model.vehicle], "aims": aims, **more}
    return Case(shipped.path, shipped.scenario.model_copy(update=changed), model.catalog)


@pytest.mark.parametrize("number", few_quick(NUMBERS[::6], (0,)))
def test_the_answer_names_every_stage_and_agrees_with_the_count_of_all(number: int) -> None:
    one = staged(number)
    answer = choose(whole_case(one))
    payload = answer.to_json()
    jsonschema.validate(payload, schema("choice"))
    assert answer.status == "optimal"
    assert answer.audit.agrees
    assert answer.counts["choices_that_meet_all"] == int(one.case.met.sum())
    assert answer.counts["ties"] == len(one.ends)
    assert [stage["value"] for stage in payload["stages"]] == pytest.approx(list(one.values), rel=1e-9)
    assert {key: payload["aim"][key] for key in ("value", "bound", "gap", "terms")} == {
        key: payload["stages"][-1][key] for key in ("value", "bound", "gap", "terms")
    }
    for stage in payload["stages"]:
        summed = sum(term["value"] * term["rate"] for term in stage["terms"].values())
        assert stage["reached"] == pytest.approx(summed, rel=1e-9)
        assert stage["reached"] <= stage["value"] + (stage["give_up"] + 2 * TIE) * abs(stage["value"])
    sheet = Page(200)
    write_choice(sheet, payload)
    lines = [line.strip() for line in str(sheet).splitlines()]
    told = [next(line for line in lines if line.startswith(f"{place}. ")) for place in range(1, len(one.asked) + 1)]
    assert all(" is the least, proven" in line for line in told)
    assert [" more is allowed, " in line for line in told] == [bool(stage.give_up) for stage in one.asked]


def test_a_scenario_without_stages_has_none_in_its_answer() -> None:
    one = staged(NUMBERS[0])
    payload = choose(whole_case(one, aims=Aims.model_construct(**dict.fromkeys(NAMES[1:]), mass=Figure(1.0)))).to_json()
    assert "stages" not in payload
    assert "alternates" not in payload


def giving_up() -> Staged:
    """Stages of which the first gives something up that the second takes."""
    return next(one for one in map(staged, NUMBERS) if one.asked[0].give_up and not one.ends <= one.alone)


def stopped_in(number: int, one: Staged, monkeypatch: pytest.MonkeyPatch) -> InOrder:
    """Stages stopped when their search of a number begins."""
    settings = stopping_at(number, stages, monkeypatch)
    ties = next(iter(one.alone))
    start = Choices(np.array([ties[:3]]), np.array([ties[3:6]]), np.array([ties[6]]))
    return search_in_order(one.case.candidates, one.asked, settings, start)


def test_stopped_in_the_second_stage_the_first_stays_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    one = giving_up()
    found = stopped_in(2, one, monkeypatch)
    assert not found.proven
    assert [stage.exact for stage in found.stages] == [True] + [False] * (len(one.asked) - 1)
    assert found.stages[0].bound == pytest.approx(one.values[0], rel=1e-6)
    assert found.search.found is not None
    assert as_set(found.search.found) <= one.alone
    assert found.stages[1].value >= one.values[1] * (1.0 - TIE)
    assert found.stages[1].bound is None or found.stages[1].bound <= one.values[1] * (1.0 + TIE)


def test_stopped_in_the_first_stage_what_is_known_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    one = giving_up()
    found = stopped_in(1, one, monkeypatch)
    assert not found.proven
    assert not any(stage.exact for stage in found.stages)
    assert len(found.stages) == len(one.asked)
    assert all(stage.bound is None or stage.bound <= stage.value for stage in found.stages)
    assert found.search.found is not None


def test_stopped_before_anything_is_found_nothing_is_known() -> None:
    answer = choose(whole_case(giving_up()), time_limit=1e-9)
    assert answer.status == "unknown"
    assert answer.exit_code == ExitCode.STOPPED_EARLY
    assert answer.to_json()["aim"] is None


def test_nothing_within_the_limits_is_told_as_without_stages() -> None:
    one = giving_up()
    cheap = LimitRecord(limit="cost", at_most=1)
    vehicle = one.case.candidates.model.vehicle.model_copy(update={"limits": [cheap]})
    answer = choose(whole_case(one, vehicles=[vehicle]))
    assert answer.status == "infeasible"
    assert "stages" not in answer.to_json()
    assert any(row["limit"] == "cost" for row in answer.closest)


def test_a_tradeoff_takes_the_quantities_of_all_stages_and_a_short_list_refuses() -> None:
    one = staged(NUMBERS[0])
    case = whole_case(one)
    named = {name for stage in one.asked for name in stage.own_rates}
    points = tradeoff(case)
    assert {aim["name"] for aim in points.aims} == named
    assert all(aim["rate"] is None for aim in points.aims)
    assert not any(point.best_by_rates for point in points.points)
    with pytest.raises(UsageError, match="one after the other"):
        shortlist(case, count=3)


def test_vehicles_chosen_together_refuse_stages() -> None:
    case = whole_case(staged(NUMBERS[0]), sharing=SharingRecord(at_most={"tires": 1}))
    with pytest.raises(UsageError, match="aims count in order for one vehicle only"):
        choose(case)


MISTAKES = {
    "empty list": ("in_order: []", "5:13", "at least 1 item"),
    "negative": ("in_order:\n    - mass: 1 per kg\n      give_up: -1 %\n    - cost: 1", "7:16", "-1 %"),
    "more than all": ("in_order:\n    - mass: 1 per kg\n      give_up: 120 %\n    - cost: 1", "7:16", "120 %"),
    "both forms": ("mass: 1 per kg\n  in_order:\n    - cost: 1", "7:5", "stated both at once and in_order"),
    "no aim": ("in_order:\n    - mass: 1 per kg\n    - give_up: 1 %", "7:7", "give the stage at least one aim"),
    "the last": ("in_order:\n    - mass: 1 per kg\n    - cost: 1\n      give_up: 1 %", "8:16", "the last stage gives"),
    "unknown aim": ("in_order:\n    - speed: 1", "6:7", "speed"),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_found_at_its_place(name: str, tmp_path: Path) -> None:
    written, place, words = MISTAKES[name]
    text = (ROOT / "tests" / "fixtures" / "scenarios" / "good" / "smallest.yaml").read_text()
    text = text.replace("../../../../catalogs", str(ROOT / "catalogs"))
    head, rest = text.split("aims:\n", 1)
    lines = head.splitlines()
    # The aims begin on the fourth line, whatever stands above them.
    head = "\n".join([line for line in lines if not line.startswith("#")][:3]) + "\n"
    body = rest.split("vehicles:\n", 1)[1]
    path = tmp_path / "case.yaml"
    path.write_text(f"{head}aims:\n  {written}\nvehicles:\n{body}")
    with pytest.raises(FindingsError) as raised:
        load(path)
    found = [f for f in raised.value.findings if words in f"{f.message} {f.fix}"]
    assert [f"{f.line}:{f.column}" for f in found] == [place], raised.value.findings
