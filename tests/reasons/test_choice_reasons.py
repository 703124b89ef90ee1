"""Limits that matter, choices that differ in one part, and what losing a part costs: equal to enumeration."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_cases import few_quick
from truth import TIE, asked_of, case_number, ids_used, missed_scopes, part_ids

from configopt.appraisal.vehicle import Bound
from configopt.choice.closest import asked_limits
from configopt.reasons.limiting import handy, limiting, step_of
from configopt.reasons.losing import losing
from configopt.reasons.runners_up import runners_up
from configopt.scenario.limits import LIMITS

NUMBERS = range(1, 60, 3)
QUICK = (40,)


@pytest.mark.parametrize("number", few_quick(NUMBERS, QUICK))
def test_the_limits_that_matter_and_their_gains_are_those_of_enumeration(number: int) -> None:
    case = case_number(number)
    asking, best = asked_of(case)
    rows = {(row["limit"], row["terrain"], row["required"]): row for row in limiting(asking, best)}
    missed = missed_scopes(case)
    for asked in asked_limits(case.candidates.model):
        able = [i for i, scopes in enumerate(missed) if scopes <= asked.scopes]
        least = min(float(case.aims[i]) for i in able)
        bound = asked.bounds[0]
        key = (bound.limit.key, bound.terrain, bound.limit.shown(bound.required))
        if least >= best.value - TIE * max(abs(best.value), 1.0):
            assert key not in rows
            continue
        row = rows.pop(key)
        assert row["without"]["gain"] == pytest.approx(best.value - least, rel=1e-7, abs=1e-9)
        moved = step_of(bound.limit, bound.required)
        assert moved is not None

        def other(one: Bound, scopes: frozenset = asked.scopes, to: float = moved) -> Bound:
            return replace(one, required=to) if one.scope in scopes else one

        relaxed = case.candidates.variant(asking.with_bounds(other))
        aims, met = relaxed.appraise(case.choices)
        assert row["step"]["gain"] == pytest.approx(best.value - float(aims[met].min()), rel=1e-7, abs=1e-9)
        assert row["step"]["required"] == pytest.approx(bound.limit.shown(moved))
    assert not rows


@pytest.mark.slow
def test_in_most_cases_some_limit_matters() -> None:
    found = [len(limiting(*asked_of(case_number(number)))) for number in NUMBERS]
    assert sum(bool(count) for count in found) >= len(NUMBERS) / 2


@pytest.mark.parametrize("number", few_quick(NUMBERS, QUICK))
def test_without_each_part_the_best_is_the_enumerated_one(number: int) -> None:
    case = case_number(number)
    asking, best = asked_of(case)
    used = [ids_used(named) for named in part_ids(case)]
    rows = losing(asking, best)
    first = next(i for i in range(len(used)) if _same(case.choices, i, best.first))
    assert {row["part"] for row in rows} == used[first]
    for row in rows:
        left = [float(case.aims[i]) for i in np.flatnonzero(case.met) if row["part"] not in used[i]]
        if not left:
            assert row["instead"] is None
        else:
            assert row["instead"]["aim"] == pytest.approx(min(left), rel=1e-9)
            assert row["instead"]["loss"] == pytest.approx(min(left) - best.value, rel=1e-6, abs=1e-9)


def _same(choices, row: int, one) -> bool:  # type: ignore[no-untyped-def]
    return bool(
        (choices.front[row] == one.front[0]).all()
        and (choices.rear[row] == one.rear[0]).all()
        and choices.drive[row] == one.drive[0]
    )


@pytest.mark.parametrize("number", few_quick(NUMBERS, QUICK))
def test_choices_that_differ_in_one_part_are_all_of_them(number: int) -> None:
    case = case_number(number)
    _, best = asked_of(case)
    named = part_ids(case)
    own = named[next(i for i in range(len(named)) if _same(case.choices, i, best.first))]
    truth: dict[tuple[str | None, str], list[int]] = {}
    for i, other in enumerate(named):
        apart = [
            (position, kind)
            for position in ("front", "rear")
            for kind, value in other[position].items()
            if kind != "pressure" and value != own[position][kind]
        ]
        turned = [p for p in ("front", "rear") if other[p]["pressure"] != own[p]["pressure"]]
        drive = other["drive"] != own["drive"]
        if len(apart) + drive == 1 and set(turned) <= {position for position, _ in apart}:
            truth.setdefault(apart[0] if apart else (None, "final drive"), []).append(i)
        elif not apart and not drive and len(turned) == 1:
            truth.setdefault((turned[0], "pressure"), []).append(i)
    rows = {(row["position"], row["what"]): row for row in runners_up(best)}
    assert rows.keys() == truth.keys()
    for key, numbers in truth.items():
        good = [i for i in numbers if case.met[i]]
        assert (rows[key]["others"], rows[key]["meet_every_limit"]) == (len(numbers), len(good))
        if good:
            assert rows[key]["best"][0]["aim"] == pytest.approx(min(float(case.aims[i]) for i in good), rel=1e-9)
        else:
            assert rows[key]["best"] == []


@pytest.mark.parametrize(("value", "expected"), [(47.0, 50.0), (0.051, 0.05), (1.2, 1.0), (8.0, 10.0), (3e-4, 2e-4)])
def test_steps_are_handy_figures(value: float, expected: float) -> None:
    assert handy(value) == pytest.approx(expected)


def test_a_step_makes_a_limit_less_strict_and_stays_in_what_it_allows() -> None:
    cost, climb = LIMITS["cost"], LIMITS["climb_grade"]
    assert step_of(cost, 940.0) == pytest.approx(990.0)
    moved = step_of(climb, climb.parse("36 %"))
    assert moved is not None
    assert climb.shown(moved) == pytest.approx(34.0)
    assert step_of(climb, climb.parse("0.1 %")) is None
