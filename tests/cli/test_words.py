"""Words and numbers for people."""

from __future__ import annotations

from typing import Any

import pytest

from configopt.cli.words import (
    LIMIT_WORDS,
    MOST,
    exchange_words,
    fixed,
    margin_words,
    number,
    percent,
    proof_words,
    tightest,
    with_unit,
)
from configopt.scenario.limits import LIMITS

OPTIMISERS_WORDS = ("gap", "bound", "dual", "binary", "incumbent", "optimal", "infeasible", "feasible", "MIP")


def test_every_limit_has_words() -> None:
    assert set(LIMITS) <= set(LIMIT_WORDS)


def test_the_direction_of_every_limit_is_that_of_the_scenario() -> None:
    assert {key for key, limit in LIMITS.items() if limit.bound == "at_most"} == MOST


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (-0.0001, "-0.0001"), (999.6, "1000"), (123456.0, "123456"), (2.50, "2.5"), (1e-9, "0")],
)
def test_numbers_keep_whole_digits_and_drop_idle_ones(value: float, text: str) -> None:
    assert number(value) == text


def test_a_change_of_nothing_has_no_sign() -> None:
    assert fixed(-0.004, 2, sign=True) == "0.00"
    assert fixed(1.0, 1, sign=True) == "+1.0"
    assert number(0.0, sign=True) == "0"


def test_units_read_as_people_write_them() -> None:
    assert with_unit("180", "degC") == "180 °C"
    assert with_unit("1.4", "1") == "1.4"


@pytest.mark.parametrize("status", ["optimal", "feasible", "infeasible", "unknown"])
def test_the_proof_is_said_without_any_word_of_the_search(status: str, choice: dict[str, Any]) -> None:
    aim = choice["aim"] if status in ("optimal", "feasible") else None
    words = proof_words(status, aim).split()
    assert not set(words) & set(OPTIMISERS_WORDS)


def test_the_proof_names_what_it_is_worth() -> None:
    assert proof_words("optimal", {"gap": 0.0}) == "proven: no better choice exists in these catalogs"
    assert proof_words("feasible", {"bound": 29.9, "gap": 0.002}).startswith("proven to within 0.2 %")
    assert "nothing is proven" in proof_words("feasible", {"bound": None, "gap": None})
    assert proof_words("unknown", None) == "stopped before any choice was found; nothing is proven"


def test_a_share_is_never_rounded_to_nothing() -> None:
    assert percent(1e-7) == "less than 0.01 %"
    assert percent(0.0) == "0 %"


def margin(**changes: Any) -> dict[str, Any]:
    row = {"limit": "climb_grade", "terrain": "peat-path", "position": None, "value": 25.2, "required": 24.0}
    return {**row, "unit": "%", "ratio": 1.05, "met": True, "binding": False, **changes}


def test_a_margin_says_what_is_reached_asked_and_left() -> None:
    assert margin_words(margin()) == "climb on peat-path: 25.2 % (at least 24 %), 5 % to spare"


def test_a_limit_that_is_not_met_says_by_how_much() -> None:
    row = margin(limit="cost", terrain=None, value=1000.0, required=900.0, unit="currency", ratio=0.9, met=False)
    assert margin_words(row, "EUR") == "cost: 1000 EUR (at most 900 EUR), misses by 10 %"


@pytest.mark.parametrize(
    ("changes", "end"),
    [
        ({"ratio": 1.0}, "nothing to spare"),
        ({"ratio": 1.0 - 1e-10}, "nothing to spare"),
        ({"ratio": 250.0}, "ample"),
        ({"ratio": None}, "met"),
        ({"ratio": None, "met": False}, "not met"),
    ],
)
def test_special_margins_read_plainly(changes: dict[str, Any], end: str) -> None:
    assert margin_words(margin(**changes)).endswith(f", {end}")


def test_what_is_not_met_stands_before_what_is_tight() -> None:
    rows = [margin(ratio=3.0), margin(ratio=1.01), margin(ratio=0.5, met=False), margin(ratio=None)]
    assert [row["ratio"] for row in tightest(rows, 2)] == [0.5, 1.01]
    assert [row["ratio"] for row in tightest(rows, 9)] == [0.5, 1.01, 3.0]


def test_the_limit_at_most_risk_is_always_among_the_tightest() -> None:
    rows = [margin(ratio=1.01), margin(ratio=1.02), margin(ratio=1.5, chance_missed=0.2)]
    assert [row["ratio"] for row in tightest(rows, 2)] == [1.01, 1.5]
    rows[0]["chance_missed"] = 0.3
    assert [row["ratio"] for row in tightest(rows, 2)] == [1.01, 1.02]


def test_exchange_rates_are_against_mass() -> None:
    terms = {"rolling_loss": {"rate": 2.0}, "mass": {"rate": 4.0}, "cost": {"rate": 0.1, "unit": "EUR"}}
    assert exchange_words(terms) == [
        "1 Wh/km of rolling loss counts as 0.5 kg of mass",
        "1 EUR of cost counts as 0.025 kg of mass",
    ]


def test_a_single_aim_is_named() -> None:
    assert exchange_words({"mass": {"rate": 0.0}, "energy": {"rate": 1.0}}) == ["only energy counts"]
