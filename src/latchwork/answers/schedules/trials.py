"""What to try at a door when it is finished, and what should come of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from latchwork.answers.schedules.model import TrialRow
from latchwork.behaviour import (
    Case,
    DoorOutcome,
    DoorState,
    Event,
    LockState,
    Mode,
    Power,
    SiteOutcome,
    Situation,
)
from latchwork.behaviour.outcomes import BEGINS, HELD

NO_LOCK = "no lock"
_DEVICE = {
    "release": ("release", "second release"),
    "fire alarm": ("fire",),
    "fire panel off": ("fire",),
}
"""Trials that need a device in one of these slots."""


def trials(site: SiteOutcome, door: str, possible: Collection[Situation]) -> tuple[TrialRow, ...]:
    """Everything to try at a door, in the order of a visit: what needs no switching off first.

    ``possible``: the situations that the door's kit lets one make.
    """
    result = site.outcomes.get(door, {}).get(Case.NOMINAL)
    if result is None:
        return ()
    slots = site.plan.doors[door].devices
    states = {(s.power, s.mode): s for s in site.states[door] if not s.which}
    rows = []
    for key, situation in _planned(result, possible):
        needed = _DEVICE.get(key)
        if needed is not None and not any(slot in slots for slot in needed):
            continue
        state = states.get((situation.power, situation.mode))
        rows.append(
            TrialRow(key, situation.which, _door(result, situation), _leave(state, situation))
        )
    return tuple(rows)


def _planned(
    result: DoorOutcome, possible: Collection[Situation]
) -> Iterator[tuple[str, Situation]]:
    mains, normal = Power.MAINS, Mode.NORMAL
    yield "at rest", Situation(mains, normal, Event.NOBODY)
    for situation in result.situations:
        key = {Event.CREDENTIAL: "card", Event.EXIT: "exit"}.get(situation.event)
        if key is not None and situation.power is mains and situation in possible:
            yield key, situation
    yield "release", Situation(mains, normal, Event.RELEASE_ALONE)
    yield "fire alarm", Situation(mains, Mode.FIRE_ALARM, Event.NOBODY)
    yield "fire panel off", Situation(mains, Mode.PANEL_LOST, Event.NOBODY)
    yield "mains off", Situation(Power.BATTERY, normal, Event.NOBODY)
    yield "all off", Situation(Power.ALL_LOST, normal, Event.NOBODY)
    yield "power back", Situation(Power.RETURNS, normal, Event.NOBODY)


def _leave(state: DoorState | None, situation: Situation) -> str:
    return state.leave.by if state is not None and situation.event is Event.NOBODY else ""


def _door(result: DoorOutcome, situation: Situation) -> str:
    """The door's own state: unlocked only when every lock is."""
    column = result.column.get(situation)
    if column is None or not result.locks:
        return NO_LOCK
    moment = HELD if situation.event is Event.NOBODY else BEGINS
    states = {LockState(int(lock.state[column, moment])) for lock in result.locks}
    for worst in (LockState.LOCKED, LockState.CHATTER, LockState.MARGINAL):
        if worst in states:
            return worst.name.lower()
    return LockState.UNLOCKED.name.lower()
