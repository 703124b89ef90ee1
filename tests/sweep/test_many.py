"""Many variants of a shipped scenario: time grows with their number, memory does not; two processes are worth two."""

from __future__ import annotations

import pytest
from measure import SCENARIO, growth, two_against_one

from configopt.sweep.changing import Base


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_five_hundred_variants_take_time_in_proportion_and_no_more_memory() -> None:
    found = growth(Base.of(SCENARIO, "measured.variants.yaml"), 500)
    fifth, half, whole = found["rows"]
    assert whole["variants"] == 500
    assert set(found["ends"]) <= {"optimal", "nothing meets the limits"}
    # The second half costs no more than half as much again as the first.
    assert whole["seconds"] - half["seconds"] <= 1.5 * half["seconds"]
    # Four hundred rows of a few kilobytes each; a process keeps one scenario and what it works on.
    assert whole["parent_mib"] - fifth["parent_mib"] <= 20.0
    assert whole["workers_mib"] - fifth["workers_mib"] <= 60.0


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_two_processes_are_worth_nine_tenths_of_what_the_machine_gives() -> None:
    found = two_against_one(Base.of(SCENARIO, "measured.variants.yaml"), 8)
    assert found["met"], found
