"""From a job on disk to what papers are made from."""

from __future__ import annotations

import gc
import hashlib
import multiprocessing
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from latchwork.answers import check, open_job
from latchwork.answers.opening import today
from latchwork.answers.schedules import schedules
from latchwork.answers.service import service_plan
from latchwork.behaviour import Case, Progress, behave
from latchwork.behaviour.meter import Metered, metered
from latchwork.drawing import index
from latchwork.faults import Ask, faults
from latchwork.faults import Progress as Tell
from latchwork.folder import PARTS_LOCK
from latchwork.papers.content.pictures import pictures
from latchwork.papers.content.source import Source
from latchwork.rules import judge
from latchwork.wiring import Wiring

DIGITS = 8
"""Of a job's fingerprint: enough to tell its versions apart."""
MANY = 48
"""From so many doors on, a second process that meters them pays."""


def source_of(
    path: Path,
    progress: Progress | None = None,
    on: str | None = None,
    service: Tell | None = None,
) -> tuple[Source, str]:
    """Everything known of the job in a folder or a file, and its version; raises as ``open_job``.

    The version is a fingerprint of the job file and its pinned parts: the same figures on paper
    come from the same files. ``on``: the day (ISO) by which waivers run out; else today.
    ``service``: run every single fault too, for the service plan, and tell this how far it is.
    """
    opened = open_job(path)
    looked_up = index(opened.wiring)
    with _metered(opened.wiring) as readings:
        site = behave(opened.wiring, progress=progress)
        findings = judge(site, on or today())
        drawn = pictures(looked_up)
        answer = schedules(site, findings, readings(), looked_up)
    told = check(site, findings, opened.unpinned)
    plan = None
    if service is not None:
        report = faults(opened.wiring, ask=Ask(attacks=False), progress=service)
        plan = service_plan(opened.wiring, report, service)
    source = Source(answer, told, looked_up, drawn, plan)
    return source, _version(Path(answer.file), opened.folder.path)


@contextmanager
def _metered(wiring: Wiring) -> Iterator[Callable[[], Mapping[str, Mapping[Case, Metered]]]]:
    """Gives the readings of every door when called; worked out beside where there is much."""
    if len(wiring.plan.doors) < MANY:
        yield lambda: metered(wiring)
        return
    apart = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=apart, initializer=gc.disable) as second:
        yield second.submit(metered, wiring).result


def _version(job: Path, folder: Path) -> str:
    digest = hashlib.sha256(job.read_bytes())
    pins = folder / PARTS_LOCK
    if pins.exists():
        digest.update(pins.read_bytes())
    return digest.hexdigest()[:DIGITS]
