"""Reading a file whole, and only a file.

A pipe in a file's place would be waited at for ever, and a device may give without end.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


def read_whole(path: Path, most: int | None = None) -> bytes:
    """The bytes of a file, no more than ``most``.

    Raises OSError, which names ``path``, at once where something else than a file stands there.
    """
    # Looked at before it is opened: to open a device may already set it off.
    must_be_file(path)
    with open(path, "rb", opener=_without_waiting) as file:
        _must_be_regular(os.fstat(file.fileno()), path)
        return file.read() if most is None else file.read(most)


def must_be_file(path: Path) -> None:
    """Raises OSError, which names ``path``, where it leads to nothing or to what is no file."""
    _must_be_regular(path.stat(), path)


def _must_be_regular(found: os.stat_result, path: Path) -> None:
    if not stat.S_ISREG(found.st_mode):
        kind = next((word for is_one, word in _KINDS if is_one(found.st_mode)), "no file")
        raise OSError(errno.EINVAL, kind, str(path))


def _without_waiting(path: str, flags: int) -> int:
    """Should a pipe take the file's place meanwhile, nobody waits for its other end."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
