"""The wheel seen along its axle, from the rotor's side."""

from __future__ import annotations

import math
from collections.abc import Mapping

from configopt.sheet.drawing_lines import Label, Paper, Point
from configopt.sheet.wheel_shape import CALIPER_ROOM, FLANGE_EDGE, SAME, WheelShape

#: Where labels point at, as angles above the horizontal [degrees]: from the top of the wheel down.
_TIRE_AT, _RIM_AT, _FRAME_AT = 48.0, 30.0, 62.0
#: Middle and width of the caliper's room around the rotor [degrees]; a place for it, the bracket decides.
_CALIPER_AT, _CALIPER_WIDTH = 20.0, 46.0


def side_view(paper: Paper, shape: WheelShape, *, centre: Point, scale: float, loaded_radius: float) -> None:
    """Draw the wheel seen along its axle.

    Parameters
    ----------
    paper : drawn on
    shape : the wheel [mm]
    centre : of the wheel on paper [mm]
    scale : paper over wheel
    loaded_radius : from the axle to the ground under the static load [mm]
    """
    x, y = centre

    def circle(diameter: float, kind: str, name: str = "") -> None:
        paper.circle(centre, 0.5 * diameter * scale, kind, name)

    circle(shape.frame_diameter, "limit", "frame")
    circle(shape.tire_diameter, "rubber edge", "tire")
    circle(shape.tire_diameter - 2.0 * shape.lug_depth, "thin", "tread base")
    circle(shape.rim_edge, "metal edge", "rim")
    circle(shape.well_diameter, "paper edge", "rim inside")
    if shape.spoking is not None:
        _spokes(paper, shape, centre, scale)
        circle(max(shape.spoking.left_circle, shape.spoking.right_circle) + 2.0 * FLANGE_EDGE, "metal edge", "flange")
    elif shape.studs is not None:
        # The web fills the wheel from the rim to the axle.
        circle(shape.well_diameter, "metal edge", "disc wheel web")
        _studs(paper, shape, centre, scale)
    _rotor(paper, shape, centre, scale)
    circle(shape.axle, "paper edge", "axle")
    reach = 0.5 * max(shape.frame_diameter, shape.tire_diameter) * scale + 2.0
    paper.line((x - reach, y), (x + reach, y), "axis")
    paper.line((x, y - reach), (x, y + reach), "axis")
    ground = y + loaded_radius * scale
    paper.line(
        (x - 0.45 * shape.tire_diameter * scale, ground),
        (x + 0.45 * shape.tire_diameter * scale, ground),
        "ground",
        "ground",
    )


def outline_of_today(paper: Paper, today: WheelShape, shape: WheelShape, *, centre: Point, scale: float) -> None:
    """Today's tire, rim and rotor, dashed where they are of another size."""
    for name, diameter, now in (
        ("tire", today.tire_diameter, shape.tire_diameter),
        ("rim", today.rim_edge, shape.rim_edge),
        ("rotor", today.rotor_diameter, shape.rotor_diameter),
    ):
        if abs(diameter - now) > SAME:
            paper.circle(centre, 0.5 * diameter * scale, "today", f"today's {name}")


def _spokes(paper: Paper, shape: WheelShape, centre: Point, scale: float) -> None:
    """Every spoke from its flange hole to its rim hole; pairs lean forward and back by the crossings."""
    spoking = shape.spoking
    assert spoking is not None
    count = spoking.holes // 2
    step = 2.0 * math.pi / count
    rim = 0.5 * spoking.nipple_seat * scale
    for circle, start, kind in (
        (spoking.right_circle, 0.5 * step, "spoke far"),
        (spoking.left_circle, 0.0, "spoke"),
    ):
        flange = 0.5 * circle * scale
        for number in range(count):
            at = start + number * step
            lean = spoking.crossings * step * (1.0 if number % 2 == 0 else -1.0)
            paper.line(_polar(centre, flange, at), _polar(centre, rim, at + lean), kind)


def _studs(paper: Paper, shape: WheelShape, centre: Point, scale: float) -> None:
    assert shape.studs is not None
    count, circle = shape.studs
    paper.circle(centre, 0.5 * circle * scale, "axis")
    for number in range(count):
        paper.circle(
            _polar(centre, 0.5 * circle * scale, (number + 0.5) * 2.0 * math.pi / count), 5.0 * scale, "paper edge"
        )


def _rotor(paper: Paper, shape: WheelShape, centre: Point, scale: float) -> None:
    rotor = 0.5 * shape.rotor_diameter
    track = rotor - shape.track_height
    bolts, circle = shape.rotor_bolts
    _ring(paper, centre, rotor * scale, track * scale, "rotor", "rotor")
    paper.circle(centre, 0.5 * circle * scale, "axis")
    for number in range(bolts):
        paper.circle(_polar(centre, 0.5 * circle * scale, number * 2.0 * math.pi / bolts), 3.0 * scale, "paper edge")
    outer, inner = rotor + CALIPER_ROOM, rotor - shape.pad_height - 2.0
    first, last = (math.radians(_CALIPER_AT + side * 0.5 * _CALIPER_WIDTH) for side in (-1.0, 1.0))
    angles = [first + (last - first) * part / 12 for part in range(13)]
    ring = [_polar(centre, outer * scale, at) for at in angles] + [
        _polar(centre, inner * scale, at) for at in reversed(angles)
    ]
    paper.shape([ring], "room", "caliper room")


def _ring(paper: Paper, centre: Point, outer: float, inner: float, kind: str, name: str) -> None:
    """A ring whose outer circle is named, so that it can be measured."""
    angles = [2.0 * math.pi * part / 90 for part in range(90)]
    paper.shape([[_polar(centre, radius, at) for at in angles] for radius in (outer, inner)], kind)
    paper.circle(centre, outer, "line", name)
    paper.circle(centre, inner, "thin")


def _polar(centre: Point, radius: float, angle: float) -> Point:
    return centre[0] + radius * math.cos(angle), centre[1] - radius * math.sin(angle)


def side_labels(shape: WheelShape, numbers: Mapping[str, int], *, centre: Point, scale: float) -> list[Label]:
    """Numbers of the parts, each at its point on the right half of the wheel.

    Parameters
    ----------
    shape : the wheel
    numbers : by name of the part; what is not there is not numbered
    centre, scale : of the view
    """
    rotor = shape.rotor_diameter
    flange = None if shape.spoking is None else shape.spoking.left_circle + FLANGE_EDGE
    studs = None if shape.studs is None else shape.studs[1]
    places = {
        "frame": (shape.frame_diameter, _FRAME_AT),
        "tire": (shape.tire_diameter - shape.lug_depth, _TIRE_AT),
        "rim": (0.5 * (shape.rim_edge + shape.well_diameter), _RIM_AT),
        "caliper": (rotor + CALIPER_ROOM, _CALIPER_AT),
        "rotor": (rotor - shape.track_height, -8.0),
        "spokes": (None if flange is None else 0.75 * shape.well_diameter, -16.0),
        "hub": (flange if studs is None else studs, -40.0),
    }
    return [
        Label(_polar(centre, 0.5 * diameter * scale, math.radians(angle)), numbers[name])
        for name, (diameter, angle) in places.items()
        if diameter is not None and name in numbers
    ]
