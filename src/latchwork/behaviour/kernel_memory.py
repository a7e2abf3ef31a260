"""What moved before moves again: moves of one column remembered, compiled.

As long as the volts stand, where contacts, locks and timers go hangs on where they are, and on
volts by comparisons alone: with thresholds, and with what a fuse bears. All columns of a batch that
compare alike go alike, whatever their figures; and most faults leave a door's logic doing what the
sound door's does. A timer is remembered by what is done to it, as each member has its own seconds.

Needs numba.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import BIT, FULL, THREE, TWO, WORD, copy, mixed, same
from latchwork.behaviour.kernel_given import Given, Logic
from latchwork.behaviour.kernel_moves import move_fastest_one
from latchwork.behaviour.kernel_room import ALIKE, HITS, Column, Memory, Seen, Spare
from latchwork.behaviour.moves import POLYMER_BACK_V
from latchwork.circuit.jit import inlined, kernel
from latchwork.circuit.kernel import NONE, ONE

Array = np.ndarray[Any, Any]
UNTOUCHED_S = 1e-300
"""What a running timer has left while it is found out what is done to it: more than nothing, and
no timer's seconds."""
STOPS, STARTS = ONE, TWO
"""What is done to a timer that does not stay as it is."""
SURELY = 1.0 - 1e-9
"""A fuse with no more than this part of what it blows at stands, however that is rounded."""


@inlined
def load_memory(m: Any, row: Array, given: Given, memory: Memory) -> None:
    """Begin with another member."""
    at, fuse = given.places, given.net.logic.fuse
    memory.now[ALIKE] = given.alike[m if len(given.alike) > 1 else NONE]
    for n in range(uint64(len(fuse))):
        memory.bears_v[n] = row[at.ohm + fuse[n, 4]] * row[at.fuse_blows_a + n] * SURELY


@inlined
def move_as_before(
    frozen: bool, gates: int, logic: Logic, seen: Seen, column: Column, spare: Spare, memory: Memory
) -> bool:
    """As ``move_fastest_one``; out of memory, where the same was asked before."""
    key, held_s, left_s = memory.key, memory.held_s, column.left_s
    key[0] = (memory.now[ALIKE] << TWO) | (uint64(frozen) << ONE) | ONE
    clear = _asked(logic, seen, column, memory.bears_v, key)
    last = uint64(len(memory.keys) - 1)
    place = mixed(key) & (last - ONE) if clear else last
    came = memory.came[place]
    if clear and same(memory.keys[place], key):
        memory.now[HITS] += ONE
    else:
        for n in range(len(left_s)):
            held_s[n] = left_s[n]
            left_s[n] = UNTOUCHED_S if left_s[n] > 0.0 else 0.0
        again = move_fastest_one(frozen, gates, logic, seen, column, spare)
        copy(key, memory.keys[place])
        _keep(again, column, spare.after, came)
        copy(held_s, left_s)
    return _recall(came, column, seen.row, seen.at.timer_s, spare.after)


@inlined
def _asked(logic: Logic, seen: Seen, column: Column, bears_v: Array, key: Array) -> bool:
    """What the move hangs on, after the first word: flags, then two bits at a time. Whether it
    hangs on nothing else: where more than one fuse would blow, the worst does first."""
    row, at, watched, volts = seen.row, seen.at, seen.watched, seen.volts
    sense, bolt, fuse = logic.sense, logic.bolt, logic.fuse
    k = ONE
    for word in column.flags:
        key[k] = word
        k += ONE
    found, fill = NONE, NONE
    for n in range(uint64(len(column.left_s))):
        two = (uint64(column.started[n]) << ONE) | uint64(column.left_s[n] > 0.0)
        found, fill, k = _put(two, found, fill, k, key)
    for n in range(uint64(len(column.bolts))):
        found, fill, k = _put(uint64(column.bolts[n]), found, fill, k, key)
    for n in range(uint64(len(sense))):
        which = sense[n, 3]
        v = watched[which]
        v = abs(v) if sense[n, 1] != NONE else v
        two = (uint64(v >= row[at.sense_on_v + which]) << ONE) | uint64(
            v >= row[at.sense_off_v + which]
        )
        found, fill, k = _put(two, found, fill, k, key)
    for n in range(uint64(len(bolt))):
        v = watched[uint64(len(sense)) + n]
        v = abs(v) if bolt[n, 1] != NONE else v
        need = at.bolt_v + (n << TWO)
        two = (uint64(v >= row[need + ONE]) << ONE) | uint64(v < row[need + THREE])
        found, fill, k = _put(two, found, fill, k, key)
        two = (uint64(v >= row[need + TWO]) << ONE) | uint64(v < row[need])
        found, fill, k = _put(two, found, fill, k, key)
    blows = 0
    for n in range(uint64(len(fuse))):
        v = abs(volts[fuse[n, 0]] - volts[fuse[n, 1]])
        # Close to what it bears, the same divisions as where it blows: rounded the same.
        over = not v <= bears_v[n] and (
            v / row[at.ohm + fuse[n, 4]] / row[at.fuse_blows_a + n] > 1.0
        )
        blows += over
        two = (uint64(over) << ONE) | uint64(v < POLYMER_BACK_V)
        found, fill, k = _put(two, found, fill, k, key)
    if fill != NONE:
        key[k] = found
    return blows < 2


@inlined
def _put(two: Any, found: Any, fill: Any, k: Any, key: Array) -> tuple[Any, Any, Any]:
    """Two bits more; a word that is full goes to its place."""
    found |= two << fill
    fill += TWO
    if fill == FULL:
        key[k] = found
        found, fill = NONE, NONE
        k += ONE
    return found, fill, k


@kernel
def _keep(again: bool, column: Column, after: Array, came: Array) -> None:
    """Write down where a column went."""
    flags, bolts, left_s, started = column
    came[:] = NONE
    k = NONE
    for word in flags:
        came[k] = word
        k += ONE
    for word in after:
        came[k] = word
        k += ONE
    at = k << WORD
    came[k] = uint64(again)
    at += TWO
    for n in range(len(left_s)):
        left = left_s[n]
        done = NONE if left == UNTOUCHED_S else STOPS if left == 0.0 else STARTS
        came[at >> WORD] |= done << (at & BIT)
        at += TWO
        came[at >> WORD] |= uint64(started[n]) << (at & BIT)
        at += TWO
    for n in range(len(bolts)):
        came[at >> WORD] |= uint64(bolts[n]) << (at & BIT)
        at += TWO


@inlined
def _recall(came: Array, column: Column, row: Array, timer_s: Any, after: Array) -> bool:
    """Take a column where one went before."""
    flags, bolts, left_s, started = column
    for n in range(uint64(len(flags))):
        flags[n] = came[n]
    k = uint64(len(flags))
    for n in range(uint64(len(after))):
        after[n] = came[k + n]
    k += uint64(len(after))
    again = bool(came[k] & ONE != NONE)
    at = (k << WORD) + TWO
    for n in range(uint64(len(left_s))):
        done = came[at >> WORD] >> (at & BIT) & THREE
        if done == STARTS:
            left_s[n] = row[timer_s + n]
        elif done == STOPS:
            left_s[n] = 0.0
        at += TWO
        started[n] = came[at >> WORD] >> (at & BIT) & ONE != NONE
        at += TWO
    for n in range(uint64(len(bolts))):
        bolts[n] = came[at >> WORD] >> (at & BIT) & THREE
        at += TWO
    return again
