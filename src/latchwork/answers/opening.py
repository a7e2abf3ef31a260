"""From a job on disk to its wiring and its check: what every answer starts from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from latchwork.answers.check import check
from latchwork.answers.model import CheckAnswer
from latchwork.behaviour import Progress, behave
from latchwork.folder import PARTS_LOCK, FolderTexts, JobFolder, open_folder
from latchwork.parts import Catalogue, Pinned, catalogue, from_pin
from latchwork.plan import plan
from latchwork.rules import judge
from latchwork.wiring import Wiring, wire


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


def open_job(path: Path) -> Opened:
    """The job in a folder or a file, with pinned figures where there are any.

    Raises JobErrors with every problem of the job, PartsErrors with those of its parts.
    """
    folder = open_folder(path)
    offered, pinned = catalogue_of(folder)
    return Opened(folder, offered, pinned, wire(plan(folder.job, used_of(offered, pinned))))


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


def today() -> str:
    """The day on which waivers are looked at, as ISO writes it."""
    return date.today().isoformat()


def check_job(path: Path, progress: Progress | None = None, on: str | None = None) -> CheckAnswer:
    """Everything that ``check`` tells of the job in a folder or a file; raises as ``open_job``.

    ``on``: the day (ISO) by which waivers run out; today where nothing is said.
    """
    opened = open_job(path)
    site = behave(opened.wiring, progress=progress)
    return check(site, judge(site, on or today()), opened.unpinned)
