"""The answer of ``schedules``, from a site as run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from latchwork.answers.check import finding_line
from latchwork.answers.opening import today
from latchwork.answers.schedules.lists import cables, connections, order
from latchwork.answers.schedules.model import DoorRow, SchedulesAnswer
from latchwork.answers.schedules.power import supplies
from latchwork.answers.schedules.readings import readings
from latchwork.answers.schedules.stands import Stands
from latchwork.answers.schedules.trials import trials
from latchwork.behaviour import Case, Mode, Power, Progress, SiteOutcome
from latchwork.behaviour.meter import Metered, behave_and_meter
from latchwork.drawing.index import Index, index
from latchwork.findings import Finding
from latchwork.job.model import Duty, Locking
from latchwork.opening import open_job
from latchwork.rules import judge
from latchwork.words import say

VERSION = 1


def schedules_job(path: Path, progress: Progress | None = None) -> SchedulesAnswer:
    """Every schedule of the job in a folder or a file; raises as ``open_job``."""
    wiring = open_job(path).wiring
    site, shown = behave_and_meter(wiring, progress)
    return schedules(site, judge(site, today()), shown, index(wiring))


def schedules(
    site: SiteOutcome,
    findings: Sequence[Finding],
    shown: Mapping[str, Mapping[Case, Metered]],
    looked_up: Index,
) -> SchedulesAnswer:
    """Every schedule of a site as run, judged and metered."""
    stands = Stands(looked_up)
    job = site.plan.job
    rows = cables(looked_up, stands)
    worst: dict[str, str] = {}
    for line in (finding_line(f, site) for f in findings):
        worst.setdefault(line.door, line.severity)
    return SchedulesAnswer(
        VERSION,
        job.site.name,
        job.site.reference,
        job.file,
        job.site.units == "US",
        tuple(_door(site, door, worst.get(door, "")) for door in site.plan.doors),
        connections(looked_up, stands),
        rows,
        order(site.plan, rows),
        supplies(site, shown),
        readings(site, looked_up, stands, shown),
        {door: trials(site, door, cases[Case.NOMINAL].situations) for door, cases in shown.items()},
        say("caution"),
    )


def _door(site: SiteOutcome, name: str, worst: str) -> DoorRow:
    planned = site.plan.doors[name]
    door = planned.door
    states = {(s.power, s.mode, s.which): s for s in site.states.get(name, ())}
    normal = states.get((Power.MAINS, Mode.NORMAL, ""))
    lost = states.get((Power.ALL_LOST, Mode.NORMAL, ""))
    fire = states.get((Power.MAINS, Mode.FIRE_ALARM, ""))
    panel = states.get((Power.MAINS, Mode.PANEL_LOST, ""))

    def fitted(*slots: str) -> str:
        ids = [planned.devices[s] for s in slots if s in planned.devices]
        return ", ".join(site.plan.devices[i].part.name for i in ids)

    rating = getattr(door.facts.get("fire rating"), "value", None)
    return DoorRow(
        name,
        door.name,
        door.outside,
        door.out_by.value,
        fitted("lock", "second lock"),
        fitted("controller"),
        fitted("reader", "second reader"),
        fitted("exit", "second exit", "bar", "lever"),
        fitted("release", "second release"),
        fitted("fire"),
        fitted("contact", "latch contact"),
        door.supply,
        _asked(door.power_lost),
        _asked(door.fire_alarm),
        float(rating) if isinstance(rating, int | float) else None,
        normal.enter_with_right.by if normal else "",
        normal.leave.by if normal else "",
        lost.leave.by if lost else "",
        lost.enter_without_right.can if lost else False,
        fire.enter_without_right.can if fire else False,
        fire.leave.by if fire else "",
        panel.leave.by if panel else "",
        worst,
    )


def _asked(duty: Duty) -> str:
    """A word key for what the door was asked to do: "unlocks", "stays locked", "as written" where
    its two sides differ, "" where nothing was said."""
    match duty.enter, duty.leave:
        case None, None:
            return ""
        case Locking.UNLOCKED, Locking.UNLOCKED | None:
            return "unlocks"
        case Locking.LOCKED, _:
            return "stays locked"
        case _:
            return "as written"
