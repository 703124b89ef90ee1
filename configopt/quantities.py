"""The only place with trade units: text such as ``412 g`` or ``85 kPa +- 3 %`` to SI figures, and back for people.

Inside the program every physical value is a plain SI float.  What people write carries number and unit together; what
leaves the process carries the unit in its key and goes through :func:`to_unit`.  Record fields are declared with the
annotated types at the end of this module, for example ``mass: Mass`` or
``height: Annotated[Figure, quantity("length", above=0)]``.

References
----------
Factors: BIPM, *The International System of Units (SI)*, 9th ed. 2019; NIST Special Publication 811, 2008, appendix B.8
(pound, inch, pound-force, psi).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Context, Decimal
from difflib import get_close_matches
from fractions import Fraction
from functools import cache, lru_cache
from typing import Annotated, Any, SupportsFloat, TypeGuard

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from configopt.errors import ConfigoptError

TEXT_LIMIT = 200
DIGIT_LIMIT = 30
_EXPONENT_LIMIT = 300  # beyond it no float can hold the number, and exact arithmetic would only cost time

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,4})?(?![0-9])")
_PLUS_MINUS = re.compile(r"\+-|\+/-|±")
_TO = re.compile(r"(?<=[0-9A-Za-z%.)°])\s+to\s+(?=[0-9.+-])")
_NOT_FINITE = re.compile(r"[+-]?\.?(inf|infinity|nan)\b", re.IGNORECASE)


class QuantityError(ConfigoptError, ValueError):
    """A text is no quantity of the wanted dimension; says what was found, what is allowed and what to write."""

    def __init__(self, message: str, fix: str = "") -> None:
        self.message = message
        self.fix = fix
        super().__init__(f"{message}; {fix}" if fix else message)


class Figure(float):
    """A float in SI with the absolute standard uncertainty with which it is known, or the range it may come to lie in.

    It computes, compares and hashes like the float it is; arithmetic gives plain floats.

    Parameters
    ----------
    value
        The figure [SI].
    uncertainty
        Absolute standard uncertainty [SI], or None where none is stated.
    ends
        Low and high end [SI] of a range that is still open; the value is its middle.

    Examples
    --------
    >>> mass = Figure(0.412, 0.005)
    >>> mass + 1
    1.412
    >>> mass.uncertainty
    0.005
    """

    __slots__ = ("ends", "uncertainty")
    uncertainty: float | None
    ends: tuple[float, float] | None

    def __new__(
        cls,
        value: SupportsFloat | str = 0.0,
        uncertainty: float | None = None,
        ends: tuple[float, float] | None = None,
    ) -> Figure:
        figure = super().__new__(cls, value)
        if not math.isfinite(figure):
            raise QuantityError(f"a figure must be finite, found {float(figure)}")
        if uncertainty is not None:
            uncertainty = float(uncertainty)
            if not (math.isfinite(uncertainty) and uncertainty >= 0):
                raise QuantityError(f"a standard uncertainty must be finite and at least 0, found {uncertainty}")
        if ends is not None:
            low, high = float(ends[0]), float(ends[1])
            if not (math.isfinite(low) and math.isfinite(high) and low <= figure <= high):
                raise QuantityError(f"a range must hold its figure, found {low} to {high} around {float(figure)}")
            ends = low, high
        object.__setattr__(figure, "uncertainty", uncertainty)
        object.__setattr__(figure, "ends", ends)
        return figure

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a figure is fixed: {name} cannot be set")

    def __reduce__(self) -> tuple[type[Figure], tuple[float, float | None, tuple[float, float] | None]]:
        return Figure, (float(self), self.uncertainty, self.ends)

    def __repr__(self) -> str:
        if self.ends is not None:
            return f"Figure({float(self)!r}, ends={self.ends!r})"
        if self.uncertainty is None:
            return f"Figure({float(self)!r})"
        return f"Figure({float(self)!r}, uncertainty={self.uncertainty!r})"

    __str__ = float.__repr__


@dataclass(frozen=True, slots=True)
class _Unit:
    name: str
    factor: Fraction
    offset: Fraction = Fraction(0)

    def si(self, number: Fraction) -> Fraction:
        return number * self.factor + self.offset


@dataclass(frozen=True, slots=True)
class Dimension:
    """One kind of quantity: its units by every accepted spelling, and the floor that physics sets."""

    name: str
    title: str
    units: dict[str, _Unit]
    examples: tuple[str, str]
    low: float | None
    plain: bool  # a number without unit is what people write (ratio, price, count)

    @property
    def unit_names(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(unit.name for unit in self.units.values() if unit.name))


# Units that are more than a decimal factor, by the names that the table uses for them.
_FACTORS: dict[str, Fraction] = {
    "LB": Fraction("0.45359237"),
    "OZ": Fraction("0.028349523125"),
    "IN": Fraction("0.0254"),
    "FT": Fraction("0.3048"),
    "IN2": Fraction("0.0254") ** 2,
    "IN3": Fraction("0.0254") ** 3,
    "LBF": Fraction("0.45359237") * Fraction("9.80665"),
    "LBF_FT": Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.3048"),
    "LBF_IN": Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.0254"),
    "LBF/IN": Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254"),
    "PSI": Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
    "DEG": Fraction(math.pi) / 180,
    "1/DEG": 180 / Fraction(math.pi),
    "RPM": Fraction(math.pi) / 30,
}
_ZERO_CELSIUS = Fraction("273.15")
_ZERO_FAHRENHEIT = _ZERO_CELSIUS - Fraction(160, 9)

# name: title: floor [SI] or -: two examples that mean the same: units, "name, other spelling = factor".  The first unit
# is what people mostly mean.  A factor is a number, a fraction or a name of the table above.
_TABLE_TEXT = """
mass: a mass: 0: 412 g; 0.412 kg: g = 0.001; kg = 1; t = 1000; lb = LB; oz = OZ
length: a length: 0: 47 mm; 4.7 cm: mm = 0.001; cm = 0.01; m = 1; km = 1000; um, µm, μm = 1e-6; in = IN; ft = FT; \
    mi = 1609.344
