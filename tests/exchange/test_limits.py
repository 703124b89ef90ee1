"""No file, however hostile, exhausts the machine, runs anything or ends in a traceback."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from configopt.errors import ConfigoptError, FindingsError
from configopt.exchange import limits
from configopt.exchange.convert import convert, written
from configopt.exchange.layout import FamilyText
from configopt.exchange.package import require_harmless


def rule_and_message(path: Path) -> tuple[str, str]:
    with pytest.raises(FindingsError) as caught:
        convert(path)
    finding = caught.value.findings[0]
    return finding.rule, finding.message


@pytest.fixture(scope="module")
def small(few: tuple[FamilyText, ...]) -> bytes:
    return written(few[1:], "xlsx")[""]


def repacked(raw: bytes, change: Callable[[str, bytes], bytes | None], more: dict[str, bytes] | None = None) -> bytes:
    """The workbook with its parts changed (None: left out) and others added."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as archive, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in archive.namelist():
            content = change(name, archive.read(name))
            if content is not None:
                new.writestr(name, content)
        for name, content in (more or {}).items():
            new.writestr(name, content)
    return out.getvalue()


def same(name: str, content: bytes) -> bytes:
    return content


def in_sheet(old: bytes, new: bytes) -> Callable[[str, bytes], bytes]:
    def change(name: str, content: bytes) -> bytes:
        if name != "xl/worksheets/sheet2.xml":
            return content
        assert old in content
        return content.replace(old, new, 1)

    return change


