"""Every limit has a range of bounds that mean anything; what lies beyond is refused with the range in the message."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from configopt.scenario.limits import LIMITS, PAIRS, Limit
from configopt.scenario.records import LimitRecord

PLAIN = ("1", "currency", "g")
#: Bounds that a range must refuse: limit, bound.
ABSURD = (
    ("deceleration", 5),
    ("lift_off_deceleration", 9),
    ("break_over_angle", "100 deg"),
    ("front_load_share", "99.5 %"),
    ("front_load_share", 1.5),
    ("front_load_share_most", "0.5 %"),
    ("front_load_share_most", "150 %"),
    ("climb_grade", "900 %"),
    ("puncture_protection", 9),
    ("time_off_ground", "200 %"),
    ("spoke_reserve", 1e300),
    ("range", "-5 km"),
    ("cost", 0),
)


def written(limit: Limit, number: float) -> str:
    """A number in a limit's unit as a scenario writes it."""
    return f"{number:.10g}" if limit.unit in PLAIN else f"{number:.10g} {limit.unit}"


def refusal(key: str, bound: object) -> dict[str, Any]:
    """What a scenario is told about a bound that is refused."""
    with pytest.raises(ValidationError) as raised:
        LimitRecord.model_validate({"limit": key, LIMITS[key].bound: bound})
    (error,) = raised.value.errors()
    return error["ctx"]


@pytest.mark.parametrize("limit", LIMITS.values(), ids=LIMITS)
def test_both_ends_of_a_range_are_allowed_and_what_lies_beyond_is_not(limit: Limit) -> None:
    low, high = limit.allowed
    for number in (low, high):
        record = LimitRecord.model_validate({"limit": limit.key, limit.bound: written(limit, number)})
        assert limit.shown(limit.parse(record.bound)) == pytest.approx(number, rel=1e-12, abs=1e-9)
    for number in (0.99 * low if low > 0.0 else -1.0, 1.01 * high):
        assert limit.range_text in refusal(limit.key, written(limit, number))["message"]


@pytest.mark.parametrize("limit", LIMITS.values(), ids=LIMITS)
def test_a_default_lies_in_its_range(limit: Limit) -> None:
    assert limit.default is None or limit.allows(limit.default)


@pytest.mark.parametrize(("key", "bound"), ABSURD)
def test_an_absurd_bound_is_refused(key: str, bound: object) -> None:
    told = refusal(key, bound)
    if "rule" in told:
        assert (told["rule"], told["at"]) == ("RANGE", [LIMITS[key].bound])
        assert f"for {key}, allowed is {LIMITS[key].range_text}" in told["message"]
    else:
        assert "-5 km" in told["message"]


def test_the_range_is_told_in_the_units_in_which_a_scenario_writes() -> None:
    assert LIMITS["climb_grade"].range_text == "0.1 to 170 %"
    assert LIMITS["puncture_protection"].range_text == "1 to 3"
    assert LIMITS["deceleration"].range_text == "0.01 to 3 g, written without the unit"


def test_the_limits_of_a_pair_bound_one_value_from_both_sides() -> None:
    for least, most in PAIRS:
        assert (LIMITS[least].bound, LIMITS[most].bound) == ("at_least", "at_most")
        assert LIMITS[least].scopes == LIMITS[most].scopes
        assert LIMITS[least].unit == LIMITS[most].unit
