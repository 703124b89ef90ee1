"""Writing a file whole or not at all."""

from __future__ import annotations

import os
import tempfile
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


def _replace(target: Path, content: bytes) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        # mkstemp makes files private; keep the old file's mode, or what open() would have given.
        os.chmod(name, target.stat().st_mode & 0o7777 if target.exists() else 0o666 & ~_umask())
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _sync_folder(target.parent)


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
