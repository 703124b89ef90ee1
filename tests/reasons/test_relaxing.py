"""Which limits have to give way: the fewest, every smallest set, and the least sum of changes, as enumeration says."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from random_cases import BASE_LIMITS, RandomCase, aims_of, drawn_limit, few_quick, loose, stated, vehicle_with
from truth import case_number

from configopt.appraisal.vehicle import Scope
from configopt.choice.audit import Candidates
from configopt.choice.choose import Settings
from configopt.choice.closest import asked_limits
from configopt.reasons.asking import Asking
from configopt.reasons.relaxing import CLOSE, Relaxing, relaxing
from configopt.scenario.limits import LIMITS

NUMBERS = range(2, 60, 4)
#: Sharp limits added to a case, and the case of the quick line with fewer of them.
LIMITS_ADDED, QUICK = 4, (6, 2)
KEYS = ("package_mass", "cost", "range", "climb_grade", "lift_off_deceleration", "rolling_loss", "sinkage")


def overloaded(number: int, count: int) -> tuple[RandomCase, Candidates]:
    """A case with so many sharp limits that, in most cases, nothing meets them all."""
    case = case_number(number)
    vehicle, rng = case.candidates.model.vehicle, np.random.default_rng([77, number])
    extra = []
    for key in rng.permutation(KEYS)[:count].tolist():
        where = drawn_limit(vehicle, key, rng)
        if where is None:
            continue
        probe = Candidates(
            vehicle_with(vehicle, BASE_LIMITS[case.scenario] + [stated(key, loose(key), *where)]),
            case.candidates.model.catalog,
            aims_of(case.candidates),
        )
        margins = probe.outcome(case.choices, values=True).margins
        value = next(
            m.value for m in margins if (m.bound.limit.key, m.bound.terrain, m.bound.position) == (key, *where)
        )
        assert value is not None
        # Of the better values, so that each alone can be met but not all together.
        ordered = np.sort(value) if LIMITS[key].bound == "at_most" else np.sort(value)[::-1]
        bound = float(ordered[int(0.02 * len(ordered))])
        if bound > 0.0:
            extra.append(stated(key, bound, *where))
    made = Candidates(
        vehicle_with(vehicle, BASE_LIMITS[case.scenario] + extra),
        case.candidates.model.catalog,
        aims_of(case.candidates),
    )
    return case, made


def shortfalls(case: RandomCase, made: Candidates) -> tuple[list[frozenset[Scope]], np.ndarray, np.ndarray]:
    """Scopes of every limit that may be relaxed; by how much each choice misses each; which it misses for good."""
    asked = asked_limits(made.model)
    short = np.zeros((len(case.choices), len(asked)))
    fixed = np.zeros(len(case.choices), dtype=bool)
    for margin in made.outcome(case.choices, values=True).margins:
        required, value = margin.bound.required, margin.value
        assert value is not None
        gap = required - value if margin.bound.at_least else value - required
        missed = np.where(margin.met, 0.0, gap / abs(required))
        place = next((i for i, one in enumerate(asked) if margin.bound.scope in one.scopes), None)
        if place is None:
            fixed |= ~margin.met
        else:
            short[:, place] = np.maximum(short[:, place], missed)
    return [one.scopes for one in asked], short, fixed


def require_truth(number: int, count: int = LIMITS_ADDED) -> int:
    """The smallest sets and the least change of each, by enumeration; how many limits had to give way."""
    case, made = overloaded(number, count)
    if made.appraise(case.choices)[1].any():
        return 0
    scopes, short, fixed = shortfalls(case, made)
    short = short[~fixed]
    size, sets = 0, []
    for size in range(1, 5):
        sets = [s for s in combinations(range(len(scopes)), size) if (np.delete(short, s, axis=1) == 0.0).all(1).any()]
        if sets:
            break
    asking = Asking(made, Settings())
    assert {tuple(sorted(s)) for s in Relaxing(asking).smallest()} == set(sets)
    rows = relaxing(asking)
    assert len(rows) == len(sets)
    least = []
    for chosen in sets:
        able = (np.delete(short, chosen, axis=1) == 0.0).all(1)
        least.append(100.0 * float(short[able][:, chosen].sum(axis=1).min()))
    for row, truth in zip(rows, sorted(least), strict=True):
        assert truth * (1.0 - 1e-9) <= row["change_percent"] <= truth * (1.0 + 2.0 * CLOSE)
        assert row["least_change_percent"] <= truth * (1.0 + 1e-9)
        assert len(row["limits"]) == size
    return size


@pytest.mark.parametrize(
    ("number", "count"), few_quick([QUICK, *((number, LIMITS_ADDED) for number in NUMBERS)], [QUICK])
)
def test_what_has_to_give_way_is_what_enumeration_says(number: int, count: int) -> None:
    assert require_truth(number, count) > 0 or (number, count) != QUICK


@pytest.mark.slow
def test_in_most_cases_something_has_to_give_way_and_in_some_several() -> None:
    sizes = [require_truth(number) for number in NUMBERS]
    assert sum(size > 0 for size in sizes) >= len(NUMBERS) / 2
    assert sum(size > 1 for size in sizes) >= 3


def test_where_limits_that_may_not_be_relaxed_keep_all_out_nothing_is_offered() -> None:
    case = case_number(6)
    vehicle = case.candidates.model.vehicle.model_copy(
        update={"rider_mass": type(case.candidates.model.vehicle.rider_mass)(1500.0)}
    )
    made = Candidates(vehicle, case.candidates.model.catalog, aims_of(case.candidates))
    assert not made.appraise(case.choices)[1].any()
    assert relaxing(Asking(made, Settings())) == []
