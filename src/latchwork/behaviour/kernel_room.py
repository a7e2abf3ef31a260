"""Room for the kernels to work in, and what they remember, as named tuples of arrays.

Needs numba.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from latchwork.behaviour.kernel_given import Net, Places
from latchwork.behaviour.packed import word_count
from latchwork.behaviour.settle import MOST_ROUNDS
from latchwork.circuit.kernel import STEP, Desk, Lean, Leans, Level
from latchwork.circuit.kernel_laws import Devices
from latchwork.elements import Speed

Array = np.ndarray[Any, Any]
KEPT = 24
"""Reductions of one member that are kept at a time."""
REMEMBERED = 16384
"""Moves that are remembered at a time; a power of two."""
SLOWER = 4
"""Classes that are slower than the fastest."""


class Kept(NamedTuple):
    """The reductions of one member that are kept: the gates they are for, and what they left, with
    the node that each end of what is watched leads to. ``now``: which member (-1: none yet), how
    many there are, and the next to go."""

    now: Array
    bits: Array
    siemens: Array
    amps: Array
    ratios: Array
    own: Array
    root: Array


LOADED, COUNT, NEXT = range(3)


class Column(NamedTuple):
    """What moves in the column that is run."""

    flags: Array
    bolts: Array
    left_s: Array
    started: Array


class Held(NamedTuple):
    """Flags that are held off, on or to another, then any of these; and to which."""

    stuck: Array
    feed: Array


class Seen(NamedTuple):
    """What makes a column move: numbers of its member and their places, volts, held flags."""

    row: Array
    at: Places
    volts: Array
    watched: Array
    held: Held


class Spare(NamedTuple):
    """Room to move in: gates that the circuit was solved with, and those after; flags before;
    volts of bolts; flags as the circuit was solved; for each class after how many moves it rested,
    and whether the last to move rests."""

    bits: Array
    after: Array
    last: Array
    before: Array
    bolt_v: Array
    solved: Array
    rested: Array
    calm: Array


class Memory(NamedTuple):
    """Moves that are remembered (see ``kernel_memory``). ``keys``: what each hung on, and ``came``:
    what came of it; the last is none, but room for what is not remembered. ``now``: of the member
    its number among ``alike``, and how often something was found. ``bears_v``: volts that each of
    its fuses surely bears; room for a key, and for the seconds that timers have left."""

    now: Array
    keys: Array
    came: Array
    key: Array
    bears_v: Array
    held_s: Array


ALIKE, HITS = range(2)


class Answers(NamedTuple):
    """Volts that are remembered (see ``kernel_answers``). ``keys``: what each answered to; where
    its branches then stood, volts by node, and what joined watched ends. ``now``: which curve the
    column has, and where what is asked last has its place; room for a key."""

    now: Array
    keys: Array
    across: Array
    regions: Array
    volts: Array
    bonds: Array
    key: Array


CURVE, PLACE = range(2)
ANSWERS = 256
"""How many are kept: a power of two."""


class Noted(NamedTuple):
    """What is noted of circles (see ``Circles``); ``now``: counters, by the names below."""

    now: Array
    marks: Array
    other: Array
    moved: Array
    tempted: Array
    agreed: Array
    target: Array
    history: Array
    key: Array
    epoch_key: Array
    epoch_moved: Array
    heat: Array


LEFT, SINCE, ROUNDS, EPOCHS, FRESH, CHATTER, LENGTH = range(7)
"""Rounds of a circle that are still to be watched; the round since which a circle is looked for;
rounds; epochs; whether a circle was just found; whether the column chatters; rounds of the circle.
"""


class Room(NamedTuple):
    """Room to work in. Of the member: the conductance of each branch, and of each slot that always
    conducts; its steps. ``back``: a column to go back to; ``were``: its flags before a timer
    expired; ``watched``: volts of senses and bolts."""

    kept: Kept
    siemens_of: Array
    base: Array
    leans: Leans
    devices: Devices
    desk: Desk
    back: Column
    were: Array
    spare: Spare
    memory: Memory
    noted: Noted
    stuck: Array
    watched: Array
    answers: Answers


def room(net: Net, points: int) -> Room:
    """Room for the columns of a shape; ``points`` of its curve."""
    nodes, slots, _, flags, branches = net.sizes.tolist()
    d, j, a, _ = net.branches.counts.tolist()
    devices, bolts, timers = len(net.branches.plus), len(net.logic.bolt), len(net.logic.timer)
    watch, gates = len(net.watch), len(net.switching)
    words, size = word_count(flags), flags + bolts
    state = words + word_count(2 * (timers + bolts))
    asked = timers + 3 * bolts + len(net.logic.sense) + len(net.logic.fuse)
    key = 1 + words + word_count(2 * asked)
    came = words + gates + word_count(2 * (1 + 2 * timers + bolts))
    degree = max(np.diff(level.begin).max(initial=1) for level in (net.first, net.second))

    def ints(*shape: int) -> Array:
        return np.zeros(shape, dtype=np.int64)

    def floats(*shape: int) -> Array:
        return np.zeros(shape)

    def bools(*shape: int) -> Array:
        return np.zeros(shape, dtype=bool)

    def small(*shape: int) -> Array:
        return np.zeros(shape, dtype=np.int8)

    def bits(*shape: int) -> Array:
        return np.zeros(shape, dtype=np.uint64)

    def column() -> Column:
        return Column(bits(words), small(bolts), floats(timers), bools(timers))

    def lean(level: Level) -> Lean:
        edges = len(level.neighbour)
        return Lean(
            steps=bits(len(level.node) << int(STEP)),
            neighbour=bits(edges),
            slot=bits(edges),
            whole=bits(edges),
            pair_slot=bits(len(level.pair_slot)),
        )

    def ratios(level: Level) -> int:
        return 2 * len(level.node) + len(level.neighbour)

    leans = Leans(
        lean(net.first),
        lean(net.second),
        there=bools(slots),
        read=bits(len(net.branches.second_slots)),
        gated=bits(len(net.gated)),
        counts=ints(2),
    )
    kept = Kept(
        now=np.array([-1, 0, 0], dtype=np.int64),
        bits=bits(KEPT, gates),
        siemens=floats(KEPT, slots),
        amps=floats(KEPT, nodes),
        ratios=floats(KEPT, ratios(net.first)),
        own=floats(KEPT, len(net.first.node)),
        root=bits(KEPT, watch, 2),
    )
    desk = Desk(
        siemens=floats(slots + 2),
        amps=floats(nodes),
        ratios=floats(ratios(net.second)),
        own=floats(len(net.second.node)),
        leads=np.arange(nodes, dtype=np.uint64),
        joined=np.arange(nodes, dtype=np.uint64),
        island=np.arange(nodes, dtype=np.uint64),
        given=floats(degree),
        shares=floats(degree),
        fresh=floats(devices),
        law_s=floats(devices),
        law_a=floats(devices),
        next_regions=small(d),
    )
    noted = Noted(
        now=ints(7),
        marks=small(size),
        other=small(size),
        moved=bools(size),
        tempted=bools(size),
        agreed=bools(SLOWER, size),
        target=small(SLOWER, size),
        history=bits(MOST_ROUNDS, state),
        key=bits(state),
        epoch_key=bits(MOST_ROUNDS, state),
        epoch_moved=bools(MOST_ROUNDS, flags),
        heat=floats(len(net.logic.fuse)),
    )
    return Room(
        kept=kept,
        siemens_of=floats(branches),
        base=floats(slots + 2),
        leans=leans,
        devices=Devices(floats(d, 6), floats(j, 3), floats(a, 3), floats(2, points)),
        desk=desk,
        back=column(),
        were=bits(words),
        spare=Spare(
            bits=bits(gates),
            after=bits(gates),
            last=bits(words),
            before=bits(words),
            bolt_v=floats(bolts),
            solved=bits(words),
            rested=ints(len(Speed)),
            calm=bools(1),
        ),
        memory=Memory(
            now=bits(2),
            keys=bits(REMEMBERED + 1, key),
            came=bits(REMEMBERED + 1, came),
            key=bits(key),
            bears_v=floats(len(net.logic.fuse)),
            held_s=floats(timers),
        ),
        noted=noted,
        stuck=bits(4, words),
        watched=floats(watch),
        answers=Answers(
            now=bits(2),
            keys=bits(ANSWERS, 2 + d + gates + devices),
            across=floats(ANSWERS, devices),
            regions=small(ANSWERS, d),
            volts=floats(ANSWERS, nodes),
            bonds=small(ANSWERS, watch),
            key=bits(2 + d + gates + devices),
        ),
    )
