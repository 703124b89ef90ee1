"""Test logs to corrections: every log read, all readings weighed together with the catalog, the choice made again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from configopt.catalog.corrections import CorrectionsFile, corrected
from configopt.choice.result import Choice, choose
from configopt.decisions.comparison import compare
from configopt.errors import Finding, FindingsError
from configopt.files.validation import validate
from configopt.files.yaml_source import parse_yaml
from configopt.learning.combine import Combined, Learned, combine
from configopt.learning.from_grip import read_brake, read_climb
from configopt.learning.from_ground import read_ground
from configopt.learning.from_heat import read_cooling
from configopt.learning.from_rolling import read_coast_down, read_energy
from configopt.learning.from_stand import read_static, read_tread
from configopt.learning.layer import Correction, corrections, corrections_text
from configopt.learning.log_reading import Log, read_log
from configopt.learning.reading import Reads, Told
from configopt.scenario.case import Case

READERS: dict[str, Callable[[Log, Case], Reads]] = {
    "coast-down": read_coast_down,
    "climb": read_climb,
    "brake": read_brake,
    "cooling": read_cooling,
    "ground": read_ground,
    "static": read_static,
    "energy": read_energy,
    "tread": read_tread,
}


@dataclass(frozen=True)
class Lesson:
    """What test logs teach."""

    case: Case
    """The scenario with the catalogs before."""
    logs: tuple[Log, ...]
    combined: Combined
    told: tuple[Told, ...]
    corrections: tuple[Correction, ...]
    assumed: tuple[Learned, ...]
    """Assumed figures that the tests speak about but that belong to no part: they stay as they are."""

    @property
    def day(self) -> str:
        """Day of the newest log, YYYY-MM-DD."""
        return max(str(log.head["when"]) for log in self.logs)

    @property
    def text(self) -> str:
        """The file of corrections."""
        logs = [log.path.name for log in self.logs]
        names = [Path(judged.reading.path).name for judged in self.combined.judged]
        return corrections_text(self.corrections, day=self.day, logs=logs, readings=names)

    @property
    def corrected(self) -> Case:
        """The scenario with the catalogs as corrected by :attr:`text`.

        Raises
        ------
        FindingsError
            If the text is not what a file of corrections may say: a bug, not a mistake of the logs.
        """
        document = parse_yaml(self.text, "corrections.yaml")
        layered, findings = corrected(self.case.catalog, document, validate(document, CorrectionsFile))
        if findings:
            raise FindingsError(findings)
        return replace(self.case, catalog=layered)


def learn(case: Case, paths: Sequence[Path]) -> Lesson:
    """Learn from test logs.

    Parameters
    ----------
    case
        Scenario and catalogs, as corrected by earlier tests where the scenario names such corrections.
    paths
        The logs.

    Returns
    -------
    Lesson

    Raises
    ------
    FindingsError
        With every mistake of every log.
    """
    logs: list[Log] = []
    reads: list[Reads] = []
    findings: list[Finding] = []
    for path in paths:
        try:
            log = read_log(path)
            read = READERS[log.kind.name](log, case)
        except FindingsError as error:
            findings += error.findings
            continue
        logs.append(log)
        reads.append(read)
    findings += _twice(logs)
    if findings:
        raise FindingsError(findings)
    combined = combine([reading for read in reads for reading in read.readings])
    found, assumed = corrections(case, combined)
    told = [one for read in reads for one in read.told]
    told += [
        Told(
            judged.reading.path,
            judged.reading.line,
            "outlier",
            f"{judged.reading.wording}: {abs(judged.off):.1f} standard uncertainties from the model; it is kept",
        )
        for judged in combined.judged
        if judged.outlying
    ]
    return Lesson(case, tuple(logs), combined, tuple(told), found, assumed)


def _twice(logs: Sequence[Log]) -> list[Finding]:
    """Logs that are given twice would count twice."""
    seen: dict[str, str] = {}
    found = []
    for log in logs:
        sha = log.table.sha256
        if sha in seen:
            message = f"this log is the same as {seen[sha]}"
            found.append(Finding(log.table.path, 1, 1, "LOG-TWICE", "error", message, "give it once"))
        seen.setdefault(sha, log.table.path)
    return found


@dataclass(frozen=True)
class Again:
    """The choice before and after the corrections."""

    before: Choice
    after: Choice
    comparison: dict[str, Any] | None
    """Before against after by the corrected figures; None where one of them is missing or nothing changed."""
    kept: dict[str, Any] | None
    """What the choice before comes to by the corrected figures: ``aim``, and the limits it misses."""


def choose_again(
    lesson: Lesson,
    *,
    time_limit: float | None = None,
    threads: int = 1,
    progress: Callable[[str], None] | None = None,
) -> Again:
    """Choose with the figures before and after, and explain the difference.

    Parameters
    ----------
    lesson
        What was learned.
    time_limit
        Of each of the two searches [s].
    threads
        Of the solver.
    progress
        Called with a line of text now and then.
    """
    from configopt.appraisal.appraise import appraise

    after_case = lesson.corrected
    before = choose(lesson.case, time_limit=time_limit, threads=threads, progress=progress)
    after = choose(after_case, time_limit=time_limit, threads=threads, progress=progress)
    comparison = kept = None
    if before.records and after.records:
        names = [vehicle.name for vehicle in lesson.case.scenario.vehicles]
        if before.records != after.records:
            titles = ("as chosen before the tests", "as chosen with the corrections")
            comparison = compare(after_case, before.records, after.records, titles=titles).to_json()
        appraised = appraise(after_case, list(before.records), names, explained=False).to_json()
        missed = [
            {"vehicle": vehicle["name"], **margin}
            for vehicle in appraised["vehicles"]
            for margin in vehicle["margins"]
            if not margin["met"]
        ]
        kept = {"missed": missed}
    return Again(before, after, comparison, kept)
