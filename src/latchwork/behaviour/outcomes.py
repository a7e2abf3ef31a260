"""What a run means for a door: lock states, volts, and who can pass, by situation and moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.cases import Case
from latchwork.behaviour.positions import conductance_rows
from latchwork.behaviour.run import Ran
from latchwork.behaviour.shape import compile_shape
from latchwork.behaviour.situations import Event, Mode, Power, Situation, by_key
from latchwork.behaviour.state import MARGINAL, PICKED
from latchwork.elements import Bolt, Fuse, Sense, Source
from latchwork.job.model import OutBy
from latchwork.plan import Plan

LOCK_SLOTS = ("lock", "second lock")
BEGINS, HELD = 0, 1
EXIT_SLOTS = ("exit", "second exit", "bar")
SENSOR = "exit sensor"
"""What asks to leave, in the order it is tried."""


class LockState(IntEnum):
    """Where a lock is. Marginal and chatter count against the door both ways."""

    LOCKED = 0
    UNLOCKED = 1
    MARGINAL = 2
    CHATTER = 3


@dataclass(frozen=True, slots=True)
class LockOutcome:
    """One lock through a door's situations: arrays are situations x moments (begins, held)."""

    device: str
    state: NDArray[np.int8]
    volts: NDArray[np.float64]
    low_volts: NDArray[np.float64]
    high_volts: NDArray[np.float64]
    picks_v: float
    """Volts at which it surely picks up."""
    holds_v: float
    """Volts at which it surely holds."""
    unlocks_energised: bool
    lever_frees: bool


@dataclass(frozen=True, slots=True)
class SenseOutcome:
    """Whether a device had its volts, and the least it saw: situations x moments."""

    flag: str
    on: NDArray[np.bool_]
    low_volts: NDArray[np.float64]
    on_v: float
    off_v: float


@dataclass(frozen=True, slots=True)
class DoorOutcome:
    """A door in one case through its situations."""

    door: str
    case: Case
    situations: tuple[Situation, ...]
    column: Mapping[Situation, int]
    locks: tuple[LockOutcome, ...]
    powered: tuple[SenseOutcome, ...]
    fuse_names: tuple[str, ...]
    fuse_a: NDArray[np.float64]
    """Fuses x situations x moments: amperes while whole."""
    fuse_blown: NDArray[np.bool_]
    feed_names: tuple[str, ...]
    """The sources and loads of the door's supplies themselves: "S1.mains", "S1.charge"."""
    feed_a: NDArray[np.float64]
    """Feeds x situations x moments: amperes given (sources) or taken (loads)."""
    feed_v: NDArray[np.float64]
    chatter: NDArray[np.bool_]
    solved: NDArray[np.bool_]
    most_a: Mapping[str, float]
    """At most current: the highest amperes of each conductor, contact and link, by its name.
    Empty in the other cases."""

    def at(self, power: Power, mode: Mode, event: Event, which: str = "") -> int | None:
        """The column of a situation, None where it was not run."""
        return self.column.get(Situation(power, mode, event, which))


def _both(ran: Ran, name: str, row: int) -> NDArray[Any]:
    return np.stack([getattr(ran.begins, name)[row], getattr(ran.held, name)[row]], axis=1)


