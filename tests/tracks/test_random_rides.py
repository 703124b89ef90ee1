"""Points drawn at random, most of them absurd: they end in a sound result or in findings, never in anything else."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import yaml
from rides import Ride

from configopt.errors import ConfigoptError
from configopt.schemas import schema
from configopt.tracks.fragment import fragment
from configopt.tracks.ground import Ground
from configopt.tracks.settings import Settings
from configopt.tracks.terrain import TerrainResult, load_ride, terrain


def drawn(random: np.random.Generator) -> Ride:
    """Intervals from none to a day, steps from none to a thousand kilometres, elevations from level to wild."""
    count = int(random.integers(1, 200))
    waits = random.choice(
        [0.0, 0.1, 1.0, 5.0, 30.0, 300.0, 1e5, -3.0], count, p=[0.02, 0.05, 0.7, 0.1, 0.06, 0.04, 0.01, 0.02]
    )
    steps = random.choice([0.0, 1.0, 5.0, 30.0, 1000.0, 1e6], count, p=[0.1, 0.2, 0.6, 0.08, 0.01, 0.01])
    if random.random() < 0.7:
        waits, steps = np.full(count, random.choice([0.2, 1.0, 20.0, 500.0])), np.minimum(steps, 30.0)
    heading = np.cumsum(random.normal(0.0, 0.4, count))
    latitude = np.clip(random.uniform(-89.0, 89.0) + np.cumsum(steps * np.cos(heading)) / 111e3, -90.0, 90.0)
    longitude = (random.uniform(-180.0, 180.0) + np.cumsum(steps * np.sin(heading)) / 111e3 + 180.0) % 360.0 - 180.0
    elevation = np.clip(np.cumsum(random.normal(0.0, random.choice([0.0, 0.1, 0.5, 50.0]), count)), -1000.0, 20_000.0)
    time = np.cumsum(waits)
    for values in (elevation, time):
        values[random.random(count) < 0.03] = np.nan
    speed = np.clip(steps, 0.0, 1000.0) if random.random() < 0.3 else None
    return Ride(latitude, longitude, elevation, time, np.cumsum(steps), speed)


def ended(seed: int, path: Path) -> TerrainResult | None:
    """Result of a drawn ride under drawn settings; None where it ended in findings."""
    random = np.random.default_rng(seed)
    file = drawn(random).write(path / "ride.gpx")
    settings = Settings(smoothing=float(random.choice([0, 40, 3000])), undulation=float(random.choice([0, 2, 50])))
    try:
        ride = load_ride(file, float(random.choice([1.0, 1e-3, 1e6])), settings)
    except ConfigoptError as error:
        assert str(error).startswith(f"{file}:")  # noqa: PT017 - either end is sound
        return None
    return terrain([ride], Ground(rest="mud"), settings)


@pytest.mark.parametrize("seed", range(120))
def test_absurd_points_end_in_a_sound_result_or_in_findings(seed: int, tmp_path: Path) -> None:
    result = ended(seed, tmp_path)
    if result is None:
        return
    payload = json.loads(json.dumps(result.to_json(), allow_nan=False))
    jsonschema.validate(payload, schema("terrain"))
    written = yaml.safe_load(fragment(result))["terrains"]
    assert sum(Decimal(part["share"].removesuffix(" %")) for part in written) == 100
    assert all(float(part["speed"].removesuffix(" km/h")) > 0.0 for part in written)


def test_enough_of_them_end_in_a_result_for_the_test_to_mean_something(tmp_path: Path) -> None:
    assert sum(ended(seed, tmp_path) is not None for seed in range(40)) >= 10
