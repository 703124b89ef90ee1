"""Creep of the tire on the rim."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics.creep import creep_torque

TIRE = {"bead_radius": 0.228, "section_height": 0.075}
pressures = st.floats(0.0, 4e5)


def test_the_torque_is_friction_of_the_inflation_load_of_the_sidewalls_on_both_flanges() -> None:
    side = quad(lambda r: 2.0 * np.pi * r * 80e3, 0.228, 0.228 + 0.0375)[0]
    expected = 0.5 * 2.0 * 0.2 * side * 0.228
    assert float(creep_torque(80e3, **TIRE)) == pytest.approx(expected, rel=1e-12)


def test_a_flat_tire_is_held_by_its_fit_alone() -> None:
    assert float(creep_torque(0.0, fit_torque=40.0, **TIRE)) == pytest.approx(20.0, rel=1e-14)
    assert float(creep_torque(0.0, **TIRE)) == 0.0


@given(pressures, pressures)
def test_the_torque_is_linear_in_pressure_from_a_value_of_at_least_zero(p: float, q: float) -> None:
    fit = float(creep_torque(0.0, fit_torque=30.0, **TIRE))
    parts = creep_torque(p, fit_torque=30.0, **TIRE) + creep_torque(q, fit_torque=30.0, **TIRE) - fit
    assert float(creep_torque(p + q, fit_torque=30.0, **TIRE)) == pytest.approx(float(parts), rel=1e-12)
    assert fit >= 0.0


@given(pressures, st.floats(1.01, 2.0))
def test_a_taller_section_and_a_larger_bead_hold_more(p: float, factor: float) -> None:
    base = creep_torque(p, **TIRE)
    assert creep_torque(p, bead_radius=0.228, section_height=0.075 * factor) >= base
    assert creep_torque(p, bead_radius=0.228 * factor, section_height=0.075) >= base


def test_torque_by_friction_alone_is_proportional_to_it_and_broadcasts() -> None:
    low, middle, high = creep_torque(100e3, **TIRE, friction=np.array([0.1, 0.2, 0.5]))
    assert float(middle) == pytest.approx(float(creep_torque(100e3, **TIRE)), rel=1e-14)
    assert float(low / middle) == pytest.approx(0.5, rel=1e-12)
    assert float(high / middle) == pytest.approx(2.5, rel=1e-12)
    assert creep_torque(np.full((2, 1), 1e5), bead_radius=np.full(3, 0.2), section_height=0.07).shape == (2, 3)


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("section_height", [0.07, -0.07], r"section_height at index \(1,\) is -0.07 m"),
        ("friction", 4.0, "friction is 4 1; allowed is 0 to 3"),
        ("unevenness", float("nan"), "unevenness is nan 1"),
        ("fit_torque", -1.0, "fit_torque is -1 N m"),
    ],
)
def test_an_argument_outside_its_domain_is_named(name: str, value: object, text: str) -> None:
    arguments: dict[str, object] = {**TIRE, name: value}
    with pytest.raises(DomainError, match=text):
        creep_torque(1e5, **arguments)
