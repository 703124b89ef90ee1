"""Side forces, lateral stiffness, bead unseating, profile, stability of quads on new wheels."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad as integral

from configopt.errors import DomainError
from configopt.physics import tire
from configopt.physics.chassis import side_slope_limit
from configopt.physics.handling import (
    available_lateral_friction,
    lateral_stiffness,
    lean_friction,
    pair_remarks,
    profile_ratio,
    profile_remarks,
    quad_stability,
    shifted_track,
    side_slope_friction,
    side_slope_grip_reserve,
    turn_lean_angle,
    unseating_force,
    unseating_slope,
)

TIRE: dict[str, Any] = {"deflection": 0.02, "pressure": 90e3, "rated_pressure": 225e3, "width": 0.09}
QUAD: dict[str, Any] = {
    "front_track": 0.90,
    "rear_track": 0.86,
    "front_shift": 0.0,
    "rear_shift": 0.0,
    "front_radius_change": 0.0,
    "rear_radius_change": 0.0,
    "cg_from_rear": 0.55,
    "wheelbase": 1.25,
    "cg_height": 0.60,
}
angles = st.floats(0.0, 1.3)
frictions = st.floats(0.05, 1.5)
uses = st.floats(0.0, 1.2)


def stiffness(**change: Any) -> float:
    return float(lateral_stiffness(**(TIRE | change)))


@given(st.floats(0.0, 0.04), st.floats(5e3, 3e5), st.floats(1.01, 2.0))
def test_lateral_stiffness_rises_with_pressure_rating_and_width_and_falls_with_deflection(
    deflection: float, pressure: float, factor: float
) -> None:
    base = stiffness(deflection=deflection, pressure=pressure)
    assert stiffness(deflection=deflection, pressure=pressure * factor) > base
    assert stiffness(deflection=deflection, pressure=pressure, rated_pressure=225e3 * factor) > base
    assert stiffness(deflection=deflection, pressure=pressure, width=0.09 * factor) > base
    assert stiffness(deflection=deflection * factor, pressure=pressure) <= base


@given(st.floats(30e3, 2e5), st.floats(1.05, 2.0))
def test_lower_inflation_under_one_load_costs_stiffness_twice(pressure: float, factor: float) -> None:
    casing = {"carcass_pressure": 18e3, "width": 0.09, "diameter": 0.68}
    low, high = (float(tire.deflection(600.0, pressure=p, **casing)) for p in (pressure, pressure * factor))
    assert low > high
    both = stiffness(deflection=low, pressure=pressure) / stiffness(deflection=high, pressure=pressure * factor)
    alone = stiffness(deflection=high, pressure=pressure) / stiffness(deflection=high, pressure=pressure * factor)
    assert both < alone < 1.0


@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_lateral_stiffness_is_a_pressure_times_a_length(force: float, length: float) -> None:
    change = {
        "deflection": 0.02 * length,
        "width": 0.09 * length,
        "pressure": 90e3 * force / length**2,
        "rated_pressure": 225e3 * force / length**2,
    }
    assume(change["rated_pressure"] <= 2e6 and change["width"] <= 2.0)
    assert stiffness(**change) == pytest.approx(force / length * stiffness(), rel=1e-9)


def test_a_tire_without_air_keeps_what_its_casing_gives() -> None:
    assert stiffness(pressure=0.0, deflection=0.0) == pytest.approx(2.0 * 0.09 * 0.24 * 225e3, rel=1e-12)
    assert stiffness(pressure=0.0, rated_pressure=0.0) == 0.0


@given(angles)
def test_a_slope_and_a_lean_of_one_angle_ask_for_the_same_friction(angle: float) -> None:
    assert float(side_slope_friction(angle)) == float(lean_friction(angle)) == pytest.approx(np.tan(angle), rel=1e-12)


@given(st.floats(0.5, 30.0), st.floats(3.0, 200.0), st.floats(1.01, 2.0))
def test_a_faster_or_tighter_turn_leans_further(speed: float, radius: float, factor: float) -> None:
    base = turn_lean_angle(speed, radius=radius)
    assert turn_lean_angle(speed * factor, radius=radius) > base
    assert turn_lean_angle(speed, radius=radius * factor) < base
    # Speed, radius and gravity in other units of time and length give the same angle.
    other = turn_lean_angle(speed * 2.0, radius=radius * 4.0)
    assert float(other) == pytest.approx(float(base), rel=1e-12)


@given(frictions, uses)
def test_what_is_used_and_what_is_left_lie_on_the_ellipse(friction: float, use: float) -> None:
    along = 1.2 * friction
    left = float(available_lateral_friction(friction, longitudinal_use=use, longitudinal_friction=along))
    if use < along:
        assert (left / friction) ** 2 + (use / along) ** 2 == pytest.approx(1.0, rel=1e-12)
    else:
        assert left == 0.0


def test_a_rolling_wheel_has_all_lateral_grip_and_a_locked_one_none() -> None:
    left = available_lateral_friction(0.6, longitudinal_use=[0.0, 0.6, 0.9])
    assert left.tolist() == [0.6, 0.0, 0.0]


def test_ground_without_longitudinal_grip_holds_a_wheel_only_while_nothing_is_asked_along_it() -> None:
    left = available_lateral_friction(0.3, longitudinal_use=[0.0, 0.01], longitudinal_friction=0.0)
    assert left.tolist() == [0.3, 0.0]


@given(frictions, st.floats(0.0, 1.0), uses, st.floats(1.001, 1.3))
def test_the_reserve_rises_with_friction_and_falls_with_slope_and_use(
    friction: float, angle: float, use: float, factor: float
) -> None:
    base = side_slope_grip_reserve(friction, slope_angle=angle, longitudinal_use=use)
    # Where next to nothing is used along the wheel, two results differ by the rounding of a square root only.
    rounding = 4.0 * np.finfo(float).eps * max(friction, 1.0)
    assert side_slope_grip_reserve(friction * factor, slope_angle=angle, longitudinal_use=use) >= base - rounding
    assert side_slope_grip_reserve(friction, slope_angle=angle * factor, longitudinal_use=use) <= base + rounding
    assert side_slope_grip_reserve(friction, slope_angle=angle, longitudinal_use=use * factor) <= base + rounding
    wider = side_slope_grip_reserve(
        friction, slope_angle=angle, longitudinal_use=use, longitudinal_friction=friction * factor
    )
    assert wider >= base - rounding


@given(frictions)
def test_a_rolling_wheel_starts_to_slide_at_the_angle_of_friction(friction: float) -> None:
    assert float(side_slope_grip_reserve(friction, slope_angle=np.arctan(friction))) == pytest.approx(0.0, abs=1e-12)


def test_the_unseating_slope_is_the_share_of_the_inflation_load_between_bead_and_mid_section() -> None:
    area = integral(lambda r: 2.0 * np.pi * r, 0.228, 0.228 + 0.0375)[0]
    assert float(unseating_slope(0.228, section_height=0.075, share=1.0)) == pytest.approx(area, rel=1e-12)
    assert float(unseating_slope(0.228, section_height=0.075)) == pytest.approx(0.5 * area, rel=1e-12)


@given(st.floats(0.1, 0.35), st.floats(0.02, 0.15), st.floats(1.01, 2.0))
def test_the_unseating_slope_rises_in_every_length_and_is_an_area(radius: float, height: float, factor: float) -> None:
    base = float(unseating_slope(radius, section_height=height))
    assert float(unseating_slope(radius * factor, section_height=height)) > base
    assert float(unseating_slope(radius, section_height=height * factor)) > base
    both = float(unseating_slope(radius * factor, section_height=height * factor))
    assert both == pytest.approx(factor**2 * base, rel=1e-12)


@given(st.floats(0.0, 4e5), st.floats(0.0, 4e5), st.floats(0.0, 5e3), st.floats(1e-3, 0.2))
def test_the_unseating_force_is_linear_in_pressure_from_its_value_without_air(
    p: float, q: float, at_zero: float, slope: float
) -> None:
    fit = {"at_zero": at_zero, "slope": slope}
    one, other, both = (float(unseating_force(x, **fit)) for x in (p, q, p + q))
    assert both == pytest.approx(one + other - at_zero, rel=1e-9, abs=1e-6)
    assert float(unseating_force(0.0, **fit)) == at_zero


@given(st.floats(0.02, 0.1), st.floats(0.05, 0.2), st.floats(1.01, 2.0))
def test_the_profile_ratio_rises_with_the_rim_and_falls_with_the_section(rim: float, width: float, f: float) -> None:
    base = float(profile_ratio(rim, section_width=width))
    assert float(profile_ratio(rim * f, section_width=width)) > base
    assert float(profile_ratio(rim, section_width=width * f)) < base
    assert float(profile_ratio(rim * f, section_width=width * f)) == pytest.approx(base, rel=1e-12)


@pytest.mark.parametrize(
    ("rim", "width", "quad", "narrow", "wide"),
    [
        (0.0406, 0.080, False, False, False),
        (0.0406, 0.110, False, True, False),
        (0.0762, 0.090, False, False, True),
        (0.1397, 0.178, True, False, False),
        (0.1397, 0.178, False, False, True),
        (0.1016, 0.178, True, True, False),
    ],
)
def test_a_profile_outside_the_usual_range_is_remarked(
    rim: float, width: float, quad: bool, narrow: bool, wide: bool
) -> None:
    found = profile_remarks(rim, section_width=width, quad=quad)
    assert [bool(holds) for holds in found.values()] == [narrow, wide]


def test_a_front_tire_out_of_proportion_to_the_rear_is_remarked() -> None:
    # Usual pairs, front tires at both ends, a very narrow front, a front wider than the rear.
    found = pair_remarks([0.080, 0.080, 0.060, 0.110], rear_width=[0.110, 0.080, 0.140, 0.100])
    assert [holds.tolist() for holds in found.values()] == [
        [False, False, True, False],
        [False, False, False, True],
    ]


@given(st.floats(0.5, 1.5), st.floats(-0.1, 0.2))
def test_both_wheels_move_the_track(track: float, shift: float) -> None:
    assert float(shifted_track(track, outward_shift=shift)) == pytest.approx(track + 2.0 * shift, rel=1e-12)


def test_unchanged_wheels_and_equal_tracks_give_the_rigid_side_slope_limit() -> None:
    got = quad_stability(**(QUAD | {"rear_track": 0.90}))
    assert float(got) == pytest.approx(float(side_slope_limit(0.90, cg_height=0.60)), rel=1e-12)


@pytest.mark.parametrize("end", ["front", "rear"])
@given(st.floats(0.001, 0.1))
def test_wheels_further_out_make_a_quad_stabler_and_taller_ones_less_so(end: str, more: float) -> None:
    base = float(quad_stability(**QUAD))
    assert float(quad_stability(**(QUAD | {f"{end}_shift": more}))) > base
    assert float(quad_stability(**(QUAD | {f"{end}_radius_change": more}))) < base


def test_taller_wheels_all_round_raise_the_centre_of_gravity_by_as_much() -> None:
    raised = quad_stability(**(QUAD | {"front_radius_change": 0.03, "rear_radius_change": 0.03}))
    assert float(raised) == pytest.approx(float(quad_stability(**(QUAD | {"cg_height": 0.63}))), rel=1e-12)


@given(st.floats(0.2, 3.0))
def test_a_scale_model_of_a_quad_is_as_stable(scale: float) -> None:
    model = {name: value * scale for name, value in (QUAD | {"front_shift": 0.02, "rear_radius_change": 0.01}).items()}
    base = quad_stability(**(QUAD | {"front_shift": 0.02, "rear_radius_change": 0.01}))
    assert float(quad_stability(**model)) == pytest.approx(float(base), rel=1e-12)


@pytest.mark.parametrize(
    ("function", "arguments", "text"),
    [
        (
            lateral_stiffness,
            TIRE | {"deflection": [0.02, 0.1]},
            r"deflection/width at index \(1,\) is 1.11111 1; .* 0 to 1",
        ),
        (lateral_stiffness, TIRE | {"pressure": -1.0}, "pressure is -1 Pa; allowed is 0 to 2e"),
        (lateral_stiffness, TIRE | {"width": 0.0}, "width is 0 m; allowed is above 0 to 2 m"),
        (side_slope_friction, {"slope_angle": 1.5}, "slope_angle is 1.5 rad; allowed is 0 to 1.39626"),
        (lean_friction, {"lean_angle": float("nan")}, "lean_angle is nan rad"),
        (turn_lean_angle, {"speed": 5.0, "radius": 0.0}, "radius is 0 m; allowed is above 0"),
        (available_lateral_friction, {"friction": [0.5, 4.0]}, r"friction at index \(1,\) is 4 1; allowed is 0 to 3 1"),
        (
            side_slope_grip_reserve,
            {"friction": 0.5, "slope_angle": 0.1, "longitudinal_use": -0.1},
            "longitudinal_use is -0.1 1; allowed is 0 to 10",
        ),
        (unseating_force, {"pressure": -1.0, "at_zero": 0.0, "slope": 0.03}, "pressure is -1 Pa"),
        (unseating_force, {"pressure": 1e5, "at_zero": -1.0, "slope": 0.03}, "at_zero is -1 N; allowed is 0"),
        (
            unseating_slope,
            {"bead_radius": 0.2, "section_height": 0.07, "share": 1.2},
            "share is 1.2 1; allowed is 0 to 1",
        ),
        (profile_ratio, {"rim_width": 0.05, "section_width": 0.0}, "section_width is 0 m; allowed is above 0"),
        (pair_remarks, {"front_width": -0.1, "rear_width": 0.1}, "front_width is -0.1 m; allowed is above 0"),
        (shifted_track, {"track": 0.8, "outward_shift": -0.4}, r"track \+ 2 outward_shift is 0 m; allowed is above 0"),
        (quad_stability, QUAD | {"cg_from_rear": 1.3}, "cg_from_rear/wheelbase is 1.04 1; allowed is 0 to 1"),
        (
            quad_stability,
            QUAD | {"front_radius_change": -1.0, "rear_radius_change": -1.0},
            "cg_height with the new radii is -0.4 m; allowed is above 0",
        ),
    ],
)
def test_an_argument_outside_its_domain_is_named(function: Any, arguments: dict[str, Any], text: str) -> None:
    with pytest.raises(DomainError, match=text):
        function(**arguments)
