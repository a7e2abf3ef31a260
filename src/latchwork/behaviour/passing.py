"""The four questions: who can pass a door, and by what, in every power and mode."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from latchwork.behaviour.outcomes import (
    BEGINS,
    HELD,
    LOCK_SLOTS,
    DoorOutcome,
    LockState,
    missing_locks,
)
from latchwork.behaviour.situations import Event, Mode, Power, by_key
from latchwork.job.model import OutBy
from latchwork.job.names import EXIT_SLOTS
from latchwork.parts import lever_frees, sees_who_comes
from latchwork.plan import Plan
from latchwork.plan.places import OUTSIDE, out_of_reach

SENSOR = "exit sensor"
"""The kind that sees whoever comes."""


@dataclass(frozen=True, slots=True)
class Pass:
    """Whether somebody gets through, and by what."""

    can: bool
    by: str
    """A word key: "lever", "panic bar", "exit", "second exit", "bar", "release", "card", "key",
    "not locked", "one leaf", "for a time", "release only", "out of reach", "one leaf only",
    "nothing", "locked", "marginal", "chatter"."""


@dataclass(frozen=True, slots=True)
class DoorState:
    """The four questions in one power and mode."""

    power: Power
    mode: Mode
    which: str
    stands_open: Pass
    """Whether the door gives way with nobody about: what its own locking comes to."""
    enter_without_right: Pass
    """The same, or by what asks to leave or releases the door and is within reach from outside."""
    enter_with_right: Pass
    leave: Pass
    leave_unit_dead: Pass
    latch_holds: bool
    """Nothing has drawn a strike's keeper or bolt back: the latch stays thrown."""


def leaf_each(plan: Plan, door: str) -> bool:
    """Whether each lock holds a leaf of its own. Such a door is open where one of them is."""
    planned = plan.doors[door]
    fitted = [planned.devices[slot] for slot in LOCK_SLOTS if slot in planned.devices]
    return planned.door.leaf_each([plan.devices[device].part.kind for device in fitted])


def way_locks(plan: Plan, door: str) -> tuple[str, ...]:
    """The locks that must be free for people to pass: all of them; of two leaves with a lock each
    of which one is active, the active one's, which the file calls ``lock``."""
    planned = plan.doors[door]
    slots = [slot for slot in LOCK_SLOTS if slot in planned.devices]
    if leaf_each(plan, door) and planned.door.facts.get("active leaf") in ("left", "right"):
        slots = slots[:1]
    return tuple(planned.devices[slot] for slot in slots)


def within_reach(plan: Plan, door: str) -> tuple[str, ...]:
    """The slots of what asks to leave, and of the release, that somebody outside sets off: it
    stands there, or is a sensor that sees them. A switch that wants a key is nobody's else."""
    planned = plan.doors[door]
    seen = planned.door.facts.get("sensor seen from outside") is True
    slots = []
    for slot in (*EXIT_SLOTS, "release"):
        device = plan.devices.get(planned.devices.get(slot, ""))
        if device is None or device.part.kind == "key switch":
            continue
        if device.place in OUTSIDE or (seen and device.part.kind == SENSOR):
            slots.append(slot)
    return tuple(slots)


def door_states(result: DoorOutcome, plan: Plan) -> tuple[DoorState, ...]:
    """The four questions for every power and mode that was run."""
    devices = plan.doors[result.door].devices
    released = "release" in devices
    stages: dict[tuple[Power, Mode, str], dict[tuple[Event, str], int]] = {}
    for n, s in enumerate(result.situations):
        if s.event is Event.RELEASE and not released:
            continue
        stages.setdefault((s.power, s.mode, s.lost), {})[s.event, s.which] = n
    out_by = plan.doors[result.door].door.out_by
    asks = next((s for s in EXIT_SLOTS if s in devices), "exit")
    sensing = frozenset(
        s for s in EXIT_SLOTS if s in devices and sees_who_comes(plan.devices[devices[s]].part)
    )
    reached = within_reach(plan, result.door)
    beyond = out_of_reach(plan, result.door)
    right = "key" if by_key(plan, result.door) else "card"
    look = _Look(result, plan)
    states = []
    for (power, mode, lost), events in stages.items():
        if (Event.NOBODY, "") not in events:
            continue
        stands_open = _stands_open(look, events[Event.NOBODY, ""])
        states.append(
            DoorState(
                power,
                mode,
                lost,
                stands_open,
                stands_open if stands_open.can else _by_reach(look, events, asks, reached),
                _enter_with(look, events, right),
                _leave(look, events, Event.EXIT, out_by, asks, sensing, beyond),
                _leave(look, events, Event.DEAD, out_by, asks, sensing, beyond),
                look.latch_holds(events[Event.NOBODY, ""]),
            )
        )
    return tuple(states)


