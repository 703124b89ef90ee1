"""Brake torque from the lever, balance of braking, and the form of the regulations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics.brakes import (
    STATUTORY_ROWS,
    annular_pad_force,
    annular_pad_torque,
    brake_torque,
    clamp_force,
    effective_radius_uniform_pressure,
    effective_radius_uniform_wear,
    equivalent_deceleration,
    fixed_share_deceleration,
    front_only_deceleration,
    ideal_front_share,
    lift_off_deceleration,
    line_pressure,
    mean_developed_deceleration,
    pad_force_radius,
    pad_pressure,
    rear_only_deceleration,
    required_clamp_force,
    statutory_row,
    stopping_distance,
)

G = 9.80665
PLAN = {"cg_from_front": 0.65, "cg_height": 0.70, "wheelbase": 1.30}

radii = st.tuples(st.floats(0.05, 0.2), st.floats(0.1, 0.999)).map(lambda p: (p[0], p[0] * p[1]))
plans = st.fixed_dictionaries(
    {"cg_from_front": st.floats(0.3, 1.0), "cg_height": st.floats(0.3, 1.2), "wheelbase": st.floats(1.05, 1.8)}
)
frictions = st.floats(0.05, 1.5)


def test_the_uniform_pressure_radius_is_the_moment_integral_over_the_area() -> None:
    outer, inner = 0.11, 0.07
    moment = quad(lambda r: r * r, inner, outer)[0]
    area = quad(lambda r: r, inner, outer)[0]
    assert float(effective_radius_uniform_pressure(outer, inner)) == pytest.approx(moment / area, rel=1e-12)


def test_the_uniform_wear_radius_is_the_moment_integral_with_pressure_falling_as_one_over_radius() -> None:
    outer, inner = 0.11, 0.07
    moment = quad(lambda r: r * r / r, inner, outer)[0]
    force = quad(lambda r: r / r, inner, outer)[0]
    assert float(effective_radius_uniform_wear(outer, inner)) == pytest.approx(moment / force, rel=1e-12)


@given(radii)
def test_the_uniform_pressure_radius_lies_between_the_wear_radius_and_the_edge(ring: tuple[float, float]) -> None:
    outer, inner = ring
    wear = float(effective_radius_uniform_wear(outer, inner))
    pressure = float(effective_radius_uniform_pressure(outer, inner))
    assert wear <= pressure * (1.0 + 1e-12)
    assert pressure <= outer


def test_both_radii_meet_the_edge_where_the_track_has_no_height() -> None:
    assert float(effective_radius_uniform_pressure(0.1, 0.1)) == pytest.approx(0.1, rel=1e-14)
    assert float(effective_radius_uniform_wear(0.1, 0.1)) == pytest.approx(0.1, rel=1e-14)


@pytest.mark.parametrize(
    ("diameter", "wear", "pressure"), [(0.200, 92.50, 92.70), (0.250, 117.50, 117.66)], ids=["200 mm", "250 mm"]
)
def test_on_a_narrow_track_the_choice_of_definition_hardly_matters(
    diameter: float, wear: float, pressure: float
) -> None:
    outer, inner = 0.5 * diameter, 0.5 * diameter - 0.015
    assert float(effective_radius_uniform_wear(outer, inner)) * 1e3 == pytest.approx(wear, abs=0.005)
    assert float(effective_radius_uniform_pressure(outer, inner)) * 1e3 == pytest.approx(pressure, abs=0.005)


def test_the_chain_from_hand_to_deceleration_gives_the_hand_calculation() -> None:
    # 100 N, 6:1, 11 mm master, one 25 mm piston a side, friction 0.40, 92.5 mm, wheel radius 0.30 m, 190 kg.
    pressure = line_pressure(100.0, lever_ratio=6.0, master_diameter=0.011)
    clamp = clamp_force(pressure, piston_diameter=0.025, pistons_per_side=1)
    torque = brake_torque(0.40, clamp_force=clamp, effective_radius=0.0925)
    assert float(pressure) / 1e6 == pytest.approx(6.314, abs=5e-4)
    assert float(clamp) == pytest.approx(3099.0, abs=0.5)
    assert float(torque) == pytest.approx(229.3, abs=0.05)
    assert float(torque) / 0.30 / 190.0 == pytest.approx(4.02, abs=0.005)
    assert float(pad_pressure(clamp, pad_area=0.040 * 0.015)) / 1e6 == pytest.approx(5.17, abs=0.005)


def test_the_clamp_force_for_the_motorcycle_front_requirement_gives_the_hand_calculation() -> None:
    clamp = float(required_clamp_force(4.4 * 190.0 * 0.30, friction=0.40, effective_radius=0.0925))
    assert clamp == pytest.approx(3389.0, abs=0.5)
    larger = float(brake_torque(0.40, clamp_force=clamp, effective_radius=0.1175))
    assert larger == pytest.approx(318.6, abs=0.05)


@given(st.floats(0.1, 1.0), st.floats(10.0, 1e4), st.floats(0.03, 0.2))
def test_the_required_clamp_force_inverts_the_torque(friction: float, clamp: float, radius: float) -> None:
    torque = brake_torque(friction, clamp_force=clamp, effective_radius=radius)
    assert float(required_clamp_force(torque, friction=friction, effective_radius=radius)) == pytest.approx(clamp)


def test_only_the_pistons_of_one_side_count_and_a_force_passes_the_piston_areas_unchanged() -> None:
    pressure = line_pressure(1.0, lever_ratio=1.0, master_diameter=0.02)
    assert float(clamp_force(pressure, piston_diameter=0.02, pistons_per_side=1)) == pytest.approx(1.0, rel=1e-14)
    assert float(clamp_force(pressure, piston_diameter=0.02, pistons_per_side=2)) == pytest.approx(2.0, rel=1e-14)


def test_annular_pad_force_and_torque_are_the_pressure_integrals() -> None:
    outer, inner, angle, peak, mu = 0.10, 0.06, 1.2, 2e6, 0.4
    force = quad(lambda r: angle * peak * inner / r * r, inner, outer)[0]
    torque = quad(lambda r: mu * angle * peak * inner / r * r * r, inner, outer)[0]
    assert float(annular_pad_force(peak, outer=outer, inner=inner, angle=angle)) == pytest.approx(force, rel=1e-12)
    moment = annular_pad_torque(mu, peak_pressure=peak, outer=outer, inner=inner, angle=angle)
    assert float(moment) == pytest.approx(torque, rel=1e-12)


def test_the_pressing_radius_meets_the_effective_radius_for_a_narrow_pad_and_vanishes_for_a_ring() -> None:
    assert float(pad_force_radius(0.09, angle=1e-4)) == pytest.approx(0.09, rel=1e-8)
    assert float(pad_force_radius(0.09, angle=2.0 * np.pi)) == pytest.approx(0.0, abs=1e-16)


@given(plans, frictions)
def test_the_ideal_share_uses_all_the_grip_and_no_other_share_does_better(plan: dict[str, float], mu: float) -> None:
    share = float(ideal_front_share(mu * G, **plan))
    ideal = min(mu * G, float(lift_off_deceleration(plan["cg_from_front"], plan["cg_height"])))
    assert float(fixed_share_deceleration(mu, front_share=share, **plan)) == pytest.approx(ideal, rel=1e-9)
    others = fixed_share_deceleration(mu, front_share=np.linspace(0.0, 1.0, 21), **plan)
    assert np.all(others <= mu * G * (1.0 + 1e-9))


@given(plans, frictions, st.floats(0.0, 1.0))
def test_at_the_limit_one_wheel_uses_its_grip_and_none_more(plan: dict[str, float], mu: float, share: float) -> None:
    a = float(fixed_share_deceleration(mu, front_share=share, **plan)) / G
    rear_static = plan["cg_from_front"] / plan["wheelbase"]
    shift = plan["cg_height"] / plan["wheelbase"] * a
    front_room = mu * (1.0 - rear_static + shift) - share * a
    rear_room = mu * (rear_static - shift) - (1.0 - share) * a
    assert front_room >= -1e-9
    assert rear_room >= -1e-9
    assert min(front_room, rear_room) == pytest.approx(0.0, abs=1e-9)


@given(plans, frictions, st.floats(0.001, 0.5))
def test_more_grip_never_means_less_deceleration(plan: dict[str, float], mu: float, more: float) -> None:
    for law in (front_only_deceleration, rear_only_deceleration):
        assert law(mu + more, **plan) >= law(mu, **plan) * (1.0 - 1e-12)


def test_front_braking_turns_into_lift_off_without_a_jump() -> None:
    switch = PLAN["cg_from_front"] / PLAN["cg_height"]
    below = float(front_only_deceleration(switch - 1e-9, **PLAN))
    limit = float(lift_off_deceleration(PLAN["cg_from_front"], PLAN["cg_height"]))
    assert below == pytest.approx(limit, rel=1e-8)
    assert float(front_only_deceleration(2.9, **PLAN)) == pytest.approx(limit, rel=1e-12)


@pytest.mark.parametrize(
    ("mu", "front", "rear"), [(0.3, 0.179, 0.129), (0.5, 0.342, 0.197), (0.7, 0.562, 0.254), (0.9, 0.873, 0.303)]
)
def test_single_brakes_reach_the_hand_calculated_deceleration(mu: float, front: float, rear: float) -> None:
    assert float(front_only_deceleration(mu, **PLAN)) / G == pytest.approx(front, abs=5e-4)
    assert float(rear_only_deceleration(mu, **PLAN)) / G == pytest.approx(rear, abs=5e-4)


@pytest.mark.parametrize(("a", "share"), [(0.3, 0.662), (0.5, 0.769), (0.6, 0.823), (0.8, 0.931)])
def test_the_ideal_front_share_rises_with_deceleration_as_calculated_by_hand(a: float, share: float) -> None:
    assert float(ideal_front_share(a * G, **PLAN)) == pytest.approx(share, abs=5e-4)


def test_without_grip_nothing_decelerates_whatever_the_share() -> None:
    assert np.all(fixed_share_deceleration(0.0, front_share=[0.0, 0.5, 1.0], **PLAN) == 0.0)


@given(st.floats(1.0, 40.0), st.floats(0.5, 10.0))
def test_the_distance_of_a_constant_deceleration_follows_from_its_coefficient(speed: float, a: float) -> None:
    distance = float(stopping_distance(speed, coefficient=1.0 / (25.92 * a), reaction=0.0))
    assert distance == pytest.approx(speed * speed / (2.0 * a), rel=1e-12)
    back = mean_developed_deceleration(begin_speed=speed, end_speed=0.0, distance=distance)
    assert float(back) == pytest.approx(a, rel=1e-12)
    assert float(equivalent_deceleration(1.0 / (25.92 * a))) == pytest.approx(a, rel=1e-12)


@pytest.mark.parametrize(
    ("speed_kmh", "divisor", "distance"),
    [(40, 90, 21.78), (40, 70, 26.86), (60, 115, 37.30), (60, 75, 54.00), (60, 95, 43.89), (60, 65, 61.38)],
)
def test_stopping_distances_of_the_directive_by_hand(speed_kmh: float, divisor: float, distance: float) -> None:
    assert float(stopping_distance(speed_kmh / 3.6, coefficient=1.0 / divisor)) == pytest.approx(distance, abs=0.005)


def test_there_is_one_statutory_row_for_every_category_and_control() -> None:
    keys = [(row.category, row.control) for row in STATUTORY_ROWS]
    assert sorted(keys) == sorted((f"L{n}", control) for n in range(1, 6) for control in ("front", "rear", "both"))
    assert all(row.source for row in STATUTORY_ROWS)


def test_quadricycles_follow_mopeds_and_tricycles() -> None:
    assert statutory_row("L6", "front") is statutory_row("L2", "front")
    assert statutory_row("L7", "both") is statutory_row("L5", "both")


@pytest.mark.parametrize(("category", "control"), [("M1", "front"), ("L3", "foot")])
def test_an_unknown_category_or_control_is_refused(category: str, control: str) -> None:
    with pytest.raises(DomainError, match="no braking requirement"):
        statutory_row(category, control)


def test_an_inner_radius_beyond_the_outer_one_is_refused_with_index() -> None:
    with pytest.raises(DomainError, match=r"outer - inner at index \(1,\) is -0.01 m"):
        effective_radius_uniform_wear([0.1, 0.1], [0.09, 0.11])


def test_a_centre_of_gravity_behind_the_rear_wheel_is_refused() -> None:
    with pytest.raises(DomainError, match=r"cg_from_front/wheelbase is 1.2 1"):
        front_only_deceleration(0.5, cg_from_front=1.2, cg_height=0.7, wheelbase=1.0)


@pytest.mark.parametrize("friction", [float("nan"), -0.1, 3.5])
def test_an_impossible_pad_friction_is_refused(friction: float) -> None:
    with pytest.raises(DomainError, match=r"friction is .* 1; allowed is 0 to 3"):
        brake_torque(friction, clamp_force=1.0, effective_radius=0.1)


def test_a_stop_that_ends_faster_than_it_began_is_refused() -> None:
    with pytest.raises(DomainError, match=r"begin_speed - end_speed is -1 m/s"):
        mean_developed_deceleration(begin_speed=10.0, end_speed=11.0, distance=5.0)