area: an area: 0: 28 cm2; 0.0028 m2: mm2 = 1e-6; cm2 = 1e-4; m2 = 1; in2 = IN2
volume: a volume: 0: 60 ml; 0.06 l: ml = 1e-6; l, L = 0.001; mm3 = 1e-9; cm3 = 1e-6; m3 = 1; in3 = IN3
pressure: a pressure: 0: 85 kPa; 0.85 bar: kPa = 1000; bar = 1e5; psi = PSI; Pa = 1; hPa = 100; mbar = 100; MPa = 1e6; \
    GPa = 1e9
force: a force: 0: 640 N; 0.64 kN: N = 1; kN = 1000; daN = 10; lbf = LBF
torque: a torque: -: 46.8 N m; 34.5 lbf ft: N m, Nm = 1; kN m, kNm = 1000; lbf ft, ft lbf = LBF_FT; lbf in = LBF_IN
speed: a speed: 0: 45 km/h; 12.5 m/s: km/h, kph, kmh = 5/18; m/s = 1; mph = 0.44704; ft/s = FT
acceleration: an acceleration: -: 4.4 m/s2; 14.4 ft/s2: m/s2 = 1; ft/s2 = FT
angle: an angle: -: 26.5 deg; 0.4625 rad: deg, ° = DEG; rad = 1
time: a time: 0: 90 s; 1.5 min: s = 1; ms = 0.001; min = 60; h = 3600; days, day, d = 86400
temperature: a temperature: 0: 20 °C; 293.15 K: °C, degC, C = 1; K = 1; °F, degF, F = 5/9
temperature_difference: a temperature difference: -: 30 K; 54 °F: K, °C, degC, C = 1; °F, degF, F = 5/9
energy: an energy: 0: 1500 Wh; 1.5 kWh: Wh = 3600; kWh = 3.6e6; J = 1; kJ = 1000; MJ = 1e6
power: a power: 0: 6000 W; 6 kW: W = 1; kW = 1000
density: a density: 0: 7740 kg/m3; 7.74 g/cm3: kg/m3 = 1; g/cm3 = 1000
angular_speed: an angular speed: 0: 4500 rpm; 471 rad/s: rpm, 1/min = RPM; rad/s = 1; deg/s = DEG
stiffness: a stiffness: 0: 60 N/mm; 60 kN/m: N/mm = 1000; kN/m = 1000; N/m = 1; kN/mm = 1e6; lbf/in = LBF/IN
angular_stiffness: an angular stiffness: 0: 900 N m/rad; 15.7 N m/deg: N m/rad = 1; N m/deg = 1/DEG
damping: a damping: 0: 1500 N s/m; 1.5 kN s/m: N s/m, Ns/m = 1; kN s/m, kNs/m = 1000; N s/mm, Ns/mm = 1000
mass_per_length: a mass per length: 0: 450 g/m; 0.45 kg/m: g/m = 0.001; kg/m = 1; g/cm = 0.1; g/mm = 1
mass_per_area: a mass per area: 0: 3.2 kg/m2; 3200 g/m2: kg/m2 = 1; g/m2 = 0.001; g/cm2 = 10
inertia: an inertia: 0: 0.15 kg m2; 1500 kg cm2: kg m2 = 1; kg cm2 = 1e-4; g m2 = 0.001; g cm2 = 1e-7
bending_stiffness: a bending or torsional stiffness of a section: 0: 111 N m2; 0.111 kN m2: N m2 = 1; kN m2 = 1000; \
    N mm2 = 1e-6