class _Look:
    """The lock states of an outcome as plain lists: each is looked at many times."""

    def __init__(self, result: DoorOutcome, plan: Plan) -> None:
        self._states: list[list[list[int]]] = [lock.state.tolist() for lock in result.locks]
        self._leaf_each = leaf_each(plan, result.door)
        gone = missing_locks(result, plan)
        self._leaf_free = self._leaf_each and bool(gone)
        self._latch_gone = any(lever_frees(plan.devices[name].part) for name in gone)
        self._levers = [lock.lever_frees for lock in result.locks]
        ways = way_locks(plan, result.door)
        self._ways = [n for n, lock in enumerate(result.locks) if lock.device in ways]

    def door(self, column: int, moment: int) -> LockState:
        """The door's own state: unlocked only when every lock is, or the active leaf's."""
        states = [self._states[n][column][moment] for n in self._ways]
        if all(state == LockState.UNLOCKED for state in states):
            return LockState.UNLOCKED
        for worst in (LockState.LOCKED, LockState.CHATTER, LockState.MARGINAL):
            if worst in states:
                return worst
        return LockState.LOCKED

    def shut(self, column: int, moment: int) -> LockState:
        """The state of the door as one who has no right finds it: of two leaves, of the one that
        gives way."""
        states = {state[column][moment] for state in self._states}
        if self._leaf_free:
            return LockState.UNLOCKED
        if self._leaf_each:
            for worst in (LockState.UNLOCKED, LockState.CHATTER, LockState.MARGINAL):
                if worst in states:
                    return worst
        return self.door(column, moment)

    def freed(self, column: int, moment: int, mechanical: bool) -> bool:
        """Whether every lock is unlocked, or freed by the lever where ``mechanical``."""
        return all(self._free(n, column, moment, mechanical) for n in self._ways)

    def one_leaf(self, column: int, moment: int, mechanical: bool) -> bool:
        """The same of one leaf of two."""
        return self._leaf_each and (
            self._leaf_free
            or any(self._free(n, column, moment, mechanical) for n in range(len(self._states)))
        )

    def _free(self, n: int, column: int, moment: int, mechanical: bool) -> bool:
        unlocked = self._states[n][column][moment] == LockState.UNLOCKED
        return unlocked or (mechanical and self._levers[n])

    def latch_holds(self, column: int) -> bool:
        """Whether every lock on which the latch hangs is there and holds it."""
        return not self._latch_gone and all(
            state[column][HELD] == LockState.LOCKED
            for state, lever in zip(self._states, self._levers, strict=True)
            if lever
        )


def _stands_open(look: _Look, nobody: int) -> Pass:
    for moment in (HELD, BEGINS):
        state = look.shut(nobody, moment)
        if state is LockState.UNLOCKED and look.door(nobody, moment) is not LockState.UNLOCKED:
            return Pass(True, "one leaf")
        if state is LockState.UNLOCKED and moment == HELD:
            return Pass(True, "not locked")
        if state is LockState.UNLOCKED:
            return Pass(True, "for a time")
        if state is LockState.MARGINAL:
            return Pass(True, "marginal")
        if state is LockState.CHATTER:
            return Pass(True, "chatter")
    return Pass(False, "locked")


def _by_reach(
    look: _Look, events: Mapping[tuple[Event, str], int], asks: str, reached: Sequence[str]
) -> Pass:
    """By what is within ``reached`` from outside a door that is locked is not, surely or not."""
    for (event, which), column in events.items():
        slot = "release" if event is Event.RELEASE else which or asks
        if event not in (Event.EXIT, Event.RELEASE) or slot not in reached:
            continue
        if any(look.shut(column, n) is not LockState.LOCKED for n in (BEGINS, HELD)):
            return Pass(True, slot)
    return Pass(False, "locked")


def _enter_with(look: _Look, events: Mapping[tuple[Event, str], int], right: str) -> Pass:
    column = events.get((Event.CREDENTIAL, ""))
    if column is None:
        return Pass(False, "nothing")
    if look.door(events[Event.NOBODY, ""], HELD) is LockState.UNLOCKED:
        return Pass(True, "not locked")
    state = look.door(column, BEGINS)
    if state is LockState.UNLOCKED:
        return Pass(True, right)
    if look.one_leaf(column, BEGINS, False):
        return Pass(False, "one leaf only")
    by = {LockState.MARGINAL: "marginal", LockState.CHATTER: "chatter"}.get(state, "nothing")
    return Pass(False, by)


def _leave(
    look: _Look,
    events: Mapping[tuple[Event, str], int],
    event: Event,
    out_by: OutBy,
    asks: str,
    sensing: frozenset[str],
    beyond: Sequence[str],
) -> Pass:
    """``asks``: the slot of the door's only exit device; ``sensing``: those that see whoever comes;
    ``beyond``: what those inside do not reach.

    A unit that dies may lock a door that stood unlocked, and so may a sensor as one walks up to it:
    then what was free before does not count.
    """
    mechanical = out_by is not OutBy.NOTHING
    before = [events[Event.NOBODY, ""]]
    for (kind, which), column in events.items():
        if kind is event and (event is Event.DEAD or (which or asks) in sensing):
            before.append(column)
    if all(look.freed(column, HELD, False) for column in before):
        return Pass(True, "not locked")
    if mechanical and all(look.freed(column, HELD, True) for column in before):
        return Pass(True, "lever" if out_by is OutBy.LEVER else "panic bar")
    unreached = False
    for (kind, which), column in events.items():
        if kind is not event:
            continue
        by = which or asks
        if by in beyond:
            unreached |= look.freed(column, BEGINS, mechanical)
            continue
        if look.freed(column, BEGINS, False):
            return Pass(True, by)
        if mechanical and look.freed(column, BEGINS, True):
            return Pass(True, by if by == "bar" else f"{by} and {out_by.value}")
    release = events.get((Event.RELEASE, ""))
    if release is not None and look.freed(release, BEGINS, mechanical):
        if "release" not in beyond:
            return Pass(False, "release only")
        unreached = True
    if unreached:
        return Pass(False, "out of reach")
    asked = [column for (kind, _), column in events.items() if kind is event]
    if all(look.one_leaf(n, HELD, mechanical) for n in before) or any(
        look.one_leaf(n, BEGINS, mechanical) for n in asked
    ):
        return Pass(False, "one leaf only")
    worst = {look.door(n, BEGINS) for (k, _), n in events.items() if k is event}
    if LockState.MARGINAL in worst:
        return Pass(False, "marginal")
    if LockState.CHATTER in worst:
        return Pass(False, "chatter")
    return Pass(False, "nothing")
