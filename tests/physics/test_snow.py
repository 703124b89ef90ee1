"""Ruts in undisturbed snow."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configopt.errors import DomainError
from configopt.physics.snow import compacted_density, snow_sinkage

depths, densities = st.floats(0.0, 2.0), st.floats(50.0, 450.0)


@given(depths, densities)
def test_the_column_of_snow_keeps_its_mass(depth: float, density: float) -> None:
    sinkage = float(snow_sinkage(depth, initial_density=density, final_density=500.0))
    assert density * depth == pytest.approx(500.0 * (depth - sinkage), rel=1e-12, abs=1e-9)


@given(depths, densities, st.floats(1.01, 1.8))
def test_the_rut_rises_with_depth_and_compaction_and_falls_with_density(
    depth: float, density: float, factor: float
) -> None:
    base = snow_sinkage(depth, initial_density=density, final_density=500.0)
    assert snow_sinkage(depth * factor, initial_density=density, final_density=500.0) >= base
    assert snow_sinkage(depth, initial_density=density, final_density=500.0 * factor) >= base
    assert snow_sinkage(depth, initial_density=density * factor, final_density=500.0) <= base


@given(depths, densities, st.floats(0.1, 2.0))
def test_the_rut_scales_with_the_units_of_depth_and_of_density(depth: float, density: float, unit: float) -> None:
    base = float(snow_sinkage(depth, initial_density=density / 2.0, final_density=400.0))
    other = float(snow_sinkage(depth * unit, initial_density=density * unit / 2.0, final_density=400.0 * unit))
    assert other == pytest.approx(unit * base, rel=1e-9, abs=1e-12)


def test_packed_snow_does_not_sink_and_no_snow_makes_no_rut() -> None:
    sinkage = snow_sinkage([0.3, 0.3, 0.0], initial_density=[500.0, 600.0, 200.0], final_density=500.0)
    assert sinkage.tolist() == [0.0, 0.0, 0.0]


def test_the_compacted_density_steps_up_beyond_each_pressure() -> None:
    steps = np.array([210e3, 350e3, 700e3])
    assert compacted_density(steps).tolist() == [500.0, 550.0, 600.0]
    assert compacted_density(np.nextafter(steps, 1e9)).tolist() == [550.0, 600.0, 650.0]


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("depth", [0.1, -0.1], r"depth at index \(1,\) is -0.1 m; allowed is 0 to 20 m"),
        ("initial_density", 0.0, "initial_density is 0 kg/m3; allowed is above 0 to 917"),
        ("final_density", float("nan"), "final_density is nan kg/m3"),
    ],
)
def test_an_argument_outside_its_domain_is_named(name: str, value: object, text: str) -> None:
    arguments: dict[str, object] = {"depth": 0.2, "initial_density": 200.0, "final_density": 500.0, name: value}
    with pytest.raises(DomainError, match=text):
        snow_sinkage(**arguments)


def test_a_negative_pressure_is_named() -> None:
    with pytest.raises(DomainError, match="pressure is -1 Pa; allowed is 0 to"):
        compacted_density(-1.0)
