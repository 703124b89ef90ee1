"""Soft ground: arithmetic of the equations, the rigid/flattened switch, monotonicity, tiny exponents, refusals."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics import soft_ground

SAND = {"cohesive_modulus": 990.0, "frictional_modulus": 1528.43e3, "exponent": 1.10}
LOAM = {"cohesive_modulus": 5.27e3, "frictional_modulus": 1515.04e3, "exponent": 0.70}
CLAY = {"cohesive_modulus": 13.19e3, "frictional_modulus": 692.15e3, "exponent": 0.50}
LETE = {"cohesive_modulus": 102e3, "frictional_modulus": 5301e3, "exponent": 0.793}
SNOW = {"cohesive_modulus": 4.37e3, "frictional_modulus": 196.72e3, "exponent": 1.60}
SWEDISH_SNOW = {"cohesive_modulus": 10.55e3, "frictional_modulus": 66.08e3, "exponent": 1.44}
HEAVY_CLAY = {"cohesive_modulus": 1.84e3, "frictional_modulus": 103.27e3, "exponent": 0.11}
QUAD = {"width": 0.20, "diameter": 0.635}
BIKE = {"width": 0.08, "diameter": 0.69}

soils = st.fixed_dictionaries(
    {
        "cohesive_modulus": st.floats(0.0, 1e5),
        "frictional_modulus": st.floats(5e4, 6e6),
        "exponent": st.floats(0.1, 1.6),
    }
)


def modulus(soil: dict[str, float], side: float) -> np.ndarray:
    return soft_ground.soil_modulus(soil["cohesive_modulus"], soil["frictional_modulus"], smaller_side=side)


@pytest.mark.parametrize(
    ("soil", "keq", "sinkage", "digits"),
    [
        pytest.param(SAND, 1538.33, 0.01929, 5, id="dry sand"),
        pytest.param(LOAM, 1567.74, 0.001968, 6, id="sandy loam 15 %"),
        pytest.param(CLAY, 824.05, 0.000589, 6, id="clayey 38 %"),
        pytest.param(SNOW, 240.42, 0.2114, 4, id="snow US"),
        pytest.param(LETE, 6321.0, 0.000704, 6, id="LETE sand"),
        pytest.param(SWEDISH_SNOW, 171.58, 0.2248, 4, id="snow Sweden"),
    ],
)
def test_plate_sinkage_arithmetic(soil: dict[str, float], keq: float, sinkage: float, digits: int) -> None:
    """A plate 0.10 m wide under 20 kPa; computed from the printed equation and soil values."""
    k = modulus(soil, 0.10)
    assert k / 1e3 == pytest.approx(keq, abs=0.006)
    z = soft_ground.plate_sinkage(20e3, modulus=k, exponent=soil["exponent"])
    assert z == pytest.approx(sinkage, abs=0.5001 * 10.0**-digits)


@pytest.mark.parametrize(
    ("soil", "load", "wheel", "sinkage", "resistance", "critical_kpa"),
    [
        pytest.param(SAND, 1000.0, QUAD, 0.0428, 195.2, 47.9, id="quad wheel, dry sand"),
        pytest.param(LOAM, 1000.0, QUAD, 0.0127, 108.6, 72.6, id="quad wheel, sandy loam"),
        pytest.param(CLAY, 1000.0, QUAD, 0.0099, 100.1, 75.6, id="quad wheel, clayey"),
        pytest.param(LETE, 1000.0, QUAD, 0.0064, 76.3, 106.3, id="quad wheel, LETE sand"),
        pytest.param(SNOW, 1000.0, QUAD, 0.265, 532.5, 26.1, id="quad wheel, snow"),
        pytest.param(SAND, 800.0, BIKE, 0.0641, 183.4, 75.1, id="bike wheel, dry sand"),
        pytest.param(LOAM, 800.0, BIKE, 0.0214, 108.2, 107.3, id="bike wheel, sandy loam"),
        pytest.param(CLAY, 800.0, BIKE, 0.0169, 100.0, 111.3, id="bike wheel, clayey"),
    ],
)
def test_rigid_wheel_arithmetic(
    soil: dict[str, float],
    load: float,
    wheel: dict[str, float],
    sinkage: float,
    resistance: float,
    critical_kpa: float,
) -> None:
    """Computed from the printed equations and soil values; b is the wheel's width."""
    state = wheel | {"modulus": modulus(soil, wheel["width"]), "exponent": soil["exponent"]}
    places = 5e-4 if sinkage > 0.1 else 5e-5
    assert soft_ground.rigid_sinkage(load, **state) == pytest.approx(sinkage, abs=places)
    assert soft_ground.rigid_compaction(load, **state) == pytest.approx(resistance, abs=0.06)
    assert soft_ground.critical_pressure(load, **state) / 1e3 == pytest.approx(critical_kpa, abs=0.051)