kc_modulus: a cohesive pressure-sinkage modulus kc: 0: 0.99 kN/m^(n+1); 5.27 kN/m^(n+1): kN/m^(n+1) = 1000
kphi_modulus: a frictional pressure-sinkage modulus kphi: 0: 1528.43 kN/m^(n+2); 820 kN/m^(n+2): kN/m^(n+2) = 1000
energy_per_distance: an energy per distance: 0: 22 Wh/km; 79.2 J/m: Wh/km = 3.6; kWh/km = 3600; J/m = 1; kJ/km = 1
specific_heat: a specific heat: 0: 460 J/(kg K); 0.46 kJ/(kg K): J/(kg K), J/kg K, J/kgK = 1; kJ/(kg K), kJ/kg K = 1000
conductivity: a thermal conductivity: 0: 24.9 W/(m K); 167 W/(m K): W/(m K), W/m K, W/mK = 1
heat_transfer: a heat transfer coefficient: 0: 60 W/(m2 K); 12.5 W/(m2 K): W/(m2 K), W/m2 K, W/m2K = 1
per_length: a number per distance: 0: 40 per km; 0.04 per m: per km, 1/km, /km = 0.001; per m, 1/m, /m = 1
per_mass: an amount per mass: 0: 12 per kg; 0.012 per g: per kg, 1/kg, /kg = 1; per g, 1/g, /g = 1000
per_energy_per_distance: an amount per energy per distance: 0: 3 per Wh/km; 3 km/Wh: per Wh/km = 10/36; km/Wh = 10/36
ratio: a ratio: -: 0.25; 25 %: = 1; % = 0.01
price: a price: 0: 41.50; 120: = 1
count: a count: 0: 36; 2: = 1
"""


def _read_table() -> dict[str, Dimension]:
    dimensions = {}
    for row in _TABLE_TEXT.replace("\\\n", "").strip().splitlines():
        name, title, floor, examples, listed = (cell.strip() for cell in row.split(":"))
        units: dict[str, _Unit] = {}
        for entry in listed.split(";"):
            spellings, _, factor = entry.rpartition("=")
            first, *others = (spelling.strip() for spelling in spellings.split(","))
            offset = Fraction(0)
            if name == "temperature":
                offset = {"°C": _ZERO_CELSIUS, "°F": _ZERO_FAHRENHEIT}.get(first, offset)
            unit = _Unit(first, _FACTORS.get(factor.strip()) or Fraction(factor.strip()), offset)
            units.update(dict.fromkeys([first, *others], unit))
        one, other = (example.strip() for example in examples.split(";"))
        low = None if floor == "-" else float(floor)
        dimensions[name] = Dimension(name, title, units, (one, other), low, plain="" in units)
    return dimensions


DIMENSIONS: dict[str, Dimension] = _read_table()

# What people read: for each dimension the unit below a size, the last one beyond.
_PEOPLE: dict[str, tuple[tuple[float, str], ...]] = {
    "mass": ((1.0, "g"), (math.inf, "kg")),
    "length": ((1.0, "mm"), (1000.0, "m"), (math.inf, "km")),
    "area": ((0.1, "cm2"), (math.inf, "m2")),
    "volume": ((0.001, "ml"), (math.inf, "l")),
    "pressure": ((5e6, "kPa"), (1e9, "MPa"), (math.inf, "GPa")),
    "force": ((1e4, "N"), (math.inf, "kN")),
    "time": ((120.0, "s"), (7200.0, "min"), (172800.0, "h"), (math.inf, "days")),
    "energy": ((1e3, "J"), (3.6e5, "kJ"), (3.6e6, "Wh"), (math.inf, "kWh")),
    "power": ((1e3, "W"), (math.inf, "kW")),
    "mass_per_length": ((1.0, "g/m"), (math.inf, "kg/m")),
}


@cache
def _dimension(name: str) -> Dimension:
    try:
        return DIMENSIONS[name]
    except KeyError:
        close = get_close_matches(name, DIMENSIONS, n=1)
        raise QuantityError(
            f'there is no dimension "{name}"',
            f'did you mean "{close[0]}"?' if close else f"known: {', '.join(DIMENSIONS)}",
        ) from None


@cache
def _unit_of_any_dimension(name: str) -> _Unit:
    # An earlier row of the table wins: degC alone is a temperature, not a difference.
    for dimension in DIMENSIONS.values():
        if name in dimension.units:
            return dimension.units[name]
    raise QuantityError(f'the unit "{name}" is not known')


def _unit(name: str, dimension: str | None) -> _Unit:
    if dimension is None:
        return _unit_of_any_dimension(name)
    try:
        return _dimension(dimension).units[name]
    except KeyError:
        raise _wrong_unit(name, _dimension(dimension)) from None


def from_unit(number: float, unit: str, dimension: str | None = None) -> float:
    """Convert a number in a trade unit to SI.

    Parameters
    ----------
    number
        The number [``unit``].
    unit
        A unit as people write it, for example ``kPa``.
    dimension
        Needed only where one spelling serves two dimensions (``degC`` alone is a temperature, not a difference).

    Returns
    -------
    float
        The value [SI], correctly rounded.

    Raises
    ------
    QuantityError
        If the unit is not known.

    Examples
    --------
    >>> from_unit(85, "kPa")
    85000.0
    """
    row = _unit(unit, dimension)
    return float(row.si(Fraction(number))) if math.isfinite(number) else float(number)


def to_unit(value: float, unit: str, dimension: str | None = None) -> float:
    """Convert an SI value to a number in a trade unit, for keys such as ``pressure_kpa``.

    Parameters
    ----------
    value
        The value [SI].
    unit, dimension
        As for :func:`from_unit`.

    Returns
    -------
    float
        The number [``unit``], correctly rounded.

    Raises
    ------
    QuantityError
        If the unit is not known.

    Examples
    --------
    >>> to_unit(79.2, "Wh/km")
    22.0
    """
    row = _unit(unit, dimension)
    return float((Fraction(value) - row.offset) / row.factor) if math.isfinite(value) else float(value)


# Catalogs write the same quantities again and again, and exact fractions take their time.
@lru_cache(maxsize=8192)
def parse_quantity(text: str, dimension: str) -> Figure:
    """Read a quantity that a person wrote.

    Parameters
    ----------
    text
        ``412 g``, ``412 g +- 5 g`` or ``412 g +- 3 %``; ``±`` and ``+/-`` are accepted.  A ratio, a price and a count
        are plain numbers; a ratio may also stand in %, and its uncertainty is then in % of the whole (points).
    dimension
        A key of :data:`DIMENSIONS`.

    Returns
    -------
    Figure
        The value and its absolute standard uncertainty [SI].

    Raises
    ------
    QuantityError
        If the text is no such quantity; the message says what was found, what is allowed and what to write.

    Examples
    --------
    >>> parse_quantity("412 g +- 3 %", "mass").uncertainty
    0.01236
    """
    kind = _dimension(dimension)
    if len(text) > TEXT_LIMIT:
        raise QuantityError(f"a quantity has at most {TEXT_LIMIT} characters, found {len(text)}", _advice(kind))
    if _TO.search(text):
        raise _range_out_of_place(text, kind)
    parts = _PLUS_MINUS.split(text)
    if len(parts) > 2:
        raise QuantityError(f'found {len(parts) - 1} uncertainties in "{text}", allowed is one', _advice(kind))
    number, unit = _number_and_unit(parts[0], text, kind)
    value = _finite(unit.si(number), text, kind)
    if len(parts) == 1:
        return Figure(value)
    return Figure(value, _finite(_uncertainty(parts[1], text, kind, abs(unit.si(number)), unit), text, kind))


def is_range(written: object) -> TypeGuard[str]:
    """Whether what a file holds reads as a range.

    >>> is_range("500 g to 620 g"), is_range("560 g")
    (True, False)
    """
    return isinstance(written, str) and len(written) <= TEXT_LIMIT and _TO.search(written) is not None


def parse_range(text: str, dimension: str) -> Figure:
    """Read a range that a person wrote.

    Parameters
    ----------
    text
        ``500 g to 620 g`` or ``500 to 620 g``: from low to high.
    dimension
        A key of :data:`DIMENSIONS`.

    Returns
    -------
    Figure
        The middle [SI] with the ends.

    Raises
    ------
    QuantityError
        If the text is no such range; the message says what was found, what is allowed and what to write.

    Examples
    --------
    >>> parse_range("500 to 620 g", "mass")
    Figure(0.56, ends=(0.5, 0.62))
    """
    kind = _dimension(dimension)
    parts = _TO.split(text)
    advice = f'write for example "{kind.examples[0]}", or a range from low to high'
    if len(text) > TEXT_LIMIT or len(parts) != 2:
        raise QuantityError(f'found "{text[:TEXT_LIMIT]}", expected a low and a high end with "to" between', advice)
    if _PLUS_MINUS.search(text):
        raise QuantityError(f'found a range with an uncertainty in "{text}"', "write either a range or an uncertainty")
    number, unit = _number_and_unit(parts[1], text, kind)
    # The unit of the high end stands for both where the low end has none.
    first, sep = parts[0].strip(), " " if unit.name not in ("", "%") else ""
    alone = _NUMBER.fullmatch(first) is not None
    low_number, low_unit = _number_and_unit(f"{first}{sep}{unit.name}" if alone else first, text, kind)
    low, high = low_unit.si(low_number), unit.si(number)
    if low > high:
        raise QuantityError(f'the range "{text}" begins above its end', "write the low end first")
    ends = _finite(low, text, kind), _finite(high, text, kind)
    return Figure(min(max(_finite((low + high) / 2, text, kind), ends[0]), ends[1]), None, ends)


def _range_out_of_place(text: str, kind: Dimension) -> QuantityError:
    found = f'found a range in "{text}"; ranges stand only in catalog entries with status: concept'
    try:
        figure = parse_range(text, kind.name)
    except QuantityError:
        return QuantityError(found, _advice(kind))
    assert figure.ends is not None
    unit = _number_and_unit(_TO.split(text)[1], text, kind)[1]
    spread = Fraction(figure.ends[1]) - Fraction(figure.ends[0])
    middle, half = ((Fraction(figure) - unit.offset) / unit.factor, spread / 2 / unit.factor)
    shown = f"{float(middle):.6g} {unit.name}".strip()
    return QuantityError(found, f'write "{shown}" or "{shown} +- {f"{float(half):.6g} {unit.name}".strip()}"')


def _uncertainty(part: str, text: str, kind: Dimension, size: Fraction, unit: _Unit) -> Fraction:
    relative = unit.name != "%" and part.rstrip().endswith("%")
    number, own = _number_and_unit(part.rstrip().removesuffix("%") if relative else part, text, kind, relative=relative)
    if number < 0:
        raise QuantityError(f'the uncertainty in "{text}" is negative', "write it without a sign")
    return size * number / 100 if relative else number * own.factor


def _number_and_unit(part: str, text: str, kind: Dimension, *, relative: bool = False) -> tuple[Fraction, _Unit]:
    part = part.strip()
    if _NOT_FINITE.match(part):
        raise QuantityError(f'"{text}" is not finite', _advice(kind))
    match = _NUMBER.match(part)
    if match is None:
        raise QuantityError(f'found "{text}", expected {kind.title}', _advice(kind))
    written, name = match.group(), part[match.end() :].strip()
    if sum(character.isdigit() for character in written) > DIGIT_LIMIT:
        raise QuantityError(f"a number has at most {DIGIT_LIMIT} digits, found more", "round it to what was measured")
    exponent = written.lower().partition("e")[2]
    if exponent and abs(int(exponent)) > _EXPONENT_LIMIT:
        raise QuantityError(f'the number "{written}" is out of all range', _advice(kind))
    if name.startswith(",") and name[1:2].isdigit():
        raise QuantityError(f'found a comma in "{text}"', "write a decimal point, and no separator between thousands")
    number = Fraction(written)
    if relative and not name:
        return number, _Unit("%", Fraction(1, 100))
    if not name and not kind.plain:
        raise QuantityError(f'"{part}" has no unit, expected {kind.title}', _bare_number_advice(float(number), kind))
    unit = kind.units.get(name) or kind.units.get(_plain_spelling(name))
    if unit is None:
        raise _wrong_unit(name, kind)
    if kind.name == "count" and number.denominator != 1:
        raise QuantityError(f'found "{text}", expected a whole number', f'write for example "{kind.examples[0]}"')
    return number, unit


def _plain_spelling(name: str) -> str:
    name = name.replace("²", "2").replace("³", "3").replace("·", " ").replace("*", " ").replace("º", "°")
    return " ".join(re.sub(r"\^(?!\()", "", name).split())


def _finite(value: Fraction, text: str, kind: Dimension) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number) or (number == 0.0 and value != 0):
        raise QuantityError(f'the number in "{text}" is out of all range', _advice(kind))
    return number


def _advice(kind: Dimension) -> str:
    return f'write for example "{kind.examples[0]}" or "{kind.examples[1]}"'


def _bare_number_advice(number: float, kind: Dimension) -> str:
    """Show the number that was found with two units that mean the same, so that the choice is plain."""
    first, second = (kind.units[_NUMBER.sub("", example, count=1).strip()] for example in kind.examples)
    if first is second:
        return f'write "{number:.15g} {first.name}"'
    try:
        other = float((first.si(Fraction(number)) - second.offset) / second.factor)
    except OverflowError:
        return _advice(kind)
    return f'write "{number:.15g} {first.name}" or "{other:.6g} {second.name}"'


def _wrong_unit(name: str, kind: Dimension) -> QuantityError:
    shown = name if len(name) <= 40 else name[:40] + "..."
    allowed = "no unit" if kind.name in {"price", "count"} else ", ".join(kind.unit_names)
    if kind.name == "ratio":
        allowed = "a plain number or %"
    noun = kind.title.split(" ", 1)[1]
    message = f'"{shown}" is no unit of {noun}, allowed: {allowed}'
    if kind.name == "price":
        return QuantityError(message, "write the number alone; the currency has its own key")
    spelling = _plain_spelling(shown)
    same_letters = [unit for unit in kind.unit_names if unit.lower() == spelling.lower()]
    if same_letters:
        return QuantityError(message, f'capitals matter: write "{same_letters[0]}"')
    for other in DIMENSIONS.values():
        if spelling in other.units:
            belongs = f'"{shown}" is a unit of {other.title.split(" ", 1)[1]}'
            return QuantityError(f"{belongs}, expected {kind.title}, allowed: {allowed}", _advice(kind))
    close = get_close_matches(spelling, [key for key in kind.units if key], n=1)
    return QuantityError(message, f'did you mean "{kind.units[close[0]].name}"?' if close else _advice(kind))


def _people_unit(value: float, kind: Dimension) -> _Unit:
    for limit, name in _PEOPLE.get(kind.name, ()):
        if abs(value) < limit:
            return kind.units[name]
    return next(iter(kind.units.values()))


def format_quantity(value: float, dimension: str, *, digits: int = 3, unit: str | None = None) -> str:
    """Print a value for people: at least ``digits`` significant digits, in the unit in which the trade thinks.

    Parameters
    ----------
    value
        The value [SI].
    dimension
        A key of :data:`DIMENSIONS`.
    digits
        Significant digits; whole digits are never dropped.
    unit
        A unit to print in, or None for the usual one.

    Returns
    -------
    str
        Number and unit.

    Raises
    ------
    QuantityError
        If dimension or unit are not known.

    Examples
    --------
    >>> format_quantity(0.412, "mass"), format_quantity(3.42, "mass"), format_quantity(85000, "pressure")
    ('412 g', '3.42 kg', '85 kPa')
    """
    kind = _dimension(dimension)
    row = _unit(unit, dimension) if unit is not None else _people_unit(value, kind)
    if not math.isfinite(value):
        return f"{value} {row.name}".strip()
    if kind.name == "price":
        return f"{value:.2f}"
    number = float((Fraction(value) - row.offset) / row.factor)
    rounded = float(f"{number:.{digits - 1}e}") + 0.0  # + 0.0: no "-0 g"
    text = f"{number:.0f}" if abs(rounded) >= 10**digits else f"{rounded:.{digits + 1}g}"
    return f"{text} {row.name}".strip()


def write_quantity(value: float, dimension: str, *, unit: str | None = None) -> str:
    """Write a quantity as text that :func:`parse_quantity` reads back to the same float, uncertainty included.

    Parameters
    ----------
    value
        The value [SI]; the uncertainty of a :class:`Figure` is written too.
    dimension
        A key of :data:`DIMENSIONS`.
    unit
        A unit to write in, or None for the usual one.

    Returns
    -------
    str
        The shortest text that loses nothing.

    Raises
    ------
    QuantityError
        If the value is not finite, or dimension or unit are not known.

    Examples
    --------
    >>> write_quantity(Figure(0.412, 0.005), "mass")
    '412 g +- 5 g'
    """
    kind = _dimension(dimension)
    row = _unit(unit, dimension) if unit is not None else _people_unit(value, kind)
    ends = getattr(value, "ends", None)
    if ends is not None:
        return " to ".join(f"{_exact(end, row.factor, row.offset)} {row.name}".strip() for end in ends)
    text = f"{_exact(Figure(value), row.factor, row.offset)} {row.name}".strip()
    uncertainty = getattr(value, "uncertainty", None)
    if uncertainty is None:
        return text
    return f"{text} +- {_exact(uncertainty, row.factor, Fraction(0))} {row.name}".strip()


def _exact(value: float, factor: Fraction, offset: Fraction) -> str:
    number = (Fraction(value) - offset) / factor
    for digits in range(15, DIGIT_LIMIT):
        text = _decimal_text(number, digits)
        if float(Fraction(text) * factor + offset) == value:
            return text
    raise QuantityError(f"{value!r} cannot be written with {DIGIT_LIMIT} digits in this unit", "choose another unit")


def _decimal_text(number: Fraction, digits: int) -> str:
    rounded = Context(prec=digits).divide(Decimal(number.numerator), Decimal(number.denominator))
    if rounded == 0:
        return "0"
    plain = format(rounded.normalize(Context(prec=digits)), "f")
    return plain if len(plain) <= DIGIT_LIMIT else format(rounded.normalize(Context(prec=digits)), "e")


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a record field accepts: a dimension and, where needed, bounds [SI].  Made by :func:`quantity`."""

    dimension: str
    above: float | None = None
    low: float | None = None
    high: float | None = None

    def read(self, written: object) -> Figure:
        """Turn what the file holds into a :class:`Figure`; a figure that is already parsed passes."""
        kind = DIMENSIONS[self.dimension]
        try:
            figure = _from_file(written, kind)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{message}", {"message": error.message, "fix": error.fix}) from None
        if (
            (self.above is not None and not figure > self.above)
            or (self.low is not None and not figure >= self.low)
            or (self.high is not None and not figure <= self.high)
        ):
            message = f"found {_shown(written, kind)}, allowed is {self.range_text()}"
            raise PydanticCustomError("quantity_range", "{message}", {"message": message, "fix": ""})
        return figure

    def read_range(self, written: str) -> Figure:
        """Turn a range that the file holds into a :class:`Figure`; both ends must lie where the field allows."""
        try:
            figure = parse_range(written, self.dimension)
        except QuantityError as error:
            raise PydanticCustomError("quantity", "{message}", {"message": error.message, "fix": error.fix}) from None
        for end in figure.ends or ():
            self.read(Figure(end))
        return figure

    def written(self, figure: float) -> str | float:
        """What a file of the project holds for the figure; reads back to the same figure."""
        open_ = getattr(figure, "uncertainty", None) is not None or getattr(figure, "ends", None) is not None
        if DIMENSIONS[self.dimension].plain and not open_:
            return float(figure)
        return write_quantity(figure, self.dimension)

    def range_text(self) -> str:
        """The allowed range in words."""
        texts = [
            f"{words} {format_quantity(bound, self.dimension, digits=6)}"
            for words, bound in (("above", self.above), ("at least", self.low), ("at most", self.high))
            if bound is not None
        ]
        return " and ".join(texts) or "any value"

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        write = core_schema.plain_serializer_function_ser_schema(
            self.written, return_schema=core_schema.any_schema(), when_used="json"
        )
        return core_schema.no_info_plain_validator_function(self.read, serialization=write)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        kind = DIMENSIONS[self.dimension]
        title = kind.title[0].upper() + kind.title[1:]
        text: dict[str, Any] = {"type": "string", "pattern": _pattern(kind.name), "examples": list(kind.examples)}
        floor = self.range_text()
        describe = {"description": title if floor == "any value" else f"{title}, {floor}"}
        if not kind.plain:
            return {**text, **describe}
        number: dict[str, Any] = {"type": "integer" if kind.name == "count" else "number"}
        for key, bound in (("exclusiveMinimum", self.above), ("minimum", self.low), ("maximum", self.high)):
            if bound is not None:
                number[key] = bound
        return {"anyOf": [number, text], **describe}


