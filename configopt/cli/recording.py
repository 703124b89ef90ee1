"""Writing a choice as a decision."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from configopt.cli.output import require_writable, say
from configopt.errors import UsageError

if TYPE_CHECKING:
    from configopt.choice.result import Choice
    from configopt.scenario.case import Case


def require_decision_file(path: Path) -> None:
    """Refuse a name that no decision has, or a file that is there, before any long computation starts.

    Raises
    ------
    UsageError
        If the file could not be written as a new decision.
    """
    from configopt.decisions.decision_file import ENDING

    if not path.name.endswith(ENDING) or path.name == ENDING:
        raise UsageError(f"--record {path}: a decision is called NAME{ENDING}")
    require_writable(path, option="--record")


def write_decision(path: Path, case: Case, choice: Choice, acceptance: dict[str, str]) -> None:
    """Write a choice as a new decision file."""
    from configopt.decisions.decision_file import decision_text
    from configopt.files.writing import write_whole

    write_whole(path, decision_text(case, choice, acceptance=acceptance, target=path))
    say(f"recorded: {path}")
