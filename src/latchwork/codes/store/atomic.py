"""Saving a file so that, whenever the program is killed, the last or the previous state is whole.

The bytes go to a new file beside the old one, are forced to the disk, and take the old name in one
step; then the folder itself is forced. A kill leaves at most a file ending in ``.part``, which the
next save of the same file removes.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import sys
from collections.abc import Iterator
from pathlib import Path

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


class Disk:
    """The system calls of a save, one method each, so that tests can stop between any two."""

    def create(self, path: Path) -> int:
        """A new file nobody else may read."""
        return os.open(
            path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600
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


def write_whole(path: Path, data: bytes, disk: Disk = DISK) -> None:
    """Puts ``data`` under ``path``, whole or not at all. Raises OSError, the old file untouched."""
    remove_leftovers(path, disk)
    part = path.with_name(f"{path.name}.{secrets.token_hex(4)}.part")
    handle = disk.create(part)
    try:
        try:
            view = memoryview(data)
            while view:
                view = view[disk.write(handle, view) :]
            disk.force(handle)
        finally:
            disk.close(handle)
        disk.replace(part, path)
    except OSError:
        with contextlib.suppress(OSError):
            disk.remove(part)
        raise
    disk.force_folder(path.parent)


def remove_leftovers(path: Path, disk: Disk = DISK) -> None:
    """Removes what a killed save of this file left behind. Call it while holding the lock."""
    for old in path.parent.glob(f"{path.name}.*.part"):
        with contextlib.suppress(FileNotFoundError):
            disk.remove(old)


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Only one program at a time passes. The system gives the lock back when a program dies."""
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        if sys.platform == "win32":
            msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
