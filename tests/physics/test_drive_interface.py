"""Pins, bolted faces and threads between hub, sprocket and rotor."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.drive_interface import (
    bolt_friction_torque,
    bolt_preload,
    nut_thread_shear_area,
    pin_bearing_stress,
    pin_shear_stress,
    screw_thread_shear_area,
    thread_stress_area,
)

PINS = {"pins": 6, "pin_diameter": 8e-3, "circle_radius": 0.04}
factors = st.floats(1.0, 5.0)


def test_the_pins_carry_the_torque_on_their_sections() -> None:
    stress = float(pin_shear_stress(300.0, **PINS))
    assert stress * 6 * 0.25 * np.pi * 8e-3**2 * 0.04 == pytest.approx(300.0, rel=1e-12)


def test_the_plate_carries_the_torque_on_the_projected_pins() -> None:
    stress = float(pin_bearing_stress(300.0, thickness=6e-3, **PINS))
    assert stress * 6 * 8e-3 * 6e-3 * 0.04 == pytest.approx(300.0, rel=1e-12)


def test_a_second_shear_plane_halves_the_stress() -> None:
    one, two = pin_shear_stress(300.0, planes=[1, 2], **PINS)
    assert float(one) == pytest.approx(2.0 * float(two), rel=1e-14)


@given(st.sampled_from(sorted(PINS)), factors)
def test_more_or_larger_pins_further_out_are_stressed_less(which: str, factor: float) -> None:
    more = {**PINS, which: PINS[which] * factor}
    assert pin_shear_stress(300.0, **more) <= pin_shear_stress(300.0, **PINS)
    assert pin_bearing_stress(300.0, thickness=6e-3, **more) <= pin_bearing_stress(300.0, thickness=6e-3, **PINS)


@given(factors, factors, factors, factors)
def test_bolted_faces_hold_in_proportion_to_each_argument(a: float, b: float, c: float, d: float) -> None:
    base = float(bolt_friction_torque(5e3, bolts=6, friction=0.15, circle_radius=0.022))
    more = bolt_friction_torque(5e3 * a, bolts=6 * b, friction=0.15 * c, circle_radius=0.022 * d)
    assert float(more) == pytest.approx(base * a * b * c * d, rel=1e-12)


def test_the_preload_is_the_torque_over_factor_and_diameter() -> None:
    assert float(bolt_preload(6.0, diameter=5e-3, nut_factor=0.2)) == pytest.approx(6000.0)
    assert bolt_preload(6.0, diameter=5e-3, nut_factor=0.3) < bolt_preload(6.0, diameter=5e-3)


@given(st.floats(3e-3, 30e-3), st.floats(0.05, 0.2))
def test_a_thread_bears_less_than_its_shank_and_more_than_its_root(diameter: float, share: float) -> None:
    area = float(thread_stress_area(diameter, pitch=share * diameter))
    root = diameter * (1.0 - 1.2269 * share)
    assert 0.25 * np.pi * root**2 < area < 0.25 * np.pi * diameter**2


def test_the_screw_strips_before_the_nut_of_the_same_metal() -> None:
    thread = {"pitch": 1.25e-3, "engagement": 8e-3}
    assert screw_thread_shear_area(8e-3, **thread) < nut_thread_shear_area(8e-3, engagement=8e-3)


def test_a_nut_as_high_as_the_screw_is_thick_strips_after_the_screw_breaks() -> None:
    # Shear strength 0.577 of tensile strength: the reason why standard nuts are about as high as their screws.
    strip = 0.577 * float(screw_thread_shear_area(8e-3, pitch=1.25e-3, engagement=8e-3))
    assert strip > float(thread_stress_area(8e-3, pitch=1.25e-3))


@pytest.mark.parametrize(("name", "value"), [("pins", 0.0), ("pin_diameter", 0.0), ("circle_radius", float("nan"))])
def test_pins_that_are_none_are_refused(name: str, value: float) -> None:
    with pytest.raises(DomainError, match=name):
        pin_shear_stress(300.0, **{**PINS, name: value})
    with pytest.raises(DomainError, match=name):
        pin_bearing_stress(300.0, thickness=6e-3, **{**PINS, name: value})


def test_a_pitch_that_leaves_no_core_is_refused() -> None:
    with pytest.raises(DomainError, match=r"core diameter at index \(1,\)"):
        thread_stress_area(2e-3, pitch=[0.4e-3, 2.5e-3])


def test_a_negative_torque_is_refused() -> None:
    with pytest.raises(DomainError, match="torque is -1 N m"):
        pin_shear_stress(-1.0, **PINS)
    with pytest.raises(DomainError, match="tightening_torque"):
        bolt_preload(-1.0, diameter=5e-3)
    with pytest.raises(DomainError, match="friction"):
        bolt_friction_torque(1e3, bolts=4, friction=3.5, circle_radius=0.02)
