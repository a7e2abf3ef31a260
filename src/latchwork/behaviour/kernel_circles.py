"""Circles that one column goes round in, compiled: what ``circles`` does, to the bit.

Needs numba. Nothing here explains a rule: see ``circles``, which it follows.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import BIT, TWO, WORD, copy, lit, put_flag, same
from latchwork.behaviour.kernel_gates import gate_bits_one
from latchwork.behaviour.kernel_given import Logic
from latchwork.behaviour.kernel_moves import RELAY, move
from latchwork.behaviour.kernel_room import (
    CHATTER,
    EPOCHS,
    FRESH,
    LEFT,
    LENGTH,
    ROUNDS,
    SINCE,
    SLOWER,
    Column,
    Noted,
    Seen,
    Spare,
)
from latchwork.circuit.jit import inlined, kernel
from latchwork.circuit.kernel import ONE

Array = np.ndarray[Any, Any]


@kernel
def tempt(
    frozen: bool,
    logic: Logic,
    seen: Seen,
    column: Column,
    back: Column,
    spare: Spare,
    noted: Noted,
) -> None:
    """Note where each of the slower classes would go by itself, and go back."""
    _keep(column, back)
    _marks(column.flags, column.bolts, noted.marks)
    _heats(
        logic.fuse,
        seen.row,
        seen.at.ohm,
        seen.at.fuse_blows_a,
        seen.volts,
        column.flags,
        noted.heat,
    )
    for k in range(SLOWER):
        move(RELAY + k, frozen, logic, seen, column, spare)
        _marks(column.flags, column.bolts, noted.other)
        _keep(back, column)
        _tempted(
            noted.now[FRESH] == 1,
            k,
            noted.marks,
            noted.other,
            noted.tempted,
            noted.target,
            noted.agreed,
        )


@kernel
def _heats(
    fuse: Array, row: Array, ohm: Any, fuse_blows_a: Any, volts: Array, flags: Array, heat: Array
) -> None:
    """Add how fuses heat in this round."""
    for n in range(uint64(len(fuse))):
        if not lit(fuse[n, 2], flags):
            across = abs(volts[fuse[n, 0]] - volts[fuse[n, 1]])
            ratio = across / row[ohm + fuse[n, 4]] / row[fuse_blows_a + n]
            heat[n] += ratio * ratio


@kernel
def note_epoch(flags: Array, were: Array, noted: Noted) -> None:
    """Note which flags moved in this epoch."""
    epoch_moved, epoch = noted.epoch_moved, noted.now[EPOCHS] - 1
    for n in range(epoch_moved.shape[1]):
        if lit(n, were) != lit(n, flags):
            epoch_moved[epoch, n] = True


@kernel
def go_round(
    gates: int,
    logic: Logic,
    column: Column,
    noted: Noted,
    after: Array,
    flips: Array,
) -> None:
    """Note what moved in a round of a circle; after its last, let a slower class follow it, or
    call it chatter."""
    now, moved = noted.now, noted.moved
    _marks(column.flags, column.bolts, noted.other)
    for n in range(len(moved)):
        if noted.marks[n] != noted.other[n]:
            moved[n] = True
    now[FRESH] = 0
    now[LEFT] -= 1
    if now[LEFT] == 0:
        now[SINCE] = now[ROUNDS]
        goes_on = _followed(
            column.flags, column.bolts, noted.other, moved, noted.target, noted.agreed
        )
        if not goes_on:
            goes_on = _melts(logic.fuse, column.flags, moved, noted.heat, now[LENGTH])
        if goes_on:
            _state(column, noted.key)
            if _followed_before(now[EPOCHS], noted.key, noted.epoch_key, noted.epoch_moved, moved):
                goes_on = False
            else:
                now[EPOCHS] += 1
                gate_bits_one(gates, logic.code, column.flags, after)
        if not goes_on:
            now[CHATTER] = 1
            _flip(logic.bolt, moved, noted.tempted, flips)


@kernel
def _flip(bolt: Array, moved: Array, tempted: Array, flips: Array) -> None:
    """What moved in a circle, or was tempted to, flips."""
    count = len(moved) - len(bolt)
    for n in range(count):
        if moved[n] or tempted[n]:
            put_flag(n, True, flips)
    for n in range(len(bolt)):
        if moved[count + n] or tempted[count + n]:
            put_flag(bolt[n, 0], True, flips)


@inlined
def find_circle(column: Column, noted: Noted) -> None:
    """Note a state that goes on, and watch the circle that it closes."""
    now, history = noted.now, noted.history
    rounds = now[ROUNDS]
    _state(column, history[rounds])
    if now[CHATTER] == 0 and now[LEFT] == 0:
        for before in range(rounds - 1, now[SINCE] - 1, -1):
            if same(history[before], history[rounds]):
                now[LEFT] = rounds - before
                now[LENGTH] = rounds - before
                now[FRESH] = 1
                noted.heat[:] = 0.0
                noted.moved[:] = False
                noted.tempted[:] = False
                break
    now[ROUNDS] += 1


@inlined
def _keep(column: Column, into: Column) -> None:
    """Copy what moves in a column."""
    copy(column.flags, into.flags)
    copy(column.bolts, into.bolts)
    copy(column.left_s, into.left_s)
    copy(column.started, into.started)


@kernel
def _state(column: Column, out: Array) -> None:
    """The whole state as words."""
    flags, bolts, left_s, started = column
    for n in range(len(out)):
        out[n] = 0
    for n in range(len(flags)):
        out[n] = flags[n]
    at = uint64(len(flags)) << WORD
    for n in range(len(left_s)):
        if started[n]:
            put_flag(at, True, out)
        if left_s[n] > 0.0:
            put_flag(at + ONE, True, out)
        at += TWO
    for n in range(len(bolts)):
        out[at >> WORD] |= uint64(bolts[n]) << (at & BIT)
        at += TWO


@kernel
def _marks(flags: Array, bolts: Array, out: Array) -> None:
    """Flags and bolts, one after the other."""
    count = len(out) - len(bolts)
    for n in range(count):
        out[n] = lit(n, flags)
    for n in range(len(bolts)):
        out[count + n] = bolts[n]


@kernel
def _tempted(
    fresh: bool, k: int, marks: Array, other: Array, tempted: Array, target: Array, agreed: Array
) -> None:
    """Note where a slower class would go by itself."""
    for n in range(len(marks)):
        if other[n] != marks[n]:
            tempted[n] = True
        if fresh:
            target[k, n] = other[n]
        agreed[k, n] = other[n] == target[k, n] and (fresh or agreed[k, n])


@kernel
def _followed(
    flags: Array, bolts: Array, other: Array, moved: Array, target: Array, agreed: Array
) -> bool:
    """Let the fastest of the slower classes that can follow the circle do so; whether one did."""
    _marks(flags, bolts, other)
    followed = False
    for k in range(SLOWER):
        if followed:
            break
        for n in range(len(other)):
            if agreed[k, n] and not moved[n] and target[k, n] != other[n]:
                other[n] = target[k, n]
                followed = True
    count = len(other) - len(bolts)
    for n in range(count):
        put_flag(n, other[n] == 1, flags)
    for n in range(len(bolts)):
        bolts[n] = other[count + n]
    return followed


@kernel
def _melts(fuse: Array, flags: Array, moved: Array, heat: Array, rounds: int) -> bool:
    """Blow the fuse that the circle heats most, if it is too much; whether one blew."""
    worst, which = 1.0, -1
    for n in range(len(fuse)):
        mean = heat[n] / rounds
        if mean > worst and not lit(fuse[n, 2], flags) and not moved[fuse[n, 2]]:
            worst, which = mean, n
    if which >= 0:
        put_flag(fuse[which, 2], True, flags)
    return which >= 0


@kernel
def _followed_before(
    epochs: int, key: Array, epoch_key: Array, epoch_moved: Array, moved: Array
) -> bool:
    """Whether this state was followed into before; what moved since then is added to ``moved``."""
    for before in range(epochs - 1, -1, -1):
        if same(epoch_key[before], key):
            for k in range(before, epochs):
                for n in range(epoch_moved.shape[1]):
                    if epoch_moved[k, n]:
                        moved[n] = True
            return True
    copy(key, epoch_key[epochs])
    for n in range(epoch_moved.shape[1]):
        epoch_moved[epochs, n] = False
    return False
