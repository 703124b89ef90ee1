"""The drawings: measured against the parts' own figures, to one scale, with nothing lettered over anything else."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest
from sheets import Sheet

from configopt.sheet.drawing import REDUCTIONS, WIDTH, Lettering, least_reduction, wheel_drawing
from configopt.sheet.figures import shown
from configopt.sheet.wheel_shape import WheelShape, wheel_shape

POSITIONS = ("front", "rear")
#: Coordinates have three decimals of a millimetre on paper; a length has two ends.
PRINTED = 1e-3


def drawings(sheet: Sheet) -> list[tuple[str, Any, WheelShape, ET.Element]]:
    """Position, drawing, shape and the drawing's tree."""
    found = []
    for drawing in sheet.made.vehicles[0].decision.drawings:
        name = f"{sheet.made.vehicles[0].name}-{drawing.position}"
        (shape,) = [shape for one, shape, _ in sheet.made.shapes if one == name]
        found.append((drawing.position, drawing.drawn, shape, ET.fromstring(drawing.svg)))
    return found


def named(tree: ET.Element, name: str) -> list[ET.Element]:
    return [mark for mark in tree.iter() if mark.get("data-part") == name]


def circle(tree: ET.Element, name: str) -> float:
    """Diameter of a named circle on paper [mm]."""
    (mark,) = [mark for mark in named(tree, name) if mark.tag == "circle"]
    return 2.0 * float(mark.get("r", "nan"))


