"""ISO 5775, bicycle tyres and rims: section height, diameters, pressures."""

from __future__ import annotations

import pytest

from configopt.sizes import hookless_pressure_limit, least_bicycle_pressure, parse_rim_size, parse_tire_size


# ISO 5775-1: H = W from 28 mm on, H = W + 2.5 mm below.
@pytest.mark.parametrize(("size", "millimetres"), [("28-622", 28.0), ("27-622", 29.5)])
def test_the_section_height_follows_the_width(size: str, millimetres: float) -> None:
    assert parse_tire_size(size).section_height * 1e3 == pytest.approx(millimetres, abs=0.05)


# ISO 5775-1: D = bead seat diameter + 2 H; the 57-622 as printed.
def test_the_overall_diameter_of_a_57_622_is_736_mm() -> None:
    assert parse_tire_size("57-622").overall_diameter * 1e3 == pytest.approx(736, abs=0.5)


# ISO 5775-2, bead seat diameters of the usual rims; 507 from memory.
@pytest.mark.parametrize("seat", [622, 584, 559, 507])
def test_the_bead_seat_diameter_is_the_number_of_the_designation(seat: int) -> None:
    assert parse_tire_size(f"57-{seat}").rim_diameter * 1e3 == pytest.approx(seat, abs=1e-9)
    assert parse_rim_size(f"ISO {seat}x30").bead_diameter * 1e3 == pytest.approx(seat, abs=1e-9)


# ISO 5775-1, least inflation pressure [kPa].
@pytest.mark.parametrize(
    ("size", "off_road", "kilopascals"), [("25-622", False, 300), ("47-622", False, 200), ("57-622", True, 150)]
)
def test_the_least_pressure_depends_on_width_and_use(size: str, off_road: bool, kilopascals: float) -> None:
    assert least_bicycle_pressure(parse_tire_size(size), off_road=off_road) == kilopascals * 1e3


# ISO 5775-1:2023, Table 3, highest pressure on straight-side rims [kPa], both ends of each row.
@pytest.mark.parametrize(
    ("narrow", "wide", "kilopascals"),
    [
        (18, 24, 550),
        (25, 29, 500),
        (30, 34, 450),
        (35, 39, 400),
        (40, 44, 350),
        (45, 54, 300),
        (55, 64, 250),
        (65, 74, 200),
        (75, 84, 150),
    ],
)
def test_the_highest_pressure_on_a_hookless_rim_is_that_of_the_table(
    narrow: int, wide: int, kilopascals: float
) -> None:
    for width in (narrow, wide):
        assert hookless_pressure_limit(parse_tire_size(f"{width}-622")) == kilopascals * 1e3
