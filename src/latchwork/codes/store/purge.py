"""Removing earlier versions of a store that a withdrawn holder or an old passphrase opens."""

from __future__ import annotations

import contextlib
import struct
from pathlib import Path

import msgspec

from latchwork.codes.store import container, witness
from latchwork.folder import Disk


def purge_older(
    folder: Path, name: str, head: container.Head, seen: witness.Witness, disk: Disk
) -> tuple[Path, ...]:
    """Removes every file under the folder that holds this store under an earlier data key.

    A torn copy goes too: its cipher text could still be read with the old key. Copies outside the
    folder, in archives or in a version control history are beyond reach. Afterwards the folder
    remembers the state ``seen``, which says that the purge was done. Call it while holding the
    lock.
    """
    removed = []
    for path in sorted(folder.rglob("*")):
        if path == folder / name or path.is_symlink() or not path.is_file():
            continue
        if _is_older(path, head):
            disk.remove(path)
            removed.append(path)
    witness.write_witness(folder, seen, disk)
    return tuple(removed)


def _is_older(path: Path, head: container.Head) -> bool:
    with contextlib.suppress(OSError), path.open("rb") as file:
        magic = file.read(len(container.MAGIC))
        if magic != container.MAGIC:
            # A part of a save that was cut before the magic holds nothing.
            return False
        sizes = file.read(12)
        if len(sizes) < 12:
            return True
        (head_size,) = struct.unpack(">I", sizes[:4])
        if head_size > container.LARGEST_HEAD:
            return False
        try:
            found = msgspec.json.decode(file.read(head_size), type=container.Head)
        except (msgspec.DecodeError, UnicodeDecodeError):
            return False  # the body comes after the head: what lacks the one lacks the other
        return found.store == head.store and found.epoch < head.epoch
    return False
