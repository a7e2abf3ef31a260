"""Problems of a job, told with the place in the file that they come from."""

from __future__ import annotations

from latchwork.job.model import Job, Origin
from latchwork.job.problems import Problem


def problem_at(job: Job, path: str, found: str, expected: str, code: str) -> Problem:
    """A problem at ``path`` ("doors.D3.lock"), or at the nearest place above it that is known."""
    origin = _origin(job, path)
    return Problem(
        file=origin.file,
        line=origin.line,
        column=origin.column,
        field=path,
        found=found,
        expected=expected,
        code=code,
    )


def _origin(job: Job, path: str) -> Origin:
    while path:
        found = job.origins.get(path)
        if found is not None:
            return found
        path = path.rpartition(".")[0]
    return Origin(job.file, 1, 1)
