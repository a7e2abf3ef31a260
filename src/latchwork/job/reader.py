"""Reading a job file: text in, a typed job out, or every problem at once."""

from __future__ import annotations

from pathlib import Path

from latchwork.findings.problems import Problem
from latchwork.job.model import Job
from latchwork.job.notes import Notes, Place, TooManyProblems
from latchwork.job.problems import JobErrors
from latchwork.job.sections import read_sections
from latchwork.tree.read import MAX_BYTES, read_tree, too_large
from latchwork.tree.whole import read_whole


def read_job(path: Path) -> Job:
    """The job in a file. Raises JobErrors with every problem of the file."""
    return read_job_text(read_text(path), str(path))


def read_job_text(text: str, file: str) -> Job:
    """The job that a text says; ``file`` is named in messages. Raises JobErrors."""
    job, problems = read_as_far(text, file)
    if job is None or problems:
        raise JobErrors(problems)
    return job


def read_as_far(text: str, file: str) -> tuple[Job | None, tuple[Problem, ...]]:
    """What of a job can be read, and every problem met; None where nothing can be, or where there
    are too many problems to read on."""
    root, problems = read_tree(text, file)
    if root is None:
        return None, tuple(problems)
    notes = Notes(file)
    try:
        job = read_sections(root, Place(notes))
    except TooManyProblems:
        first = "the problems above put right first"
        more = Problem(file, 0, 0, "", "more problems", first, "file.too-many")
        return None, (*problems, *notes.problems.values(), more)
    return job, (*problems, *notes.problems.values())


def read_text(path: Path, wanted: str = "a job file") -> str:
    """The text of a file of at most ``MAX_BYTES`` in UTF-8, ``wanted`` where there is none. Raises
    JobErrors."""

    def refused(found: str, expected: str, code: str, line: int = 0) -> JobErrors:
        return JobErrors([Problem(str(path), line, 0, "", found, expected, code)])

    try:
        data = read_whole(path, MAX_BYTES + 1)
    except FileNotFoundError:
        raise refused("no such file", wanted, "file.missing") from None
    except OSError as error:
        why = error.strerror or "an error of the system"
        raise refused(why, "a file that can be read", "file.unreadable") from None
    if len(data) > MAX_BYTES:
        raise JobErrors([too_large(str(path))])
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"the byte 0x{data[error.start]:02X}"
        raise refused(found, "text saved as UTF-8", "file.not-utf-8", line) from None
