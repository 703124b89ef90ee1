"""J. Y. Wong, "Theory of Ground Vehicles", 4th ed., Wiley 2008, chapter 2.

Inputs are printed rows of Table 2.3 (terrain values); the book's equations are evaluated here in its own units
(kN, kPa, m) and compared with the project's functions in SI.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest
from scipy.integrate import quad

from configopt.physics import grip, soft_ground


class Terrain(NamedTuple):
    """One row of Table 2.3: n, k_c [kN/m^(n+1)], k_phi [kN/m^(n+2)], c [kPa], phi [deg]."""

    n: float
    kc: float
    kphi: float
    c: float
    phi: float

    def keq(self, b: float) -> float:
        return self.kc / b + self.kphi

    @property
    def si(self) -> dict[str, float]:
        return {"cohesive_modulus": 1e3 * self.kc, "frictional_modulus": 1e3 * self.kphi, "exponent": self.n}

    @property
    def shear(self) -> dict[str, float]:
        return {"cohesion": 1e3 * self.c, "friction_angle": math.radians(self.phi)}


TABLE = [
    Terrain(1.10, 0.99, 1528.43, 1.04, 28.0),  # dry sand (LLL)
    Terrain(0.70, 5.27, 1515.04, 1.72, 29.0),  # sandy loam 15 % (LLL)
    Terrain(0.50, 13.19, 692.15, 4.14, 13.0),  # clayey soil 38 % (Thailand)
    Terrain(1.60, 4.37, 196.72, 1.03, 19.7),  # snow (U.S.)
    Terrain(1.44, 10.55, 66.08, 6.0, 20.7),  # snow (Sweden)
    Terrain(0.30, 2.79, 141.11, 13.79, 22.0),  # sandy loam 26 % (Hanamoto)
    Terrain(1.01, 0.06, 5880.0, 3.1, 29.8),  # Grenville loam 24 %
    Terrain(1.00, 1.4, 820.0, 0.17, 35.0),  # lunar nominal soil
]
B, D, W = 0.20, 0.635, 1.0  # a light quad's wheel [m, m, kN]


def wheel(row: Terrain) -> dict[str, float]:
    return {"width": B, "diameter": D, "modulus": 1e3 * row.keq(B), "exponent": row.n}


def book_sinkage(row: Terrain) -> float:
    return (3 * W / (B * (3 - row.n) * row.keq(B) * math.sqrt(D))) ** (2 / (2 * row.n + 1))


def soft_wheel(row: Terrain, pressure: float) -> soft_ground.WheelOnSoil:
    return soft_ground.wheel_on_soil(
        1e3 * W, pressure=1e3 * pressure, width=B, diameter=D, firm_patch_length=B, **row.si
    )


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="p = (kc/b + kphi) z^n")])
def test_pressure_sinkage_relation(rows: list[Terrain]) -> None:
    for row in rows:
        k = soft_ground.soil_modulus(1e3 * row.kc, 1e3 * row.kphi, smaller_side=0.1)
        z = soft_ground.plate_sinkage(20e3, modulus=k, exponent=row.n)
        assert row.keq(0.1) * z**row.n == pytest.approx(20.0, rel=1e-10)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="z0 = [3W/(b(3-n) keq sqrt D)]^(2/(2n+1))")])
def test_rigid_wheel_sinkage(rows: list[Terrain]) -> None:
    for row in rows:
        assert soft_ground.rigid_sinkage(1e3 * W, **wheel(row)) == pytest.approx(book_sinkage(row), rel=1e-10)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="Rc = b integral of p dz")])
def test_rigid_wheel_resistance_is_the_work_of_compaction(rows: list[Terrain]) -> None:
    for row in rows:
        work, _ = quad(lambda z, r=row: r.keq(B) * z**r.n, 0.0, book_sinkage(row))
        assert soft_ground.rigid_compaction(1e3 * W, **wheel(row)) / 1e3 == pytest.approx(B * work, rel=1e-6)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="closed form of Rc - from memory")])
def test_rigid_wheel_resistance_in_closed_form(rows: list[Terrain]) -> None:
    for row in rows:
        n = row.n
        power = (2 * n + 2) / (2 * n + 1)
        closed = (3 * W / math.sqrt(D)) ** power / (
            (3 - n) ** power * (n + 1) * B ** (1 / (2 * n + 1)) * row.keq(B) ** (1 / (2 * n + 1))
        )
        assert soft_ground.rigid_compaction(1e3 * W, **wheel(row)) / 1e3 == pytest.approx(closed, rel=1e-10)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="pgcr = keq^(1/(2n+1)) [3W/((3-n) b sqrt D)]^(2n/(2n+1))")])
def test_critical_ground_pressure(rows: list[Terrain]) -> None:
    for row in rows:
        n = row.n
        book = row.keq(B) ** (1 / (2 * n + 1)) * (3 * W / ((3 - n) * B * math.sqrt(D))) ** (2 * n / (2 * n + 1))
        assert soft_ground.critical_pressure(1e3 * W, **wheel(row)) / 1e3 == pytest.approx(book, rel=1e-10)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="rigid above pgcr, flattened below")])
def test_the_tire_turns_rigid_above_the_critical_pressure(rows: list[Terrain]) -> None:
    for row in rows:
        critical = row.keq(B) * book_sinkage(row) ** row.n
        assert not soft_wheel(row, 0.99 * critical).rigid
        hard = soft_wheel(row, 1.01 * critical)
        assert hard.rigid
        assert hard.sinkage == pytest.approx(book_sinkage(row), rel=1e-9)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="z0 = [(pi + pc)/keq]^(1/n)")])
def test_flattened_tire_sinkage(rows: list[Terrain]) -> None:
    for row in rows:
        got = soft_wheel(row, 20.0).sinkage
        assert got == pytest.approx((20.0 / row.keq(B)) ** (1 / row.n), rel=1e-10)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="Rc = b p^((n+1)/n)/((n+1) keq^(1/n)) - from memory")])
def test_flattened_tire_resistance(rows: list[Terrain]) -> None:
    for row in rows:
        n = row.n
        book = B * 20.0 ** ((n + 1) / n) / ((n + 1) * row.keq(B) ** (1 / n))
        assert soft_wheel(row, 20.0).compaction / 1e3 == pytest.approx(book, rel=1e-10)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="lt = W/(b (pi + pc))")])
def test_flattened_tire_contact_length(rows: list[Terrain]) -> None:
    for row in rows:
        assert soft_wheel(row, 20.0).patch_length == pytest.approx(W / (B * 20.0), rel=1e-12)


@pytest.mark.parametrize("rows", [pytest.param(TABLE, id="Fmax = A c + W tan phi")])
def test_maximum_thrust(rows: list[Terrain]) -> None:
    for row in rows:
        book = 0.03 * row.c + W * math.tan(math.radians(row.phi))
        assert grip.maximum_thrust(1e3 * W, area=0.03, **row.shear) / 1e3 == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("k", [pytest.param([0.012, 0.025, 0.010], id="F = Fmax (1 - K/(il)(1 - exp(-il/K)))")])
def test_thrust_against_slip(k: list[float]) -> None:
    """K of LETE sand, loose dry sand and clayey soil."""
    row = TABLE[0]
    for modulus in k:
        top = 0.03 * row.c + W * math.tan(math.radians(row.phi))
        for slip in (0.05, 0.2, 0.6):
            book = top * (1 - modulus / (slip * 0.15) * (1 - math.exp(-slip * 0.15 / modulus)))
            got = grip.soil_thrust(1e3 * W, slip=slip, area=0.03, length=0.15, shear_modulus=modulus, **row.shear)
            assert got / 1e3 == pytest.approx(book, rel=1e-10)


TRACKS = {"one": (1.0, 3.6), "two": (0.8, 4.5)}


@pytest.mark.parametrize("slip", [pytest.param(0.2, id="two tracked vehicles on snow - inputs from memory")])
def test_of_two_equal_areas_the_longer_narrower_one_resists_less_and_pulls_more(slip: float) -> None:
    """Two vehicles of 135 kN on 7.2 m2 of track in snow (U.S.); the book's conclusion, without its figures."""
    resistance, thrust = {}, {}
    row = TABLE[3]
    for name, (width, length) in TRACKS.items():
        k = soft_ground.soil_modulus(1e3 * row.kc, 1e3 * row.kphi, smaller_side=width)
        z = soft_ground.plate_sinkage(135e3 / 7.2, modulus=k, exponent=row.n)
        resistance[name] = 2 * soft_ground.compaction_resistance(z, width=width, modulus=k, exponent=row.n)
        thrust[name] = grip.soil_thrust(135e3, slip=slip, area=7.2, length=length, shear_modulus=0.05, **row.shear)
    assert resistance["two"] < resistance["one"]
    assert thrust["two"] > thrust["one"]
    assert np.all(grip.drawbar_pull(thrust["two"], resistance=resistance["two"]) > thrust["one"] - resistance["one"])
