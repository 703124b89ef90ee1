"""Test logs to corrections: every log read, all readings weighed together with the catalog, the choice made again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from configopt.appraisal.appraise import appraise
from configopt.catalog.corrections import CorrectionsFile, corrected
from configopt.choice.result import Choice, choose
from configopt.decisions.comparison import compare
from configopt.errors import ConfigoptError, Finding, FindingsError
from configopt.files.validation import validate
from configopt.files.yaml_source import parse_yaml
from configopt.learning.combine import OUTLYING, Combined, Judged, combine
from configopt.learning.from_grip import read_brake, read_climb
from configopt.learning.from_ground import read_ground
from configopt.learning.from_heat import read_cooling
from configopt.learning.from_rolling import read_coast_down, read_energy
from configopt.learning.from_stand import read_static, read_tread
from configopt.learning.layer import Correction, Joint, corrections, corrections_text, joint_of
from configopt.learning.log_reading import Log, read_log
from configopt.learning.reading import Reads, Told
from configopt.reasons.elsewhere import told
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

    @property
    def joint(self) -> Joint:
        """What is known of the corrected figures together."""
        return joint_of(self.corrections, self.combined)

    def to_json(self) -> dict[str, Any]:
        """Part of the JSON of schema configopt/learning/1 that comes from the logs alone."""
        return {
            "logs": [
                {
                    "file": log.table.path,
                    "kind": log.kind.name,
                    "when": log.head["when"],
                    "rows": len(log.table.rows),
                    "sha256": log.table.sha256,
                }
                for log in self.logs
            ],
            "readings": [_reading_json(judged) for judged in self.combined.judged],
            "told": [{"file": one.path, "line": one.line, "kind": one.kind, "text": one.text} for one in self.told],
            "corrections": [_correction_json(one) for one in self.corrections],
        }


def _reading_json(judged: Judged) -> dict[str, Any]:
    of = judged.reading

    def shown(value: float) -> float:
        return told(value, of.dimension, of.figure)[0]

    return {
        "file": of.path,
        "line": of.line,
        "reading": of.wording,
        "unit": told(of.value, of.dimension, of.figure)[1],
        "test": {"value": shown(of.value), "standard_uncertainty": shown(of.uncertainty)},
        "model_before": shown(judged.before),
        "model_after": shown(judged.after),
        "off": judged.off,
        "outlier": judged.outlying,
    }


def _correction_json(one: Correction) -> dict[str, Any]:
    def shown(value: float) -> float:
        return told(value, one.dimension, one.figure)[0]

    return {
        "family": one.family,
        "part": one.part,
        "figure": one.figure,
        "unit": told(one.after[0], one.dimension, one.figure)[1],
        "before": {"value": shown(one.before[0]), "standard_uncertainty": shown(one.before[1])},
        "after": {"value": shown(one.after[0]), "standard_uncertainty": shown(one.after[1])},
        "in_catalog": one.in_catalog,
        "shift": one.shift,
        "tells": one.tells,
        "readings": list(one.readings),
    }


def learn(case: Case, paths: Sequence[Path]) -> Lesson:
    """Learn from test logs.

    Parameters
    ----------
    case
        Scenario and catalogs.  Corrections that the scenario names are set aside: tests that were learned from before
        would count twice.
    paths
        The logs, old and new.

    Returns
    -------
    Lesson

    Raises
    ------
    FindingsError
        With every mistake of every log.
    """
    case = case.without_corrections
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
        except ConfigoptError as error:
            message = f"the model cannot compute what was ridden: {error}"
            findings.append(Finding(str(path), 1, 1, "LOG-MODEL", "error", message, "correct the log or its head"))
            continue
        logs.append(log)
        reads.append(read)
    findings += _twice(logs)
    if findings:
        raise FindingsError(findings)
    combined = combine([reading for read in reads for reading in read.readings])
    found = corrections(case, combined)
    said = [one for read in reads for one in read.told]
    said += [
        Told(
            judged.reading.path,
            judged.reading.line,
            "outlier",
            f"{judged.reading.wording}: {abs(judged.off):.1f} standard uncertainties from the model; it is kept",
        )
        for judged in combined.judged
        if judged.outlying
    ]
    said += [
        Told(
            judged.reading.path,
            judged.reading.line,
            "outlier",
            f"{judged.reading.wording}: {abs(apart):.1f} standard uncertainties of the test away from the model even "
            "after all tests: they contradict each other, or the model does not fit",
        )
        for judged in combined.judged
        if abs(apart := (judged.after - judged.reading.value) / judged.reading.uncertainty) > OUTLYING
    ]
    return Lesson(case, tuple(logs), combined, tuple(said), found)


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
    """Before against after by the corrected figures; None where one of them is missing or both are the same."""
    missed: tuple[dict[str, Any], ...]
    """Limits that the choice before misses by the corrected figures."""

    def to_json(self) -> dict[str, Any]:
        """Part ``choice_again`` of the JSON of schema configopt/learning/1."""
        return {
            "before": self.before.to_json(),
            "after": self.after.to_json(),
            "comparison": self.comparison,
            "missed_by_the_choice_before": list(self.missed),
        }


def choose_again(
    before_tests: Case,
    lesson: Lesson,
    *,
    time_limit: float | None = None,
    threads: int = 1,
    progress: Callable[[str], None] | None = None,
) -> Again:
    """Choose with the figures before and after, and explain the difference.

    Parameters
    ----------
    before_tests
        The scenario as it stands, with the corrections that it names.
    lesson
        What was learned.
    time_limit
        Of each of the two searches [s].
    threads
        Of the solver.
    progress
        Called with a line of text now and then.
    """
    case = lesson.corrected
    before = choose(before_tests, time_limit=time_limit, threads=threads, progress=progress)
    after = choose(case, time_limit=time_limit, threads=threads, progress=progress)
    if not before.records:
        return Again(before, after, None, ())
    names = [vehicle.name for vehicle in case.scenario.vehicles]
    appraised = appraise(case, list(before.records), names, explained=False).to_json()
    missed = tuple(
        {"vehicle": vehicle["name"], **margin}
        for vehicle in appraised["vehicles"]
        for margin in vehicle["margins"]
        if not margin["met"]
    )
    comparison = None
    if after.records and before.records != after.records:
        titles = ("as chosen before the tests", "as chosen with the corrections")
        comparison = compare(case, before.records, after.records, titles=titles).to_json()
    return Again(before, after, comparison, missed)
