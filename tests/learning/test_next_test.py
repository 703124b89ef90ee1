"""What a next test is worth, against closed forms, and over a short list."""

from __future__ import annotations

import math

import numpy as np
import pytest

from configopt.learning.next_test import SURE, NextTests, _worth, next_tests
from configopt.scenario.case import load

ROWS = 4096


def unit_loss(x: float) -> float:
    """Standard normal loss integral: mean of max(0, z - x) (Raiffa and Schlaifer 1961; from memory)."""
    return math.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi) - x * 0.5 * math.erfc(x / math.sqrt(2.0))


@pytest.mark.parametrize("ahead", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("noise", [0.0, 0.5, 1.0])
def test_with_two_candidates_and_normal_figures_the_worth_is_the_loss_integral(ahead: float, noise: float) -> None:
    rng = np.random.default_rng(5)
    z = rng.standard_normal(ROWS)
    loss = np.column_stack([np.zeros(ROWS), ahead + z])
    read = (z + noise * rng.standard_normal(ROWS))[:, None]
    told = 1.0 / math.sqrt(1.0 + noise * noise)
    found, switches = _worth(loss, 0, read)
    # Sampling alone: the mean of max(0, -D) over so many draws is sure to about 0.6/64.
    assert found == pytest.approx(told * unit_loss(ahead / told), abs=0.03)
    assert switches == pytest.approx(0.5 * math.erfc(ahead / told / math.sqrt(2.0)), abs=0.03)


def test_a_reading_that_tells_nothing_is_worth_nothing() -> None:
    rng = np.random.default_rng(6)
    loss = rng.standard_normal((ROWS, 4))
    loss -= loss.mean(axis=0)
    worths = [_worth(loss, 0, rng.standard_normal((ROWS, 1)))[0] for _ in range(20)]
    assert sum(worth > 0.0 for worth in worths) <= 3
    assert max(worths) < 0.05


def test_a_test_on_a_figure_that_no_candidate_differs_in_is_worth_nothing() -> None:
    z = np.random.default_rng(7).standard_normal(ROWS)
    assert _worth(np.column_stack([z, z + 1.0, z + 2.0]), 0, z[:, None]) == (0.0, 0.0)


def test_several_readings_that_only_tell_together_are_seen() -> None:
    rng = np.random.default_rng(8)
    a, b = rng.standard_normal((2, ROWS))
    loss = np.column_stack([np.zeros(ROWS), a * b])
    together, _ = _worth(loss, 0, np.column_stack([a, b]))
    assert together > 0.25
    assert _worth(loss, 0, a[:, None])[0] < 0.03


@pytest.fixture(scope="module")
def found() -> NextTests:
    made = next_tests(load("scenarios/upland-wardens.yaml"), count=3)
    assert made is not None
    return made


@pytest.mark.slow
def test_over_a_short_list_no_test_is_worth_more_than_knowing_everything(found: NextTests) -> None:
    assert found.tests
    assert all(0.0 < one.avoided <= found.expected_loss for one in (*found.tests, *found.figures))
    assert [one.avoided for one in found.tests] == sorted((one.avoided for one in found.tests), reverse=True)
    assert {one.kind for one in found.tests} <= set(SURE)
    assert 1 <= found.taken <= 3


@pytest.mark.slow
def test_the_same_question_has_the_same_answer(found: NextTests) -> None:
    again = next_tests(load("scenarios/upland-wardens.yaml"), count=3)
    assert again is not None
    assert again.to_json() | {"candidates": None} == found.to_json() | {"candidates": None}
