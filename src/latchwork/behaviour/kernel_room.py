"""What the kernels are given, as named tuples of arrays: a shape, its members, states and points,
and room to work in.

Needs numba. See ``packed`` for how a shape becomes a ``Net``.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from latchwork.behaviour.kernel_bits import BIT, WORD
from latchwork.behaviour.settle import MOST_ROUNDS
from latchwork.circuit.kernel import Branches, Desk, Level
from latchwork.circuit.kernel_laws import Devices

Array = np.ndarray[Any, Any]
ALWAYS, NEVER = -1, -2
KEPT = 12
"""Reductions of one member that are kept at a time."""
SLOWER = 3
"""Classes that are slower than the fastest."""
SOLVES, REDUCTIONS, STEPS, KNOWN = range(4)
"""What is counted of the work."""


class Code(NamedTuple):
    """Expressions. ``at``: where the clauses of each begin; ``where`` and ``fits``: for each part
    of a clause its word, and whether another part follows; its mask and what the masked word must
    be."""

    at: Array
    where: Array
    fits: Array


class Logic(NamedTuple):
    """The logic of a shape. Senses (flag, either way, needs, its place), rules (flag, when) and
    latches (flag, set, reset), each by class, and where each class begins; bolts (flag, either way,
    needs); timers (flag, start, clear, on rise); fuses (the two nodes, blown flag, resets,
    branch)."""

    code: Code
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


class Net(NamedTuple):
    """A shape as arrays. ``linear``: gate (or always, never), whether it is a polymer fuse, slot;
    ``rail``: plus, minus, gate, slot; ``device``: kind (0 source, 1 load, 2 diode, 3 curve), row
    among those, gates of on and low, place in the bank; ``watch``: nodes of senses and bolts;
    ``switching``: which of the gates are of linear branches and rails; ``sizes``: nodes, slots,
    gates, flags."""

    first: Level
    second: Level
    branches: Branches
    linear: Array
    rail: Array
    device: Array
    watch: Array
    switching: Array
    sizes: Array
    logic: Logic


class Table(NamedTuple):
    """States and points of many columns, one row a column: what settling begins with and where it
    ends; then what it fills in."""

    flags: Array
    bolts: Array
    left_s: Array
    started: Array
    across: Array
    regions: Array
    volts: Array
    low: Array
    high: Array
    flips: Array
    chatter: Array
    solved: Array
    gates: Array
    """What the circuit was last solved with; then whether its volts hold for that, and which
    watched ends nothing joins."""
    known: Array
    apart: Array


class Given(NamedTuple):
    """A batch. Numbers, stuck flags and curves are by member or row, or one for all of them;
    ``points``: volts of the curve; ``feed``: which flag each follows that is held to another."""

    net: Net
    places: Places
    numbers: Array
    member: Array
    points: Array
    curves: Array
    which_curve: Array
    stuck: Array
    feed: Array


class How(NamedTuple):
    """Whether the columns settle first, and from a start that they have; whether their logic stands
    still; and the seconds that then pass (negative: none, not even no time)."""

    settles: bool
    begun: bool
    frozen: bool
    seconds: float


class Kept(NamedTuple):
    """The reductions of one member that are kept: the gates they are for, and what they left;
    ``now``: which member (-1: none yet), how many there are, and the next to go."""

    now: Array
    bits: Array
    siemens: Array
    amps: Array
    ratios: Array
    own: Array
    floats: Array


LOADED, COUNT, NEXT = range(3)


class Column(NamedTuple):
    """What moves in the column that is run."""

    flags: Array
    bolts: Array
    left_s: Array
    started: Array


class Held(NamedTuple):
    """Flags that are held off, on or to another; and to which."""

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
    volts of bolts."""

    bits: Array
    after: Array
    last: Array
    before: Array
    bolt_v: Array


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


LEFT, SINCE, ROUNDS, EPOCHS, FRESH, CHATTER = range(6)
"""Rounds of a circle that are still to be watched; the round since which a circle is looked for;
rounds; epochs; whether a circle was just found; whether the column chatters."""


class Room(NamedTuple):
    """Room to work in. ``back``: a column to go back to; ``watched``: volts of senses and bolts,
    whether nothing joins their ends, and the lowest and highest of them."""

    kept: Kept
    siemens_of: Array
    devices: Devices
    desk: Desk
    column: Column
    back: Column
    spare: Spare
    noted: Noted
    stuck: Array
    watched: Array
    apart: Array
    low: Array
    high: Array
    flips: Array


def room(net: Net, points: int) -> Room:
    """Room for the columns of a shape; ``points`` of its curve."""
    nodes, slots, _, flags = net.sizes.tolist()
    d, j, a, _ = net.branches.counts.tolist()
    devices, bolts, timers = len(net.device), len(net.logic.bolt), len(net.logic.timer)
    watch, gates = len(net.watch), len(net.switching)
    words, size = (flags + BIT) >> WORD, flags + bolts
    state = words + ((2 * (timers + bolts) + BIT) >> WORD)
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

    kept = Kept(
        now=ints(3),
        bits=bits(KEPT, gates),
        siemens=floats(KEPT, slots),
        amps=floats(KEPT, nodes),
        ratios=floats(KEPT, len(net.first.neighbour)),
        own=floats(KEPT, len(net.first.node)),
        floats=bools(KEPT, len(net.first.node)),
    )
    desk = Desk(
        siemens=floats(slots),
        amps=floats(nodes),
        volts=floats(nodes),
        across=floats(devices),
        regions=small(d),
        ratios=floats(len(net.second.neighbour)),
        own=floats(len(net.second.node)),
        floats=bools(len(net.second.node)),
        islands=ints(nodes),
        shares=floats(degree),
        present=ints(degree),
        fresh=floats(devices),
        law_s=floats(devices),
        law_a=floats(devices),
        next_regions=small(d),
    )
    noted = Noted(
        now=ints(6),
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
    )
    return Room(
        kept=kept,
        siemens_of=floats(len(net.linear)),
        devices=Devices(floats(d, 6), floats(j, 3), floats(a, 3), floats(2, points)),
        desk=desk,
        column=column(),
        back=column(),
        spare=Spare(bits(gates), bits(gates), bits(words), bits(words), floats(bolts)),
        noted=noted,
        stuck=bits(3, words),
        watched=floats(watch),
        apart=bools(watch),
        low=floats(watch),
        high=floats(watch),
        flips=bools(flags),
    )
