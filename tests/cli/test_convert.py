"""``configopt convert``, as somebody uses it."""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from click.testing import Result

Run = Callable[..., Result]


def texts(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.iterdir())}


def test_a_workbook_that_was_edited_goes_back_into_the_catalogs(project: Path, run: Run) -> None:
    for path in (project / "catalogs").glob("*.yaml"):
        if path.stem not in ("rotors", "pads", "sources"):
            path.unlink()
    before = texts(project / "catalogs")
    assert run("convert", "catalogs", "-o", "catalogs.xlsx").exit_code == 0
    workbook = openpyxl.load_workbook("catalogs.xlsx")
    sheet = workbook["rotors"]
    column = [cell.value for cell in sheet[1]].index("prices.1.unit_price [EUR]") + 1
    assert sheet.cell(2, column).value == 24
    sheet.cell(2, column).value = 25.5
    workbook.save("catalogs.xlsx")
    refused = run("convert", "catalogs.xlsx", "-o", "catalogs")
    assert refused.exit_code == 2
    assert "catalogs/rotors.yaml, catalogs/pads.yaml, catalogs/sources.yaml are there already" in refused.stderr
    assert "--replace" in refused.stderr
    assert texts(project / "catalogs") == before
    done = run("convert", "catalogs.xlsx", "-o", "catalogs", "--replace")
    assert done.exit_code == 0, done.stderr
    assert done.stderr.startswith("written: catalogs (3 families, ")
    after = texts(project / "catalogs")
    assert after.pop("rotors.yaml") == before.pop("rotors.yaml").replace("unit_price: 24.00", "unit_price: 25.50", 1)
    assert after == before


def test_a_folder_goes_to_csv_and_back_into_a_new_folder(project: Path, run: Run) -> None:
    assert run("convert", "catalogs", "-o", "tables/").exit_code == 0
    assert len(list((project / "tables").glob("*.csv"))) == 12
    assert run("convert", "tables", "-o", "new").exit_code == 0
    assert texts(project / "new") == texts(project / "catalogs")


def test_one_family_goes_to_csv_and_back(project: Path, run: Run) -> None:
    assert run("convert", "catalogs/pads.yaml", "-o", "pads.csv").exit_code == 0
    back = run("convert", "pads.csv", "-o", "pads.yaml")
    assert back.exit_code == 0
    assert "ids of sources are not checked" in back.stderr
    assert (project / "pads.yaml").read_bytes() == (project / "catalogs" / "pads.yaml").read_bytes()
    printed = run("convert", "pads.csv", "--to", "yaml", "--catalogs", "catalogs")
    assert (printed.exit_code, printed.stderr) == (0, "")
    assert printed.stdout.encode() == (project / "pads.yaml").read_bytes()


def test_a_mistake_is_told_and_nothing_is_written(project: Path, run: Run) -> None:
    run("convert", "catalogs/rims.yaml", "-o", "rims.xlsx")
    workbook = openpyxl.load_workbook("rims.xlsx")
    workbook["rims"]["A3"] = "harrow-21-160-36"
    workbook.save("rims.xlsx")
    result = run("convert", "rims.xlsx", "-o", "new/")
    assert result.exit_code == 1
    assert result.stderr.splitlines() == [
        'rims.xlsx:3:1: DUPLICATE-ID error: sheet rims, cell A3: the id "harrow-21-160-36" stands already at sheet '
        "rims, cell A2 (give every part an id of its own)",
        "1 finding: correct the file and run again",
    ]
    assert not (project / "new").exists()


