"""A fault run that is held, and run again only where an edit changed something."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from operator import attrgetter

from latchwork.faults.ask import Ask
from latchwork.faults.lot import Lot, LotReport, SectionReport, run_lot
from latchwork.faults.model import Counts, FaultReport
from latchwork.faults.report import Progress, joined, run_sites
from latchwork.faults.sections import Section, sections
from latchwork.faults.spread import Cores, Over, uncollected
from latchwork.plan import PlannedDevice
from latchwork.wiring import Wiring

_BESIDE = attrgetter(*(f.name for f in fields(PlannedDevice) if f.name != "part"))
"""What a device is besides its part."""


@dataclass(frozen=True, slots=True)
class Held:
    """A whole site's fault run with what it takes to run it again in part.

    ``came``: what came of each of ``sections``; ``report`` is all of it.
    """

    ask: Ask
    sections: tuple[Section, ...]
    came: tuple[SectionReport, ...]
    report: FaultReport


def hold(
    wiring: Wiring,
    ask: Ask | None = None,
    progress: Progress | None = None,
    over: Over | None = None,
) -> Held:
    """Run every door's faults, and keep them apart. Pairs and single what-ifs hang on the site as
    a whole: ValueError where they are asked for."""
    ask = ask or Ask()
    if ask.pairs or ask.all_rows:
        raise ValueError("found pairs or rows asked for, expected neither in a run that is held")
    with over or Cores(ask.processes) as way:
        (ran,) = run_sites([(wiring, None)], ask, progress, way)
    report = joined(wiring, ran.came, ran.work, ask)
    return Held(ask, tuple(ran.sections), tuple(ran.came), report)


def again(before: Held, wiring: Wiring, progress: Progress | None = None) -> Held:
    """The same run of an edited site, in this process.

    Only sections that are not to the letter what they were are run. The report is that of a whole
    run; the work counted with single faults is what was done now.
    """
    after = sections(wiring)
    known = {
        section.door_ids: (section, came)
        for section, came in zip(before.sections, before.came, strict=True)
    }
    kept: dict[int, SectionReport] = {}
    same = _Same()
    for n, section in enumerate(after):
        was = known.get(section.door_ids)
        if was is not None and same.sections(was[0], section):
            kept[n] = was[1]
    changed = [n for n in range(len(after)) if n not in kept]
    lot = LotReport((), Counts())
    if changed:
        parts = tuple(after[n] for n in changed)
        with uncollected():
            lot = run_lot(Lot(parts, None, before.ask, alone=True), progress or _nothing)
        kept.update(zip(changed, lot.sections, strict=True))
    came = tuple(kept[n] for n in range(len(after)))
    return Held(before.ask, tuple(after), came, joined(wiring, came, lot.work, before.ask))


class _Same:
    """Whether sections are to the letter the same. Parts, which many devices have in common, are
    compared once."""

    def __init__(self) -> None:
        self._parts: dict[tuple[int, int], bool] = {}

    def sections(self, one: Section, other: Section) -> bool:
        """Whether two sections are."""
        return (
            len(one.devices) == len(other.devices)
            and all(map(self._devices, one.devices, other.devices))
            and replace(one, devices=()) == replace(other, devices=())
        )

    def _devices(self, one: PlannedDevice, other: PlannedDevice) -> bool:
        if one is other:
            return True
        key = id(one.part), id(other.part)
        if key not in self._parts:
            self._parts[key] = one.part == other.part
        return self._parts[key] and _BESIDE(one) == _BESIDE(other)


def _nothing(_: str, done: int, total: int) -> None:
    """Tell nobody."""
