"""The least variances over ranges lie below every variance in the ranges, and close to them for narrow ranges."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from configopt.errors import DomainError
from configopt.physics.quarter_car import sprung_acceleration_variance, tire_force_variance
from configopt.physics.quarter_car_floor import (
    WheelRange,
    sprung_acceleration_variance_floor,
    tire_force_variance_floor,
)

Array = NDArray[np.float64]


def drawn(rng: np.random.Generator, count: int, width: float) -> tuple[WheelRange, dict[str, Array]]:
    """Ranges of a relative width, and one wheel inside each."""
    middles = {
        "stiffness": np.exp(rng.uniform(np.log(1e4), np.log(3e5), count)),
        "unsprung_mass": np.exp(rng.uniform(np.log(3.0), np.log(60.0), count)),
        "sprung_mass": np.exp(rng.uniform(np.log(5.0), np.log(300.0), count)),
    }
    road = {
        "suspension_rate": np.exp(rng.uniform(np.log(2e3), np.log(6e4), count)),
        "damping": np.exp(rng.uniform(np.log(50.0), np.log(4e3), count)),
        "speed": rng.uniform(1.0, 25.0, count),
        "roughness": np.full(count, 1e-5),
    }
    longest = rng.uniform(0.0, 0.3, count)
    ends, inside = {}, {}
    for name, middle in middles.items():
        ends[f"{name}_low"], ends[f"{name}_high"] = middle * (1.0 - width), middle * (1.0 + width)
        inside[name] = middle * (1.0 + width * rng.choice([-1.0, 1.0, 0.0, 0.5], count))
    inside["patch_length"] = longest * (1.0 - width * rng.uniform(0.0, 1.0, count))
    return WheelRange(**ends, patch_length_high=longest, **road), {**inside, **road}


@pytest.mark.parametrize("width", [0.0, 0.01, 0.1, 0.5])
def test_no_wheel_in_the_ranges_varies_less_than_the_floor(width: float) -> None:
    ranges, inside = drawn(np.random.default_rng(5), 200_000, width)
    for floor, truth in (
        (tire_force_variance_floor(ranges), tire_force_variance(**inside)),
        (sprung_acceleration_variance_floor(ranges), sprung_acceleration_variance(**inside)),
    ):
        assert (floor <= truth * (1.0 + 1e-9)).all()
        assert (floor > 0.0).all()


def test_where_the_ends_meet_the_floor_is_the_variance_of_a_light_wheel_on_a_hard_tire() -> None:
    ends = {
        f"{name}_{end}": value
        for name, value in (("stiffness", 6e4), ("unsprung_mass", 12.0), ("sprung_mass", 80.0))
        for end in ("low", "high")
    }
    road = {"suspension_rate": 8e3, "damping": 600.0, "speed": 9.0, "roughness": 4e-5}
    ranges = WheelRange(**ends, patch_length_high=0.1, **road)
    wheel = {"stiffness": 6e4, "unsprung_mass": 12.0, "sprung_mass": 80.0, "patch_length": 0.1, **road}
    assert float(tire_force_variance_floor(ranges)) == pytest.approx(float(tire_force_variance(**wheel)), rel=1e-12)
    assert float(sprung_acceleration_variance_floor(ranges)) == pytest.approx(
        float(sprung_acceleration_variance(**wheel)), rel=1e-12
    )


def test_ranges_the_wrong_way_round_are_refused() -> None:
    ranges, _ = drawn(np.random.default_rng(1), 3, 0.1)
    with pytest.raises(DomainError, match="sprung_mass_high - sprung_mass_low"):
        tire_force_variance_floor(
            WheelRange(**{**vars(ranges), "sprung_mass_low": np.array([1.0, 1.0, 1e3]), "sprung_mass_high": 500.0})
        )
