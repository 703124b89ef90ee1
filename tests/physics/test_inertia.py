"""Inertia of wheel parts, against integrals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.errors import DomainError
from configopt.physics.inertia import (
    annulus_inertia,
    compound_pendulum_inertia,
    diametral_inertia,
    disc_inertia,
    equivalent_mass,
    gyroscopic_moment,
    ring_inertia,
    spokes_inertia,
)

masses = st.floats(0.01, 20.0)


@given(masses, st.floats(0.1, 0.4), st.floats(0.0, 0.95))
def test_an_annulus_is_the_integral_of_its_rings(mass: float, outer: float, share: float) -> None:
    inner = share * outer
    per_area = mass / (np.pi * (outer**2 - inner**2))
    expected = quad(lambda r: per_area * 2.0 * np.pi * r**3, inner, outer)[0]
    assert float(annulus_inertia(mass, outer_radius=outer, inner_radius=inner)) == pytest.approx(expected, rel=1e-9)


def test_an_annulus_runs_from_disc_to_ring() -> None:
    assert float(disc_inertia(2.0, radius=0.3)) == pytest.approx(0.09, rel=1e-12)
    thin = annulus_inertia(2.0, outer_radius=0.3, inner_radius=0.3)
    assert float(thin) == pytest.approx(float(ring_inertia(2.0, radius=0.3)), rel=1e-14)


@given(masses, st.floats(0.1, 0.4), st.floats(0.0, 0.99))
def test_spokes_are_the_integral_along_a_rod(mass: float, rim: float, share: float) -> None:
    hub = share * rim
    expected = quad(lambda r: mass / (rim - hub) * r * r, hub, rim)[0]
    assert float(spokes_inertia(mass, rim_radius=rim, hub_radius=hub)) == pytest.approx(expected, rel=1e-9)


def test_mass_counts_most_at_the_rim() -> None:
    ring = ring_inertia(1.0, radius=0.3)
    rods = spokes_inertia(1.0, rim_radius=0.3, hub_radius=0.03)
    disc = disc_inertia(1.0, radius=0.3)
    hub = disc_inertia(1.0, radius=0.03)
    assert ring > disc > rods > hub


def test_the_diametral_inertia_of_a_cylinder_is_the_textbook_one() -> None:
    spin = annulus_inertia(3.0, outer_radius=0.3, inner_radius=0.2)
    expected = 3.0 * (3.0 * (0.3**2 + 0.2**2) + 0.1**2) / 12.0
    assert float(diametral_inertia(spin, mass=3.0, width=0.1)) == pytest.approx(expected, rel=1e-12)


@given(masses, st.floats(0.1, 0.4), st.floats(0.0, 0.3))
def test_no_flat_wheel_has_less_than_half_its_spin_inertia_about_a_diameter(m: float, r: float, w: float) -> None:
    spin = float(ring_inertia(m, radius=r))
    assert float(diametral_inertia(spin, mass=m, width=w)) >= 0.5 * spin


@given(masses, st.floats(0.2, 0.4), st.floats(0.0, 1.0))
def test_a_rolling_wheel_counts_between_its_mass_and_twice_that(mass: float, radius: float, spread: float) -> None:
    moving = float(equivalent_mass(mass, inertia=spread * mass * radius**2, radius=radius))
    assert moving == pytest.approx(mass * (1.0 + spread), rel=1e-12)


@given(st.floats(0.01, 1.0), st.floats(-200.0, 200.0), st.floats(-3.0, 3.0))
def test_the_gyroscopic_moment_changes_sign_with_either_rate(inertia: float, omega: float, rate: float) -> None:
    moment = float(gyroscopic_moment(inertia, wheel_speed=omega, lean_rate=rate))
    assert float(gyroscopic_moment(inertia, wheel_speed=-omega, lean_rate=rate)) == -moment
    assert moment == pytest.approx(inertia * omega * rate, rel=1e-12)


@given(st.floats(0.5, 5.0), st.floats(0.2, 0.35), st.floats(0.3, 1.0))
def test_the_pendulum_recovers_the_inertia_that_sets_its_period(mass: float, arm: float, shape: float) -> None:
    spin = shape * mass * arm**2
    period = 2.0 * np.pi * np.sqrt((spin + mass * arm**2) / (mass * 9.80665 * arm))
    assert float(compound_pendulum_inertia(mass, period=period, arm=arm)) == pytest.approx(spin, rel=1e-9)


def test_a_heavy_hub_adds_mass_but_little_inertia() -> None:
    # 4.90 kg swinging in 1.22757 s on an arm of 0.28028 m, a rear wheel with a motor in its hub: the radius of
    # gyration stays far inside the rim.
    spin = float(compound_pendulum_inertia(4.90, period=1.22757, arm=0.28028))
    assert spin / (4.90 * 0.3325**2) < 0.5


def test_a_period_shorter_than_that_of_a_point_mass_is_refused() -> None:
    with pytest.raises(DomainError, match="inertia from period is -"):
        compound_pendulum_inertia(2.0, period=0.5, arm=0.3)


@pytest.mark.parametrize("mass", [-1.0, float("nan")])
def test_an_impossible_mass_is_refused_everywhere(mass: float) -> None:
    for call in (
        lambda m: ring_inertia(m, radius=0.3),
        lambda m: annulus_inertia(m, outer_radius=0.3, inner_radius=0.2),
        lambda m: spokes_inertia(m, rim_radius=0.3, hub_radius=0.02),
        lambda m: diametral_inertia(0.1, mass=m),
        lambda m: equivalent_mass(m, inertia=0.1, radius=0.3),
    ):
        with pytest.raises(DomainError, match=r"mass at index \(1,\) is"):
            call(np.array([1.0, mass]))


def test_a_ring_turned_inside_out_is_refused() -> None:
    with pytest.raises(DomainError, match=r"outer_radius - inner_radius is -0.1 m"):
        annulus_inertia(1.0, outer_radius=0.2, inner_radius=0.3)
