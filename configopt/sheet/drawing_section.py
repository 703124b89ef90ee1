"""The wheel cut through its axle, seen from behind: the rotor's side is on the left."""

from __future__ import annotations

import math
from collections.abc import Sequence

from configopt.sheet.drawing_lines import Paper, Point
from configopt.sheet.wheel_shape import CALIPER_ROOM, FLANGE_EDGE, WheelShape

#: Thickness of the metal of rims, flanges and hub shells as drawn [mm].
_METAL = 4.0
#: How square the tread is: exponent of the outline, round for two-wheelers, flat for quads.
_ROUND, _FLAT = 2.2, 3.6
#: Points along half of a tire's outline.
_POINTS = 24
#: Blocks of the tread across its width.
_BLOCKS = 7


def section_view(paper: Paper, shape: WheelShape, *, centre: Point, scale: float) -> None:
    """Draw the wheel cut through its axle.

    Parameters
    ----------
    paper : drawn on
    shape : the wheel [mm]
    centre : where axle and middle plane of the rim meet on paper [mm]
    scale : paper over wheel
    """
    for up in (1.0, -1.0):
        view = _Half(paper, centre, scale, up)
        _frame(view, shape)
        _tire(view, shape)
        _rim(view, shape)
        if shape.spoking is not None:
            _spokes(view, shape)
        else:
            _disc(view, shape)
        _rotor(view, shape, with_caliper=up > 0)
        _hub(view, shape)
    reach = 0.5 * max(shape.frame_diameter, shape.tire_diameter) + 10.0
    width = 0.5 * shape.hub_width + 12.0
    both = _Half(paper, centre, scale, 1.0)
    both.line((shape.hub_middle - width, 0.0), (shape.hub_middle + width, 0.0), "axis")
    both.line((0.0, -reach), (0.0, reach), "axis")
    if shape.chain_line is not None:
        at = shape.hub_middle + shape.chain_line
        both.line((at, -0.2 * shape.bead_diameter), (at, 0.2 * shape.bead_diameter), "axis", "chain line")


def section_of_today(paper: Paper, today: WheelShape, *, centre: Point, scale: float) -> None:
    """Today's tire, dashed."""
    for up in (1.0, -1.0):
        _Half(paper, centre, scale, up).shape([tire_outline(today)], "today", "today's tire section")


class _Half:
    """Upper or lower half of the section: lengths from the axle and from the middle of the rim [mm]."""

    def __init__(self, paper: Paper, centre: Point, scale: float, up: float) -> None:
        self.paper, self.centre, self.scale, self.up = paper, centre, scale, up

    def at(self, point: Point) -> Point:
        return self.centre[0] + point[0] * self.scale, self.centre[1] - self.up * point[1] * self.scale

    def line(self, start: Point, end: Point, kind: str, name: str = "") -> None:
        self.paper.line(self.at(start), self.at(end), kind, name)

    def shape(self, rings: Sequence[Sequence[Point]], kind: str, name: str = "") -> None:
        self.paper.shape([[self.at(point) for point in ring] for ring in rings], kind, name)

    def box(self, left: float, right: float, low: float, high: float, kind: str, name: str = "") -> None:
        self.shape([[(left, low), (right, low), (right, high), (left, high)]], kind, name)


def tire_outline(shape: WheelShape, inset: float = 0.0) -> list[Point]:
    """Outline of a tire's section from bead to bead over the crown; ``inset`` is the casing's thickness."""
    bead, top = 0.5 * shape.bead_diameter, 0.5 * shape.tire_diameter - inset
    if inset:
        top -= shape.lug_depth
    half, seat = 0.5 * shape.tire_width - inset, 0.5 * shape.rim_width - inset
    middle = bead + 0.5 * (0.5 * shape.tire_diameter - bead)
    power = 2.0 / (_FLAT if shape.flat_tread else _ROUND)
    right: list[Point] = []
    for part in range(_POINTS + 1):
        turn = 0.5 * math.pi * part / _POINTS
        # From the widest point up to the crown.
        right.append((half * math.cos(turn) ** power, middle + (top - middle) * math.sin(turn) ** power))
    below: list[Point] = []
    for part in range(_POINTS):
        share = part / _POINTS
        # From the bead seat out to the widest point, upright at both ends.
        ease = share * share * (3.0 - 2.0 * share)
        below.append((seat + (half - seat) * ease, bead + (middle - bead) * share))
    side = below + right
    return [(-x, y) for x, y in side] + [(x, y) for x, y in reversed(side)]


def _frame(view: _Half, shape: WheelShape) -> None:
    half, top = 0.5 * shape.frame_width, 0.5 * shape.frame_diameter
    low = 0.5 * shape.bead_diameter
    view.line((-half, low), (-half, top), "limit")
    view.line((half, low), (half, top), "limit")
    view.line((-half, top), (half, top), "limit")


