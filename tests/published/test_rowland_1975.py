"""D. Rowland, "A review of vehicle design for soft-ground operation", 5th ISTVS Conference, Detroit 1975.
Every check from memory.
"""

from __future__ import annotations

import math

import pytest

from configopt.physics import vehicle_cone_index as vci


@pytest.mark.parametrize(
    ("layout", "axles", "factor"),
    [
        pytest.param("2 axles, all driven", 2, 3.65, id="K 3.65, two axles, all driven - from memory"),
        pytest.param("3 axles, all driven", 3, 3.90, id="K 3.90, three axles, all driven - from memory"),
        pytest.param("4 axles, all driven", 4, 4.10, id="K 4.10, four axles, all driven - from memory"),
        pytest.param("2 axles, one driven", 2, 4.40, id="K 4.40, two axles, one driven - from memory"),
    ],
)
def test_mean_maximum_pressure_of_wheels(layout: str, axles: int, factor: float) -> None:
    """K W/(2 m b^0.85 d^1.15 sqrt(delta/h)) with 20 kN an axle, b 0.30 m, d 0.90 m, delta/h 0.2; in kPa."""
    book = factor * 20 * axles / (2 * axles * 0.30**0.85 * 0.90**1.15 * math.sqrt(0.2))
    got = vci.rowland_wheel_pressure(
        20e3 * axles,
        axle_factor=vci.ROWLAND_AXLE_FACTORS[layout],
        wheels=2 * axles,
        width=0.30,
        diameter=0.90,
        deflection_ratio=0.2,
    )
    assert got / 1e3 == pytest.approx(book, rel=1e-12)


LIMITS = [
    ("wet fine-grained soil, temperate", (150, 200, 300)),
    ("wet fine-grained soil, tropical", (90, 140, 240)),
    ("muskeg", (30, 50, 60)),
    ("muskeg floating mat, bog", (5, 10, 15)),
    ("snow", (10, 25, 40)),
]


@pytest.mark.parametrize(
    ("ground", "grade", "printed"),
    [
        pytest.param(ground, grade, kilopascal, id=f"{ground}, {grade}: {kilopascal} kPa - from memory")
        for ground, row in LIMITS
        for grade, kilopascal in zip(("ideal", "satisfactory", "maximum"), row, strict=True)
    ],
)
def test_pressure_limits_of_soft_grounds(ground: str, grade: str, printed: float) -> None:
    """For snow the satisfactory value is printed as 25 to 30 kPa; the lower end is kept."""
    assert getattr(vci.ROWLAND_LIMITS[ground], grade) == pytest.approx(1e3 * printed)
