"""What a run means for a door: lock states, volts and amperes, by situation and moment."""

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
from latchwork.behaviour.situations import Event, Mode, Power, Situation
from latchwork.behaviour.state import MARGINAL, PICKED
from latchwork.circuit import APART
from latchwork.elements import Bolt, Fuse, Sense, Source
from latchwork.parts import lever_frees
from latchwork.plan import Plan

LOCK_SLOTS = ("lock", "second lock")
BEGINS, HELD = 0, 1


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
    """The sources and loads of the door's supplies themselves: "S1.mains supply", "S1.charger"."""
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


def missing_locks(result: DoorOutcome, plan: Plan) -> tuple[str, ...]:
    """The locks of a door that are planned and not there."""
    slots = plan.doors[result.door].devices
    there = {lock.device for lock in result.locks}
    return tuple(slots[s] for s in LOCK_SLOTS if s in slots and slots[s] not in there)


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
        # Between ends that nothing joins, as across a coil that is open, there are no volts.
        apart = _both(ran, "bonds", row) & APART
        volts = np.where(apart, 0.0, np.abs(_both(ran, "volts", a) - _both(ran, "volts", b)))
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
                lever_frees(part),
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
