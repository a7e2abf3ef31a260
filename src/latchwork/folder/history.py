"""What is written down of the saves of a job: one line each in ``versions/index.jsonl``.

Lines are only ever added. A save writes its line before the job file takes its new text, so that
the last line may tell of a save that a kill kept from being finished: then the job file still has
the text before it, and the next save says so in a line of its own.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from latchwork.folder.atomic import DISK, Disk, write_atomic
from latchwork.job import JobErrors, Problem
from latchwork.job.changes import Change, as_plain, from_plain
from latchwork.job.reader import read_text
from latchwork.tree import read_whole

VERSIONS = "versions"
INDEX = "index.jsonl"
FORM = 1


@dataclass(frozen=True, slots=True)
class Version:
    """One save. ``when`` in UTC (ISO 8601); ``what`` is the verb that saved; ``before`` and
    ``after`` are hashes of the whole texts; ``undoes`` is the number of the save that this one
    takes back, 0 for none. The text before it lies in ``versions`` under its number.
    """

    number: int
    file: str
    when: str
    what: str
    before: str
    after: str
    changes: tuple[Change, ...] = ()
    undoes: int = 0
    finished: bool = True


def digest(text: str) -> str:
    """The hash of a text."""
    return hashlib.sha256(text.encode()).hexdigest()


def read_versions(job_file: Path, text: str | None = None) -> tuple[Version, ...]:
    """Every save of a job file, oldest first; ``text`` is the file's now, where it is known.

    Raises JobErrors where the index cannot be read.
    """
    lines, void = _lines(job_file.parent)
    found = [v for v in lines if v.file == job_file.name]
    last = found[-1] if found else None
    if last is not None and text is not None and digest(text) == last.before != last.after:
        void = void | {last.number}
    return tuple(replace(v, finished=v.number not in void) for v in found)


def text_before(job_file: Path, number: int) -> str:
    """The whole text that a save found. Raises JobErrors where it is not there."""
    return read_text(text_file(job_file, number))


def text_file(job_file: Path, number: int) -> Path:
    """Where the text lies that a save found."""
    return job_file.parent / VERSIONS / f"{number:04d}.yaml"


def next_number(folder: Path) -> int:
    """A number that no save has had."""
    taken = [v.number for v in _lines(folder)[0]]
    taken += [int(p.stem) for p in (folder / VERSIONS).glob("*.yaml") if p.stem.isdecimal()]
    return max(taken, default=0) + 1


def note(folder: Path, rows: Iterable[dict[str, object]], disk: Disk = DISK) -> None:
    """Add lines to the index, all or none. Raises OSError."""
    path = folder / VERSIONS / INDEX
    old = read_whole(path) if path.exists() else f'{{"latchwork_versions": {FORM}}}\n'.encode()
    new = "".join(f"{json.dumps(row, ensure_ascii=False)}\n" for row in rows)
    write_atomic(path, old + new.encode(), disk=disk)


def as_row(version: Version) -> dict[str, object]:
    """A save as a line of the index."""
    row: dict[str, object] = {
        "number": version.number,
        "file": version.file,
        "when": version.when,
        "what": version.what,
        "before": version.before,
        "after": version.after,
        "changes": [as_plain(change) for change in version.changes],
    }
    return row | {"undoes": version.undoes} if version.undoes else row


def void_row(version: Version) -> dict[str, object]:
    """The line that says of a save that it was never finished."""
    return {"void": version.number}


def _lines(folder: Path) -> tuple[list[Version], frozenset[int]]:
    path = folder / VERSIONS / INDEX
    if not path.exists():
        return [], frozenset()
    found: list[Version] = []
    void: set[int] = set()
    for number, row in _rows(path):
        try:
            if "void" in row:
                void.add(int(str(row["void"])))
            elif row.get("latchwork_versions") != FORM:
                found.append(_version(row))
        except (KeyError, TypeError, ValueError, AttributeError):
            raise _refused(path, number) from None
    return found, frozenset(void)


def _rows(path: Path) -> Iterator[tuple[int, dict[str, object]]]:
    # Read whole, however long: it grows with every save.
    for number, line in enumerate(read_whole(path).split(b"\n"), start=1):
        if not line:
            continue
        try:
            row = json.loads(line)
        except (ValueError, RecursionError):
            raise _refused(path, number) from None
        if not isinstance(row, dict):
            raise _refused(path, number)
        yield number, row


def _version(row: dict[str, object]) -> Version:
    changes = row.get("changes")
    if not isinstance(changes, list):
        raise ValueError("no list of changes")
    number, undoes = row["number"], row.get("undoes", 0)
    if not isinstance(number, int) or not isinstance(undoes, int):
        raise ValueError("no number")
    file, when, what, before, after = (
        str(row[name]) for name in ("file", "when", "what", "before", "after")
    )
    made = tuple(from_plain(change) for change in changes)
    return Version(number, file, when, what, before, after, made, undoes)


def _refused(path: Path, line: int) -> JobErrors:
    expected = "a line as this program wrote it; take the file from a copy, or move it away"
    found = "something else"
    return JobErrors([Problem(str(path), line, 0, "", found, expected, "versions.form")])
