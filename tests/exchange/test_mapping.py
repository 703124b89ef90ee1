"""Sheets that were made by hand, in other columns and units, become entries with a mapping file."""

from __future__ import annotations

import shutil
from pathlib import Path

import jsonschema
import openpyxl
import pytest

from configopt.catalog.records import Tire
from configopt.errors import Finding, FindingsError, UsageError
from configopt.exchange.convert import convert, written
from configopt.exchange.mapping import load_mapping
from configopt.files.validation import validate_items
from configopt.files.yaml_source import load_yaml, parse_yaml
from configopt.schemas import schema

ROOT = Path(__file__).parents[2]
FIXTURES = ROOT / "tests" / "fixtures" / "exchange"


@pytest.fixture
def trade(tmp_path: Path) -> Path:
    """A folder with copies of the trade list and its mapping."""
    for path in FIXTURES.glob("pricelist*"):
        shutil.copy(path, tmp_path)
    return tmp_path


def tires(folder: Path, name: str = "pricelist.csv") -> list[Tire]:
    mapping = load_mapping(folder / "pricelist.mapping.yaml")
    made = convert(folder / name, mapping=mapping, beside=ROOT / "catalogs")
    text = written(made.families, "yaml")["tires"]
    return validate_items(parse_yaml(text, "made"), "parts", Tire)


def findings(folder: Path) -> list[Finding]:
    with pytest.raises(FindingsError) as caught:
        tires(folder)
    return caught.value.findings


def test_a_trade_list_becomes_tires(trade: Path) -> None:
    one, two = tires(trade)
    assert (one.id, two.id) == ("fells-scree-80-100-21", "fells-scree-100-100-18")
    assert (one.positions, two.positions) == (["front"], ["rear"])
    # 1 lb = 0.45359237 kg, 1 in = 0.0254 m, 1 mph = 0.44704 m/s, exact by definition; 1 psi = 6894.757 Pa.
    assert float(one.mass) == pytest.approx(7.4 * 0.45359237, rel=1e-15)
    assert float(two.measuring_rim_width) == pytest.approx(2.15 * 0.0254, rel=1e-15)
    assert float(one.rated_pressure) == pytest.approx(32 * 6894.757, rel=1e-7)
    assert float(one.maximum_speed or 0) == pytest.approx(62 * 0.44704, rel=1e-15)
    assert (float(one.maximum_load or 0), float(two.maximum_load or 0)) == (430 * 0.45359237, 190.0)
    assert float(one.prices[0].unit_price) == 58.5
    assert (one.source, one.grip.wet, one.tubeless) == ("parts-estimate", 1.05, False)


def test_figures_keep_the_unit_of_the_sheet_and_the_order_of_the_catalogs(trade: Path) -> None:
    made = convert(trade / "pricelist.csv", mapping=load_mapping(trade / "pricelist.mapping.yaml")).families
    text = written(made, "yaml")["tires"].decode()
    assert text.startswith("family: tires\ncurrency: EUR\nparts:\n  - id: fells-scree-80-100-21\n")
    assert "    mass: 7.4 lb\n" in text
    keys = list(parse_yaml(text, "made").data["parts"][0])
    assert keys[:6] == ["id", "name", "maker", "supplier", "lead_time", "kind"]
    assert keys[-3:] == ["prices", "source", "note"]


def test_the_same_list_as_a_workbook_gives_the_same_tires(trade: Path) -> None:
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    assert sheet is not None
    sheet.title = "List"
    for line in (trade / "pricelist.csv").read_text(encoding="utf-8").splitlines():
        cells = [cell.replace(",", ".") for cell in line.split(";")]
        sheet.append([float(cell) if cell.replace(".", "").isdigit() else cell or None for cell in cells])
    workbook.create_sheet("Other")
    workbook.save(trade / "pricelist.xlsx")
    mapping = trade / "pricelist.mapping.yaml"
    with pytest.raises(FindingsError, match="has the sheets List, Other, and the mapping names none"):
        tires(trade, "pricelist.xlsx")
    mapping.write_text(mapping.read_text(encoding="utf-8") + "sheet: List\n", encoding="utf-8")
    in_workbook = tires(trade, "pricelist.xlsx")
    assert in_workbook == tires(trade)
    mapping.write_text(mapping.read_text(encoding="utf-8").replace("sheet: List", "sheet: Lists"), encoding="utf-8")
    with pytest.raises(FindingsError, match='the workbook has no sheet "Lists"'):
        tires(trade, "pricelist.xlsx")


