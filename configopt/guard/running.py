"""One run of the check: what is read, what is decided again, what is reported."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from configopt.errors import Finding, UsageError
from configopt.guard.checking import Check, check_paths, default_paths, limited
from configopt.guard.deciding import Judge
from configopt.guard.revision import files_at, repository, resolved
from configopt.guard.since import decide_touched, inside, new_findings


@dataclass(frozen=True)
class Ran:
    """A check that was run."""

    check: Check
    findings: tuple[Finding, ...]
    """In order of file and line; with a revision, only what the change did."""
    stopped: bool = False
    """Whether it was ended by Ctrl-C before every decision was decided again."""


def run_check(
    paths: Sequence[Path],
    *,
    as_of: date | None = None,
    since: str | None = None,
    judged: Judge | None = None,
    progress: Callable[[str], None] | None = None,
) -> Ran:
    """Check files and folders.

    Parameters
    ----------
    paths
        Files and folders; none for ``catalogs`` and ``scenarios`` of the working folder.
    as_of
        Day on which it is judged what is stale; None for the newest date in the catalogs.
    since
        Report only what changed since this revision of the repository.
    judged
        Decides recorded decisions again; None leaves them undecided.

    progress
        Called with a line of text before each decision.

    Returns
    -------
    Ran
        The check and its findings.

    Raises
    ------
    UsageError
        If there is nothing to check, or no such revision.
    """
    if since is None:
        check = check_paths(paths, as_of=as_of)
        stopped = judged is not None and _stopped(lambda: check.decide(judged, progress))
        return Ran(check, tuple(sorted(limited(check.findings))), stopped)
    top = repository(Path.cwd())
    commit = resolved(since, top)
    with tempfile.TemporaryDirectory(prefix="configopt-") as folder:
        there = Path(folder)
        files_at(commit, top, there)
        check = check_paths(paths, as_of=as_of)
        before = _before(paths, top, there, as_of)
        stopped = judged is not None and _stopped(lambda: decide_touched(check, before, top, there, judged, progress))
        return Ran(check, tuple(sorted(limited(new_findings(check, before, top, there)))), stopped)


def _stopped(decide: Callable[[], object]) -> bool:
    """Decide; whether it was ended by Ctrl-C, after which what is found so far still counts."""
    try:
        decide()
    except KeyboardInterrupt:
        return True
    return False


def _before(paths: Sequence[Path], top: Path, there: Path, as_of: date | None) -> Check:
    """The check of the same files as they were; what was not there yet has no findings."""
    listed = []
    for path in paths or default_paths():
        named = inside(path, top)
        if named.startswith(".."):
            raise UsageError(f"--since looks at what lies in the repository {top}; {path} does not")
        listed.append(there / named)
    found = [path for path in listed if path.exists()]
    try:
        return check_paths(found, as_of=as_of) if found else Check(as_of)
    except UsageError:
        return Check(as_of)  # a folder in which there was nothing to check
