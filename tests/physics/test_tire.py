"""The tire under load: exact limits, the switch of the load law, inverses, scaling and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics import tire

CASING = {"pressure": 90e3, "carcass_pressure": 15e3, "width": 0.08, "diameter": 0.69}
AT_SWITCH = tire.SWITCH * 0.08

casings = st.fixed_dictionaries(
    {
        "pressure": st.floats(0.0, 4e5),
        "carcass_pressure": st.floats(1e3, 1e5),
        "width": st.floats(0.03, 0.35),
        "diameter": st.floats(0.4, 0.8),
    }
)


def test_the_branches_of_the_load_law_meet_in_value_at_the_switch() -> None:
    below, at, above = tire.load_at_deflection([AT_SWITCH * (1 - 1e-9), AT_SWITCH, AT_SWITCH * (1 + 1e-9)], **CASING)
    assert below == pytest.approx(at, rel=3e-9)
    assert above == pytest.approx(at, rel=3e-9)


def test_the_branches_of_the_load_law_meet_in_slope_at_the_switch() -> None:
    below, above = tire.vertical_stiffness([AT_SWITCH * (1 - 1e-9), AT_SWITCH * (1 + 1e-9)], **CASING)
    assert below == pytest.approx(above, rel=3e-9)


def test_the_inverse_changes_its_branch_where_the_law_does() -> None:
    load = tire.load_at_deflection(AT_SWITCH, **CASING)
    below, above = tire.deflection(np.array([1 - 1e-9, 1 + 1e-9]) * load, **CASING)
    assert below == pytest.approx(AT_SWITCH, rel=3e-9)
    assert above == pytest.approx(AT_SWITCH, rel=3e-9)


def test_no_load_means_no_deflection_and_no_patch() -> None:
    assert tire.deflection(0.0, **CASING) == 0.0
    assert tire.patch_length(0.0, diameter=0.69) == 0.0
    assert tire.patch_area(0.0, width=0.08, diameter=0.69) == 0.0
    assert tire.deflection_work(0.0, **CASING) == 0.0


def test_a_vanishing_load_keeps_its_digits_in_the_inverse() -> None:
    load = 1e-9
    linear = load / (105e3 * 0.08 * np.sqrt(0.08 * 0.69) * 0.96) * 0.08
    assert tire.deflection(load, **CASING) == pytest.approx(linear, rel=1e-9)


@given(casings, st.floats(0.0, 2e4))
def test_load_at_deflection_undoes_deflection(casing: dict[str, float], load: float) -> None:
    d = tire.deflection(load, **casing)
    if d <= 2.5:
        assert tire.load_at_deflection(d, **casing) == pytest.approx(load, rel=1e-12, abs=1e-12)


@given(casings, st.floats(1e-4, 0.1))
def test_stiffness_is_the_derivative_of_the_load(casing: dict[str, float], d: float) -> None:
    step = 1e-6 * d
    low, high = tire.load_at_deflection([d - step, d + step], **casing)
    assert tire.vertical_stiffness(d, **casing) == pytest.approx((high - low) / (2 * step), rel=1e-5)


@pytest.mark.parametrize("d", [0.004, AT_SWITCH, 0.03], ids=["parabola", "switch", "straight line"])
def test_work_is_the_integral_of_the_load(d: float) -> None:
    points = [AT_SWITCH] if d > AT_SWITCH else None
    integral, _ = quad(lambda x: float(tire.load_at_deflection(x, **CASING)), 0.0, d, points=points, epsrel=1e-12)
    assert tire.deflection_work(d, **CASING) == pytest.approx(integral, rel=1e-10)


@given(casings, st.floats(1.0, 5e3), st.floats(1.001, 3.0))
def test_more_load_deflects_more_and_more_pressure_less(casing: dict[str, float], load: float, factor: float) -> None:
    d = tire.deflection(load, **casing)
    assert tire.deflection(factor * load, **casing) > d
    stiffer = casing | {"carcass_pressure": factor * casing["carcass_pressure"]}
    harder = casing | {"pressure": casing["pressure"] + 1e3}
    taller = casing | {"diameter": factor * casing["diameter"]}
    for other in (stiffer, harder, taller):
        assert tire.deflection(load, **other) < d


@given(casings, st.floats(0.0, 0.1), st.floats(1.001, 2.0))
def test_a_tire_never_softens_as_it_is_pressed(casing: dict[str, float], d: float, factor: float) -> None:
    less, more = tire.vertical_stiffness([d, d * factor], **casing)
    assert more >= less * (1 - 1e-12)


@given(casings, st.floats(1.0, 5e3), st.floats(0.5, 2.0))
def test_a_tire_scaled_in_all_lengths_deflects_in_scale(casing: dict[str, float], load: float, s: float) -> None:
    scaled = casing | {"width": s * casing["width"], "diameter": s * casing["diameter"]}
    assert tire.deflection(s * s * load, **scaled) == pytest.approx(s * tire.deflection(load, **casing), rel=1e-12)
    d = 0.01
    assert tire.patch_length(s * d, diameter=s * 0.69) == pytest.approx(s * tire.patch_length(d, diameter=0.69))
    area = tire.patch_area(d, width=0.08, diameter=0.69)
    assert tire.patch_area(s * d, width=s * 0.08, diameter=s * 0.69) == pytest.approx(s * s * area)


def test_only_the_sum_of_inflation_and_carcass_pressure_counts() -> None:
    moved = CASING | {"pressure": 60e3, "carcass_pressure": 45e3}
    assert tire.deflection(800.0, **moved) == tire.deflection(800.0, **CASING)


@given(casings, st.floats(1e-3, 0.1))
def test_one_reading_gives_the_carcass_pressure_back(casing: dict[str, float], d: float) -> None:
    load = tire.load_at_deflection(d, **casing)
    got = tire.carcass_pressure_from_reading(
        load, deflection=d, pressure=casing["pressure"], width=casing["width"], diameter=casing["diameter"]
    )
    assert got == pytest.approx(casing["carcass_pressure"], rel=1e-8)


def test_a_casing_without_stiffness_is_read_as_zero() -> None:
    limp = CASING | {"carcass_pressure": 0.0}
    load = tire.load_at_deflection(0.013, **limp)
    got = tire.carcass_pressure_from_reading(load, deflection=0.013, pressure=90e3, width=0.08, diameter=0.69)
    assert got == pytest.approx(0.0, abs=1e-4)


def test_a_reading_softer_than_its_air_is_refused() -> None:
    with pytest.raises(DomainError, match="carcass_pressure"):
        tire.carcass_pressure_from_reading(100.0, deflection=0.02, pressure=90e3, width=0.08, diameter=0.69)


def test_the_patch_is_longest_at_half_the_diameter_and_stays_there() -> None:
    assert tire.patch_length(0.345, diameter=0.69) == pytest.approx(0.85 * 0.69)
    assert tire.patch_length(0.6, diameter=0.69) == tire.patch_length(0.345, diameter=0.69)


def test_the_loaded_radius_falls_by_the_deflection_and_never_below_zero() -> None:
    assert tire.loaded_radius([0.0, 0.02, 0.9], diameter=0.69) == pytest.approx([0.345, 0.325, 0.0])


def test_a_heavy_duty_casing_counts_half_as_much_again() -> None:
    light, heavy = tire.default_carcass_pressure(200e3, heavy_duty=[False, True])
    assert heavy == pytest.approx(1.5 * light)


def test_remarks_name_both_ends_of_the_useful_deflection() -> None:
    remarks = tire.deflection_remarks([0.001, 0.02, 0.04], section_height=0.08, floor=0.05)
    assert remarks["too stiff for this load"].tolist() == [True, False, False]
    assert remarks["deflection beyond the limit of the casing"].tolist() == [False, False, True]


@pytest.mark.parametrize(
    ("width", "ratio", "code", "diameter_mm"),
    [
        pytest.param(0.120, 1.00, 18, 697.2, id="120/100-18"),
        pytest.param(0.120, 0.90, 18, 673.2, id="120/90-18"),
        pytest.param(0.080, 1.00, 21, 693.4, id="80/100-21"),
        pytest.param(0.070, 1.00, 19, 622.6, id="70/100-19"),
        pytest.param(0.080, 1.00, 12, 464.8, id="80/100-12"),
        pytest.param(2.75 * 0.0254, 1.00, 21, 673.1, id="2.75-21"),
        pytest.param(4.10 * 0.0254, 0.90, 18, 644.7, id="4.10-18"),
    ],
)
def test_overall_diameter_is_rim_plus_two_section_heights(
    width: float, ratio: float, code: float, diameter_mm: float
) -> None:
    """Arithmetic of the designation rule, rounded to 0.1 mm."""
    got = tire.overall_diameter(code * 0.0254, section_height=width * ratio)
    assert 1e3 * got == pytest.approx(diameter_mm, abs=0.05 + 1e-9)


def test_the_section_keeps_its_width_on_the_measuring_rim() -> None:
    assert tire.grown_width(0.08, rim_width=0.047, measuring_rim_width=0.047) == pytest.approx(0.08)


def test_a_rim_that_leaves_no_section_is_refused() -> None:
    with pytest.raises(DomainError, match="grown width"):
        tire.grown_width(0.02, rim_width=0.01, measuring_rim_width=0.10)


SET = {"temperature_set": 293.15, "temperature": 293.15, "ambient_set": 101325.0, "ambient": 101325.0}


def test_unchanged_conditions_leave_the_gauge_pressure() -> None:
    assert tire.inflation_at(90e3, **SET) == pytest.approx(90e3)


def test_thinner_air_raises_the_gauge_pressure_by_what_the_atmosphere_lost() -> None:
    assert tire.inflation_at(90e3, **(SET | {"ambient": 79495.0})) == pytest.approx(90e3 + 101325.0 - 79495.0)


def test_absolute_pressure_follows_the_absolute_temperature() -> None:
    warm = tire.inflation_at(90e3, **(SET | {"temperature": 323.15}))
    assert (warm + 101325.0) / (90e3 + 101325.0) == pytest.approx(323.15 / 293.15)


def test_a_cold_slack_tire_has_no_negative_pressure() -> None:
    assert tire.inflation_at(5e3, **(SET | {"temperature": 253.15})) == 0.0


def test_foam_replaces_the_air_only_where_there_is_foam() -> None:
    assert tire.foam_equivalent([90e3, 90e3], equivalent_pressure=[0.0, 70e3]).tolist() == [90e3, 70e3]


def test_arguments_broadcast_against_each_other() -> None:
    loads = np.linspace(100.0, 900.0, 5)[:, np.newaxis]
    pressures = np.array([50e3, 100e3, 150e3])
    assert tire.deflection(loads, **(CASING | {"pressure": pressures})).shape == (5, 3)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"pressure": -1.0}, r"pressure is -1 Pa; allowed is 0 to 2e\+06 Pa"),
        ({"width": [0.08, 0.0]}, r"width at index \(1,\) is 0 m; allowed is above 0 to 2 m \(1 of 2 values\)"),
        ({"diameter": [[0.6, np.nan]]}, r"diameter at index \(0, 1\) is nan m"),
        ({"pressure": 0.0, "carcass_pressure": 0.0}, r"pressure \+ carcass_pressure is 0 Pa"),
    ],
)
def test_a_refusal_names_argument_index_and_value(change: dict[str, object], message: str) -> None:
    with pytest.raises(DomainError, match=message):
        tire.deflection(800.0, **(CASING | change))


@pytest.mark.parametrize("load", [-1.0, np.nan, np.inf])
def test_impossible_loads_are_refused(load: float) -> None:
    with pytest.raises(DomainError, match="load is"):
        tire.deflection(load, **CASING)
