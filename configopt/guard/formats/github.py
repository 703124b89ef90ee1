"""Findings as workflow commands, which GitHub Actions shows beside the lines of a pull request.

References
----------
GitHub Docs, "Workflow commands for GitHub Actions": the commands ``error``, ``warning`` and ``notice`` with ``file``,
``line``, ``col`` and ``title``.  The escaping is the one that the runner takes back when it reads a command.
"""

from __future__ import annotations

from configopt.errors import Finding
from configopt.guard.formats.report import Report, explained, plain, posix

_COMMANDS = {"error": "error", "warning": "warning", "note": "notice"}


def github_text(report: Report) -> str:
    """One workflow command a line for every finding, and a plain line that sums up.

    Whatever a file or a message holds stays text: it can neither end its command nor begin another.
    """
    lines = [_command(finding, report) for finding in report.findings]
    return "\n".join([*lines, report.summary()]) + "\n"


def _command(finding: Finding, report: Report) -> str:
    properties = {}
    if finding.path:
        properties["file"] = posix(finding.path)
        if finding.line >= 1:
            properties["line"] = str(finding.line)
            if finding.column >= 1:
                properties["col"] = str(finding.column)
    title = report.rule(finding).title
    # A value that is empty would be read as if it were not there, and the comma after it with it.
    properties["title"] = f"{finding.rule}: {title}" if title not in ("", finding.rule) else finding.rule or "configopt"
    written = ",".join(f"{key}={escaped_property(_inert(value))}" for key, value in properties.items())
    return f"::{_COMMANDS[finding.severity]} {written}::{escaped_data(_inert(explained(finding)))}"


def _inert(text: str) -> str:
    # "##[" begins a command of the older kind anywhere in a line, and nothing escapes it.
    return plain(text).replace("##[", "## [")


def escaped_data(text: str) -> str:
    """A message, as the runner takes it back."""
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def escaped_property(text: str) -> str:
    """The value of a property, as the runner takes it back."""
    return escaped_data(text).replace(":", "%3A").replace(",", "%2C")
