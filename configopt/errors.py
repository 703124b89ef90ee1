"""The one error family of the project, and findings: what is wrong, where, and what to do.

Every error that a user can meet derives from :class:`ConfigoptError` and carries the exit code with which the
command line ends.  An unexpected exception (a bug) is not caught anywhere and keeps its traceback.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

Severity = Literal["error", "warning", "note"]


#: Characters that end a line, steer a terminal, turn the direction of writing or cannot be written at all.
_UNSHOWN = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


def one_line(text: str) -> str:
    """A text as one line that shows all that is in it, with escapes for what cannot be shown.

    A stranger's file must not be able to write lines of its own into a log, or to turn what is shown around.

    >>> one_line("a" + chr(10) + chr(0x202E) + "b")
    'a\\\\n\\\\u202eb'
    """
    return _UNSHOWN.sub(lambda found: found[0].encode("unicode_escape").decode("ascii"), text)


class ExitCode(IntEnum):
    """How a command ends; the meanings are part of the contract with scripts."""

    DONE = 0
    FILE_WRONG = 1
    USAGE = 2
    NOTHING_MEETS_THE_LIMITS = 3
    STOPPED_EARLY = 4
    AUDIT_CONTRADICTS = 5


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """One thing wrong in one file.

    ``line`` and ``column`` are 1-based; 0 means the finding concerns the file as a whole.  ``message`` says what
    was found and what is allowed, ``fix`` what to do.  Texts are kept as :func:`one_line` has them.
    """

    path: str
    line: int
    column: int
    rule: str
    severity: Severity
    message: str
    fix: str = ""

    def __post_init__(self) -> None:
        for name in ("path", "message", "fix"):
            object.__setattr__(self, name, one_line(getattr(self, name)))

    def __str__(self) -> str:
        text = f"{self.path}:{self.line}:{self.column}: {self.rule} {self.severity}: {self.message}"
        return f"{text} ({self.fix})" if self.fix else text


class ConfigoptError(Exception):
    """Base of every error a user can meet."""

    exit_code = ExitCode.FILE_WRONG


class FindingsError(ConfigoptError):
    """One or more files are wrong; carries every finding in file order."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = sorted(findings)
        super().__init__("\n".join(str(finding) for finding in self.findings))


class UsageError(ConfigoptError):
    """The request itself is wrong: an option, a name that does not exist, a combination that makes no sense."""

    exit_code = ExitCode.USAGE


class AuditError(ConfigoptError):
    """The optimisation model and the full model contradict each other: a bug, reported as such."""

    exit_code = ExitCode.AUDIT_CONTRADICTS


class DomainError(ConfigoptError, ValueError):
    """An input of a physical model lies outside the domain in which the model means anything."""
