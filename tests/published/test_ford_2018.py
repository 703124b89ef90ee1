"""M. Ford, Reinventing the Wheel: Stress Analysis, Stability, and Optimization of the Bicycle Wheel.

PhD thesis, Northwestern University, 2018.  Read in its chapter sources; equations are named by their labels there.  The
standard research wheel: R 304 mm, rim E I 111 +- 9 in its plane and 219 +- 40 out of it, G J 26.3 +- 1.2 N m^2, hub
width 50 mm, hole circle 58 mm, 36 radial butted spokes of 276 mm.
"""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics.rim_press import RING_FACTOR
from configopt.physics.slack_spokes import first_slack_radial_load, first_slack_side_load
from configopt.physics.spoke_foundation import Foundation, SpokeSide, spoke_foundation, spoke_side
from configopt.physics.spokes import effective_spoke_diameter, spoke_length, spoke_rigidity
from configopt.physics.wheel_buckling import best_tension, critical_pull, rim_buckling_load
from configopt.physics.wheel_stiffness import (
    Compliance,
    radial_stiffness,
    rim_compliance,
    rim_mode,
    tangential_stiffness,
)

# Appendix on wheel properties: double-butted spoke, 1.99 mm ends, 1.72 mm over 205 of 276 mm.
EFFECTIVE = effective_spoke_diameter(1.99e-3, middle_diameter=1.72e-3, length=0.276, middle_length=0.205)
STANDARD = {"rim_radius": 0.304, "radial_rigidity": 111.0, "lateral_rigidity": 219.0, "torsional_rigidity": 26.3}


def side(tension: float, *, offset: float = 0.025, hub: float = 0.029) -> SpokeSide:
    return spoke_side(
        18,
        rigidity=spoke_rigidity(EFFECTIVE),
        tension=tension,
        flange_offset=offset,
        flange_radius=hub,
        rim_radius=0.304,
        crossings=0,
    )


def standard(tension: float, **rim: float) -> Compliance:
    spokes = side(tension)
    return rim_compliance(spoke_foundation(spokes, spokes, rim_radius=0.304), **{**STANDARD, **rim})


def bare(
    lateral: float = 1e5, *, radius: float = 0.3, bending: float = 1e12, torsion: float = 1e12, pull: float = 0.0
) -> float:
    """Lateral stiffness on a given foundation with equal sides."""
    found = Foundation(lateral, 0.0, 3.5e7, 0.0, pull)
    rim = {"radial_rigidity": 111.0, "lateral_rigidity": bending, "torsional_rigidity": torsion}
    return float(1.0 / rim_compliance(found, rim_radius=radius, **rim).lateral)


def test_the_standard_wheel_is_built_with_276_mm_spokes() -> None:
    # Table of the standard research wheel: radial lacing, R 304 mm, hole circle 58 mm, hub width 50 mm.  R is the
    # radius of the rim's shear centre rather than that of the spoke ends, hence a millimetre.
    length = spoke_length(0.025, flange_radius=0.029, rim_radius=0.304, crossings=0, spokes_per_side=18)
    assert float(length) * 1e3 == pytest.approx(276.0, abs=1.0)


def test_the_effective_diameter_of_the_butted_spoke_is_1_78_mm() -> None:
    assert float(EFFECTIVE) * 1e3 == pytest.approx(1.78, abs=0.005)


def test_the_rigidity_of_the_butted_spoke_is_522_kilonewtons() -> None:
    # Same appendix, table value, E = 210 GPa.
    assert float(spoke_rigidity(EFFECTIVE, modulus=210e9)) / 1e3 == pytest.approx(522.0, abs=0.5)


def test_the_radial_foundation_of_the_standard_wheel_is_35_3_newtons_per_square_millimetre() -> None:
    # Equation kbar_symm_radial without tension; computed from the table's data.
    found = spoke_foundation(side(0.0), side(0.0), rim_radius=0.304)
    assert float(found.radial) / 1e6 == pytest.approx(35.3, abs=0.05)


