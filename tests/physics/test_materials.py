"""Tables of materials are complete and in kelvin."""

from __future__ import annotations

import dataclasses

import pytest

from configopt.physics.materials import BRAKE_FLUIDS, PAD_MATERIALS, ROTOR_STEELS, STRUCTURAL_MATERIALS


def test_the_rotor_steels_are_the_four_of_the_trade() -> None:
    assert set(ROTOR_STEELS) == {"410", "420", "12Cr-Nb", "1018"}


def test_every_material_names_its_source() -> None:
    for table in (ROTOR_STEELS, PAD_MATERIALS, BRAKE_FLUIDS, STRUCTURAL_MATERIALS):
        assert all(entry.source for entry in table.values())


def test_temperatures_are_kelvin_and_steels_steel() -> None:
    for steel in ROTOR_STEELS.values():
        assert 600.0 < steel.warning_temperature < 900.0
        assert 7600.0 < steel.density < 8000.0
        assert 400.0 < steel.specific_heat < 550.0


def test_water_lowers_the_boiling_point_and_pads_outlast_their_operating_temperature() -> None:
    assert all(fluid.wet_boiling_point < fluid.dry_boiling_point for fluid in BRAKE_FLUIDS.values())
    for pad in PAD_MATERIALS.values():
        assert pad.operating_temperature < pad.highest_temperature
        assert pad.working_pressure[0] < pad.working_pressure[1] < pad.highest_pressure


def test_the_tables_cannot_be_edited_by_accident() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        ROTOR_STEELS["420"].density = 1.0  # type: ignore[misc]
