"""R. Limpert, Brake Design and Safety: repeated stops, drag braking, share of the heat that the disc takes.  From
memory.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics.rotor_heat import disc_heat_share, drag_rise, effusivity, repeated_stops_rise


@pytest.mark.parametrize("stops", [pytest.param([1, 4, 15], id="dT (1 - q^n)/(1 - q) after n stops - from memory")])
def test_repeated_stops(stops: list[int]) -> None:
    q = math.exp(-45.0 / 150.0)
    book = [60.0 * (1 - q**n) / (1 - q) for n in stops]
    assert repeated_stops_rise(60.0, stops=stops, interval=45.0, time_constant=150.0) == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize("times", [pytest.param([10.0, 60.0, 600.0], id="(P/hA)(1 - exp(-hA t/(m c))) - from memory")])
def test_drag_braking(times: list[float]) -> None:
    book = [600.0 / 1.5 * (1 - math.exp(-1.5 * t / (0.2 * 460.0))) for t in times]
    assert drag_rise(600.0, hA=1.5, time=times, mass=0.2, specific_heat=460.0) == pytest.approx(book, rel=1e-12)


@pytest.mark.parametrize(
    "pad", [pytest.param((2000.0, 1000.0, 1.0), id="e_d/(e_d + e_p), e = sqrt(rho c k) - from memory")]
)
def test_share_of_the_disc(pad: tuple[float, float, float]) -> None:
    disc_book, pad_book = (math.sqrt(rho * c * k) for rho, c, k in ((7740.0, 460.0, 24.9), pad))
    disc = effusivity(density=7740.0, specific_heat=460.0, conductivity=24.9)
    other = effusivity(density=pad[0], specific_heat=pad[1], conductivity=pad[2])
    share = disc_heat_share(disc_effusivity=disc, pad_effusivity=other)
    assert float(share) == pytest.approx(disc_book / (disc_book + pad_book), rel=1e-12)
