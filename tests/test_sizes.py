"""Designations of tires and rims: grammar, round trips, refusals, and what is common practice without a standard."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from configopt.errors import ConfigoptError
from configopt.sizes import (
    RimSizeText,
    ServiceText,
    SizeError,
    TireSizeText,
    load_capacity,
    parse_rim_size,
    parse_service_description,
    parse_tire_size,
    permitted_rim_widths,
    section_width_on_rim,
    speed_limit,
)

# Common practice, no source: overall diameters [mm] as the trade reckons them, D = 25.4 x code + 2 x width x ratio.
_TRADE_DIAMETERS = [
    ("120/100-18", 697.2),
    ("120/90-18", 673.2),
    ("80/100-21", 693.4),
    ("90/90-21", 695.4),
    ("110/100-18", 677.2),
    ("110/90-19", 680.6),
    ("70/100-19", 622.6),
    ("80/100-12", 464.8),
    ("2.75-21", 673.1),
    ("3.00-21", 685.8),
    ("4.00-18", 660.4),
    ("3.50-18", 635.0),
    ("4.10-18", 644.7),
    ("AT22x7-10", 558.8),
    ("57-622", 736.0),
    ("39-622", 700.0),
    ("65-507", 637.0),
]


@pytest.mark.parametrize(("text", "millimetres"), _TRADE_DIAMETERS)
def test_the_diameter_is_the_one_that_the_trade_reckons(text: str, millimetres: float) -> None:
    size = parse_tire_size(text)
    assert size.trade_diameter * 1e3 == pytest.approx(millimetres, abs=0.051)
    assert abs(size.overall_diameter - size.trade_diameter) <= 0.4e-3 + 1e-12


# Common practice, no source: section heights and widths [mm] of single sizes.
@pytest.mark.parametrize(
    ("text", "width", "height"),
    [
        ("110/90-18", 110.0, 99.0),
        ("3.50-18", 88.9, 88.9),
        ("4.10-19", 104.1, 93.7),
        ("4.25/85-18", 108.0, 91.8),
        ("2.75-21", 69.9, 69.9),
        ("AT22x7-10", 177.8, 152.4),
        ("AT22x10-10", 254.0, 152.4),
    ],
)
def test_section_width_and_height_follow_the_designation(text: str, width: float, height: float) -> None:
    size = parse_tire_size(text)
    assert size.section_width * 1e3 == pytest.approx(width, abs=0.051)
    assert size.section_height * 1e3 == pytest.approx(height, abs=0.051)


def test_the_wide_series_is_lower_than_wide_and_the_standard_series_is_not() -> None:
    assert parse_tire_size("4.10-18").aspect_ratio == pytest.approx(0.9)
    assert parse_tire_size("4.00-18").aspect_ratio == 1.0
    assert parse_tire_size("AT22x10-10").aspect_ratio == pytest.approx(0.6)


# Common practice, no source: permitted rim codes [in] by nominal section width.
@pytest.mark.parametrize(
    ("sizes", "codes"),
    [
        (["100/90-19", "3.75-19"], ("2.15", "2.50")),
        (["110/100-18", "4.00-18", "4.25/85-18"], ("2.15", "2.50", "2.75")),
        (["120/90-18", "4.50-18", "4.75-18"], ("2.15", "2.50", "2.75")),
        (["130/80-17", "5.00-17"], ("2.50", "2.75", "3.00")),
        (["140/80-18", "5.50-18"], ("2.75", "3.00", "3.50")),
        (["150/70-18"], ("3.50", "4.00")),
        (["160/60-17"], ("4.00", "4.50")),
        (["80/100-21", "2.50-19"], ("1.60", "1.85")),
        (["90/90-21", "3.00-21"], ("1.85", "2.15")),
        (["2.75-21"], ("1.60", "1.85", "2.15")),
    ],
)
def test_the_permitted_rims_are_those_of_the_cross_reference_tables(sizes: list[str], codes: tuple[str, ...]) -> None:
    for text in sizes:
        permitted = permitted_rim_widths(parse_tire_size(text))
        assert permitted is not None
        assert permitted.codes == codes
        assert permitted.permits(parse_rim_size(f"WM {codes[0]}x18").width)
        assert permitted.permits(parse_rim_size(f"MT {codes[-1]}x18").width)
        assert not permitted.permits(parse_rim_size("WM 1.20x18").width)
        assert not permitted.permits(parse_rim_size("WM 6.00x18").width)


# Common practice, no source: section width over inner rim width of a bicycle 1.4 to 2.2.
def test_a_bicycle_tire_takes_rims_by_the_ratio_of_the_widths() -> None:
    permitted = permitted_rim_widths(parse_tire_size("56-622"))
    assert permitted is not None
    assert permitted.codes == ()
    assert permitted.low == pytest.approx(0.056 / 2.2)
    assert permitted.high == pytest.approx(0.040)
    assert [permitted.permits(width) for width in (0.025, 0.030, 0.040, 0.041)] == [False, True, True, False]


@pytest.mark.parametrize("text", ["AT22x7-10", "50/100-10", "6.00-16"])
def test_where_no_general_rule_exists_the_maker_must_state_the_rims(text: str) -> None:
    assert permitted_rim_widths(parse_tire_size(text)) is None


# Common practice, no source: 0.4 x 7.62 mm.
def test_a_tire_on_a_narrower_rim_is_three_millimetres_narrower() -> None:
    narrower = section_width_on_rim(section_width=0.100, measuring_rim_width=0.05461, rim_width=0.04699)
    assert (narrower - 0.100) * 1e3 == pytest.approx(-3.05, abs=0.005)


# Common practice, no source: every twenty steps the mass grows by 1.75 to 1.80, near 10^(1/4).
@pytest.mark.parametrize(("index", "ratio"), [(20, 1.75), (40, 1.786), (60, 1.80)])
def test_the_load_index_table_is_not_shifted(index: int, ratio: float) -> None:
    assert load_capacity(index + 20) / load_capacity(index) == pytest.approx(ratio, abs=0.0006)


def test_the_load_index_table_rises_without_a_gap() -> None:
    masses = [load_capacity(index) for index in range(10, 91)]
    assert masses == sorted(set(masses))


def test_the_speed_of_h_lies_between_u_and_v() -> None:
    assert speed_limit("U") < speed_limit("H") < speed_limit("V")


@pytest.mark.parametrize(
    ("written", "canonical"),
    [
        ("80/100-21", "80/100-21"),
        (" 2.75-21 ", "2.75-21"),
        ("4.25/85-18", "4.25/85-18"),
        ("AT22x7.00-10", "AT22x7-10"),
        ("AT 22.5X7.5-10", "AT22.5x7.5-10"),
        ("57-622", "57-622"),
    ],
)
def test_a_tire_size_is_printed_as_the_standard_writes_it(written: str, canonical: str) -> None:
    assert str(parse_tire_size(written)) == canonical


@pytest.mark.parametrize(
    ("written", "canonical", "width", "bead"),
    [
        ("WM1.60X21", "WM 1.60x21", 0.04064, 0.533),
        ("MT 2.15 x 18", "MT 2.15x18", 0.05461, 0.457),
        ("ISO 622x30", "ISO 622x30", 0.030, 0.622),
        ("ISO 507x25.5", "ISO 507x25.5", 0.0255, 0.507),
        ("AT 10x5.50", "AT 10x5.5", 0.1397, 0.254),
    ],
)
def test_a_rim_size_is_read_and_printed_in_one_spelling(
    written: str, canonical: str, width: float, bead: float
) -> None:
    rim = parse_rim_size(written)
    assert (str(rim), rim.width, rim.bead_diameter) == (canonical, width, bead)


metric = st.builds("{}/{}-{}".format, st.integers(40, 330), st.integers(25, 105), st.integers(8, 23))
inch = st.builds("{:.2f}-{}".format, st.integers(4, 40).map(lambda quarter: quarter / 4), st.integers(8, 23))
wide = st.builds("{}/{}-{}".format, st.sampled_from(["4.25", "3.50"]), st.integers(25, 99), st.integers(8, 23))
quad = st.builds("AT{}x{}-{}".format, st.integers(26, 35), st.integers(3, 16), st.integers(8, 23))
iso = st.builds("{}-{}".format, st.integers(18, 130), st.integers(200, 700))


@given(text=st.one_of(metric, inch, wide, quad, iso))
def test_every_tire_size_survives_printing_and_is_larger_than_its_rim(text: str) -> None:
    size = parse_tire_size(text)
    assert str(size) == text
    assert parse_tire_size(str(size)) == size
    assert size.overall_diameter > size.rim_diameter > 0
    assert size.section_width > 0


rims = st.one_of(
    st.builds("{} {:.2f}x{}".format, st.sampled_from(["WM", "MT"]), st.floats(1, 8), st.integers(8, 23)),
    st.builds("ISO {}x{}".format, st.integers(200, 700), st.integers(10, 99)),
    st.builds("AT {}x{}".format, st.integers(8, 15), st.integers(3, 14)),
)


@given(text=rims)
def test_every_rim_size_survives_printing(text: str) -> None:
    rim = parse_rim_size(text)
    assert str(rim) == text
    assert parse_rim_size(str(rim)) == rim


@given(text=st.text(max_size=60) | st.from_regex(r"\A[ATx0-9./ -]{0,45}\Z"))
def test_any_text_is_a_size_or_a_clear_error(text: str) -> None:
    for read in (parse_tire_size, parse_rim_size, parse_service_description):
        try:
            read(text)
        except SizeError as error:
            message = str(error)
        else:
            continue
        assert message


@pytest.mark.parametrize("text", ["9" * 100_000, "9/" * 50_000, "AT" + "2" * 50_000 + "x", "1.1" * 30_000, " " * 10**6])
def test_hostile_text_is_refused_at_once(text: str) -> None:
    began = time.perf_counter()
    for read in (parse_tire_size, parse_rim_size, parse_service_description):
        with pytest.raises(SizeError, match="a size has at most 40 characters"):
            read(text)
    assert time.perf_counter() - began < 0.5


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", 'write a size such as "80/100-21"'),
        ("22x7-10", 'a quad size starts with AT: write "AT22x7-10"'),
        ("29x2.25", 'write a bicycle size in millimetres as ISO 5775 has it, such as "57-622"'),
        ("120/90B18", 'write the size with a dash: "120/90-18"'),
        ("3-18", 'write the width in inches with two decimals: "3.00-18"'),
        ("80/100-21 51M", 'give load index and speed symbol apart from the size: "80/100-21"'),
        ("80/100-7", 'the rim diameter code "7" in "80/100-7" is not known, allowed: 8 to 23'),
        ("80/100-99", 'the rim diameter code "99"'),
        ("80/100-08", 'the rim diameter code "08"'),
        ("999/100-21", "the width is 40 to 330 mm"),
        ("80/10-21", "the aspect ratio is 25 to 105 %"),
        ("080/100-21", "numbers have no leading zero"),
        ("AT12x7-10", "the overall diameter is at least 3 in above that of the rim"),
        ("AT22x30-10", "the width is 3 to 16 in"),
        ("17-622", "the width is 18 to 130 mm"),
        ("57-199", "the bead seat diameter is 200 to 700 mm"),
        ("0.50-18", "the width is 1.00 to 10.00 in"),
    ],
)
def test_a_text_that_is_no_tire_size_is_refused_with_the_fix(text: str, words: str) -> None:
    with pytest.raises(ConfigoptError) as raised:
        parse_tire_size(text)
    assert words in str(raised.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1.60x21", 'write a size such as "WM 1.60x21"'),
        ("WM 1.6x21", '"WM 1.6x21" is no rim size'),
        ("WM 9.00x18", "the width is 1.00 to 8.00 in"),
        ("WM 1.60x5", 'the rim diameter code "5"'),
        ("ISO 622x5", "is no rim size"),
        ("ISO 622x120", "the inner width is 10 to 110 mm"),
        ("AT 10x20", "the width is 3 to 14 in"),
    ],
)
def test_a_text_that_is_no_rim_size_is_refused_with_the_fix(text: str, words: str) -> None:
    with pytest.raises(ConfigoptError) as raised:
        parse_rim_size(text)
    assert words in str(raised.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("M45", 'write load index and speed symbol such as "45M"'),
        ("9M", "the load index 9 is not in the table, allowed: 10 to 90"),
        ("91M", "the load index 91 is not in the table"),
        ("45I", 'the speed symbol "I" is not known'),
    ],
)
def test_a_text_that_is_no_service_description_is_refused_with_the_fix(text: str, words: str) -> None:
    with pytest.raises(ConfigoptError) as raised:
        parse_service_description(text)
    assert words in str(raised.value)


class Wheel(BaseModel):
    """A record with sizes, as catalogs have."""

    tire: TireSizeText
    rim: RimSizeText | None = None
    service: ServiceText | None = None


def test_a_record_field_holds_a_size_and_writes_its_text() -> None:
    wheel = Wheel.model_validate({"tire": "80/100-21", "rim": "WM1.60x21", "service": "51M"})
    assert wheel.tire == parse_tire_size("80/100-21")
    assert wheel.model_dump_json() == '{"tire":"80/100-21","rim":"WM 1.60x21","service":"51M"}'
    assert Wheel.model_validate_json(wheel.model_dump_json()) == wheel
    assert Wheel.model_json_schema()["properties"]["tire"]["type"] == "string"


@pytest.mark.parametrize(
    ("written", "words"), [("80/100", "is no tire size"), (57, "found 57"), (None, "found no text")]
)
def test_a_record_field_refuses_what_is_no_size(written: object, words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        Wheel.model_validate({"tire": written})
