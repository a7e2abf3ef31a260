"""Saving a job file: the text before is kept, nobody else's work is written over."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from latchwork.folder.atomic import DISK, Disk, remove_leftovers, write_atomic
from latchwork.folder.history import (
    VERSIONS,
    Version,
    as_row,
    digest,
    next_number,
    note,
    read_versions,
    text_file,
    void_row,
)
from latchwork.folder.lock import locked
from latchwork.job.changes import Change
from latchwork.tree import read_whole


class ChangedMeanwhile(Exception):
    """Somebody else has changed the file since it was read, and theirs stays.

    ``theirs`` is its text now, None where it has gone; ``ours`` was to be saved and lies in
    ``kept``.
    """

    def __init__(self, job_file: Path, theirs: str | None, ours: str, kept: Path) -> None:
        super().__init__(str(job_file))
        self.job_file = job_file
        self.theirs = theirs
        self.ours = ours
        self.kept = kept


class NothingToUndo(Exception):
    """There is no save that has not been taken back."""


def save_version(
    job_file: Path,
    base: str,
    text: str,
    changes: Sequence[Change],
    what: str,
    *,
    undoes: int = 0,
    now: datetime | None = None,
    disk: Disk = DISK,
) -> Version:
    """Save ``text``, made of ``base`` by ``changes``; ``base`` is kept in ``versions``.

    ``what`` is the verb. Raises ChangedMeanwhile where the file no longer says ``base``,
    FolderBusy where another program is writing, OSError.
    """
    folder = job_file.parent
    when = (now or datetime.now(UTC)).isoformat(timespec="seconds")
    with locked(folder):
        if _text(job_file) != base:
            raise _conflict(job_file, text, disk)
        (folder / VERSIONS).mkdir(exist_ok=True)
        for each in (folder, folder / VERSIONS):
            remove_leftovers(each)
        rows = [void_row(v) for v in read_versions(job_file, base)[-1:] if not v.finished]
        number = next_number(folder)
        made = Version(
            number, job_file.name, when, what, digest(base), digest(text), tuple(changes), undoes
        )
        write_atomic(text_file(job_file, number), base.encode(), disk=disk)
        note(folder, [*rows, as_row(made)], disk)

        def still_base() -> None:
            if _text(job_file) != base:
                raise _conflict(job_file, text, disk)

        try:
            write_atomic(job_file, text.encode(), disk=disk, check=still_base)
        except Exception:
            # A full disk may keep this line out too; the hashes then tell the same.
            with contextlib.suppress(OSError):
                note(folder, [void_row(made)], disk)
            raise
    return made


def to_undo(versions: Sequence[Version]) -> Version:
    """The last save that has not been taken back. Raises NothingToUndo."""
    left: list[Version] = []
    for version in versions:
        if not version.finished:
            continue
        if version.undoes:
            left = [v for v in left if v.number != version.undoes]
        else:
            left.append(version)
    if not left:
        raise NothingToUndo
    return left[-1]


def _text(job_file: Path) -> str | None:
    with contextlib.suppress(FileNotFoundError, UnicodeDecodeError):
        return read_whole(job_file).decode()
    return None


def _conflict(job_file: Path, ours: str, disk: Disk) -> ChangedMeanwhile:
    """The error, after what was to be saved has been put beside the file."""
    number = 1
    while (kept := job_file.with_name(f"{job_file.stem}.not-saved-{number}.yaml")).exists():
        number += 1
    write_atomic(kept, ours.encode(), disk=disk)
    return ChangedMeanwhile(job_file, _text(job_file), ours, kept)
