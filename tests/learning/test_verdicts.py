"""The table of ride verdicts: what is read, and what is wrong with it, by line and column."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from configopt.catalog.catalog import Catalog, load_catalog
from configopt.errors import FindingsError
from configopt.learning.verdicts import COLUMNS, MOST_BYTES, MOST_VERDICTS, VerdictTable, load_verdicts
from configopt.scenario.case import load

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "scenarios" / "trials" / "upland-rides.csv"
HEADER = "when,who,tire,verdict,than"
ROW = "2026-03-31,A,heron-moor-80-100-21,better,plover-fell-80-100-21"


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    return load_catalog(ROOT / "catalogs")


def table(folder: Path, *lines: str, catalog: Catalog | None = None) -> VerdictTable:
    path = folder / "rides.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return load_verdicts(path, catalog)


def wrong(folder: Path, *lines: str, catalog: Catalog | None = None) -> list[str]:
    """What is found, as line:column: message (fix)."""
    with pytest.raises(FindingsError) as raised:
        table(folder, *lines, catalog=catalog)
    return [f"{one.line}:{one.column}: {one.rule}: {one.message} ({one.fix})" for one in raised.value.findings]


def test_the_shipped_table_is_read_whole_and_says_that_it_is_invented(catalog: Catalog) -> None:
    found = load_verdicts(SHIPPED, catalog)
    assert len(found.rows) == len(SHIPPED.read_text().strip().splitlines()) - 3
    assert "invented" in SHIPPED.read_text().splitlines()[0]
    assert found.purposes == ("gravel", "peat", "rock steps", "wet roots")
    assert [(note.line, note.severity) for note in found.notes] == [(4, "note")]
    assert "tern-80-100-21" in found.notes[0].message


def test_a_scenario_names_its_table_beside_itself() -> None:
    case = load(ROOT / "scenarios" / "upland-wardens.yaml")
    assert case.scenario.trials == "trials/upland-rides.csv"
    assert load(ROOT / "scenarios" / "forest-rescue.yaml").scenario.trials is None


def test_every_column_is_read_in_si_units(tmp_path: Path) -> None:
    found = table(
        tmp_path,
        "\ufeff" + ";".join([*COLUMNS][:4]) + ";distance (mi);position;tire;pressure (psi);for;verdict;than;"
        "than pressure (bar);dropped;why;note",
        '2026-03-31;A;"Beck, upper";wet;2;Rear;a-1;10;Wet  Roots;BETTER;b-2;0.8;yes;"slides; badly";x',
    )
    (row,) = found.rows
    assert (row.when, row.who, row.place, row.conditions) == (date(2026, 3, 31), "A", "Beck, upper", "wet")
    assert row.distance == pytest.approx(3218.688)
    assert row.pressure == pytest.approx(68947.57, abs=0.01)
    assert row.than_pressure == pytest.approx(80_000)
    assert (row.position, row.tire, row.than, row.purpose) == ("rear", "a-1", "b-2", "wet roots")
    assert (row.verdict, row.dropped, row.why, row.note) == ("better", True, "slides; badly", "x")


def test_columns_may_stand_in_any_order_and_most_may_be_missing(tmp_path: Path) -> None:
    (row,) = table(tmp_path, "than,verdict,tire,who,when", "b-2,alike,a-1,A,2026-03-31").rows
    assert (row.tire, row.verdict, row.than, row.pressure, row.purpose) == ("a-1", "alike", "b-2", None, "")


def test_a_cell_may_state_its_own_unit(tmp_path: Path) -> None:
    (row,) = table(tmp_path, f"{HEADER},pressure (kPa)", f"{ROW},12 psi").rows
    assert row.pressure == pytest.approx(82737.1, abs=0.1)


def test_a_tab_separated_table_and_an_empty_one_are_read(tmp_path: Path) -> None:
    assert len(table(tmp_path, HEADER.replace(",", "\t"), ROW.replace(",", "\t")).rows) == 1
    assert table(tmp_path, HEADER).rows == ()


def test_a_ride_without_a_comparison_is_kept(tmp_path: Path) -> None:
    found = table(tmp_path, f"{HEADER},dropped,why", "2026-03-31,A,a-1,,,yes,holed", "2026-04-01,A,a-1,,,,")
    assert found.compared == ()
    assert [row.dropped for row in found.rows] == [True, False]


CELLS = [
    (f"{HEADER}", "31.3.2026,A,a-1,better,b-2", '2:1: VERDICT: "31.3.2026" is no day (write year, month and day'),
    (f"{HEADER}", "2026-02-30,A,a-1,better,b-2", '2:1: VERDICT: "2026-02-30" is no day'),
    (f"{HEADER}", ",A,a-1,better,b-2", '2:1: VERDICT: "when" is empty'),
    (f"{HEADER}", "2026-03-31,,a-1,better,b-2", '2:12: VERDICT: "who" is empty (write the rider)'),
    (f"{HEADER}", "2026-03-31,A,,better,b-2", '2:14: VERDICT: "tire" is empty'),
    (f"{HEADER}", "2026-03-31,A,a-1,beter,b-2", '2:18: VERDICT: found "beter" in verdict (did you mean "better"?)'),
    (f"{HEADER}", "2026-03-31,A,a-1,5,b-2", "(write better, worse, alike, or nothing)"),
    (f"{HEADER}", "2026-03-31,A,a-1,better,", '2:25: VERDICT: "better" than what is not said (name the other tire'),
    (f"{HEADER}", "2026-03-31,A,a-1,,b-2", '2:18: VERDICT: compared with "b-2", but there is no verdict'),
    (f"{HEADER}", "2026-03-31,A,a-1,better,a-1", '2:25: VERDICT: "a-1" is compared with itself'),
    (f"{HEADER}", "2026-03-31,A,A 1,better,b-2", '2:14: REFERENCE: "A 1" is no id: lower case, digits, single dashes'),
    (f"{HEADER},dropped,why", "2026-03-31,A,a-1,,,yes,", "and why is not said (write the reason)"),
    (f"{HEADER},dropped,why", "2026-03-31,A,a-1,,,maybe,x", 'found "maybe" in dropped (write yes, no, or nothing)'),
    (f"{HEADER},note", f"{ROW},\x1b[2J", '2:64: VERDICT: "note" holds a character that cannot be shown (remove it)'),
    (f"{HEADER},position", f"{ROW},front and rear", 'found "front and rear" in position'),
    (f"{HEADER},pressure (kPa)", f"{ROW},80 m", '2:64: QUANTITY: "m" is a unit of length, expected a pressure'),
    (f"{HEADER};pressure (bar)".replace(",", ";"), f"{ROW};0,8".replace(",", ";", 4), "write a decimal point"),
    (f"{HEADER},pressure (kPa)", f"{ROW},-5", 'found "-5" in kPa, allowed is 0 to 1000 kPa'),
    (f"{HEADER},pressure (bar)", f"{ROW},80", 'found "80" in bar, allowed is 0 to 1000 kPa (see to unit and digits)'),
    (f"{HEADER},pressure (kPa)", f"{ROW},9e999", "out of all range"),
    (f"{HEADER},distance (km)", f"{ROW},nan", "is not finite"),
]  # fmt: skip


@pytest.mark.parametrize(("header", "row", "message"), CELLS, ids=[message for _, _, message in CELLS])
def test_a_wrong_cell_is_found_where_it_stands(tmp_path: Path, header: str, row: str, message: str) -> None:
    (found,) = wrong(tmp_path, header, row)
    assert message in found


HEADERS = [
    (f"{HEADER},presure (kPa)", '1:28: LOG-COLUMN: there is no column "presure (kPa)" (did you mean "pressure"?)'),
    (f"{HEADER},weather", 'there is no column "weather" (columns are when, who, place'),
    (f"{HEADER},pressure", '1:28: UNIT: the header "pressure" names no unit (write for example "pressure (kPa)")'),
    (f"{HEADER},pressure (km)", '1:28: UNIT: "km" is no unit of a pressure (one of kPa, bar, psi'),
    (f"{HEADER},place (m)", '"place" has no unit (write "place")'),
    (f"{HEADER},pressure (kPa),Pressure [bar]", 'there are two columns "pressure" (keep one of them)'),
    ("when,who,tire,verdict", 'there is no column "than" (id of the tire it was compared with) (add it)'),
    ("when,who,tyre,verdict,than", 'there is no column "tyre" (did you mean "tire"?)'),
]


@pytest.mark.parametrize(("header", "message"), HEADERS, ids=[message for _, message in HEADERS])
def test_a_wrong_header_is_found_where_it_stands(tmp_path: Path, header: str, message: str) -> None:
    (found,) = wrong(tmp_path, header)
    assert message in found


def test_all_mistakes_are_found_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    found = wrong(tmp_path, HEADER, ROW, "2026-3-1,,a-1,good,b-2", ROW, "2026-03-31,A,a-1,worse,a-1")
    assert [one.split(": ")[0] for one in found] == ["3:1", "3:10", "3:15", "5:24"]


def test_the_same_tire_at_two_pressures_may_be_compared(tmp_path: Path) -> None:
    header = f"{HEADER},pressure (kPa),than pressure (kPa)"
    assert len(table(tmp_path, header, "2026-03-31,A,a-1,better,a-1,60,80").compared) == 1
    (found,) = wrong(tmp_path, header, "2026-03-31,A,a-1,better,a-1,60,60")
    assert "state two different pressures" in found


def test_a_part_of_another_family_is_refused_and_a_tire_that_is_gone_is_noted_once(
    tmp_path: Path, catalog: Catalog
) -> None:
    rim = catalog.rims[0].id
    (found,) = wrong(tmp_path, HEADER, f"2026-03-31,A,{rim},better,plover-fell-80-100-21", catalog=catalog)
    assert f'2:14: REFERENCE: "{rim}" is in rims, not in tires' in found
    old = "2026-03-31,A,heron-moor-80-100-12,better,heron-moor-80-100-21"
    read = table(tmp_path, HEADER, old, old, catalog=catalog)
    (note,) = read.notes
    assert (note.line, note.column, note.severity) == (2, 14, "note")
    assert "did you mean" in note.fix
    assert table(tmp_path, HEADER, old).notes == ()


def test_an_id_in_capitals_is_refused_with_what_it_should_be(tmp_path: Path, catalog: Catalog) -> None:
    (found,) = wrong(tmp_path, HEADER, ROW.replace("heron-moor", "Heron Moor"), catalog=catalog)
    assert 'did you mean "heron-moor-80-100-21"?' in found


def test_too_many_rows_bytes_and_mistakes_end_cleanly(tmp_path: Path) -> None:
    (found,) = wrong(tmp_path, HEADER, *[ROW] * (MOST_VERDICTS + 1))
    assert f"{MOST_VERDICTS + 2}:1: SHEET-LIMIT: a table of verdicts has at most 20,000 rows" in found
    (found,) = wrong(tmp_path, HEADER, "#" * MOST_BYTES)
    assert "0:0: SHEET-LIMIT: a table of verdicts has at most 10,000,000 bytes" in found
    assert len(wrong(tmp_path, HEADER, *["x,,,,"] * 5000)) < 300


@pytest.mark.parametrize("name", ["missing.csv", "."])
def test_a_file_that_is_not_there_or_a_folder_is_a_finding(tmp_path: Path, name: str) -> None:
    with pytest.raises(FindingsError, match="cannot be read"):
        load_verdicts(tmp_path / name)


_CELL = st.text(st.characters(exclude_characters="\r\n\x00", exclude_categories=("Cs",)), max_size=12)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.lists(st.one_of(_CELL, st.sampled_from(["a-1", "better", "2026-03-31", "60"])), max_size=8)))
def test_whatever_stands_in_the_cells_is_read_or_found(tmp_path: Path, rows: list[list[str]]) -> None:
    lines = [",".join(row) for row in rows]
    try:
        found = table(tmp_path, f"{HEADER},pressure (kPa),dropped,why", *lines)
    except FindingsError as error:
        places = [(Path(one.path).name, one.line > 0) for one in error.findings]
        assert set(places) == {("rides.csv", True)}
    else:
        assert all(row.who and row.tire for row in found.rows)
