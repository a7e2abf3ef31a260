"""All members of a ``Side`` through their scripts by compiled code: as side by side, to the bit."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from functools import lru_cache
from threading import local
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.compiled import (
    KERNEL,
    compiles,
    count,
    empty,
    given_of,
    kept,
    point_of,
    settle_compiled,
)
from latchwork.behaviour.packed import NUMBERS, Packed, Unsigned, bits_of, word_count
from latchwork.behaviour.script import ALONE_THERE, Pairs, Script
from latchwork.behaviour.shape import Compiled, Shape, Values, compile_shape
from latchwork.behaviour.solved import Layout, events_of
from latchwork.behaviour.state import Batch, Members, Point, dead
from latchwork.circuit import Work

if TYPE_CHECKING:
    from latchwork.behaviour.kernel_room import Memory, Room
    from latchwork.behaviour.kernel_scripts import Course, Events

Ints = NDArray[np.int64]


class _Last(local):
    """The shape that was last played in this thread: moves that its members made, and the numbers
    given to those that move alike."""

    compiled: Compiled | None = None
    memory: Memory
    numbers: dict[bytes, int]


_last = _Last()


def play(
    members: Members,
    scripts: tuple[Script, ...],
    kinds: Ints,
    layouts: tuple[Layout, Layout, Layout],
    curves: int,
    work: Work,
) -> tuple[tuple[Point, Point], tuple[Point, Point], tuple[Point, Point]]:
    """The points of all members, as they begin and held: of stages, of events, and of events with
    logic frozen, where the two are the same.

    ``scripts``: the different ones; ``kinds``: which of them each member has; ``layouts``: columns
    of stages, events, and events with logic frozen; ``curves``: how many curves a member has.
    """
    from latchwork.behaviour.kernel_scripts import Cast, Lines, Stage, run_members

    compiled, its = members.compiled, members.packed
    assert its is not None
    course, usual, still = _courses(compiled.shape.flags, compiled.shape.rests, scripts)
    most = max(len(course.then), len(usual.stage), len(still.stage))
    lines = Lines(empty(compiled, 1), np.zeros(most, np.int64), np.zeros(most, np.int64))
    begins = [empty(compiled, len(layout.member)) for layout in layouts[:2]]
    held = [empty(compiled, len(layout.member)) for layout in layouts]
    starts = [layout.starts for layout in layouts]
    done = np.zeros(4, dtype=np.int64)
    given = given_of(Batch(members, members.count))
    room, numbered = _remembering(compiled, its)
    run_members(
        given._replace(member=lines.member, which_curve=lines.curve, alike=numbered),
        course,
        usual,
        still,
        Cast(kinds, starts[0], starts[1], starts[2], curves),
        Stage(begins[0], held[0]),
        Stage(begins[1], held[1]),
        held[2],
        lines,
        room,
        done,
    )
    count(work, compiled, done)
    frozen = point_of(compiled, held[2])
    first, second = (
        (point_of(compiled, a), point_of(compiled, b)) for a, b in zip(begins, held, strict=False)
    )
    return first, second, (frozen, frozen)


def _remembering(compiled: Compiled, its: Packed) -> tuple[Room, Unsigned]:
    """Room with what members of this shape moved before, where they were the last to be played; and
    a number for each member, by which it moves as others did."""
    from latchwork.behaviour.kernel_room import LOADED

    if _last.compiled is not compiled:
        _last.compiled, _last.memory, _last.numbers = compiled, its.room.memory, {}
    its.room.kept.now[LOADED] = -1  # what is in memory of a member may be another's
    numbers = _last.numbers
    known = np.array([numbers.setdefault(kind, len(numbers)) for kind in its.kinds], np.uint64)
    return its.room._replace(memory=_last.memory), known[its.alike]


@lru_cache(maxsize=256)
def _courses(
    flags: int, rests: Pairs, scripts: tuple[Script, ...]
) -> tuple[Course, Events, Events]:
    """Scripts as arrays for a shape of so many flags that are at ``rests`` before anything moves:
    stages, events, and events with logic frozen."""
    from latchwork.behaviour.kernel_scripts import Course, Events

    def sets(lists: Sequence[Pairs]) -> NDArray[np.uint64]:
        """Lists x which flags, and to what x words."""
        rows = [
            [bits_of([f for f, _ in pairs], flags), bits_of([f for f, on in pairs if on], flags)]
            for pairs in lists
        ]
        return np.array(rows, dtype=np.uint64).reshape(len(lists), 2, word_count(flags))

    def begins(counts: Sequence[int]) -> Ints:
        return np.array([0, *np.cumsum(counts)], dtype=np.int64)

    def events(frozen: bool) -> Events:
        found = [list(events_of(its, frozen)) for its in scripts]
        every = [event for some in found for event in some]
        return Events(
            begins([len(some) for some in found]),
            np.array([stage for stage, _ in every], dtype=np.int64),
            sets([pairs for _, pairs in every]),
        )

    before = [pairs for its in scripts for pairs in its.before]
    idle = [{**dict(rests), **dict(its.idle)} for its in scripts]
    course = Course(
        np.array([bits_of([f for f, on in its.items() if on], flags) for its in idle]),
        begins([len(its.then) for its in scripts]),
        sets(before),
        np.array([bool(pairs) for pairs in before], dtype=bool),
        sets([pairs for its in scripts for pairs in its.then]),
        np.array([modes for its in scripts for modes in its.modes], dtype=np.int64).reshape(-1, 3),
    )
    return course, events(frozen=False), events(frozen=True)


def make_ready(tell: Callable[[str, int, int], None]) -> None:
    """Compile what will be needed, or read it from where it is kept. A first time takes some
    seconds: then ``tell`` is called as it begins and ends."""
    if not compiles() or KERNEL in sys.modules:
        return
    begun = not kept()
    if begun:
        tell("compile", 0, 1)
    shape = Shape(1, (), (), (), (), 0, (), (), (), (), (), ())
    values = Values(*(np.zeros((0, 1)) for _ in NUMBERS))
    batch = Batch.of(compile_shape(shape), values, 1)
    settle_compiled(batch, dead(batch.compiled, 1), Work(compiled=True))
    idle = Script((), ((),), ((),), (ALONE_THERE,), ((0, None, False),))
    one, none = Layout([1]), Layout([0])
    play(batch.members, (idle,), np.zeros(1, np.int64), (one, none, none), 0, Work(compiled=True))
    if begun:
        tell("compile", 1, 1)