def points(mark: ET.Element) -> list[tuple[float, float]]:
    numbers = [float(text) for text in re.findall(r"-?[\d.]+", mark.get("d", ""))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_both_drawings_are_as_wide_as_the_paper_and_to_one_scale(sheet: Sheet) -> None:
    found = drawings(sheet)
    assert [position for position, *_ in found] == list(POSITIONS)
    assert len({drawn.reduction for _, drawn, _, _ in found}) == 1
    for _, drawn, _, tree in found:
        assert drawn.reduction in REDUCTIONS
        assert tree.get("width") == f"{WIDTH:g}mm"
        width, height = tree.get("viewBox", "").split()[2:]
        # One unit of the drawing is one millimetre of paper.
        assert (float(width), tree.get("height")) == (WIDTH, f"{height}mm")


def test_tire_rim_and_rotor_measure_what_the_catalog_says(sheet: Sheet) -> None:
    catalog, vehicle = sheet.case.catalog, sheet.payload["vehicles"][0]
    for position, drawn, _, tree in drawings(sheet):
        package = next(row for row in vehicle["packages"] if row["position"] == position)
        scale = drawn.reduction
        assert circle(tree, "tire") * scale == pytest.approx(package["diameter_mm"], abs=2 * scale * PRINTED)
        edge = (
            catalog.part("rims", package["rim"])
            if package["rim"]
            else catalog.part("disc-wheels", package["disc_wheel"])
        )
        (shape,) = [shape for p, _, shape, _ in drawings(sheet) if p == position]
        over_flanges = shape.bead_diameter + 2e3 * float(edge.flange_height)
        assert circle(tree, "rim") * scale == pytest.approx(over_flanges, abs=2 * scale * PRINTED)
        rotor = 1e3 * float(catalog.part("rotors", package["rotor"]).diameter)
        assert circle(tree, "rotor") * scale == pytest.approx(rotor, abs=2 * scale * PRINTED)
        # Where along a solid axle a rotor sits is not known: then the section does not show it.
        on_axle = getattr(sheet.case.vehicle, position).brake.axle_rotor_pattern is not None
        assert bool(named(tree, "rotor section")) != on_axle


def test_the_section_is_as_wide_and_high_as_the_tire(sheet: Sheet) -> None:
    vehicle = sheet.payload["vehicles"][0]
    for position, drawn, shape, tree in drawings(sheet):
        package = next(row for row in vehicle["packages"] if row["position"] == position)
        cut = [at for mark in named(tree, "tire section") for at in points(mark)]
        wide = max(x for x, _ in cut) - min(x for x, _ in cut)
        high = max(y for _, y in cut) - min(y for _, y in cut)
        allowed = 2 * drawn.reduction * PRINTED
        assert wide * drawn.reduction == pytest.approx(package["width_mm"], abs=allowed)
        assert high * drawn.reduction == pytest.approx(package["diameter_mm"], abs=allowed)
        rims = [at for mark in named(tree, "rim section") for at in points(mark)]
        assert (max(y for _, y in rims) - min(y for _, y in rims)) * drawn.reduction == pytest.approx(
            shape.rim_edge, abs=allowed
        )


def test_the_ground_lies_at_the_loaded_radius_and_the_bar_is_as_long_as_it_says(sheet: Sheet) -> None:
    vehicle = sheet.payload["vehicles"][0]
    for position, drawn, _, tree in drawings(sheet):
        package = next(row for row in vehicle["packages"] if row["position"] == position)
        (ground,) = named(tree, "ground")
        (tire,) = named(tree, "tire")
        down = float(ground.get("y1", "nan")) - float(tire.get("cy", "nan"))
        assert down * drawn.reduction == pytest.approx(package["loaded_radius_mm"], abs=2 * drawn.reduction * PRINTED)
        (bar,) = [mark for mark in tree.iter() if (mark.get("data-part") or "").startswith("scale bar")]
        stated = float(re.findall(r"\d+", bar.get("data-part", ""))[0])
        assert float(bar.get("x2", "nan")) * drawn.reduction == pytest.approx(stated, abs=drawn.reduction * PRINTED)


def test_every_spoke_runs_from_its_flange_to_a_hole_of_its_own(two_wheeler: Sheet) -> None:
    for position, drawn, shape, tree in drawings(two_wheeler):
        assert shape.spoking is not None
        (tire,) = named(tree, "tire")
        x, y = float(tire.get("cx", "nan")), float(tire.get("cy", "nan"))
        side = [
            mark
            for mark in tree.iter("line")
            if (mark.get("class") or "").startswith("spoke") and abs(float(mark.get("x2", "nan")) - x) < 0.5 * WIDTH
        ]
        ends = []
        for mark in side:
            out = float(mark.get("x2", "nan")) - x, float(mark.get("y2", "nan")) - y
            if abs((out[0] ** 2 + out[1] ** 2) ** 0.5 * 2 * drawn.reduction - shape.spoking.nipple_seat) < 0.1:
                ends.append(out)
        assert len(ends) == shape.spoking.holes, position
        apart = min((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 for a, b in combinations(ends, 2)) ** 0.5
        assert apart * drawn.reduction > 0.9 * 3.14159 * shape.spoking.nipple_seat / shape.spoking.holes


def test_nothing_is_lettered_over_anything_else_or_beyond_the_paper(sheet: Sheet) -> None:
    for _, drawn, _, _ in drawings(sheet):
        assert [(a.text, b.text) for a, b in combinations(drawn.boxes, 2) if a.meets(b)] == []
        assert [box.text for box in drawn.boxes if box.left < 0 or box.right > WIDTH] == []
        assert [box.text for box in drawn.boxes if box.top < 0 or box.bottom > drawn.height] == []


def test_lettering_stands_over_the_lines_that_cross_it(sheet: Sheet) -> None:
    for *_, tree in drawings(sheet):
        kinds = [mark.tag == "text" for mark in tree if mark.tag not in ("title", "desc")]
        assert kinds == sorted(kinds)
    # A border of paper around the letters interrupts those lines.
    assert re.search(r"\.drawing text \{[^}]*paint-order: stroke; stroke: var\(--paper\)", sheet.html)


def test_the_legend_names_what_is_drawn_of_today(two_wheeler: Sheet) -> None:
    for _, drawn, _, tree in drawings(two_wheeler):
        legend = [box.text for box in drawn.boxes if box.text.startswith("today's ")]
        for part in ("tire", "rim", "rotor"):
            dashed = bool(named(tree, f"today's {part}")) or bool(named(tree, f"today's {part} section"))
            assert any(re.search(rf"\b{part}\b", text) for text in legend) == dashed


def test_every_part_of_the_list_has_its_number_in_the_picture(sheet: Sheet) -> None:
    for _, drawn, _, _ in drawings(sheet):
        numbers = [box.text for box in drawn.boxes if box.text.isdigit() and len(box.text) == 1]
        counted = {text: numbers.count(text) for text in numbers}
        parts = max(int(text) for text in counted)
        # Once in the picture and once in the list; the number of rim locks may stand among the figures too.
        assert all(counted[str(number)] >= 2 for number in range(1, parts + 1))


def test_a_drawing_names_itself_for_those_who_cannot_see_it(sheet: Sheet) -> None:
    for position, _, _, tree in drawings(sheet):
        assert tree.get("role") == "img"
        told = {mark.get("id"): mark.text or "" for mark in tree if mark.tag in ("title", "desc")}
        title, description = (told[name] for name in tree.get("aria-labelledby", "").split())
        assert position in title
        assert "tire" in description


def lettered(**changes: Any) -> Lettering:
    words: dict[str, Any] = {
        "title": "front wheel",
        "description": "two views",
        "diameter": shown(690.0, "mm"),
        "width": shown(78.0, "mm"),
        "loaded_radius": shown(322.0, "mm"),
        "bead_seat": shown(533.0, "mm"),
        "hub_width": shown(110.0, "mm"),
        "parts": {"tire": "tire"},
        "workshop": [("cold pressure", shown(65.0, "kPa"))],
    }
    return Lettering(**{**words, **changes})


def test_hostile_names_of_parts_stay_text(two_wheeler: Sheet) -> None:
    ((_, shape, radius), *_) = two_wheeler.made.shapes
    lettering = lettered(
        title="<script>alert(1)</script>",
        description='"&<',
        parts={"tire": "</svg><b>"},
        workshop=[("cold pressure", "<i>")],
    )
    drawn = wheel_drawing(shape, lettering, loaded_radius=radius, reduction=6.0, name="a-b")
    tree = ET.fromstring(drawn.svg)
    assert not {mark.tag for mark in tree.iter()} & {"script", "b", "i"}


def test_today_is_drawn_dashed_to_scale_where_it_differs(two_wheeler: Sheet) -> None:
    ((_, shape, radius), *_) = two_wheeler.made.shapes
    assert shape.rotor_diameter is not None
    today = replace(shape, tire_diameter=shape.tire_diameter - 30.0, rotor_diameter=shape.rotor_diameter + 20.0)
    drawn = wheel_drawing(shape, lettered(today="today"), loaded_radius=radius, reduction=6.0, today=today, name="a")
    tree = ET.fromstring(drawn.svg)
    assert circle(tree, "today's tire") * 6.0 == pytest.approx(today.tire_diameter, abs=12 * PRINTED)
    assert today.rotor_diameter is not None
    assert circle(tree, "today's rotor") * 6.0 == pytest.approx(today.rotor_diameter, abs=12 * PRINTED)
    # The rim is the same and drawn once.
    assert not named(tree, "today's rim")
    assert len(named(tree, "today's tire section")) == 2
    rotor_only = replace(shape, rotor_diameter=shape.rotor_diameter + 20.0)
    other = wheel_drawing(shape, lettered(), loaded_radius=radius, reduction=6.0, today=rotor_only, name="a")
    assert not named(ET.fromstring(other.svg), "today's tire section")
    assert shape.same_outlines(replace(shape, hub_width=999.0))
    assert not shape.same_outlines(rotor_only)


def test_the_reduction_grows_with_the_wheel(two_wheeler: Sheet) -> None:
    ((_, shape, _), *_) = two_wheeler.made.shapes
    large = replace(shape, tire_diameter=900.0, frame_diameter=920.0)
    assert least_reduction(large, None) > least_reduction(shape, None)
    assert least_reduction(shape, large) == least_reduction(large, shape)


def test_a_disc_wheel_lies_inside_or_outside_its_stud_face_by_its_offset(quad: Sheet) -> None:
    model = quad.case.vehicle
    for position in POSITIONS:
        (shape,) = [shape for name, shape, _ in quad.made.shapes if name == f"{model.name}-{position}"]
        package = next(row for row in quad.payload["vehicles"][0]["packages"] if row["position"] == position)
        disc = quad.case.catalog.part("disc-wheels", package["disc_wheel"])
        assert shape.stud_face == pytest.approx(-1e3 * float(disc.offset))
        assert shape.spoking is None
        assert shape.hub_middle == pytest.approx(shape.stud_face - 0.5 * shape.hub_width)


def test_shapes_take_the_figures_of_the_parts(two_wheeler: Sheet) -> None:
    from configopt.appraisal.packages import package_from_record

    baseline = two_wheeler.case.vehicle.baseline
    assert baseline is not None
    package = package_from_record(two_wheeler.case.catalog, "front", baseline.front)
    shape = wheel_shape(package, two_wheeler.case.vehicle)
    hub, rim = package.wheel.hub, package.wheel.rim
    assert rim is not None
    assert shape.spoking is not None
    assert shape.spoking.nipple_seat == pytest.approx(1e3 * float(rim.effective_diameter))
    assert hub.flange_offset_left is not None
    assert shape.spoking.left_offset == pytest.approx(1e3 * float(hub.flange_offset_left))
    assert shape.tire_diameter == pytest.approx(697.0)  # of the catalog
    assert shape.rotor_bolts == (4, 80.0)
