"""ISO 5751-2:2010, clause 5.2: measuring pressure, and the width of a tire on another rim."""

from __future__ import annotations

from typing import Literal

import pytest

from configopt.sizes import measuring_pressure, section_width_on_rim


@pytest.mark.parametrize(
    ("version", "symbols", "kilopascals"),
    [
        ("normal", "BJMS", 225),
        ("normal", "TUHV", 280),
        ("extra load", "BMP", 280),
        ("extra load", "QSV", 330),
        ("light load", "BSV", 175),
    ],
)
def test_the_measuring_pressure_is_that_of_the_load_version_and_the_speed_symbol(
    version: Literal["normal", "extra load", "light load"], symbols: str, kilopascals: float
) -> None:
    for symbol in symbols:
        assert measuring_pressure(symbol, version) == kilopascals * 1e3


def test_a_tire_grows_by_four_tenths_of_what_the_rim_is_wider() -> None:
    # U' = U_m + 0.4 (R - R_m)
    wider = section_width_on_rim(section_width=0.110, measuring_rim_width=0.055, rim_width=0.065)
    assert (wider - 0.110) / 0.010 == pytest.approx(0.4, abs=0.05)