def test_the_standard_wheel_has_a_radial_stiffness_of_4_44_kilonewtons_per_millimetre() -> None:
    # Equation Krad, its bracket with the sign that a stiffness needs; computed from the table's data.
    assert float(1.0 / standard(0.0).radial) / 1e6 == pytest.approx(4.44, abs=0.005)


def test_the_modern_wheel_has_a_lateral_stiffness_of_121_newtons_per_millimetre() -> None:
    # Table of example wheels (tab:wheels): G J 94.0, E I 206, pi R k_uu 304 N/mm; R 305 mm from the table of rims.
    stiffness = bare(304e3 / (np.pi * 0.305), radius=0.305, bending=206.0, torsion=94.0)
    assert stiffness / 1e3 == pytest.approx(121.0, abs=0.5)


def test_a_rigid_rim_reaches_two_thirds_of_the_spokes_stiffness() -> None:
    # Equation Klat_stiff_rim: (2/3) pi R k_uu.
    assert bare(1e5, radius=0.305) == pytest.approx(2.0 / 3.0 * np.pi * 0.305 * 1e5, rel=1e-6)


def test_the_standard_rim_resists_two_waves_with_71_newtons_per_millimetre() -> None:
    # Chapter on buckling under tension, results: 71 N/mm.  Both rigidities at either end of their printed uncertainty.
    low, high = (
        float(rim_mode(2, rim_radius=0.304, lateral_rigidity=bending, torsional_rigidity=torsion))
        for bending, torsion in ((179.0, 25.1), (259.0, 27.5))
    )
    assert low < 71e3 < high
    assert float(rim_mode(2, rim_radius=0.304, lateral_rigidity=219.0, torsional_rigidity=26.3)) == pytest.approx(
        71e3, abs=1e3
    )


def test_the_stiffness_measured_at_1067_newtons_lies_between_those_of_the_softest_and_the_stiffest_rim() -> None:
    # Section on lateral stiffness and spoke tension: 76.5 N/mm measured, rim rigidities at their printed uncertainty.
    soft = 1.0 / standard(1067.0, lateral_rigidity=179.0, torsional_rigidity=25.1).lateral
    stiff = 1.0 / standard(1067.0, lateral_rigidity=259.0, torsional_rigidity=27.5).lateral
    assert float(soft) / 1e3 < 76.5 < float(stiff) / 1e3


def test_two_waves_lose_three_pi_of_stiffness_by_the_pull_of_the_spokes() -> None:
    # Chapter on buckling under tension, results: about -3 pi = -9.42 by Kn_buckling; exact where the spokes lie in the
    # wheel's plane and meet in its centre.
    tight, slack = side(1000.0, offset=0.0, hub=1e-9), side(0.0, offset=0.0, hub=1e-9)
    found = spoke_foundation(tight, tight, rim_radius=0.304)
    gained = float(found.lateral) - float(spoke_foundation(slack, slack, rim_radius=0.304).lateral)
    assert np.pi * (0.304 * gained / float(found.pull) - 4.0) == pytest.approx(-9.42, abs=0.005)


def test_a_ring_held_by_spokes_in_its_plane_folds_at_twelve_mu_over_one_plus_four_mu() -> None:
    # Equation tc_Hencky, there after Timoshenko and Gere: all spokes in the plane and meeting in the centre.
    spokes = side(1000.0, offset=0.0, hub=1e-9)
    for torsion in (5.0, 26.3, 219.0, 500.0):
        pull = critical_pull(spokes, spokes, **{**STANDARD, "torsional_rigidity": torsion})
        mu = torsion / 219.0
        assert float(pull) * 0.304**3 / 219.0 == pytest.approx(12.0 * mu / (1.0 + 4.0 * mu), rel=1e-6)


