"""The chassis designer's data: as the schema says, and every number that of the choice or of the parts."""

from __future__ import annotations

import io

import ezdxf
import jsonschema
import pytest
from sheets import Sheet

from configopt.schemas import schema
from configopt.sheet.envelope import LAYERS, envelope_dxf


def test_the_data_keeps_to_its_schema(sheet: Sheet) -> None:
    jsonschema.validate(sheet.made.results.documents["chassis"], schema("chassis"))


def test_figures_of_the_choice_are_taken_over_as_they_are(sheet: Sheet) -> None:
    data = sheet.made.results.documents["chassis"]
    for mine, entry in zip(data["vehicles"], sheet.payload["vehicles"], strict=True):
        for key in ("trail_mm", "ground_clearance_mm", "break_over_angle_deg", "top_speed_km_h", "steering_moment_n_m"):
            assert mine[key] == entry[key]
        assert mine["packages_mass_kg"] == entry["mass_kg"]
        for key, value in mine["window"].items():
            assert value == entry["chassis"][key]
        for wheel in mine["wheels"]:
            package = next(row for row in entry["packages"] if row["position"] == wheel["position"])
            for key in ("static_load_n", "mass_kg", "unsprung_mass_kg", "inertia_kg_m2", "loaded_radius_mm"):
                assert wheel[key] == package[key]
            assert wheel["diametral_inertia_kg_m2"] == entry["chassis"][f"diametral_inertia_{wheel['position']}_kg_m2"]
    # Those of the appraisal, and what the sheet adds to them.
    assert {*sheet.payload["cautions"]} - {*data["cautions"]} == {
        text for text in sheet.payload["cautions"] if "rated at its reference pressure" in text
    }


def test_room_in_the_frame_is_what_the_tire_leaves(sheet: Sheet) -> None:
    for wheel in sheet.made.results.documents["chassis"]["vehicles"][0]["wheels"]:
        axle = getattr(sheet.case.vehicle, wheel["position"])
        around = 0.5 * (1e3 * float(axle.tire_diameter_max) - wheel["tire_diameter_mm"])
        beside = 0.5 * (1e3 * float(axle.tire_width_max) - wheel["tire_width_mm"])
        assert wheel["room_around_tire_mm"] == pytest.approx(around)
        assert wheel["room_beside_tire_mm"] == pytest.approx(beside)
        assert wheel["room_around_tire_mm"] >= 0.0
        assert wheel["hub_width_mm"] == pytest.approx(1e3 * float(axle.hub_width))


def test_a_rotor_on_a_solid_axle_is_said_to_sit_there(quad: Sheet) -> None:
    wheels = {row["position"]: row for row in quad.made.results.documents["chassis"]["vehicles"][0]["wheels"]}
    for position, wheel in wheels.items():
        solid = getattr(quad.case.vehicle, position).brake.axle_rotor_pattern is not None
        assert (wheel["rotor_seat"] == "solid axle") == solid
    assert {wheel["rotor_seat"] for wheel in wheels.values()} == {"hub", "solid axle"}


def test_the_outlines_as_dxf_are_sound_and_full_size(sheet: Sheet) -> None:
    made = envelope_dxf(sheet.made.shapes)
    drawing = ezdxf.read(io.StringIO(made.decode("utf-8")))
    assert not drawing.audit().errors
    assert drawing.units == ezdxf.units.MM
    space = drawing.modelspace()
    assert {mark.dxf.layer for mark in space} <= set(LAYERS)
    tires = [mark.dxf.radius for mark in space.query('CIRCLE[layer=="TIRE"]')]
    assert tires == pytest.approx([0.5 * shape.tire_diameter for _, shape, _ in sheet.made.shapes])
    rotors = [2.0 * mark.dxf.radius for mark in space.query('CIRCLE[layer=="ROTOR"]')]
    for _, shape, _ in sheet.made.shapes:
        assert shape.rotor_diameter is None or any(abs(size - shape.rotor_diameter) < 1e-9 for size in rotors)
    sections = space.query('LWPOLYLINE[layer=="TIRE"]')
    # Two of each wheel, above and below the axle.
    assert len(sections) == 2 * len(sheet.made.shapes)
    for number, (_, shape, _) in enumerate(sheet.made.shapes):
        across = [x for x, *_ in sections[2 * number].get_points()]
        assert max(across) - min(across) == pytest.approx(shape.tire_width)


def test_the_room_of_a_caliper_cuts_no_spoke_and_stays_inside_the_fork(sheet: Sheet) -> None:
    for _, shape, _ in sheet.made.shapes:
        if shape.rotor_diameter is None:
            continue
        left, right = shape.caliper_sides
        half = 0.5 * shape.rotor_thickness
        assert left <= shape.rotor_offset - half < shape.rotor_offset + half <= right
        assert left >= min(shape.hub_middle - 0.5 * shape.hub_width, shape.rotor_offset - half)
        if shape.spoking is None:
            assert right <= max(shape.stud_face, shape.rotor_offset + half)
            continue
        flange, seat = 0.5 * shape.spoking.left_circle, 0.5 * shape.spoking.nipple_seat
        low = 0.5 * shape.rotor_diameter - shape.pad_height - 2.0
        for radius in (low, low + 10.0, 0.5 * shape.rotor_diameter + 12.0):
            share = min(max((radius - flange) / (seat - flange), 0.0), 1.0)
            spoke = -shape.spoking.left_offset + share * (shape.spoking.left_offset - 2.0)
            assert right < spoke


def test_what_was_assumed_lies_on_layers_of_estimates(sheet: Sheet) -> None:
    drawing = ezdxf.read(io.StringIO(envelope_dxf(sheet.made.shapes).decode("utf-8")))
    space = drawing.modelspace()
    assert not space.query('LWPOLYLINE[layer=="ROTOR"]')
    assert not space.query('LWPOLYLINE[layer=="HUB"]')
    assert space.query('LWPOLYLINE[layer=="HUB_BODY_ESTIMATE"]')
    drawn = [shape for _, shape, _ in sheet.made.shapes if not shape.rotor_on_axle]
    assert len(space.query('LWPOLYLINE[layer=="ROTOR_PLACE_ESTIMATE"]')) == 2 * len(drawn)
