"""Saving a file so that, whenever the program is killed, the last or the previous state is whole.

The bytes go to a new file beside the old one, are forced to the disk, and take the old name in one
step; then the folder itself is forced. A kill leaves at most a file ending in ``.part``.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from latchwork.tree import must_be_file

PRIVATE = 0o600
"""Mode of a file that nobody but its owner may read."""

_RANDOM_BYTES = 4


class Disk:
    """The system calls of a save, one method each, so that tests can stop between any two."""

    def create(self, path: Path, mode: int) -> int:
        """A new file that was not there before."""
        return os.open(
            path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), mode
        )

    def write(self, handle: int, data: memoryview) -> int:
        """How many bytes were taken."""
        return os.write(handle, data)

    def force(self, handle: int) -> None:
        """Returns once the bytes are on the disk."""
        os.fsync(handle)

    def close(self, handle: int) -> None:
        """Lets the file go."""
        os.close(handle)

    def replace(self, new: Path, old: Path) -> None:
        """Takes the old name in one step."""
        os.replace(new, old)

    def force_folder(self, folder: Path) -> None:
        """Makes the new name last. Windows has no such call and needs none."""
        if sys.platform == "win32":
            return
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

    def remove(self, path: Path) -> None:
        """Deletes one file."""
        os.unlink(path)


DISK = Disk()


def write_atomic(
    path: Path,
    data: bytes,
    *,
    mode: int = 0o666,
    disk: Disk = DISK,
    check: Callable[[], None] = lambda: None,
) -> None:
    """Put ``data`` under ``path``, whole or not at all.

    A link is followed; a pipe or a device is refused and stays. An old file keeps its permissions,
    a new one gets ``mode`` less the umask. ``check`` is called last, just before the old file goes.
    Raises OSError, which names ``path``, and what ``check`` raises, the old file untouched.
    """
    write_all({path: data}, mode=mode, disk=disk, check=check)


def write_all(
    files: Mapping[Path, bytes],
    *,
    mode: int = 0o666,
    disk: Disk = DISK,
    check: Callable[[], None] = lambda: None,
) -> None:
    """As ``write_atomic``, several files: no old one goes before all of the new ones are on the
    disk, so that a full one leaves everything as it was."""
    parts: dict[Path, Path] = {}
    at = Path()
    try:
        for at, data in files.items():
            # First, as a link that leads in a circle resolves to nothing.
            free_for_file(at)
            path = at.resolve()
            parts[at] = path.with_name(f"{path.name}.{secrets.token_hex(_RANDOM_BYTES)}.part")
            _fill(parts[at], data, _mode_of(path, mode), disk)
        check()
        for at in files:
            disk.replace(parts[at], at.resolve())
            del parts[at]
        for folder in dict.fromkeys(at.resolve().parent for at in files):
            disk.force_folder(folder)
    except Exception as error:
        for part in parts.values():
            with contextlib.suppress(OSError):
                disk.remove(part)
        if isinstance(error, OSError):
            # A full disk names no file, and others the one that was to take this one's place.
            error.filename, error.filename2 = str(at), None
        raise


def free_for_file(path: Path) -> None:
    """Raises OSError, which names ``path``, where what stands there is no file to be replaced."""
    with contextlib.suppress(FileNotFoundError):
        must_be_file(path)


def _mode_of(path: Path, mode: int) -> int:
    """The mode of a file that is there, else ``mode``."""
    with contextlib.suppress(FileNotFoundError):
        return stat.S_IMODE(path.stat().st_mode)
    return mode


def _fill(part: Path, data: bytes, mode: int, disk: Disk) -> None:
    """A new file with ``data`` on the disk."""
    handle = disk.create(part, mode)
    try:
        view = memoryview(data)
        while view:
            view = view[disk.write(handle, view) :]
        disk.force(handle)
    finally:
        disk.close(handle)


def remove_leftovers(folder: Path, disk: Disk = DISK) -> None:
    """Remove what killed saves left in a folder. Call it while holding the folder's lock."""
    for old in folder.glob(f"*.{'[0-9a-f]' * 2 * _RANDOM_BYTES}.part"):
        with contextlib.suppress(FileNotFoundError):
            disk.remove(old)
