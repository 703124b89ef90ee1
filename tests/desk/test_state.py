"""The state in the address: read, clamped, the same text for the same state, and what buttons do to it."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import parse_qsl

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_project import ROOT

from configopt.desk.movable import Movable
from configopt.desk.project import Opened
from configopt.desk.state import State, done, read_state
from configopt.scenario.limits import LIMITS
from configopt.sweep.changing import Base

VEHICLE = "warden-two-wheeler"


@pytest.fixture(scope="module")
def opened() -> Opened:
    path = ROOT / "scenarios" / "upland-wardens.yaml"
    return Opened(Base.of(path, "page"), "stamp")


@pytest.fixture(scope="module")
def of(opened: Opened) -> Movable:
    return opened.movable(VEHICLE)


def read(text: str, of: Movable, opened: Opened) -> State:
    return read_state(parse_qsl(text, keep_blank_values=True), of, opened.families)


def test_a_form_with_the_values_of_the_file_is_no_change(of: Movable, opened: Opened) -> None:
    pairs = [("vehicle", VEHICLE)]
    pairs += [(f"mix.{ground.name}", f"{ground.share:g}") for ground in of.grounds]
    pairs += [(f"speed.{ground.name}", f"{ground.speed:g}") for ground in of.grounds]
    pairs += [(f"limit.{address}", f"{limit.stated:.10g}") for address, limit in of.limits.items()]
    pairs += [(f"rate.{name}", f"{rate:g}") for name, rate in of.rates.items()]
    state = read_state(pairs, of, opened.families)
    assert state.query() == f"vehicle={VEHICLE}"
    assert not state.changed


def test_shares_in_the_same_proportions_are_no_change(of: Movable, opened: Opened) -> None:
    half = "&".join(f"mix.{ground.name}={ground.share / 2:g}" for ground in of.grounds)
    assert read(half, of, opened).mix == ()


def test_numbers_are_clamped_to_their_range_and_that_is_said(of: Movable, opened: Opened) -> None:
    state = read("limit.range=999999&limit.cost=-5&speed.peat-path=0", of, opened)
    assert dict(state.limits) == {"range": LIMITS["range"].allowed[1], "cost": LIMITS["cost"].allowed[0]}
    assert dict(state.speeds) == {"peat-path": 1.0}
    assert len(state.notes) == 3
    assert "lies outside" in state.notes[0]


@pytest.mark.parametrize("text", ["nan", "inf", "1e5", "0x10", "١٢", "--1", "1 2", "9" * 40])
def test_what_is_no_plain_number_changes_nothing(of: Movable, opened: Opened, text: str) -> None:
    state = read_state([("limit.range", text)], of, opened.families)
    assert not state.changed
    assert "is no number" in state.notes[0]


def test_names_that_nothing_has_are_left_out(of: Movable, opened: Opened) -> None:
    state = read("out=../../etc/passwd&limit.nothing=3&hold.front.tire=nobody&price.nobody=120", of, opened)
    assert not state.changed
    assert len(state.notes) == 4


def test_a_default_cannot_be_left_out(of: Movable, opened: Opened) -> None:
    assert not read("off=creep_margin", of, opened).changed
    assert dict(read("off=range", of, opened).limits) == {"range": None}


def test_the_least_pressure_lies_below_the_most(of: Movable, opened: Opened) -> None:
    state = read("press.front.low=200&press.front.high=100", of, opened)
    assert dict(state.pressures) == {"front.low": 100.0, "front.high": 200.0}


def test_buttons_leave_out_hold_and_let_go(of: Movable, opened: Opened) -> None:
    tire = opened.case.catalog.tires[0].id
    state = read("", of, opened)
    held = done(state, f"hold:front.tire:{tire}", of, opened.families)
    assert dict(held.holds) == {"front.tire": tire}
    out = done(held, f"out:{tire}", of, opened.families)
    assert (out.out, out.holds) == ((tire,), ())
    again = done(out, f"hold:front.tire:{tire}", of, opened.families)
    assert (again.out, dict(again.holds)) == ((), {"front.tire": tire})
    assert done(again, "free:front.tire", of, opened.families) == state
    priced = done(state, f"price:{tire}", of, opened.families)
    assert priced.prices == ((tire, 100.0),)
    assert done(priced, f"asked:{tire}", of, opened.families) == state


def test_a_limit_is_asked_for_at_its_loose_end(of: Movable, opened: Opened) -> None:
    state = done(read("", of, opened), "ask:trail", of, opened.families)
    assert dict(state.limits) == {"trail": LIMITS["trail"].allowed[0]}
    assert done(state, "ask:nothing", of, opened.families) == state


KEYS = st.sampled_from(
    [
        "vehicle", "mix.peat-path", "mix.gravel-track", "speed.rock-steps", "limit.range", "limit.cost",
        "limit.climb_grade.peat-path", "limit.trail", "limit.sinkage.front", "off", "rate.mass", "rate.cost", "out",
        "hold.front.tire", "hold.rear.rotor", "press.front.low", "press.front.high", "beside", "trade", "do",
        "price.heron-moor-80-100-21",
    ]
)  # fmt: skip
VALUES = st.one_of(
    st.decimals(min_value=-10, max_value=2000, places=2).map(str),
    st.sampled_from(["", "range", "cost", "heron-moor-80-100-21", "hythe-disc-220-4x80", "today", "follow", "../x"]),
    st.text(max_size=12),
)


@settings(deadline=None)
@given(pairs=st.lists(st.tuples(KEYS, VALUES), max_size=14))
def test_every_state_reads_back_from_its_own_text(pairs: list[tuple[str, str]]) -> None:
    path = ROOT / "scenarios" / "upland-wardens.yaml"
    opened = _opened(path)
    of = opened.movable(VEHICLE)
    state = read_state(pairs, of, opened.families)
    again = read(state.query(), of, opened)
    assert again == state
    assert again.query() == state.query()
    assert again.notes == ()


_KEPT: dict[Path, Opened] = {}


def _opened(path: Path) -> Opened:
    if path not in _KEPT:
        _KEPT[path] = Opened(Base.of(path, "page"), "stamp")
    return _KEPT[path]
