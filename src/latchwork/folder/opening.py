"""Opening a job folder: the job, the user's own parts, the pinned figures."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from latchwork.findings.problems import Problem
from latchwork.folder.pins import read_parts_lock
from latchwork.job import Job, JobErrors, read_job_text
from latchwork.job.reader import read_text

JOB_FILE = "job.yaml"
MY_PARTS = "my-parts.yaml"

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class JobFolder:
    """A job as it lies in its folder. ``text`` is that of its job file.

    ``my_parts`` is the text of the user's own parts, ``pinned`` the data of ``parts.lock``; None
    where there is no such file.
    """

    path: Path
    job_file: Path
    text: str
    job: Job
    my_parts: str | None
    pinned: Mapping[str, object] | None

    @property
    def my_parts_file(self) -> Path:
        """Where the user's own parts stand, or would."""
        return self.path / MY_PARTS


def open_folder(path: Path) -> JobFolder:
    """The job in a folder, or of a job file in its folder.

    Raises JobErrors with every problem of every file.
    """
    job_file = path / JOB_FILE if path.is_dir() else path
    folder = job_file.parent
    problems: list[Problem] = []
    text = _tried(lambda: read_text(job_file), problems)
    job = None if text is None else _tried(lambda: read_job_text(text, str(job_file)), problems)
    my_parts = _tried(lambda: _text(folder / MY_PARTS), problems)
    pinned = _tried(lambda: read_parts_lock(folder), problems)
    if text is None or job is None or problems:
        raise JobErrors(problems)
    return JobFolder(folder, job_file, text, job, my_parts, pinned)


def _text(path: Path) -> str | None:
    return read_text(path) if path.exists() else None


def _tried(read: Callable[[], _T], problems: list[Problem]) -> _T | None:
    try:
        return read()
    except JobErrors as errors:
        problems.extend(errors.problems)
        return None
