"""The choice equals enumeration through the full model: optimum, ties, and how many choices meet every limit."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from random_cases import COUPLINGS, QUICK_SUITE, RandomCase, aims_of, as_set, cached_case, case_of, few_quick, suite

from configopt.choice.choose import Search, Settings, run_search
from configopt.choice.result import choose
from configopt.scenario.case import Case


def require_equal_to_enumeration(case: RandomCase, search: Search, proven: bool) -> None:
    """Optimum, set of ties and proof of one search against the enumerated truth."""
    assert proven
    if not case.met.any():
        assert search.found is None
        return
    assert search.found is not None, "the search found nothing where something meets every limit"
    assert search.best == pytest.approx(case.best, rel=1e-9, abs=1e-9)
    assert search.bound == pytest.approx(case.best, rel=1e-6, abs=1e-9)
    assert as_set(search.found) == case.ties()


def name_of(number: int) -> str:
    """Seed, scenario and coupling of a case."""
    return "-".join(map(str, suite()[number]))


@pytest.mark.parametrize("number", few_quick(range(len(suite())), QUICK_SUITE), ids=name_of)
def test_the_search_finds_what_enumeration_finds(number: int) -> None:
    case = cached_case(*suite()[number])
    search, proven = run_search(case.candidates, Settings())
    require_equal_to_enumeration(case, search, proven)
    # So few choices may be appraised at once that boxes are split and the model is solved again and again.
    small = Settings(appraise_at_most=max(search.appraised // 10, 12), first_footings=4)
    require_equal_to_enumeration(case, *run_search(case.candidates, small))


@pytest.mark.parametrize("number", few_quick([0, 1, 49], (0,)))
def test_small_steps_split_boxes(number: int) -> None:
    case = cached_case(*suite()[number])
    search, proven = run_search(case.candidates, Settings(appraise_at_most=30, first_footings=4))
    assert search.rounds > 1
    require_equal_to_enumeration(case, search, proven)


@pytest.mark.parametrize("number", few_quick(range(0, len(suite()), 6), (0, 24)))
def test_the_answer_counts_what_meets_all_limits_and_the_ties(number: int) -> None:
    case = cached_case(*suite()[number])
    model = case.candidates.model
    shipped = case_of(case.scenario)
    changed = {"vehicles": [model.vehicle], "aims": aims_of(case.candidates)}
    whole = Case(shipped.path, shipped.scenario.model_copy(update=changed), model.catalog)
    answer = choose(whole)
    assert answer.audit.agrees
    assert answer.counts["choices_that_meet_all"] == int(case.met.sum())
    assert answer.counts["ties"] == (len(case.ties()) if case.met.any() else 0)
    assert answer.status == ("optimal" if case.met.any() else "infeasible")


def test_every_coupling_and_scenario_is_among_the_quick_cases_and_binds() -> None:
    cases = [cached_case(*suite()[number]) for number in QUICK_SUITE]
    assert {case.coupling for case in cases} == {*COUPLINGS, "several", "nothing"}
    assert {case.coupling for case in cases if case.binds} >= set(COUPLINGS)
    assert {case.scenario for case in cases} == {"upland-wardens", "coastal-survey", "forest-rescue"}
    assert all(np.isfinite(case.aims).all() for case in cases)


@pytest.mark.slow
def test_most_cases_have_a_coupling_that_binds(capsys: pytest.CaptureFixture[str]) -> None:
    cases = [cached_case(*one) for one in suite()]
    binding = Counter(case.coupling for case in cases if case.binds)
    with capsys.disabled():
        print(f"\n{len(cases)} random cases, {sum(binding.values())} with a coupling that binds")
        for coupling, count in binding.items():
            sizes = [len(case.choices) for case in cases if case.coupling == coupling and case.binds]
            print(f"  {coupling:20s} {count:3d}  {min(sizes):,} to {max(sizes):,} choices")
    assert len(cases) >= 60
    assert sum(binding[coupling] for coupling in COUPLINGS) >= len(cases) / 2
    assert all(binding[coupling] >= 3 for coupling in COUPLINGS)
    assert {case.scenario for case in cases} == {"upland-wardens", "coastal-survey", "forest-rescue"}
    assert all(np.isfinite(case.aims).all() for case in cases)


def test_a_search_that_is_stopped_at_once_keeps_what_it_began_with() -> None:
    case = cached_case(*suite()[0])
    start = case.choices.take(np.flatnonzero(case.met)[:1])
    settings = Settings()
    settings.stop.asked = True
    search, proven = run_search(case.candidates.variant(), settings, start=start)
    assert not proven
    assert search.found is not None
    assert search.bound <= search.best
