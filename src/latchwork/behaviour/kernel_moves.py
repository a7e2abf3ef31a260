"""Contacts, locks and fuses of one column moving, compiled: what ``moves`` does, to the bit.

Needs numba. Nothing here explains a rule: see ``moves``, which it follows.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import BIT, THREE, TWO, WORD, copy, lit, put_flag, same
from latchwork.behaviour.kernel_gates import gate_bits_one, true
from latchwork.behaviour.kernel_given import Code, Logic
from latchwork.behaviour.kernel_room import Column, Held, Seen, Spare
from latchwork.behaviour.moves import MOST_PASSES, POLYMER_BACK_V
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED
from latchwork.circuit.jit import inlined, kernel
from latchwork.circuit.kernel import NONE, ONE

Array = np.ndarray[Any, Any]
CONTROLLER, RELAY, LOCK, FUSE, CUT_OFF = range(5)
CLASSES = 5


@kernel
def _set(flag: Any, to: bool, flags: Array, held: Held) -> None:
    """Set a flag, unless it is held."""
    word, bit = flag >> WORD, ONE << (flag & BIT)
    if held.stuck[3, word] & bit != NONE:
        if held.stuck[0, word] & bit != NONE:
            to = False
        elif held.stuck[1, word] & bit != NONE:
            to = True
        else:
            to = lit(held.feed[flag], flags)
    flags[word] = (flags[word] | bit) if to else (flags[word] & ~bit)


@kernel
def _combine(
    speed: int,
    logic: Logic,
    row: Array,
    on_v: Any,
    off_v: Any,
    watched: Array,
    flags: Array,
    new: Array,
    held: Held,
) -> bool:
    """Senses and rules of one class, until nothing changes; whether that came."""
    code, sense, rule, begins = logic.code, logic.sense, logic.rule, logic.begins
    moves, stuck = logic.moves[speed], held.stuck
    for _ in range(MOST_PASSES):
        for w in range(len(new)):
            new[w] = flags[w] & ~moves[w]
        for n in range(begins[0, speed], begins[0, speed + 1]):
            flag, at = sense[n, 0], sense[n, 3]
            volts = abs(watched[at]) if sense[n, 1] != NONE else watched[at]
            need = row[off_v + at] if lit(flag, flags) else row[on_v + at]
            on = volts >= need and true(sense[n, 2], code, flags)
            new[flag >> WORD] |= uint64(on) << (flag & BIT)
        for n in range(begins[1, speed], begins[1, speed + 1]):
            flag, on = rule[n, 0], true(rule[n, 1], code, flags)
            new[flag >> WORD] |= uint64(on) << (flag & BIT)
        changed, follows = False, False
        for w in range(len(new)):
            follows = follows or (stuck[2, w] & moves[w]) != NONE
            ours = (new[w] & ~stuck[3, w]) | stuck[1, w]
            new[w] = (new[w] & ~moves[w]) | (ours & moves[w])
            changed = changed or new[w] != flags[w]
        if follows:
            changed = _follow(speed, sense, rule, begins, flags, new, held)
        if not changed:
            return True
        copy(new, flags)
    return False


@kernel
def _follow(
    speed: int, sense: Array, rule: Array, begins: Array, flags: Array, new: Array, held: Held
) -> bool:
    """Move the flags of a class one after the other, those held to another as that one then is;
    whether one changed."""
    changed = False
    for kind in range(2):
        for n in range(begins[kind, speed], begins[kind, speed + 1]):
            flag = sense[n, 0] if kind == 0 else rule[n, 0]
            to = lit(flag, new)
            if lit(flag, held.stuck[2]):
                to = lit(held.feed[flag], flags)
            changed = changed or to != lit(flag, flags)
            put_flag(flag, to, flags)
    copy(flags, new)
    return changed


@kernel
def _remember(
    speed: int,
    code: Code,
    latch: Array,
    begins: Array,
    timer: Array,
    row: Array,
    timer_s: Any,
    flags: Array,
    last: Array,
    left_s: Array,
    started: Array,
    held: Held,
) -> bool:
    """Latches of one class, and timers with the fastest; whether a flag changed."""
    copy(flags, last)
    for n in range(begins[2, speed], begins[2, speed + 1]):
        flag = latch[n, 0]
        to = lit(flag, last) or true(latch[n, 1], code, last)
        to = to and not true(latch[n, 2], code, last)
        _set(flag, to, flags, held)
    if speed == CONTROLLER:
        for n in range(uint64(len(timer))):
            on_rise = timer[n, 3] != NONE
            begun = true(timer[n, 1], code, last)
            was, left = started[n], left_s[n]
            fresh = (begun and not was) if on_rise else (was and not begun)
            if fresh:
                left = row[timer_s + n]
            if not on_rise and begun:
                left = 0.0
            stop = true(timer[n, 2], code, last)
            if stop:
                left = 0.0
            running = left > 0.0 or (not on_rise and begun and not stop)
            left_s[n] = left
            started[n] = begun
            _set(timer[n, 0], running, flags, held)
    return not same(last, flags)


@kernel
def _locks(
    code: Code,
    bolt: Array,
    first: int,
    row: Array,
    bolt_v: Any,
    watched: Array,
    flags: Array,
    bolts: Array,
    seen: Array,
    held: Held,
) -> bool:
    """Bolts; whether one changed."""
    for n in range(uint64(len(bolt))):
        volts = watched[uint64(first) + n]
        there = true(bolt[n, 2], code, flags)
        seen[n] = (abs(volts) if bolt[n, 1] != NONE else volts) if there else 0.0
    changed = False
    for n in range(uint64(len(bolt))):
        v, was = seen[n], bolts[n]
        need = bolt_v + (n << TWO)
        if v >= row[need + ONE] and was != PICKED:
            new = PICKED
        elif v < row[need + THREE] and was != DROPPED:
            new = DROPPED
        elif was == PICKED:
            new = PICKED if v >= row[need + TWO] else MARGINAL
        elif was == DROPPED:
            new = DROPPED if v < row[need] else MARGINAL
        else:
            new = MARGINAL
        changed = changed or new != was
        bolts[n] = new
        flag = bolt[n, 0]
        to = lit(flag, flags) if new == MARGINAL else new == PICKED
        _set(flag, to, flags, held)
    return changed


@kernel
def _fuses(
    fuse: Array, row: Array, ohm: Any, fuse_blows_a: Any, volts: Array, flags: Array
) -> bool:
    """Blow the fuse that is worst, and let polymer ones come back; whether one changed."""
    changed = False
    worst, which, blows = 1.0, NONE, False
    for n in range(uint64(len(fuse))):
        across = abs(volts[fuse[n, 0]] - volts[fuse[n, 1]])
        blown = fuse[n, 2]
        whole = not lit(blown, flags)
        ratio = across / row[ohm + fuse[n, 4]] / row[fuse_blows_a + n]
        if whole and ratio > worst:
            worst, which, blows = ratio, blown, True
        if fuse[n, 3] != NONE and not whole and across < POLYMER_BACK_V:
            put_flag(blown, False, flags)
            changed = True
    if blows:
        put_flag(which, True, flags)
        changed = True
    return changed


@inlined
def move(speed: int, frozen: bool, logic: Logic, seen: Seen, column: Column, spare: Spare) -> bool:
    """Move one class; whether anything did."""
    flags, row, at, begins = column.flags, seen.row, seen.at, logic.begins
    changed = False
    if speed == FUSE:
        changed = _fuses(logic.fuse, row, at.ohm, at.fuse_blows_a, seen.volts, flags)
    elif speed == LOCK:
        changed = _locks(
            logic.code,
            logic.bolt,
            len(logic.sense),
            row,
            at.bolt_v,
            seen.watched,
            flags,
            column.bolts,
            spare.bolt_v,
            seen.held,
        )
    if not frozen and speed != FUSE:
        remembers = begins[2, speed] < begins[2, speed + 1] or (
            speed == CONTROLLER and len(logic.timer) > 0
        )
        if (
            remembers
            or begins[0, speed] < begins[0, speed + 1]
            or (begins[1, speed] < begins[1, speed + 1])
        ):
            copy(flags, spare.before)
            spare.calm[0] = False
            for _ in range(MOST_PASSES):
                rests = _combine(
                    speed,
                    logic,
                    row,
                    at.sense_on_v,
                    at.sense_off_v,
                    seen.watched,
                    flags,
                    spare.last,
                    seen.held,
                )
                again = False
                if remembers:
                    again = _remember(
                        speed,
                        logic.code,
                        logic.latch,
                        begins,
                        logic.timer,
                        row,
                        at.timer_s,
                        flags,
                        spare.last,
                        column.left_s,
                        column.started,
                        seen.held,
                    )
                if not again:
                    spare.calm[0] = rests
                    break
            changed = changed or not same(spare.before, flags)
    return changed


@inlined
def move_fastest_one(
    frozen: bool, gates: int, logic: Logic, seen: Seen, column: Column, spare: Spare
) -> bool:
    """As ``move_fastest``. ``spare.bits``: what the circuit was solved with; ``spare.after``: what
    it then hangs on, where the answer is yes. A class at rest is passed over until another moves.
    """
    again = True
    flags, solved, gating = column.flags, spare.solved, logic.gating
    copy(flags, solved)
    moves, rested = 0, spare.rested
    rested[:] = -1
    for _turn in range(MOST_PASSES):
        moved = False
        switched = False
        for speed in range(CLASSES):
            if rested[speed] == moves:
                continue
            before = moves
            if move(speed, frozen, logic, seen, column, spare):
                moved = True
                moves += 1
                gates_touched = False
                for w in range(len(flags)):
                    gates_touched = gates_touched or (flags[w] ^ solved[w]) & gating[w] != NONE
                if gates_touched:
                    gate_bits_one(gates, logic.code, flags, spare.after)
                    if not same(spare.after, spare.bits):
                        switched = True
                        break
            rested[speed] = moves if speed < LOCK and spare.calm[0] else before
        if switched:
            break
        if not moved:
            again = False
            break
        copy(spare.bits, spare.after)
    return again
