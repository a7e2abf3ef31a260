"""Contacts by fixed point and time, column by column, compiled: what ``settle`` and ``passing`` do,
in the same order of operations, so that positions and volts are the same to the bit.

Needs numba; imported only where it is asked for. What is compiled is kept on disk. Nothing here
explains a rule: see ``settle`` and ``timing``, which it follows.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import copy, lit, put_flag, put_row, row_of
from latchwork.behaviour.kernel_circles import find_circle, go_round, note_epoch, tempt
from latchwork.behaviour.kernel_moves import gate_bits_one, move_fastest_one
from latchwork.behaviour.kernel_room import (
    CHATTER,
    EPOCHS,
    KNOWN,
    LEFT,
    LOADED,
    Column,
    Given,
    Held,
    How,
    Room,
    Seen,
    Table,
)
from latchwork.behaviour.kernel_solve import load_member, solve_column
from latchwork.behaviour.settle import MOST_ROUNDS
from latchwork.behaviour.timing import MOST_EXPIRIES, STEP_END_S, STILL_CHATTERS, WATCHED_EXPIRIES
from latchwork.circuit.jit import inlined, kernel
from latchwork.circuit.kernel import NONE
from latchwork.circuit.solve import APART

Array = np.ndarray[Any, Any]


@kernel
def run_columns(given: Given, how: How, table: Table, room: Room, work: Array) -> None:
    """Settle each column, where it is to, then let the seconds pass: from one expiry of a timer to
    the next, settling after each. ``work`` is counted up."""
    copy(given.points, room.devices.curve[0])
    room.kept.now[LOADED] = -1
    column, desk = room.column, room.desk
    for c in range(len(given.member)):
        m = uint64(given.member[c])
        row = given.numbers[m if len(given.numbers) > 1 else NONE]
        left, in_a_row, due = how.seconds, 0, False
        for expiries in range(-1 if how.settles else 0, MOST_EXPIRIES + 1):
            settling = expiries < 0
            soonest = np.inf
            if not settling:
                soonest = _soonest(table.left_s[c])
                due = soonest <= left and in_a_row < STILL_CHATTERS
                if not due or expiries == MOST_EXPIRIES:
                    break
            if m != room.kept.now[LOADED]:
                load_member(m, row, given, room)
            if len(given.points):
                which = uint64(given.which_curve[c]) if len(given.curves) > 1 else NONE
                copy(given.curves[which], room.devices.curve[1])
            _take(c, table, column, desk.across, desk.regions)
            if not settling:
                _expire(soonest, given.net.logic.timer, column)
                left -= soonest
            solved = _settle(c, settling, row, given, how, table, room, work)
            if expiries >= MOST_EXPIRIES - WATCHED_EXPIRIES:
                _flip_changed(table.flags[c], column.flags, room.flips)
            _write(c, column, desk.across, desk.regions, desk.volts, room.spare.bits, table)
            copy(room.bonds, table.bonds[c])
            chatter = room.noted.now[CHATTER] == 1
            _add_up(c, settling, solved, chatter, room.low, room.high, room.flips, table)
            if settling:
                if how.seconds < 0.0:
                    break
            else:
                in_a_row = in_a_row + 1 if chatter else 0
        if due:
            table.chatter[c] = True
        if how.seconds >= 0.0:
            _pass(left, table.left_s[c])


@inlined
def _soonest(left_s: Array) -> float:
    """When the next timer expires; infinite: none runs."""
    soonest = np.inf
    for n in range(len(left_s)):
        if left_s[n] > 0.0:
            soonest = min(soonest, left_s[n])
    return soonest


@inlined
def _take(c: int, table: Table, column: Column, across: Array, regions: Array) -> None:
    """Take a column from the table."""
    put_row(table.flags[c], column.flags)
    copy(table.bolts[c], column.bolts)
    copy(table.left_s[c], column.left_s)
    copy(table.started[c], column.started)
    copy(table.across[c], across)
    copy(table.regions[c], regions)


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
    room: Room,
    work: Array,
) -> bool:
    """Solve and move until nothing moves or it chatters; whether the circuit was solved."""
    net, logic, gates = given.net, given.net.logic, given.net.sizes[2]
    column, desk, spare, noted = room.column, room.desk, room.spare, room.noted
    now = noted.now
    seen = Seen(row, given.places, desk.volts, room.watched, Held(room.stuck, given.feed))
    room.low[:] = np.inf
    room.high[:] = -np.inf
    room.flips[:] = False
    now[:] = 0
    solved = True
    gate_bits_one(gates, logic.code, column.flags, spare.bits)
    for turn in range(MOST_ROUNDS):
        if turn == 0 and table.known[c] and _alike(table.gates[c], spare.bits):
            copy(table.volts[c], desk.volts)
            copy(table.bonds[c], room.bonds)
            solved = True
            work[KNOWN] += 1
        else:
            begins = settling and not how.begun and turn == 0
            solved = solve_column(begins, net, row, given.places, room, work)
        _watch(net.watch, desk.volts, room.bonds, room.watched, room.low, room.high)
        watching = now[LEFT] > 0
        if watching:
            tempt(how.frozen, logic, seen, column, room.back, spare, noted)
        if now[EPOCHS] > 0:
            copy(column.flags, room.back.flags)
        wants = move_fastest_one(how.frozen, gates, logic, seen, column, spare)
        if now[EPOCHS] > 0:
            note_epoch(column.flags, room.back.flags, noted)
        if watching:
            go_round(gates, logic.code, logic.bolt, column, noted, spare.after, room.flips)
        if wants:
            find_circle(column, noted)
        if turn == MOST_ROUNDS - 1 and wants:
            now[CHATTER] = 1
        if now[CHATTER] == 1 or not wants:
            break
        copy(spare.after, spare.bits)
    return solved


@inlined
def _alike(gates: Array, bits: Array) -> bool:
    """Whether gates are as these bits."""
    alike = True
    for n in range(len(gates)):
        alike = alike and gates[n] == lit(n, bits)
    return alike


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
def _flip_changed(were: Array, flags: Array, flips: Array) -> None:
    """What an expiry changed flips."""
    for n in range(len(were)):
        if were[n] != lit(n, flags):
            flips[n] = True


@inlined
def _write(
    c: int,
    column: Column,
    across: Array,
    regions: Array,
    volts: Array,
    bits: Array,
    table: Table,
) -> None:
    """Write where a column came to back into the table."""
    row_of(column.flags, table.flags[c])
    copy(column.bolts, table.bolts[c])
    copy(column.left_s, table.left_s[c])
    copy(column.started, table.started[c])
    copy(across, table.across[c])
    copy(regions, table.regions[c])
    copy(volts, table.volts[c])
    row_of(bits, table.gates[c])


@inlined
def _add_up(
    c: int,
    settling: bool,
    solved: bool,
    chatter: bool,
    low: Array,
    high: Array,
    flips: Array,
    table: Table,
) -> None:
    """Write what was seen on the way: of this settling, or added to what was there."""
    for n in range(len(flips)):
        table.flips[c, n] = flips[n] or (not settling and table.flips[c, n])
    for n in range(len(low)):
        table.low[c, n] = low[n] if settling else min(table.low[c, n], low[n])
        table.high[c, n] = high[n] if settling else max(table.high[c, n], high[n])
    table.known[c] = solved
    table.solved[c] = solved and (settling or table.solved[c])
    table.chatter[c] = chatter or (not settling and table.chatter[c])


@inlined
def _pass(left: float, left_s: Array) -> None:
    """Let the rest of the time pass."""
    for n in range(len(left_s)):
        if left_s[n] > 0.0:
            left_s[n] = max(left_s[n] - left, STEP_END_S)
