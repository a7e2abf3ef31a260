"""The answer of ``schedules``, from a site as run."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from latchwork.answers.beyond import BEYOND, beyond, not_tried
from latchwork.answers.check import finding_line
from latchwork.answers.opening import today
from latchwork.answers.schedules.lists import cables, connections, order
from latchwork.answers.schedules.model import DoorRow, SchedulesAnswer
from latchwork.answers.schedules.power import supplies
from latchwork.answers.schedules.readings import readings
from latchwork.answers.schedules.stands import Stands
from latchwork.answers.schedules.trials import trials
from latchwork.behaviour import Case, DoorState, Event, Mode, Power, Progress, SiteOutcome
from latchwork.behaviour.meter import Metered, behave_and_meter
from latchwork.drawing.index import Index, index
from latchwork.findings import Finding
from latchwork.job.model import Duty, Locking
from latchwork.job.names import EXIT_SLOTS
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
    tried = {door: _answered(site, door, cases) for door, cases in shown.items()}
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
        readings(site, looked_up, stands, tried),
        {door: trials(site, door, cases[Case.NOMINAL].situations) for door, cases in tried.items()},
        say("caution"),
    )


def _answered(
    site: SiteOutcome, door: str, cases: Mapping[Case, Metered]
) -> Mapping[Case, Metered]:
    """A door as metered, without the situations of which what comes is beyond the model."""
    left_out = not_tried(site.wiring, door)
    if not left_out:
        return cases
    return {case: _some(metered, left_out) for case, metered in cases.items()}


def _some(metered: Metered, left_out: Collection[Event]) -> Metered:
    kept = [n for n, s in enumerate(metered.situations) if s.event not in left_out]
    return replace(
        metered,
        situations=tuple(metered.situations[n] for n in kept),
        volts={name: volts[kept] for name, volts in metered.volts.items()},
        locks={name: volts[kept] for name, volts in metered.locks.items()},
        amps={name: amps[kept] for name, amps in metered.amps.items()},
    )


def _door(site: SiteOutcome, name: str, worst: str) -> DoorRow:
    planned = site.plan.doors[name]
    door = planned.door
    states = {(s.power, s.mode, s.which): s for s in site.states.get(name, ())}
    normal = states.get((Power.MAINS, Mode.NORMAL, ""))
    lost = states.get((Power.ALL_LOST, Mode.NORMAL, ""))
    fire = states.get((Power.MAINS, Mode.FIRE_ALARM, ""))
    panel = states.get((Power.MAINS, Mode.PANEL_LOST, ""))
    its = beyond(site.wiring, name)

    def by(state: DoorState | None, question: str) -> str:
        if state is None:
            return ""
        if its and question in its.not_answered:
            return BEYOND
        return state.leave.by if question == "leave" else state.enter_with_right.by

    gone = {s.device for s in site.wiring.states if s.state == "missing"}

    def fitted(*slots: str) -> str:
        ids = [planned.devices[s] for s in slots if s in planned.devices]
        parts = [(site.plan.devices[i].part.name, i in gone) for i in ids]
        # Parts have commas in their names.
        return "; ".join(say("schedules.gone", {"part": p}) if away else p for p, away in parts)

    rating = getattr(door.facts.get("fire rating"), "value", None)
    return DoorRow(
        name,
        door.name,
        its,
        door.outside,
        door.out_by.value,
        fitted("lock", "second lock"),
        fitted("controller"),
        fitted("reader"),
        fitted(*EXIT_SLOTS),
        fitted("release"),
        fitted("fire"),
        fitted("contact", "latch contact"),
        door.supply,
        _asked(door.power_lost),
        _asked(door.fire_alarm),
        float(rating) if isinstance(rating, int | float) else None,
        by(normal, "enter_with"),
        by(normal, "leave"),
        by(lost, "leave"),
        lost.stands_open.can if lost else False,
        fire.stands_open.can if fire else False,
        by(fire, "leave"),
        by(panel, "leave"),
        door.people_leave,
        worst,
    )


def _asked(duty: Duty) -> str:
    """A word key for what the door was asked to do: "unlocks", "stays locked", "leave" and "leave
    latch" where only the way out was asked for, "as written" where its two sides differ, "" where
    nothing was said."""
    match duty.enter, duty.leave:
        case None, None:
            return ""
        case Locking.UNLOCKED, Locking.UNLOCKED | None:
            return "unlocks"
        case Locking.LOCKED, _:
            return "stays locked"
        case None, Locking.UNLOCKED:
            return "leave latch" if duty.latch_stays else "leave"
        case _:
            return "as written"