def test_a_family_is_checked_against_the_catalog_it_goes_into(project: Path, run: Run) -> None:
    run("convert", "catalogs/pads.yaml", "-o", "pads.csv")
    path = project / "pads.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("brake-bench-2025", "bench-2024"), encoding="utf-8")
    result = run("convert", "pads.csv", "-o", "catalogs/pads.yaml", "--replace")
    assert result.exit_code == 1
    assert 'REFERENCE error: there is no source "bench-2024"' in result.stderr
    assert "bench-2024" not in (project / "catalogs" / "pads.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["catalogs"], "name the output: -o catalogs.xlsx"),
        (["catalogs", "--to", "xlsx"], "name the output"),
        (["catalogs", "--to", "csv"], "catalogs holds 12 families; name a folder"),
        (["catalogs", "-o", "a.csv"], "catalogs holds 12 families; name a folder"),
        (["catalogs", "-o", "a.txt"], "name a file that ends in .xlsx, .csv or .yaml"),
        (["catalogs", "-o", "a.csv", "--to", "xlsx"], "-o a.csv ends in .csv, but --to says xlsx"),
        (
            ["catalogs", "-o", "tables/", "--to", "xlsx"],
            "a workbook is one file; name it, such as tables/catalogs.xlsx",
        ),
        (["catalogs", "-o", "scenarios", "--to", "xlsx"], "a workbook is one file"),
        (["catalogs", "-o", "nowhere/a.xlsx"], "there is no folder nowhere"),
        (["catalogs", "-o", "catalogs", "--to", "yaml", "--replace"], "would overwrite what is read"),
        (["catalogs/pads.yaml", "-o", "catalogs", "--to", "yaml", "--replace"], "would overwrite catalogs/pads.yaml"),
        (["scenarios", "-o", "a.xlsx"], "scenarios holds no file of a family"),
        (["nowhere", "-o", "a.xlsx"], "does not exist"),
        (["catalogs", "-o", "a.xlsx", "--mapping", "scenarios/upland-wardens.yaml"], "is missing"),
        (["README", "-o", "a.xlsx"], "README is none of .yaml, .csv and .xlsx"),
        (["catalogs/pads.yaml", "-o", "a.xlsx", "--to", "pdf"], "'pdf' is not one of"),
    ],
)
def test_a_wrong_request_is_told(project: Path, run: Run, arguments: list[str], message: str) -> None:
    (project / "README").write_text("text", encoding="utf-8")
    before = sorted(project.rglob("*"))
    result = run("convert", *arguments)
    assert result.exit_code in (1, 2)
    assert message in " ".join(result.stderr.split())
    assert sorted(project.rglob("*")) == before


def test_a_folder_with_yaml_and_csv_is_ambiguous(project: Path, run: Run) -> None:
    assert run("convert", "catalogs", "-o", "catalogs", "--to", "csv").exit_code == 2  # that which is read
    (project / "catalogs" / "tires.csv").write_text("id\n", encoding="utf-8")
    result = run("convert", "catalogs", "-o", "a.xlsx")
    assert result.exit_code == 2
    assert "holds YAML and CSV files of families" in result.stderr


