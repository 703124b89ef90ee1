"""The bill of materials: what it comes to is what the choice costs, and a workbook runs nothing."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
import pytest
from sheets import Sheet

from configopt.appraisal.one_vehicle import appraise_record
from configopt.appraisal.vehicle import VehicleModel
from configopt.sheet.bill import BillRow, bill_of_materials, workbook


def test_the_bill_comes_to_what_the_choice_costs(sheet: Sheet) -> None:
    vehicle = sheet.case.vehicle
    total = sum(row.cost for row in sheet.made.bill_rows)
    assert total / vehicle.quantity == pytest.approx(sheet.payload["vehicles"][0]["cost"], rel=1e-12)


def test_every_part_of_both_ends_is_one_row(sheet: Sheet) -> None:
    named = [row.part for row in sheet.made.bill_rows]
    assert len(named) == len(set(named))
    entry = sheet.payload["vehicles"][0]
    roles = ("tire", "inner", "rim_lock", "rim", "spokes", "disc_wheel", "hub", "rotor", "caliper", "pad")
    used = {package[role] for package in entry["packages"] for role in roles if package[role]}
    assert set(named) == used | {entry["final_drive"]}


def test_pieces_count_wheels_locks_and_spokes(sheet: Sheet) -> None:
    rows = {row.part: row for row in sheet.made.bill_rows}
    quantity = sheet.case.vehicle.quantity
    for package in sheet.payload["vehicles"][0]["packages"]:
        others = [one for one in sheet.payload["vehicles"][0]["packages"] if one["tire"] == package["tire"]]
        assert rows[package["tire"]].pieces == quantity * sum(one["wheels"] for one in others)
        if package["rim"]:
            rim = sheet.case.catalog.part("rims", package["rim"])
            mine = [one for one in sheet.payload["vehicles"][0]["packages"] if one["spokes"] == package["spokes"]]
            holes = [sheet.case.catalog.part("rims", one["rim"]).holes * one["wheels"] for one in mine]
            assert rows[package["spokes"]].pieces == quantity * sum(holes)
            assert rim.holes * quantity <= rows[package["spokes"]].pieces


def test_prices_are_the_tier_of_the_quantity(sheet: Sheet) -> None:
    for row in sheet.made.bill_rows:
        reached = [price for quantity, price in row.tiers if quantity <= row.bought]
        assert row.bought >= max(row.pieces + row.spares, row.minimum_order)
        assert row.unit_price == pytest.approx(reached[-1])
        assert row.cost == pytest.approx(row.unit_price * row.bought + row.one_off_cost)


def test_spares_are_bought_too(quad: Sheet) -> None:
    vehicle = quad.case.vehicle
    assert vehicle.baseline is not None
    one = appraise_record(VehicleModel(vehicle, quad.case.catalog), vehicle.baseline)
    plain = {row.part: row for row in bill_of_materials([one])}
    kept = {row.part: row for row in bill_of_materials([one], spares={"tires": 40})}
    for part, row in kept.items():
        more = 40 if row.family == "tires" else 0
        assert row.bought >= plain[part].pieces + more
        assert (row.cost > plain[part].cost) == (row.family == "tires")


def test_alternates_are_named_where_they_were_searched(two_wheeler: Sheet, quad: Sheet) -> None:
    listed = two_wheeler.made.results.documents["shortlist"]["candidates"]
    words = [row.alternates for row in two_wheeler.made.bill_rows if row.alternates]
    assert bool(words) == (len(listed) > 1)
    assert all("candidate" in text for text in words)
    assert not [row for row in quad.made.bill_rows if row.alternates]


def row_named(name: str) -> BillRow:
    return BillRow(
        family="tires",
        part="a-1",
        name=name,
        maker="=1+1",
        supplier="-2",
        status="active",
        lead_time_days=21.0,
        used_by=("front",),
        pieces_per_vehicle=(("v", 1),),
        pieces=4,
        spares=0,
        bought=4,
        unit_price=2.5,
        one_off_cost=0.0,
        cost=10.0,
        tiers=((1, 2.5),),
        minimum_order=1,
        alternates="@none",
    )


@pytest.mark.parametrize(
    "name", ['=HYPERLINK("http://x","y")', "+1", "-1", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0", "#REF!"]
)
def test_a_workbook_keeps_formulas_as_text(name: str) -> None:
    made = workbook([row_named(name)], currency="EUR", title="=1+1", notes=["=2+2", "plain"])
    book = openpyxl.load_workbook(io.BytesIO(made))
    for sheet in book.worksheets:
        for cells in sheet.iter_rows():
            for cell in cells:
                assert cell.data_type != "f", (sheet.title, cell.coordinate)
                assert cell.data_type != "e", (sheet.title, cell.coordinate)
    assert book["Parts"]["C2"].value == name
    assert book["Parts"]["C2"].data_type == "s"
    assert book["About"]["A1"].value == "=1+1"


def test_a_workbook_holds_numbers_as_numbers_and_is_the_same_each_time(sheet: Sheet) -> None:
    rows = sheet.made.bill_rows
    made = workbook(rows, currency="EUR", title="bill")
    assert made == workbook(rows, currency="EUR", title="bill")
    book = openpyxl.load_workbook(io.BytesIO(made))
    parts = list(book["Parts"].iter_rows(values_only=True))
    heads = [str(head) for head in parts[0]]
    for row, cells in zip(rows, parts[1:], strict=False):
        found = dict(zip(heads, cells, strict=True))
        assert found["part"] == row.part
        assert found["cost, EUR"] == pytest.approx(row.cost)
        assert found["pieces for all vehicles"] == row.pieces
    assert dict(zip(heads, parts[-1], strict=True))["cost, EUR"] == pytest.approx(sum(row.cost for row in rows))
    tiers = list(book["Price tiers"].iter_rows(min_row=2, values_only=True))
    assert tiers == [(row.part, quantity, price) for row in rows for quantity, price in row.tiers]


def test_control_characters_do_not_break_a_workbook() -> None:
    row = replace(row_named("bell\x07 and\x00 null"), alternates="x" * 300)
    book = openpyxl.load_workbook(io.BytesIO(workbook([row], currency="EUR", title="t")))
    assert book["Parts"]["C2"].value == "bell and null"