def outcome(ran: Ran, plan: Plan) -> DoorOutcome:
    """Reduce a run to what it means for the door."""
    target = ran.target
    network, shape = target.network, target.network.shape
    senses = [r for r in target.things.rules if isinstance(r.what, Sense)]
    bolts = [r for r in target.things.rules if isinstance(r.what, Bolt)]
    slots = plan.doors[target.door].devices
    lock_devices = [slots[s] for s in LOCK_SLOTS if s in slots]
    locks = []
    for n, placed in enumerate(bolts):
        device = placed.flag.rsplit(".", 1)[0]
        if device not in lock_devices or not isinstance(placed.what, Bolt):
            continue
        row = len(senses) + n
        part = plan.devices[device].part
        unlocks = part.facts.get("energised") == "unlocks"
        position = _both(ran, "bolts", n)
        energised_is = LockState.UNLOCKED if unlocks else LockState.LOCKED
        rest_is = LockState.LOCKED if unlocks else LockState.UNLOCKED
        state = np.where(position == PICKED, energised_is, rest_is)
        drawn = network.flags.get(f"{device}.drawn")
        if drawn is not None:
            state = np.where(_both(ran, "flags", drawn), LockState.UNLOCKED, LockState.LOCKED)
        state = np.where(position == MARGINAL, LockState.MARGINAL, state)
        flips = _both(ran, "flips", shape.bolts[n].flag)
        state = np.where(flips, LockState.CHATTER, state)
        a, b = shape.bolts[n].a, shape.bolts[n].b
        volts = np.abs(_both(ran, "volts", a) - _both(ran, "volts", b))
        low = _both(ran, "sense_low_v", row)
        high = _both(ran, "sense_high_v", row)
        locks.append(
            LockOutcome(
                device,
                state.astype(np.int8),
                volts,
                np.where(low * high < 0, 0.0, np.minimum(np.abs(low), np.abs(high))),
                np.maximum(np.abs(low), np.abs(high)),
                placed.what.surely_pick_v,
                placed.what.surely_hold_v,
                unlocks,
                bool(part.facts.get("lever_frees", part.kind in ("strike", "motor"))),
            )
        )
    powered = tuple(
        SenseOutcome(
            r.flag,
            _both(ran, "flags", shape.senses[n].flag).astype(bool),
            _both(ran, "sense_low_v", n),
            float(target.values.sense_on_v[n, 0]),
            float(target.values.sense_off_v[n, 0]),
        )
        for n, r in enumerate(senses)
        if r.flag.endswith(".powered")
    )
    fuses = [e for e in target.things.elements if isinstance(e.what, Fuse)]
    fuse_a, blown = [], []
    for n in range(len(fuses)):
        branch, flag, _ = shape.fuses[n]
        a, b, _ = shape.linear[branch]
        across = np.abs(_both(ran, "volts", a) - _both(ran, "volts", b))
        gone = _both(ran, "flags", flag).astype(bool)
        fuse_a.append(np.where(gone, 0.0, across / target.values.ohm[branch, 0]))
        blown.append(gone)
    owners = {e.name: e.device for e in target.things.elements}
    feeding = {e.device for e in target.things.elements if isinstance(e.what, Source)}
    kinds = [n for n, name in enumerate(network.devices) if owners.get(name) in feeding]
    count = len(target.situations)
    plus_minus = [(shape.devices[n][1], shape.devices[n][2]) for n in kinds]
    return DoorOutcome(
        target.door,
        target.case,
        target.situations,
        {s: n for n, s in enumerate(target.situations)},
        tuple(locks),
        powered,
        tuple(f.name for f in fuses),
        np.array(fuse_a).reshape(len(fuses), count, 2),
        np.array(blown, dtype=bool).reshape(len(fuses), count, 2),
        tuple(network.devices[n] for n in kinds),
        np.stack([ran.begins_a[kinds], ran.held_a[kinds]], axis=2),
        np.array([_both(ran, "volts", p) - _both(ran, "volts", m) for p, m in plus_minus]).reshape(
            len(kinds), count, 2
        ),
        np.stack([ran.begins.chatter, ran.held.chatter], axis=1),
        np.stack([ran.begins.solved, ran.held.solved], axis=1),
        _most_a(ran) if target.case is Case.MOST_CURRENT else {},
    )


def _most_a(ran: Ran) -> Mapping[str, float]:
    network, shape = ran.target.network, ran.target.network.shape
    most = np.zeros(len(shape.linear))
    for point in (ran.begins, ran.held):
        siemens = conductance_rows(compile_shape(shape), ran.target.values, point.flags)
        for n, (a, b, _) in enumerate(shape.linear):
            row = siemens[n]
            if row is not None:
                amps = np.abs(point.volts[a] - point.volts[b]) * row
                # Where contacts never rest, volts and positions are of different moments.
                amps = np.where(point.chatter, 0.0, amps)
                most[n] = max(most[n], float(amps.max(initial=0.0)))
    return dict(zip(network.linear, (float(a) for a in most), strict=True))


@dataclass(frozen=True, slots=True)
class Pass:
    """Whether somebody gets through, and by what."""

    can: bool
    by: str
    """A word key: "lever", "panic bar", "exit", "second exit", "bar", "card", "key", "not locked",
    "one leaf", "release only", "nothing", "marginal", "chatter"."""


@dataclass(frozen=True, slots=True)
class DoorState:
    """The four questions in one power and mode."""

    power: Power
    mode: Mode
    which: str
    enter_without_right: Pass
    enter_with_right: Pass
    leave: Pass
    leave_unit_dead: Pass
    latch_holds: bool
    """Nothing has drawn a strike's keeper or bolt back: the latch stays thrown."""


