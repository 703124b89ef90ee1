"""Which files a check reads, and what it finds in them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from configopt.catalog.catalog import Catalog, read_catalog
from configopt.catalog.records import FAMILIES
from configopt.decisions.choice_file import load_choice
from configopt.errors import Finding, FindingsError, UsageError
from configopt.files.validation import validate
from configopt.files.yaml_source import load_yaml
from configopt.guard.rules import CATALOG_CHECKS, RULES
from configopt.guard.shelf import Shelf
from configopt.guard.waivers import waived
from configopt.scenario.case import reference_findings
from configopt.scenario.records import Scenario
from configopt.scenario.variants import ENDING, load_variants

#: Files beside scenarios that are none.
_OTHER_ENDINGS = (".decision.yaml", ".variants.yaml")
_FAMILY_FILES = frozenset(f"{name}.yaml" for name in (*FAMILIES, "sources"))


@dataclass
class Check:
    """Files read and findings made so far; a catalog that several scenarios share is read once."""

    as_of: date | None = None
    """Day on which it is judged what is stale; None for the newest date in the catalogs."""
    files: list[Path] = field(default_factory=list)
    findings: set[Finding] = field(default_factory=set)
    _catalogs: dict[Path, Catalog | None] = field(default_factory=dict)
    _seen: set[Path] = field(default_factory=set)

    def path(self, path: Path) -> None:
        """Check a file or a folder.

        Raises
        ------
        UsageError
            If a folder holds nothing to check.
        """
        if not path.is_dir():
            self._file(path)
            return
        if any((path / name).is_file() for name in _FAMILY_FILES):
            self.catalog(path)
            return
        inside = [path / name for name in ("catalogs", "scenarios") if (path / name).is_dir()]
        scenarios = scenario_files(path)
        if not inside and not scenarios:
            raise UsageError(f"there is nothing to check in {path}: no catalog file, no scenario")
        for folder in inside:
            self.path(folder)
        for scenario in scenarios:
            self._scenario(scenario)
        for variants in sorted(path.glob(f"*{ENDING}")):
            self._variants(variants)

    def catalog(self, folder: Path) -> Catalog | None:
        """Check a catalog folder; its parts, or None where it is wrong."""
        key = folder.resolve()
        if key not in self._catalogs:
            self.files += [folder / name for name in sorted(_FAMILY_FILES) if (folder / name).is_file()]
            reading = read_catalog(folder)
            self.findings.update(reading.findings, catalog_findings(Shelf(reading, self.as_of)))
            self._catalogs[key] = None if reading.findings else reading.catalog
        return self._catalogs[key]

    def _file(self, path: Path) -> None:
        if path.name in _FAMILY_FILES:
            self._family(path)
        elif path.name.endswith(".json") or path.name.endswith(".decision.yaml"):
            self._choice(path)
        elif path.name.endswith(ENDING):
            self._variants(path)
        else:
            self._scenario(path)

    def _family(self, path: Path) -> None:
        """One file of a catalog: only its own findings, though the whole folder is read for its references."""
        other = Check(self.as_of)
        other.catalog(path.parent)
        self.files.append(path)
        self.findings.update(finding for finding in other.findings if finding.path == str(path))

    def _choice(self, path: Path) -> None:
        self.files.append(path)
        try:
            load_choice(path)
        except FindingsError as error:
            self.findings.update(error.findings)

    def _variants(self, path: Path) -> None:
        """A file of variants; beside the scenario of the same name every variant is checked as one of it."""
        from configopt.sweep.changing import Base, changed

        self.files.append(path)
        try:
            read = load_variants(path)
        except FindingsError as error:
            self.findings.update(error.findings)
            return
        self.findings.update(read.findings)
        scenario = path.with_name(f"{path.name.removesuffix(ENDING)}.yaml")
        if not scenario.is_file():
            return
        try:
            base = Base.of(scenario, read.path)
        except FindingsError:
            return  # the scenario's own mistakes are found where it is checked
        for planned in read.planned():
            try:
                changed(base, planned)
            except FindingsError as error:
                self.findings.update(error.findings)

    def _scenario(self, path: Path) -> None:
        if path.resolve() in self._seen:
            return
        self._seen.add(path.resolve())
        self.files.append(path)
        try:
            document = load_yaml(path)
            scenario = validate(document, Scenario)
        except FindingsError as error:
            self.findings.update(error.findings)
            return
        folder = path.parent / scenario.catalogs
        if not folder.is_dir():
            message = f'there is no catalog folder "{scenario.catalogs}"'
            self.findings.add(document.finding(("catalogs",), "REFERENCE", message, "correct the path"))
            return
        catalog = self.catalog(folder)
        if catalog is not None:
            self.findings.update(reference_findings(document, scenario, catalog))


def scenario_files(folder: Path) -> list[Path]:
    """The scenarios of a folder in order of name, without decisions and variants."""
    return [path for path in sorted(folder.glob("*.yaml")) if not path.name.endswith(_OTHER_ENDINGS)]


def catalog_findings(shelf: Shelf) -> list[Finding]:
    """What the rules find in the sound entries of a catalog, after its waivers."""
    found = [one for check in CATALOG_CHECKS if shelf.whole or not check.across for one in check.look(shelf)]
    return waived(shelf, found, RULES)


def check_paths(paths: Iterable[Path], *, as_of: date | None = None) -> Check:
    """Check files and folders; without any, ``catalogs`` and ``scenarios`` of the working folder.

    Parameters
    ----------
    paths
        Files and folders.
    as_of
        Day on which it is judged what is stale; None for the newest date in the catalogs.

    Returns
    -------
    Check
        Which files were read and what was found.

    Raises
    ------
    UsageError
        If there is nothing to check.
    """
    listed = list(paths) or [Path(name) for name in ("catalogs", "scenarios") if Path(name).is_dir()]
    if not listed:
        raise UsageError("there is nothing to check: no folder catalogs or scenarios here; name a file or a folder")
    check = Check(as_of)
    for path in listed:
        check.path(path)
    return check
