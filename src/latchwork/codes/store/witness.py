"""What the folder remembers of its store, so that an older file put back is noticed.

``codes.seen`` holds no secret. It is written after the store itself: killed in between, it lags
behind and is brought up to date on the next opening. What it knows of the log is a keyed sum:
whoever cannot open the store learns nothing by it.
"""

from __future__ import annotations

import hmac
from pathlib import Path

import msgspec

from latchwork.codes.errors import CodesError
from latchwork.codes.store.container import Sealed
from latchwork.folder import Disk, write_atomic
from latchwork.tree import read_whole

NAME = "codes.seen"


class Witness(msgspec.Struct, frozen=True):
    """The last saved state known here. ``purged``: data keys below this one have left no file.
    ``length`` and ``log``: bytes of the log and their keyed sum; "" in files of before they were
    kept."""

    store: str
    generation: int
    digest: str
    purged: int = 0
    length: int = 0
    log: str = ""


def must_remember(folder: Path) -> None:
    """Raises CodesError where the folder's memory is a link to nothing: it would be lost each time,
    and an older file put back never noticed."""
    memory = folder / NAME
    if memory.is_symlink() and not memory.exists():
        raise CodesError(
            "codes.seen is a link that leads nowhere, so that an older codes.sealed put back would "
            "not be noticed. Nothing was opened. Put back what it leads to, or remove the link."
        )


def read_witness(folder: Path) -> Witness | None:
    """What the folder remembers; None where nothing readable does."""
    try:
        data = read_whole(folder / NAME)
        return msgspec.json.decode(data, type=Witness)
    except (FileNotFoundError, msgspec.DecodeError, UnicodeDecodeError):
        return None


def write_witness(folder: Path, witness: Witness, disk: Disk) -> None:
    """Remembers a saved state."""
    write_atomic(folder / NAME, msgspec.json.encode(witness) + b"\n", disk=disk)


def check_against(witness: Witness | None, sealed: Sealed) -> None:
    """Raises CodesError where the file is not the newest state this folder has seen."""
    if witness is None:
        return
    head = sealed.head
    if witness.store != head.store:
        raise CodesError(
            "codes.sealed is another store than the one this folder knows. Nothing was opened. "
            "Put the right file back; if the change is meant, remove codes.seen."
        )
    check_generation(witness.generation, head.generation, "this folder")
    if head.generation == witness.generation and sealed.digest != witness.digest:
        raise CodesError(
            f"codes.sealed is not the file last saved here, though both are number "
            f"{head.generation}: two people saved at once on two machines. Nothing was opened. "
            "Put back the copy that holds the right changes and enter the others again; "
            "to take the file that is here, remove codes.seen."
        )


def sum_of(log: bytes, store_secret: bytes) -> str:
    """The keyed sum of a log."""
    return hmac.digest(store_secret, b"latchwork seen 1\0" + log, "sha256").hex()


def check_log(witness: Witness | None, log: bytes, store_secret: bytes) -> None:
    """Raises CodesError where a log does not go on from the one this folder has seen: it would be
    newer by its number, and what was saved here would be gone from it."""
    if witness is None or not witness.log:
        return
    before = sum_of(log[: witness.length], store_secret)
    if not hmac.compare_digest(before, witness.log):
        raise CodesError(
            "codes.sealed does not go on from what was last saved here, number "
            f"{witness.generation}: it was saved apart from it, on another machine. Nothing was "
            "opened. Put back the copy that holds the right changes and enter the others again; "
            "to take the file that is here, remove codes.seen."
        )


def check_generation(known: int, found: int, who: str) -> None:
    """Raises CodesError where ``found`` is older than ``known``."""
    if found < known:
        raise CodesError(
            f"codes.sealed is an older file put back: it is number {found}, and {who} has seen "
            f"number {known}. Nothing was opened. Put the newer file back; to go back on purpose, "
            "remove codes.seen, and expect the controllers to hold what was changed since."
        )