def _from_file(written: object, kind: Dimension) -> Figure:
    if isinstance(written, Figure):
        return written
    if isinstance(written, str):
        return parse_quantity(written, kind.name)
    if isinstance(written, bool) or not isinstance(written, int | float):
        found = {type(None): "nothing", list: "a list", dict: "a group of keys", bool: str(written).lower()}
        raise QuantityError(f"found {found.get(type(written), 'something else')}, expected {kind.title}", _advice(kind))
    if isinstance(written, float) and not math.isfinite(written):
        raise QuantityError(f"{written} is not finite", _advice(kind))
    if kind.plain:
        if kind.name == "count" and written != int(written):
            raise QuantityError(f"found {written}, expected a whole number", f'write for example "{kind.examples[0]}"')
        return Figure(_finite(Fraction(written), str(written)[:40], kind))
    raise QuantityError(
        f"{str(written)[:40]} has no unit, expected {kind.title}",
        _bare_number_advice(float(written), kind) if abs(written) < 1e300 else _advice(kind),
    )


def _shown(written: object, kind: Dimension) -> str:
    return f'"{written}"' if isinstance(written, str) else format_quantity(float(str(written)), kind.name, digits=6)


@cache
def _pattern(dimension: str) -> str:
    """A pattern for editors, in the common part of Python's and JavaScript's regular expressions."""
    number = r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?"
    spelled = []
    for key in DIMENSIONS[dimension].units:
        text = re.sub(r"([()^.+])", r"\\\1", key)
        text = re.sub(r"(?<=[A-Za-z])([23])", r"(\\^?\1|" + r"[²³])", text)
        spelled.append(text.replace(" ", "[ ·*]+"))
    unit = f"({'|'.join(sorted(spelled, key=len, reverse=True))})"
    return rf"^\s*{number}\s*{unit}\s*((\+-|\+/-|±)\s*{number}\s*({unit}|%)\s*)?$"


