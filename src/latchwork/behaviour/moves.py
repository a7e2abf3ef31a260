"""Contacts, locks and fuses moving: the fastest class that wants to, one class at a time."""

from __future__ import annotations

from hashlib import shake_128

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.positions import Bools, gate_bits
from latchwork.behaviour.shape import Array
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED, Batch, State
from latchwork.circuit import Row, Solution
from latchwork.elements import Speed

MOST_PASSES = 13
"""Logic within one class comes to rest in a few passes or is chatter. A prime number, so that a
loop of a few flags does not end where it began and look as if it were at rest."""
SLOWER = (Speed.RELAY, Speed.LOCK, Speed.FUSE, Speed.CUT_OFF)
Wish = tuple[Bools, NDArray[np.int8]]
"""Flags and bolts as one class would have them."""
POLYMER_BACK_V = 1.0
"""Volts across a tripped polymer fuse below which it has cooled (common practice, no source)."""


class Moving:
    """The columns still moving, and what they carry while they do."""

    def __init__(self, batch: Batch, state: State) -> None:
        self.batch = batch
        self.flags = state.flags.copy()
        self.bolts = state.bolts.copy()
        self.left_s = state.left_s.copy()
        self.started = state.started.copy()

    def move(
        self, speed: Speed, solution: Solution, watched: Array, allowed: Bools, frozen: bool
    ) -> Bools:
        """Move one class in the ``allowed`` columns; which changed. ``frozen`` logic stays."""
        if speed == Speed.FUSE:
            return self.fuses(solution, allowed)
        changed = np.zeros(self.batch.columns, dtype=bool)
        if speed == Speed.LOCK:
            changed |= self.locks(watched, allowed)
        if not frozen:
            changed |= self.logic(speed, watched, allowed)
        return changed

    def wishes(self, solution: Solution, watched: Array, frozen: bool) -> list[Wish]:
        """Where each class but the fastest would go now if no faster one stood in its way."""
        flags, bolts = self.flags, self.bolts
        left_s, started = self.left_s, self.started
        everywhere = np.ones(self.batch.columns, dtype=bool)
        out = []
        for speed in SLOWER:
            self.flags, self.bolts = flags.copy(), bolts.copy()
            self.left_s, self.started = left_s.copy(), started.copy()
            self.move(speed, solution, watched, everywhere, frozen)
            out.append((self.flags, self.bolts))
        self.flags, self.bolts = flags, bolts
        self.left_s, self.started = left_s, started
        return out

    def logic(self, speed: Speed, watched: Array, allowed: Bools) -> Bools:
        """Move the flags of one class to rest in the ``allowed`` columns; which changed.

        Senses and rules come to rest first, then latches and timers look at them, all from the
        same flags: no order of writing makes a glitch that one of them would remember.
        """
        before = self.flags.copy()
        live = allowed
        for _ in range(MOST_PASSES):
            self._combine(speed, watched, live)
            live = live & self._remember(speed, live)
            if not live.any():
                break
        changed: Bools = (before != self.flags).any(axis=0)
        return changed

    def _combine(self, speed: Speed, watched: Array, allowed: Bools) -> None:
        compiled = self.batch.compiled
        for _ in range(MOST_PASSES):
            last = self.flags.copy()
            self._senses(last, speed, watched, allowed)
            for flag, when, its in compiled.rules:
                if its == speed:
                    self._set(flag, when(last), allowed)
            if (last == self.flags).all():
                break

    def _remember(self, speed: Speed, allowed: Bools) -> Bools:
        compiled = self.batch.compiled
        last = self.flags.copy()
        for flag, set_by, reset_by, its in compiled.latches:
            if its == speed:
                self._set(flag, (last[flag] | set_by(last)) & ~reset_by(last), allowed)
        if speed == Speed.CONTROLLER:
            self._timers(last, allowed)
        changed: Bools = (last != self.flags).any(axis=0)
        return changed

    def _set(self, flag: int, now: Bools, allowed: Bools) -> None:
        stuck = self.batch.forced.get(flag)
        if stuck is not None:
            now = stuck.over(now, self.flags)
        self.flags[flag] = np.where(allowed, now, self.flags[flag])

    def _senses(self, last: Bools, speed: Speed, watched: Array, allowed: Bools) -> None:
        compiled, values = self.batch.compiled, self.batch.values
        for n, sense in enumerate(compiled.shape.senses):
            if sense.speed != speed:
                continue
            volts = np.abs(watched[n]) if sense.either_way else watched[n]
            need = np.where(last[sense.flag], values.sense_off_v[n], values.sense_on_v[n])
            self._set(sense.flag, (volts >= need) & compiled.sense_needs[n](last), allowed)

    def _timers(self, last: Bools, allowed: Bools) -> None:
        compiled, values = self.batch.compiled, self.batch.values
        for n, (flag, start, clear, on_rise) in enumerate(compiled.timers):
            begun = np.broadcast_to(start(last), allowed.shape)
            was, left = self.started[n], self.left_s[n]
            fresh = (begun & ~was) if on_rise else (was & ~begun)
            left = np.where(fresh, values.timer_s[n], left)
            if not on_rise:
                left = np.where(begun, 0.0, left)
            stop = clear(last)
            left = np.where(stop, 0.0, left)
            running = left > 0.0
            if not on_rise:
                running = running | (begun & ~stop)
            self.left_s[n] = np.where(allowed, left, self.left_s[n])
            self.started[n] = np.where(allowed, begun, was)
            self._set(flag, running, allowed)

    def bolt_volts(self, watched: Array) -> Array:
        """Volts that count for each bolt: signed or not, nothing where its needs are not met."""
        compiled = self.batch.compiled
        first = len(compiled.shape.senses)
        volts = np.zeros((len(compiled.shape.bolts), self.batch.columns))
        for n, bolt in enumerate(compiled.shape.bolts):
            seen = np.abs(watched[first + n]) if bolt.either_way else watched[first + n]
            volts[n] = np.where(compiled.bolt_needs[n](self.flags), seen, 0.0)
        return volts

    def locks(self, watched: Array, allowed: Bools) -> Bools:
        """Move bolts by their four thresholds; which columns changed."""
        compiled, values = self.batch.compiled, self.batch.values
        changed = np.zeros(self.batch.columns, dtype=bool)
        volts = self.bolt_volts(watched)
        for n, bolt in enumerate(compiled.shape.bolts):
            new = bolt_position(self.bolts[n], volts[n], values.bolt_v[4 * n : 4 * n + 4])
            new = np.where(allowed, new, self.bolts[n]).astype(np.int8)
            changed |= new != self.bolts[n]
            self.bolts[n] = new
            held = np.where(new == MARGINAL, self.flags[bolt.flag], new == PICKED)
            self._set(bolt.flag, held, allowed)
        return changed

    def fuses(self, solution: Solution, allowed: Bools) -> Bools:
        """Blow at most one fuse a column, the worst first; reset polymers; which changed."""
        compiled, values = self.batch.compiled, self.batch.values
        changed = np.zeros(self.batch.columns, dtype=bool)
        worst = np.ones(self.batch.columns)
        which = np.full(self.batch.columns, -1)
        for n, (branch, blown, resets) in enumerate(compiled.shape.fuses):
            across = self._across(solution, branch)
            whole = ~self.flags[blown]
            ratio = across / values.ohm[branch] / values.fuse_blows_a[n]
            worse = whole & (ratio > worst) & allowed
            worst = np.where(worse, ratio, worst)
            which = np.where(worse, blown, which)
            if resets:
                back = ~whole & (across < POLYMER_BACK_V) & allowed
                self.flags[blown] = self.flags[blown] & ~back
                changed |= back
        for _, blown, _ in compiled.shape.fuses:
            hit = which == blown
            self.flags[blown] |= hit
            changed |= hit
        return changed

    def heats(self, solution: Solution) -> Array:
        """How fuses heat: the square of the current by that at which each blows; 0 once blown."""
        compiled, values = self.batch.compiled, self.batch.values
        out = np.zeros((len(compiled.shape.fuses), self.batch.columns))
        for n, (branch, blown, _) in enumerate(compiled.shape.fuses):
            across = self._across(solution, branch)
            ratio = across / values.ohm[branch] / values.fuse_blows_a[n]
            out[n] = np.where(self.flags[blown], 0.0, ratio * ratio)
        return out

    def _across(self, solution: Solution, branch: int) -> Row:
        a, b, _ = self.batch.compiled.shape.linear[branch]
        across: Row = np.abs(solution.volts[a] - solution.volts[b])
        return across

    def take(self, chosen: NDArray[np.intp]) -> None:
        self.batch = self.batch.take(chosen)
        self.flags = self.flags.take(chosen, axis=1)
        self.bolts = self.bolts.take(chosen, axis=1)
        self.left_s = self.left_s.take(chosen, axis=1)
        self.started = self.started.take(chosen, axis=1)

    def key(self, weights: NDArray[np.uint64]) -> NDArray[np.uint64]:
        """A number for the whole state of each column."""
        whole = np.concatenate(
            [self.flags, self.started, self.left_s > 0.0, self.bolts == 1, self.bolts == 2]
        )
        result: NDArray[np.uint64] = weights[: len(whole)] @ whole.astype(np.uint64)
        return result