@pytest.mark.parametrize(
    ("soil", "sinkage", "resistance"),
    [
        pytest.param(SAND, 0.0404, 172.9, id="dry sand"),
        pytest.param(LOAM, 0.0063, 33.3, id="sandy loam 15 %"),
        pytest.param(CLAY, 0.0031, 18.5, id="clayey 38 %"),
    ],
)
def test_flattened_wheel_arithmetic(soil: dict[str, float], sinkage: float, resistance: float) -> None:
    """A quad wheel under 1 kN at 45 kPa, b taken as the soft patch length W/(w p) as in the hand calculation."""
    wheel = soft_ground.wheel_on_soil(1000.0, pressure=45e3, firm_patch_length=1000.0 / 45e3 / 0.20, **QUAD, **soil)
    assert not wheel.rigid
    assert wheel.patch_length == pytest.approx(0.1111, abs=5e-5)
    assert wheel.sinkage == pytest.approx(sinkage, abs=5e-5)
    assert wheel.compaction == pytest.approx(resistance, abs=0.06)


@given(soils, st.floats(1e-4, 0.3), st.floats(0.05, 0.3))
def test_compaction_is_the_integral_of_the_pressure_over_the_rut(
    soil: dict[str, float], sinkage: float, width: float
) -> None:
    k, n = modulus(soil, width), soil["exponent"]
    work, _ = quad(lambda z: width * float(k) * z**n, 0.0, sinkage, epsabs=0.0, epsrel=1e-11)
    got = soft_ground.compaction_resistance(sinkage, width=width, modulus=k, exponent=n)
    assert float(got) == pytest.approx(work, rel=1e-8)


@given(soils, st.floats(0.05, 0.3), st.floats(0.45, 0.8), st.floats(1e-3, 0.08))
def test_the_rigid_wheel_carries_its_load_on_the_pressure_under_it(
    soil: dict[str, float], width: float, diameter: float, sinkage: float
) -> None:
    """The load is the integral of k z^n over the arc; the published closed form keeps two terms of its series.

    With z measured up from the lowest point, the depth is z_0 - x and the half chord sqrt(D x) for small sinkage.
    """
    k, n = float(modulus(soil, width)), soil["exponent"]
    # x = u^2 takes the root out of the integrand.
    carried, _ = quad(lambda u: (sinkage - u * u) ** n, 0.0, np.sqrt(sinkage), epsabs=0.0, epsrel=1e-10)
    load = width * k * np.sqrt(diameter) * carried
    got = soft_ground.rigid_sinkage(load, width=width, diameter=diameter, modulus=k, exponent=n)
    # (z0 - u^2)^n = z0^n (1 - n u^2/z0 + ...): two terms give 1 - n/3.
    kept = 1.0 - n / 3.0
    exact = carried / sinkage ** (n + 0.5)
    if n <= 1.2:
        assert kept == pytest.approx(exact, rel=0.1)
    assert float(got) == pytest.approx(sinkage * (exact / kept) ** (2.0 / (2.0 * n + 1.0)), rel=1e-6)


