"""Quantities: reading, writing and printing, with an independent units library as the oracle for factors."""

from __future__ import annotations

import copy
import json
import math
import pickle
import re
from typing import Annotated, Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, ValidationError

from configopt.errors import ConfigoptError
from configopt.quantities import (
    DIMENSIONS,
    Count,
    Figure,
    KphiModulus,
    Length,
    Mass,
    Price,
    Ratio,
    Share,
    Temperature,
    default_quantity,
    format_quantity,
    from_unit,
    parse_quantity,
    quantity,
    to_unit,
    write_quantity,
)

# How the oracle spells our units, where it spells them otherwise.
_ORACLE = {
    "t": "tonne",
    "lbf ft": "lbf * ft",
    "lbf in": "lbf * inch",
    "in": "inch",
    "in2": "inch**2",
    "in3": "inch**3",
    "lbf/in": "lbf / inch",
    "l": "liter",
    "ml": "milliliter",
    "days": "day",
    "°C": "degC",
    "°F": "degF",
    "rpm": "revolution / minute",
    "%": "percent",
    "deg": "degree",
    "deg/s": "degree / s",
    "N m/deg": "N * m / degree",
    "N m/rad": "N * m / rad",
    "per km": "1 / km",
    "per m": "1 / m",
    "per kg": "1 / kg",
    "per g": "1 / g",
    "per Wh/km": "km / (W * hour)",
    "km/Wh": "km / (W * hour)",
    "h": "hour",
    "Wh": "W * hour",
    "kWh": "kW * hour",
    "Wh/km": "W * hour / km",
    "kWh/km": "kW * hour / km",
    "km/h": "km / hour",
    "J/(kg K)": "J / (kg * K)",
    "kJ/(kg K)": "kJ / (kg * K)",
    "W/(m K)": "W / (m * K)",
    "W/(m2 K)": "W / (m**2 * K)",
}
_FACTOR_CASES = [
    (dimension.name, unit)
    for dimension in DIMENSIONS.values()
    for unit in dimension.unit_names
    if not unit.startswith("kN/m^(")
]


@pytest.fixture(scope="module")
def oracle() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("dimension", "unit"), _FACTOR_CASES)
def test_the_factor_of_a_unit_is_that_of_an_independent_library(
    oracle: pint.UnitRegistry[Any], dimension: str, unit: str
) -> None:
    spelled = _ORACLE.get(unit, re.sub(r"(?<=[a-z])([23])", r"**\1", unit).replace(" ", " * "))
    if dimension == "temperature_difference":
        spelled = spelled.replace("deg", "delta_deg")
    expected = oracle.Quantity(7.25, oracle.parse_units(spelled)).to_base_units().magnitude
    assert from_unit(7.25, unit, dimension) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize("exponent", [0.0, 1.0, 2.0])
@pytest.mark.parametrize(("dimension", "power"), [("kc_modulus", 1), ("kphi_modulus", 2)])
def test_the_factors_of_the_soil_moduli_are_those_of_an_independent_library_at_any_exponent(
    oracle: pint.UnitRegistry[Any], dimension: str, power: int, exponent: float
) -> None:
    expected = oracle.Quantity(7.25, f"kN / m**{exponent + power}").to_base_units().magnitude
    assert from_unit(7.25, f"kN/m^(n+{power})", dimension) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("412 g", "mass", 0.412),
        ("412g", "mass", 0.412),
        ("  0.412   kg ", "mass", 0.412),
        ("4.12e2 g", "mass", 0.412),
        ("85 kPa", "pressure", 85_000.0),
        ("1 bar", "pressure", 1e5),
        ("46.8 N m", "torque", 46.8),
        ("46.8 Nm", "torque", 46.8),
        ("46.8 N·m", "torque", 46.8),
        ("46.8 N*m", "torque", 46.8),
        ("-12 N m", "torque", -12.0),
        ("0.15 kg m^2", "inertia", 0.15),
        ("0.15 kg m²", "inertia", 0.15),
        ("20 °C", "temperature", 293.15),
        ("20 degC", "temperature", 293.15),
        ("68 °F", "temperature", 293.15),
        ("293.15 K", "temperature", 293.15),
        ("30 °C", "temperature_difference", 30.0),
        ("25 %", "ratio", 0.25),
        ("0.25", "ratio", 0.25),
        (".25", "ratio", 0.25),
        ("22 Wh/km", "energy_per_distance", 79.2),
        ("0.99 kN/m^(n+1)", "kc_modulus", 990.0),
        ("1528.43 kN/m^(n+2)", "kphi_modulus", 1_528_430.0),
        ("36", "count", 36.0),
        ("41.50", "price", 41.5),
        ("40 per km", "per_length", 0.04),
    ],
)
def test_a_quantity_is_read_as_the_nearest_float_in_si(text: str, dimension: str, value: float) -> None:
    figure = parse_quantity(text, dimension)
    assert figure == value
    assert figure.uncertainty is None


