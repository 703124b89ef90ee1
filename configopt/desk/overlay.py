"""The drawing of one wheel on the page: from the side and cut through the axle, candidates laid over as outlines.

The shapes are those of the decision sheet; lettered is only what can be read on a small screen.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from xml.sax.saxutils import escape

from configopt.sheet.drawing_lines import Paper, n
from configopt.sheet.drawing_section import section_of_today, section_view
from configopt.sheet.drawing_side import outline_of_today, side_view
from configopt.sheet.figures import figure_text
from configopt.sheet.wheel_shape import CALIPER_SIDE, WheelShape

#: Width of the picture in its own units, height of its letters, and air around the views.
WIDTH, LETTER, AIR = 200.0, 6.0, 4.0
#: Room for the dimensions left of the side view and below the section.
_LEFT, _BELOW, _TOP = 14.0, 24.0, 4.0
#: Length of the scale bar [mm].
BAR = 200.0


def scale_of(shapes: Sequence[WheelShape]) -> float:
    """Scale at which every one of some wheels fits, so that front and rear and all candidates are drawn alike."""
    return min((WIDTH - _LEFT - 4.0 * AIR) / (_height(shape) + _wide(shape)) for shape in shapes)


def _height(shape: WheelShape) -> float:
    return max(shape.tire_diameter, shape.frame_diameter)


def _left(shape: WheelShape) -> float:
    """How far the section reaches to the left of the rim's middle."""
    reach = [0.5 * max(shape.frame_width, shape.tire_width), 0.5 * shape.hub_width - shape.hub_middle + 12.0]
    if shape.rotor_diameter is not None:
        reach.append(CALIPER_SIDE - shape.rotor_offset)
    return max(reach)


def _wide(shape: WheelShape) -> float:
    right = max(0.5 * max(shape.frame_width, shape.tire_width), 0.5 * shape.hub_width + shape.hub_middle + 12.0)
    return _left(shape) + right


def wheel_picture(
    shape: WheelShape,
    laid: Mapping[str, WheelShape],
    *,
    scale: float,
    loaded_radius: float,
    name: str,
    title: str,
    description: str,
) -> str:
    """The picture as SVG text.

    Parameters
    ----------
    shape : the wheel chosen [mm]
    laid : candidates by the class of their lines
    scale : picture over wheel; see :func:`scale_of`
    loaded_radius : from the axle to the ground under the static load [mm]
    name : for the ids of title and description; unique on a page
    title, description : read aloud
    """
    every = [shape, *laid.values()]
    radius = 0.5 * max(_height(one) for one in every) * scale
    paper = Paper()
    side = (_LEFT + AIR + radius, _TOP + radius)
    section = (side[0] + radius + AIR + max(_left(one) for one in every) * scale + AIR, side[1])
    side_view(paper, shape, centre=side, scale=scale, loaded_radius=loaded_radius)
    section_view(paper, shape, centre=section, scale=scale)
    for kind, other in laid.items():
        if other == shape:
            continue
        over = Paper()
        outline_of_today(over, other, shape, centre=side, scale=scale)
        section_of_today(over, other, centre=section, scale=scale)
        paper.add(f'<g class="laid {kind}">')
        paper.marks += over.marks
        paper.add("</g>")
    _dimensions(paper, shape, side, section, scale, radius)
    height = side[1] + radius + _BELOW
    names = f"{name}-title {name}-description"
    return "\n".join(
        [
            f'<svg class="drawing" role="img" aria-labelledby="{names}" viewBox="0 0 {n(WIDTH)} {n(height)}" '
            f'font-size="{n(LETTER)}">',
            f'<title id="{name}-title">{escape(title)}</title>',
            f'<desc id="{name}-description">{escape(description)}</desc>',
            *paper.marks,
            "</svg>",
        ]
    )


def _dimensions(
    paper: Paper,
    shape: WheelShape,
    side: tuple[float, float],
    section: tuple[float, float],
    scale: float,
    radius: float,
) -> None:
    """Diameter, width, and a bar to measure the rest by."""
    half, x = 0.5 * shape.tire_diameter * scale, side[0] - radius - AIR
    paper.line((x, side[1] - half), (x, side[1] + half), "thin")
    for end in (-half, half):
        paper.line((x - 1.5, side[1] + end), (side[0], side[1] + end), "thin")
    _letter(paper, (x - 1.8, side[1]), figure_text(shape.tire_diameter, "mm"), "middle", upright=True)
    y = side[1] + radius + 5.0
    half = 0.5 * shape.tire_width * scale
    paper.line((section[0] - half, y), (section[0] + half, y), "thin")
    for end in (-half, half):
        paper.line((section[0] + end, y - 1.5), (section[0] + end, y + 1.5), "thin")
    _letter(paper, (section[0], y + LETTER + 0.6), figure_text(shape.tire_width, "mm"), "middle")
    left = side[0] - 0.5 * BAR * scale
    paper.line((left, y + 4.0), (left + BAR * scale, y + 4.0), "scale")
    for at in (left, left + BAR * scale):
        paper.line((at, y + 2.4), (at, y + 5.6), "scale")
    _letter(paper, (side[0], y + 5.6 + LETTER), f"bar of {BAR:.0f} mm", "middle")


def _letter(paper: Paper, at: tuple[float, float], words: str, anchor: str, *, upright: bool = False) -> None:
    turned = f' transform="rotate(-90 {n(at[0])} {n(at[1])})"' if upright else ""
    paper.add(f'<text x="{n(at[0])}" y="{n(at[1])}" text-anchor="{anchor}"{turned}>{escape(words)}</text>')