def test_a_hard_tire_runs_as_a_rigid_wheel_and_not_deeper() -> None:
    """80 kPa on dry sand lies above the critical 47.9 kPa: the answer is the rigid wheel's."""
    wheel = soft_ground.wheel_on_soil(1000.0, pressure=80e3, firm_patch_length=0.25, **QUAD, **SAND)
    assert wheel.rigid
    assert wheel.compaction == pytest.approx(195.2, abs=0.06)
    assert wheel.carrying_fraction == 1.0


def at(pressure: object, load: object = 900.0, **change: object) -> soft_ground.WheelOnSoil:
    arguments = {"firm_patch_length": 0.15, "width": 0.10, "diameter": 0.65} | LOAM | change
    return soft_ground.wheel_on_soil(load, pressure=pressure, **arguments)


@given(soils, st.floats(50.0, 3e3))
def test_everything_is_continuous_where_the_tire_turns_rigid(soil: dict[str, float], load: float) -> None:
    critical = at(1e6, load, **soil).critical_pressure
    state = at(critical * np.array([1 - 1e-10, 1.0, 1 + 1e-10]), load, **soil)
    for field in fields(state):
        if field.name != "rigid":
            low, middle, high = np.broadcast_to(getattr(state, field.name), (3,))
            assert low == pytest.approx(middle, rel=1e-7)
            assert high == pytest.approx(middle, rel=1e-7)
    assert state.rigid.tolist() == [False, True, True]


@given(soils, st.floats(50.0, 3e3), st.floats(5e3, 4e5), st.floats(1.0, 1e5))
def test_more_pressure_never_makes_soft_ground_easier(
    soil: dict[str, float], load: float, pressure: float, more: float
) -> None:
    state = at([pressure, pressure + more], load, **soil)
    for name in ("sinkage", "ground_pressure", "compaction", "carrying_fraction"):
        low, high = getattr(state, name)
        assert high >= low * (1 - 1e-12)
    low, high = state.patch_area
    assert high <= low * (1 + 1e-12)


@given(soils, st.floats(50.0, 3e3), st.floats(5e3, 4e5), st.floats(1.001, 3.0))
def test_more_load_never_sinks_less(soil: dict[str, float], load: float, pressure: float, factor: float) -> None:
    state = at(pressure, [load, factor * load], **soil)
    for name in ("sinkage", "compaction", "patch_area"):
        low, high = getattr(state, name)
        assert high >= low * (1 - 1e-12)


@given(soils, st.floats(50.0, 3e3), st.floats(5e3, 4e5))
def test_the_patch_carries_the_load(soil: dict[str, float], load: float, pressure: float) -> None:
    state = at(pressure, load, **soil)
    assert state.ground_pressure * state.patch_area == pytest.approx(load)
    assert state.patch_length * 0.10 == pytest.approx(state.patch_area)


def test_a_wheel_off_the_ground_neither_sinks_nor_resists() -> None:
    state = at(60e3, 0.0, firm_patch_length=0.0)
    for name in ("sinkage", "ground_pressure", "patch_area", "patch_length", "compaction"):
        assert getattr(state, name) == 0.0


def test_the_modulus_takes_the_smaller_side_in_both_modes() -> None:
    narrow = at([30e3, 900e3], width=0.10, firm_patch_length=[0.06, 0.15], **CLAY).critical_pressure
    assert narrow[0] > narrow[1]
    assert at(30e3, firm_patch_length=0.15).sinkage == at(30e3, firm_patch_length=0.40).sinkage


def test_at_equal_low_pressure_the_narrow_tire_presses_the_smaller_rut() -> None:
    state = at(20e3, width=[0.08, 0.12], firm_patch_length=0.08, **SAND)
    assert not np.any(state.rigid)
    assert state.compaction[0] < state.compaction[1]


def test_as_rigid_wheels_the_wide_one_resists_less() -> None:
    state = at(300e3, width=[0.06, 0.12], firm_patch_length=0.05, **SAND)
    assert np.all(state.rigid)
    assert state.compaction[1] < state.compaction[0]


