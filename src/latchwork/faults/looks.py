"""What was solved, as faults are judged by: lock states, what people see, what is counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.outcomes import LockState
from latchwork.behaviour.shape import Compiled, Values
from latchwork.behaviour.situations import Event, Mode, Power, Situation
from latchwork.behaviour.solved import Solved
from latchwork.behaviour.state import MARGINAL, PICKED
from latchwork.circuit import ADRIFT, APART, LOOSE
from latchwork.faults.consequences import Bools, Seen, States
from latchwork.faults.door_facts import Cases, DoorFacts
from latchwork.faults.model import Counts

MOMENTS = (False, True)


@dataclass(frozen=True, slots=True)
class Run:
    """Members solved side by side: ``values`` things x members (or one for all)."""

    compiled: Compiled
    values: Values
    solved: Solved


@dataclass(frozen=True, slots=True)
class Moment:
    """Members, each in a situation at a moment (places): flags x places; states and volts of locks
    x places."""

    flags: NDArray[np.bool_]
    states: NDArray[np.int8]
    volts: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SoundDoor:
    """A door without a fault, to hold the others against."""

    states: States
    seen: Seen
    volts: NDArray[np.float64]
    """Locks x members (one) x situations x moments."""
    flags: NDArray[np.bool_]
    """Flags x situations x moments."""

    def at(self, situations: Sequence[int], moments: Sequence[int]) -> Moment:
        """The door as it is in some situations, each at a moment."""
        return Moment(
            self.flags[:, situations, moments],
            self.states[:, 0, situations, moments],
            self.volts[:, 0, situations, moments],
        )


class Looks:
    """Looks at what was solved; what like doors ask is worked out once."""

    def __init__(self, run: Run) -> None:
        self.run = run
        self.solved = run.solved
        self._states: dict[object, States] = {}
        self._seen: dict[object, Seen] = {}
        self._volts: dict[tuple[int, int], NDArray[np.float64]] = {}
        self._lock_volts: dict[tuple[tuple[int, int], ...], NDArray[np.float64]] = {}
        self._floating: dict[tuple[int, ...], Bools] = {}
        self._stays_off: dict[object, Bools] = {}

    def states(self, facts: DoorFacts) -> States:
        """The state of every lock, as outcomes judge it."""
        key = facts.bolts, facts.drawn, facts.unlocks
        if key not in self._states:
            self._states[key] = np.stack([self._lock(facts, n) for n in range(len(facts.bolts))])
        return self._states[key]

    def _lock(self, facts: DoorFacts, n: int) -> NDArray[np.int8]:
        """Members x situations x moments."""
        unlocks, drawn = facts.unlocks[n], facts.drawn[n]
        energised = LockState.UNLOCKED if unlocks else LockState.LOCKED
        rest = LockState.LOCKED if unlocks else LockState.UNLOCKED
        moments = []
        for held in MOMENTS:
            position = self.solved.rows("bolts", facts.bolts[n], held=held)
            state = np.where(position == PICKED, energised, rest)
            if drawn >= 0:
                back = self.solved.rows("flags", drawn, held=held)
                state = np.where(back, LockState.UNLOCKED, LockState.LOCKED)
            state = np.where(position == MARGINAL, LockState.MARGINAL, state)
            flips = self.solved.rows("flips", facts.bolt_flags[n], held=held)
            moments.append(np.where(flips, LockState.CHATTER, state).astype(np.int8))
        return np.stack(moments, axis=2)

    def seen(self, facts: DoorFacts) -> Seen:
        """Flags that people see, held."""
        key = facts.seen_flags
        if key not in self._seen:
            flags = [self.solved.rows("flags", f, held=True) for f in key]
            none = np.zeros((0, *self.rests.shape), dtype=bool)
            self._seen[key] = np.stack(flags) if flags else none
        return self._seen[key]

    def volts(self, a: int, b: int) -> NDArray[np.float64]:
        """Volts from node ``a`` to ``b``: members x situations x moments."""
        if (a, b) not in self._volts:
            moments = [
                self.solved.rows("volts", a, held=held) - self.solved.rows("volts", b, held=held)
                for held in MOMENTS
            ]
            self._volts[a, b] = np.stack(moments, axis=2)
        return self._volts[a, b]

    def metered(self, facts: DoorFacts, a: int, b: int) -> NDArray[np.float64]:
        """What a meter shows from node ``a`` to ``b``: as ``volts``, but nothing across a lock
        whose ends nothing joins, nor from the one end of it that hangs in the air to what is not
        its other end."""
        found = self.volts(a, b)
        for ends, row in zip(facts.nodes, self._bonds(facts), strict=True):
            if a in ends or b in ends:
                nothing = APART if a in ends and b in ends else LOOSE
                found = np.where(row & nothing, 0.0, found)
        return found

    def _bonds(self, facts: DoorFacts) -> NDArray[np.int8]:
        """Of each lock's ends: locks x members x situations x moments."""
        first = len(self.run.compiled.shape.senses)
        rows = [
            np.stack([self.solved.rows("bonds", first + n, held=h) for h in MOMENTS], axis=2)
            for n in facts.bolts
        ]
        return np.stack(rows)

    def lock_volts(self, facts: DoorFacts) -> NDArray[np.float64]:
        """Locks x members x situations x moments, whichever way round; none between ends that
        nothing joins, as across a coil that is open."""
        if facts.nodes not in self._lock_volts:
            its = np.abs(np.stack([self.volts(a, b) for a, b in facts.nodes]))
            self._lock_volts[facts.nodes] = np.where(self._bonds(facts) & APART, 0.0, its)
        return self._lock_volts[facts.nodes]

    def at(
        self,
        facts: DoorFacts,
        members: NDArray[np.intp],
        situations: NDArray[np.intp],
        moments: NDArray[np.intp],
    ) -> Moment:
        """Members, each in a situation at a moment."""
        flags = np.empty((self.run.compiled.shape.flags, len(members)), dtype=bool)
        for late in MOMENTS:
            own = moments == int(late)
            flags[:, own] = self.solved.at("flags", members[own], situations[own], held=late)
        return Moment(
            flags,
            self.states(facts)[:, members, situations, moments],
            self.lock_volts(facts)[:, members, situations, moments],
        )

    def sound(self, facts: DoorFacts, member: int) -> SoundDoor:
        """A member that has no fault."""
        count = len(self.solved.scripts[member].columns)
        rows, every = np.full(count, member), np.arange(count)
        flags = [self.solved.at("flags", rows, every, held=held) for held in MOMENTS]
        one = slice(member, member + 1)
        return SoundDoor(
            self.states(facts)[:, one],
            self.seen(facts)[:, one],
            self.lock_volts(facts)[:, one],
            np.stack(flags, axis=2),
        )

    @cached_property
    def rests(self) -> Bools:
        """Members x situations: whether both moments came to rest."""
        return self.solved.all_solved()

    @cached_property
    def chatters(self) -> Bools:
        """Members x situations: whether one of the moments chatters."""
        return self.solved.any_chatter()

    def counts(self, facts: DoorFacts, cases: Cases, powered: Sequence[int], rows: slice) -> Counts:
        """What came of some members: every point is counted."""
        done = self.rests[rows]
        states = self.states(facts)[:, rows]
        return Counts(
            points=done.size,
            distinct=len(done) * self.solved.scripts[0].distinct,
            solved=int(done.sum()),
            unsolved=int((~done).sum()),
            chatter=int(self.chatters[rows].sum()),
            marginal=int((states == LockState.MARGINAL).any(axis=(0, 3)).sum()),
            floating=int(self.floating(facts)[rows].sum()),
            not_restarting=int(self._not_restarting(cases, powered)[rows].sum()),
        )

    def _not_restarting(self, cases: Cases, powered: Sequence[int]) -> Bools:
        """Members in which something that runs on mains does not start when power returns, or a
        battery stays cut off."""
        usual, back = (
            Situation(power, Mode.NORMAL, Event.NOBODY) for power in (Power.MAINS, Power.RETURNS)
        )
        stays_off = np.zeros(len(self.solved.scripts), dtype=bool)
        if usual not in cases.situations or back not in cases.situations:
            return stays_off
        on, again = cases.situations.index(usual), cases.situations.index(back)
        key = on, again, tuple(powered)
        if key not in self._stays_off:
            for flag in powered:
                lit = self.solved.rows("flags", max(flag, ~flag), held=True)
                lit = lit if flag >= 0 else ~lit
                stays_off |= lit[:, on] & ~lit[:, again]
            self._stays_off[key] = stays_off
        return self._stays_off[key]

    def floating(self, facts: DoorFacts) -> Bools:
        """Members x situations: whether a lock hangs on nothing, held."""
        if facts.bolts not in self._floating:
            first = len(self.run.compiled.shape.senses)
            rows = [self.solved.rows("bonds", first + bolt, held=True) for bolt in facts.bolts]
            self._floating[facts.bolts] = np.any(np.stack(rows) & ADRIFT, axis=0)
        return self._floating[facts.bolts]