def replace_in(path: Path, old: str, new: str) -> int:
    """Replace a text that stands there once; the line it stands in."""
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


@pytest.mark.parametrize(
    ("old", "new", "rule", "message"),
    [
        ("family: tires", "family: tyres", "CHOICE", 'found "tyres", allowed: tires'),
        ("field: size", "field: sise", "MAPPING", '"sise" is no field of tires'),
        ("field: name", "field: grip", "MAPPING", '"grip" has fields of its own'),
        ("unit: psi", "unit: lb", "MAPPING", '"lb" is a unit of mass, expected a pressure'),
        ("    field: size", "    field: size\n    unit: mm", "MAPPING", "size has no unit"),
        ("header: Size", "header: Sise", "MAPPING", 'the sheet has no column "Sise"'),
        ("field: size", "field: name", "MAPPING", 'the field "name" stands already above'),
        ("- Article\n", "- Artikel\n", "MAPPING", 'the sheet has no column "Artikel"'),
        ("  - Remarks\n", "  - Remark\n", "SHEET-HEADER", 'the mapping does not speak of the column "Remarks"'),
        ("  tread: open", "  treads: open", "MAPPING", '"treads" is no field of tires'),
        ("  tread: open", "  tread: opn", "CHOICE", 'found "opn", allowed: open, medium, closed'),
        ("source: parts-estimate", "source: nowhere", "REFERENCE", 'there is no source "nowhere"'),
        ("  maker: Fells Rubber\n", "", "MISSING-KEY", "no column for maker"),
        ("header_row: 3", "header_row: 40", "SHEET-EMPTY", "there is no header row"),
        ("      R: rear\n", "", "CHOICE", 'found "R", allowed: front, rear'),
        ("  - n/a\n", "  - none\n", "QUANTITY", 'found "n/a", expected a mass'),
        ("currency: EUR\n", "", "CURRENCY", "the prices have no currency"),
        ("skip_rows:\n  - 5\n", "", "MISSING-KEY", "is empty"),
        ("decimal_comma: true\n", "", "QUANTITY", "found a comma"),
    ],
)
def test_a_mistake_in_a_mapping_is_told(trade: Path, old: str, new: str, rule: str, message: str) -> None:
    line = replace_in(trade / "pricelist.mapping.yaml", old, new)
    found = findings(trade)
    assert any(one.rule == rule and message in one.message for one in found)
    if rule in ("MAPPING", "REFERENCE") and new:
        assert {(one.path, one.line) for one in found if one.rule == rule} == {
            (str(trade / "pricelist.mapping.yaml"), line + new.rstrip().count("\n"))
        }


def test_a_mistake_in_a_cell_is_told_at_it_and_one_in_a_constant_at_the_mapping(trade: Path) -> None:
    replace_in(trade / "pricelist.csv", ";F;7,4;", ";F;-7,4;")
    line = replace_in(trade / "pricelist.mapping.yaml", "  grip.wet: 1.05", "  grip.wet: 7")
    one, two = findings(trade)
    assert (one.path, one.line, one.column) == (str(trade / "pricelist.csv"), 4, 4)
    assert 'found "-7.4 lb"' in one.message
    assert (two.path, two.line) == (str(trade / "pricelist.mapping.yaml"), line)


def test_two_rows_that_give_one_id_are_told(trade: Path) -> None:
    replace_in(trade / "pricelist.csv", "Scree 100/100-18;100", "Scree-80/100 21;100")
    (one,) = findings(trade)
    assert (one.line, one.column, one.rule) == (6, 1, "DUPLICATE-ID")
    assert "stands already at row 4, column 1" in one.message


def test_a_mapping_is_for_one_table(trade: Path) -> None:
    mapping = load_mapping(trade / "pricelist.mapping.yaml")
    with pytest.raises(UsageError, match="for one CSV file or one workbook"):
        convert(ROOT / "catalogs", mapping=mapping)


def test_the_mapping_keeps_to_its_schema() -> None:
    made = schema("mapping")
    data = load_yaml(FIXTURES / "pricelist.mapping.yaml").data
    jsonschema.validate(data, made)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**data, "colour": "green"}, made)
    assert all("description" in value for key, value in made["properties"].items())


