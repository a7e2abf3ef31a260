"""Contacts, locks and fuses moving: the fastest class that wants to, one class at a time."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import shake_128

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.positions import Bools, gate_bits
from latchwork.behaviour.shape import Array
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED, Batch, State
from latchwork.circuit import Row, Solution, some
from latchwork.elements import Speed

MOST_PASSES = 13
"""Logic within one class comes to rest in a few passes or is chatter. A prime number, so that a
loop of a few flags does not end where it began and look as if it were at rest."""
SLOWER = (Speed.RELAY, Speed.LOCK, Speed.FUSE, Speed.CUT_OFF)
Wish = tuple[Bools, NDArray[np.int8]]
"""Flags and bolts as one class would have them."""
POLYMER_BACK_V = 1.0
"""Volts across a tripped polymer fuse below which it has cooled (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What contacts move by: the circuit's answer; where each sense picks up, and holds if it has
    (senses x columns); volts across each bolt, their sign left out where it does not count."""

    solution: Solution
    up: Bools
    holds: Bools
    bolts_v: Array


class Moving:
    """The columns still moving, and what they carry while they do."""

    def __init__(self, batch: Batch, state: State) -> None:
        self.batch = batch
        self.flags = state.flags.copy()
        self.bolts = state.bolts.copy()
        self.left_s = state.left_s.copy()
        self.started = state.started.copy()

    def look(self, solution: Solution, watched: Array) -> Seen:
        """What there is to see in the circuit as it was answered."""
        shape, values = self.batch.compiled.shape, self.batch.values
        volts = watched.copy()
        for n, one in enumerate((*shape.senses, *shape.bolts)):
            if one.either_way:
                np.abs(volts[n], out=volts[n])
        senses = volts[: len(shape.senses)]
        up, holds = senses >= values.sense_on_v, senses >= values.sense_off_v
        return Seen(solution, up, holds, volts[len(senses) :])

    def move(self, speed: Speed, seen: Seen, allowed: Bools, frozen: bool) -> Bools:
        """Move one class in the ``allowed`` columns; which changed. ``frozen`` logic stays."""
        if speed == Speed.FUSE:
            return self.fuses(seen.solution, allowed)
        changed = np.zeros(self.batch.columns, dtype=bool)
        if speed == Speed.LOCK:
            changed |= self.locks(seen.bolts_v, allowed)
        if not frozen:
            changed |= self.logic(speed, seen, allowed)
        return changed

    def wishes(self, seen: Seen, frozen: bool) -> list[Wish]:
        """Where each class but the fastest would go now if no faster one stood in its way."""
        flags, bolts = self.flags, self.bolts
        left_s, started = self.left_s, self.started
        everywhere = np.ones(self.batch.columns, dtype=bool)
        out = []
        for speed in SLOWER:
            self.flags, self.bolts = flags.copy(), bolts.copy()
            self.left_s, self.started = left_s.copy(), started.copy()
            self.move(speed, seen, everywhere, frozen)
            out.append((self.flags, self.bolts))
        self.flags, self.bolts = flags, bolts
        self.left_s, self.started = left_s, started
        return out

    def logic(self, speed: Speed, seen: Seen, allowed: Bools) -> Bools:
        """Move the flags of one class to rest in the ``allowed`` columns; which changed.

        Senses and rules come to rest first, then latches and timers look at them, all from the
        same flags: no order of writing makes a glitch that one of them would remember.
        """
        changed = np.zeros(self.batch.columns, dtype=bool)
        if speed not in self.batch.compiled.speeds:
            return changed
        turned: dict[int, Bools] = {}
        live = allowed
        for _ in range(MOST_PASSES):
            self._combine(speed, seen, live, turned)
            live = live & self._remember(speed, live, turned)
            if not some(live):
                break
        for row in turned.values():
            changed |= row
        return changed

    def _combine(self, speed: Speed, seen: Seen, allowed: Bools, turned: dict[int, Bools]) -> None:
        compiled, flags = self.batch.compiled, self.flags
        for _ in range(MOST_PASSES):
            turns: dict[int, Bools] = {}
            for n, sense in enumerate(compiled.shape.senses):
                if sense.speed == speed:
                    was = flags[sense.flag]
                    there = (was & seen.holds[n]) | (seen.up[n] & ~was)
                    self._turn(turns, sense.flag, there & compiled.sense_needs[n](flags), allowed)
            for flag, when, its in compiled.rules:
                if its == speed:
                    self._turn(turns, flag, when(flags), allowed)
            if not self._take_turns(turns, turned):
                break

    def _remember(self, speed: Speed, allowed: Bools, turned: dict[int, Bools]) -> Bools:
        compiled, flags = self.batch.compiled, self.flags
        turns: dict[int, Bools] = {}
        for flag, set_by, reset_by, its in compiled.latches:
            if its == speed:
                to = (flags[flag] | set_by(flags)) & ~reset_by(flags)
                self._turn(turns, flag, to, allowed)
        if speed == Speed.CONTROLLER:
            self._timers(turns, allowed)
        changed = np.zeros(self.batch.columns, dtype=bool)
        for row in turns.values():
            changed |= row
        self._take_turns(turns, turned)
        return changed

    def _turn(self, turns: dict[int, Bools], flag: int, now: Bools, allowed: Bools) -> None:
        """Write down in which of the ``allowed`` columns a flag is to turn, to be ``now``."""
        stuck = self.batch.forced.get(flag)
        if stuck is not None:
            feed = self.flags[stuck.feed] if stuck.feed is not None else None
            if feed is not None and stuck.feed in turns:
                feed = feed ^ turns[stuck.feed]
            now = stuck.over(now, feed)
        turns[flag] = (self.flags[flag] ^ now) & allowed

    def _take_turns(self, turns: dict[int, Bools], turned: dict[int, Bools]) -> bool:
        """Turn flags, all of them at once; whether any did. ``turned``: where each has."""
        moved = False
        for flag, row in turns.items():
            if some(row):
                moved = True
                self.flags[flag] ^= row
                turned[flag] = turned[flag] ^ row if flag in turned else row
        return moved

    def _set(self, flag: int, now: Bools, allowed: Bools) -> None:
        turns: dict[int, Bools] = {}
        self._turn(turns, flag, now, allowed)
        self.flags[flag] ^= turns[flag]

    def _timers(self, turns: dict[int, Bools], allowed: Bools) -> None:
        compiled, values = self.batch.compiled, self.batch.values
        for n, (flag, start, clear, on_rise) in enumerate(compiled.timers):
            begun, stop = start(self.flags), clear(self.flags)
            was, left = self.started[n], self.left_s[n]
            fresh = ((begun & ~was) if on_rise else (was & ~begun)) & allowed
            none = (stop if on_rise else stop | begun) & allowed
            if some(fresh):
                np.copyto(left, values.timer_s[n], where=fresh)
            if some(none):
                np.copyto(left, 0.0, where=none)
            running = left > 0.0
            if not on_rise:
                running |= begun & ~stop
            was ^= (was ^ begun) & allowed
            self._turn(turns, flag, running, allowed)

    def locks(self, bolts_v: Array, allowed: Bools) -> Bools:
        """Move bolts by their four thresholds; which columns changed. Volts count where what a
        bolt needs is there."""
        compiled, values = self.batch.compiled, self.batch.values
        changed = np.zeros(self.batch.columns, dtype=bool)
        needs = [need(self.flags) for need in compiled.bolt_needs]
        volts = [np.where(need, row, 0.0) for need, row in zip(needs, bolts_v, strict=True)]
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
            ratio = across / self.batch.ohm(branch) / values.fuse_blows_a[n]
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
            ratio = across / self.batch.ohm(branch) / values.fuse_blows_a[n]
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

    def key(self) -> NDArray[np.uint64]:
        """A number for the whole state of each column."""
        parts = (self.flags, self.started, self.left_s > 0.0, self.bolts == 1, self.bolts == 2)
        rows = sum(len(part) for part in parts)
        bits = np.zeros((-(-rows // 8), 8, self.batch.columns), dtype=np.uint8)
        np.concatenate(parts, out=bits.reshape(-1, self.batch.columns)[:rows], casting="unsafe")
        bits <<= np.arange(8, dtype=np.uint8)[:, np.newaxis]
        result = np.zeros(self.batch.columns, dtype=np.uint64)
        for weight, byte in zip(WEIGHTS, np.bitwise_or.reduce(bits, axis=1), strict=False):
            result += byte * weight
        return result


def bolt_position(now: NDArray[np.int8], volts: Row, thresholds: Array) -> NDArray[np.int8]:
    """Where a bolt is at ``volts`` after ``now``, by its four thresholds."""
    may_pick, surely_pick, surely_hold, surely_release = thresholds
    was_in, was_out = now == PICKED, now == DROPPED
    up = (volts >= surely_pick) & ~was_in
    down = (volts < surely_release) & ~was_out
    picked = up | (was_in & ~down & (volts >= surely_hold))
    dropped = ~up & (down | (was_out & (volts < may_pick)))
    new: NDArray[np.int8] = picked * np.int8(PICKED) + ~(picked | dropped) * np.int8(MARGINAL)
    return new


WEIGHTS = np.frombuffer(shake_128(b"flags").digest(8 * 512), dtype="<u8").astype(np.uint64)
"""Numbers without a pattern, the same in every run. From a hash: NumPy's generators would be read
for nothing else."""


def move_fastest(moving: Moving, gates: Bools, seen: Seen, frozen: bool) -> Bools:
    """In each column let the fastest class that wants to move do so; which columns moved so that
    the circuit, solved with ``gates``, must be solved again. ``frozen``: only locks and fuses
    move."""
    compiled, columns = moving.batch.compiled, moving.batch.columns
    again = np.zeros(columns, dtype=bool)
    allowed = np.ones(columns, dtype=bool)
    for _ in range(MOST_PASSES):
        moved = np.zeros(columns, dtype=bool)
        for speed in Speed:
            changed = moving.move(speed, seen, allowed, frozen)
            if some(changed):
                moved |= changed
                switched = (gates != gate_bits(compiled, moving.flags, columns)).any(axis=0)
                again |= switched
                allowed = allowed & ~switched
                if not some(allowed):
                    return again
        if not some(moved):
            break
    else:
        again |= moved
    return again
