"""Edits of a job: Changes tried on it whole, shown as lines, and saved as a version."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from latchwork.answers.pinning import pin_job
from latchwork.folder import FolderTexts, Version, save_version
from latchwork.job.changes import Change, Changed, apply, change_job
from latchwork.opening import catalogue_of, open_job, used_of
from latchwork.plan import plan
from latchwork.wiring import Wiring, wire

Make = Callable[[str], Change]
"""A Change made for the text that it is given."""


@dataclass(frozen=True, slots=True)
class Edit:
    """An edit that can be made: its Changes, the text after them, and the wiring that comes of
    it."""

    folder: FolderTexts
    changes: tuple[Change, ...]
    changed: Changed
    wiring: Wiring

    @property
    def lines(self) -> tuple[str, ...]:
        """The difference in the file's own lines."""
        return line_difference(self.folder.text, self.changed.text)


def edit(folder: FolderTexts, makes: Sequence[Make]) -> Edit:
    """The edit that ``makes`` give, each made for the text as the ones before leave it.

    What the file says now need not make sense. Raises NoSuchPlace where a Change cannot be made,
    JobErrors where the outcome is no job or has parts that nobody knows, PartsErrors.
    """
    changes: list[Change] = []
    text = folder.text
    for make in makes:
        changes.append(make(text))
        text, _ = apply(text, changes[-1])
    return as_edit(folder, changes)


def as_edit(folder: FolderTexts, changes: Sequence[Change]) -> Edit:
    """The edit of Changes that were made before. Raises as ``edit``, and DoesNotFit."""
    changed = change_job(folder.text, changes, str(folder.job_file))
    used = used_of(*catalogue_of(folder))
    return Edit(folder, tuple(changes), changed, wire(plan(changed.job, used)))


def save(made: Edit, what: str, *, undoes: int = 0) -> Version:
    """Save an edit as a version; where the job has pinned its parts, new ones are pinned too.

    Raises ChangedMeanwhile where somebody else has changed the file, FolderBusy, OSError.
    """
    folder = made.folder
    version = save_version(
        folder.job_file, folder.text, made.changed.text, made.changes, what, undoes=undoes
    )
    if folder.pinned is not None:
        pin_job(open_job(folder.job_file))
    return version


def line_difference(old: str, new: str) -> tuple[str, ...]:
    """Two texts as a unified difference of lines, three lines round each change."""
    told = difflib.unified_diff(old.splitlines(), new.splitlines(), lineterm="")
    return tuple(told)[2:]