def test_the_critical_pull_of_a_rim_that_twists_easily_is_1_89_of_its_scale() -> None:
    # Equation Tc_lo_mu: 1.89 (G J/R)^(1/3) k_uu^(2/3) for many waves n, n^2 >> 1 and mu n^2 << 1.  Tolerance: the
    # relative error of this, of the order of 1/n^2 and of mu n^2, at n = 12 both below 0.015.
    foundation = float(spoke_foundation(side(1.0), side(1.0), rim_radius=0.304).lateral)
    bending = 1e4
    torsion = foundation * 0.304**4 / (2.0 * 12.0**6)  # n = (lambda/(2 mu))^(1/6)
    assert torsion / bending * 144.0 < 0.015
    rim = {**STANDARD, "radial_rigidity": 1e-3, "lateral_rigidity": bending, "torsional_rigidity": torsion}
    pull = float(critical_pull(side(1.0), side(1.0), **rim))
    assert pull / ((torsion / 0.304) ** (1.0 / 3.0) * foundation ** (2.0 / 3.0)) == pytest.approx(1.89, rel=0.03)


def test_the_critical_pull_on_stiff_spokes_is_that_of_a_straight_beam() -> None:
    # Equation Tc_hi_k: 2 sqrt(k_uu E I_2)/R for n^2 >> 1 and mu of order 1.  Tolerance: 1/n^2, at n = 12 below 0.01,
    # here of three terms: n^2 - 1, (n^2 - 1)^2 and mu n^2/(1 + mu n^2).
    foundation = float(spoke_foundation(side(1.0), side(1.0), rim_radius=0.304).lateral)
    bending = foundation * 0.304**4 / 12.0**4  # n = lambda^(1/4)
    rim = {**STANDARD, "lateral_rigidity": bending, "torsional_rigidity": bending}
    pull = float(critical_pull(side(1.0), side(1.0), **rim))
    assert pull == pytest.approx(2.0 * np.sqrt(foundation * bending) / 0.304, rel=0.03)


def test_equal_sides_slacken_under_a_side_load_of_the_stiffness_times_the_stretch() -> None:
    # Equation Pc_lat: K_lat(T) T/(K_s c_1).
    spokes, rim = side(800.0), standard(800.0)
    stretch = 800.0 / float(spokes.stiffness * spokes.lateral)
    load = first_slack_side_load(spokes, spokes, compliance=rim)
    assert float(load) == pytest.approx(stretch / float(rim.lateral), rel=1e-12)


def test_equal_sides_slacken_under_a_radial_load_of_the_stiffness_times_the_stretch() -> None:
    # Equation P_sb: K_rad T/(K_s c_2).
    spokes, rim = side(800.0), standard(800.0)
    stretch = 800.0 / float(spokes.stiffness * spokes.radial)
    load = first_slack_radial_load(spokes, spokes, compliance=rim)
    assert float(load) == pytest.approx(stretch / float(rim.radial), rel=1e-12)


def test_the_best_tension_for_side_loads_is_half_the_critical_one() -> None:
    # Chapter on external loads: T_opt = 0.5 T_c.
    assert float(best_tension(900.0, reserve=3.0)) == pytest.approx(0.5 * 2700.0)


def test_the_rim_folds_under_its_lateral_stiffness_times_its_radius() -> None:
    # Equation P_c_T: P_c/(K_lat R) = 1 - T/T_c.
    assert float(rim_buckling_load(1e5, rim_radius=0.3, reserve=4.0)) == pytest.approx(0.75 * 1e5 * 0.3)


def test_the_wheel_winds_up_like_a_rigid_rim_on_its_tangential_foundation() -> None:
    # Equation Ktan: 2 pi R k_ww.
    assert float(tangential_stiffness(2e5, rim_radius=0.304)) == pytest.approx(2.0 * np.pi * 0.304 * 2e5)


def test_a_pressed_ring_shortens_by_0_1488_of_its_scale() -> None:
    # Chapter on acoustic testing, equation def_rad: (pi - 8/pi)/4.
    assert pytest.approx(0.1488, abs=0.00005) == RING_FACTOR


def test_radial_spokes_stand_on_a_rim_of_infinite_stiffness_as_on_a_rigid_body() -> None:
    # Equation Krad in the limit lambda -> 0: K_rad/(pi R k_vv) = 1.
    assert float(radial_stiffness(3.5e7, rim_radius=0.304, radial_rigidity=1e12)) == pytest.approx(
        np.pi * 0.304 * 3.5e7, rel=1e-6
    )
