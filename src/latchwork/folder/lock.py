"""One writer at a time in a job folder.

The lock is the system's own on a file in the folder, so that it ends with the program that holds
it, however that ends. What the file says is only for people: who holds it, and since when.
"""

from __future__ import annotations

import contextlib
import json
import os
import socket
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from latchwork.folder.atomic import free_for_file, remove_leftovers

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

LOCK_FILE = ".latchwork.lock"

# Windows keeps others from reading a locked byte, so the one locked lies behind the text.
_LOCKED_BYTE = 1 << 20


@dataclass(frozen=True, slots=True)
class Holder:
    """Who holds a lock, or held it: process, computer, and since when (UTC, ISO 8601)."""

    process: int
    computer: str
    since: str


class FolderBusy(Exception):
    """Another program is writing in the folder. ``holder`` is None where it has not said who."""

    def __init__(self, folder: Path, holder: Holder | None) -> None:
        who = "another program"
        if holder is not None:
            who = f"process {holder.process} on {holder.computer}, since {holder.since}"
        super().__init__(f"{folder} is being written by {who}; wait for it or end it")
        self.folder = folder
        self.holder = holder


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[Holder | None]:
    """Hold the folder's lock. Raises FolderBusy at once where somebody else does.

    Gives the last holder where that one ended without letting go (killed, or the power failed),
    else None; what its saves left half done is removed first.
    """
    free_for_file(folder / LOCK_FILE)
    handle = os.open(folder / LOCK_FILE, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
    try:
        if not _take(handle):
            raise FolderBusy(folder, _read(handle))
        last = _read(handle)
        if os.fstat(handle).st_size:
            remove_leftovers(folder)
        try:
            _write(handle, Holder(os.getpid(), socket.gethostname(), _now()))
        except OSError as error:
            # A full disk names no file.
            error.filename = str(folder / LOCK_FILE)
            raise
        try:
            yield last
        finally:
            os.ftruncate(handle, 0)
            _let_go(handle)
    finally:
        os.close(handle)


if sys.platform == "win32":

    def _take(handle: int) -> bool:
        os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _let_go(handle: int) -> None:
        os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

else:

    def _take(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _let_go(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_UN)


def _write(handle: int, holder: Holder) -> None:
    os.ftruncate(handle, 0)
    os.lseek(handle, 0, os.SEEK_SET)
    os.write(handle, json.dumps(asdict(holder)).encode())


def _read(handle: int) -> Holder | None:
    os.lseek(handle, 0, os.SEEK_SET)
    try:
        said = json.loads(os.read(handle, 4096))
        return Holder(int(said["process"]), str(said["computer"]), str(said["since"]))
    except (ValueError, TypeError, KeyError):
        return None


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
