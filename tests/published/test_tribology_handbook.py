"""M. J. Neale (ed.), The Tribology Handbook, Table 8.10: disc brake pads, resin-based and sintered."""

from __future__ import annotations

import pytest

from configopt.physics.materials import PAD_MATERIALS

KINDS = ["resin", "sintered"]


@pytest.mark.parametrize(("kind", "friction"), [("resin", 0.32), ("sintered", 0.30)], ids=KINDS)
def test_friction_is_the_printed_one(kind: str, friction: float) -> None:
    assert PAD_MATERIALS[kind].friction == friction


@pytest.mark.parametrize("kind", KINDS)
def test_the_operating_temperature_is_300_celsius(kind: str) -> None:
    assert PAD_MATERIALS[kind].operating_temperature - 273.15 == pytest.approx(300.0, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_the_highest_temperature_is_650_celsius(kind: str) -> None:
    assert PAD_MATERIALS[kind].highest_temperature - 273.15 == pytest.approx(650.0, abs=1e-9)


@pytest.mark.parametrize(("kind", "pressure"), [("resin", 1750e3), ("sintered", 3500e3)], ids=KINDS)
def test_the_upper_working_pressure_is_the_printed_one(kind: str, pressure: float) -> None:
    assert PAD_MATERIALS[kind].working_pressure == (350e3, pressure)


@pytest.mark.parametrize("kind", KINDS)
def test_the_highest_pressure_is_5_5_meganewtons_per_square_metre(kind: str) -> None:
    assert PAD_MATERIALS[kind].highest_pressure == 5.5e6
