"""Lines, dimensions and lettering of a drawing as SVG text; lengths on paper, in mm.

Everything that is lettered is noted with its box, so that a drawing can be tested for letters that cover each other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from configopt.sheet.figures import Shown

#: Height of the lettering [mm], and the width of a letter over its height in a wide face: words, and figures in bold.
LETTER, WIDE, WIDEST = 2.7, 0.58, 0.70
#: Texts up to so many letters are mostly figures.
_SHORT = 12
#: Length and half width of an arrowhead [mm].
ARROW, ARROW_HALF = 2.2, 0.55
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """Where something is lettered: left, top, right, bottom [mm]."""

    left: float
    top: float
    right: float
    bottom: float
    text: str = ""

    def meets(self, other: Box) -> bool:
        """Whether two boxes cover each other.

        >>> Box(0, 0, 2, 2).meets(Box(1, 1, 3, 3)), Box(0, 0, 2, 2).meets(Box(2, 0, 3, 2))
        (True, False)
        """
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)


@dataclass
class Paper:
    """What is drawn so far."""

    marks: list[str] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def add(self, mark: str) -> None:
        """One mark as SVG text."""
        self.marks.append(mark)

    def line(self, start: Point, end: Point, kind: str, name: str = "") -> None:
        """A straight line."""
        (x1, y1), (x2, y2) = start, end
        self.add(f'<line{_named(name)} class="{kind}" x1="{n(x1)}" y1="{n(y1)}" x2="{n(x2)}" y2="{n(y2)}"/>')

    def circle(self, at: Point, radius: float, kind: str, name: str = "") -> None:
        """A circle."""
        self.add(f'<circle{_named(name)} class="{kind}" cx="{n(at[0])}" cy="{n(at[1])}" r="{n(radius)}"/>')

    def shape(self, rings: Sequence[Sequence[Point]], kind: str, name: str = "") -> None:
        """A closed shape of one or more rings; inner ones are holes."""
        path = " ".join(f"M{' L'.join(f'{n(x)} {n(y)}' for x, y in ring)} Z" for ring in rings)
        self.add(f'<path{_named(name)} class="{kind}" fill-rule="evenodd" d="{path}"/>')

    def letter(
        self, at: Point, words: str | Shown, *, anchor: str = "start", upright: bool = False, kind: str = ""
    ) -> Box:
        """Lettering on its base line; ``upright`` reads from below.  Returns its box."""
        x, y = at
        text = str(words)
        width = text_width(text)
        before = {"start": 0.0, "middle": 0.5 * width, "end": width}[anchor]
        if upright:
            box = Box(x - 0.8 * LETTER, y - (width - before), x + 0.25 * LETTER, y + before, text)
        else:
            box = Box(x - before, y - 0.8 * LETTER, x - before + width, y + 0.25 * LETTER, text)
        self.boxes.append(box)
        turned = f' transform="rotate(-90 {n(x)} {n(y)})"' if upright else ""
        classes = f' class="{kind}"' if kind else ""
        if isinstance(words, Shown) and words.of and words.value is not None:
            classes += f' data-of="{words.of}" data-value="{words.value!r}"'
        self.add(f'<text{classes} x="{n(x)}" y="{n(y)}" text-anchor="{anchor}"{turned}>{escape(text)}</text>')
        return box

    def arrow(self, tip: Point, direction: Point) -> None:
        """A filled arrowhead that points along a unit direction."""
        (x, y), (dx, dy) = tip, direction
        back = (x - ARROW * dx, y - ARROW * dy)
        sides = [(back[0] - ARROW_HALF * dy, back[1] + ARROW_HALF * dx)]
        sides.append((back[0] + ARROW_HALF * dy, back[1] - ARROW_HALF * dx))
        self.shape([[tip, *sides]], "arrow")


def n(value: float) -> str:
    """A coordinate.

    >>> n(12.34567), n(-0.00001), n(3.0)
    ('12.346', '0', '3')
    """
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def text_width(text: str) -> float:
    """Width of a line of lettering [mm], on the wide side."""
    short = min(len(text), _SHORT)
    return LETTER * (WIDEST * short + WIDE * (len(text) - short))


def _named(name: str) -> str:
    return f" data-part={quoteattr(name)}" if name else ""


def upright_dimension(
    paper: Paper, *, x: float, top: float, bottom: float, reach: Sequence[Point], text: Shown
) -> None:
    """A vertical dimension line with arrows at both ends, and extension lines from the points measured.

    Parameters
    ----------
    paper : drawn on
    x : where the dimension line stands
    top, bottom : its ends
    reach : the points measured, top and bottom one
    text : figure and unit, read from below
    """
    for (from_x, y), at in zip(reach, (top, bottom), strict=True):
        side = math.copysign(1.0, x - from_x)
        paper.line((from_x + side, y), (x + 1.2 * side, at), "thin")
    paper.line((x, top), (x, bottom), "thin")
    paper.arrow((x, top), (0.0, -1.0))
    paper.arrow((x, bottom), (0.0, 1.0))
    paper.letter((x - 0.9, 0.5 * (top + bottom)), text, anchor="middle", upright=True)


def level_dimension(
    paper: Paper,
    *,
    y: float,
    left: float,
    right: float,
    reach: Sequence[Point],
    text: Shown,
    letters_at: str = "beside",
) -> None:
    """A horizontal dimension line; where arrows have no room between its ends they point at them from outside.

    Parameters
    ----------
    paper : drawn on
    y : where the dimension line stands
    left, right : its ends
    reach : the points measured, left and right one
    text : figure and unit
    letters_at : ``beside`` (right of it, or between where there is room) or ``left`` of it
    """
    for (x, from_y), at in zip(reach, (left, right), strict=True):
        side = math.copysign(1.0, y - from_y)
        paper.line((x, from_y + side), (at, y + 1.2 * side), "thin")
    room = right - left
    inside = room >= 2.0 * ARROW + 1.0
    lettered = room >= text_width(str(text)) + 1.0
    over = 0.0 if inside else 2.0 * ARROW
    if inside:
        paper.arrow((left, y), (-1.0, 0.0))
        paper.arrow((right, y), (1.0, 0.0))
    else:
        paper.arrow((left, y), (1.0, 0.0))
        paper.arrow((right, y), (-1.0, 0.0))
    paper.line((left - over, y), (right + over, y), "thin")
    if lettered:
        paper.letter((0.5 * (left + right), y - 0.9), text, anchor="middle")
    elif letters_at == "left":
        paper.letter((left - over - 0.8, y + 0.3 * LETTER), text, anchor="end")
    else:
        paper.letter((right + over + 0.8, y + 0.3 * LETTER), text)


@dataclass(frozen=True, slots=True)
class Label:
    """Number of a part, for a point of the drawing."""

    at: Point
    number: int


#: Radius of the circle around a part's number [mm].
_ROUND = 2.3


def numbers_in_column(paper: Paper, labels: Sequence[Label], *, x: float, top: float, bottom: float) -> None:
    """Parts' numbers one below the other, in the order of their points, each with a line to its point.

    They stand level with their points where that leaves room, and move apart where not.

    Parameters
    ----------
    paper : drawn on
    labels : numbers and points
    x : middle of the column
    top, bottom : highest and lowest middle of a number [mm]
    """
    ordered = sorted(labels, key=lambda label: label.at[1])
    step = 2.0 * _ROUND + 0.8
    places: list[float] = []
    for number, label in enumerate(ordered):
        least = top if not places else places[-1] + step
        most = bottom - step * (len(ordered) - 1 - number)
        places.append(max(least, min(label.at[1], most)))
    for label, y in zip(ordered, places, strict=True):
        paper.line((x - _ROUND, y), label.at, "thin")
        paper.circle(label.at, 0.45, "dot")
        paper.circle((x, y), _ROUND, "paper")
        paper.letter((x, y + 0.35 * LETTER), str(label.number), anchor="middle")
