"""Spoke, nipple and eye: stress, cycles, Goodman's line."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.spoke_strength import (
    ENDURANCE_SHARE,
    eye_pressure,
    fatigue_reserve,
    reserve,
    spoke_stress,
    tension_cycle,
)
from configopt.physics.spokes import spoke_tension

stresses = st.floats(0.0, 2e9)


@given(st.floats(0.0, 5e3), st.floats(1e-3, 5e-3))
def test_the_stress_gives_back_the_tension(tension: float, diameter: float) -> None:
    stress = spoke_stress(tension, diameter=diameter)
    assert float(spoke_tension(stress, diameter=diameter)) == pytest.approx(tension, rel=1e-12, abs=1e-12)


def test_the_eye_bears_the_tension_on_wire_times_flange() -> None:
    assert float(eye_pressure(1200.0, wire_diameter=2e-3, flange_thickness=4e-3)) == pytest.approx(150e6)


def test_a_reserve_is_a_ratio_and_infinite_where_nothing_is_asked() -> None:
    np.testing.assert_array_equal(reserve(900.0, demand=[300.0, 1800.0, 0.0]), [3.0, 0.5, np.inf])


def test_a_spoke_cycles_between_its_tension_and_what_is_left_of_it() -> None:
    mean, amplitude = tension_cycle(1000.0, loss=300.0)
    assert (float(mean), float(amplitude)) == pytest.approx((850.0, 150.0))
    mean, amplitude = tension_cycle(1000.0, loss=300.0, gain=100.0)
    assert (float(mean), float(amplitude)) == pytest.approx((900.0, 200.0))


def test_a_slack_spoke_does_not_push() -> None:
    mean, amplitude = tension_cycle(400.0, loss=[400.0, 900.0])
    np.testing.assert_allclose(mean, 200.0)
    np.testing.assert_allclose(amplitude, 200.0)


@given(st.floats(0.0, 3e3), st.floats(0.0, 3e3), st.floats(0.0, 3e3))
def test_mean_and_amplitude_span_the_highest_tension(tension: float, loss: float, gain: float) -> None:
    mean, amplitude = tension_cycle(tension, loss=loss, gain=gain)
    assert float(mean + amplitude) == pytest.approx(tension + gain, rel=1e-12, abs=1e-9)
    assert mean >= amplitude - 1e-9


def test_goodmans_line_runs_from_the_endurance_to_the_tensile_strength() -> None:
    strength = 1200e6
    on_line = [(0.0, ENDURANCE_SHARE * strength), (strength, 0.0), (0.5 * strength, 0.5 * ENDURANCE_SHARE * strength)]
    for mean, amplitude in on_line:
        assert float(fatigue_reserve(mean, amplitude=amplitude, tensile_strength=strength)) == pytest.approx(1.0)


@given(stresses, stresses, st.floats(1.0, 3.0))
def test_the_reserve_is_the_factor_that_brings_both_stresses_to_the_line(mean: float, swing: float, x: float) -> None:
    strength = 1200e6
    first = float(fatigue_reserve(mean, amplitude=swing, tensile_strength=strength))
    grown = float(fatigue_reserve(mean * x, amplitude=swing * x, tensile_strength=strength))
    assert grown == pytest.approx(first / x, rel=1e-12)


@given(stresses, stresses, st.floats(0.1, 0.5), st.floats(1.0, 1.9))
def test_more_strength_or_endurance_gives_more_reserve(mean: float, swing: float, share: float, x: float) -> None:
    base = fatigue_reserve(mean, amplitude=swing, tensile_strength=1e9, endurance_share=share)
    for strength, endured in ((1e9 * x, share), (1e9, share * x)):
        more = fatigue_reserve(mean, amplitude=swing, tensile_strength=strength, endurance_share=endured)
        assert more >= base * (1.0 - 1e-12)


def test_a_resting_spoke_never_tires() -> None:
    assert float(fatigue_reserve(0.0, amplitude=0.0, tensile_strength=1e9)) == np.inf


@pytest.mark.parametrize(
    ("name", "value"),
    [("amplitude", -1.0), ("tensile_strength", 0.0), ("endurance_share", 0.0), ("endurance_share", 1.1)],
)
def test_stresses_and_strengths_out_of_range_are_refused(name: str, value: float) -> None:
    figures = {"amplitude": 1e8, "tensile_strength": 1e9, "endurance_share": 0.25, name: value}
    with pytest.raises(DomainError, match=name):
        fatigue_reserve(3e8, **figures)


def test_a_negative_demand_is_refused_at_its_place() -> None:
    with pytest.raises(DomainError, match=r"demand at index \(1,\)"):
        reserve(1.0, demand=[1.0, -1.0])


@pytest.mark.parametrize("call", [
    lambda: spoke_stress(-1.0, diameter=2e-3),
    lambda: eye_pressure(float("nan"), wire_diameter=2e-3, flange_thickness=3e-3),
    lambda: tension_cycle(-1.0, loss=0.0),
])  # fmt: skip
def test_a_tension_below_zero_or_unknown_is_refused(call: object) -> None:
    assert callable(call)
    with pytest.raises(DomainError, match="tension"):
        call()