def test_without_openpyxl_the_line_that_installs_it_is_told_and_csv_works(
    project: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    find = importlib.util.find_spec
    monkeypatch.setattr(
        "configopt.exchange.xlsx_door.find_spec", lambda name: None if name == "openpyxl" else find(name)
    )
    for arguments in (["catalogs", "-o", "a.xlsx"], ["a.xlsx", "-o", "new/"]):
        (project / "a.xlsx").write_bytes(b"x") if arguments[0] == "a.xlsx" else None
        result = run("convert", *arguments)
        assert result.exit_code == 2
        assert "pip install 'configopt[xlsx]'" in result.stderr
    assert run("convert", "catalogs/pads.yaml", "-o", "tables/").exit_code == 0


def test_an_existing_file_and_a_folder_that_cannot_be_made_are_told(project: Path, run: Run) -> None:
    (project / "a.xlsx").write_text("mine", encoding="utf-8")
    result = run("convert", "catalogs/pads.yaml", "-o", "a.xlsx")
    assert result.exit_code == 2
    assert "a.xlsx is there already; name another place, or write over with --replace" in result.stderr
    assert (project / "a.xlsx").read_text(encoding="utf-8") == "mine"
    (project / "file").write_text("", encoding="utf-8")
    assert "there is no folder file" in run("convert", "catalogs/pads.yaml", "-o", "file/tables/").stderr
    assert run("convert", "catalogs/pads.yaml", "-o", "file/").exit_code in (1, 2)
    assert os.listdir(project / "catalogs") != []


def test_a_file_in_another_layout_is_said_to_come_back_in_the_house_layout(project: Path, run: Run) -> None:
    path = project / "catalogs" / "pads.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("name: Felt kite", "name: 'Felt kite'"), encoding="utf-8")
    result = run("convert", "catalogs/pads.yaml", "-o", "pads.xlsx")
    assert result.exit_code == 0
    assert "note: catalogs/pads.yaml comes back in the house layout" in result.stderr


def test_a_sheet_made_by_hand_comes_in_with_a_mapping(project: Path, run: Run) -> None:
    fixtures = Path(__file__).parents[1] / "fixtures" / "exchange"
    result = run(
        "convert",
        fixtures / "pricelist.csv",
        "--mapping",
        fixtures / "pricelist.mapping.yaml",
        "-o",
        "new-tires.yaml",
        "--catalogs",
        "catalogs",
    )
    assert result.exit_code == 0, result.stderr
    assert "written: new-tires.yaml (1 family, 2 entries)" in result.stderr
    assert "    mass: 7.4 lb\n" in (project / "new-tires.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize("columns", ["40", "80"])
def test_the_help_fits_a_narrow_terminal(
    project: Path, run: Run, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    result = run("convert", "--help")
    assert result.exit_code == 0
    assert "Example:\n    configopt convert catalogs -o catalogs.xlsx" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


@pytest.mark.parametrize(
    ("output", "held", "message"),
    [
        ("catalogs/rims.yaml", None, "catalogs/rims.yaml is not for pads: its name is that of the family rims"),
        ("rims.xlsx", None, "rims.xlsx is not for pads: its name is that of the family rims"),
        ("mine.yaml", "family: rims\nparts: []\n", "the file that is there says family: rims"),
        ("mine.csv", '"family: rims"\nid\n', "the file that is there says family: rims"),
        ("scenarios/upland-wardens.yaml", None, "the file that is there is no catalog file"),
    ],
)
def test_a_family_is_not_written_over_another_one(
    project: Path, run: Run, output: str, held: str | None, message: str
) -> None:
    run("convert", "catalogs/pads.yaml", "-o", "pads.csv")
    path = project / output
    if held is not None:
        path.write_text(held, encoding="utf-8")
    before = path.read_bytes() if path.exists() else None
    result = run("convert", "pads.csv", "-o", output, "--replace")
    assert result.exit_code == 2
    assert message in result.stderr
    assert (path.read_bytes() if path.exists() else None) == before


def test_a_file_in_a_folder_that_says_another_family_stays(project: Path, run: Run) -> None:
    run("convert", "catalogs/pads.yaml", "-o", "pads.csv")
    (project / "new").mkdir()
    (project / "new" / "pads.yaml").write_text("family: rims\nparts: []\n", encoding="utf-8")
    result = run("convert", "pads.csv", "-o", "new", "--replace")
    assert (result.exit_code, "says family: rims" in result.stderr) == (2, True)


def test_help_and_message_agree_on_standard_output(project: Path, run: Run) -> None:
    told = " ".join(run("convert", "--help").stdout.split())
    assert "default: standard output, for one family with --to csv or --to yaml" in told
    for arguments in (["catalogs/pads.yaml"], ["catalogs/pads.yaml", "-o", "-"]):
        refused = run("convert", *arguments)
        assert refused.exit_code == 2
        assert "or print one family with --to csv or --to yaml" in refused.stderr
    printed = [run("convert", "catalogs/pads.yaml", *more, "--to", "csv").stdout for more in ([], ["-o", "-"])]
    assert printed[0] == printed[1] != ""
    assert not (project / "-").exists()


def test_what_is_fewer_than_before_is_said(project: Path, run: Run) -> None:
    run("convert", "catalogs", "-o", "catalogs.xlsx")
    workbook = openpyxl.load_workbook("catalogs.xlsx")
    sheet = workbook["pads"]
    header = [cell.value for cell in sheet[1]]
    gone = [sheet.cell(row, 1).value for row in range(2, 7)]
    column = header.index("figure_sources.life") + 1
    stated = sum(sheet.cell(row, column).value is not None for row in range(7, sheet.max_row + 1))
    assert stated > 1
    sheet.delete_cols(column)
    sheet.delete_rows(2, 5)
    workbook.save("catalogs.xlsx")
    result = run("convert", "catalogs.xlsx", "-o", "catalogs", "--replace")
    assert result.exit_code == 0, result.stderr
    lines = result.stderr.splitlines()
    assert lines[0].startswith(
        f"catalogs/pads.yaml: 5 entries fewer: {', '.join(gone[:3])} and 2 more; "
        f"figure_sources.life gone from {stated} entries"
    )
    assert len(lines) == 2
    assert lines[1].startswith("written: catalogs (")


def test_of_a_workbook_that_is_replaced_the_families_that_vanish_are_said(project: Path, run: Run) -> None:
    run("convert", "catalogs", "-o", "all.xlsx")
    result = run("convert", "catalogs/pads.yaml", "-o", "all.xlsx", "--replace")
    assert result.exit_code == 0
    assert "all.xlsx: rims: all " in result.stderr
    assert "all.xlsx: pads" not in result.stderr
    (project / "all.xlsx").write_text("mine", encoding="utf-8")
    again = run("convert", "catalogs/pads.yaml", "-o", "all.xlsx", "--replace")
    assert "note: all.xlsx could not be read before it was replaced" in again.stderr
    same = run("convert", "catalogs/pads.yaml", "-o", "all.xlsx", "--replace")
    assert same.stderr == again.stderr.partition("\n")[2]
