"""Contacts, locks and fuses of one column moving, compiled: what ``moves`` does, to the bit.

Needs numba. Nothing here explains a rule: see ``moves``, which it follows. Flags are the bits of
64-bit words, and an expression is clauses of which one must fit.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import uint64

from latchwork.behaviour.moves import MOST_PASSES, POLYMER_BACK_V
from latchwork.behaviour.state import DROPPED, MARGINAL, PICKED
from latchwork.circuit.jit import inlined, kernel

Array = np.ndarray[Any, Any]
CONTROLLER, RELAY, LOCK, FUSE = range(4)
CLASSES = 4
ONE = np.uint64(1)
WORD = 6
"""A flag's word is its number shifted down by so much,"""
BIT = 63
"""and its place in there what this leaves of it."""


class Logic(NamedTuple):
    """The logic of a shape. ``at``: where the clauses of each expression begin; ``where`` and
    ``fits``: for each part of a clause its word, and whether another part follows; its mask and
    what the masked word must be. Senses (flag, either way, needs, its place), rules (flag, when)
    and latches (flag, set, reset), each by class, and where each class begins; bolts (flag, either
    way, needs); timers (flag, start, clear, on rise); fuses (the two nodes, blown flag, resets,
    branch)."""

    at: Array
    where: Array
    fits: Array
    sense: Array
    rule: Array
    latch: Array
    begins: Array
    bolt: Array
    timer: Array
    fuse: Array


class Places(NamedTuple):
    """Where each kind of number begins in the row of a member."""

    ohm: int
    rail_volt: int
    rail_ohm: int
    source_volt: int
    source_low_volt: int
    source_ohm: int
    source_limit_a: int
    source_fold_a: int
    load_amount: int
    load_floor_v: int
    diode_a: int
    diode_scale_v: int
    fuse_blows_a: int
    sense_on_v: int
    sense_off_v: int
    bolt_v: int
    timer_s: int


@inlined
def lit(flag: int, flags: Array) -> bool:
    """Whether a flag is on."""
    return bool((flags[flag >> WORD] >> uint64(flag & BIT)) & ONE != 0)


@kernel
def put_flag(flag: int, to: bool, flags: Array) -> None:
    """Set a flag."""
    bit = ONE << uint64(flag & BIT)
    if to:
        flags[flag >> WORD] |= bit
    else:
        flags[flag >> WORD] &= ~bit


@kernel
def true(e: int, at: Array, where: Array, fits: Array, flags: Array) -> bool:
    """Expression ``e``."""
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
def same(a: Array, b: Array) -> bool:
    """Whether two rows hold the same."""
    alike = True
    for n in range(len(a)):
        alike = alike and a[n] == b[n]
    return alike


@kernel
def copy(row: Array, into: Array) -> None:
    """Copy one row into another."""
    for n in range(len(row)):
        into[n] = row[n]


@kernel
def _set(flag: int, to: bool, flags: Array, stuck: Array, feed: Array) -> None:
    word, bit = flag >> WORD, ONE << uint64(flag & BIT)
    if stuck[0, word] & bit:
        to = False
    elif stuck[1, word] & bit:
        to = True
    elif stuck[2, word] & bit:
        to = lit(feed[flag], flags)
    if to:
        flags[word] |= bit
    else:
        flags[word] &= ~bit


@kernel
def _combine(
    speed: int,
    at: Array,
    where: Array,
    fits: Array,
    sense: Array,
    rule: Array,
    begins: Array,
    row: Array,
    on_v: int,
    off_v: int,
    watched: Array,
    flags: Array,
    last: Array,
    stuck: Array,
    feed: Array,
) -> None:
    for _ in range(MOST_PASSES):
        copy(flags, last)
        for n in range(begins[0, speed], begins[0, speed + 1]):
            flag, w = sense[n, 0], sense[n, 3]
            volts = abs(watched[w]) if sense[n, 1] else watched[w]
            need = row[off_v + w] if lit(flag, last) else row[on_v + w]
            _set(
                flag,
                volts >= need and true(sense[n, 2], at, where, fits, last),
                flags,
                stuck,
                feed,
            )
        for n in range(begins[1, speed], begins[1, speed + 1]):
            _set(rule[n, 0], true(rule[n, 1], at, where, fits, last), flags, stuck, feed)
        if same(last, flags):
            break


@kernel
def _remember(
    speed: int,
    at: Array,
    where: Array,
    fits: Array,
    latch: Array,
    begins: Array,
    timer: Array,
    row: Array,
    timer_s: int,
    flags: Array,
    last: Array,
    left_s: Array,
    started: Array,
    stuck: Array,
    feed: Array,
) -> bool:
    copy(flags, last)
    for n in range(begins[2, speed], begins[2, speed + 1]):
        flag = latch[n, 0]
        to = lit(flag, last) or true(latch[n, 1], at, where, fits, last)
        to = to and not true(latch[n, 2], at, where, fits, last)
        _set(flag, to, flags, stuck, feed)
    if speed == CONTROLLER:
        for n in range(len(timer)):
            on_rise = timer[n, 3] == 1
            begun = true(timer[n, 1], at, where, fits, last)
            was, left = started[n], left_s[n]
            fresh = (begun and not was) if on_rise else (was and not begun)
            if fresh:
                left = row[timer_s + n]
            if not on_rise and begun:
                left = 0.0
            stop = true(timer[n, 2], at, where, fits, last)
            if stop:
                left = 0.0
            running = left > 0.0 or (not on_rise and begun and not stop)
            left_s[n] = left
            started[n] = begun
            _set(timer[n, 0], running, flags, stuck, feed)
    return not same(last, flags)