def test_headers_of_configopt_need_no_mapping_in_a_mapped_sheet(trade: Path) -> None:
    replace_in(trade / "pricelist.csv", ";Remarks", ";tread_life [km]")
    replace_in(trade / "pricelist.csv", "58,50;new", "58,50;2400")
    replace_in(trade / "pricelist.mapping.yaml", "leave_out:\n  - Remarks\n", "")
    assert [tire.tread_life for tire in tires(trade)] == [2_400_000.0, None]


@pytest.mark.parametrize(
    ("old", "new", "column", "fix"),
    [
        (";58,50;", ";1.058;", 11, "with decimal_comma, write 1058 or 1058,00, or 1,058 if the point is a decimal one"),
        (";58,50;", ";1.058,50;", 11, "with decimal_comma, write 1058,50"),
        (";58,50;", ";58.50;", 11, "with decimal_comma, write 58,50"),
        (";58,50;", ";1.058.000;", 11, "with decimal_comma, write 1058000 or 1058000,00"),
        (
            ";430;",
            ";1.430 lb;",
            10,
            "with decimal_comma, write 1430 or 1430,00, or 1,430 if the point is a decimal one",
        ),
    ],
)
def test_with_decimal_comma_a_point_in_a_number_is_refused(
    trade: Path, old: str, new: str, column: int, fix: str
) -> None:
    replace_in(trade / "pricelist.csv", old, new)
    (one,) = findings(trade)
    assert (one.path, one.line, one.column) == (str(trade / "pricelist.csv"), 4, column)
    assert one.message == f'a point in the number "{new.strip(";")}"'
    assert one.fix == fix


def test_numbers_and_percents_of_a_workbook_have_no_point_to_be_refused(trade: Path) -> None:
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    assert sheet is not None
    for line in (trade / "pricelist.csv").read_text(encoding="utf-8").splitlines():
        cells = [cell.replace(",", ".") for cell in line.split(";")]
        sheet.append([float(cell) if cell.replace(".", "").isdigit() else cell or None for cell in cells])
    cell = sheet.cell(3, 13, "Land")
    for row in (4, 6):
        cell = sheet.cell(row, 13, 0.385)
        cell.number_format = "0.0%"
    workbook.save(trade / "pricelist.xlsx")
    replace_in(
        trade / "pricelist.mapping.yaml",
        "  - header: Price\n",
        "  - header: Land\n    field: land_fraction\n  - header: Price\n",
    )
    assert [float(tire.land_fraction) for tire in tires(trade, "pricelist.xlsx")] == [0.385, 0.385]


def test_a_skipped_row_that_holds_an_entry_is_told(trade: Path) -> None:
    line = replace_in(trade / "pricelist.mapping.yaml", "skip_rows:\n  - 5\n", "skip_rows:\n  - 5\n  - 6\n")
    (one,) = findings(trade)
    assert (one.path, one.line) == (str(trade / "pricelist.mapping.yaml"), line + 2)
    assert one.message == 'row 6 is skipped, but holds an entry: "Scree 100/100-18"'
    assert "correct skip_rows" in one.fix


@pytest.mark.parametrize(
    "row",
    [
        "Sum;;;16,5;;;;;;;124,50;",
        "Article;Size;Where;Weight (lb);Rim width (in);from (in);to (in);Pressure (psi);Top speed (mph);n/a;Price;",
        "Scree;see;page 4;on;the;next;sheet;of;this;list;please;",
    ],
)
def test_a_skipped_row_of_sums_or_headings_stays_out(trade: Path, row: str) -> None:
    replace_in(trade / "pricelist.csv", "Road tires;;;;;;;;;;;", row)
    assert len(tires(trade)) == 2


def test_a_section_row_is_told_in_the_sheet(trade: Path) -> None:
    replace_in(trade / "pricelist.mapping.yaml", "skip_rows:\n  - 5\n", "")
    told = findings(trade)
    assert {(one.path, one.line) for one in told} == {(str(trade / "pricelist.csv"), 5)}
    assert [one.column for one in told if one.message == "prices.1.unit_price is empty"] == [11]


def test_a_value_beyond_the_last_header_of_a_mapped_sheet_is_told(trade: Path) -> None:
    replace_in(trade / "pricelist.csv", "58,50;new", "58,50;new;more")
    (one,) = findings(trade)
    assert (one.line, one.column, one.message) == (4, 13, "a value in a column without header: more")