@pytest.mark.parametrize(
    ("text", "dimension", "uncertainty"),
    [
        ("412 g +- 5 g", "mass", 0.005),
        ("412 g ± 5 g", "mass", 0.005),
        ("412 g +/- 0.005 kg", "mass", 0.005),
        ("412 g +- 3 %", "mass", 0.01236),
        ("-12 N m +- 10 %", "torque", 1.2),
        ("20 °C +- 2 °C", "temperature", 2.0),
        ("20 °C +- 9 °F", "temperature", 5.0),
        ("4 % +- 0.5 %", "ratio", 0.005),
        ("0.04 +- 10 %", "ratio", 0.004),
        ("0.04 +- 0.01", "ratio", 0.01),
    ],
)
def test_an_uncertainty_is_absolute_in_si(text: str, dimension: str, uncertainty: float) -> None:
    assert parse_quantity(text, dimension).uncertainty == uncertainty


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("412", "mass", '"412" has no unit, expected a mass; write "412 g" or "0.412 kg"'),
        ("20", "temperature", 'write "20 °C" or "293.15 K"'),
        ("0.99", "kc_modulus", 'write "0.99 kN/m^(n+1)"'),
        ("412 kPa", "mass", '"kPa" is a unit of pressure, expected a mass, allowed: g, kg, t, lb, oz'),
        ("85 KPA", "pressure", 'capitals matter: write "kPa"'),
        ("412 gr", "mass", 'did you mean "g"?'),
        ("0.99 kN/m^(n+2)", "kc_modulus", "is a unit of frictional pressure-sinkage modulus kphi"),
        ("0.99 kN/m^n+1", "kc_modulus", "allowed: kN/m^(n+1)"),
        ("3,5 kg", "mass", 'found a comma in "3,5 kg"; write a decimal point'),
        ("nan g", "mass", '"nan g" is not finite'),
        ("-.inf g", "mass", "is not finite"),
        ("1e999 g", "mass", 'the number "1e999" is out of all range'),
        ("9999999999e300 kN", "force", 'the number in "9999999999e300 kN" is out of all range'),
        ("abc", "mass", 'found "abc", expected a mass; write for example "412 g" or "0.412 kg"'),
        ("", "mass", 'found "", expected a mass'),
        ("g", "mass", 'found "g", expected a mass'),
        ("٤١٢ g", "mass", "expected a mass"),
        ("5 g +- 3", "mass", '"3" has no unit'),
        ("5 g +- -3 g", "mass", 'the uncertainty in "5 g +- -3 g" is negative'),
        ("5 g +- 1 g +- 1 g", "mass", "found 2 uncertainties"),
        ("5 mm +- 1 g", "length", '"g" is a unit of mass, expected a length'),
        ("1.5", "count", "expected a whole number"),
        ("41.5 EUR", "price", "write the number alone; the currency has its own key"),
        ("1" * 31 + " g", "mass", "a number has at most 30 digits"),
        ("1" + " " * 200 + "g", "mass", "a quantity has at most 200 characters, found 202"),
    ],
)
def test_a_text_that_is_no_quantity_is_refused_with_the_fix(text: str, dimension: str, words: str) -> None:
    with pytest.raises(ConfigoptError) as raised:
        parse_quantity(text, dimension)
    assert words in str(raised.value)
    assert isinstance(raised.value, ValueError)


def test_a_number_of_thirty_digits_is_still_read() -> None:
    assert parse_quantity("0." + "1" * 29 + " kg", "mass") == pytest.approx(1 / 9)


def test_an_unknown_dimension_is_refused_with_a_near_name() -> None:
    with pytest.raises(ConfigoptError, match='did you mean "pressure"'):
        parse_quantity("1 g", "presure")


def test_to_unit_undoes_from_unit_for_the_keys_that_leave_the_process() -> None:
    for unit in ("kPa", "km/h", "Wh/km", "%", "g", "mm", "N m", "degF"):
        assert to_unit(from_unit(12.34, unit), unit) == pytest.approx(12.34, rel=1e-14)
    assert to_unit(85_000.0, "kPa") == 85.0


def test_an_infinite_value_stays_infinite_in_every_unit() -> None:
    assert to_unit(math.inf, "kPa") == math.inf


