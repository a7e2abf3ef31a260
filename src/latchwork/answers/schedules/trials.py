"""What to try at a door when it is finished, and what should come of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from latchwork.answers.beyond import beyond
from latchwork.answers.schedules.model import NO_LOCK, TrialRow
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
from latchwork.behaviour.passing import way_locks
from latchwork.behaviour.situations import KEY, DoorInputs, by_key
from latchwork.job.model import OutBy
from latchwork.job.names import EXIT_SLOTS
from latchwork.power.backed import battery_behind

OPENS = "opens"
BY_HAND = ("bar", "lever")
"""Kinds of exit devices that draw what they are fitted to."""
ALONE = "alone"
"""What stands for the kind where a release is tried that no controller is beside."""
BY_PEOPLE = ("at rest", "card", "exit")
"""Trials that need nothing switched off."""
BESIDE = {"radio": "should unlock", "bell button": "should ring"}
"""Slots of what no situation has beside a reader or controller, and what should come of it."""
_DEVICE = {"release": "release", "fire alarm": "fire", "fire panel off": "fire"}
"""Trials that need a device in this slot."""


def trials(site: SiteOutcome, door: str, possible: Collection[Situation]) -> tuple[TrialRow, ...]:
    """Everything to try at a door, in the order of a visit: what needs no switching off first.

    ``possible``: the situations that the door's kit lets one make.
    """
    result = site.outcomes.get(door, {}).get(Case.NOMINAL)
    if result is None:
        return ()
    slots = site.plan.doors[door].devices
    states = {(s.power, s.mode): s for s in site.states[door] if not s.which}
    its = beyond(site.wiring, door)
    answered = its is None or "leave" not in its.not_answered
    battery = battery_behind(site, door)
    rows = []
    for key, situation in _planned(result, possible, battery=battery):
        if key in _DEVICE and _DEVICE[key] not in slots:
            continue
        device = _kind(site, door, situation, key)
        by_hand = device in BY_HAND and site.plan.doors[door].door.out_by is not OutBy.NOTHING
        state = states.get((situation.power, situation.mode)) if answered else None
        rows.append(
            TrialRow(
                key,
                situation.which,
                device,
                _door(result, situation, by_hand, way_locks(site.plan, door)),
                _leave(state, situation),
            )
        )
    first = sum(row.key in BY_PEOPLE for row in rows)
    return (*rows[:first], *_beside(site, door), *rows[first:])


def _beside(site: SiteOutcome, door: str) -> Iterator[TrialRow]:
    """What is fitted besides and in no situation: it is tried all the same, or nobody does.

    No step where the way in or out is beyond the model.
    """
    its = beyond(site.wiring, door)
    units = DoorInputs(site.plan, door, ()).units
    for slot, state in BESIDE.items():
        asks = slot != "bell button"
        if slot in site.plan.doors[door].devices and slot not in units and not (asks and its):
            yield TrialRow("beside", "", slot, state, "")


def _kind(site: SiteOutcome, door: str, situation: Situation, key: str) -> str:
    """The kind of what one leaves by, or of what one comes in by where it is no card or code; of a
    release, whether there is no controller to unplug."""
    slots = site.plan.doors[door].devices
    if key == "card" and (situation.which == KEY or by_key(site.plan, door)):
        return KEY
    if key == "release" and "controller" not in slots:
        return ALONE
    if key != "exit":
        return ""
    slot = situation.which or next(s for s in EXIT_SLOTS if s in slots)
    return site.plan.devices[slots[slot]].part.kind


def _planned(
    result: DoorOutcome, possible: Collection[Situation], *, battery: bool
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
    yield (
        "mains off" if battery else "mains alone off",
        Situation(Power.BATTERY, normal, Event.NOBODY),
    )
    if battery:
        yield "all off", Situation(Power.ALL_LOST, normal, Event.NOBODY)
    yield "power back", Situation(Power.RETURNS, normal, Event.NOBODY)


def _leave(state: DoorState | None, situation: Situation) -> str:
    return state.leave.by if state is not None and situation.event is Event.NOBODY else ""


def _door(result: DoorOutcome, situation: Situation, by_hand: bool, ways: Collection[str]) -> str:
    """The door's own state: unlocked only when every lock is that people pass by. ``by_hand``: what
    one works frees some locks by itself."""
    column = result.column.get(situation)
    locks = [lock for lock in result.locks if lock.device in ways]
    if column is None or not locks:
        return NO_LOCK
    moment = HELD if situation.event is Event.NOBODY else BEGINS
    now = [(lock, LockState(int(lock.state[column, moment]))) for lock in locks]
    if all(state is LockState.UNLOCKED for _, state in now):
        return LockState.UNLOCKED.name.lower()
    states = {state for lock, state in now if not (by_hand and lock.lever_frees)}
    for worst in (LockState.LOCKED, LockState.CHATTER, LockState.MARGINAL):
        if worst in states:
            return worst.name.lower()
    return OPENS
