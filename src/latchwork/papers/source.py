"""From a job on disk to what papers are made from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from latchwork.drawing.index import Index, index
from latchwork.opening import Opened, fingerprint, open_job

if TYPE_CHECKING:
    from latchwork.behaviour import Progress
    from latchwork.faults import Progress as Tell
    from latchwork.papers.content.source import Source


@dataclass(frozen=True, slots=True)
class Begun:
    """A job as opened for its papers. ``version``: the fingerprint of its files."""

    opened: Opened
    index: Index
    version: str


def begin(path: Path) -> Begun:
    """The job in a folder or a file; raises as ``open_job``."""
    opened = open_job(path)
    return Begun(opened, index(opened.wiring), fingerprint(opened.folder.job_file))


def finish(
    begun: Begun,
    progress: Progress | None = None,
    on: str | None = None,
    service: Tell | None = None,
) -> Source:
    """Everything known of a job: run, judged and metered.

    ``on``: the day (ISO) by which waivers run out; else today. ``service``: run every single fault
    too, for what they do and for the service plan, and tell this how far it is.
    """
    # What solves is read here: a second process has parted before.
    from latchwork.answers.check import check
    from latchwork.answers.opening import today
    from latchwork.answers.schedules.answer import schedules
    from latchwork.behaviour.meter import behave_and_meter
    from latchwork.papers.content.source import Source
    from latchwork.rules import judge

    opened = begun.opened
    site, shown = behave_and_meter(opened.wiring, progress)
    findings = judge(site, on or today())
    answer = schedules(site, findings, shown, begun.index)
    told = check(site, findings, opened.unpinned)
    source = Source(answer, told, begun.index)
    if service is not None:
        # Much to read, and hardly ever wanted.
        from latchwork.answers.faults import answered
        from latchwork.answers.service import service_plan
        from latchwork.answers.service_batteries import battery_lines, found_by
        from latchwork.faults import Ask, faults

        report = faults(opened.wiring, ask=Ask(attacks=False, poles=True), progress=service)
        batteries = battery_lines(site, report)
        plan = service_plan(opened.wiring, report, service, elsewhere=found_by(batteries))
        faulted = answered(opened.wiring, report, plan, batteries=batteries)
        source = replace(source, faults=faulted)
    return source


def source_of(
    path: Path,
    progress: Progress | None = None,
    on: str | None = None,
    service: Tell | None = None,
) -> tuple[Source, str]:
    """Everything known of the job in a folder or a file, as ``finish`` tells it, and its version;
    raises as ``open_job``."""
    begun = begin(path)
    return finish(begun, progress, on, service), begun.version
