"""What a change did: findings that are there now and were not there before it.

Both states are read and held against every rule, which takes seconds; recorded decisions take longer and are decided
again only where the change can touch them.  It cannot where the decision, its scenario, the parts that fit in some
package, and the surfaces are the same before and after: nothing else is asked in deciding (:func:`reach`).
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

from configopt.decisions.decision_file import scenario_groups, stated
from configopt.decisions.fingerprint import SILENT
from configopt.decisions.reach import reach
from configopt.errors import Finding
from configopt.guard import decision_rules
from configopt.guard.checking import Check, OpenDecision
from configopt.guard.deciding import Judge, case_of
from configopt.scenario.case import PACKAGE_PARTS

_LINE_NUMBERS = re.compile(r"(\bline |\.yaml:)\d+")
_DECISION_RULES = frozenset(rule.id for rule in decision_rules.RULES)

Key = tuple[str, str, str, str]


def new_findings(now: Check, before: Check, here: Path, there: Path) -> list[Finding]:
    """Findings that a change brought.

    Parameters
    ----------
    now, before
        Both checks, done.
    here, there
        The folders that they read, each as its findings call it.

    Returns
    -------
    list of Finding
        Those of now, without the ones that were there before: of the same rule in the same file, with the same message
        or about a line that says the same.  Line numbers do not count; of several alike, as many are left as are new.
    """
    old: Counter[Key] = Counter()
    for finding in before.findings:
        old.update(_keys(finding, there))
    left = []
    for finding in sorted(now.findings):
        known = next((key for key in _keys(finding, here) if old[key] > 0), None)
        if known is None:
            left.append(finding)
        else:
            old[known] -= 1
    return left


def _keys(finding: Finding, folder: Path) -> list[Key]:
    """What makes a finding the same as another: its words, or the text of its line where that decides it."""
    path = _inside(finding.path, folder)
    keys = [(path, finding.rule, "words", _LINE_NUMBERS.sub(r"\1", finding.message))]
    if finding.rule not in _DECISION_RULES and finding.line > 0:
        keys.append((path, finding.rule, "line", _line(finding)))
    return keys


def _inside(path: str, folder: Path) -> str:
    try:
        return Path(path).resolve().relative_to(folder.resolve()).as_posix()
    except ValueError:
        return path


def _line(finding: Finding) -> str:
    try:
        lines = Path(finding.path).read_bytes().splitlines()
    except OSError:
        return ""
    return lines[finding.line - 1].decode("utf-8", "replace") if finding.line <= len(lines) else ""


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


def decide_touched(now: Check, before: Check, here: Path, there: Path, judged: Judge) -> None:
    """Decide again what the change can touch, now, and before where something is found now.

    Parameters
    ----------
    now, before
        Both checks, without their decisions decided; findings are added.
    here, there
        The folders that they read.
    judged
        Decides.
    """
    earlier = {_inside(str(one.decision.path), there): one for one in before.decisions}
    touched, untold = [], []
    for one in now.decisions:
        other = earlier.get(_inside(str(one.decision.path), here))
        if other is None:
            touched.append(one)
        elif not untouched(one, other):
            touched.append(one)
            untold.append(other)
    found = replace(now, decisions=touched, findings=set())
    found.decide(judged)
    now.findings |= found.findings
    if found.findings:
        replaced = replace(before, decisions=untold, findings=set())
        replaced.decide(judged)
        before.findings |= replaced.findings
