"""From a job on disk to what papers are made from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from latchwork.answers import check, open_job
from latchwork.answers.opening import today
from latchwork.answers.schedules import schedules
from latchwork.behaviour import Progress
from latchwork.behaviour.meter import behave_and_meter
from latchwork.drawing import index
from latchwork.papers.content.source import Source
from latchwork.papers.pack import fingerprint
from latchwork.rules import judge

if TYPE_CHECKING:
    from latchwork.faults import Progress as Tell


def source_of(
    path: Path,
    progress: Progress | None = None,
    on: str | None = None,
    service: Tell | None = None,
) -> tuple[Source, str]:
    """Everything known of the job in a folder or a file, and its version; raises as ``open_job``.

    ``on``: the day (ISO) by which waivers run out; else today. ``service``: run every single fault
    too, for the service plan, and tell this how far it is.
    """
    opened = open_job(path)
    version = fingerprint(opened.folder.job_file)
    looked_up = index(opened.wiring)
    site, shown = behave_and_meter(opened.wiring, progress)
    findings = judge(site, on or today())
    answer = schedules(site, findings, shown, looked_up)
    told = check(site, findings, opened.unpinned)
    plan = None
    if service is not None:
        # Much to read, and hardly ever wanted.
        from latchwork.answers.service import service_plan
        from latchwork.faults import Ask, faults

        report = faults(opened.wiring, ask=Ask(attacks=False), progress=service)
        plan = service_plan(opened.wiring, report, service)
    return Source(answer, told, looked_up, plan), version
