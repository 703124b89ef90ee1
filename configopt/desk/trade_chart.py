"""The trade-off as a picture whose points can be followed: plain SVG, because the page permits no styles in marks."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from configopt.sheet.drawing_lines import n
from configopt.sheet.figures import figure_text, unit_words
from configopt.sheet.words import AIMS

_WIDTH, _HEIGHT, _LEFT, _BOTTOM, _TOP, _RIGHT = 200.0, 136.0, 26.0, 22.0, 16.0, 8.0
#: Points that carry their number.
_NUMBERED = 30


def ticks(low: float, high: float) -> list[float]:
    """Three to six round values over a range.

    >>> ticks(17.9, 21.2)
    [18.0, 19.0, 20.0, 21.0]
    """
    if high - low <= 1e-9 * max(1.0, abs(high)):
        return [low]
    rough = (high - low) / 4.0
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * factor for factor in (1.0, 2.0, 2.5, 5.0, 10.0) if size * factor >= rough)
    first = math.ceil(low / step - 1e-9)
    return [float(f"{number * step:.12g}") for number in range(first, math.floor(high / step + 1e-9) + 1)]


def trade_chart(
    points: Sequence[Mapping[str, Any]], aims: Sequence[Mapping[str, Any]], links: Sequence[str], here: str
) -> str:
    """The first aim across, the second up, one point each; the choice on the page is a square.

    Parameters
    ----------
    points
        With ``values`` by aim and ``text``.
    aims
        ``name`` and ``unit``.
    links
        Address of each point.
    here
        Text of the choice on the page.
    """
    across, up = aims[0], aims[1]
    x = [point["values"][across["name"]] for point in points]
    y = [point["values"][up["name"]] for point in points]
    place_x, place_y = _places(x, _LEFT, _WIDTH - _RIGHT), _places(y, _HEIGHT - _BOTTOM, _TOP)
    marks = [f'<path class="axis" d="M{n(_LEFT)} {n(_TOP)} V{n(_HEIGHT - _BOTTOM)} H{n(_WIDTH - _RIGHT)}"/>']
    for value in ticks(min(x), max(x)):
        at = place_x(value)
        marks.append(f'<path class="tick" d="M{n(at)} {n(_HEIGHT - _BOTTOM)} v2.5"/>')
        marks.append(_text(at, _HEIGHT - _BOTTOM + 8.5, f"{value:.10g}", "middle"))
    for value in ticks(min(y), max(y)):
        at = place_y(value)
        marks.append(f'<path class="tick" d="M{n(_LEFT)} {n(at)} h-2.5"/>')
        marks.append(_text(_LEFT - 3.5, at + 2.0, f"{value:.10g}", "end"))
    marks.append(_text(_WIDTH - _RIGHT, _HEIGHT - 3.0, f"{AIMS[across['name']]}, {unit_words(across['unit'])}", "end"))
    marks.append(_text(2.0, 7.0, f"{AIMS[up['name']]}, {unit_words(up['unit'])}", "start"))
    for number, (point, link) in enumerate(zip(points, links, strict=True), start=1):
        at = (place_x(x[number - 1]), place_y(y[number - 1]))
        label = (
            f"{number}: {AIMS[across['name']]} {figure_text(x[number - 1], across['unit'])}, "
            f"{AIMS[up['name']]} {figure_text(y[number - 1], up['unit'])}"
        )
        shape = (
            f'<rect class="here" x="{n(at[0] - 2.6)}" y="{n(at[1] - 2.6)}" width="5.2" height="5.2"/>'
            if point["text"] == here
            else f'<circle class="point" cx="{n(at[0])}" cy="{n(at[1])}" r="2.2"/>'
        )
        number_text = _text(at[0] + 3.4, at[1] - 2.4, str(number), "start") if len(points) <= _NUMBERED else ""
        marks.append(
            f"<a href={quoteattr(link)} aria-label={quoteattr(f'lay over point {label}')}>"
            f"<title>{escape(label)}</title>{shape}{number_text}</a>"
        )
    return "\n".join([f'<svg class="chart" viewBox="0 0 {n(_WIDTH)} {n(_HEIGHT)}" font-size="6">', *marks, "</svg>"])


def _places(values: Sequence[float], start: float, end: float) -> Any:
    low, high = min(values), max(values)
    span = high - low
    if span <= 1e-9 * max(1.0, abs(high)):
        return lambda value: 0.5 * (start + end)
    pad = 0.06 * span

    def place(value: float) -> float:
        return start + (end - start) * (value - low + pad) / (span + 2.0 * pad)

    return place


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text x="{n(x)}" y="{n(y)}" text-anchor="{anchor}">{escape(words)}</text>'
