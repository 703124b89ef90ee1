"""The choice equals enumeration through the full model: optimum, ties, and how many choices meet every limit."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from random_cases import COUPLINGS, RandomCase, as_set, cached_case, suite

from configopt.choice.choose import Settings, run_search

#: The defaults, and sizes so small that boxes are split and the model is solved again and again.
SETTINGS = {
    "default": Settings(),
    "small steps": Settings(appraise_at_most=150, first_footings=4),
}


def require_equal_to_enumeration(case: RandomCase, settings: Settings) -> None:
    """Optimum, set of ties and proof of one search against the enumerated truth."""
    search, proven = run_search(case.candidates, settings)
    assert proven
    if not case.met.any():
        assert search.found is None
        return
    assert search.found is not None, "the search found nothing where something meets every limit"
    assert search.best == pytest.approx(case.best, rel=1e-9, abs=1e-9)
    assert search.bound == pytest.approx(case.best, rel=1e-6, abs=1e-9)
    assert as_set(search.found) == case.ties()


@pytest.mark.parametrize(("seed", "scenario", "coupling"), suite())
@pytest.mark.parametrize("settings", SETTINGS)
def test_the_search_finds_what_enumeration_finds(seed: int, scenario: str, coupling: str, settings: str) -> None:
    require_equal_to_enumeration(cached_case(seed, scenario, coupling), SETTINGS[settings])


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
