"""Figures as the sheet prints them: rounded by their unit, each with where in the results it stands."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

#: Decimals by unit; a ratio has three, because many limits stand at 1.
PLACES = {
    "": 3,
    "g": 3,
    "kg": 2,
    "kg m2": 3,
    "mm": 1,
    "cm2": 1,
    "m": 0,
    "m2": 3,
    "rpm": 0,
    "Wh": 0,
    "km": 1,
    "kPa": 1,
    "N": 0,
    "N m": 1,
    "kN/m": 1,
    "Wh/km": 1,
    "km/h": 1,
    "m/s2": 2,
    "°C": 0,
    "°": 1,
    "%": 1,
    "days": 0,
    "pieces": 0,
    "s": 1,
    "W": 0,
    "J/K": 1,
    "MPa": 2,
}
#: Units as people write them.
_SHOWN = {"1": "", "degC": "°C", "deg": "°"}
#: Beyond this a figure has no end; results write it so because JSON knows no infinity.
_ENDLESS = 1e9
NO_FIGURE = "no figure"
#: Where a figure does not apply.
NOT_HERE = "\N{EM DASH}"
#: Between a number and its unit: they stay on one line.
_JOIN = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Shown:
    """One figure of the sheet: ``text`` with its unit, the ``value`` behind it, and ``of``, where that stands."""

    text: str
    value: float | None
    of: str = ""

    def __str__(self) -> str:
        return self.text


def unit_words(unit: str) -> str:
    """A unit as people write it; ratios have none.

    >>> unit_words("degC"), unit_words("1"), unit_words("kPa")
    ('°C', '', 'kPa')
    """
    return _SHOWN.get(unit, unit)


def places_of(unit: str, value: float = 0.0) -> int:
    """Decimals of a unit's figures; money and what is not listed has two.

    A large number of ``g`` is a mass, a small one a deceleration.

    >>> places_of("kg"), places_of("g", 0.9), places_of("g", 1310.0)
    (2, 3, 0)
    """
    if unit == "g" and abs(value) >= 10.0:
        return 0
    return PLACES.get(unit_words(unit), 2)


def figure_text(value: float | None, unit: str, *, sign: bool = False) -> str:
    """A figure with its unit, rounded to the unit's decimals.

    Parameters
    ----------
    value : in the unit
    unit : as results name it, or a currency
    sign : a plus before what is positive

    Examples
    --------
    >>> figure_text(46.4056, "Wh/km").split(), figure_text(-0.04, "km", sign=True).split()
    (['46.4', 'Wh/km'], ['0.0', 'km'])
    >>> figure_text(1.25, "1"), figure_text(None, "kg"), figure_text(1e9, "1")
    ('1.250', 'no figure', 'without end')
    """
    if value is None or math.isnan(value):
        return NO_FIGURE
    if abs(value) >= _ENDLESS:
        return "without end"
    places = places_of(unit, value)
    text = f"{round(value, places) + 0.0:{'+' if sign else ''},.{places}f}".replace(",", "\N{NARROW NO-BREAK SPACE}")
    if float(text.replace("\N{NARROW NO-BREAK SPACE}", "")) == 0.0:
        text = f"{0:.{places}f}"
    text = text.replace("-", "\N{MINUS SIGN}")
    shown = unit_words(unit)
    joint = "" if shown in ("", "°") else _JOIN
    return f"{text}{joint}{shown}"


def shown(value: float | None, unit: str, *, sign: bool = False, of: str = "") -> Shown:
    """A figure that stands in no result, or whose place is named."""
    return Shown(figure_text(value, unit, sign=sign), value, of)


class Results:
    """The results that a sheet is made of, by name; figures are taken out of them by their path."""

    def __init__(self, documents: Mapping[str, Any]) -> None:
        self.documents = documents

    def at(self, path: str) -> Any:
        """What stands at a path such as ``choice/vehicles/0/mass_kg``.

        Raises
        ------
        KeyError
            If nothing does.
        """
        found: Any = self.documents
        for step in path.split("/"):
            try:
                found = found[int(step)] if isinstance(found, Sequence) and not isinstance(found, str) else found[step]
            except (KeyError, IndexError, TypeError, ValueError):
                raise KeyError(f"no {path} in the results") from None
        return found

    def figure(self, path: str, unit: str, *, sign: bool = False) -> Shown:
        """The figure at a path."""
        return shown(self.at(path), unit, sign=sign, of=path)