def range_pattern(pattern: str) -> str:
    """The pattern of a quantity for editors, widened to ranges.

    >>> import re
    >>> wide = range_pattern(_pattern("mass"))
    >>> [bool(re.match(wide, text)) for text in ("500 g to 620 g", "500 to 620 g", "560 g", "500 to g")]
    [True, True, True, False]
    """
    inner = pattern.removeprefix("^").removesuffix("$")
    number = r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?"
    return f"^(({inner})|({number}|{inner})\\s+to\\s+({inner}))$"


def quantity(
    dimension: str, *, above: float | str | None = None, low: float | str | None = None, high: float | str | None = None
) -> Quantity:
    """Metadata for a record field of a dimension, with bounds: ``Annotated[Figure, quantity("length", above=0)]``.

    Parameters
    ----------
    dimension
        A key of :data:`DIMENSIONS`.
    above, low, high
        Bounds [SI], or texts such as ``"10 mm"``: the figure is > ``above``, >= ``low``, <= ``high``.  Without
        ``above`` and ``low`` the floor of the dimension holds (0, absolute zero; none for an angle, a ratio, a torque,
        an acceleration and a temperature difference); ``low=-math.inf`` lifts it.

    Returns
    -------
    Quantity
        To be used in ``Annotated``.

    Raises
    ------
    QuantityError
        If the dimension or a unit is not known.
    """
    kind = _dimension(dimension)
    bounds = [
        float(parse_quantity(bound, dimension)) if isinstance(bound, str) else bound for bound in (above, low, high)
    ]
    if above is None and low is None:
        bounds[1] = kind.low
    elif bounds[1] == -math.inf:
        bounds[1] = None
    return Quantity(kind.name, *bounds)


