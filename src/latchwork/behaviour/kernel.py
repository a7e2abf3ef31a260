"""Contacts by fixed point and time, column by column, compiled: what ``settle`` and ``passing`` do,
in the same order of operations, so that positions and volts are the same to the bit.

Needs numba; imported only where it is asked for. What is compiled is kept on disk. Nothing here
explains a rule: see ``settle`` and ``timing``, which it follows.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import copy, put_flag, same
from latchwork.behaviour.kernel_circles import find_circle, go_round, note_epoch, tempt
from latchwork.behaviour.kernel_gates import gate_bits_one
from latchwork.behaviour.kernel_given import KNOWN, Given, How, Table
from latchwork.behaviour.kernel_memory import load_memory, move_as_before
from latchwork.behaviour.kernel_room import (
    CHATTER,
    CURVE,
    EPOCHS,
    LEFT,
    LOADED,
    Column,
    Held,
    Room,
    Seen,
)
from latchwork.behaviour.kernel_solve import load_member, solve_column
from latchwork.behaviour.settle import MOST_ROUNDS
from latchwork.behaviour.timing import MOST_EXPIRIES, STEP_END_S, STILL_CHATTERS, WATCHED_EXPIRIES
from latchwork.circuit.jit import inlined, kernel
from latchwork.circuit.kernel import NONE, Stand
from latchwork.circuit.solve import APART

Array = np.ndarray[Any, Any]


@kernel
def run_columns(
    given: Given, how: How, table: Table, a: int, b: int, room: Room, work: Array
) -> None:
    """Settle each of the rows from ``a`` to ``b``, where it is to, then let the seconds pass: from
    one expiry of a timer to the next, settling after each. Whose they are and which curve they have
    is given from the first of them on. ``work`` is counted up."""
    copy(given.points, room.devices.curve[0])
    begin, drawn = uint64(a), False
    for c in range(begin, uint64(b)):
        m = uint64(given.member[c - begin])
        row = given.numbers[m if len(given.numbers) > 1 else NONE]
        column = Column(table.flags[c], table.bolts[c], table.left_s[c], table.started[c])
        stand = Stand(table.across[c], table.regions[c], table.volts[c])
        left, in_a_row, due = how.seconds, 0, False
        for expiries in range(-1 if how.settles else 0, MOST_EXPIRIES + 1):
            settling, watched = expiries < 0, expiries >= MOST_EXPIRIES - WATCHED_EXPIRIES
            soonest = np.inf
            if settling:
                if not how.merges:
                    table.low[c] = np.inf
                    table.high[c] = -np.inf
            else:
                soonest = _soonest(column.left_s)
                due = soonest <= left and in_a_row < STILL_CHATTERS
                if not due or expiries == MOST_EXPIRIES:
                    break
            if m != room.kept.now[LOADED]:
                load_member(m, row, given, room)
                load_memory(m, row, given, room.memory)
            if len(given.points):
                which = uint64(given.which_curve[c - begin]) if len(given.curves) > 1 else NONE
                if which != room.answers.now[CURVE] or not drawn:
                    copy(given.curves[which], room.devices.curve[1])
                    room.answers.now[CURVE], drawn = which, True
            if watched:
                copy(column.flags, room.were)
            if not settling:
                _expire(soonest, given.net.logic.timer, column)
                left -= soonest
            solved = _settle(c, settling, row, given, how, table, column, stand, room, work)
            if watched:
                for w in range(len(room.were)):
                    table.flips[c, w] |= room.were[w] ^ column.flags[w]
            chatter = room.noted.now[CHATTER] == 1
            table.known[c] = solved
            anew = settling and not how.merges
            table.solved[c] = solved and (anew or table.solved[c])
            table.chatter[c] = chatter or (not anew and table.chatter[c])
            if settling:
                if how.seconds < 0.0:
                    break
            else:
                in_a_row = in_a_row + 1 if chatter else 0
        if due:
            table.chatter[c] = True
        if how.seconds >= 0.0:
            _pass(left, column.left_s)


@inlined
def _soonest(left_s: Array) -> float:
    """When the next timer expires; infinite: none runs."""
    soonest = np.inf
    for n in range(len(left_s)):
        if left_s[n] > 0.0:
            soonest = min(soonest, left_s[n])
    return soonest


@inlined
def _expire(soonest: float, timer: Array, column: Column) -> None:
    """Let the time pass until the next timer expires, and switch off what does."""
    left_s = column.left_s
    for n in range(len(left_s)):
        if left_s[n] > 0.0:
            left_s[n] = max(left_s[n] - soonest, STEP_END_S)
            if left_s[n] <= STEP_END_S:
                left_s[n] = 0.0
                put_flag(timer[n, 0], False, column.flags)


@inlined
def _settle(
    c: int,
    settling: bool,
    row: Array,
    given: Given,
    how: How,
    table: Table,
    column: Column,
    stand: Stand,
    room: Room,
    work: Array,
) -> bool:
    """Solve and move until nothing moves or it chatters; whether the circuit was solved. What is
    found is written into the table as it comes."""
    net, logic, gates = given.net, given.net.logic, given.net.sizes[2]
    spare, noted, bonds = room.spare, room.noted, table.bonds[c]
    now = noted.now
    seen = Seen(row, given.places, stand.volts, room.watched, Held(room.stuck, given.feed))
    now[:] = 0
    solved = True
    gate_bits_one(gates, logic.code, column.flags, spare.bits)
    for turn in range(MOST_ROUNDS):
        if turn == 0 and table.known[c] and same(table.gates[c], spare.bits):
            work[KNOWN] += 1
        else:
            begins = settling and not how.begun and turn == 0
            solved = solve_column(begins, net, row, given.places, stand, bonds, room, work)
        _watch(net.watch, stand.volts, bonds, room.watched, table.low[c], table.high[c])
        watching = now[LEFT] > 0
        if watching:
            tempt(how.frozen, logic, seen, column, room.back, spare, noted)
        if now[EPOCHS] > 0:
            copy(column.flags, room.back.flags)
        wants = move_as_before(how.frozen, gates, logic, seen, column, spare, room.memory)
        if now[EPOCHS] > 0:
            note_epoch(column.flags, room.back.flags, noted)
        if watching:
            go_round(gates, logic, column, noted, spare.after, table.flips[c])
        if wants:
            find_circle(column, noted)
        if turn == MOST_ROUNDS - 1 and wants:
            now[CHATTER] = 1
        if now[CHATTER] == 1 or not wants:
            break
        copy(spare.after, spare.bits)
    copy(spare.bits, table.gates[c])
    return solved


@inlined
def _watch(
    watch: Array, volts: Array, bonds: Array, watched: Array, low: Array, high: Array
) -> None:
    """Volts of senses and bolts, with the lowest and highest of them."""
    for n in range(len(watch)):
        v = 0.0 if bonds[n] & APART else volts[watch[n, 0]] - volts[watch[n, 1]]
        watched[n] = v
        low[n] = min(low[n], v)
        high[n] = max(high[n], v)


@inlined
def _pass(left: float, left_s: Array) -> None:
    """Let the rest of the time pass."""
    for n in range(len(left_s)):
        if left_s[n] > 0.0:
            left_s[n] = max(left_s[n] - left, STEP_END_S)
