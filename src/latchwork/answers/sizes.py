"""The answer of ``sizes``: the smallest conductors, limits and batteries that will do."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import msgspec

from latchwork.answers.check import finding_line
from latchwork.answers.edits import Edit, as_edit
from latchwork.behaviour import SiteOutcome, behave
from latchwork.opening import open_job
from latchwork.quantities import System
from latchwork.remedies.scene import Scene
from latchwork.remedies.sizes import RUN
from latchwork.remedies.sizing import Progress, Sized, smallest_sizes

FORM = 1


class SizeLine(msgspec.Struct, frozen=True):
    """One size. ``kind``: "run", "limit" or "battery"; ``id`` the cable's or the supply's."""

    kind: str
    id: str
    name: str
    """Of the door it belongs to; "" where it belongs to none."""
    length_m: float
    length_known: str
    """How: "measured", "guessed", as in the schedules; "" where it has no length."""
    now: str
    smallest: str
    keeps_from: str
    """What is found one size below; "" where there is no smaller one."""
    wants_more: bool
    """The largest there is, and it will not do."""
    short_v: float | None
    """The volts wanting one size below, where they are fewer than a meter tells; else nothing."""


class SizesAnswer(msgspec.Struct, frozen=True):
    """All sizes; fuses are not among them. ``latchwork_sizes`` is the version of this form."""

    latchwork_sizes: int
    file: str
    us_units: bool
    """Whether the site reads feet."""
    sizes: tuple[SizeLine, ...]
    left: tuple[str, ...]
    """Titles of findings at "weak" or worse, and of notes on a magnet's pull or a battery's margin,
    that no size cures, or only in vain beside those."""
    lines: tuple[str, ...]
    """The difference in the file's own lines."""


def sizes_of(path: Path, progress: Progress | None = None) -> tuple[SizesAnswer, Edit | None]:
    """The smallest sizes of a job, and the edit that sets them; None where all are so already.
    Raises as ``open_job``."""
    opened = open_job(path)
    folder = opened.folder
    site = behave(opened.wiring, progress=partial(progress, 1) if progress is not None else None)
    scene = Scene(folder.text, str(folder.job_file), opened.used, site)
    found = smallest_sizes(scene, progress)
    made = as_edit(folder, found.changes) if found.changes else None
    answer = SizesAnswer(
        FORM,
        str(folder.job_file),
        System(site.plan.job.site.units) is System.US,
        tuple(_line(sized, site) for sized in found.sized),
        tuple(finding_line(f, site).title for f in found.left),
        made.lines if made is not None else (),
    )
    return answer, made


def _line(sized: Sized, site: SiteOutcome) -> SizeLine:
    size, stops = sized.size, sized.keeps_from
    door = size.id.partition(".")[0]
    name = site.plan.doors[door].door.name if door in site.plan.doors else ""
    why = finding_line(stops, site).title if stops is not None else ""
    cable = site.plan.cables.get(size.id) if size.kind == RUN else None
    known = cable.length_m.certainty.value if cable is not None else ""
    return SizeLine(
        *(size.kind, size.id, name, size.length_m, known, size.now, sized.smallest, why),
        sized.wants_more,
        sized.short_v,
    )
