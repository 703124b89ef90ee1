"""Several files written together: all of them, or none."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from configopt.files.writing import WritingError


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


def _beside(target: Path, content: bytes) -> str:
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        # mkstemp makes files private; keep the old file's mode, or what open() would have given.
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, target.stat().st_mode & 0o7777 if target.exists() else 0o666 & ~mask)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return name


def _put_back(target: Path, before: bytes | None) -> None:
    if before is None:
        target.unlink(missing_ok=True)
    elif target.read_bytes() != before:
        os.replace(_beside(target, before), target)
