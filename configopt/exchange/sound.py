"""Whether what was read is a sound catalog, by the loader of the catalogs; what is wrong is told at its cell."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from configopt.catalog.catalog import load_catalog
from configopt.errors import Finding, FindingsError
from configopt.exchange.fields import RECORDS, column_name, kind_at
from configopt.exchange.layout import Place, Rendered
from configopt.exchange.sheet import finding, shown
from configopt.files.yaml_source import KeyPath, parse_yaml


@dataclass(frozen=True, slots=True)
class Candidate:
    """A family as it would be written, and the file that it was read from."""

    path: Path
    rendered: Rendered
    is_yaml: bool = False
    """Read from YAML: findings keep their line and column."""
    columns: tuple[tuple[KeyPath, int], ...] = ()
    """Of what was read from a table: the fields that have a column, with its number from 1."""
    header: Place | None = None
    """Of what was read from a table: where its header row begins."""

    @property
    def family(self) -> str:
        """The family."""
        return self.rendered.family


def require_sound(candidates: Sequence[Candidate], beside: Path | None) -> list[str]:
    """Check families as a catalog.

    Parameters
    ----------
    candidates
        The families.
    beside
        A folder whose families take the place of those that are not among them; None for none.

    Returns
    -------
    list of str
        Families of a whole catalog that are neither among them nor beside: their ids could not be checked.

    Raises
    ------
    FindingsError
        With every mistake, at the cell (or the line) where it was read.
    """
    findings: list[Finding] = []
    with tempfile.TemporaryDirectory(prefix="configopt-") as name:
        folder = Path(name).resolve()
        by_family = {candidate.family: candidate for candidate in candidates}
        others: dict[str, Path] = {}
        for family in RECORDS:
            candidate = by_family.get(family)
            if candidate is not None:
                findings += _characters(candidate)
            elif beside is not None and (beside / f"{family}.yaml").is_file():
                others[family] = beside / f"{family}.yaml"
        if findings:
            raise FindingsError(findings)
        for family, candidate in by_family.items():
            (folder / f"{family}.yaml").write_text(candidate.rendered.text, encoding="utf-8", newline="\n")
        for family, path in others.items():
            shutil.copyfile(path, folder / f"{family}.yaml")
        absent = [family for family in RECORDS if family not in by_family and family not in others]
        try:
            load_catalog(folder)
        except FindingsError as error:
            findings = [
                _told(found, folder, by_family, others) for found in error.findings if not _beyond(found, absent)
            ]
    if findings:
        raise FindingsError(set(findings))
    return absent


def _characters(candidate: Candidate) -> list[Finding]:
    """What no catalog file may hold, found before one is written."""
    try:
        parse_yaml(candidate.rendered.text, candidate.family)
    except FindingsError as error:
        return [_at_cell(found, candidate, found.message) for found in error.findings]
    return []


def _beyond(found: Finding, absent: Sequence[str]) -> bool:
    """Whether a finding only says that a family is not there, or follows from that."""
    family = Path(found.path).stem
    if family in absent:
        return True
    # The sources are named in this finding's advice; those of the bibliography are always there.
    no_sources = "sources" in absent and found.rule == "REFERENCE" and "sources.yaml" in found.fix
    return no_sources or ("tires" in absent and found.rule == "CURRENCY")


def _told(found: Finding, folder: Path, candidates: dict[str, Candidate], others: dict[str, Path]) -> Finding:
    family = Path(found.path).stem

    def where(match: re.Match[str]) -> str:
        name, line = match["family"] or family, int(match["line"])
        candidate = candidates.get(name)
        if candidate is None or candidate.is_yaml:
            path = candidate.path if candidate else others.get(name, Path(f"{name}.yaml"))
            return f"line {line}" if not match["family"] else f"{path}:{line}"
        place = candidate.rendered.place(line)
        return shown(place) if place else f"line {line}"

    pattern = rf"(?:{re.escape(str(folder))}[\\/](?P<family>[a-z-]+)\.yaml:|\bline )(?P<line>\d+)"
    message = re.sub(pattern, where, found.message)
    if family in candidates:
        return _at_cell(found, candidates[family], message)
    return replace(found, path=str(others.get(family, found.path)), message=message)


def _at_cell(found: Finding, candidate: Candidate, message: str) -> Finding:
    if candidate.is_yaml:
        return replace(found, path=str(candidate.path), message=message)
    place = candidate.rendered.place(found.line) or Place(str(candidate.path), 0, 0)
    missing = re.fullmatch(r'the key "(.*)" is missing', message)
    entry, near = candidate.rendered.entry(found.line)
    if found.rule != "MISSING-KEY" or not missing or entry is None:
        return finding(place, found.rule, message, found.fix)
    path = _missing_path(candidate, near, missing[1])
    for own, column in candidate.columns:
        if own[: len(path)] == path:  # of a group its first column
            # The finding stands at a neighbour, which may be a constant of a mapping file; the cell is in the sheet.
            name = column_name(own)
            return finding(replace(entry, column=column), found.rule, f"{name} is empty", f"fill the column {name}")
    # The same for every entry: as one finding it is told once.
    name = column_name(path)
    return finding(candidate.header or entry, found.rule, f"no column for {name}", f"add the column {name}")


def _missing_path(candidate: Candidate, near: KeyPath, key: str) -> KeyPath:
    """The path of a key that is missing in a group; the finding stands at the group or at its first value."""
    paths = [(*near[:depth], key) for depth in range(len(near), -1, -1)]
    record = RECORDS[candidate.family]
    return next((path for path in paths if kind_at(record, path) is not None), (key,))
