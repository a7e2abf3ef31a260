"""From a job on disk to what papers are made from."""

from __future__ import annotations

import hashlib
import multiprocessing
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from latchwork.answers import check, open_job
from latchwork.answers.opening import today
from latchwork.answers.schedules import schedules
from latchwork.behaviour import Case, Progress, SiteOutcome, behave
from latchwork.behaviour.meter import Metered, metered
from latchwork.drawing import index
from latchwork.folder import PARTS_LOCK
from latchwork.papers.content.source import Source
from latchwork.rules import judge
from latchwork.wiring import Wiring

DIGITS = 8
"""Of a job's fingerprint: enough to tell its versions apart."""
MANY = 32
"""From so many doors on, a second process that meters them pays."""


def source_of(
    path: Path, progress: Progress | None = None, on: str | None = None
) -> tuple[Source, str]:
    """Everything known of the job in a folder or a file, and its version; raises as ``open_job``.

    The version is a fingerprint of the job file and its pinned parts: the same figures on paper
    come from the same files. ``on``: the day (ISO) by which waivers run out; else today.
    """
    opened = open_job(path)
    site, shown = _ran(opened.wiring, progress)
    findings = judge(site, on or today())
    looked_up = index(opened.wiring)
    answer = schedules(site, findings, shown, looked_up)
    told = check(site, findings, opened.unpinned)
    return Source(answer, told, looked_up), _version(Path(answer.file), opened.folder.path)


def _ran(
    wiring: Wiring, progress: Progress | None
) -> tuple[SiteOutcome, Mapping[str, Mapping[Case, Metered]]]:
    """The site taken through its situations, and metered; side by side where there is much."""
    if len(wiring.plan.doors) < MANY:
        return behave(wiring, progress=progress), metered(wiring)
    apart = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=apart) as second:
        shown = second.submit(metered, wiring)
        return behave(wiring, progress=progress), shown.result()


def _version(job: Path, folder: Path) -> str:
    digest = hashlib.sha256(job.read_bytes())
    pins = folder / PARTS_LOCK
    if pins.exists():
        digest.update(pins.read_bytes())
    return digest.hexdigest()[:DIGITS]
