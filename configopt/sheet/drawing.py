"""The drawing of one wheel: two views to one scale, dimensions, labels, and the workshop's figures below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from textwrap import wrap
from xml.sax.saxutils import escape

from configopt.sheet.drawing_lines import (
    LETTER,
    WIDE,
    Box,
    Paper,
    level_dimension,
    n,
    numbers_in_column,
    upright_dimension,
)
from configopt.sheet.drawing_section import section_of_today, section_view
from configopt.sheet.drawing_side import outline_of_today, side_labels, side_view
from configopt.sheet.figures import Shown
from configopt.sheet.wheel_shape import WheelShape

#: Width of a drawing on paper [mm]: what A4 and Letter leave between their margins.
WIDTH = 180.0
#: Reductions that are used, the largest picture first.
REDUCTIONS = (2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.5, 15.0, 20.0)
#: Tallest view on paper [mm]: with head and figures a drawing stays on one page.
_TALLEST = 150.0
_HEAD, _LEFT, _COLUMN, _RIGHT, _GAP = 9.0, 13.0, 4.6, 8.5, 3.0
_LINE = 1.6 * LETTER
#: Where the workshop's figures begin, right of the parts [mm].
_PARTS_WIDTH = 104.0
#: Letters in a line of the list of parts.
_PARTS_LETTERS = int((_PARTS_WIDTH - 10.0) / (WIDE * LETTER) - 2.0)


@dataclass(frozen=True)
class WheelDrawing:
    """A drawing as SVG text, its reduction (5 for 1:5), and the boxes of everything lettered on it."""

    svg: str
    reduction: float
    boxes: tuple[Box, ...]
    height: float


@dataclass(frozen=True)
class Lettering:
    """What is lettered on a drawing."""

    title: str
    description: str
    diameter: Shown
    width: Shown
    loaded_radius: Shown
    bead_seat: Shown
    hub_width: Shown
    parts: Mapping[str, str]
    """Words for the parts that get a number: frame, tire, rim, spokes, rotor, caliper, hub."""
    workshop: Sequence[tuple[str, Shown | str]]
    """Words and figure of each line below the views."""
    today: str = ""
    """What the dashed lines are; empty where there are none."""


def wheel_drawing(
    shape: WheelShape,
    lettering: Lettering,
    *,
    loaded_radius: float,
    reduction: float,
    today: WheelShape | None = None,
    name: str = "wheel",
) -> WheelDrawing:
    """Draw a wheel from the side and cut through its axle.

    Parameters
    ----------
    shape : the wheel [mm]
    lettering : what is written on the drawing
    loaded_radius : from the axle to the ground under the static load [mm]
    reduction : wheel over paper; see :func:`least_reduction`
    today : today's wheel, dashed
    name : for the ids of the title and the description; unique on a page

    Returns
    -------
    WheelDrawing
        As wide as :data:`WIDTH`.
    """
    layout = _layout(shape, today, reduction)
    scale, radius = 1.0 / layout.reduction, 0.5 * layout.tallest / layout.reduction
    y = _HEAD + radius
    side, section = (layout.side_x, y), (layout.section_x, y)
    paper = Paper()
    paper.letter((0.0, 3.2), lettering.title, kind="title")
    side_view(paper, shape, centre=side, scale=scale, loaded_radius=loaded_radius)
    section_view(paper, shape, centre=section, scale=scale)
    if today is not None:
        outline_of_today(paper, today, shape, centre=side, scale=scale)
        if not shape.same_tire(today):
            section_of_today(paper, today, centre=section, scale=scale)
    _side_dimensions(paper, shape, lettering, layout, y, loaded_radius)
    bottom = _section_dimensions(paper, shape, lettering, layout, y, y + radius)
    numbers = {part: number for number, part in enumerate(lettering.parts, start=1)}
    labels = side_labels(shape, numbers, centre=side, scale=scale)
    numbers_in_column(paper, labels, x=layout.column_x, top=_HEAD + 2.0, bottom=y + radius)
    height = _below(paper, lettering, layout.reduction, bottom + 5.0)
    svg = _svg(paper, lettering, height, name)
    return WheelDrawing(svg, layout.reduction, tuple(paper.boxes), height)


@dataclass(frozen=True)
class _Layout:
    """Where the views stand on paper [mm]; ``tallest`` is the height of the views on the wheel [mm]."""

    reduction: float
    tallest: float
    side_x: float
    column_x: float
    section_x: float
    right: float
    """How far the section reaches to the right of the rim's middle, on the wheel [mm]."""
    fits: bool


def least_reduction(shape: WheelShape, today: WheelShape | None) -> float:
    """The first of :data:`REDUCTIONS` at which both views fit on paper; the last where none does."""
    fitting = [one for one in REDUCTIONS if _layout(shape, today, one).fits]
    return fitting[0] if fitting else REDUCTIONS[-1]