DOCTYPE = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
HOSTILE = {
    "macros": (same, {"xl/vbaProject.bin": b"x"}, "the workbook holds macros"),
    "links": (same, {"xl/externalLinks/externalLink1.xml": b"<x/>"}, "links to other files"),
    "embedded": (same, {"xl/embeddings/oleObject1.bin": b"x"}, "embedded files"),
    "controls": (same, {"xl/activeX/activeX1.bin": b"x"}, "controls that run programs"),
    "entities": (in_sheet(b"<worksheet", DOCTYPE + b"<worksheet"), {}, "declares a document type or entities"),
    "utf-16": (
        lambda name, content: content.decode().encode("utf-16") if name == "xl/workbook.xml" else content,
        {},
        "xl/workbook.xml is not UTF-8",
    ),
    "other encoding": (
        same,
        {"xl/more.xml": b'<?xml version="1.0" encoding="cp037"?><x/>'},
        "xl/more.xml is not UTF-8",
    ),
    "bomb": (same, {"xl/media/a.bin": b"\0" * 5_000_000}, "packed more than 200 times"),
    "parts": (same, {f"xl/media/{n}": b"" for n in range(600)}, "a workbook has at most 500 parts"),
    "no sheets": (lambda name, content: None if name == "xl/workbook.xml" else content, {}, "the workbook is damaged"),
    "no workbook": (
        lambda name, content: None if name.startswith("xl/") else content,
        {},
        "an archive, but no workbook",
    ),
    "cut sheet": (in_sheet(b"</worksheet>", b""), {}, "the workbook is damaged"),
    "bad index": (in_sheet(b't="inlineStr"><is>', b't="s"><v>99999</v><is>'), {}, "the workbook is damaged"),
    "row beyond": (
        lambda name, content: re.sub(rb'r="([A-E]?)33"', rb'r="\g<1>1048576"', content),
        {},
        "a sheet has at most 20,000 rows",
    ),
    "column beyond": (in_sheet(b'r="D2"', b'r="XFD2"'), {}, "a sheet has at most 500 columns"),
    "cells out of order": (in_sheet(b'<row r="3"', b'<row r="4"'), {}, "are out of order"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_workbook_is_refused(small: bytes, name: str, tmp_path: Path) -> None:
    change, more, message = HOSTILE[name]
    path = tmp_path / "hostile.xlsx"
    path.write_bytes(repacked(small, change, more))
    rule, said = rule_and_message(path)
    assert message in said
    assert rule in ("SHEET-FILE", "SHEET-LIMIT")


def test_a_size_that_a_sheet_only_claims_is_not_believed(small: bytes, tmp_path: Path) -> None:
    path = tmp_path / "claims.xlsx"
    path.write_bytes(repacked(small, in_sheet(b'<dimension ref="A1:E33"', b'<dimension ref="A1:XFD1048576"')))
    assert len(convert(path).families[0].entries) == 32


def test_files_of_other_kinds_are_told(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    for content, message in (
        (b"", "the file is no workbook, or damaged"),
        (b"id,name\n", "the file is no workbook, or damaged"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + b"x" * 100, "of an old kind (.xls) or protected by a password"),
        (b"PK\x03\x04" + b"x" * 100, "the file is no workbook, or damaged"),
        (b"x" * (limits.WORKBOOK_BYTES + 1), "a workbook has at most 20,000,000 bytes"),
    ):
        path.write_bytes(content)
        assert message in rule_and_message(path)[1]


def test_an_encrypted_part_and_a_doubled_one_are_refused(small: bytes) -> None:
    broken = bytearray(small)
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        broken[broken.index(signature) + offset] |= 1
    with pytest.raises(FindingsError, match="encrypted"):
        require_harmless(bytes(broken), "a.xlsx")
    out = io.BytesIO(small)
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(out, "a") as archive:
        archive.writestr("xl/workbook.xml", "<x/>")
    with pytest.raises(FindingsError, match="the same part twice"):
        require_harmless(out.getvalue(), "a.xlsx")


def test_too_many_sheets_and_cells_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, small: bytes) -> None:
    workbook = openpyxl.Workbook()
    for number in range(limits.SHEETS):
        workbook.create_sheet(f"s{number}")
    path = tmp_path / "a.xlsx"
    workbook.save(path)
    assert rule_and_message(path) == ("SHEET-LIMIT", "a workbook has at most 40 sheets, this one has 41")
    path.write_bytes(small)
    monkeypatch.setattr(limits, "CELLS", 100)
    assert "a workbook has at most 100 cells, this one has more" in rule_and_message(path)[1]


def test_a_text_that_no_cell_holds_is_told(tmp_path: Path, small: bytes) -> None:
    path = tmp_path / "a.xlsx"
    text = b'<c r="B2" t="inlineStr"><is><t>' + b"x" * 40_000 + b"</t></is></c>"
    path.write_bytes(repacked(small, in_sheet(b'<c r="B2"', text + b'<c r="C2"')))
    assert rule_and_message(path) == (
        "SHEET-LIMIT",
        "sheet sources, cell B2: a cell has at most 32,767 characters, this one has 40,000",
    )


@pytest.mark.parametrize(
    ("content", "line", "message"),
    [
        (b"id,title\na,\xe9\n", 2, "byte 0xe9 is not UTF-8"),
        ("id,title\n".encode("utf-16"), 0, "the file is UTF-16 text"),
        (b"id,title\na,b\0\n", 2, "the file holds the character U+0000"),
        (b"PK\x03\x04", 0, "the file is a workbook or another archive, no CSV"),
        (b'id,title\na,"b\n', 2, "not readable as CSV: unexpected end of data"),
        (b'id,title\na,"b"c\n', 2, "not readable as CSV"),
        (b"id,title\n" + b"," * 600, 2, "a table has at most 500 columns"),
        (b"id,title\na," + b"x" * 40_000, 2, "a cell has at most 32,767 characters, this one has 40,000"),
        (b"id,title\na," + b"x" * 200_000, 2, "not readable as CSV: field larger than field limit"),
        (b"id,title\n" + b"a,b\n" * 20_001, 20_001, "a table has at most 20,000 rows"),
        (b"x" * (limits.CSV_BYTES + 1), 0, "a CSV file has at most 10,000,000 bytes"),
    ],
)
def test_a_csv_file_beyond_the_rules_is_told(tmp_path: Path, content: bytes, line: int, message: str) -> None:
    path = tmp_path / "sources.csv"
    path.write_bytes(content)
    with pytest.raises(FindingsError) as caught:
        convert(path)
    assert message in caught.value.findings[0].message
    assert caught.value.findings[0].line == line


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_separators_line_ends_and_byte_order_marks_are_understood(
    tmp_path: Path, mark: bytes, separator: str, end: str
) -> None:
    lines = ["# a, head; with all of them", "id,title,grade,date", 's-1,"a; b, c",measured,2025-01-01', ",,,"]
    rows = [line.replace('"a; b, c"', "\0").replace(",", separator).replace("\0", '"a; b, c"') for line in lines[1:]]
    path = tmp_path / "sources.csv"
    path.write_bytes(mark + end.join([f'"{lines[0]}"', *rows, ""]).encode())
    made = convert(path).families[0]
    assert [line.text for line in made.head] == [lines[0], "family: sources", "parts:"]
    assert [leaf.text for leaf in made.entries[0].leaves] == ["s-1", "a; b, c", "measured", "2025-01-01"]


def test_damaged_files_are_refused_without_a_traceback(
    few: tuple[FamilyText, ...], small: bytes, tmp_path: Path
) -> None:
    """A few hundred files with bytes changed, cut or doubled: sound or a foreseen error, nothing else."""
    chance = random.Random(20260301)
    text = written(few[1:], "csv")["sources"]
    ends = {"sound": 0, "told": 0}
    for number in range(150):
        path = tmp_path / ("sources.csv" if number % 2 else "a.xlsx")
        raw = damaged(bytearray(text), chance)
        if not number % 2:
            parts = ["xl/worksheets/sheet2.xml", "[Content_Types].xml", "xl/workbook.xml", "xl/styles.xml"]
            wanted = chance.choice(parts)
            with zipfile.ZipFile(io.BytesIO(small)) as archive:
                other = damaged(bytearray(archive.read(wanted)), chance)
            raw = repacked(small, lambda name, content, part=wanted, new=other: new if name == part else content)
        path.write_bytes(raw)
        try:
            convert(path)
            ends["sound"] += 1
        except ConfigoptError:
            ends["told"] += 1
    assert ends["told"] > 50


def damaged(raw: bytearray, chance: random.Random) -> bytes:
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(raw))
        kind = chance.randrange(4)
        if kind == 0:
            raw[at] = chance.randrange(256)
        elif kind == 1:
            del raw[at : at + chance.randint(1, 40)]
        elif kind == 2:
            raw[at:at] = raw[at : at + chance.randint(1, 40)]
        else:
            raw[at:at] = chance.choice([b'"', b",", b"\n", b"<", b"=1+1", b"\xff", b"999999999999", b"NaN", b"#"])
    return bytes(raw)