def bolt_position(now: NDArray[np.int8], volts: Row, thresholds: Array) -> NDArray[np.int8]:
    """Where a bolt is at ``volts`` after ``now``, by its four thresholds."""
    may_pick, surely_pick, surely_hold, surely_release = thresholds
    stays_out = np.where(volts < may_pick, DROPPED, MARGINAL)
    stays_in = np.where(volts >= surely_hold, PICKED, MARGINAL)
    undecided = np.full(volts.shape, MARGINAL)
    between = np.where(now == PICKED, stays_in, np.where(now == DROPPED, stays_out, undecided))
    up = (volts >= surely_pick) & (now != PICKED)
    down = (volts < surely_release) & (now != DROPPED)
    moved = np.where(up, PICKED, np.where(down, DROPPED, between))
    return moved.astype(np.int8)


WEIGHTS = np.frombuffer(shake_128(b"flags").digest(8 * 4096), dtype="<u8").astype(np.uint64)
"""Numbers without a pattern, the same in every run. From a hash: NumPy's generators would be read
for nothing else."""


def move_fastest(
    moving: Moving, gates: Bools, solution: Solution, watched: Array, frozen: bool
) -> Bools:
    """In each column let the fastest class that wants to move do so; which columns moved so that
    the circuit, solved with ``gates``, must be solved again. ``frozen``: only locks and fuses
    move."""
    compiled, columns = moving.batch.compiled, moving.batch.columns
    again = np.zeros(columns, dtype=bool)
    allowed = np.ones(columns, dtype=bool)
    for _ in range(MOST_PASSES):
        moved = np.zeros(columns, dtype=bool)
        for speed in Speed:
            changed = moving.move(speed, solution, watched, allowed, frozen)
            if changed.any():
                moved |= changed
                switched = (gates != gate_bits(compiled, moving.flags, columns)).any(axis=0)
                again |= switched
                allowed = allowed & ~switched
                if not allowed.any():
                    return again
        if not moved.any():
            break
    else:
        again |= moved
    return again