def test_an_unknown_unit_of_a_key_is_refused() -> None:
    with pytest.raises(ConfigoptError, match='the unit "furlong" is not known'):
        to_unit(1.0, "furlong")


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (0.412, "mass", "412 g"),
        (3.42, "mass", "3.42 kg"),
        (3.424, "mass", "3.42 kg"),
        (1234.5, "mass", "1234 kg"),
        (-0.0, "mass", "0 g"),
        (85_000.0, "pressure", "85 kPa"),
        (46.8, "torque", "46.8 N m"),
        (999.6, "force", "1000 N"),
        (293.15, "temperature", "20 °C"),
        (79.2, "energy_per_distance", "22 Wh/km"),
        (0.693, "length", "693 mm"),
        (12_500.0, "length", "12.5 km"),
        (0.25, "ratio", "0.25"),
        (41.5, "price", "41.50"),
        (5400.0, "time", "90 min"),
    ],
)
def test_a_value_is_printed_in_the_unit_of_the_trade(value: float, dimension: str, text: str) -> None:
    assert format_quantity(value, dimension) == text


def test_a_value_is_printed_in_the_unit_that_is_asked_for() -> None:
    assert format_quantity(0.25, "ratio", unit="%") == "25 %"
    assert format_quantity(85_000.0, "pressure", unit="psi", digits=4) == "12.33 psi"


finite = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e200, max_value=1e200).filter(
    lambda value: value == 0 or abs(value) > 1e-200
)