def leaf_each(plan: Plan, door: str) -> bool:
    """Whether each lock holds a leaf of its own: two of one kind on a door with two leaves (common
    practice, no source). Such a door is open where one of them is."""
    planned = plan.doors[door]
    fitted = [planned.devices[slot] for slot in LOCK_SLOTS if slot in planned.devices]
    kinds = {plan.devices[device].part.kind for device in fitted}
    return planned.door.facts.get("leaves") == 2 and len(fitted) == 2 and len(kinds) == 1


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
        s for s in EXIT_SLOTS if s in devices and plan.devices[devices[s]].part.kind == SENSOR
    )
    right = "key" if by_key(plan, result.door) else "card"
    look = _Look(result, leaf_each(plan, result.door))
    states = []
    for (power, mode, lost), events in stages.items():
        if (Event.NOBODY, "") not in events:
            continue
        states.append(
            DoorState(
                power,
                mode,
                lost,
                _enter_without(look, events[Event.NOBODY, ""]),
                _enter_with(look, events, right),
                _leave(look, events, Event.EXIT, out_by, asks, sensing),
                _leave(look, events, Event.DEAD, out_by, asks, sensing),
                look.latch_holds(events[Event.NOBODY, ""]),
            )
        )
    return tuple(states)


class _Look:
    """The lock states of an outcome as plain lists: each is looked at many times."""

    def __init__(self, result: DoorOutcome, leaf_each: bool) -> None:
        self._states: list[list[list[int]]] = [lock.state.tolist() for lock in result.locks]
        self._leaf_each = leaf_each
        self._levers = [lock.lever_frees for lock in result.locks]

    def door(self, column: int, moment: int) -> LockState:
        """The door's own state: unlocked only when every lock is."""
        states = [state[column][moment] for state in self._states]
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
        if self._leaf_each:
            for worst in (LockState.UNLOCKED, LockState.CHATTER, LockState.MARGINAL):
                if worst in states:
                    return worst
        return self.door(column, moment)

    def freed(self, column: int, moment: int, mechanical: bool) -> bool:
        """Whether every lock is unlocked, or freed by the lever where ``mechanical``."""
        return all(
            (mechanical and lever) or state[column][moment] == LockState.UNLOCKED
            for state, lever in zip(self._states, self._levers, strict=True)
        )

    def latch_holds(self, column: int) -> bool:
        """Whether every lock on which the latch hangs holds it."""
        return all(
            state[column][HELD] == LockState.LOCKED
            for state, lever in zip(self._states, self._levers, strict=True)
            if lever
        )


def _enter_without(look: _Look, nobody: int) -> Pass:
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


def _enter_with(look: _Look, events: Mapping[tuple[Event, str], int], right: str) -> Pass:
    column = events.get((Event.CREDENTIAL, ""))
    if column is None:
        return Pass(False, "nothing")
    if look.door(events[Event.NOBODY, ""], HELD) is LockState.UNLOCKED:
        return Pass(True, "not locked")
    state = look.door(column, BEGINS)
    if state is LockState.UNLOCKED:
        return Pass(True, right)
    by = {LockState.MARGINAL: "marginal", LockState.CHATTER: "chatter"}.get(state, "nothing")
    return Pass(False, by)


def _leave(
    look: _Look,
    events: Mapping[tuple[Event, str], int],
    event: Event,
    out_by: OutBy,
    asks: str,
    sensing: frozenset[str],
) -> Pass:
    """``asks``: the slot of the door's only exit device; ``sensing``: those that see whoever comes.

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
    for (kind, which), column in events.items():
        if kind is not event:
            continue
        by = which or asks
        if look.freed(column, BEGINS, False):
            return Pass(True, by)
        if mechanical and look.freed(column, BEGINS, True):
            return Pass(True, by if by in ("bar", "lever") else f"{by} and {out_by.value}")
    release = events.get((Event.RELEASE, ""))
    if release is not None and look.freed(release, BEGINS, mechanical):
        return Pass(False, "release only")
    worst = {look.door(n, BEGINS) for (k, _), n in events.items() if k is event}
    if LockState.MARGINAL in worst:
        return Pass(False, "marginal")
    if LockState.CHATTER in worst:
        return Pass(False, "chatter")
    return Pass(False, "nothing")
