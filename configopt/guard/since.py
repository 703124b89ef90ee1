"""What a change did: findings that are there now and were not there before it.

Both states are read and held against every rule, which takes seconds; recorded decisions take longer and are decided
again only where the change can touch them.  It cannot where the decision, its scenario, the parts that fit in some
package, and the surfaces are the same before and after: nothing else is asked in deciding (:func:`reach`).
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from configopt.decisions.decision_file import scenario_groups, stated
from configopt.decisions.fingerprint import SILENT
from configopt.decisions.reach import reach
from configopt.errors import Finding
from configopt.files.reading import read_start
from configopt.files.yaml_source import BYTE_LIMIT
from configopt.guard import decision_rules
from configopt.guard.checking import Check, OpenDecision
from configopt.guard.deciding import Judge, case_of
from configopt.scenario.case import PACKAGE_PARTS

_LINE_NUMBERS = re.compile(r"(\bline |\.yaml:)\d+")
_NUMBERS = re.compile(r"\d[\d,.]*")
_DECISION_RULES = frozenset(rule.id for rule in decision_rules.RULES)

#: Where a finding stands apart from line numbers: file, rule, and the keys around its line.
Place = tuple[str, ...]


def new_findings(now: Check, before: Check, here: Path, there: Path) -> list[Finding]:
    """Findings that a change brought.

    Parameters
    ----------
    now, before
        Both checks, done.
    here, there
        Top folders of what they read.

    Returns
    -------
    list of Finding
        Those of now, without the ones that were there before: of the same rule at the same key of the same entry in the
        same file, with the same message; where the line itself says the same, numbers of others in the message may
        differ.  Line numbers do not count.  Each finding of before accounts for one of now.
    """
    old: dict[Place, list[tuple[str, str]]] = {}
    texts = _Texts()
    for finding in before.findings:
        said = _words(finding), texts.of(finding.path).at(finding.line)
        old.setdefault(_place(finding, there, texts), []).append(said)
    left = []
    for finding in sorted(now.findings):
        known = old.get(_place(finding, here, texts), [])
        words, line = _words(finding), texts.of(finding.path).at(finding.line)
        same = next((one for one in known if one[0] == words), None)
        if same is None and finding.rule not in _DECISION_RULES:
            bare = _NUMBERS.sub("0", words)
            same = next((one for one in known if line and one[1] == line and _NUMBERS.sub("0", one[0]) == bare), None)
        if same is None:
            left.append(finding)
        else:
            known.remove(same)
    return left


def _place(finding: Finding, top: Path, texts: _Texts) -> Place:
    if finding.rule in _DECISION_RULES:
        # It names the decision in its words, and stands wherever the cause is.
        return (finding.rule,)
    return inside(finding.path, top), finding.rule, *texts.of(finding.path).keys_around(finding.line)


def _words(finding: Finding) -> str:
    return _LINE_NUMBERS.sub(r"\1", finding.message)


class _Text:
    """The lines of a file, each with the one that it is indented under; found in one pass."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines
        self.above: list[int] = []
        open_: list[int] = []
        for number, text in enumerate(lines):
            # A comment or an empty line says nothing of what comes after it.
            silent = not text.strip() or text.lstrip().startswith("#")
            while not silent and open_ and _indent(lines[open_[-1]]) >= _indent(text):
                open_.pop()
            self.above.append(next((one for one in reversed(open_) if _indent(lines[one]) < _indent(text)), -1))
            if not silent:
                open_.append(number)

    def at(self, line: int) -> str:
        """A line by its number from 1; nothing for one that is not there."""
        return self.lines[line - 1] if 1 <= line <= len(self.lines) else ""

    def keys_around(self, line: int) -> list[str]:
        """The line's own key, and those it is indented under, entries of lists by their whole first line."""
        found = []
        number = line - 1 if 1 <= line <= len(self.lines) else -1
        while number >= 0:
            found.append(_key(self.lines[number]))
            number = self.above[number]
        return found


class _Texts(dict[str, _Text]):
    """Files by their path, each read once."""

    def of(self, path: str) -> _Text:
        """The lines of a file; none where it cannot be read."""
        if path not in self:
            try:
                self[path] = _Text(read_start(path, BYTE_LIMIT).decode("utf-8", "replace").splitlines())
            except (OSError, ValueError):
                self[path] = _Text([])
        return self[path]


def _key(line: str) -> str:
    text = line.strip()
    return text if text.startswith("- ") else text.partition(":")[0]


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def inside(path: str | Path, top: Path) -> str:
    """A path as seen from a folder, by its text alone: a link is called as it is written."""
    return Path(os.path.relpath(os.path.abspath(path), os.path.abspath(top))).as_posix()


def untouched(now: OpenDecision, before: OpenDecision) -> bool:
    """Whether a decision rests on exactly the same before and after."""
    return bool(_rests_on(now) == _rests_on(before))


def _rests_on(open_: OpenDecision) -> Any:
    case = case_of(open_.decision, open_.case)
    parts = {name: _bare(stated(part)) for name, part in reach(case).items()}
    # A part that fits nowhere matters only where the decision has it: then it is gone, or fits no longer.
    mine = {str(part) for record in open_.decision.records for end in (record.front, record.rear)
            for _, part in end if isinstance(part, str)}  # fmt: skip
    for family in PACKAGE_PARTS.values():
        parts.update({part.id: _bare(stated(part)) for part in case.catalog.family(family) if part.id in mine})
    groups = {name: group for name, (_, group) in scenario_groups(case).items()}
    return parts, groups, stated(open_.decision.record)


def _bare(values: dict[str, Any]) -> dict[str, Any]:
    """A part without what no model uses; a waiver or a note changes no decision."""
    return {key: value for key, value in values.items() if key not in SILENT}


def decide_touched(
    now: Check,
    before: Check,
    here: Path,
    there: Path,
    judged: Judge,
    progress: Callable[[str], None] | None = None,
) -> None:
    """Decide again what the change can touch, now, and before where something is found now.

    Parameters
    ----------
    now, before
        Both checks, without their decisions decided; findings are added.
    here, there
        The folders that they read.
    judged
        Decides.
    progress
        Called with a line of text before each decision of now.
    """
    earlier = {inside(str(one.decision.path), there): one for one in before.decisions}
    touched, untold = [], []
    for one in now.decisions:
        other = earlier.get(inside(str(one.decision.path), here))
        if other is None:
            touched.append(one)
        elif not untouched(one, other):
            touched.append(one)
            untold.append(other)
    found = replace(now, decisions=touched, findings=set())
    found.decide(judged, progress)
    now.findings |= found.findings
    if found.findings:
        replaced = replace(before, decisions=untold, findings=set())
        replaced.decide(judged)
        before.findings |= replaced.findings
