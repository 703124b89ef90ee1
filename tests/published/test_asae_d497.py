"""ASAE D497.4 (February 2003), "Agricultural Machinery Management Data", clause 3: traction."""

from __future__ import annotations

import numpy as np
import pytest

from configopt.physics import mobility_numbers as mobility

INSIDE = {"width": 0.3, "diameter": 1.0, "deflection_ratio": 0.2}


def remarked(change: dict[str, float], load: float = 9e3) -> list[str]:
    remarks = mobility.brixius_remarks(load, **(INSIDE | change))
    return [name for name, holds in remarks.items() if holds]


@pytest.mark.parametrize("slips", [pytest.param([0.05, 0.10, 0.20], id="TE = (NT/GT)(1 - s)")])
def test_tractive_efficiency(slips: list[float]) -> None:
    for s in slips:
        ratio = mobility.brixius_net_traction(40.0, slip=s) / mobility.brixius_gross_traction(40.0, slip=s)
        assert mobility.brixius_tractive_efficiency(40.0, slip=s) == pytest.approx(ratio * (1 - s), rel=1e-12)


@pytest.mark.parametrize(
    ("ratio", "outside"),
    [
        pytest.param(0.1, 0.099, id="b/d from 0.1"),
        pytest.param(0.7, 0.701, id="b/d to 0.7"),
    ],
)
def test_stated_range_of_width_over_diameter(ratio: float, outside: float) -> None:
    assert remarked({"width": ratio}, load=30e3 * ratio) == []
    assert remarked({"width": outside}, load=30e3 * outside) == ["width over diameter outside 0.1 to 0.7"]


@pytest.mark.parametrize(
    ("ratio", "outside"),
    [
        pytest.param(0.10, 0.099, id="deflection from 10 % of section height"),
        pytest.param(0.30, 0.301, id="deflection to 30 % of section height"),
    ],
)
def test_stated_range_of_deflection(ratio: float, outside: float) -> None:
    assert remarked({"deflection_ratio": ratio}) == []
    assert remarked({"deflection_ratio": outside}) == ["deflection outside 10 to 30 % of the section height"]


@pytest.mark.parametrize(
    ("density", "outside"),
    [
        pytest.param(15e3, 14.9e3, id="W/(b d) from 15 kPa - from memory"),
        pytest.param(55e3, 55.1e3, id="W/(b d) to 55 kPa - from memory"),
    ],
)
def test_stated_range_of_load(density: float, outside: float) -> None:
    assert remarked({}, load=density * 0.3) == []
    assert remarked({}, load=outside * 0.3) == ["load over width and diameter outside 15 to 55 kPa"]


@pytest.mark.parametrize(
    ("cone_index", "printed"),
    [
        pytest.param(1800e3, 80.0, id="hard soil: CI 1800, Bn 80 - from memory"),
        pytest.param(1200e3, 55.0, id="firm soil: CI 1200, Bn 55 - from memory"),
        pytest.param(900e3, 40.0, id="tilled soil: CI 900, Bn 40 - from memory"),
        pytest.param(450e3, 20.0, id="soft or sandy soil: CI 450, Bn 20 - from memory"),
    ],
)
def test_soil_classes_belong_to_one_tire_within_the_stated_load_range(cone_index: float, printed: float) -> None:
    """The rows are printed in steps of five; one usual tire (b/d 0.3, delta/h 0.2) must explain all of them."""
    densities = np.linspace(15e3, 55e3, 401)
    bn = mobility.brixius_numeric(densities * 0.3, cone_index=cone_index, **INSIDE)
    fits = densities[np.abs(bn - printed) <= 2.5]
    assert fits.min() <= 23.7e3 <= fits.max()