@kernel
def _locks(
    at: Array,
    where: Array,
    fits: Array,
    bolt: Array,
    first: int,
    row: Array,
    bolt_v: int,
    watched: Array,
    flags: Array,
    bolts: Array,
    seen: Array,
    stuck: Array,
    feed: Array,
) -> bool:
    for n in range(len(bolt)):
        volts = watched[first + n]
        there = true(bolt[n, 2], at, where, fits, flags)
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
        _set(flag, to, flags, stuck, feed)
    return changed


@kernel
def _fuses(
    fuse: Array, row: Array, ohm: int, fuse_blows_a: int, volts: Array, flags: Array
) -> bool:
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
def move(
    speed: int,
    frozen: bool,
    code: Array,
    where: Array,
    fits: Array,
    sense: Array,
    rule: Array,
    latch: Array,
    begins: Array,
    bolt: Array,
    timer: Array,
    fuse: Array,
    row: Array,
    at: Places,
    volts: Array,
    watched: Array,
    flags: Array,
    bolts: Array,
    left_s: Array,
    started: Array,
    stuck: Array,
    feed: Array,
    last: Array,
    before: Array,
    seen: Array,
) -> bool:
    """Move one class; whether anything did."""
    changed = False
    if speed == FUSE:
        changed = _fuses(fuse, row, at.ohm, at.fuse_blows_a, volts, flags)
    elif speed == LOCK:
        changed = _locks(
            code,
            where,
            fits,
            bolt,
            len(sense),
            row,
            at.bolt_v,
            watched,
            flags,
            bolts,
            seen,
            stuck,
            feed,
        )
    if not frozen and speed != FUSE:
        remembers = begins[2, speed] < begins[2, speed + 1] or (
            speed == CONTROLLER and len(timer) > 0
        )
        if (
            remembers
            or begins[0, speed] < begins[0, speed + 1]
            or (begins[1, speed] < begins[1, speed + 1])
        ):
            copy(flags, before)
            for _ in range(MOST_PASSES):
                _combine(
                    speed,
                    code,
                    where,
                    fits,
                    sense,
                    rule,
                    begins,
                    row,
                    at.sense_on_v,
                    at.sense_off_v,
                    watched,
                    flags,
                    last,
                    stuck,
                    feed,
                )
                again = False
                if remembers:
                    again = _remember(
                        speed,
                        code,
                        where,
                        fits,
                        latch,
                        begins,
                        timer,
                        row,
                        at.timer_s,
                        flags,
                        last,
                        left_s,
                        started,
                        stuck,
                        feed,
                    )
                if not again:
                    break
            changed = changed or not same(before, flags)
    return changed


@kernel
def gate_bits_one(
    gates: int, at: Array, where: Array, fits: Array, flags: Array, bits: Array
) -> None:
    """What the circuit hangs on: the first ``gates`` expressions, as the bits of words."""
    for n in range(len(bits)):
        bits[n] = 0
    for e in range(gates):
        if true(e, at, where, fits, flags):
            bits[e >> WORD] |= ONE << uint64(e & BIT)


@inlined
def move_fastest_one(
    frozen: bool,
    gates: int,
    code: Array,
    where: Array,
    fits: Array,
    sense: Array,
    rule: Array,
    latch: Array,
    begins: Array,
    bolt: Array,
    timer: Array,
    fuse: Array,
    row: Array,
    at: Places,
    volts: Array,
    watched: Array,
    flags: Array,
    bolts: Array,
    left_s: Array,
    started: Array,
    stuck: Array,
    feed: Array,
    last: Array,
    before: Array,
    seen: Array,
    bits: Array,
    after: Array,
) -> bool:
    """As ``move_fastest``. ``bits``: what the circuit was solved with; ``after``: what it then
    hangs on, where the answer is yes."""
    again = True
    for _turn in range(MOST_PASSES):
        moved = False
        switched = False
        for speed in range(CLASSES):
            changed = move(
                speed,
                frozen,
                code,
                where,
                fits,
                sense,
                rule,
                latch,
                begins,
                bolt,
                timer,
                fuse,
                row,
                at,
                volts,
                watched,
                flags,
                bolts,
                left_s,
                started,
                stuck,
                feed,
                last,
                before,
                seen,
            )
            if changed:
                moved = True
                gate_bits_one(gates, code, where, fits, flags, after)
                if not same(after, bits):
                    switched = True
                    break
        if switched:
            break
        if not moved:
            again = False
            break
    return again
