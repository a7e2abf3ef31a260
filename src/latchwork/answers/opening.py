"""From a job on disk to its check."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from latchwork.answers.check import check
from latchwork.answers.model import CheckAnswer
from latchwork.behaviour import Progress, behave
from latchwork.opening import open_job
from latchwork.rules import judge


def today() -> str:
    """The day on which waivers are looked at, as ISO writes it."""
    return date.today().isoformat()


def check_job(path: Path, progress: Progress | None = None) -> CheckAnswer:
    """Everything that ``check`` tells of the job in a folder or a file; waivers run out by today.
    Raises as ``open_job``."""
    opened = open_job(path)
    site = behave(opened.wiring, progress=progress)
    return check(site, judge(site, today()), opened.unpinned, opened.overtaken)
