"""Which files a check reads, and what it finds in them."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from configopt.catalog.catalog import Catalog, CatalogReading, read_catalog
from configopt.catalog.records import FAMILIES
from configopt.decisions.choice_file import load_choice
from configopt.decisions.decision_file import ENDING as DECISION_ENDING
from configopt.decisions.decision_file import Decision, load_decision
from configopt.errors import Finding, FindingsError, UsageError
from configopt.files.budget import ReadingBudget
from configopt.files.validation import validate
from configopt.files.within import OutsideError, ReadableFolders, entries, shown
from configopt.files.yaml_source import FINDING_LIMIT, Document, KeyPath
from configopt.guard import decision_rules
from configopt.guard.causes import Files
from configopt.guard.deciding import Judge, decision_findings
from configopt.guard.rules import CATALOG_CHECKS, RULES
from configopt.guard.shelf import Shelf
from configopt.guard.verdict import judge
from configopt.guard.waivers import waived
from configopt.learning.verdicts import load_verdicts
from configopt.scenario.case import Case, load_corrected, reference_findings
from configopt.scenario.records import Scenario
from configopt.scenario.variants import ENDING, read_variants

#: Files beside scenarios that are none.
_OTHER_ENDINGS = (DECISION_ENDING, ENDING)
#: Values of scenarios that a check makes and looks at for variants: some seconds.
VARIANT_WORK = 1_000_000
_FAMILY_FILES = frozenset(f"{name}.yaml" for name in (*FAMILIES, "sources"))


@dataclass(frozen=True)
class OpenDecision:
    """A recorded decision with its scenario and catalogs, all of them sound."""

    decision: Decision
    case: Case
    files: Files


@dataclass
class Check:
    """Files read and findings made so far; a catalog that several scenarios share is read once."""

    as_of: date | None = None
    """Day on which it is judged what is stale; None for the newest date in the catalogs."""
    folders: ReadableFolders = field(default_factory=ReadableFolders.around)
    """Where files may be read; the commands that compute read whatever their user names."""
    files: list[Path] = field(default_factory=list)
    findings: set[Finding] = field(default_factory=set)
    decisions: list[OpenDecision] = field(default_factory=list)
    """Decisions that can be decided again."""
    _catalogs: dict[Path, CatalogReading] = field(default_factory=dict)
    _cases: dict[Path, tuple[Case, Document] | None] = field(default_factory=dict)
    """Scenarios by where they lie, None for one that is wrong."""
    _budget: ReadingBudget = field(default_factory=ReadingBudget)
    _variant_work: int = VARIANT_WORK

    def path(self, path: Path) -> None:
        """Check a file or a folder.

        Raises
        ------
        UsageError
            If a folder holds nothing to check.
        """
        try:
            folder = self.folders.require(path).is_dir()
            if folder:
                self._folder(path)
        except FindingsError as error:
            self.findings.update(error.findings)
            return
        if not folder:
            self._file(path)

    def _folder(self, path: Path) -> None:
        if any(os.path.lexists(path / name) for name in _FAMILY_FILES):
            self.catalog(path)
            return
        inside = [path / name for name in ("catalogs", "scenarios") if os.path.lexists(path / name)]
        scenarios = scenario_files(path)
        decisions = entries(path, DECISION_ENDING)
        if not inside and not scenarios and not decisions:
            raise UsageError(f"there is nothing to check in {path}: no catalog file, no scenario, no decision")
        for folder in inside:
            self.path(folder)
        for scenario in scenarios:
            self._scenario(scenario)
        for variants in entries(path, ENDING):
            self._variants(variants)
        for decision in decisions:
            self._decision(decision)

    def _read(self, path: Path) -> Document:
        """One YAML file that lies where it may be read."""
        self.folders.require(path)
        return self._budget.load(path)

    def catalog(self, folder: Path) -> Catalog | None:
        """Check a catalog folder; its parts, or None where it is wrong."""
        key = self.folders.require(folder)
        if key not in self._catalogs:
            self.files += [folder / name for name in sorted(_FAMILY_FILES) if os.path.lexists(folder / name)]
            reading = read_catalog(folder, self._read)
            self.findings.update(reading.findings, catalog_findings(Shelf(reading, self.as_of)))
            self._catalogs[key] = reading
        reading = self._catalogs[key]
        return None if reading.findings else reading.catalog

    def _file(self, path: Path) -> None:
        if path.name in _FAMILY_FILES:
            self._family(path)
        elif path.name.endswith(DECISION_ENDING):
            self._decision(path)
        elif path.name.endswith(".json"):
            self._choice(path)
        elif path.name.endswith(ENDING):
            self._variants(path)
        else:
            self._scenario(path)

    def _family(self, path: Path) -> None:
        """One file of a catalog: only its own findings, though the whole folder is read for its references."""
        other = Check(self.as_of, self.folders, _budget=self._budget)
        other.catalog(path.parent)
        self.files.append(path)
        self.findings.update(finding for finding in other.findings if finding.path == str(path))

    def _choice(self, path: Path) -> None:
        self.files.append(Path(shown(path)))
        try:
            self.folders.require(path)
            self._budget.take(path)
            load_choice(path)
        except FindingsError as error:
            self.findings.update(error.findings)

    def _decision(self, path: Path) -> None:
        """A recorded decision; it is decided again when every file is read."""
        self.files.append(Path(shown(path)))
        try:
            self.folders.require(path)
            self._budget.take(path)
            decision = load_decision(path)
            self._scenario_of(decision)
        except FindingsError as error:
            self.findings.update(error.findings)
            return
        found = self._cases[self.folders.require(decision.scenario_path)]
        if found is None:
            at, rule = ("decision", "scenario"), decision_rules.UNCHECKED
            message = "the scenario of this decision or its catalogs are wrong"
            self.findings.add(decision.document.finding(at, rule.id, message, "correct them first"))
            return
        case, document = found
        reading = self._catalogs[self.folders.require(case.catalog.folder)]
        self.decisions.append(OpenDecision(decision, case, Files(document, reading)))

    def _scenario_of(self, decision: Decision) -> None:
        """Check the scenario of a decision, in case it is not among what is checked anyway."""
        at, named = ("decision", "scenario"), decision.record.decision.scenario
        if not self._named(decision.document, at, named, decision.scenario_path).is_file():
            message = f'there is no scenario "{named}"'
            raise FindingsError([decision.document.finding(at, "REFERENCE", message, "correct the path")])
        self._scenario(decision.scenario_path)

    def _named(self, document: Document, at: KeyPath, named: str, path: Path) -> Path:
        """Where a path that a file names leads; a finding at its line is raised where it is not to be read."""
        try:
            return self.folders.real(path)
        except OutsideError as wrong:
            message = f'"{named}": {wrong.message}'
            raise FindingsError([document.finding(at, "PATH", message, wrong.fix)]) from None

    def decide(self, judged: Judge = judge, progress: Callable[[str], None] | None = None) -> None:
        """Decide every recorded decision again, and note what is found.

        Parameters
        ----------
        judged
            Decides; :func:`configopt.guard.verdict.judge` or one that runs it elsewhere.
        progress
            Called with a line of text before each.
        """
        for open_ in self.decisions:
            if progress is not None:
                progress(f"deciding {shown(open_.decision.path)} again")
            self.findings.update(decision_findings(open_.decision, open_.case, open_.files, judged=judged))

    def _variants(self, path: Path) -> None:
        """A file of variants; beside the scenario of the same name every variant is checked as one of it."""
        from configopt.sweep.changing import Base, changed

        self.files.append(Path(shown(path)))
        try:
            read = read_variants(self._read(path))
        except FindingsError as error:
            self.findings.update(error.findings)
            return
        self.findings.update(read.findings)
        case = self._case(path.with_name(f"{path.name.removesuffix(ENDING)}.yaml"))
        if case is None:
            return  # the scenario's own mistakes are found where it is checked
        base = Base(case[0], case[1].data, read.path)
        found: set[Finding] = set()
        size = len(case[1].positions)
        for number, planned in enumerate(read.planned()):
            # What is looked up of a limit grows with the limits: large scenarios take more than their share.
            self._variant_work -= size + size * size // 10_000 + 100 * len(planned.settings)
            if self._variant_work < 0 or len(found) >= FINDING_LIMIT:
                message = f"{len(read) - number:,} variants from here on are not looked at"
                unseen = Finding(read.path, planned.line, planned.column, "UNCHECKED-VARIANTS", "note", message)
                found.add(replace(unseen, fix="run configopt whatif, or correct the others first"))
                break
            try:
                changed(base, planned)
            except FindingsError as error:
                found.update(error.findings)
        self.findings.update(found)

    def _case(self, path: Path) -> tuple[Case, Document] | None:
        """A scenario with its catalogs, or None where there is none or something is wrong; nothing of it is noted."""
        other = Check(self.as_of, self.folders, _catalogs=dict(self._catalogs), _cases=dict(self._cases))
        other._budget = self._budget
        if os.path.lexists(path):
            other._scenario(path)
        try:
            return other._cases.get(self.folders.require(path))
        except FindingsError:
            return None

    def _scenario(self, path: Path) -> None:
        try:
            key = self.folders.require(path)
        except FindingsError as error:
            self.files.append(Path(shown(path)))
            self.findings.update(error.findings)
            return
        if key in self._cases:
            return
        self._cases[key] = None
        self.files.append(path)
        try:
            document = self._read(path)
            scenario = validate(document, Scenario)
            catalog = self._catalog_of(document, path.parent / scenario.catalogs)
        except FindingsError as error:
            self.findings.update(error.findings)
            return
        if catalog is not None:
            wrong = reference_findings(document, scenario, catalog)
            if scenario.corrections is not None:
                catalog, more = self._corrected(document, catalog, path.parent / scenario.corrections)
                wrong += more
            self.findings.update(wrong)
            if scenario.trials is not None:
                self.findings.update(self._verdict_findings(document, catalog, path.parent / scenario.trials))
            sound = all(finding.severity != "error" for finding in wrong)
            self._cases[key] = (Case(path, scenario, catalog), document) if sound else None

    def _corrected(self, document: Document, catalog: Catalog, path: Path) -> tuple[Catalog, list[Finding]]:
        """The catalog with the corrections that a scenario names, and what is wrong with them."""
        at, named = ("corrections",), document.data["corrections"]
        try:
            if not self._named(document, at, named, path).is_file():
                message = f'there is no file of corrections "{named}"'
                raise FindingsError([document.finding(at, "REFERENCE", message, "correct the path")])
            self.files.append(path)
            return load_corrected(catalog, path, self._read)
        except FindingsError as error:
            return catalog, error.findings

    def _verdict_findings(self, document: Document, catalog: Catalog, path: Path) -> list[Finding]:
        """What is wrong with the table of ride verdicts that a scenario names; it moves no choice."""
        at, named = ("trials",), document.data["trials"]
        try:
            if not self._named(document, at, named, path).is_file():
                message = f'there is no table of ride verdicts "{named}"'
                return [document.finding(at, "REFERENCE", message, "correct the path")]
            self._budget.take(path)
        except FindingsError as error:
            return error.findings
        self.files.append(path)
        try:
            load_verdicts(path, catalog)
        except FindingsError as error:
            first, more = error.findings[0], len(error.findings) - 1
            message = f'"{named}", line {first.line}: {first.message}' + (f", and {more} more" if more else "")
            return [document.finding(at, "VALUE", message, f"see configopt trials {shown(path)}")]
        return []

    def _catalog_of(self, document: Document, folder: Path) -> Catalog | None:
        """The catalog that a scenario names, or None where it is wrong; a finding at its ``catalogs`` may be raised."""
        named = document.data["catalogs"]
        if not self._named(document, ("catalogs",), named, folder).is_dir():
            message = f'there is no catalog folder "{named}"'
            raise FindingsError([document.finding(("catalogs",), "REFERENCE", message, "correct the path")])
        return self.catalog(folder)


def scenario_files(folder: Path) -> list[Path]:
    """The scenarios of a folder in order of name, without decisions and variants."""
    return [path for path in entries(folder, ".yaml") if not path.name.endswith(_OTHER_ENDINGS)]


def catalog_findings(shelf: Shelf) -> list[Finding]:
    """What the rules find in the sound entries of a catalog, after its waivers."""
    found = [one for check in CATALOG_CHECKS if shelf.whole or not check.across for one in check.look(shelf)]
    return waived(shelf, found, RULES)


def default_paths() -> list[Path]:
    """What is checked where nothing is named: the folders of the working folder."""
    return [Path(name) for name in ("catalogs", "scenarios") if os.path.lexists(name)]


def limited(findings: Iterable[Finding]) -> set[Finding]:
    """The first findings of each file and severity, and where there are more, how many.

    >>> many = [Finding("a.yaml", line, 1, "TYPE", "error", "wrong") for line in range(1, 1235)]
    >>> last = max(limited(many))
    >>> last.line, last.rule, last.message
    (201, 'MORE', '1,034 more errors from here on')
    """
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in sorted(findings):
        groups.setdefault((finding.path, finding.severity), []).append(finding)
    kept: set[Finding] = set()
    for listed in groups.values():
        kept.update(listed[:FINDING_LIMIT])
        beyond = listed[FINDING_LIMIT:]
        if beyond:
            message = f"{len(beyond):,} more {beyond[0].severity}{'' if len(beyond) == 1 else 's'} from here on"
            fix = "correct the findings listed before this one first"
            kept.add(replace(beyond[0], rule="MORE", message=message, fix=fix))
    return kept


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
    listed = list(paths) or default_paths()
    if not listed:
        raise UsageError("there is nothing to check: no folder catalogs or scenarios here; name a file or a folder")
    check = Check(as_of, ReadableFolders.around(listed))
    for path in listed:
        check.path(path)
    return check
