"""Mean ground pressure and its margin."""

from __future__ import annotations

import pytest

from configopt.errors import DomainError
from configopt.physics import flotation, tire


def test_a_hundred_kilograms_need_seven_hundredths_of_a_square_metre_in_a_marsh() -> None:
    """Arithmetic of W/A at the 14 kPa often named for marshes, rounded to 0.1 kPa."""
    assert flotation.mean_ground_pressure(100.0 * 9.81, 0.070) / 1e3 == pytest.approx(14.0, abs=0.05)


def test_a_wheel_off_the_ground_presses_on_nothing() -> None:
    assert flotation.mean_ground_pressure([0.0, 500.0], [0.0, 0.025]) == pytest.approx([0.0, 20e3])


def test_a_load_on_no_area_is_refused() -> None:
    with pytest.raises(DomainError, match=r"area at index \(1,\) is 0 m2; allowed is above 0"):
        flotation.mean_ground_pressure([0.0, 500.0], [0.0, 0.0])


def test_firm_ground_feels_about_the_inflation_and_carcass_pressure() -> None:
    """The load law and the area law of one source must agree to within the casing's share in the side walls."""
    casing = {"pressure": 90e3, "carcass_pressure": 15e3, "width": 0.09, "diameter": 0.69}
    d = tire.deflection([400.0, 800.0, 1600.0], **casing)
    pressure = flotation.mean_ground_pressure([400.0, 800.0, 1600.0], tire.patch_area(d, width=0.09, diameter=0.69))
    assert all(0.4 * 105e3 < p < 2.4 / 2.3 * 105e3 for p in pressure)


def test_the_margin_is_met_exactly_at_the_limit() -> None:
    assert flotation.pressure_margin([7e3, 14e3, 28e3], limit=14e3) == pytest.approx([2.0, 1.0, 0.5])


def test_a_wheel_without_pressure_has_a_finite_margin() -> None:
    assert flotation.pressure_margin(0.0, limit=14e3) == pytest.approx(14e3)
