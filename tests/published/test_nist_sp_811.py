"""A. Thompson, B. N. Taylor, Guide for the Use of the International System of Units (SI), NIST Special Publication 811,
2008, Appendix B.8: conversion factors, as printed to seven digits.  From memory.
"""

from __future__ import annotations

import math

import pytest

from configopt.quantities import from_unit

# unit, dimension where the name alone does not tell it, printed factor
FACTORS = [
    ("psi", None, "6.894757 E+03"),
    ("bar", None, "1.0 E+05"),
    ("mbar", None, "1.0 E+02"),
    ("lbf", None, "4.448222 E+00"),
    ("lbf ft", None, "1.355818 E+00"),
    ("lbf in", None, "1.129848 E-01"),
    ("lbf/in", None, "1.751268 E+02"),
    ("lb", None, "4.535924 E-01"),
    ("oz", None, "2.834952 E-02"),
    ("in", None, "2.54 E-02"),
    ("ft", None, "3.048 E-01"),
    ("mi", None, "1.609344 E+03"),
    ("in2", None, "6.4516 E-04"),
    ("in3", None, "1.638706 E-05"),
    ("mph", None, "4.4704 E-01"),
    ("km/h", None, "2.777778 E-01"),
    ("ft/s2", None, "3.048 E-01"),
    ("deg", None, "1.745329 E-02"),
    ("rpm", None, "1.047198 E-01"),
    ("kWh", None, "3.6 E+06"),
]


@pytest.mark.parametrize(("unit", "dimension", "printed"), FACTORS, ids=[f"{f[0]}: {f[2]}" for f in FACTORS])
def test_a_unit_has_the_printed_factor(unit: str, dimension: str | None, printed: str) -> None:
    factor = float(printed.replace(" ", ""))
    digit = 10.0 ** (math.floor(math.log10(factor)) - 6)
    assert from_unit(1.0, unit, dimension) == pytest.approx(factor, abs=0.5 * digit * (1 + 1e-9))
