"""What a workbook looks like to whoever opens it, read by openpyxl alone."""

from __future__ import annotations

import gc
import io
import sys
import zipfile

import openpyxl
import pytest

from configopt.catalog.records import FAMILIES
from configopt.exchange.convert import written
from configopt.exchange.layout import FamilyText
from configopt.files.yaml_source import parse_yaml


@pytest.fixture(scope="module")
def workbook(workbook_bytes: bytes) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes))


def test_there_is_one_sheet_a_family(workbook: openpyxl.Workbook) -> None:
    assert workbook.sheetnames == ["about", *FAMILIES, "sources"]


def test_the_header_is_bold_and_stays_in_sight(workbook: openpyxl.Workbook) -> None:
    for sheet in workbook:
        assert sheet.freeze_panes == "B2"
        assert all(cell.font.bold for cell in sheet[1] if cell.value)
        assert all(8 <= dimension.width <= 44 for dimension in sheet.column_dimensions.values())


def test_numbers_are_numbers_with_their_unit_in_the_header(
    workbook: openpyxl.Workbook, shipped: dict[str, str]
) -> None:
    sheet = workbook["tires"]
    headers = [cell.value for cell in sheet[1]]
    parts = parse_yaml(shipped["tires"], "tires").data["parts"]
    mass, width, price = (headers.index(name) for name in ("mass [kg]", "mass +- [kg]", "prices.1.unit_price [EUR]"))
    assert parts[0]["mass"] == "2.58 kg +- 0.05 kg"
    assert [sheet.cell(2, column + 1).value for column in (mass, width)] == [2.58, 0.05]
    for row, part in enumerate(parts, 2):
        assert sheet.cell(row, 1).value == part["id"]
        assert float(part["mass"].split(" ")[0]) == sheet.cell(row, mass + 1).value
        cell = sheet.cell(row, price + 1)
        assert (cell.value, cell.data_type) == (part["prices"][0]["unit_price"], "n")
        assert cell.number_format == "0.00"


def test_sizes_dates_and_ids_are_texts(workbook: openpyxl.Workbook) -> None:
    for name, header in (("tires", "size"), ("sources", "date"), ("rotors", "steel"), ("hubs", "id")):
        sheet = workbook[name]
        column = [cell.value for cell in sheet[1]].index(header) + 1
        cells = [sheet.cell(row, column) for row in range(2, sheet.max_row + 1)]
        assert {(cell.data_type, cell.number_format) for cell in cells if cell.value is not None} == {("s", "@")}


def test_no_cell_of_the_shipped_catalogs_is_a_formula_or_an_error(workbook: openpyxl.Workbook) -> None:
    kinds = {cell.data_type for sheet in workbook for row in sheet.iter_rows() for cell in row}
    assert kinds == {"s", "n", "b"}


def test_the_head_of_every_file_stands_in_the_first_sheet(workbook: openpyxl.Workbook, shipped: dict[str, str]) -> None:
    lines: dict[str, list[str]] = {}
    for family, line in workbook["about"].iter_rows(min_row=2, values_only=True):
        lines.setdefault(str(family), []).append(str(line))
    for name, text in shipped.items():
        assert lines[name] == text.split("\n  ")[0].splitlines()


def test_every_date_in_the_archive_is_fixed(few: tuple[FamilyText, ...]) -> None:
    with zipfile.ZipFile(io.BytesIO(written(few, "xlsx")[""])) as archive:
        assert {part.date_time for part in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.read("docProps/core.xml").count(b"1980-01-01T00:00:00Z") == 2


@pytest.mark.parametrize("part", range(1, 25, 4))
def test_writing_that_is_stopped_ends_without_a_further_error(
    few: tuple[FamilyText, ...], monkeypatch: pytest.MonkeyPatch, part: int
) -> None:
    begun, unraised = 0, []
    begin = zipfile._ZipWriteFile.__init__  # type: ignore[attr-defined]

    def stop(*arguments: object) -> None:  # as Ctrl-C does between the begin of a part and its content
        nonlocal begun
        begun += 1
        if begun == part:
            raise KeyboardInterrupt
        begin(*arguments)

    monkeypatch.setattr("zipfile._ZipWriteFile.__init__", stop)
    monkeypatch.setattr(sys, "unraisablehook", lambda found: unraised.append(found.exc_value))
    with pytest.raises(KeyboardInterrupt):
        written(few, "xlsx")
    gc.collect()
    assert unraised == []