@given(value=finite, uncertainty=st.none() | finite.map(abs), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_what_is_written_is_read_back_to_the_same_figure(
    value: float, uncertainty: float | None, dimension: str
) -> None:
    if dimension == "count":
        value, uncertainty = float(round(value) if abs(value) < 1e15 else 0), None
    if dimension == "temperature" and value != 0 and not 1e-6 < abs(value) < 1e6:
        # In degrees Celsius, beside 273.15, such a figure needs more digits than a number may have.
        value /= abs(value)
    figure = Figure(value, uncertainty)
    again = parse_quantity(write_quantity(figure, dimension), dimension)
    assert again == figure
    assert again.uncertainty == figure.uncertainty


@given(text=st.text(max_size=40), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_figure_or_a_clear_error(text: str, dimension: str) -> None:
    try:
        figure = parse_quantity(text, dimension)
    except ConfigoptError:
        return
    assert math.isfinite(figure)


@given(
    text=st.from_regex(
        r"\A[+-]?[0-9]{1,5}(\.[0-9]{1,3})?([eE][+-]?[0-9]{1,3})? ?[A-Za-z%/^()+0-9 ]{0,8}( (\+-|±) [0-9.]{1,4} ?%?)?\Z"
    ),
    dimension=st.sampled_from(sorted(DIMENSIONS)),
)
def test_the_pattern_for_editors_refuses_nothing_that_the_reader_accepts(text: str, dimension: str) -> None:
    try:
        parse_quantity(text, dimension)
    except ConfigoptError:
        return
    assert re.search(_schema_pattern(dimension), text)


def _schema_pattern(dimension: str) -> str:
    class Record(BaseModel):
        value: Annotated[Figure, quantity(dimension)]

    schema = Record.model_json_schema()["properties"]["value"]
    text = schema if "pattern" in schema else schema["anyOf"][1]
    return str(text["pattern"])


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
def test_the_examples_of_a_dimension_are_quantities_of_it_and_fit_the_pattern(dimension: str) -> None:
    for example in DIMENSIONS[dimension].examples:
        parse_quantity(example, dimension)
        assert re.search(_schema_pattern(dimension), example)


class TestFigure:
    figure = Figure(0.412, 0.005)

    def test_it_compares_hashes_and_computes_like_its_float(self) -> None:
        assert self.figure == 0.412
        assert hash(self.figure) == hash(0.412)
        assert type(self.figure * 2) is float
        assert json.dumps([self.figure]) == "[0.412]"
        assert f"{self.figure:.1f} {self.figure}" == "0.4 0.412"

    @pytest.mark.parametrize("again", [copy.copy, copy.deepcopy, lambda figure: pickle.loads(pickle.dumps(figure))])
    def test_the_uncertainty_survives_copying_and_pickling(self, again: Any) -> None:
        assert again(self.figure).uncertainty == 0.005
        assert again(self.figure) == self.figure

    def test_it_cannot_be_changed(self) -> None:
        with pytest.raises(AttributeError):
            self.figure.uncertainty = 1.0

    @pytest.mark.parametrize(
        ("value", "uncertainty"), [(math.nan, None), (math.inf, None), (1.0, -1.0), (1.0, math.nan)]
    )
    def test_it_refuses_what_is_not_finite_and_a_negative_uncertainty(
        self, value: float, uncertainty: float | None
    ) -> None:
        with pytest.raises(ConfigoptError):
            Figure(value, uncertainty)


class Part(BaseModel):
    """A record such as catalogs have."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    mass: Mass
    height: Annotated[Figure, quantity("length", above=0, high="200 mm")] = default_quantity("80 mm", "length")
    share: Share = default_quantity("50 %", "ratio")
    loss: Ratio | None = None
    price: Price | None = None
    modulus: KphiModulus | None = None
    teeth: Count | None = None
    hot: Temperature | None = None
    width: Length | None = None


class TestRecordFields:
    def test_they_read_text_and_keep_the_uncertainty(self) -> None:
        part = Part.model_validate({"mass": "412 g +- 5 g", "loss": 0.02, "price": 41, "teeth": 48})
        assert (part.mass, part.mass.uncertainty) == (0.412, 0.005)
        assert (part.loss, part.price, part.teeth, part.height) == (0.02, 41.0, 48.0, 0.08)
        assert isinstance(part.loss, Figure)

    def test_a_figure_that_is_already_parsed_passes(self) -> None:
        assert Part(mass=Figure(0.412, 0.005)).mass.uncertainty == 0.005

    @pytest.mark.parametrize(
        ("field", "written", "kind", "words"),
        [
            ("mass", 412, "quantity", "412 has no unit, expected a mass"),
            ("mass", 0.412, "quantity", "has no unit"),
            ("mass", True, "quantity", "found true, expected a mass"),
            ("mass", None, "quantity", "found nothing, expected a mass"),
            ("mass", ["1 g"], "quantity", "found a list, expected a mass"),
            ("mass", {"g": 1}, "quantity", "found a group of keys, expected a mass"),
            ("mass", 10**400, "quantity", "has no unit"),
            ("loss", math.nan, "quantity", "nan is not finite"),
            ("loss", math.inf, "quantity", "inf is not finite"),
            ("mass", "-1 g", "quantity_range", 'found "-1 g", allowed is at least 0 g'),
            ("hot", "-300 °C", "quantity_range", "allowed is at least -273.15 °C"),
            ("height", "0 mm", "quantity_range", "allowed is above 0 mm and at most 200 mm"),
            ("height", "200.1 mm", "quantity_range", "allowed is above 0 mm and at most 200 mm"),
            ("share", 1.01, "quantity_range", "found 1.01, allowed is at least 0 and at most 1"),
            ("share", False, "quantity", "found false, expected a ratio"),
            ("loss", 10**400, "quantity", "is out of all range"),
            ("price", -1, "quantity_range", "allowed is at least 0"),
            ("teeth", 1.5, "quantity", "expected a whole number"),
        ],
    )
    def test_they_refuse_what_is_wrong_with_the_fix(self, field: str, written: object, kind: str, words: str) -> None:
        with pytest.raises(ValidationError) as raised:
            Part.model_validate({"mass": "1 g", field: written})
        error = next(error for error in raised.value.errors() if error["loc"][0] == field)
        assert error["type"] == kind
        assert words in error["msg"]

    @pytest.mark.parametrize(("written", "value"), [("200 mm", 0.2), ("1e-300 mm", 1e-303)])
    def test_a_bound_itself_is_allowed_and_so_is_what_is_just_inside(self, written: str, value: float) -> None:
        assert Part.model_validate({"mass": "0 g", "height": written}).height == value

    def test_a_record_survives_json(self) -> None:
        part = Part.model_validate({"mass": "412.3 g +- 3 %", "loss": "2 % +- 0.5 %", "modulus": "820 kN/m^(n+2)"})
        again = Part.model_validate_json(part.model_dump_json())
        assert again == part
        assert again.mass.uncertainty == part.mass.uncertainty
        assert json.loads(part.model_dump_json())["share"] == 0.5

    def test_the_json_schema_names_the_dimension_shows_examples_and_defaults_as_text(self) -> None:
        properties = Part.model_json_schema()["properties"]
        assert properties["mass"]["type"] == "string"
        assert properties["mass"]["description"] == "A mass, at least 0 g"
        assert properties["mass"]["examples"] == ["412 g", "0.412 kg"]
        assert properties["height"]["default"] == "80 mm"
        number, text = properties["share"]["anyOf"]
        assert number == {"type": "number", "minimum": 0, "maximum": 1}
        assert text["type"] == "string"
