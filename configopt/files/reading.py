"""Opening a file that somebody else may have put there: nothing but a plain file is read, and only so much of it."""

from __future__ import annotations

import os
import stat
from pathlib import Path

#: Neither waits for the other end of a pipe nor makes a terminal that of the process; 0 where a system has no such.
_FLAGS = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_NONBLOCK", "O_NOCTTY", "O_CLOEXEC", "O_BINARY"))


class NotPlainError(OSError):
    """What stands there is a pipe, a device or a socket; reading it could wait forever or never end."""

    def __init__(self) -> None:
        super().__init__(None, "it is no plain file but a pipe, a device or a socket")


def read_start(path: str | Path, most: int) -> bytes:
    """The first bytes of a plain file.

    Parameters
    ----------
    path
        The file; a symbolic link to one is followed.
    most
        Number of bytes after which reading ends.

    Returns
    -------
    bytes
        All of the file where it has no more than ``most`` bytes.

    Raises
    ------
    OSError
        If there is none or it cannot be read; ``IsADirectoryError`` for a folder, :class:`NotPlainError` for a pipe,
        a device or a socket.
    ValueError
        If the name holds a NUL character.
    """
    # Opening alone can set off a device, so look first.  What was looked at may be exchanged before it is opened: the
    # flags keep that from waiting, and what is open is looked at again.
    _require_plain(os.stat(path))
    handle = os.open(path, _FLAGS)
    with open(handle, "rb") as stream:
        _require_plain(os.fstat(handle))
        return stream.read(most) or b""


def _require_plain(status: os.stat_result) -> None:
    if stat.S_ISDIR(status.st_mode):
        raise IsADirectoryError(None, "this is a folder")
    if not stat.S_ISREG(status.st_mode):
        raise NotPlainError
