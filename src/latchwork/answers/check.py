"""The answer of ``check``."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from latchwork.answers.beyond import BEYOND, beyond
from latchwork.answers.model import (
    CheckAnswer,
    DoorLine,
    FindingLine,
    LockLine,
    QuestionLine,
    SupplyLine,
)
from latchwork.behaviour import (
    Case,
    DoorOutcome,
    DoorState,
    Event,
    LockOutcome,
    LockState,
    Mode,
    Power,
    SiteOutcome,
)
from latchwork.findings import Finding, Severity
from latchwork.job.model import OutBy
from latchwork.power.loads import supply_loads
from latchwork.quantities import System
from latchwork.remedies.table import may_mend
from latchwork.rules import least_volts, need
from latchwork.words import say

VERSION = 1
SHOWN = (
    (Power.MAINS, Mode.NORMAL, Event.NOBODY),
    (Power.MAINS, Mode.NORMAL, Event.CREDENTIAL),
    (Power.MAINS, Mode.NORMAL, Event.EXIT),
    (Power.BATTERY_END, Mode.NORMAL, Event.NOBODY),
    (Power.ALL_LOST, Mode.NORMAL, Event.NOBODY),
    (Power.MAINS, Mode.FIRE_ALARM, Event.NOBODY),
    (Power.MAINS, Mode.PANEL_LOST, Event.NOBODY),
)
"""The situations that matter on a door's line."""

_CAN = {"enter_with": "enter_with_right"}


def check(
    site: SiteOutcome,
    findings: tuple[Finding, ...],
    unpinned: tuple[str, ...] = (),
    overtaken: tuple[str, ...] = (),
) -> CheckAnswer:
    """Everything that ``check`` tells, from the site as run and what the rules found."""
    lines = tuple(finding_line(f, site) for f in findings)
    worst: dict[str, str] = {}
    for line in lines:
        worst.setdefault(line.door, line.severity)
    doors = tuple(
        _door_line(site, door, worst.get(door, ""))
        for door in site.plan.doors
        if Case.NOMINAL in site.outcomes.get(door, {})
    )
    job = site.plan.job
    return CheckAnswer(
        VERSION,
        job.site.name,
        job.file,
        doors,
        tuple(
            SupplyLine(
                s.id,
                site.plan.devices[s.id].part.name,
                s.volts,
                s.limit_a,
                dict(s.loads_a),
                s.most_a,
                s.most_when,
                s.charge_a,
                s.margin,
                s.dead,
            )
            for s in supply_loads(site)
        ),
        lines,
        site.points,
        site.unsolved,
        site.chattering,
        unpinned,
        overtaken,
        sum(bool(f.provisional) for f in findings if f.severity < Severity.NOTE),
        say("caution"),
    )


def door_of(subject: str, site: SiteOutcome) -> str:
    """The door a finding's subject belongs to; "" for the site's own things."""
    head = subject.split(".")[0]
    return head if head in site.plan.doors else ""


def finding_line(finding: Finding, site: SiteOutcome) -> FindingLine:
    """A finding with its words."""
    door = door_of(finding.subject, site)
    name = site.plan.doors[door].door.name if door else ""
    # A door that nobody gave a name is called by its id.
    shown = f"{finding.subject} ({name})" if name != door else finding.subject
    figures = dict(finding.figures)
    parameters: dict[str, float | str] = {
        **figures,
        "subject": shown,
        "situation": finding.situation,
    }
    for key, target in (("how", "how"), ("left", "how_left"), ("leave", "how_leave")):
        if key in figures:
            parameters[target] = say(f"how.{_way(figures[key], site, door)}")
    base = f"finding.{finding.rule}"

    def told(key: str) -> str:
        return say(key, parameters, system=System(site.plan.job.site.units))

    why = told(f"{base}.why")
    if "also" in figures:
        more = told(f"{base}.also {figures['also']}")
        why = f"{why} {more}"
    if "waived_by" in figures:
        why = f"{why} {told('waived')}"
    return FindingLine(
        finding.id,
        finding.rule,
        Severity(finding.severity).name.lower(),
        finding.subject,
        door,
        finding.situation,
        figures,
        finding.source,
        finding.provisional,
        told(f"{base}.title"),
        why,
        # What frees the lock ("by current") decides what to do: see ``View.freed``.
        told(f"{base}.do {figures['freed']}" if "freed" in figures else f"{base}.do"),
        say(f"source.{finding.source}"),
        may_mend(finding),
    )


def _way(key: float | str, site: SiteOutcome, door: str) -> float | str:
    """How one passes: what stands in the place of the bar is a lever on a door with one."""
    out_by = site.plan.doors[door].door.out_by if door else OutBy.NOTHING
    return "lever" if key == "bar" and out_by is OutBy.LEVER else key


def _question(state: DoorState) -> QuestionLine:
    return QuestionLine(
        f"{state.power} {state.which}".strip(),
        str(state.mode),
        state.enter_without_right.can,
        state.enter_without_right.by,
        state.enter_with_right.can,
        state.enter_with_right.by,
        state.leave.can,
        state.leave.by,
        state.leave_unit_dead.can,
        state.leave_unit_dead.by,
        state.latch_holds,
    )


def _unanswered(line: QuestionLine, open_: tuple[str, ...]) -> QuestionLine:
    """The line without the answers that are beyond the model."""
    said = {f"{name}_by": BEYOND for name in open_}
    can = {_CAN.get(name, name): False for name in open_}
    return msgspec.structs.replace(line, **said, **can)


def _door_line(site: SiteOutcome, door: str, worst: str) -> DoorLine:
    cases = site.outcomes[door]
    nominal = cases[Case.NOMINAL]
    planned = site.plan.doors[door].door
    its = beyond(site.wiring, door)
    open_ = its.not_answered if its else ()
    return DoorLine(
        door,
        planned.name,
        site.wiring.arrangement.get(door, ""),
        tuple(_unanswered(_question(s), open_) for s in site.states[door]),
        tuple(_lock_line(site, lock, cases) for lock in nominal.locks),
        worst,
        planned.out_by.value,
    )


def _lock_line(site: SiteOutcome, lock: LockOutcome, cases: Mapping[Case, DoorOutcome]) -> LockLine:
    nominal = cases[Case.NOMINAL]
    states = {}
    for power, mode, event in SHOWN:
        column = nominal.at(power, mode, event)
        if column is not None:
            moment = 1 if event is Event.NOBODY else 0
            states[f"{power}/{mode}/{event}"] = LockState(
                int(lock.state[column, moment])
            ).name.lower()
    least_v, least_when = least_volts(lock.device, cases) or (None, "")
    return LockLine(
        lock.device,
        site.plan.devices[lock.device].part.name,
        states,
        least_v,
        *need(lock),
        least_when,
    )