def default_quantity(text: str, dimension: str) -> Any:
    """Make the default of a record field: ``cold: Temperature = default_quantity("20 °C", "temperature")``.

    Parameters
    ----------
    text, dimension
        As for :func:`parse_quantity`.

    Returns
    -------
    Any
        A pydantic field whose default is the figure, and whose JSON Schema shows the text.

    Raises
    ------
    QuantityError
        If the text is no such quantity.
    """
    figure = parse_quantity(text, dimension)
    return Field(default_factory=lambda: figure, json_schema_extra={"default": text})


Mass = Annotated[Figure, quantity("mass")]
MassPositive = Annotated[Figure, quantity("mass", above=0)]
Length = Annotated[Figure, quantity("length")]
LengthPositive = Annotated[Figure, quantity("length", above=0)]
LengthSigned = Annotated[Figure, quantity("length", low=-math.inf)]
Area = Annotated[Figure, quantity("area")]
Volume = Annotated[Figure, quantity("volume", low=0)]
Pressure = Annotated[Figure, quantity("pressure")]
PressurePositive = Annotated[Figure, quantity("pressure", above=0)]
Force = Annotated[Figure, quantity("force")]
Torque = Annotated[Figure, quantity("torque", low=0)]
Speed = Annotated[Figure, quantity("speed")]
SpeedPositive = Annotated[Figure, quantity("speed", above=0)]
Acceleration = Annotated[Figure, quantity("acceleration")]
Angle = Annotated[Figure, quantity("angle")]
Time = Annotated[Figure, quantity("time")]
Temperature = Annotated[Figure, quantity("temperature")]
TemperatureDifference = Annotated[Figure, quantity("temperature_difference")]
Energy = Annotated[Figure, quantity("energy")]
Power = Annotated[Figure, quantity("power")]
Density = Annotated[Figure, quantity("density")]
AngularSpeed = Annotated[Figure, quantity("angular_speed")]
Stiffness = Annotated[Figure, quantity("stiffness")]
AngularStiffness = Annotated[Figure, quantity("angular_stiffness")]
Damping = Annotated[Figure, quantity("damping")]
MassPerLength = Annotated[Figure, quantity("mass_per_length")]
MassPerArea = Annotated[Figure, quantity("mass_per_area")]
Inertia = Annotated[Figure, quantity("inertia")]
BendingStiffness = Annotated[Figure, quantity("bending_stiffness")]
KcModulus = Annotated[Figure, quantity("kc_modulus")]
KphiModulus = Annotated[Figure, quantity("kphi_modulus")]
EnergyPerDistance = Annotated[Figure, quantity("energy_per_distance")]
SpecificHeat = Annotated[Figure, quantity("specific_heat")]
Conductivity = Annotated[Figure, quantity("conductivity")]
HeatTransfer = Annotated[Figure, quantity("heat_transfer")]
PerLength = Annotated[Figure, quantity("per_length")]
Ratio = Annotated[Figure, quantity("ratio", low=0)]
RatioPositive = Annotated[Figure, quantity("ratio", above=0)]
RatioSigned = Annotated[Figure, quantity("ratio")]
Share = Annotated[Figure, quantity("ratio", low=0, high=1)]
Price = Annotated[Figure, quantity("price")]
PricePositive = Annotated[Figure, quantity("price", above=0)]
Count = Annotated[Figure, quantity("count")]
