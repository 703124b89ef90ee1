"""The folders that a check may read: what a stranger's file or link names beyond them is not looked at.

A path is followed step by step, links included, and given up at the first step outside.  Nothing is asked of the
system about a place outside, so neither what lies there nor whether it is there can show in a finding.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from configopt.errors import Finding, FindingsError, one_line

#: Links that one path may lead through, as systems have it.
LINK_LIMIT = 40
#: Characters of a path, and bytes of one name in it; systems refuse what is longer.
PATH_LIMIT, NAME_LIMIT = 1_000, 255
#: Entries of a folder that are looked at.
ENTRY_LIMIT = 5_000
_CATALOGS = "catalogs"


class OutsideError(Exception):
    """A path is not to be read; says why and what to do."""

    def __init__(self, message: str, fix: str) -> None:
        super().__init__(message)
        self.message, self.fix = message, fix


@dataclass(frozen=True)
class ReadableFolders:
    """Folders that may be read with all that is in them.

    ``ways`` holds, for each, how it is called (absolute, as a path to it may begin) and where it is (without links).
    """

    ways: tuple[tuple[str, str], ...]

    @classmethod
    def around(cls, given: Iterable[Path] = ()) -> ReadableFolders:
        """The working folder and what the user names outside it, each with the project around it.

        Parameters
        ----------
        given
            Files and folders that the user names.  Of those outside the working folder a folder counts, and the folder
            of a file.  Those inside add nothing: a shell writes out ``scenarios/*`` without asking where links lead.

        Returns
        -------
        ReadableFolders
            The project around a folder is the nearest folder that holds a folder ``catalogs``, from itself upwards; the
            search ends at the top of a repository.
        """
        here = os.getcwd()
        named = [here]
        for path in given:
            text = os.path.abspath(path)
            if not _is_within(text, here):
                named.append(text if os.path.isdir(text) else os.path.dirname(text))
        ways = [(folder, os.path.realpath(folder)) for folder in named]
        ways += [(real, real) for _, real in ways]
        projects = [str(_project(Path(real))) for _, real in ways]
        ways += [(project, project) for project in projects]
        return cls(tuple(dict.fromkeys(ways)))

    def holds(self, place: str) -> bool:
        """Whether an absolute place without links lies in one of the folders."""
        return any(_is_within(place, real) for _, real in self.ways)

    def real(self, path: Path) -> Path:
        """Where a path leads.

        Parameters
        ----------
        path
            A path as a file or the user wrote it; a relative one starts in the working folder.

        Returns
        -------
        Path
            The same place without links; it need not exist.

        Raises
        ------
        OutsideError
            If the path leads out of the folders, in circles, or is no possible path.
        """
        text = str(path)
        if one_line(text) != text:
            raise OutsideError("the path holds a character that cannot be shown", "rename it")
        if len(text) > PATH_LIMIT or any(len(os.fsencode(name)) > NAME_LIMIT for name in path.parts):
            raise OutsideError("the path is too long", "shorten it")
        whole = os.path.join(os.getcwd(), text)
        try:
            return self._followed(whole)
        except OutsideError:
            # A path may lead from one of the folders to another: ../other/catalogs.
            plain = os.path.normpath(whole)
            if plain == whole:
                raise
            return self._followed(plain)

    def require(self, path: Path) -> Path:
        """As :meth:`real`.

        Raises
        ------
        FindingsError
            With a finding at the file.
        """
        try:
            return self.real(path)
        except OutsideError as wrong:
            raise FindingsError([Finding(shown(path), 0, 0, "PATH", "error", wrong.message, wrong.fix)]) from None

    def _followed(self, path: str) -> Path:
        at, steps = self._start(path)
        links = 0
        while steps:
            step = steps.pop()
            if step in ("", os.curdir):
                continue
            there = os.path.dirname(at) if step == os.pardir else os.path.join(at, step)
            if not self.holds(there):
                raise _outside()
            target = None if step == os.pardir else _target(there)
            if target is None:
                at = there
                continue
            links += 1
            if links > LINK_LIMIT or len(steps) > PATH_LIMIT:
                raise OutsideError("the links lead in circles", "make it a plain file")
            if os.path.isabs(target):
                at, more = self._start(target)
            else:
                more = _steps(target)
            steps += more
        return Path(at)

    def _start(self, path: str) -> tuple[str, list[str]]:
        """The folder in which the steps of an absolute path begin, and the steps, last one first."""
        for called, real in self.ways:
            if _is_within(path, called):
                return real, _steps(path[len(called) :])
        raise _outside()


def _target(place: str) -> str | None:
    """What a link names, or None where there is no link; that nothing is there the reader says."""
    try:
        return os.readlink(place) if stat.S_ISLNK(os.lstat(place).st_mode) else None
    except OSError:
        return None


def _is_within(path: str, folder: str) -> bool:
    return path == folder or path.startswith(folder.rstrip(os.sep) + os.sep)


def _steps(path: str) -> list[str]:
    return path.split(os.sep)[::-1]


def _outside() -> OutsideError:
    return OutsideError(
        "the path leads out of the folders that are checked", "put what is needed into the project, or name its folder"
    )


def _project(folder: Path) -> Path:
    """The project around a folder; the folder itself where there is none."""
    for near in (folder, *folder.parents):
        if (near / _CATALOGS).is_dir() and near != near.parent:
            return near
        if (near / ".git").exists():
            break
    return folder


def shown(path: str | Path) -> str:
    """A path in one line of bearable length."""
    text = str(path)
    return one_line(text if len(text) <= PATH_LIMIT else f"{text[:100]}...")


def entries(folder: Path, ending: str) -> list[Path]:
    """What lies in a folder and whose name has an ending, by name.

    Raises
    ------
    FindingsError
        If the folder cannot be read, or has more than :data:`ENTRY_LIMIT` entries.
    """
    found: list[Path] = []
    try:
        with os.scandir(folder) as listing:
            for count, entry in enumerate(listing):
                if count == ENTRY_LIMIT:
                    message = f"a folder has at most {ENTRY_LIMIT:,} entries, this one has more"
                    raise FindingsError([Finding(shown(folder), 0, 0, "YAML-LIMIT", "error", message, "divide it")])
                if entry.name.endswith(ending):
                    found.append(folder / entry.name)
    except OSError as error:
        message = f"the folder cannot be read: {error.strerror or 'no reason is given'}"
        raise FindingsError([Finding(shown(folder), 0, 0, "YAML-FILE", "error", message)]) from None
    return sorted(found)