def _layout(shape: WheelShape, today: WheelShape | None, reduction: float) -> _Layout:
    shapes = [shape] if today is None else [shape, today]
    tallest = max(max(one.frame_diameter, one.tire_diameter) for one in shapes)
    left, right = 0.0, 0.0
    for one in shapes:
        half = 0.5 * max(one.frame_width, one.tire_width)
        left = min(left, -half, one.hub_middle - 0.5 * one.hub_width)
        right = max(right, half, one.hub_middle + 0.5 * one.hub_width)
    if not shape.rotor_on_axle:
        left = min(left, shape.caliper_sides[0])
    taken = _LEFT + (tallest + right - left) / reduction + 3.0 * _GAP + _COLUMN + _RIGHT
    spare = WIDTH - taken
    air = max(0.0, spare) / 3.0
    side_x = _LEFT + air + 0.5 * tallest / reduction
    column_x = side_x + 0.5 * tallest / reduction + _GAP + 0.5 * _COLUMN
    section_x = column_x + 0.5 * _COLUMN + 2.0 * _GAP - left / reduction + air
    return _Layout(
        reduction=reduction,
        tallest=tallest,
        side_x=side_x,
        column_x=column_x,
        section_x=section_x,
        right=right,
        fits=spare >= 0.0 and tallest / reduction <= _TALLEST,
    )


def _side_dimensions(
    paper: Paper, shape: WheelShape, lettering: Lettering, layout: _Layout, y: float, loaded_radius: float
) -> None:
    radius, x = 0.5 * shape.tire_diameter / layout.reduction, layout.side_x
    edge = x - 0.5 * layout.tallest / layout.reduction
    upright_dimension(
        paper, x=edge - 9.5, top=y - radius, bottom=y + radius, reach=((x, y - radius), (x, y + radius)),
        text=lettering.diameter,
    )  # fmt: skip
    ground = y + loaded_radius / layout.reduction
    upright_dimension(
        paper, x=edge - 3.5, top=y, bottom=ground, reach=((x - 2.0, y), (x - 0.6 * radius, ground)),
        text=lettering.loaded_radius,
    )  # fmt: skip


def _section_dimensions(
    paper: Paper, shape: WheelShape, lettering: Lettering, layout: _Layout, y: float, bottom: float
) -> float:
    """Dimensions of the section; returns how far down they reach."""
    scale, x = 1.0 / layout.reduction, layout.section_x
    half, middle = 0.5 * shape.tire_width * scale, y + 0.25 * (shape.bead_diameter + shape.tire_diameter) * scale
    level_dimension(
        paper, y=bottom + 5.0, left=x - half, right=x + half, reach=((x - half, middle), (x + half, middle)),
        text=lettering.width, letters_at="left",
    )  # fmt: skip
    hub = 0.5 * shape.hub_width * scale
    at = x + shape.hub_middle * scale
    level_dimension(
        paper, y=bottom + 11.0, left=at - hub, right=at + hub, reach=((at - hub, y), (at + hub, y)),
        text=lettering.hub_width, letters_at="left",
    )  # fmt: skip
    seat = 0.5 * shape.bead_diameter * scale
    rim = x + 0.5 * shape.rim_width * scale
    upright_dimension(
        paper, x=x + layout.right * scale + 6.5, top=y - seat, bottom=y + seat,
        reach=((rim, y - seat), (rim, y + seat)), text=lettering.bead_seat,
    )  # fmt: skip
    return bottom + 11.0


def _below(paper: Paper, lettering: Lettering, reduction: float, top: float) -> float:
    """Scale bar and the workshop's figures; returns the height of the drawing."""
    paper.line((0.0, top), (WIDTH, top), "thin")
    y = top + 5.5
    bar = 200.0 if reduction >= 5.0 else 100.0
    for part in range(4):
        x = 0.25 * part * bar / reduction
        wide = 0.25 * bar / reduction
        kind = "bar full" if part % 2 == 0 else "bar"
        paper.shape([[(x, y - 1.6), (x + wide, y - 1.6), (x + wide, y), (x, y)]], kind)
    paper.line((0.0, y - 1.6), (bar / reduction, y - 1.6), "scale", f"scale bar of {bar:.0f} mm")
    paper.letter((bar / reduction + 1.5, y), f"{bar:.0f} mm; scale 1:{reduction:g} when printed at 100 %")
    if lettering.today:
        paper.line((0.55 * WIDTH, y - 0.8), (0.55 * WIDTH + 9.0, y - 0.8), "today")
        paper.letter((0.55 * WIDTH + 10.5, y), lettering.today)
    y += 1.3 * _LINE
    line = 0
    for number, words in enumerate(lettering.parts.values(), start=1):
        paper.letter((3.6, y + _LINE * line), str(number), anchor="end", kind="strong")
        for told in wrap(words, _PARTS_LETTERS):
            paper.letter((5.6, y + _LINE * line), told)
            line += 1
    left, right = _PARTS_WIDTH, WIDTH
    for row, (name, figure) in enumerate(lettering.workshop):
        at = y + _LINE * row
        paper.letter((left, at), name)
        paper.letter((right, at), figure, anchor="end", kind="strong")
        paper.line((left, at + 1.1), (right, at + 1.1), "rule")
    return y + _LINE * (max(line, len(lettering.workshop)) - 1) + 3.0


def _svg(paper: Paper, lettering: Lettering, height: float, name: str) -> str:
    size = f'width="{n(WIDTH)}mm" height="{n(height)}mm" viewBox="0 0 {n(WIDTH)} {n(height)}"'
    names = f"{name}-title {name}-description"
    head = f'<svg class="drawing" role="img" aria-labelledby="{names}" {size} font-size="{n(LETTER)}">'
    title = f'<title id="{name}-title">{escape(lettering.title)}</title>'
    description = f'<desc id="{name}-description">{escape(lettering.description)}</desc>'
    # Lettering stands over all lines, which leave room around it.
    marks = sorted(paper.marks, key=lambda mark: mark.startswith("<text"))
    return "\n".join([head, title, description, *marks, "</svg>"])
