"""From a job on disk to its wiring, where everything starts. Nothing that solves is imported."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from latchwork.findings.problems import Problem
from latchwork.folder import MY_PARTS, PARTS_LOCK, FolderTexts, JobFolder, open_folder, read_folder
from latchwork.further import further, of_whole_doors
from latchwork.job import JobErrors
from latchwork.job.reader import read_as_far
from latchwork.parts import Catalogue, PartsErrors, Pinned, catalogue, differences, from_pin
from latchwork.plan import plan
from latchwork.tree import read_whole
from latchwork.wiring import Wiring, wire

DIGITS = 8
"""Of a job's fingerprint: enough to tell its versions apart."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A job as opened: its folder, its wiring, and the parts it was worked out with.

    ``offered`` is the catalogue with the user's own parts, before pinned figures win over it.
    """

    folder: JobFolder
    offered: Catalogue
    pinned: Pinned
    wiring: Wiring

    @property
    def used(self) -> Catalogue:
        """The catalogue with pinned figures over it."""
        return used_of(self.offered, self.pinned)

    @property
    def unpinned(self) -> tuple[str, ...]:
        """Parts and cables in use whose figures are not pinned yet, by name."""
        kept = {spec.name for spec in self.pinned.parts} | set(self.pinned.cables)
        plan_ = self.wiring.plan
        names = [d.part.name for d in plan_.devices.values()]
        names += [c.type.name for c in plan_.cables.values()]
        return tuple(sorted(set(names) - kept))

    @property
    def overtaken(self) -> tuple[str, ...]:
        """The user's own parts of which another figure is pinned than they say now, by name."""
        own = str(self.folder.my_parts_file)
        used = {device.part.name for device in self.wiring.plan.devices.values()}
        others = {other.part for other in differences(self.pinned, self.offered)}
        names = used & others & set(self.offered.names())
        return tuple(sorted(name for name in names if self.offered.get(name).origin == own))


def open_job(path: Path) -> Opened:
    """The job in a folder or a file, with pinned figures where there are any.

    Raises JobErrors with every problem of the job that can be told in one go, PartsErrors with
    those of its parts.
    """
    try:
        folder = open_folder(path)
    except JobErrors as errors:
        raise JobErrors((*errors.problems, *_of_rest(path, errors.problems)), more=True) from None
    offered, pinned = catalogue_of(folder)
    used = used_of(offered, pinned)
    try:
        planned = plan(folder.job, used)
    except JobErrors as errors:
        more = of_whole_doors(folder.job, used, errors.problems)
        raise JobErrors((*errors.problems, *more), more=True) from None
    return Opened(folder, offered, pinned, wire(planned))


def _of_rest(path: Path, problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """What else is wrong with what could be read of a job."""
    try:
        texts = read_folder(path)
        used = used_of(*catalogue_of(texts))
    except (JobErrors, PartsErrors):
        return ()
    job, _ = read_as_far(texts.text, str(texts.job_file))
    return () if job is None else further(job, used, problems)


def catalogue_of(folder: FolderTexts) -> tuple[Catalogue, Pinned]:
    """The catalogue with the user's own parts, and what the job has pinned. Raises PartsErrors."""
    offered = catalogue()
    if folder.my_parts is not None:
        offered = offered.with_parts(folder.my_parts, str(folder.my_parts_file))
    if folder.pinned is None:
        return offered, Pinned()
    return offered, from_pin(dict(folder.pinned), str(folder.path / PARTS_LOCK))


def used_of(offered: Catalogue, pinned: Pinned) -> Catalogue:
    """The catalogue that a job is worked out with: what is pinned wins."""
    return offered.with_fixed(pinned.parts, pinned.cables)


def fingerprint(job: Path) -> str:
    """The version of a job file, its pinned parts and the user's own: the same figures on paper
    come from the same files."""
    digest = hashlib.sha256(read_whole(job))
    for name in (PARTS_LOCK, MY_PARTS):
        if (job.parent / name).exists():
            digest.update(read_whole(job.parent / name))
    return digest.hexdigest()[:DIGITS]
