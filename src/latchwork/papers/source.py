"""From a job on disk to what papers are made from."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from latchwork.answers import check, open_job
from latchwork.answers.opening import today
from latchwork.answers.schedules import schedules
from latchwork.answers.service import service_plan
from latchwork.behaviour import Progress
from latchwork.behaviour.meter import behave_and_meter
from latchwork.drawing import index
from latchwork.faults import Ask, faults
from latchwork.faults import Progress as Tell
from latchwork.papers.beside import fingerprint
from latchwork.papers.content.pictures import Pictures, pictures
from latchwork.papers.content.source import Source
from latchwork.rules import judge


def source_of(
    path: Path,
    progress: Progress | None = None,
    on: str | None = None,
    service: Tell | None = None,
    beside: Callable[[], tuple[str, Pictures]] | None = None,
) -> tuple[Source, str]:
    """Everything known of the job in a folder or a file, and its version; raises as ``open_job``.

    The version is a fingerprint of the job file and its pinned parts: the same figures on paper
    come from the same files. ``on``: the day (ISO) by which waivers run out; else today.
    ``service``: run every single fault too, for the service plan, and tell this how far it is.
    ``beside``: waits for what a second process makes, from ``ahead``.
    """
    opened = open_job(path)
    version = fingerprint(opened.folder.job_file)
    looked_up = index(opened.wiring)
    site, shown = behave_and_meter(opened.wiring, progress)
    findings = judge(site, on or today())
    drawn = _waited(beside, version) or pictures(looked_up)
    answer = schedules(site, findings, shown, looked_up)
    told = check(site, findings, opened.unpinned)
    plan = None
    if service is not None:
        report = faults(opened.wiring, ask=Ask(attacks=False), progress=service)
        plan = service_plan(opened.wiring, report, service)
    return Source(answer, told, looked_up, drawn, plan), version


def _waited(beside: Callable[[], tuple[str, Pictures]] | None, version: str) -> Pictures | None:
    """What the second process made; None where there is none, where it was ended from outside, and
    where the job was changed meanwhile."""
    if beside is None:
        return None
    try:
        its, done = beside()
    except BrokenProcessPool:
        return None
    return done if its == version else None
