"""The files of a project as they were at an earlier revision of its repository."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

from configopt.errors import ConfigoptError, UsageError
from configopt.files.yaml_source import BYTE_LIMIT

#: Files that a check can read.
_ENDINGS = (".yaml", ".yml", ".json")
#: Files that are taken along; a project has far fewer.
_MOST_FILES = 20_000
_SECONDS = 120


class RevisionError(ConfigoptError):
    """The repository cannot be asked, or does not know the revision."""


def resolved(revision: str, folder: Path) -> str:
    """The commit at which a change begins: where the history of now and of the revision part.

    Parameters
    ----------
    revision
        A branch, tag or commit.
    folder
        A folder of the repository.

    Returns
    -------
    str
        Name of the commit.

    Raises
    ------
    UsageError
        If there is no repository around the folder, or no such revision.
    """
    try:
        name = _git(folder, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    except RevisionError:
        _git(folder, "rev-parse", "--show-toplevel", wrong=f"{folder} lies in no git repository")
        hint = "fetch it first; a shallow checkout does not have it"
        raise UsageError(f'there is no revision "{revision[:100]}" in this repository: {hint}') from None
    commit = name.decode().strip()
    try:
        return _git(folder, "merge-base", "HEAD", commit).decode().strip()
    except RevisionError:
        return commit  # no common history, or nothing recorded yet


def files_at(commit: str, folder: Path, target: Path) -> None:
    """Write the files below a folder, as they were, below another one.

    Parameters
    ----------
    commit
        Name of a commit, from :func:`resolved`.
    folder
        A folder of the repository.
    target
        An empty folder; gets the files that a check can read, links and too large files left out.
    """
    listing = _git(folder, "ls-tree", "-r", "-z", "--long", commit, "--", ".")
    wanted = list(_listed(listing.decode("utf-8", "surrogateescape")))
    if len(wanted) > _MOST_FILES:
        raise RevisionError(f"revision {commit[:12]} has more than {_MOST_FILES:,} files here; check a smaller folder")
    contents = _contents(folder, [blob for blob, _ in wanted])
    for (_, name), content in zip(wanted, contents, strict=True):
        place = target / name
        if ".." in Path(name).parts or Path(name).is_absolute():
            continue
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(content)


def _listed(text: str) -> Iterator[tuple[str, str]]:
    """Name of the content and path of each plain file of a listing."""
    for line in filter(None, text.split("\0")):
        head, _, name = line.partition("\t")
        mode, kind, blob, size = head.split()
        plain = kind == "blob" and mode in ("100644", "100755")
        if plain and name.endswith(_ENDINGS) and size.isdigit() and int(size) <= BYTE_LIMIT:
            yield blob, name


def _contents(folder: Path, blobs: list[str]) -> Iterator[bytes]:
    if not blobs:
        return
    answer = _git(folder, "cat-file", "--batch", given="\n".join(blobs).encode() + b"\n")
    at = 0
    for _ in blobs:
        end = answer.index(b"\n", at)
        size = int(answer[at:end].split()[2])
        yield answer[end + 1 : end + 1 + size]
        at = end + 2 + size


def _git(folder: Path, *arguments: str, given: bytes = b"", wrong: str = "") -> bytes:
    # No setting of the repository may start another program: a stranger may have written it.
    command = ["git", "-c", "core.fsmonitor=false", "-c", "core.hooksPath=", "-C", str(folder), *arguments]
    try:
        done = subprocess.run(command, input=given, capture_output=True, timeout=_SECONDS, check=False)
    except FileNotFoundError:
        raise UsageError("--since needs git, which is not installed here") from None
    except subprocess.TimeoutExpired:
        raise RevisionError("git took too long to answer") from None
    if done.returncode:
        said = " ".join(done.stderr.decode("utf-8", "replace").split())[:300]
        raise (UsageError(wrong) if wrong else RevisionError(f"git says: {said or 'nothing'}"))
    return done.stdout
