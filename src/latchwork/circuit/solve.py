"""The direct-current solution of one topology over columns of what-ifs.

Linear nodes are eliminated once; on the few nodes left the non-linear branches are followed by
iteration. A column that has come to rest is written down and no longer followed, so that its
answer does not hang on the columns beside it. One that does not come to rest within ``MAX_STEPS``
is returned as not solved, never dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.bank import Device, Matrix, bank
from latchwork.circuit.devices import (
    Bools,
    CurveRow,
    DiodeRow,
    LoadRow,
    Region,
    SourceRow,
    curve_current,
    diode_current,
    load_conductance,
    source_current,
)
from latchwork.circuit.eliminate import ZERO, Eliminated, Island, Row, Work, eliminate
from latchwork.circuit.topology import Order
from latchwork.circuit.walk import Start, Walk

MAX_STEPS = 200
APART, LOOSE = 1, 2
HELD = np.zeros(1, dtype=np.int16)
"""The island of the reference."""


@dataclass(frozen=True, slots=True)
class Injection:
    """A linear source as its conductance's current: ``amps`` into ``plus``, out of ``minus``."""

    plus: int
    minus: int
    amps: Row


@dataclass(frozen=True, slots=True)
class Solution:
    """Volts of every node against the reference, and the devices' own.

    ``volts`` nodes x columns; one node of those that nothing holds reads 0. ``solved`` False where
    the iteration did not come to rest. ``bonds``: pairs of nodes x columns, ``APART`` where nothing
    joins the two, so that nothing can be said of the volts between them, and ``LOOSE`` where
    nothing ties either to the reference. ``steps``: the most that any column took.
    """

    volts: Matrix
    device_volts: Matrix
    regions: Region
    solved: Bools
    bonds: NDArray[np.int8]
    steps: int


def device_current(device: Device, volts: Row, region: Region) -> Row:
    """Amperes into the plus terminal of a load, curve or diode; out of a source's plus."""
    match device:
        case SourceRow():
            return source_current(device, volts, region)
        case LoadRow():
            return load_conductance(device, volts) * volts
        case DiodeRow():
            return diode_current(device, volts)
        case CurveRow():
            return curve_current(device, volts)


class _Written:
    """What has been written down of the columns that came to rest."""

    def __init__(self, nodes: int, kept: Sequence[int], devices: int, columns: int) -> None:
        self.kept = kept
        self.volts: list[Row] = [ZERO] * nodes
        for node in kept:
            self.volts[node] = np.zeros(columns)
        self.islands: list[Island | None] = [None] * nodes
        self._columns = columns
        self.across = np.zeros((devices, columns))
        self.regions = np.zeros((devices, columns), dtype=np.int8)
        self.solved = np.zeros(columns, dtype=bool)

    def write(self, walk: Walk, volts: Sequence[Row], ends: Bools, moving: Bools) -> None:
        """Write down the columns of ``walk`` that end with these ``volts`` by node."""
        at = walk.at[ends]
        self.solved[at] = ~moving[ends]
        for node in self.kept:
            self.volts[node][at] = np.broadcast_to(volts[node], ends.shape)[ends]
        if walk.second is not None and any(floats is not None for floats in walk.second.floats):
            self._part(walk.second, ends, at)
        for n, place in enumerate(walk.bank.places):
            self.across[place, at] = walk.across[n, ends]
            if n < walk.bank.first_diode:
                self.regions[place, at] = walk.regions[n, ends]

    def _part(self, second: Eliminated, ends: Bools, at: NDArray[np.intp]) -> None:
        found: list[Island | None] = [None] * len(self.volts)
        second.part(found)
        for node in self.kept:
            its = found[node]
            if its is None:
                continue
            row = self.islands[node]
            if row is None:
                row = self.islands[node] = np.zeros(self._columns, dtype=np.int16)
            row[at] = np.broadcast_to(its, ends.shape)[ends]


def solve(
    order: Order,
    nodes: int,
    branches: Sequence[tuple[int, int]],
    conductances: Sequence[Row | None],
    injections: Sequence[Injection],
    devices: Sequence[Device],
    columns: int,
    start: Start | None = None,
    work: Work | None = None,
    pairs: Sequence[tuple[int, int]] = (),
) -> Solution:
    """Solve one topology.

    ``conductances`` (siemens) follow the topology's linear branches (None: not there in any
    column), ``devices`` its non-linear ones, whose nodes are ``branches``. Without a ``start``
    sources begin giving, loads at the highest volts of any source that is on, diodes off.
    ``pairs``: nodes of which is asked whether anything joins them.
    """
    work = work or Work()
    slots: list[Row | None] = [None] * order.slots
    for row, slot in zip(conductances, order.linear_slot, strict=True):
        if row is None or slot < 0:
            continue
        before = slots[slot]
        slots[slot] = row if before is None else before + row
    injected: list[Row] = [ZERO] * nodes
    for item in injections:
        injected[item.plus] = injected[item.plus] + item.amps
        injected[item.minus] = injected[item.minus] - item.amps
    first = eliminate(order.first, slots, injected)
    work.solves += columns
    work.reductions += columns
    work.eliminations += columns * len(order.first)

    walk = Walk(order, branches, slots, injected, bank(devices), start, columns)
    written = _Written(nodes, [step.node for step in order.second], len(devices), columns)
    open_ = np.ones(columns, dtype=bool)
    steps = 0
    while True:
        steps += 1
        work.newton_steps += len(open_)
        work.eliminations += len(open_) * len(order.second)
        volts, moving = walk.step(nodes, steps)
        ends = open_ if steps == MAX_STEPS else open_ & ~moving
        if ends.any():
            written.write(walk, volts, ends, moving)
            open_ = open_ & ~ends
        left = int(np.count_nonzero(open_))
        if left == 0:
            break
        if 2 * left <= len(open_):
            walk.take(np.flatnonzero(open_))
            open_ = np.ones(left, dtype=bool)
    first.substitute(written.volts)
    whole = np.empty((nodes, columns))
    for node, row in enumerate(written.volts):
        whole[node] = row
    bonds = np.zeros((len(pairs), columns), dtype=np.int8)
    if pairs:
        first.part(written.islands)
        for n, (a, b) in enumerate(pairs):
            its, other = written.islands[a], written.islands[b]
            if its is None and other is None:
                continue
            its, other = (HELD if its is None else its), (HELD if other is None else other)
            bonds[n] = APART * (its != other) + LOOSE * ((its != HELD) & (other != HELD))
    return Solution(whole, written.across, written.regions, written.solved, bonds, steps)
