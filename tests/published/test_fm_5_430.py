"""US Army FM 5-430-00-1 (also TM 5-330), mobility index of self-propelled wheeled vehicles, in pounds and inches.
Every check from memory.
"""

from __future__ import annotations

import pytest

from configopt.physics import vehicle_cone_index as vci

LB, IN, HP = 4.4482216, 0.0254, 745.7
# 6000 lb on two axles and four wheels, 7 in wide, 28 in tall, 9 in clearance, 60 hp (20 hp per ton).
VEHICLE = {"axles": 2, "wheels": 4, "width": 7 * IN, "diameter": 28 * IN, "clearance": 9 * IN, "power": 60 * HP}


def index(weight: float = 6000.0, **change: object) -> float:
    return float(vci.mobility_index(weight * LB, **(VEHICLE | change)))


def contact(weight: float, weight_factor: float) -> float:
    """Contact pressure factor times weight factor over tire factor."""
    return weight / (7 * 14 * 4) * weight_factor / ((10 + 7) / 100)


@pytest.mark.parametrize("line", [pytest.param((0.033, 1.05), id="0.033 w + 1.05 from 2000 lb - from memory")])
def test_mobility_index_with_the_weight_factor_of_medium_axles(line: tuple[float, float]) -> None:
    book = contact(6000, line[0] * 3.0 + line[1]) + 1.5 - 0.9
    assert index() == pytest.approx(book, rel=1e-5)


@pytest.mark.parametrize("slope", [pytest.param(0.553, id="0.553 w below 2000 lb - from memory")])
def test_mobility_index_with_the_weight_factor_of_light_axles(slope: float) -> None:
    book = contact(3000, slope * 1.5) + 0.75 - 0.9
    assert index(3000.0) == pytest.approx(book, rel=1e-5)


@pytest.mark.parametrize("factor", [pytest.param(1.05, id="grouser factor 1.05 with chains - from memory")])
def test_chains_divide_the_contact_part(factor: float) -> None:
    part = contact(6000, 0.033 * 3 + 1.05)
    assert index() - index(chains=True) == pytest.approx(part * (1 - 1 / factor), rel=1e-5)


@pytest.mark.parametrize("factor", [pytest.param(1.05, id="transmission factor 1.05 for manual - from memory")])
def test_a_manual_transmission_worsens_the_index(factor: float) -> None:
    assert index(manual_transmission=True) / index() == pytest.approx(factor)


@pytest.mark.parametrize("factor", [pytest.param(1.05, id="engine factor 1.05 below 10 hp per ton - from memory")])
def test_little_power_worsens_the_index(factor: float) -> None:
    assert index(power=29.9 * HP) / index(power=30.1 * HP) == pytest.approx(factor)


@pytest.mark.parametrize("inches", [pytest.param(10.0, id="clearance factor: tens of inches - from memory")])
def test_ten_more_inches_of_clearance_lower_the_index_by_one(inches: float) -> None:
    assert index() - index(clearance=(9 + inches) * IN) == pytest.approx(1.0, rel=1e-9)
