"""Trail, attitude, clearance, tip-over limits, steering at a standstill."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics.brakes import lift_off_deceleration
from configopt.physics.chassis import (
    breakover_angle,
    gough_steering_moment,
    ground_clearance,
    lateral_stability_coefficient,
    pitch_from_radii,
    side_slope_limit,
    standstill_steering_moment,
    stoppie_grade,
    trail,
    wheelie_grade,
)


@given(st.floats(0.2, 0.4), st.floats(0.1, 0.6), st.floats(0.0, 0.1))
def test_trail_is_where_the_steering_axis_meets_the_ground(radius: float, caster: float, offset: float) -> None:
    # Axle at (0, R), forward +x.  The axis leans back by the caster angle and passes the axle at the offset behind it.
    direction = np.array([-np.sin(caster), np.cos(caster)])
    point = np.array([0.0, radius]) - offset * np.array([np.cos(caster), np.sin(caster)])
    ground = point - direction * point[1] / direction[1]
    assert float(trail(radius, caster_angle=caster, fork_offset=offset)) == pytest.approx(ground[0], abs=1e-12)


@given(st.floats(0.2, 0.35), st.floats(0.001, 0.05), st.floats(0.1, 0.6))
def test_a_larger_front_wheel_means_more_trail(radius: float, more: float, caster: float) -> None:
    grown, base = (trail(r, caster_angle=caster, fork_offset=0.04) for r in (radius + more, radius))
    assert float(grown - base) == pytest.approx(more * np.tan(caster), rel=1e-6)


def test_an_upright_fork_trails_by_minus_its_offset() -> None:
    assert float(trail(0.3, caster_angle=0.0, fork_offset=0.05)) == pytest.approx(-0.05, rel=1e-14)


def test_the_nose_rises_with_the_larger_front_wheel_and_falls_with_the_larger_rear() -> None:
    assert float(pitch_from_radii(0.31, 0.30, 1.2)) == pytest.approx(np.arcsin(0.01 / 1.2), rel=1e-12)
    assert float(pitch_from_radii(0.30, 0.31, 1.2)) == pytest.approx(-np.arcsin(0.01 / 1.2), rel=1e-12)
    assert float(pitch_from_radii(0.30, 0.30, 1.2)) == 0.0


@given(st.floats(-0.03, 0.03), st.floats(-0.03, 0.03), st.floats(0.0, 1.0))
def test_clearance_moves_with_the_chassis_line(front: float, rear: float, share: float) -> None:
    got = ground_clearance(
        0.25, front_radius_change=front, rear_radius_change=rear, position=share * 1.3, wheelbase=1.3
    )
    assert float(got) == pytest.approx(0.25 + share * front + (1.0 - share) * rear, abs=1e-12)


def test_a_belly_on_the_ground_clears_no_crest() -> None:
    angle = breakover_angle(0.0, position=0.6, wheelbase=1.2, front_radius=0.3, rear_radius=0.3)
    assert float(angle) == pytest.approx(0.0, abs=1e-15)


def test_on_the_ramps_of_the_breakover_angle_both_wheels_touch() -> None:
    c, x, base, rf, rr = 0.25, 0.55, 1.3, 0.33, 0.29
    total = float(breakover_angle(c, position=x, wheelbase=base, front_radius=rf, rear_radius=rr))
    sides = []
    for reach, radius in ((x, rr), (base - x, rf)):
        # Steepest line through the belly point that stays below the wheel, found by trying.
        slopes = np.linspace(0.0, 0.8, 80001)
        # Distance of the axle, at height R, from a line falling by the slope from (0, c).
        distance = (radius - c) * np.cos(slopes) + reach * np.sin(slopes)
        sides.append(slopes[np.argmax(distance >= radius)])
    assert total == pytest.approx(sum(sides), abs=3e-5)


@given(st.floats(0.05, 0.25), st.floats(0.001, 0.03))
def test_more_clearance_clears_a_sharper_crest(clearance: float, more: float) -> None:
    geometry = {"position": 0.6, "wheelbase": 1.2, "front_radius": 0.3, "rear_radius": 0.3}
    assert breakover_angle(clearance + more, **geometry) > breakover_angle(clearance, **geometry)


def test_grades_of_tip_over_are_distance_over_height() -> None:
    # Centre of gravity 0.70 m ahead of the rear axle of 1.45 m, 0.75 m high.
    assert float(wheelie_grade(0.70, cg_height=0.75)) == pytest.approx(0.933, abs=5e-4)
    assert np.degrees(np.arctan(float(wheelie_grade(0.70, cg_height=0.75)))) == pytest.approx(43.0, abs=0.05)
    assert float(stoppie_grade(0.75, cg_height=0.75)) == 1.0


@given(st.floats(0.3, 1.2), st.floats(0.3, 1.2))
def test_the_stoppie_grade_is_the_lift_off_deceleration_in_g(ahead: float, height: float) -> None:
    g = float(lift_off_deceleration(ahead, height)) / 9.80665
    assert float(stoppie_grade(ahead, cg_height=height)) == pytest.approx(g, rel=1e-12)


@given(st.floats(0.5, 1.2), st.floats(0.3, 0.9), st.floats(0.0, 1.0))
def test_equal_tracks_make_the_lateral_coefficient_the_side_slope(track: float, height: float, share: float) -> None:
    coefficient = lateral_stability_coefficient(
        front_track=track, rear_track=track, cg_from_rear=share * 1.2, wheelbase=1.2, cg_height=height
    )
    assert float(coefficient) == pytest.approx(float(side_slope_limit(track, cg_height=height)), rel=1e-12)


def test_the_track_under_the_centre_of_gravity_counts() -> None:
    over = {"front_track": 0.8, "rear_track": 1.0, "wheelbase": 1.2, "cg_height": 0.5}
    assert float(lateral_stability_coefficient(cg_from_rear=0.0, **over)) == pytest.approx(1.0, rel=1e-12)
    assert float(lateral_stability_coefficient(cg_from_rear=1.2, **over)) == pytest.approx(0.8, rel=1e-12)


def test_steering_a_standing_tire_is_the_friction_moment_of_a_round_patch() -> None:
    # Pressure 1/A on a disc of area A = 1: the moment is the integral of friction times radius.
    radius = 1.0 / np.sqrt(np.pi)
    expected = quad(lambda r: 2.0 * np.pi * r * r, 0.0, radius)[0]
    assert float(standstill_steering_moment(1.0, friction=1.0, patch_area=1.0)) == pytest.approx(expected, abs=5e-4)


@given(st.floats(200.0, 4000.0), st.floats(2e4, 3e5), st.floats(0.2, 1.2))
def test_the_two_steering_formulas_agree_within_an_eighth_where_the_patch_carries_the_inflation_pressure(
    load: float, pressure: float, friction: float
) -> None:
    patch = standstill_steering_moment(load, friction=friction, patch_area=load / pressure)
    gough = gough_steering_moment(load, friction=friction, pressure=pressure)
    assert float(patch / gough) == pytest.approx(3.0 * 0.376, rel=1e-9)


@given(st.floats(0.05, 0.2), st.floats(1.01, 2.0))
def test_a_larger_patch_steers_heavier(side: float, factor: float) -> None:
    assume(side * factor < 1.0)
    small, large = standstill_steering_moment(900.0, friction=0.8, patch_area=[side**2, (side * factor) ** 2])
    assert large == pytest.approx(factor * small, rel=1e-9)


@pytest.mark.parametrize("caster", [float("nan"), -0.1, 1.5])
def test_an_impossible_caster_is_refused(caster: float) -> None:
    with pytest.raises(DomainError, match=r"caster_angle at index \(1,\) is"):
        trail(0.3, caster_angle=[0.4, caster], fork_offset=0.04)


def test_a_belly_point_ahead_of_the_front_axle_is_refused() -> None:
    with pytest.raises(DomainError, match=r"position/wheelbase is 1.2 1"):
        ground_clearance(0.2, front_radius_change=0.0, rear_radius_change=0.0, position=1.2, wheelbase=1.0)


def test_a_belly_point_inside_a_wheel_is_refused() -> None:
    with pytest.raises(DomainError, match="rear_radius over its distance"):
        breakover_angle(0.2, position=0.1, wheelbase=1.2, front_radius=0.3, rear_radius=0.3)
