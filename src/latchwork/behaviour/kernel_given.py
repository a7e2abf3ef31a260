"""What the kernels are given, as named tuples of arrays: a shape, its members, states and points.

Needs numba. See ``packed`` for how a shape becomes a ``Net``.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from latchwork.circuit.kernel import Branches, Level

Array = np.ndarray[Any, Any]
SOLVES, REDUCTIONS, STEPS, KNOWN = range(4)
"""What is counted of the work."""


class Code(NamedTuple):
    """Expressions. ``plain``: four numbers each, of its only part: word, mask, what the masked word
    must be, and 0; where it has more parts, 1. ``at``: where the clauses of each begin. ``parts``:
    for each part of a clause word, mask, what that must be, and whether another part follows."""

    plain: Array
    at: Array
    parts: Array


class Logic(NamedTuple):
    """The logic of a shape. Senses (flag, either way, needs, its place), rules (flag, when) and
    latches (flag, set, reset), each by class, and where each class begins; bolts (flag, either way,
    needs); timers (flag, start, clear, on rise); fuses (the two nodes, blown flag, resets,
    branch); flags as bits of words: those that the circuit hangs on; of each class, those that its
    senses and rules move."""

    code: Code
    sense: Array
    rule: Array
    latch: Array
    begins: Array
    bolt: Array
    timer: Array
    fuse: Array
    gating: Array
    moves: Array


class Places(NamedTuple):
    """Where each kind of number begins in the row of a member; unsigned, as all that indexes."""

    ohm: Any
    rail_volt: Any
    rail_ohm: Any
    source_volt: Any
    source_low_volt: Any
    source_ohm: Any
    source_limit_a: Any
    source_fold_a: Any
    load_amount: Any
    load_floor_v: Any
    diode_a: Any
    diode_scale_v: Any
    fuse_blows_a: Any
    sense_on_v: Any
    sense_off_v: Any
    bolt_v: Any
    timer_s: Any


class Net(NamedTuple):
    """A shape as arrays. ``fixed``: branch and slot of what always conducts, into slots that
    nothing else goes into; ``gated``: what is added besides, branch, slot, gate (one too many:
    none) and whether it is a polymer fuse; ``rail``: plus, minus, gate, slot (one too many: where
    there is none);
    ``source``: gates of on and low; ``load``: gate of on;
    ``watch``: nodes of senses and bolts;
    ``switching``: which of the gates are of linear branches
    and rails; ``sizes``: nodes, slots, gates, flags, branches."""

    first: Level
    second: Level
    branches: Branches
    fixed: Array
    gated: Array
    rail: Array
    source: Array
    load: Array
    watch: Array
    switching: Array
    sizes: Array
    logic: Logic


class Table(NamedTuple):
    """States and points of many columns, one row a column: what settling begins with and where it
    ends; then what it fills in. Flags, flips and gates are the bits of words."""

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
    """What the circuit was last solved with; then whether its volts hold for that, and what joins
    watched ends."""
    known: Array
    bonds: Array


class Given(NamedTuple):
    """A batch. Numbers, stuck flags and curves are by member or row, or one for all of them;
    ``points``: volts of the curve; ``feed``: which flag each follows that is held to another;
    ``alike``: one number for all members whose moves hang on the same comparisons."""

    net: Net
    places: Places
    numbers: Array
    member: Array
    points: Array
    curves: Array
    which_curve: Array
    stuck: Array
    feed: Array
    alike: Array


class How(NamedTuple):
    """Whether the columns settle first, from a start that they have, and with what was seen before
    counted in; whether their logic stands still; and the seconds that then pass (negative: none,
    not even no time)."""

    settles: bool
    begun: bool
    merges: bool
    frozen: bool
    seconds: float
