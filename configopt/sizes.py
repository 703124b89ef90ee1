"""Designations of tires and rims, load index and speed symbol: the grammar of the standards.

A designation is nominal: it names the size for which tire and rim are made to fit each other, and a stated measured
dimension wins over what is computed here.

References
----------
UN Regulation No. 75 (motorcycle and moped tyres); ISO 5751 (motorcycle tyres, metric series); ISO 4249 (motorcycle
tyres, code-designated series; rims); ISO 5775 (bicycle tyres and rims).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from configopt.errors import ConfigoptError

_INCH = Fraction(254, 10_000)
_MILLIMETRE = Fraction(1, 1_000)
_TEXT_LIMIT = 40

TireFamily = Literal["metric", "inch", "atv", "iso"]
RimFamily = Literal["WM", "MT", "ISO", "AT"]


class SizeError(ConfigoptError, ValueError):
    """A text is no designation; says what was found, what is allowed and what to write."""

    def __init__(self, message: str, fix: str = "") -> None:
        self.message = message
        self.fix = fix
        super().__init__(f"{message}; {fix}" if fix else message)


@dataclass(frozen=True, slots=True)
class TireSize:
    """What a tire's designation says.

    Attributes
    ----------
    family
        ``metric`` (80/100-21), ``inch`` (2.75-21), ``atv`` (AT22x7-10) or ``iso`` (57-622).
    text
        The designation as the standard writes it.
    section_width, section_height
        Nominal section [m].
    rim_diameter
        Bead seat diameter [m].  For motorcycle sizes the rounded d of UN R75, not 25.4 mm times the code.
    rim_code
        Rim diameter code, or the bead seat diameter in mm for ``iso``.
    """

    family: TireFamily
    text: str
    section_width: float
    section_height: float
    rim_diameter: float
    rim_code: str

    def __str__(self) -> str:
        return self.text

    @property
    def overall_diameter(self) -> float:
        """Nominal overall diameter D = d + 2 H [m] (UN R75, paragraph 2, from memory; ISO 5775-1)."""
        return self.rim_diameter + 2 * self.section_height

    @property
    def trade_diameter(self) -> float:
        """Overall diameter [m] with d = 25.4 mm times the code, as the trade reckons it.

        It differs by at most 0.4 mm from :attr:`overall_diameter`, because UN R75 rounds d to whole millimetres.
        """
        d = self.rim_diameter if self.family == "iso" else float(_INCH * int(self.rim_code))
        return d + 2 * self.section_height

    @property
    def aspect_ratio(self) -> float:
        """Section height over section width [-]."""
        return self.section_height / self.section_width


@dataclass(frozen=True, slots=True)
class RimSize:
    """What a rim's designation says.

    Attributes
    ----------
    family
        Bead seat: ``WM`` (cylindrical), ``MT`` (5 degree taper), ``ISO`` (bicycle) or ``AT`` (quad disc wheel).
    text
        The designation in one spelling.
    width
        Width between the flanges [m].
    bead_diameter
        Nominal bead seat diameter [m].
    code
        Diameter code, or the bead seat diameter in mm for ``ISO``.
    """

    family: RimFamily
    text: str
    width: float
    bead_diameter: float
    code: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class ServiceDescription:
    """Load index and speed symbol, for example 45M."""

    load_index: int
    speed_symbol: str

    def __str__(self) -> str:
        return f"{self.load_index}{self.speed_symbol}"

    @property
    def load(self) -> float:
        """Mass that the load index permits [kg]."""
        return load_capacity(self.load_index)

    @property
    def speed(self) -> float:
        """Speed that the symbol permits [m/s]."""
        return speed_limit(self.speed_symbol)


@dataclass(frozen=True, slots=True)
class PermittedRimWidths:
    """Rim widths on which a tire may be mounted: a range [m] and, for motorcycle rims, the codes in it."""

    low: float
    high: float
    codes: tuple[str, ...] = ()

    def permits(self, width: float) -> bool:
        """Whether a rim of this width [m] is among them."""
        return self.low - 5e-5 <= width <= self.high + 5e-5


# Rim diameter code -> d [mm], UN R75 paragraph 2 (from memory): 25.4 mm times the code, rounded.
_BEAD_SEATS = {code: round(25.4 * code) for code in range(8, 24)}

# Widths [in] of the code-designated wide series, whose sections are 90 % as high as wide; all others 100 %.
_WIDE_SERIES = frozenset({"3.10", "3.60", "4.10", "4.60", "5.10", "6.10"})

_METRIC = re.compile(r"([0-9]{2,3})/([0-9]{2,3})-([0-9]{1,2})")
_CODED = re.compile(r"([0-9]{1,2}\.[0-9]{2})(?:/([0-9]{2}))?-([0-9]{1,2})")
_ATV = re.compile(r"AT ?([0-9]{2}(?:\.[0-9]{1,2})?)[xX×]([0-9]{1,2}(?:\.[0-9]{1,2})?)-([0-9]{1,2})")
_ISO = re.compile(r"([0-9]{2,3})-([0-9]{3})")
_RIM = re.compile(r"(WM|MT) ?([0-9]\.[0-9]{2}) ?[xX×] ?([0-9]{1,2})")
_ISO_RIM = re.compile(r"ISO ?([0-9]{3}) ?[xX×] ?([0-9]{2,3}(?:\.[0-9])?)")
_AT_RIM = re.compile(r"AT ?([0-9]{1,2}) ?[xX×] ?([0-9]{1,2}(?:\.[0-9]{1,2})?)")
_SERVICE = re.compile(r"([0-9]{1,3}) ?(A[1-8]|[A-Z])")

_TIRE_FIX = 'write a size such as "80/100-21", "2.75-21", "AT22x7-10" or "57-622"'
_RIM_FIX = 'write a size such as "WM 1.60x21", "MT 2.15x18", "ISO 622x30" or "AT 10x5.5"'


@lru_cache(maxsize=1 << 14)
def parse_tire_size(text: str) -> TireSize:
    """Read a tire's designation.

    Parameters
    ----------
    text
        ``80/100-21`` (width [mm] / aspect ratio [%] - rim code), ``2.75-21`` or ``4.25/85-18`` (width [in] - rim code),
        ``AT22x7-10`` (overall diameter x width - rim code, all [in]) or ``57-622`` (width - bead seat diameter, [mm]).

    Returns
    -------
    TireSize
        The nominal dimensions.

    Raises
    ------
    SizeError
        If the text is no such designation.

    Notes
    -----
    Inch sizes without a ratio are as high as wide, those of the wide series (4.10, 4.60, 5.10, ...) 90 %.  Bicycle
    sections are as high as wide from 28 mm on, narrower ones 2.5 mm higher.

    References
    ----------
    UN R75, paragraph 2 (d and D = d + 2 H, from memory); ISO 5775-1.

    Examples
    --------
    >>> size = parse_tire_size("80/100-21")
    >>> round(size.overall_diameter, 4)
    0.693
    """
    written = _stripped(text, _TIRE_FIX)
    if match := _METRIC.fullmatch(written):
        return _metric(*match.groups())
    if match := _CODED.fullmatch(written):
        return _inch(*match.groups())
    if match := _ATV.fullmatch(written):
        return _atv(*match.groups())
    if match := _ISO.fullmatch(written):
        return _iso(*match.groups())
    raise SizeError(f'"{written}" is no tire size', _hint(written))


def _stripped(text: str, fix: str) -> str:
    if len(text) > _TEXT_LIMIT:
        raise SizeError(f"a size has at most {_TEXT_LIMIT} characters, found {len(text)}", fix)
    return text.strip()


def _hint(written: str) -> str:
    """The fix for the spellings that people bring from other systems."""
    if re.fullmatch(r"[0-9]{2}(\.[0-9]+)?[xX×][0-9]{1,2}(\.[0-9]+)?-[0-9]{1,2}", written):
        return f'a quad size starts with AT: write "AT{written.replace("X", "x").replace("×", "x")}"'
    if re.fullmatch(r"[0-9]{2}(\.[0-9]+)? ?[xX×] ?[0-9](\.[0-9]+)?", written):
        return 'write a bicycle size in millimetres as ISO 5775 has it, such as "57-622"'
    if re.fullmatch(r"[0-9]{2,3}/[0-9]{2,3} ?[RB] ?[0-9]{1,2}", written):
        return f'write the size with a dash: "{re.sub(" ?[RB] ?", "-", written)}"'
    if re.fullmatch(r"[0-9]{1,2}(\.[0-9])?-[0-9]{1,2}", written):
        width, code = written.split("-")
        return f'write the width in inches with two decimals: "{float(width):.2f}-{code}"'
    if match := re.fullmatch(r"(\S+) ?[0-9]{2}[A-Z]", written):
        return f'give load index and speed symbol apart from the size: "{match.group(1).strip()}"'
    return _TIRE_FIX


def _bead_seat(code: str, text: str) -> float:
    seat = _BEAD_SEATS.get(int(code))
    if seat is None or code != str(int(code)):
        allowed = f"{min(_BEAD_SEATS)} to {max(_BEAD_SEATS)}"
        raise SizeError(
            f'the rim diameter code "{code}" in "{text}" is not known, allowed: {allowed}', "check the size"
        )
    return float(seat * _MILLIMETRE)


def _require(sound: bool, text: str, what: str) -> None:
    if not sound:
        raise SizeError(f'"{text}" is no size that exists: {what}', "check the size")


def _metric(width: str, ratio: str, code: str) -> TireSize:
    text = f"{width}/{ratio}-{code}"
    _require(40 <= int(width) <= 330, text, "the width is 40 to 330 mm")
    _require(25 <= int(ratio) <= 105, text, "the aspect ratio is 25 to 105 %")
    _require(ratio == str(int(ratio)) and width == str(int(width)), text, "numbers have no leading zero")
    section = int(width) * _MILLIMETRE
    return TireSize("metric", text, float(section), float(section * int(ratio) / 100), _bead_seat(code, text), code)


def _inch(width: str, ratio: str | None, code: str) -> TireSize:
    text = f"{width}/{ratio}-{code}" if ratio else f"{width}-{code}"
    _require(1 <= float(width) <= 10, text, "the width is 1.00 to 10.00 in")
    _require(ratio is None or int(ratio) >= 25, text, "the aspect ratio is at least 25 %")
    percent = int(ratio) if ratio else 90 if width in _WIDE_SERIES else 100
    section = Fraction(width) * _INCH
    return TireSize("inch", text, float(section), float(section * percent / 100), _bead_seat(code, text), code)


def _atv(overall: str, width: str, code: str) -> TireSize:
    text = f"AT{_short(overall)}x{_short(width)}-{code}"
    _bead_seat(code, text)
    # The height is what is left between two stated diameters, so d stays unrounded here.
    rim = int(code) * _INCH
    height = (Fraction(overall) * _INCH - rim) / 2
    _require(3 <= float(width) <= 16, text, "the width is 3 to 16 in")
    _require(height >= _INCH * 3 / 2, text, "the overall diameter is at least 3 in above that of the rim")
    return TireSize("atv", text, _metres(width, _INCH), float(height), float(rim), code)


def _iso(width: str, seat: str) -> TireSize:
    text = f"{width}-{seat}"
    _require(18 <= int(width) <= 130 and width == str(int(width)), text, "the width is 18 to 130 mm")
    _require(200 <= int(seat) <= 700, text, "the bead seat diameter is 200 to 700 mm")
    height = Fraction(width) if int(width) >= 28 else int(width) + Fraction(5, 2)
    section, rim = _metres(width, _MILLIMETRE), _metres(seat, _MILLIMETRE)
    return TireSize("iso", text, section, float(height * _MILLIMETRE), rim, seat)


def _metres(number: str, unit: Fraction) -> float:
    """The float nearest to the exact product: 4.10 in is 0.10414 m, not 0.10413999999999998."""
    return float(Fraction(number) * unit)


def _short(number: str) -> str:
    """7.00 -> 7, 7.50 -> 7.5."""
    return format(Decimal(number).normalize(), "f")


@lru_cache(maxsize=1 << 14)
def parse_rim_size(text: str) -> RimSize:
    """Read a rim's designation.

    Parameters
    ----------
    text
        ``WM 1.60x21`` or ``MT 2.15x18`` (width [in] x diameter code), ``ISO 622x30`` (bead seat diameter x inner width,
        [mm]) or ``AT 10x5.5`` (disc wheel: diameter code x width [in]).

    Returns
    -------
    RimSize
        The nominal dimensions.

    Raises
    ------
    SizeError
        If the text is no such designation.

    References
    ----------
    JIS D 4215:1995 Table 1 (WM cylindrical, MT 5 degree tapered bead seat); ISO 5775-2.

    Examples
    --------
    >>> rim = parse_rim_size("WM 1.60x21")
    >>> rim.family, round(rim.width, 5), rim.bead_diameter
    ('WM', 0.04064, 0.533)
    """
    written = _stripped(text, _RIM_FIX)
    if match := _RIM.fullmatch(written):
        family, width, code = match.groups()
        name = f"{family} {width}x{code}"
        _require(1 <= float(width) <= 8, name, "the width is 1.00 to 8.00 in")
        seat: RimFamily = "WM" if family == "WM" else "MT"
        return RimSize(seat, name, _metres(width, _INCH), _bead_seat(code, name), code)
    if match := _ISO_RIM.fullmatch(written):
        seat_diameter, width = match.groups()
        name = f"ISO {seat_diameter}x{_short(width)}"
        _require(200 <= int(seat_diameter) <= 700, name, "the bead seat diameter is 200 to 700 mm")
        _require(10 <= float(width) <= 110, name, "the inner width is 10 to 110 mm")
        return RimSize("ISO", name, _metres(width, _MILLIMETRE), _metres(seat_diameter, _MILLIMETRE), seat_diameter)
    if match := _AT_RIM.fullmatch(written):
        code, width = match.groups()
        name = f"AT {code}x{_short(width)}"
        _bead_seat(code, name)
        _require(3 <= float(width) <= 14, name, "the width is 3 to 14 in")
        return RimSize("AT", name, _metres(width, _INCH), _metres(code, _INCH), code)
    raise SizeError(f'"{written}" is no rim size', _RIM_FIX)


# Load index -> mass [kg]; UN R75 Annex 4.  21-23, 25, 27-29, 10-19 and 81-90 from memory.
_LOAD_INDEX = {
    row + place: float(mass)
    for row, masses in {
        10: "60 61.5 63 65 67 69 71 73 75 77.5",
        20: "80 82.5 85 87.5 90 92.5 95 97.5 100 103",
        30: "106 109 112 115 118 121 125 128 132 136",
        40: "140 145 150 155 160 165 170 175 180 185",
        50: "190 195 200 206 212 218 224 230 236 243",
        60: "250 257 265 272 280 290 300 307 315 325",
        70: "335 345 355 365 375 387 400 412 425 437",
        80: "450 462 475 487 500 515 530 545 560 580",
        90: "600",
    }.items()
    for place, mass in enumerate(masses.split())
}

# Speed symbol -> speed [km/h]; UN R75 Annex.  In order of speed, which is not that of the alphabet (H).
_SPEED_TEXT = """
A1:5 A2:10 A3:15 A4:20 A5:25 A6:30 A7:35 A8:40
B:50 C:60 D:65 E:70 F:80 G:90 J:100 K:110 L:120 M:130 N:140
P:150 Q:160 R:170 S:180 T:190 U:200 H:210 V:240
"""
_SPEED_SYMBOL = {symbol: int(speed) for symbol, _, speed in (pair.partition(":") for pair in _SPEED_TEXT.split())}


def load_capacity(load_index: int) -> float:
    """Mass that a load index permits at the tire's reference pressure.

    Parameters
    ----------
    load_index
        10 to 90.

    Returns
    -------
    float
        Permitted mass [kg].

    Raises
    ------
    SizeError
        If the index is not in the table.

    References
    ----------
    UN R75, Annex 4.

    Examples
    --------
    >>> load_capacity(45)
    165.0
    """
    if load_index not in _LOAD_INDEX:
        allowed = f"{min(_LOAD_INDEX)} to {max(_LOAD_INDEX)}"
        raise SizeError(f"the load index {load_index} is not in the table, allowed: {allowed}", "check the sidewall")
    return _LOAD_INDEX[load_index]


def speed_limit(symbol: str) -> float:
    """Speed that a speed symbol permits.

    Parameters
    ----------
    symbol
        ``A1`` to ``A8`` or ``B`` to ``V``.

    Returns
    -------
    float
        Permitted speed [m/s].

    Raises
    ------
    SizeError
        If the symbol is not in the table.

    References
    ----------
    UN R75, annex on speed symbols.

    Examples
    --------
    >>> round(speed_limit("M") * 3.6)
    130
    """
    if symbol not in _SPEED_SYMBOL:
        shown = f'"{symbol[:_TEXT_LIMIT]}"'
        raise SizeError(
            f"the speed symbol {shown} is not known, allowed: {', '.join(_SPEED_SYMBOL)}", "check the sidewall"
        )
    return _SPEED_SYMBOL[symbol] / 3.6


def parse_service_description(text: str) -> ServiceDescription:
    """Read load index and speed symbol.

    Parameters
    ----------
    text
        For example ``45M`` or ``30A6``.

    Returns
    -------
    ServiceDescription
        Index and symbol, both known.

    Raises
    ------
    SizeError
        If the text is no service description.

    Examples
    --------
    >>> service = parse_service_description("45M")
    >>> service.load, str(service)
    (165.0, '45M')
    """
    fix = 'write load index and speed symbol such as "45M"'
    written = _stripped(text, fix)
    match = _SERVICE.fullmatch(written)
    if match is None:
        raise SizeError(f'"{written}" is no service description', fix)
    service = ServiceDescription(int(match.group(1)), match.group(2))
    load_capacity(service.load_index)
    speed_limit(service.speed_symbol)
    return service


# Nominal section width -> permitted rim codes [in]: common practice (tire width cross reference tables), no standard.
# 60 to 90 mm and the wide series from memory, with moderate confidence.
_RIMS_BY_MILLIMETRE: dict[int, tuple[str, ...]] = {
    60: ("1.40", "1.60"),
    70: ("1.40", "1.60", "1.85"),
    80: ("1.60", "1.85"),
    90: ("1.85", "2.15"),
    100: ("2.15", "2.50"),
    110: ("2.15", "2.50", "2.75"),
    120: ("2.15", "2.50", "2.75"),
    130: ("2.50", "2.75", "3.00"),
    140: ("2.75", "3.00", "3.50"),
    150: ("3.50", "4.00"),
    160: ("4.00", "4.50"),
}
_MILLIMETRES_BY_INCH: dict[str, tuple[int, ...]] = {
    width: rows
    for rows, widths in {
        (70,): "2.25",
        (80,): "2.50",
        (80, 90): "2.75",
        (90,): "3.00",
        (100,): "3.60 3.75",
        (110,): "4.00 4.10 4.25",
        (120,): "4.50 4.60 4.75",
        (130,): "5.00 5.10",
        (140,): "5.50",
    }.items()
    for width in widths.split()
}

# Section width over inner rim width that cycling practice allows; common practice, no standard.
_BICYCLE_RATIOS = (1.4, 2.2)


def permitted_rim_widths(size: TireSize) -> PermittedRimWidths | None:
    """Rim widths on which a tire of this size may be mounted.

    Parameters
    ----------
    size
        The tire's size.

    Returns
    -------
    PermittedRimWidths or None
        None where no general rule exists (quads, widths out of the table): there the tire's maker must state them.

    Notes
    -----
    Motorcycles: table by nominal section width.  Bicycles: section width over inner rim width 1.4 to 2.2.  Both are
    common practice; what the maker of the tire states goes before.

    Examples
    --------
    >>> permitted_rim_widths(parse_tire_size("110/100-18")).codes
    ('2.15', '2.50', '2.75')
    """
    if size.family == "iso":
        low, high = _BICYCLE_RATIOS
        return PermittedRimWidths(size.section_width / high, size.section_width / low)
    if size.family == "atv":
        return None
    if size.family == "metric":
        rows: tuple[int, ...] = (round(size.section_width * 1000),)
    else:
        rows = _MILLIMETRES_BY_INCH.get(f"{size.section_width / 0.0254:.2f}", ())
    codes = sorted({code for row in rows for code in _RIMS_BY_MILLIMETRE.get(row, ())})
    if not codes:
        return None
    return PermittedRimWidths(_metres(codes[0], _INCH), _metres(codes[-1], _INCH), tuple(codes))


def section_width_on_rim(*, section_width: float, measuring_rim_width: float, rim_width: float) -> float:
    """Section width of a tire on a rim other than the measuring rim.

    Parameters
    ----------
    section_width
        Width on the measuring rim [m].
    measuring_rim_width, rim_width
        Widths of the two rims [m].

    Returns
    -------
    float
        Section width [m].

    Notes
    -----
    U' = U_m + 0.4 (R - R_m).

    References
    ----------
    ISO 5751-2:2010, 5.2.

    Examples
    --------
    >>> round(section_width_on_rim(section_width=0.110, measuring_rim_width=0.0546, rim_width=0.0470), 5)
    0.10696
    """
    return section_width + 0.4 * (rim_width - measuring_rim_width)


def measuring_pressure(speed_symbol: str, version: Literal["normal", "extra load", "light load"] = "normal") -> float:
    """Pressure at which a metric motorcycle tire is measured.

    Parameters
    ----------
    speed_symbol
        The tire's speed symbol.
    version
        Load version of the tire.

    Returns
    -------
    float
        Gauge pressure [Pa].

    Raises
    ------
    SizeError
        If the symbol is not known.

    References
    ----------
    ISO 5751-2:2010, 5.2.
    """
    speed = speed_limit(speed_symbol)
    if version == "light load":
        return 175e3
    if version == "extra load":
        return 280e3 if speed <= speed_limit("P") else 330e3
    return 225e3 if speed <= speed_limit("S") else 280e3


def least_bicycle_pressure(size: TireSize, *, off_road: bool) -> float:
    """Least inflation pressure of a bicycle tire.

    Parameters
    ----------
    size
        A size of the ``iso`` family.
    off_road
        Whether the tire is made for off-road use.

    Returns
    -------
    float
        Gauge pressure [Pa].

    Raises
    ------
    SizeError
        If the size is not a bicycle size.

    References
    ----------
    ISO 5775-1.
    """
    _require_bicycle(size)
    if size.section_width <= 0.025:
        return 300e3
    return 150e3 if off_road else 200e3


# Section width [mm] up to which the pressure [kPa] holds.
_HOOKLESS = ((24, 550), (29, 500), (34, 450), (39, 400), (44, 350), (54, 300), (64, 250), (74, 200), (84, 150))


def hookless_pressure_limit(size: TireSize) -> float:
    """Highest inflation pressure of a bicycle tire on a straight-side (hookless) rim.

    Parameters
    ----------
    size
        A size of the ``iso`` family, up to 84 mm wide.

    Returns
    -------
    float
        Gauge pressure [Pa].

    Raises
    ------
    SizeError
        If the size is not a bicycle size, or wider than the table.

    References
    ----------
    ISO 5775-1:2023, Table 3.
    """
    _require_bicycle(size)
    for widest, pressure in _HOOKLESS:
        if round(size.section_width * 1000) <= widest:
            return pressure * 1e3
    raise SizeError(
        f'"{size}" is wider than the 84 mm of the table', "the makers of tire and rim must state the pressure"
    )


def _require_bicycle(size: TireSize) -> None:
    if size.family != "iso":
        raise SizeError(f'"{size}" is no bicycle size', 'the rule holds for sizes such as "57-622" only')


@dataclass(frozen=True, slots=True)
class _Text:
    """Lets a record field hold a designation: text in the file, a size in the record."""

    read: Callable[[str], Any]
    made: type
    title: str
    examples: tuple[str, ...]

    def _value(self, written: object) -> Any:
        if isinstance(written, self.made):
            return written
        fix = f'write text such as "{self.examples[0]}"'
        try:
            if not isinstance(written, str):
                raise SizeError(f"found {written if isinstance(written, int | float) else 'no text'}", fix)
            return self.read(written)
        except SizeError as error:
            context = {"message": error.message, "fix": error.fix, "rule": "SIZE"}
            raise PydanticCustomError("size", "{message}", context) from None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self._value, serialization=core_schema.to_string_ser_schema(when_used="json")
        )

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string", "description": self.title, "examples": list(self.examples)}


TireSizeText = Annotated[
    TireSize,
    _Text(parse_tire_size, TireSize, "A tire's size designation", ("80/100-21", "2.75-21", "AT22x7-10", "57-622")),
]
RimSizeText = Annotated[
    RimSize,
    _Text(parse_rim_size, RimSize, "A rim's size designation", ("WM 1.60x21", "MT 2.15x18", "ISO 622x30", "AT 10x5.5")),
]
ServiceText = Annotated[
    ServiceDescription,
    _Text(parse_service_description, ServiceDescription, "Load index and speed symbol", ("45M", "51M", "30A6")),
]
