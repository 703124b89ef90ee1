"""Spoke geometry and tension, against coordinates in space and equilibrium."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.spokes import (
    bracing_angle,
    crossing_angle,
    effective_spoke_diameter,
    spoke_extension,
    spoke_length,
    spoke_mass,
    spoke_rigidity,
    spoke_tension,
    tension_ratio,
    torque_arm,
    torque_tension_change,
)

wheels = st.fixed_dictionaries(
    {
        "flange_radius": st.floats(0.02, 0.07),
        "rim_radius": st.floats(0.15, 0.32),
        "crossings": st.integers(0, 4),
        "spokes_per_side": st.sampled_from([12, 14, 16, 18, 20]),
    }
)


@given(wheels, st.floats(0.0, 0.06))
def test_the_length_is_the_distance_between_the_holes_in_space(wheel: dict[str, float], offset: float) -> None:
    angle = 2.0 * np.pi * wheel["crossings"] / wheel["spokes_per_side"]
    hub = np.array([wheel["flange_radius"], 0.0, offset])
    rim = np.array([wheel["rim_radius"] * np.cos(angle), wheel["rim_radius"] * np.sin(angle), 0.0])
    assert float(spoke_length(offset, **wheel)) == pytest.approx(np.linalg.norm(rim - hub), rel=1e-12)


@given(wheels)
def test_the_torque_arm_is_the_distance_of_the_spoke_line_from_the_axle(wheel: dict[str, float]) -> None:
    angle = 2.0 * np.pi * wheel["crossings"] / wheel["spokes_per_side"]
    hub = np.array([wheel["flange_radius"], 0.0])
    along = wheel["rim_radius"] * np.array([np.cos(angle), np.sin(angle)]) - hub
    expected = abs(hub[0] * along[1] - hub[1] * along[0]) / np.linalg.norm(along)
    assert float(torque_arm(**wheel)) == pytest.approx(expected, rel=1e-9, abs=1e-15)
    assert float(torque_arm(**wheel)) <= wheel["flange_radius"] * (1.0 + 1e-12)


def test_radial_spokes_have_no_torque_arm_and_tangential_ones_the_flange_radius() -> None:
    arms = torque_arm(0.05, rim_radius=0.25, crossings=[0, 18 * np.arccos(0.2) / (2 * np.pi)], spokes_per_side=18)
    np.testing.assert_allclose(arms, [0.0, 0.05], atol=1e-15)


@pytest.mark.parametrize(("spokes", "crossings", "degrees"), [(18, 3, 60.0), (16, 3, 67.5), (18, 0, 0.0)])
def test_the_crossing_angle_is_the_share_of_the_circle(spokes: int, crossings: int, degrees: float) -> None:
    assert np.degrees(float(crossing_angle(crossings, spokes_per_side=spokes))) == pytest.approx(degrees, rel=1e-14)


def test_the_hole_in_the_flange_shortens_the_spoke_by_its_radius() -> None:
    wheel = {"flange_radius": 0.03, "rim_radius": 0.3, "crossings": 3, "spokes_per_side": 18}
    shorter = spoke_length(0.03, spoke_hole_radius=1.3e-3, **wheel)
    assert float(spoke_length(0.03, **wheel) - shorter) == pytest.approx(1.3e-3, rel=1e-9)


def test_the_bracing_angle_has_the_sine_of_offset_over_length() -> None:
    assert np.degrees(float(bracing_angle(0.14, length=0.28))) == pytest.approx(30.0, rel=1e-12)
    assert float(bracing_angle(0.0, length=0.28)) == 0.0


@pytest.mark.parametrize(("left", "right", "ratio"), [(0.020, 0.040, 2.0), (0.030, 0.030, 1.0)])
def test_the_near_flange_has_the_tighter_spokes(left: float, right: float, ratio: float) -> None:
    # Common practice: a 60 mm flange spacing split 20/40 has twice the tension on the near side, split evenly the same.
    got = tension_ratio(left_offset=left, right_offset=right, left_length=0.28, right_length=0.28)
    assert float(got) == pytest.approx(ratio, rel=1e-12)


@given(st.floats(0.01, 0.06), st.floats(0.01, 0.06), st.floats(0.2, 0.3), st.floats(0.2, 0.3))
def test_at_the_tension_ratio_the_sideways_pulls_balance(ol: float, o_r: float, ll: float, lr: float) -> None:
    ratio = tension_ratio(left_offset=ol, right_offset=o_r, left_length=ll, right_length=lr)
    left = ratio * np.sin(bracing_angle(ol, length=ll))
    right = np.sin(bracing_angle(o_r, length=lr))
    assert float(left) == pytest.approx(float(right), rel=1e-12)


def test_driving_both_flanges_halves_the_tension_change() -> None:
    one, both = torque_tension_change(200.0, spokes=[18, 36], flange_radius=0.04)
    assert both == pytest.approx(0.5 * one, rel=1e-14)
    assert float(both * 36 * 0.04) == pytest.approx(200.0, rel=1e-14)


@given(st.floats(1.8e-3, 3.5e-3), st.floats(0.6, 1.0), st.floats(0.0, 1.0))
def test_the_effective_spoke_stretches_like_its_three_parts(ends: float, thinner: float, share: float) -> None:
    length, middle = 0.28, thinner * ends
    even = effective_spoke_diameter(ends, middle_diameter=middle, length=length, middle_length=share * length)
    stretch = spoke_extension(900.0, length=length, diameter=even)
    parts = 0.0
    for part, diameter in (((1.0 - share) * length, ends), (share * length, middle)):
        if part > 0.0:
            parts += float(spoke_extension(900.0, length=part, diameter=diameter))
    assert float(stretch) == pytest.approx(parts, rel=1e-9)
    assert middle * (1.0 - 1e-12) <= float(even) <= ends * (1.0 + 1e-12)


def test_a_butted_spoke_is_lighter_than_its_effective_diameter_says() -> None:
    # Mass goes with the mean of d^2, stretch with the mean of 1/d^2: butting always wins stretch for its mass.
    spoke = {"middle_diameter": 1.6e-3, "length": 0.28, "middle_length": 0.2}
    even = effective_spoke_diameter(2e-3, **spoke)
    plain = spoke_mass(even, middle_diameter=even, length=0.28, middle_length=0.0)
    assert spoke_mass(2e-3, **spoke) > plain


def test_a_plain_spoke_weighs_its_cylinder() -> None:
    mass = spoke_mass(2e-3, middle_diameter=2e-3, length=0.28, middle_length=0.1, density=7900.0)
    assert float(mass) == pytest.approx(7900.0 * np.pi * 1e-6 * 0.28, rel=1e-12)


def test_tension_and_rigidity_scale_with_the_section() -> None:
    area = np.pi * 1e-6
    assert float(spoke_tension(100e6, diameter=2e-3)) == pytest.approx(100e6 * area, rel=1e-14)
    assert float(spoke_rigidity(2e-3)) == pytest.approx(210e9 * area, rel=1e-14)


def test_more_crossings_than_half_the_circle_are_refused() -> None:
    with pytest.raises(DomainError, match=r"crossing angle at index \(1,\)"):
        crossing_angle([3, 10], spokes_per_side=16)


def test_a_flange_as_large_as_the_rim_is_refused() -> None:
    with pytest.raises(DomainError, match=r"rim_radius - flange_radius is 0 m"):
        spoke_length(0.03, flange_radius=0.2, rim_radius=0.2, crossings=1, spokes_per_side=18)


@pytest.mark.parametrize("length", [float("nan"), 0.0, 0.05])
def test_a_spoke_shorter_than_its_offset_is_refused(length: float) -> None:
    with pytest.raises(DomainError, match="length"):
        bracing_angle(0.06, length=length)


def test_a_middle_longer_than_the_spoke_is_refused() -> None:
    with pytest.raises(DomainError, match=r"length - middle_length is -0.02 m"):
        effective_spoke_diameter(2e-3, middle_diameter=1.8e-3, length=0.28, middle_length=0.30)
