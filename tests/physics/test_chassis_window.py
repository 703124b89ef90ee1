"""Feasible wheelbase and position of the centre of gravity: closed forms against an enumeration of a grid."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.brakes import lift_off_deceleration
from configopt.physics.chassis import breakover_angle, wheelie_grade
from configopt.physics.chassis_window import (
    HIGH_ENDS,
    LEAST_WHEELBASES,
    LOW_ENDS,
    cg_interval,
    chassis_window,
    largest_wheelbase,
    least_wheelbase,
)

BIKE: dict[str, Any] = {
    "cg_height": 0.70,
    "climb_grade": 0.80,
    "deceleration": 6.0,
    "front_share_min": 0.42,
    "front_share_max": 0.58,
    "front_radius": 0.345,
    "rear_radius": 0.335,
    "wheel_gap": 0.15,
    "breakover_angle": np.radians(58.0),
    "clearance": 0.32,
    "position_share": 0.48,
}
INTERVAL = ("cg_height", "climb_grade", "deceleration", "front_share_min", "front_share_max")
CREST = ("breakover_angle", "clearance", "position_share", "front_radius", "rear_radius")

demands = st.fixed_dictionaries(
    {
        "cg_height": st.floats(0.3, 1.0),
        "climb_grade": st.floats(0.0, 1.2),
        "deceleration": st.floats(0.0, 9.0),
        "front_share_min": st.floats(0.0, 0.45),
        "front_share_max": st.floats(0.46, 1.0),
    }
)
crests = st.fixed_dictionaries(
    {
        # A twentieth more is still below a right angle.
        "breakover_angle": st.floats(0.1, 1.45),
        "clearance": st.floats(0.02, 0.45),
        "position_share": st.floats(0.3, 0.7),
        "front_radius": st.floats(0.2, 0.4),
        "rear_radius": st.floats(0.2, 0.4),
    }
)


def only(names: tuple[str, ...], of: dict[str, Any] | None = None, **change: Any) -> dict[str, Any]:
    return {name: ((of or BIKE) | change)[name] for name in names}


def allowed(base: float, ahead: np.ndarray, asked: dict[str, Any]) -> np.ndarray:
    """Whether each position meets every requirement, by the functions that the requirements come from."""
    h = asked["cg_height"]
    behind = base - ahead
    return (
        (wheelie_grade(ahead, cg_height=h) >= asked["climb_grade"])
        & (lift_off_deceleration(behind, h) >= asked["deceleration"])
        & (ahead / base >= asked["front_share_min"])
        & (ahead / base <= asked["front_share_max"])
    )


def crest(base: float, of: dict[str, Any]) -> float:
    """Break-over angle at a wheelbase; no angle at all where the lowest point lies inside a wheel."""
    try:
        return float(
            breakover_angle(
                of["clearance"],
                position=of["position_share"] * base,
                wheelbase=base,
                front_radius=of["front_radius"],
                rear_radius=of["rear_radius"],
            )
        )
    except DomainError:
        return -1.0


@given(st.floats(0.6, 2.0), demands)
def test_the_interval_holds_exactly_the_positions_that_meet_every_requirement(
    base: float, asked: dict[str, Any]
) -> None:
    low, high = (float(end) for end in cg_interval(base, **asked))
    grid = np.linspace(0.0, base, 402)[1:-1]
    # Closer to an end than rounding error both answers are right.
    grid = grid[(np.abs(grid - low) > 1e-9) & (np.abs(grid - high) > 1e-9)]
    assert np.array_equal(allowed(base, grid, asked), (grid > low) & (grid < high))


@given(demands)
def test_the_least_wheelbase_is_where_the_interval_opens(asked: dict[str, Any]) -> None:
    least, _ = least_wheelbase(**asked, front_radius=0.05, rear_radius=0.05)
    assume(float(least) > 0.11)
    below, above = (cg_interval(float(least) * factor, **asked) for factor in (1.0 - 1e-6, 1.0 + 1e-6))
    assert below[0] > below[1]
    assert above[0] < above[1]


@given(crests)
def test_the_largest_wheelbase_is_the_last_one_of_an_enumeration_that_clears_the_crest(of: dict[str, Any]) -> None:
    largest = float(largest_wheelbase(**of))
    bases = np.linspace(0.05, 8.0, 160)
    bases = bases[np.abs(bases - largest) > 1e-6]
    clears = np.array([crest(float(base), of) for base in bases]) >= of["breakover_angle"]
    assert not clears[bases > largest].any()
    if largest > 0.0:
        assert crest(largest * (1.0 - 1e-7), of) >= of["breakover_angle"]
        assert crest(largest * (1.0 + 1e-7), of) < of["breakover_angle"]


@given(st.floats(0.05, 1.4), st.floats(0.02, 0.4), st.floats(0.2, 0.4))
def test_between_equal_wheels_each_ramp_takes_half_the_crest(angle: float, clearance: float, radius: float) -> None:
    half = 0.5 * angle
    assume(np.cos(half) > 1.0 - clearance / radius + 1e-9)
    expected = 2.0 * (radius * np.tan(0.5 * half) + clearance / np.tan(half))
    got = largest_wheelbase(angle, clearance=clearance, front_radius=radius, rear_radius=radius)
    assert float(got) == pytest.approx(expected, rel=1e-12)


def test_flat_ground_sets_no_largest_wheelbase_and_a_belly_on_the_ground_clears_no_crest() -> None:
    flat = largest_wheelbase(0.0, clearance=[0.3, 0.0], front_radius=0.3, rear_radius=0.3)
    assert np.isinf(flat).all()
    assert float(largest_wheelbase(0.5, clearance=0.0, front_radius=0.3, rear_radius=0.3)) == 0.0


def test_a_crest_too_sharp_for_any_wheelbase_gives_none() -> None:
    # With 2 cm under a 30 cm wheel the steepest ramp is acos(1 - 1/15), 21 degrees on either side.
    steepest = 2.0 * np.arccos(1.0 - 0.02 / 0.30)
    angles = [0.99 * steepest, 1.01 * steepest]
    found = largest_wheelbase(angles, clearance=0.02, front_radius=0.30, rear_radius=0.30)
    assert found[0] > 0.0
    assert found[1] == 0.0


@given(crests, st.sampled_from([("clearance", 1.0), ("breakover_angle", -1.0)]), st.floats(1.001, 1.05))
def test_the_largest_wheelbase_rises_with_clearance_and_falls_with_the_angle(
    of: dict[str, Any], change: tuple[str, float], factor: float
) -> None:
    name, sign = change
    more = float(largest_wheelbase(**(of | {name: of[name] * factor})))
    base = float(largest_wheelbase(**of))
    assert sign * (more - base) >= 0.0
    assert more != base or base == 0.0


@given(crests, st.sampled_from(["front_radius", "rear_radius"]), st.floats(1.001, 1.2))
def test_larger_wheels_allow_a_longer_wheelbase_unless_the_point_then_lies_inside_them(
    of: dict[str, Any], name: str, factor: float
) -> None:
    more = float(largest_wheelbase(**(of | {name: of[name] * factor})))
    assert more == 0.0 or more > float(largest_wheelbase(**of))


RISES = {"cg_height": 1, "climb_grade": 1, "deceleration": 1, "front_share_min": 1, "front_share_max": -1}


@given(demands, st.sampled_from(sorted(RISES)), st.floats(1.001, 1.01))
def test_every_sharper_requirement_asks_for_at_least_as_much_wheelbase(
    asked: dict[str, Any], name: str, factor: float
) -> None:
    wheels = {"front_radius": 0.3, "rear_radius": 0.3, "wheel_gap": 0.1}
    changed = asked | {name: min(asked[name] * factor, 1.0) if "share" in name else asked[name] * factor}
    more, base = (float(least_wheelbase(**a, **wheels)[0]) for a in (changed, asked))
    assert RISES[name] * (more - base) >= 0.0


@given(demands, st.sampled_from(sorted(RISES)), st.floats(1.001, 1.01))
def test_every_sharper_requirement_narrows_the_interval(asked: dict[str, Any], name: str, factor: float) -> None:
    changed = asked | {name: min(asked[name] * factor, 1.0) if "share" in name else asked[name] * factor}
    (low, high), (base_low, base_high) = (cg_interval(1.4, **a) for a in (changed, asked))
    if RISES[name] > 0:
        assert low >= base_low
        assert high <= base_high
    else:
        assert high >= base_high


@given(demands, crests, st.floats(0.1, 2.0))
def test_a_scale_model_has_the_scaled_window(asked: dict[str, Any], of: dict[str, Any], scale: float) -> None:
    lengths = ("cg_height", "front_radius", "rear_radius", "clearance", "wheel_gap")
    full = asked | of | {"wheel_gap": 0.1}
    model = {name: value * scale if name in lengths else value for name, value in full.items()}
    one, other = chassis_window(1.3, **full), chassis_window(1.3 * scale, **model)
    for name in ("low", "high", "least_wheelbase", "largest_wheelbase"):
        assert float(getattr(other, name)) == pytest.approx(scale * float(getattr(one, name)), rel=1e-9), name


def test_the_window_is_open_between_its_least_and_its_largest_wheelbase_only() -> None:
    bases = np.linspace(0.6, 2.0, 1401)
    window = chassis_window(bases, **BIKE)
    expected = [
        bool(
            allowed(base, np.linspace(1e-3, base - 1e-3, 2000), BIKE).any()
            and base >= BIKE["front_radius"] + BIKE["rear_radius"] + BIKE["wheel_gap"]
            and crest(base, BIKE) >= BIKE["breakover_angle"]
        )
        for base in bases
    ]
    # The enumeration sees no interval narrower than its step of a millimetre.
    disagree = bases[window.open != np.array(expected)]
    assert np.all(np.abs(disagree - float(window.least_wheelbase[0])) < 2e-3)
    assert window.open.any()
    assert not window.open.all()


CASES: list[tuple[str, str, float, dict[str, Any]]] = [
    ("low_set_by", LOW_ENDS[0], 1.3, {"climb_grade": 1.0, "front_share_min": 0.1}),
    ("low_set_by", LOW_ENDS[1], 1.3, {"climb_grade": 0.1, "front_share_min": 0.4}),
    ("high_set_by", HIGH_ENDS[0], 1.3, {"deceleration": 9.0, "front_share_max": 1.0}),
    ("high_set_by", HIGH_ENDS[1], 1.3, {"deceleration": 1.0, "front_share_max": 0.5}),
    ("least_set_by", LEAST_WHEELBASES[0], 1.3, {"climb_grade": 1.0, "front_share_min": 0.0, "front_share_max": 1.0}),
    ("least_set_by", LEAST_WHEELBASES[1], 1.3, {"climb_grade": 1.0, "deceleration": 1.0, "front_share_max": 0.5}),
    ("least_set_by", LEAST_WHEELBASES[2], 1.3, {"climb_grade": 0.1, "deceleration": 9.0, "front_share_min": 0.5}),
    ("least_set_by", LEAST_WHEELBASES[3], 1.3, {"climb_grade": 0.1, "deceleration": 1.0, "wheel_gap": 0.5}),
]


@pytest.mark.parametrize(("end", "name", "base", "change"), CASES, ids=[f"{c[0]}: {c[1]}" for c in CASES])
def test_each_end_names_the_requirement_that_sets_it(end: str, name: str, base: float, change: dict[str, Any]) -> None:
    assert str(getattr(chassis_window(base, **(BIKE | change)), end)) == name


def test_the_window_broadcasts_over_packages() -> None:
    radii = np.array([0.30, 0.32, 0.34])
    window = chassis_window(np.array([[1.2], [1.3]]), **(BIKE | {"front_radius": radii, "rear_radius": radii}))
    for value in vars(window).values():
        assert value.shape == (2, 3)


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("cg_height", [0.7, 0.0], r"cg_height at index \(1,\) is 0 m; allowed is above 0 to 5 m \(1 of 2 values\)"),
        ("climb_grade", -0.1, "climb_grade is -0.1 1; allowed is 0 to 10"),
        ("deceleration", float("nan"), "deceleration is nan m/s2; allowed is 0 to 30"),
        ("front_share_min", 0.7, r"front_share_max - front_share_min is -0\.12 1; allowed is 0"),
        ("front_radius", 0.0, "front_radius is 0 m; allowed is above 0 to 2"),
        ("wheel_gap", -0.1, "wheel_gap is -0.1 m; allowed is 0 to 10"),
        ("breakover_angle", 2.0, "breakover_angle is 2 rad; allowed is 0 to 1.57"),
        ("clearance", -0.01, "clearance is -0.01 m; allowed is 0 to 2"),
        ("position_share", 1.0, "1 - position_share is 0 1; allowed is above 0"),
    ],
)
def test_an_argument_outside_its_domain_is_named(name: str, value: object, text: str) -> None:
    with pytest.raises(DomainError, match=text):
        chassis_window(1.3, **(BIKE | {name: value}))


def test_a_wheelbase_outside_its_domain_is_named() -> None:
    with pytest.raises(DomainError, match=r"wheelbase at index \(0, 1\) is -1 m; allowed is above 0 to 10 m"):
        cg_interval([[1.3, -1.0]], **only(INTERVAL))
    assert np.isfinite(largest_wheelbase(**only(CREST)))
