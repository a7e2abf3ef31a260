"""Members through their scripts, one after the other, compiled: what ``Side`` does with all members
side by side, to the bit.

Needs numba. Nothing here explains a rule: see ``run``, which it follows. One member goes through
all of its stages and events before the next begins, so that a circuit reduced for one of them
serves the others, and nothing is moved about between them.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel import run_columns
from latchwork.behaviour.kernel_bits import FULL, WORD, copy, lit, put_flag
from latchwork.behaviour.kernel_given import Given, How, Table
from latchwork.behaviour.kernel_room import Room
from latchwork.behaviour.situations import HELD_S, LONG_S
from latchwork.circuit.jit import inlined, kernel
from latchwork.circuit.kernel import NONE, ONE

Array = np.ndarray[Any, Any]
NOT_PASSING = -1.0
BEFORE, AT_FIRST, THEN = range(3)
IDLE_MODE = 0


class Course(NamedTuple):
    """Scripts one after the other. Flags in healthy idle before anything moves, by script; where
    the stages of each begin, what they set before and then (flags as bits of words: which, and to
    what), whether they set anything before, and the modes of the other doors."""

    idle: Array
    stage: Array
    before: Array
    changed: Array
    then: Array
    modes: Array


class Events(NamedTuple):
    """Events of scripts one after the other: where those of each begin; the stage of each, and what
    it sets."""

    begin: Array
    stage: Array
    sets: Array


class Cast(NamedTuple):
    """For each member its script, and where its rows begin: of stages, of events, of events with
    logic frozen; how many curves a member has (0: none of its own)."""

    script: Array
    stages: Array
    events: Array
    frozen: Array
    curves: int


class Lines(NamedTuple):
    """Room for one member: the row it idles in; whose each row is, and which curve it has."""

    idle: Table
    member: Array
    curve: Array


class Stage(NamedTuple):
    """Rows of stages or events: as they begin, and held."""

    begins: Table
    held: Table


@kernel
def run_members(
    given: Given,
    course: Course,
    usual: Events,
    still: Events,
    cast: Cast,
    stages: Stage,
    events: Stage,
    frozen: Table,
    lines: Lines,
    room: Room,
    work: Array,
) -> None:
    """Idle, stages, events of each member. ``given`` has the ``lines`` for whose each row is, and
    which curve it has. ``work`` is counted up."""
    settle = How(True, True, False, False, NOT_PASSING)
    for m in range(len(cast.script)):
        its = cast.script[m]
        lines.member[:] = m
        own = m * max(cast.curves, 1)
        _idle(uint64(m), course.idle[its], own, given, lines, room, work)

        a, first = cast.stages[m], course.stage[its]
        b = a + course.stage[its + 1] - first
        for row in range(a, b):
            s = first + row - a
            _from(lines.idle, 0, stages.held, row)
            if course.changed[s]:
                _turn(row, row + 1, course.modes[s:], BEFORE, own, cast, lines)
                _unknown(course.modes[s, BEFORE] != IDLE_MODE, row, cast, stages.held)
                _set(uint64(m), course.before[s], given, stages.held.flags[row])
                how = How(True, True, False, False, LONG_S)
                run_columns(given, how, stages.held, row, row + 1, room, work)
            before = course.modes[s, BEFORE] if course.changed[s] else IDLE_MODE
            _unknown(before != course.modes[s, AT_FIRST], row, cast, stages.held)
            _set(uint64(m), course.then[s], given, stages.held.flags[row])
            stages.held.flips[row] = 0
        _turn(a, b, course.modes[first:], AT_FIRST, own, cast, lines)
        run_columns(given, settle, stages.held, a, b, room, work)
        for row in range(a, b):
            s = first + row - a
            _seen(stages.held, row, stages.begins, row)
            if cast.curves > 0 and course.modes[s, AT_FIRST] != course.modes[s, THEN]:
                stages.held.known[row] = False
                _turn(row, row + 1, course.modes[s:], THEN, own, cast, lines)
                how = How(True, True, True, False, NOT_PASSING)
                run_columns(given, how, stages.held, row, row + 1, room, work)
        _turn(a, b, course.modes[first:], THEN, own, cast, lines)
        how = How(False, True, False, False, LONG_S)
        run_columns(given, how, stages.held, a, b, room, work)

        b = cast.events[m]
        c = b + usual.begin[its + 1] - usual.begin[its]
        _begin(uint64(m), a, b, c, usual, its, course, own, given, cast, stages, events.held, lines)
        run_columns(given, settle, events.held, b, c, room, work)
        for row in range(b, c):
            _seen(events.held, row, events.begins, row)
        how = How(False, True, False, False, HELD_S)
        run_columns(given, how, events.held, b, c, room, work)

        b = cast.frozen[m]
        c = b + still.begin[its + 1] - still.begin[its]
        _begin(uint64(m), a, b, c, still, its, course, own, given, cast, stages, frozen, lines)
        how = How(True, True, False, True, NOT_PASSING)
        run_columns(given, how, frozen, b, c, room, work)


@inlined
def _idle(
    m: Any, flags: Array, own: int, given: Given, lines: Lines, room: Room, work: Array
) -> None:
    """The member from nothing to where it rests with nobody there."""
    idle = lines.idle
    copy(flags, idle.flags[0])
    idle.bolts[0] = 0
    idle.left_s[0] = 0.0
    idle.volts[0] = 0.0
    idle.started[0] = False
    idle.flips[0] = 0
    idle.known[0] = False
    _stick(m, given, idle.flags[0])
    lines.curve[0] = own
    rows = len(idle.known)  # one: written so, it would be compiled for that number apart
    how = How(True, False, False, False, LONG_S)
    run_columns(given, how, idle, rows - 1, rows, room, work)


@inlined
def _begin(
    m: Any,
    a: int,
    b: int,
    c: int,
    events: Events,
    its: int,
    course: Course,
    own: int,
    given: Given,
    cast: Cast,
    stages: Stage,
    into: Table,
    lines: Lines,
) -> None:
    """Begin events of a member, in rows from ``b`` to ``c``, where its stages, in rows from ``a``
    on, ended."""
    for row in range(b, c):
        e = events.begin[its] + row - b
        stage = events.stage[e]
        _from(stages.held, a + stage, into, row)
        _set(m, events.sets[e], given, into.flags[row])
        into.flips[row] = 0
        mode = course.modes[course.stage[its] + stage, THEN]
        lines.curve[row - b] = own + (mode if cast.curves > 0 else 0)


@inlined
def _turn(a: int, b: int, modes: Array, which: int, own: int, cast: Cast, lines: Lines) -> None:
    """Give rows the curves of their modes."""
    for n in range(b - a):
        lines.curve[n] = own + (modes[n, which] if cast.curves > 0 else 0)


@inlined
def _unknown(other: bool, row: int, cast: Cast, table: Table) -> None:
    """Volts that were found with another curve are not known any more."""
    if other and cast.curves > 0:
        table.known[row] = False


@inlined
def _copied(table: Table, row: int, into: Table, to: int) -> None:
    """Copy of a row where it stands."""
    copy(table.flags[row], into.flags[to])
    copy(table.bolts[row], into.bolts[to])
    copy(table.across[row], into.across[to])
    copy(table.regions[row], into.regions[to])
    copy(table.volts[row], into.volts[to])
    copy(table.bonds[row], into.bonds[to])


@inlined
def _from(table: Table, row: int, into: Table, to: int) -> None:
    """Begin a row where another stands: what settling begins with."""
    _copied(table, row, into, to)
    copy(table.left_s[row], into.left_s[to])
    copy(table.started[row], into.started[to])
    copy(table.gates[row], into.gates[to])
    into.known[to] = table.known[row]


@inlined
def _seen(table: Table, row: int, into: Table, to: int) -> None:
    """Write down the point at which a row stands."""
    _copied(table, row, into, to)
    copy(table.low[row], into.low[to])
    copy(table.high[row], into.high[to])
    copy(table.flips[row], into.flips[to])
    into.chatter[to] = table.chatter[row]
    into.solved[to] = table.solved[row]


@kernel
def _set(m: Any, to: Array, given: Given, flags: Array) -> None:
    """Set flags, those that are stuck as they are stuck."""
    for w in range(len(flags)):
        flags[w] = (flags[w] & ~to[0, w]) | to[1, w]
    _stick(m, given, flags)


@kernel
def _stick(m: Any, given: Given, flags: Array) -> None:
    """What stuck flags are, one after the other."""
    stuck = given.stuck[m if len(given.stuck) > 1 else NONE]
    for w in range(uint64(len(flags))):
        some = stuck[0, w] | stuck[1, w] | stuck[2, w]
        if some == NONE:
            continue
        for bit in range(FULL):
            mask = ONE << bit
            if some & mask != NONE:
                to = stuck[1, w] & mask != NONE
                if stuck[2, w] & mask != NONE:
                    to = lit(given.feed[(w << WORD) | bit], flags)
                put_flag((w << WORD) | bit, to, flags)