def _tire(view: _Half, shape: WheelShape) -> None:
    outer = tire_outline(shape)
    view.shape([outer, tire_outline(shape, shape.casing)], "rubber", "tire section")
    # Gaps between the blocks, as deep as the lugs.
    base, crown = 0.5 * shape.tire_diameter - shape.lug_depth, 0.5 * shape.tire_diameter
    wide = 0.36 if shape.flat_tread else 0.26
    for number in range(1, _BLOCKS):
        x = shape.tire_width * wide * (2.0 * number / _BLOCKS - 1.0)
        drop = 0.0 if shape.flat_tread else 0.9 * x * x / shape.tire_width
        view.line((x, base - drop), (x, crown - drop), "groove")


def _rim(view: _Half, shape: WheelShape) -> None:
    seat, edge, low = 0.5 * shape.bead_diameter, 0.5 * shape.rim_edge, 0.5 * shape.well_diameter
    half, floor = 0.5 * shape.rim_width, max(0.30 * shape.rim_width, 6.0)
    upper = [(-half - 2.0, edge), (-half, edge), (-half, seat), (-floor - 3.0, seat - 1.5), (-floor, low + _METAL)]
    lower = [(-floor - 1.0, low), (-half - 2.0, seat - 4.0)]
    # The lower points run back from the right to the left.
    ring = upper + [(-x, y) for x, y in reversed(upper)] + [(-x, y) for x, y in reversed(lower)] + lower
    view.shape([ring], "metal", "rim section")


def _spokes(view: _Half, shape: WheelShape) -> None:
    spoking = shape.spoking
    assert spoking is not None
    seat = 0.5 * spoking.nipple_seat
    for side, offset, circle in (
        (-1.0, spoking.left_offset, spoking.left_circle),
        (1.0, spoking.right_offset, spoking.right_circle),
    ):
        view.line((side * offset, 0.5 * circle), (side * 2.0, seat), "spoke")


def _disc(view: _Half, shape: WheelShape) -> None:
    """The plate from the studs to the well of the rim."""
    low, face, plate = 0.5 * shape.well_diameter, shape.stud_face, 4.0
    circle = 0.5 * (shape.studs[1] if shape.studs else 110.0)
    at = max(min(face, 0.5 * shape.rim_width - 8.0), -0.5 * shape.rim_width + 8.0)
    bend = circle + 0.45 * (low - circle)
    inner = [(face, 0.3 * circle), (face, bend), (at, low)]
    outer = [(at + plate, low), (face + plate, bend), (face + plate, 0.3 * circle)]
    view.shape([inner + outer], "metal", "disc")
    view.line((face - 8.0, circle), (face + plate + 9.0, circle), "stud")


def _rotor(view: _Half, shape: WheelShape, *, with_caliper: bool) -> None:
    if shape.rotor_on_axle:
        # Where along the axle it sits is not known.
        return
    radius, half = 0.5 * shape.rotor_diameter, 0.5 * shape.rotor_thickness
    at, bolts = shape.rotor_offset, 0.5 * shape.rotor_bolts[1]
    view.box(at - half, at + half, bolts - 5.0, radius, "rotor", "rotor section")
    if with_caliper:
        low, high = radius - shape.pad_height - 2.0, radius + CALIPER_ROOM
        left, right = shape.caliper_sides
        view.box(left, right, low, high, "room", "caliper room")


def _hub(view: _Half, shape: WheelShape) -> None:
    middle, half = shape.hub_middle, 0.5 * shape.hub_width
    axle = 0.5 * shape.axle
    shell = axle + 9.0
    if shape.spoking is not None:
        for side, offset, circle in (
            (-1.0, shape.spoking.left_offset, shape.spoking.left_circle),
            (1.0, shape.spoking.right_offset, shape.spoking.right_circle),
        ):
            x = side * offset
            view.box(x - 0.5 * _METAL, x + 0.5 * _METAL, shell, 0.5 * circle + FLANGE_EDGE, "metal", "flange section")
        view.box(-shape.spoking.left_offset, shape.spoking.right_offset, axle, shell, "metal")
    else:
        circle = 0.5 * (shape.studs[1] if shape.studs else 110.0)
        view.box(shape.stud_face - 6.0, shape.stud_face, shell, circle + 9.0, "metal", "flange section")
        view.box(middle - 0.4 * shape.hub_width, shape.stud_face, axle, shell, "metal")
    if not shape.rotor_on_axle:
        # The rotor's seat.
        low, high = sorted((shape.rotor_offset, -shape.spoking.left_offset if shape.spoking else shape.stud_face))
        view.box(low, high, axle, max(0.5 * shape.rotor_bolts[1] - 5.0, axle + 4.0), "metal")
    view.box(middle - half, middle + half, 0.0, axle, "paper edge", "axle")
