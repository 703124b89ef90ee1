"""Catalogs from one kind of file to another: read, checked as a catalog, written all or none, and read once more."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path

from configopt.errors import ConfigoptError, Finding, FindingsError, UsageError
from configopt.exchange import limits
from configopt.exchange.cells import Cell
from configopt.exchange.csv_door import csv_text, read_csv
from configopt.exchange.fields import RECORDS
from configopt.exchange.kinds import kind_of
from configopt.exchange.layout import FamilyText, HeadLine, render
from configopt.exchange.layout_reader import read_layout
from configopt.exchange.mapped import mapped_family
from configopt.exchange.mapping import MappingFile
from configopt.exchange.sheet import family_of, native_reading
from configopt.exchange.sound import Candidate, require_sound
from configopt.exchange.table import table_of
from configopt.exchange.xlsx_door import ABOUT, about_lines, read_xlsx, require_openpyxl, sheet_rows, xlsx_bytes
from configopt.files.reading import read_start
from configopt.files.yaml_source import load_yaml, parse_yaml


@dataclass(frozen=True, slots=True)
class Converted:
    """What is to be written, sound and proven to come back; nothing is written yet."""

    families: tuple[FamilyText, ...]
    unchecked: tuple[str, ...]
    """Families against which ids could not be checked, because they were not there."""
    relaid: tuple[str, ...]
    """Files that come back in the house layout rather than in their own."""

    @property
    def entries(self) -> int:
        """Entries of all families."""
        return sum(len(made.entries) for made in self.families)


def convert(source: Path, *, mapping: MappingFile | None = None, beside: Path | None = None) -> Converted:
    """Read catalogs and check them.

    Parameters
    ----------
    source
        A file, or a folder of YAML or of CSV files that are named after their families.
    mapping
        How the columns of a hand-made sheet are read; None for the columns that configopt writes.
    beside
        Folder of the rest of the catalog, against which ids are checked.

    Returns
    -------
    Converted
        The families, free of mistakes.

    Raises
    ------
    FindingsError
        With every mistake, of a workbook at sheet, row and column.
    UsageError
        If there is nothing to read, or a workbook cannot be read without openpyxl.
    """
    files = _files(source)
    if mapping is not None and (len(files) != 1 or kind_of(files[0]) == "yaml"):
        raise UsageError("--mapping is for one CSV file or one workbook")
    families: list[FamilyText] = []
    candidates: list[Candidate] = []
    relaid: list[str] = []
    findings: list[Finding] = []
    for path in files:
        try:
            read = read_families(path, mapping)
        except FindingsError as error:
            findings += error.findings
            continue
        for made in read:
            rendered = render(made)
            if kind_of(path) == "yaml":
                text = path.read_text(encoding="utf-8").replace("\r\n", "\n")
                if text != rendered.text:
                    relaid.append(str(path))
                    if parse_yaml(text, str(path)).data != parse_yaml(rendered.text, str(path)).data:
                        raise _lost(str(path))
                rendered = replace(rendered, text=text)
            families.append(made)
            candidates.append(Candidate(path, rendered, kind_of(path) == "yaml", made.columns, made.header))
    if findings:
        raise FindingsError(findings)
    unchecked = require_sound(candidates, beside)
    return Converted(tuple(families), tuple(unchecked), tuple(relaid))


def written(families: Sequence[FamilyText], kind: str) -> dict[str, bytes]:
    """The files of a kind that hold the families, each read again and compared.

    Parameters
    ----------
    families
        The families.
    kind
        One of :data:`configopt.exchange.kinds.KINDS`.

    Returns
    -------
    dict
        Content by name: one file a family, or one workbook by the name "".

    Raises
    ------
    ConfigoptError
        If something would not come back.
    """
    if kind == "yaml":
        return {made.family: render(made).text.encode() for made in families}
    tables = [table_of(made) for made in families]
    if kind == "csv":
        files = {table.family: csv_text(table).encode() for table in tables}
        back = [made for name, content in files.items() for made in _native_csv(content, f"{name}.csv", name)]
    else:
        files = {"": xlsx_bytes(tables)}
        back = _native_xlsx(files[""], "the workbook")
    for before, after in zip(families, back, strict=True):
        if render(before).text != render(after).text:
            raise _lost(before.family)
    return files


def _lost(name: str) -> ConfigoptError:
    return ConfigoptError(f"{name} would not come back as it is, so nothing was written; please report this file")


def _files(source: Path) -> list[Path]:
    if not source.is_dir():
        if kind_of(source) is None:
            raise UsageError(f"{source} is none of .yaml, .csv and .xlsx")
        return [source]
    found = {
        kind: [source / f"{family}.{kind}" for family in RECORDS if (source / f"{family}.{kind}").is_file()]
        for kind in ("yaml", "csv")
    }
    if found["yaml"] and found["csv"]:
        raise UsageError(f"{source} holds YAML and CSV files of families; name one file, or part them into two folders")
    files = found["yaml"] or found["csv"]
    if not files:
        raise UsageError(f"{source} holds no file of a family, such as tires.yaml or tires.csv")
    return files


def read_families(path: Path, mapping: MappingFile | None = None) -> list[FamilyText]:
    """Read the families of one file, not yet checked as a catalog.

    Raises
    ------
    FindingsError
        If the file is none of a family.
    """
    kind = kind_of(path)
    if kind == "yaml":
        return [_yaml(path)]
    raw = _bytes(path)
    if kind == "xlsx":
        require_openpyxl()
        return [_mapped_xlsx(raw, str(path), mapping)] if mapping is not None else _native_xlsx(raw, str(path))
    if mapping is not None:
        told = mapping.mapping
        sheet = read_csv(
            raw, str(path), header_row=told.header_row, delimiter=told.delimiter, skip=told.skip_rows
        )  # fmt: skip
        return [mapped_family(sheet, mapping)]
    return _native_csv(raw, str(path), path.stem)


def _bytes(path: Path) -> bytes:
    try:
        return read_start(path, limits.WORKBOOK_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        message = f"the file cannot be read: {getattr(error, 'strerror', None) or error}"
        raise FindingsError([Finding(str(path), 0, 0, "SHEET-FILE", "error", message, "check its name")]) from None


def _yaml(path: Path) -> FamilyText:
    document = load_yaml(path)
    family = document.data.get("family") if isinstance(document.data, dict) else None
    if family not in RECORDS:
        raise FindingsError([document.finding(("family",), "FAMILY", "this is no catalog file", "name its family")])
    if not isinstance(document.data.get("parts"), list) or not all(
        isinstance(part, dict) and part for part in document.data["parts"]
    ):
        raise FindingsError(
            [document.finding(("parts",), "TYPE", "expected a list of entries", 'begin each with "- "')]
        )
    return read_layout(path.read_text(encoding="utf-8"), family, str(path))


def _native_csv(raw: bytes, path: str, stem: str) -> list[FamilyText]:
    sheet = read_csv(raw, path)
    family = FamilyText("", sheet.head, ()).top("family") or stem
    if family not in RECORDS:
        hint = _near(family, RECORDS)
        message = (
            f'"{family[:60]}" is no family; a CSV file says which in a line such as "family: tires" or by its name'
        )
        raise FindingsError([Finding(path, 1, 1, "FAMILY", "error", message, f"{hint}, or give a mapping file")])
    return [family_of(sheet, family, native_reading(sheet, family))]


def _native_xlsx(raw: bytes, path: str) -> list[FamilyText]:
    sheets = read_xlsx(raw, path)
    findings: list[Finding] = []
    made: list[FamilyText] = []
    about: dict[str, list[HeadLine]] = {}
    for name, rows in sheets:
        if name == ABOUT:
            about = about_lines(rows, path, RECORDS)
    for name, rows in sheets:
        if name == ABOUT:
            continue
        try:
            made.append(_native_sheet(path, name, rows, about))
        except FindingsError as error:
            findings += error.findings
    if not made and not findings:
        findings.append(Finding(path, 0, 0, "SHEET-EMPTY", "error", "the workbook has no sheet of a family", ""))
    if findings:
        raise FindingsError(findings)
    order = list(RECORDS)
    return sorted(made, key=lambda one: order.index(one.family))


def _native_sheet(
    path: str, name: str, rows: Sequence[tuple[Cell, ...]], about: dict[str, list[HeadLine]]
) -> FamilyText:
    if name not in RECORDS:
        message = f"sheet {name[:40]}: its name is no family"
        fix = f"{_near(name, RECORDS)}, put # in front of a sheet that is to stay out, or give a mapping file"
        raise FindingsError([Finding(path, 0, 0, "FAMILY", "error", message, fix)])
    sheet = sheet_rows(rows, path, name)
    sheet = replace(sheet, head=tuple(about.get(name, ())))
    return family_of(sheet, name, native_reading(sheet, name))


def _mapped_xlsx(raw: bytes, path: str, read: MappingFile) -> FamilyText:
    wanted = read.mapping.sheet
    sheets = dict(read_xlsx(raw, path, only=wanted, header_row=read.mapping.header_row))
    if wanted is None and len(sheets) != 1:
        message = f"the workbook has the sheets {', '.join(sheets)[:200]}, and the mapping names none"
        raise FindingsError([read.finding((), message, "add sheet:")])
    if wanted is not None and wanted not in sheets:
        raise FindingsError(
            [read.finding(("sheet",), f'the workbook has no sheet "{wanted[:60]}"', "correct the name")]
        )
    name, rows = next(iter(sheets.items()))
    told = read.mapping
    return mapped_family(sheet_rows(rows, path, name, told.header_row, told.skip_rows), read)


def _near(name: str, known: Iterable[str]) -> str:
    names = list(known)
    near = get_close_matches(name[:60].lower(), names, n=1)
    return f'did you mean "{near[0]}"?' if near else f"families are {', '.join(names)}"
