"""Writing a file whole or not at all, and several together."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from configopt.errors import ConfigoptError


class WritingError(ConfigoptError):
    """A file could not be written; nothing was changed."""


def write_whole(path: str | Path, text: str) -> None:
    """Write a text file so that a reader sees either the old file or the new one, never half of one.

    Parameters
    ----------
    path
        The file; its folder must exist.  A symbolic link is followed: the file it names is replaced.
    text
        The content, written as UTF-8 with the line ends it has.

    Raises
    ------
    WritingError
        If the path is a folder, the folder does not exist or the disk refuses; an old file is then untouched.
    """
    target = Path(path)
    try:
        target = target.resolve()
        if target.is_dir():
            raise WritingError(f"{path} is a folder; name a file in it")
        if not target.parent.is_dir():
            raise WritingError(f"{path} cannot be written: there is no folder {Path(path).parent}")
        _replace(target, text.encode("utf-8"))
    except (OSError, ValueError, RuntimeError) as error:  # ValueError: NUL or surrogate; RuntimeError: a loop of links
        reason = getattr(error, "strerror", None) or str(error)
        raise WritingError(f"{path} cannot be written: {reason}") from error


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write files so that either all are there, whole, or everything is as it was.

    Every file is first written beside its place and only then takes it; if one cannot, those before it go back.  Only
    the loss of power between two of these last steps can leave some files new and others old, each of them whole.

    Parameters
    ----------
    files
        What each file is to hold; the folders exist.  A symbolic link is followed.

    Raises
    ------
    WritingError
        If one cannot be written; then nothing has changed.
    """
    staged: dict[Path, str] = {}
    old: dict[Path, bytes | None] = {}
    current = Path()
    try:
        for current, content in files.items():
            target = current.resolve()
            staged[target] = _beside(target, content)
            old[target] = target.read_bytes() if target.exists() else None
        for current in files:
            target = current.resolve()
            os.replace(staged[target], target)
            del staged[target]
    except (OSError, ValueError, RuntimeError) as error:  # ValueError: NUL in a name; RuntimeError: a loop of links
        for target, before in old.items():
            if target not in staged:
                _put_back(target, before)
        reason = getattr(error, "strerror", None) or str(error)
        raise WritingError(f"{current} cannot be written: {reason}; nothing was changed") from error
    finally:
        for name in staged.values():
            Path(name).unlink(missing_ok=True)


def _replace(target: Path, content: bytes) -> None:
    staged = _beside(target, content)
    try:
        os.replace(staged, target)
    except BaseException:
        Path(staged).unlink(missing_ok=True)
        raise
    _sync_folder(target.parent)


def _beside(target: Path, content: bytes) -> str:
    """Write the content beside its place; the name of the file that is to take it."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        # mkstemp makes files private; keep the old file's mode, or what open() would have given.
        os.chmod(name, target.stat().st_mode & 0o7777 if target.exists() else 0o666 & ~_umask())
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return name


def _put_back(target: Path, before: bytes | None) -> None:
    if before is None:
        target.unlink(missing_ok=True)
    elif target.read_bytes() != before:
        _replace(target, before)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _sync_folder(folder: Path) -> None:
    """Make the new name itself durable where the system can (not on Windows)."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
