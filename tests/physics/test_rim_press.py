"""Pressed rings and the press test of motorcycle rims."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from configopt.catalog.catalog import load_catalog
from configopt.errors import DomainError
from configopt.physics.rim_press import press_deflection, press_load, press_reserve, ring_press_stiffness
from configopt.sizes import parse_rim_size

CATALOGS = Path(__file__).parents[2] / "catalogs"


def test_the_pressed_ring_is_castiglianos() -> None:
    # Moment P R/2 (sin t - 2/pi) at the angle t from the load; delta = integral of M (dM/dP) R/(E I) over the ring.
    shortening = 4.0 * quad(lambda t: (0.5 * (np.sin(t) - 2.0 / np.pi)) ** 2, 0.0, 0.5 * np.pi)[0]
    assert float(ring_press_stiffness(1.0, radius=1.0)) == pytest.approx(1.0 / shortening, rel=1e-12)


@given(st.floats(10.0, 1e5), st.floats(0.05, 1.0), st.floats(0.1, 10.0))
def test_the_press_stiffness_goes_with_rigidity_over_the_cube_of_the_radius(ei: float, r: float, x: float) -> None:
    base = float(ring_press_stiffness(ei, radius=r))
    assert float(ring_press_stiffness(ei * x, radius=r)) == pytest.approx(base * x, rel=1e-12)
    assert float(ring_press_stiffness(ei, radius=r * x)) == pytest.approx(base / x**3, rel=1e-12)


@given(st.floats(4.0, 30.0), st.floats(4.0, 30.0))
def test_larger_rims_are_pressed_no_less(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert press_deflection(low) <= press_deflection(high)


def test_wider_rims_bear_no_less() -> None:
    loads = press_load([1.10, 1.20, 1.40, 1.50, 1.60, 1.85, 2.15, 2.50, 2.51, 3.00, 5.50])
    assert np.all(np.diff(loads) >= 0.0)


def test_widths_in_metres_come_back_as_codes_of_the_table() -> None:
    for code in ("1.40", "1.60", "1.85", "2.15", "2.50", "2.75"):
        width = parse_rim_size(f"WM {code}x18").width / 0.0254
        assert float(press_load(width)) == float(press_load(float(code)))


def test_a_rim_at_the_floor_has_a_reserve_of_one() -> None:
    # 1.60x21: 3.43 kN at 20 mm.
    rigidity = 3430.0 / 0.020 / float(ring_press_stiffness(1.0, radius=0.26))
    got = press_reserve(rigidity, radius=0.26, diameter_code=21, width_code=1.60)
    assert float(got) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("width", [1.00, 1.75, 2.30, 5.60, float("nan")])
def test_a_width_that_the_table_does_not_list_is_refused(width: float) -> None:
    with pytest.raises(DomainError, match="width_code"):
        press_load([1.60, width])


@pytest.mark.parametrize("code", [0.0, 31.0, float("nan")])
def test_a_diameter_that_no_rim_has_is_refused(code: float) -> None:
    with pytest.raises(DomainError, match="diameter_code"):
        press_deflection(code)


def test_every_motorcycle_rim_of_the_demo_catalog_is_rigid_enough_for_the_press_test() -> None:
    sizes = [(rim, parse_rim_size(rim.size)) for rim in load_catalog(CATALOGS).rims]
    motorcycle = [(rim, size) for rim, size in sizes if size.family in ("WM", "MT")]
    assert len(motorcycle) > 10
    for rim, size in motorcycle:
        # On the bead seat's radius, beyond the centre line of the section.
        code = {"diameter_code": float(size.code), "width_code": size.width / 0.0254}
        assert press_reserve(float(rim.radial_rigidity), radius=0.5 * size.bead_diameter, **code) >= 1.0, rim.id
