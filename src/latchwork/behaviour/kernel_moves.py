"""Contacts, locks and fuses of one column moving, compiled: what ``moves`` does, to the bit.

Needs numba. Nothing here explains a rule: see ``moves``, which it follows. An expression is clauses
of which one must fit.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import BIT, ONE, WORD, copy, lit, put_flag, same
from latchwork.behaviour.kernel_room import Code, Column, Held, Logic, Seen, Spare
from latchwork.behaviour.moves import MOST_PASSES, POLYMER_BACK_V
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED
from latchwork.circuit.jit import inlined, kernel

Array = np.ndarray[Any, Any]
CONTROLLER, RELAY, LOCK, FUSE = range(4)
CLASSES = 4


@kernel
def true(e: int, code: Code, flags: Array) -> bool:
    """Expression ``e``."""
    at, where, fits = code
    k, end = at[e], at[e + 1]
    while k < end:
        fit = True
        while True:
            if flags[where[k, 0]] & fits[k, 0] != fits[k, 1]:
                fit = False
            k += 1
            if where[k - 1, 1] == 0:
                break
        if fit:
            return True
    return False


@kernel
def _set(flag: int, to: bool, flags: Array, held: Held) -> None:
    """Set a flag, unless it is held."""
    word, bit = flag >> WORD, ONE << uint64(flag & BIT)
    if held.stuck[0, word] & bit:
        to = False
    elif held.stuck[1, word] & bit:
        to = True
    elif held.stuck[2, word] & bit:
        to = lit(held.feed[flag], flags)
    if to:
        flags[word] |= bit
    else:
        flags[word] &= ~bit


@kernel
def _combine(
    speed: int,
    code: Code,
    sense: Array,
    rule: Array,
    begins: Array,
    row: Array,
    on_v: int,
    off_v: int,
    watched: Array,
    flags: Array,
    last: Array,
    held: Held,
) -> None:
    """Senses and rules of one class, until nothing changes."""
    for _ in range(MOST_PASSES):
        copy(flags, last)
        for n in range(begins[0, speed], begins[0, speed + 1]):
            flag, w = sense[n, 0], sense[n, 3]
            volts = abs(watched[w]) if sense[n, 1] else watched[w]
            need = row[off_v + w] if lit(flag, last) else row[on_v + w]
            _set(flag, volts >= need and true(sense[n, 2], code, last), flags, held)
        for n in range(begins[1, speed], begins[1, speed + 1]):
            _set(rule[n, 0], true(rule[n, 1], code, last), flags, held)
        if same(last, flags):
            break


@kernel
def _remember(
    speed: int,
    code: Code,
    latch: Array,
    begins: Array,
    timer: Array,
    row: Array,
    timer_s: int,
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
        for n in range(len(timer)):
            on_rise = timer[n, 3] == 1
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
    bolt_v: int,
    watched: Array,
    flags: Array,
    bolts: Array,
    seen: Array,
    held: Held,
) -> bool:
    """Bolts; whether one changed."""
    for n in range(len(bolt)):
        volts = watched[first + n]
        there = true(bolt[n, 2], code, flags)
        seen[n] = (abs(volts) if bolt[n, 1] else volts) if there else 0.0
    changed = False
    for n in range(len(bolt)):
        v, was = seen[n], bolts[n]
        need = bolt_v + 4 * n
        if v >= row[need + 1] and was != PICKED:
            new = PICKED
        elif v < row[need + 3] and was != DROPPED:
            new = DROPPED
        elif was == PICKED:
            new = PICKED if v >= row[need + 2] else MARGINAL
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
    fuse: Array, row: Array, ohm: int, fuse_blows_a: int, volts: Array, flags: Array
) -> bool:
    """Blow the fuse that is worst, and let polymer ones come back; whether one changed."""
    changed = False
    worst, which = 1.0, -1
    for n in range(len(fuse)):
        across = abs(volts[fuse[n, 0]] - volts[fuse[n, 1]])
        blown = fuse[n, 2]
        whole = not lit(blown, flags)
        ratio = across / row[ohm + fuse[n, 4]] / row[fuse_blows_a + n]
        if whole and ratio > worst:
            worst, which = ratio, blown
        if fuse[n, 3] == 1 and not whole and across < POLYMER_BACK_V:
            put_flag(blown, False, flags)
            changed = True
    if which >= 0:
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
            for _ in range(MOST_PASSES):
                _combine(
                    speed,
                    logic.code,
                    logic.sense,
                    logic.rule,
                    begins,
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
                    break
            changed = changed or not same(spare.before, flags)
    return changed


@kernel
def gate_bits_one(gates: int, code: Code, flags: Array, bits: Array) -> None:
    """What the circuit hangs on: the first ``gates`` expressions, as the bits of words."""
    for n in range(len(bits)):
        bits[n] = 0
    for e in range(gates):
        if true(e, code, flags):
            bits[e >> WORD] |= ONE << uint64(e & BIT)


@inlined
def move_fastest_one(
    frozen: bool, gates: int, logic: Logic, seen: Seen, column: Column, spare: Spare
) -> bool:
    """As ``move_fastest``. ``spare.bits``: what the circuit was solved with; ``spare.after``: what
    it then hangs on, where the answer is yes."""
    again = True
    for _turn in range(MOST_PASSES):
        moved = False
        switched = False
        for speed in range(CLASSES):
            if move(speed, frozen, logic, seen, column, spare):
                moved = True
                gate_bits_one(gates, logic.code, column.flags, spare.after)
                if not same(spare.after, spare.bits):
                    switched = True
                    break
        if switched:
            break
        if not moved:
            again = False
            break
    return again
