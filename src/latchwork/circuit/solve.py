"""The direct-current solution of one topology over columns of what-ifs.

Linear nodes are eliminated once; on the few nodes left the non-linear branches are followed by
iteration. A column that has come to rest is written down and no longer followed, so that its
answer does not hang on the columns beside it. One that does not come to rest within ``MAX_STEPS``
is returned as not solved, never dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

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
from latchwork.circuit.eliminate import (
    ZERO,
    Eliminated,
    Island,
    Row,
    Work,
    eliminate,
    holding,
    some,
)
from latchwork.circuit.gather import Gathered
from latchwork.circuit.topology import Order
from latchwork.circuit.walk import Start, Walk

MAX_STEPS = 200
APART, LOOSE, ADRIFT = 1, 2, 4
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
    joins the two, so that nothing can be said of the volts between them, ``LOOSE`` where nothing
    ties either to the reference, and ``ADRIFT`` where nor does anything to a source's minus.
    ``steps``: the most that any column took.
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
    """What has been written down of the columns that came to rest, some at a time."""

    def __init__(self, kept: Sequence[int], columns: int) -> None:
        self.columns = Gathered()
        self.islands: dict[int, Island] = {}
        self._kept = kept
        self._count = columns

    def write(self, walk: Walk, volts: Matrix, ends: Bools, moving: Bools) -> None:
        """Write down the columns of ``walk`` that end with these ``volts`` by node."""
        rows: dict[str, NDArray[Any]] = {
            "volts": volts[self._kept],
            "across": walk.across,
            "regions": walk.regions,
            "solved": ~moving,
        }
        self.columns.keep_some(walk.at, ends, rows)
        if walk.second is not None and walk.second.any_floats(ends):
            self._part(walk.second, ends, walk.at[ends])

    def _part(self, second: Eliminated, ends: Bools, at: NDArray[np.intp]) -> None:
        found: list[Island | None] = [None] * (max(self._kept) + 1)
        second.part(found)
        for node in self._kept:
            its = found[node]
            if its is None:
                continue
            if node not in self.islands:
                self.islands[node] = np.zeros(self._count, dtype=np.int16)
            self.islands[node][at] = np.broadcast_to(its, ends.shape)[ends]


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
    first = eliminate(order.lean(holding(slots), second=False), slots, injected)
    work.solves += columns
    work.reductions += columns
    work.eliminations += columns * len(order.first)

    walk = Walk(order, branches, slots, injected, bank(devices), start, columns)
    kept = [step.node for step in order.second]
    written = _Written(kept, columns)
    open_ = np.ones(columns, dtype=bool)
    steps = 0
    while True:
        steps += 1
        work.newton_steps += len(open_)
        work.eliminations += len(open_) * len(order.second)
        volts, moving = walk.step(nodes, steps)
        ends = open_ if steps == MAX_STEPS else open_ & ~moving
        if some(ends):
            written.write(walk, volts, ends, moving)
            open_ = open_ & ~ends
        left = int(np.count_nonzero(open_))
        if left == 0:
            break
        if 2 * left <= len(open_):
            walk.take(np.flatnonzero(open_))
            open_ = np.ones(left, dtype=bool)
    ended = written.columns.read()
    whole = np.empty((nodes, columns))
    whole[0] = 0.0
    whole[kept] = ended["volts"]
    first.substitute(whole)
    across = np.empty((len(devices), columns))
    across[list(walk.bank.places)] = ended["across"]
    regions = np.zeros((len(devices), columns), dtype=np.int8)
    regions[list(walk.bank.places[: walk.bank.first_diode])] = ended["regions"]
    bonds = np.zeros((len(pairs), columns), dtype=np.int8)
    if pairs:
        islands: list[Island | None] = [written.islands.get(node) for node in range(nodes)]
        first.part(islands)
        sourced = (
            islands[minus]
            for (_, minus), device in zip(branches, devices, strict=True)
            if isinstance(device, SourceRow)
        )
        fed = [island for island in sourced if island is not None]
        for n, (a, b) in enumerate(pairs):
            its, other = islands[a], islands[b]
            if its is None and other is None:
                continue
            its, other = (HELD if its is None else its), (HELD if other is None else other)
            loose = (its != HELD) & (other != HELD)
            adrift = loose
            for island in fed:
                adrift = adrift & (island != its) & (island != other)
            bonds[n] = APART * (its != other) + LOOSE * loose + ADRIFT * adrift
    return Solution(whole, across, regions, ended["solved"], bonds, steps)
