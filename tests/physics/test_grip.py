"""Grip and slip: exact limits, the series branch, inverses, lugs, grades, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from configopt.errors import DomainError
from configopt.physics import grip

FIRM = {
    "friction": 0.7,
    "load_exponent": 0.9,
    "reference_load": 800.0,
    "pressure": 90e3,
    "reference_pressure": 120e3,
    "pressure_exponent": 0.15,
}


def test_at_the_reference_the_force_is_friction_times_load() -> None:
    assert grip.friction_force(800.0, **(FIRM | {"pressure": 120e3})) == pytest.approx(560.0)


def test_a_wheel_off_the_ground_has_no_grip() -> None:
    assert grip.friction_force(0.0, **FIRM) == 0.0


def test_unit_exponents_leave_plain_friction() -> None:
    plain = FIRM | {"load_exponent": 1.0, "pressure_exponent": 0.0}
    assert grip.friction_force([100.0, 900.0], **plain) == pytest.approx([70.0, 630.0])


@given(st.floats(10.0, 5e3), st.floats(1.001, 3.0), st.floats(0.5, 0.99))
def test_more_load_gives_more_force_but_less_friction(load: float, factor: float, exponent: float) -> None:
    low, high = grip.friction_force([load, factor * load], **(FIRM | {"load_exponent": exponent}))
    assert low < high < factor * low


def test_a_softer_tire_grips_more_on_rock() -> None:
    soft, hard = grip.friction_force(800.0, **(FIRM | {"pressure": [60e3, 120e3]}))
    assert soft / hard == pytest.approx(2**0.15)


def test_two_wheels_that_share_a_load_grip_at_least_as_well_as_uneven_ones() -> None:
    even = 2 * grip.friction_force(500.0, **FIRM)
    assert even > np.sum(grip.friction_force([300.0, 700.0], **FIRM))


SAND = {"cohesion": 1040.0, "friction_angle": np.radians(28.0), "shear_modulus": 0.025}


def test_shear_stress_of_dry_sand_arithmetic() -> None:
    """50 kPa at 5, 25, 50 and 100 mm; computed from the printed equation, rounded to 1 Pa."""
    got = grip.janosi_shear_stress(50e3, displacement=[0.005, 0.025, 0.05, 0.1], **SAND)
    assert got == pytest.approx([5008, 17463, 23887, 27119], abs=0.6)


def test_shear_stress_tends_to_the_mohr_coulomb_line() -> None:
    assert grip.janosi_shear_stress(50e3, displacement=10.0, **SAND) == pytest.approx(27.63e3, abs=6)


@pytest.mark.parametrize(
    ("soil", "maximum", "at_slip", "resistance", "drawbar"),
    [
        pytest.param(SAND, 554.8, 187.3, 172.9, 14.3, id="dry sand"),
        pytest.param(
            {"cohesion": 1720.0, "friction_angle": np.radians(29.0), "shear_modulus": 0.025},
            592.5,
            200.0,
            33.3,
            166.6,
            id="sandy loam",
        ),
        pytest.param(
            {"cohesion": 4140.0, "friction_angle": np.radians(13.0), "shear_modulus": 0.010},
            322.9,
            193.3,
            18.5,
            174.8,
            id="clayey",
        ),
    ],
)
def test_thrust_arithmetic_of_a_quad_wheel(
    soil: dict[str, float], maximum: float, at_slip: float, resistance: float, drawbar: float
) -> None:
    """1 kN on a patch of 0.20 m by 0.1111 m at 20 % slip; computed from the printed equations."""
    area = 1000.0 / 45e3
    limit = grip.maximum_thrust(1000.0, area=area, cohesion=soil["cohesion"], friction_angle=soil["friction_angle"])
    thrust = grip.soil_thrust(1000.0, slip=0.2, area=area, length=area / 0.20, **soil)
    assert limit == pytest.approx(maximum, abs=0.06)
    assert thrust == pytest.approx(at_slip, abs=0.06)
    assert grip.drawbar_pull(thrust, resistance=resistance) == pytest.approx(drawbar, abs=0.15)


def test_thrust_is_the_integral_of_the_shear_stress_over_the_patch() -> None:
    """Oracle: numeric integral of tau(i x) over a rectangular patch under uniform pressure."""
    width, length, load, slip = 0.1, 0.18, 900.0, 0.15
    pressure = load / (width * length)
    integral, _ = quad(lambda x: float(grip.janosi_shear_stress(pressure, displacement=slip * x, **SAND)), 0, length)
    thrust = grip.soil_thrust(load, slip=slip, area=width * length, length=length, **SAND)
    assert thrust == pytest.approx(width * integral, rel=1e-10)


def test_the_series_meets_the_closed_form_at_its_switch() -> None:
    below, above = grip.slip_fraction([0.02 * (1 - 1e-12), 0.02])
    assert below == pytest.approx(above, rel=1e-11)


def test_the_mobilised_share_starts_at_half_its_ratio_and_ends_at_one() -> None:
    assert grip.slip_fraction(0.0) == 0.0
    assert grip.slip_fraction(1e-9) == pytest.approx(5e-10, rel=1e-8)
    assert grip.slip_fraction(1e8) == pytest.approx(1.0, abs=2e-8)


@given(st.floats(0.0, 1e4), st.floats(1e-6, 1e4))
def test_the_mobilised_share_grows_with_slip(ratio: float, more: float) -> None:
    low, high = grip.slip_fraction([ratio, ratio + more])
    assert low <= high < 1.0


@given(st.floats(0.0, 0.999999))
def test_the_inverse_gives_the_share_back(share: float) -> None:
    assert grip.slip_fraction(grip.inverse_slip_fraction(share)) == pytest.approx(share, rel=1e-12, abs=1e-300)


@pytest.mark.parametrize("share", [1e-6, 0.02, 0.3, 0.5, 0.9, 0.9999])
def test_the_inverse_agrees_with_a_bracketing_solver(share: float) -> None:
    root = brentq(lambda u: float(grip.slip_fraction(u)) - share, 0.0, 1e6, xtol=1e-13, rtol=1e-13)
    assert grip.inverse_slip_fraction(share) == pytest.approx(root, rel=1e-9)


@given(st.floats(0.0, 0.6), st.floats(0.03, 0.4), st.floats(0.005, 0.05))
def test_slip_for_thrust_undoes_soil_thrust(slip: float, length: float, modulus: float) -> None:
    soil = SAND | {"shear_modulus": modulus}
    thrust = grip.soil_thrust(900.0, slip=slip, area=0.1 * length, length=length, **soil)
    limit = grip.maximum_thrust(
        900.0, area=0.1 * length, cohesion=soil["cohesion"], friction_angle=soil["friction_angle"]
    )
    got, holds = grip.slip_for_thrust(thrust * (1 - 1e-12), maximum_thrust=limit, length=length, shear_modulus=modulus)
    assert holds
    assert got == pytest.approx(slip, rel=1e-7, abs=1e-12)


def test_what_cannot_be_had_gets_the_limit_and_a_false() -> None:
    slip, holds = grip.slip_for_thrust(
        [0.0, 100.0, 1e4, 100.0, 0.0],
        maximum_thrust=[500.0, 500.0, 500.0, 0.0, 0.0],
        length=[0.1, 0.1, 0.1, 0.0, 0.0],
        shear_modulus=0.02,
        slip_limit=0.5,
    )
    assert holds.tolist() == [True, True, False, False, True]
    assert slip[0] == 0.0
    assert 0.0 < slip[1] < 0.5
    assert slip[2] == 0.5
    assert slip[3] == 0.5
    assert slip[4] == 0.0


def test_just_within_and_just_beyond_the_capacity_differ_by_the_flag_only() -> None:
    top, length, modulus = 500.0, 0.1, 0.02
    capacity = top * grip.slip_fraction(0.6 * length / modulus)
    slip, holds = grip.slip_for_thrust(
        capacity * np.array([1 - 1e-9, 1 + 1e-9]), maximum_thrust=top, length=length, shear_modulus=modulus
    )
    assert holds.tolist() == [True, False]
    assert slip == pytest.approx([0.6, 0.6], rel=1e-7)


def test_slip_costs_nothing_at_rest_and_as_much_as_the_thrust_at_one_half() -> None:
    assert grip.slip_loss_force(100.0, slip=[0.0, 0.5]) == pytest.approx([0.0, 100.0])


def test_a_longer_patch_of_equal_area_gives_more_thrust() -> None:
    short, long = grip.soil_thrust(900.0, slip=0.2, area=0.02, length=[0.1, 0.2], **SAND)
    assert long > short


@pytest.mark.parametrize(
    ("height", "land", "packed"),
    [
        pytest.param(0.0, 0.3, False, id="no lugs"),
        pytest.param(0.013, 0.3, True, id="packed with mud"),
        pytest.param(0.013, 1.0, False, id="closed tread"),
    ],
)
def test_without_open_lugs_the_thrust_is_that_of_a_smooth_tire(height: float, land: float, packed: bool) -> None:
    cohesive, frictional = grip.grouser_factors(height, patch_width=0.1, land_fraction=land, packed=packed)
    assert cohesive == 1.0
    assert frictional == 1.0


@given(st.floats(0.001, 0.02), st.floats(1.01, 3.0), st.floats(0.0, 0.9))
def test_taller_lugs_help_more(height: float, factor: float, land: float) -> None:
    heights = [height, factor * height]
    cohesive, frictional = grip.grouser_factors(heights, patch_width=0.1, land_fraction=land, packed=False)
    assert cohesive[1] > cohesive[0] > 1.0
    assert frictional[1] > frictional[0] > 1.0


def test_lug_factors_raise_their_own_part_of_the_thrust() -> None:
    state = {"area": 0.02, "cohesion": 4000.0, "friction_angle": 0.5}
    plain = grip.maximum_thrust(900.0, **state)
    cohesive = grip.maximum_thrust(900.0, cohesion_factor=1.5, **state)
    frictional = grip.maximum_thrust(900.0, friction_factor=1.5, **state)
    assert cohesive - plain == pytest.approx(0.5 * 0.02 * 4000.0)
    assert frictional - plain == pytest.approx(0.5 * 900.0 * np.tan(0.5))


GEOMETRY = {"cg_from_rear": 0.70, "cg_height": 0.75, "wheelbase": 1.45}


def test_traction_grades_arithmetic() -> None:
    """Computed from statics: 0.450 (24.2 deg) rear-driven at 0.6; 11.3, 19.3, 31.0 and 34.2 deg all-driven."""
    rear = grip.traction_grade_limit_rear_drive(0.6, **GEOMETRY)
    assert rear == pytest.approx(0.450, abs=5e-4)
    all_driven = np.degrees(np.arctan(grip.traction_grade_all_wheels([0.20, 0.35, 0.60, 0.68])))
    assert all_driven == pytest.approx([11.3, 19.3, 31.0, 34.2], abs=0.051)


def test_driving_all_wheels_never_climbs_less_until_load_transfer_outruns_it() -> None:
    friction = np.linspace(0.05, 0.9, 18)
    rear = grip.traction_grade_limit_rear_drive(friction, **GEOMETRY)
    lighter_front = friction < 0.70 / 0.75
    assert np.all(rear[lighter_front] < friction[lighter_front])


def test_the_rear_wheel_carries_all_it_transmits_at_the_limit() -> None:
    """Independent statics: on the grade, friction times the rear load equals the downhill component."""
    slope = np.arctan(grip.traction_grade_limit_rear_drive(0.5, **GEOMETRY))
    rear_load = (np.cos(slope) * (1.45 - 0.70) + np.sin(slope) * 0.75) / 1.45
    assert 0.5 * rear_load == pytest.approx(np.sin(slope))


def test_where_load_transfer_outruns_the_demand_grip_sets_no_limit() -> None:
    assert grip.traction_grade_limit_rear_drive(2.0, **GEOMETRY) == np.inf


def test_refusals_name_argument_index_and_value() -> None:
    with pytest.raises(DomainError, match=r"friction at index \(1,\) is 3.5 1"):
        grip.friction_force(800.0, **(FIRM | {"friction": [0.5, 3.5]}))
    with pytest.raises(DomainError, match="slip is nan"):
        grip.soil_thrust(900.0, slip=np.nan, area=0.02, length=0.2, **SAND)
    with pytest.raises(DomainError, match="shear_modulus is 0 m; allowed is above 0"):
        grip.slip_for_thrust(10.0, maximum_thrust=20.0, length=0.1, shear_modulus=0.0)
    with pytest.raises(DomainError, match="wheelbase - cg_from_rear"):
        grip.traction_grade_limit_rear_drive(0.5, **(GEOMETRY | {"cg_from_rear": 1.5}))