def test_a_tiny_exponent_stays_finite_and_capped() -> None:
    state = at(np.array([1e3, 1e5, 3.9e6]), 1e5, **HEAVY_CLAY)
    for field in fields(state):
        assert np.all(np.isfinite(getattr(state, field.name)))
    sinkage = soft_ground.plate_sinkage([1.0, 1e8], modulus=1e5, exponent=0.1)
    assert sinkage[0] == pytest.approx(1e-50)
    assert sinkage[1] == pytest.approx(soft_ground.SINKAGE_CAP)


def test_flexing_vanishes_for_a_rigid_wheel_and_reaches_the_firm_loss_for_an_empty_one() -> None:
    got = soft_ground.flexing_resistance(900.0, rolling_coefficient=0.02, carrying_fraction=[0.0, 0.5, 1.0])
    assert got == pytest.approx([18.0, 9.0, 0.0])


def test_a_following_wheel_keeps_its_share_of_the_rut() -> None:
    assert soft_ground.following_compaction(100.0, rut_factor=[0.3, 0.6, 1.0]) == pytest.approx([30.0, 60.0, 100.0])


def test_remarks_hold_just_beyond_each_limit_and_not_at_it() -> None:
    remarks = soft_ground.soil_remarks(
        [0.125, 0.125 + 1e-9], diameter=[0.75, 0.75], exponent=[0.3, 0.3 - 1e-9], ground_clearance=0.125
    )
    assert remarks["sinkage beyond D/6"].tolist() == [False, True]
    assert remarks["bearing-type soil: n below 0.3"].tolist() == [False, True]
    assert remarks["bogged"].tolist() == [False, True]
    assert remarks["small wheel: D below 0.5 m"].tolist() == [False, False]


def test_a_wheel_is_bogged_at_four_tenths_of_its_diameter_whatever_the_clearance() -> None:
    remarks = soft_ground.soil_remarks([0.23, 0.25], diameter=0.6, exponent=1.0)
    assert remarks["bogged"].tolist() == [False, True]


@given(soils, st.floats(50.0, 3e3), st.floats(5e3, 2e5), st.floats(0.5, 2.0))
def test_scaled_wheels_on_scaled_soil_agree(soil: dict[str, float], load: float, pressure: float, scale: float) -> None:
    """All lengths times s, pressures kept: k_c takes s^-(n-1), k_phi s^-n, loads s^2; sinkage must take s."""
    n = soil["exponent"]
    scaled = {
        "cohesive_modulus": soil["cohesive_modulus"] * scale ** (1 - n),
        "frictional_modulus": soil["frictional_modulus"] * scale**-n,
        "exponent": n,
    }
    small = at(pressure, load, **soil)
    big = at(
        pressure, load * scale**2, width=0.10 * scale, diameter=0.65 * scale, firm_patch_length=0.15 * scale, **scaled
    )
    assert big.critical_pressure == pytest.approx(small.critical_pressure, rel=1e-9)
    if max(small.sinkage, big.sinkage) < 9.0:
        assert big.sinkage == pytest.approx(scale * small.sinkage, rel=1e-7)
        assert big.compaction == pytest.approx(scale**2 * small.compaction, rel=1e-7)


def test_arguments_broadcast_against_each_other() -> None:
    state = at(np.array([30e3, 60e3, 90e3]), np.array([[400.0], [800.0]]))
    assert state.sinkage.shape == (2, 3)
    assert state.compaction.shape == (2, 3)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"exponent": 0.0}, "exponent is 0 1; allowed is above 0"),
        ({"exponent": [0.5, np.nan]}, r"exponent at index \(1,\) is nan 1"),
        ({"cohesive_modulus": -1.0}, "cohesive_modulus is -1"),
        ({"cohesive_modulus": 0.0, "frictional_modulus": 0.0}, "modulus is 0"),
        ({"width": 0.0}, "width is 0 m"),
    ],
)
def test_refusals_name_argument_index_and_value(change: dict[str, object], message: str) -> None:
    with pytest.raises(DomainError, match=message):
        at(60e3, **change)


def test_an_airless_limp_tire_is_refused() -> None:
    with pytest.raises(DomainError, match=r"pressure is 0 Pa; allowed is above 0"):
        at(0.0)
