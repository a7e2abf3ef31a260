"""The answers of ``versions`` and ``compare``, and the way back of ``undo``."""

from __future__ import annotations

from pathlib import Path

import msgspec

from latchwork.answers.edits import Edit, as_edit, line_difference
from latchwork.folder import FolderTexts, Version, read_folder, read_versions, text_before, to_undo
from latchwork.job import one_of
from latchwork.job.changes import differences

FORM = 1


class VersionLine(msgspec.Struct, frozen=True):
    """One save. ``paths`` are what it changed; the text before it is kept under ``number``.

    ``undoes`` is the save it takes back (0: none), ``undone`` whether it was itself taken back,
    ``finished`` whether the file took its text at all. ``by_hand``: the file had been changed
    otherwise since the save before.
    """

    number: int
    when: str
    what: str
    paths: tuple[str, ...]
    undoes: int
    undone: bool
    finished: bool
    by_hand: bool


class VersionsAnswer(msgspec.Struct, frozen=True):
    """Every save of a job, oldest first. ``latchwork_versions`` is the version of this form."""

    latchwork_versions: int
    file: str
    versions: tuple[VersionLine, ...]


class DifferenceLine(msgspec.Struct, frozen=True):
    """One path that says something else; None where it is not there."""

    path: str
    old: str | None
    new: str | None


class CompareAnswer(msgspec.Struct, frozen=True):
    """Two texts of a job. ``old`` and ``new`` are numbers of versions, or "now"."""

    latchwork_compare: int
    file: str
    old: str
    new: str
    differences: tuple[DifferenceLine, ...]
    lines: tuple[str, ...]


class UnknownVersion(Exception):
    """No version of that number is kept."""

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(found)
        self.found = found
        self.expected = expected


NOW = "now"


def versions_of(path: Path) -> VersionsAnswer:
    """Every save of the job in a folder or a file. Raises JobErrors."""
    folder = read_folder(path)
    found = read_versions(folder.job_file, folder.text)
    taken_back = {v.undoes for v in found if v.finished}
    lines = []
    last: Version | None = None
    for version in found:
        paths = dict.fromkeys(change.path for change in version.changes)
        lines.append(
            VersionLine(
                version.number,
                version.when,
                version.what,
                tuple(paths),
                version.undoes,
                version.number in taken_back,
                version.finished,
                last is not None and last.after != version.before,
            )
        )
        last = version if version.finished else last
    return VersionsAnswer(FORM, str(folder.job_file), tuple(lines))


def compare(path: Path, old: str = "", new: str = NOW) -> CompareAnswer:
    """What two texts of a job say otherwise: versions by number, ``NOW`` for the file as it is;
    ``old`` is the last version where it is not said.

    Raises UnknownVersion, and JobErrors where a text cannot be read.
    """
    folder = read_folder(path)
    numbers = [str(v.number) for v in read_versions(folder.job_file, folder.text)]
    old = old or (numbers[-1] if numbers else NOW)
    texts = [_text(folder, name, numbers) for name in (old, new)]
    told = (DifferenceLine(d.path, d.old, d.new) for d in differences(*texts))
    return CompareAnswer(FORM, str(folder.job_file), old, new, tuple(told), line_difference(*texts))


def undo(path: Path) -> tuple[Edit, Version]:
    """The edit that takes back the last save not yet taken back, and that save. What was changed
    by hand since, in other lines, stays.

    Raises NothingToUndo; DoesNotFit where its lines have been changed since; JobErrors.
    """
    folder = read_folder(path)
    last = to_undo(read_versions(folder.job_file, folder.text))
    return as_edit(folder, [change.inverse for change in reversed(last.changes)]), last


def _text(folder: FolderTexts, name: str, numbers: list[str]) -> str:
    if name == NOW:
        return folder.text
    if name not in numbers:
        raise UnknownVersion(name, one_of(name, [*numbers, NOW]))
    return text_before(folder.job_file, int(name))
