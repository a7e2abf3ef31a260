"""Opening a job folder: the job, the user's own parts, the pinned figures."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from latchwork.findings.problems import Problem
from latchwork.folder.pins import read_parts_lock
from latchwork.job import Job, JobErrors, read_job_text
from latchwork.job.reader import read_text

JOB_FILE = "job.yaml"
A_JOB = f"a folder with a {JOB_FILE} in it, or that file; latchwork new makes one"
MY_PARTS = "my-parts.yaml"

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class FolderTexts:
    """The texts of a job folder. ``text`` is that of its job file.

    ``my_parts`` is the text of the user's own parts, ``pinned`` the data of ``parts.lock``; None
    where there is no such file.
    """

    path: Path
    job_file: Path
    text: str
    my_parts: str | None
    pinned: Mapping[str, object] | None

    @property
    def my_parts_file(self) -> Path:
        """Where the user's own parts stand, or would."""
        return self.path / MY_PARTS


@dataclass(frozen=True, slots=True)
class JobFolder(FolderTexts):
    """A job as it lies in its folder."""

    job: Job


def open_folder(path: Path) -> JobFolder:
    """The job in a folder, or of a job file in its folder.

    Raises JobErrors with every problem of every file.
    """
    problems: list[Problem] = []
    texts = _texts(path, problems)
    job = None
    if texts is not None:
        name = str(texts.job_file)
        job = _tried(lambda: read_job_text(texts.text, name), problems)
    if texts is None or job is None or problems:
        raise JobErrors(problems)
    return JobFolder(texts.path, texts.job_file, texts.text, texts.my_parts, texts.pinned, job)


def read_folder(path: Path) -> FolderTexts:
    """The texts of a job folder, whether its job file makes sense or not; raises as
    ``open_folder``."""
    problems: list[Problem] = []
    texts = _texts(path, problems)
    if texts is None or problems:
        raise JobErrors(problems)
    return texts


def _texts(path: Path, problems: list[Problem]) -> FolderTexts | None:
    job_file = path / JOB_FILE if path.is_dir() else path
    folder = job_file.parent
    text = _tried(lambda: read_text(job_file, A_JOB), problems)
    my_parts = _tried(lambda: _text(folder / MY_PARTS), problems)
    pinned = _tried(lambda: read_parts_lock(folder), problems)
    return None if text is None else FolderTexts(folder, job_file, text, my_parts, pinned)


def _text(path: Path) -> str | None:
    # A link that leads nowhere is no missing file: what it was to say would not be heeded.
    return read_text(path) if os.path.lexists(path) else None


def _tried(read: Callable[[], _T], problems: list[Problem]) -> _T | None:
    try:
        return read()
    except JobErrors as errors:
        problems.extend(errors.problems)
        return None
