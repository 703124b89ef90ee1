"""The files of a project as they were at an earlier revision of its repository."""

from __future__ import annotations

import os
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
#: Characters of what a link names.
_LONGEST_LINK = 4_000


class RevisionError(ConfigoptError):
    """The repository cannot be asked, or does not know the revision."""


def repository(folder: Path) -> Path:
    """Top folder of the repository around a folder.

    Raises
    ------
    UsageError
        If there is none, or git does not want to read it.
    """
    try:
        return Path(os.fsdecode(_git(folder, "rev-parse", "--show-toplevel")).rstrip("\n"))
    except RevisionError as error:
        raise UsageError(f"--since needs a git repository around {folder}: {error}") from None


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
        If there is no such revision, or the history here does not reach back to that commit.
    """
    try:
        name = _git(folder, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    except RevisionError:
        hint = "a checkout without its history has to fetch it first"
        raise UsageError(f'there is no revision "{revision[:100]}" in this repository; {hint}') from None
    commit = name.decode().strip()
    try:
        return _git(folder, "merge-base", "HEAD", commit).decode().strip()
    except RevisionError:
        if _git(folder, "rev-parse", "--is-shallow-repository").strip() == b"true":
            message = f"the history here does not reach back to where the change left {revision[:100]}"
            raise UsageError(f"{message}: fetch more of it (git fetch --unshallow)") from None
        return commit  # no common history, or nothing recorded yet


def files_at(commit: str, top: Path, target: Path) -> None:
    """Write the files of a repository, as they were, into another folder.

    Parameters
    ----------
    commit
        Name of a commit, from :func:`resolved`.
    top
        Top folder of the repository.
    target
        An empty folder; gets the files that a check can read, and links as links: where they lead the reader judges.
    """
    listing = _git(top, "ls-tree", "-r", "-z", "--long", "--full-tree", commit)
    wanted = list(_listed(os.fsdecode(listing)))
    if len(wanted) > _MOST_FILES:
        raise RevisionError(f"revision {commit[:12]} has more than {_MOST_FILES:,} files; --since cannot compare them")
    contents = _contents(top, [blob for _, blob, _ in wanted])
    for (link, _, name), content in zip(wanted, contents, strict=True):
        place = target / name
        if ".." in Path(name).parts or Path(name).is_absolute():
            continue
        place.parent.mkdir(parents=True, exist_ok=True)
        if link:
            place.symlink_to(os.fsdecode(content))
        else:
            place.write_bytes(content)


def _listed(text: str) -> Iterator[tuple[bool, str, str]]:
    """Whether it is a link, name of the content, and path of each file of a listing; plain files come first."""
    links = []
    for line in filter(None, text.split("\0")):
        head, _, name = line.partition("\t")
        mode, kind, blob, size = head.split()
        plain = kind == "blob" and mode in ("100644", "100755")
        if plain and name.endswith(_ENDINGS) and size.isdigit() and int(size) <= BYTE_LIMIT:
            yield False, blob, name
        elif mode == "120000" and size.isdigit() and int(size) <= _LONGEST_LINK:
            links.append((True, blob, name))
    yield from links


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


def _git(folder: Path, *arguments: str, given: bytes = b"") -> bytes:
    # A stranger's change may hold files that look like a repository of their own, with settings that start programs
    # or fetch what is missing: no such repository is used, nothing is fetched and no hook or monitor is run.
    settings = ("safe.bareRepository=explicit", "protocol.allow=never", "core.fsmonitor=false", "core.hooksPath=")
    options = [word for setting in settings for word in ("-c", setting)]
    environment = {**os.environ, "GIT_NO_LAZY_FETCH": "1", "GIT_TERMINAL_PROMPT": "0", "GIT_OPTIONAL_LOCKS": "0"}
    command = ["git", *options, "-C", str(folder), *arguments]
    try:
        done = subprocess.run(command, input=given, capture_output=True, timeout=_SECONDS, check=False, env=environment)
    except FileNotFoundError:
        raise UsageError("--since needs git, which is not installed here") from None
    except subprocess.TimeoutExpired:
        raise RevisionError("git took too long to answer") from None
    if done.returncode:
        said = " ".join(done.stderr.decode("utf-8", "replace").split())[:300]
        raise RevisionError(f"git says: {said or 'nothing'}")
    return done.stdout
