"""Which surface lies where along a ride: by distance, by a map, and the rest."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from configopt.errors import UsageError
from configopt.tracks.area_map import Area, surfaces_at
from configopt.tracks.profile import Profile

Whole = NDArray[np.int64]

_SPAN = re.compile(r"(?:(\d{1,4}):)?(\d{1,6}(?:\.\d{1,6})?)?\.\.(\d{1,6}(?:\.\d{1,6})?)?=([^=]{1,60})")
_FORM = "[RIDE:]FROM..TO=SURFACE in km, e.g. 0..3.2=loose-gravel or 2:8.5..=wet-peat"


@dataclass(frozen=True, slots=True)
class Span:
    """A surface from one distance to another [m], on one ride (its number, from 1) or, without number, on all."""

    surface: str
    begin: float
    end: float | None
    ride: int | None = None
    text: str = ""


def parse_span(text: str) -> Span:
    """A span as people write it.

    Raises
    ------
    UsageError
        If the text is none, or ends before it begins.

    Examples
    --------
    >>> span = parse_span("2:8.5..=wet-peat")
    >>> span.ride, span.begin, span.end, span.surface
    (2, 8500.0, None, 'wet-peat')
    """
    found = _SPAN.fullmatch(text.strip())
    if found is None:
        raise UsageError(f'--ground "{text[:80]}": wanted is {_FORM}')
    ride, begin, end, surface = found.groups()
    span = Span(
        surface=surface.strip(),
        begin=1000.0 * float(begin or 0.0),
        end=None if end is None else 1000.0 * float(end),
        ride=None if ride is None else int(ride),
        text=text.strip(),
    )
    if span.end is not None and span.end <= span.begin:
        raise UsageError(f'--ground "{text}" ends before it begins; write the nearer distance first')
    return span


@dataclass(frozen=True)
class Ground:
    """How surfaces are assigned: spans go before the map, the map before the rest."""

    spans: tuple[Span, ...] = ()
    areas: tuple[Area, ...] = ()
    rest: str | None = None

    @property
    def stated(self) -> bool:
        """Whether any surface is stated."""
        return bool(self.spans or self.areas or self.rest)

    def along(self, made: Profile, number: int) -> tuple[list[str], Whole]:
        """Surfaces along a ride.

        Parameters
        ----------
        made
            Its profile.
        number
            Its number, from 1.

        Returns
        -------
        tuple
            Names of surfaces, and which one each step lies on, shape (n,).  A step lies where its middle lies.

        Raises
        ------
        UsageError
            If a span lies beyond the ride, or something is left without a surface.
        """
        names: list[str] = []
        surface = np.full(len(made.run), -1, dtype=np.int64)
        middle = made.ends - 0.5 * made.length
        total = float(made.ends[-1])
        for span in self.spans:
            if span.ride not in (None, number):
                continue
            if span.begin >= total:
                raise UsageError(
                    f'--ground "{span.text}" begins beyond ride {number}, which is {total / 1000.0:.2f} km long; '
                    "name the ride before the distance, e.g. 2:0..3=loose-gravel"
                )
            inside = (middle >= span.begin) & (surface < 0)
            if span.end is not None:
                inside &= middle < span.end
            surface[inside] = _number(names, span.surface)
        if self.areas:
            for name, inside in surfaces_at(self.areas, made.longitude, made.latitude):
                surface[inside & (surface < 0)] = _number(names, name)
        left = surface < 0
        if left.any():
            if self.rest is None:
                first = int(np.flatnonzero(left)[0])
                raise UsageError(
                    f"{made.length[left].sum() / 1000.0:.2f} km of ride {number} have no surface, the first at km "
                    f"{(made.ends[first] - made.length[first]) / 1000.0:.2f}; name it with --ground or --rest SURFACE"
                )
            surface[left] = _number(names, self.rest)
        return names, surface


def require_rides(spans: Sequence[Span], count: int) -> None:
    """Refuse spans of rides that are not there."""
    for span in spans:
        if span.ride is not None and not 1 <= span.ride <= count:
            raise UsageError(f'--ground "{span.text}": there is no ride {span.ride}, there are {count}')


def _number(names: list[str], name: str) -> int:
    if name not in names:
        names.append(name)
    return names.index(name)
