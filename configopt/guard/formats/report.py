"""What every form of the findings is made from, and text that no form can be broken with."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from configopt.errors import Finding, Severity, one_line

_LINE_END = re.compile("\r\n|\r|\n")
# What one line may hold and XML may not.
_NOT_XML = re.compile("[\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class RuleText:
    """How a rule is explained."""

    title: str
    """One line."""
    description: str
    """What is found and why it matters."""
    severity: Severity
    """What it is unless a finding says otherwise."""
    help_text: str = ""
    """What to do; where empty, the description has to do."""


@dataclass(frozen=True, slots=True)
class Report:
    """What was checked and what was found; paths are relative to the working folder."""

    files: tuple[str, ...]
    """Every file read, sound ones too."""
    findings: tuple[Finding, ...]
    """In the order in which they are to be shown."""
    rules: Mapping[str, RuleText]
    """Every rule of the check, by id. A finding may name a rule that is not here; it is shown by its id alone."""
    version: str
    """Version of configopt."""

    def rule(self, finding: Finding) -> RuleText:
        """The explanation of a finding's rule."""
        known = self.rules.get(finding.rule)
        if known is not None:
            return known
        return RuleText(finding.rule, f"No explanation of the rule {finding.rule} is kept.", finding.severity)

    def summary(self) -> str:
        """How many files were checked, and with what result, as one line without its end."""
        files = len(dict.fromkeys(self.files))
        checked = f"{files} {'file' if files == 1 else 'files'} checked"
        if not self.findings:
            return f"{checked}: sound"
        numbers = Counter(finding.severity for finding in self.findings)
        shown: list[tuple[Severity, str]] = [("error", "error"), ("warning", "warning")]
        if numbers["note"]:
            shown.append(("note", "note"))
        counts = (f"{numbers[severity]} {noun}{'' if numbers[severity] == 1 else 's'}" for severity, noun in shown)
        return f"{checked}: {', '.join(counts)}"


def plain(text: str) -> str:
    r"""Text that breaks neither XML nor a log nor a terminal: each line as :func:`one_line` shows it.

    >>> plain("a\x1b[2J\r\nb")
    'a\\x1b[2J\nb'
    """
    lines = "\n".join(one_line(line) for line in _LINE_END.split(text))
    return _NOT_XML.sub(lambda match: f"\\u{ord(match[0]):04x}", lines)


def posix(path: str) -> str:
    """A path with forward slashes, on every platform."""
    return path.replace(os.sep, "/")


def explained(finding: Finding) -> str:
    """Message of a finding with what to do."""
    return f"{finding.message} ({finding.fix})" if finding.fix else finding.message
