"""The circuit of one column, compiled: switched by its gates, reduced, and solved.

Needs numba. Nothing here explains a rule: see ``network`` and ``settle``, which it follows. Columns
of one member stand together, so that a circuit reduced for one of them serves the next.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_answers import answered, note_answer
from latchwork.behaviour.kernel_bits import WORD, copy, lit
from latchwork.behaviour.kernel_given import KNOWN, REDUCTIONS, SOLVES, STEPS, Given, Net, Places
from latchwork.behaviour.kernel_room import COUNT, KEPT, LOADED, NEXT, Kept, Room
from latchwork.behaviour.positions import POLYMER_OHM
from latchwork.circuit.devices import LN_2, OFF
from latchwork.circuit.jit import inlined, kernel
from latchwork.circuit.kernel import (
    GATED,
    NONE,
    READ,
    Leans,
    Stand,
    eliminate_one,
    highest,
    lean_one,
    part_one,
    substitute_one,
    walk_one,
)
from latchwork.circuit.kernel_laws import Devices
from latchwork.circuit.solve import ADRIFT, APART, LOOSE

Array = np.ndarray[Any, Any]


@inlined
def load_member(m: Any, row: Array, given: Given, room: Room) -> None:
    """Begin with another member, of which nothing is reduced yet."""
    _numbers(row, given.places, room.siemens_of, room.devices)
    base, fixed = room.base, given.net.fixed
    base[:] = 0.0
    for n in range(len(fixed)):
        slot = fixed[n, 1]
        base[slot] = base[slot] + room.siemens_of[fixed[n, 0]]
    stuck = given.stuck[m if len(given.stuck) > 1 else NONE]
    for n in range(3):
        copy(stuck[n], room.stuck[n])
    for n in range(stuck.shape[1]):
        room.stuck[3, n] = stuck[0, n] | stuck[1, n] | stuck[2, n]
    _leaner(given.net, room.siemens_of, base, room.leans)
    now = room.kept.now
    now[LOADED], now[COUNT], now[NEXT] = m, 0, 0


@kernel
def _leaner(net: Net, siemens_of: Array, base: Array, leans: Leans) -> None:
    """The steps of a member, without what conducts in none of its positions."""
    there, gated, rail, into = leans.there, net.gated, net.rail, net.branches.into
    for n in range(len(there)):
        there[n] = base[n] != 0.0
    some = 0
    for n in range(len(gated)):
        if siemens_of[gated[n, 0]] != 0.0 or gated[n, 3] != 0:
            there[gated[n, 1]] = True
            leans.gated[some] = n
            some += 1
    leans.counts[GATED] = some
    count = uint64(len(there))
    for n in range(len(rail)):
        if rail[n, 3] < count:
            there[rail[n, 3]] = True
    lean_one(net.first, there, leans.first)
    for n in range(len(into)):
        if into[n] < count:
            there[into[n]] = True
    lean_one(net.second, there, leans.second)
    read = 0
    for slot in net.branches.second_slots:
        if there[slot]:
            leans.read[read] = slot
            read += 1
    leans.counts[READ] = read


@kernel
def _numbers(row: Array, at: Places, siemens_of: Array, devices: Devices) -> None:
    """The numbers of a member that do not hang on its gates."""
    sources, diodes, loads, _ = devices
    for n in range(uint64(len(siemens_of))):
        siemens_of[n] = 1.0 / row[at.ohm + n]
    for k in range(uint64(len(sources))):
        sources[k, 1] = row[at.source_ohm + k]
        sources[k, 2] = row[at.source_limit_a + k]
        sources[k, 3] = row[at.source_fold_a + k]
    for k in range(uint64(len(diodes))):
        sat, scale = row[at.diode_a + k], row[at.diode_scale_v + k]
        diodes[k, 0] = sat
        diodes[k, 1] = scale
        _, doublings = math.frexp(scale / sat)
        diodes[k, 2] = scale * LN_2 * doublings
    for k in range(uint64(len(loads))):
        loads[k, 0] = row[at.load_amount + k]
        loads[k, 1] = row[at.load_floor_v + k]


@inlined
def solve_column(
    begins: bool,
    net: Net,
    row: Array,
    at: Places,
    stand: Stand,
    bonds: Array,
    room: Room,
    work: Array,
) -> bool:
    """The volts of a column with the gates it has, and what joins its watched ends; whether they
    could be found. ``begins``: without a start."""
    desk, devices, kept = room.desk, room.devices, room.kept
    member, bits, answers = kept.now[LOADED], room.spare.bits, room.answers
    if not begins and answered(member, bits, stand, bonds, answers):
        work[KNOWN] += 1
        return True
    sources = devices.sources
    _switched(net.source, net.load, row, at, room.spare.bits, sources, devices.loads)
    if begins:
        _begun(sources, len(sources) + len(devices.diodes), stand.across, stand.regions)
    for n in range(len(sources)):
        if not sources[n, 4] > 0.0:
            stand.regions[n] = OFF
    k = _reduced(net, row, at, room, work)
    solved, steps = walk_one(
        net.second.node,
        room.leans,
        net.branches,
        devices,
        kept.siemens[k],
        kept.amps[k],
        stand,
        desk,
    )
    substitute_one(room.leans.first, kept.ratios[k], kept.own[k], stand.volts)
    part_one(net.second.node, desk.joined, desk.island)
    _bond(kept.root[k], desk.island, net.branches.minus, len(sources), bonds)
    work[SOLVES] += 1
    work[STEPS] += steps
    if not begins:
        note_answer(solved, stand, bonds, answers)
    return solved


@kernel
def _bond(root: Array, island: Array, minus: Array, sources: int, bonds: Array) -> None:
    """What joins the watched ends, by the nodes that they lead to. ``minus``: those of the
    branches, of which the ``sources`` come first."""
    for n in range(len(bonds)):
        a, b = island[root[n, 0]], island[root[n, 1]]
        bond = APART if a != b else 0
        if a != NONE and b != NONE:
            bond |= LOOSE | ADRIFT
            for k in range(sources):
                its = island[minus[uint64(k)]]
                if its in (a, b):
                    bond &= ~ADRIFT
        bonds[n] = bond


@kernel
def _lead(watch: Array, leads: Array, root: Array) -> None:
    """To which later nodes the watched ends lead, or to which that floats."""
    for n in range(len(watch)):
        for end in range(2):
            node = watch[n, end]
            while leads[node] != node:
                node = leads[node]
            root[n, end] = node


@inlined
def _reduced(net: Net, row: Array, at: Places, room: Room, work: Array) -> int:
    """Which of the kept reductions is for these gates; where none is, one is made and kept."""
    desk, kept, leans, bits = room.desk, room.kept, room.leans, room.spare.bits
    k = _found(kept, net.switching, bits)
    if k < 0:
        k = kept.now[NEXT]
        kept.now[NEXT] = (k + 1) % KEPT
        kept.now[COUNT] = max(kept.now[COUNT], k + 1)
        for n in range(len(net.switching)):
            kept.bits[k, n] = bits[n] & net.switching[n]
        copy(room.base, desk.siemens)
        _assembled(net, leans, row, at, room.siemens_of, bits, desk.siemens, desk.amps)
        eliminate_one(
            leans.first,
            desk.siemens,
            desk.amps,
            kept.ratios[k],
            kept.own[k],
            desk.leads,
            desk.given,
            desk.shares,
        )
        _lead(net.watch, desk.leads, kept.root[k])
        for slot in leans.read[: leans.counts[READ]]:
            kept.siemens[k, slot] = desk.siemens[slot]
        for node in net.second.node:
            kept.amps[k, node] = desk.amps[node]
        work[REDUCTIONS] += 1
    return k


@kernel
def _assembled(
    net: Net,
    leans: Leans,
    row: Array,
    at: Places,
    siemens_of: Array,
    bits: Array,
    siemens: Array,
    amps: Array,
) -> None:
    """What these gates add to conductances by slot; and currents by node."""
    amps[:] = 0.0
    gated, rail = net.gated, net.rail
    always = uint64(len(bits)) << WORD
    for n in leans.gated[: leans.counts[GATED]]:
        slot, gate = gated[n, 1], gated[n, 2]
        if gate == always or lit(gate, bits):
            siemens[slot] = siemens[slot] + siemens_of[gated[n, 0]]
        elif gated[n, 3] != 0:
            siemens[slot] = siemens[slot] + 1.0 / POLYMER_OHM
    for n in range(uint64(len(rail))):
        if lit(rail[n, 2], bits):
            g = 1.0 / row[at.rail_ohm + n]
            i = g * row[at.rail_volt + n]
            slot = rail[n, 3]
            siemens[slot] = siemens[slot] + g
            amps[rail[n, 0]] = amps[rail[n, 0]] + i
            amps[rail[n, 1]] = amps[rail[n, 1]] - i


@kernel
def _found(kept: Kept, switching: Array, bits: Array) -> int:
    """Which of the kept reductions is for these gates; -1: none."""
    for k in range(kept.now[COUNT]):
        found = True
        for n in range(len(switching)):
            if kept.bits[k, n] != bits[n] & switching[n]:
                found = False
                break
        if found:
            return k
    return -1


@kernel
def _switched(
    source: Array,
    load: Array,
    row: Array,
    at: Places,
    bits: Array,
    sources: Array,
    loads: Array,
) -> None:
    """Sources and loads with these gates."""
    for k in range(uint64(len(source))):
        volt = at.source_low_volt if lit(source[k, 1], bits) else at.source_volt
        sources[k, 0] = row[volt + k]
        sources[k, 4] = 1.0 if lit(source[k, 0], bits) else 0.0
        sources[k, 5] = sources[k, 0] - sources[k, 1] * sources[k, 2]
    for k in range(len(load)):
        loads[k, 2] = 1.0 if lit(load[k], bits) else 0.0


@kernel
def _begun(sources: Array, first_load: int, across: Array, regions: Array) -> None:
    """Where the iteration begins without a start."""
    high = highest(sources)
    for n in range(len(across)):
        across[n] = high if n >= first_load else 0.0
    regions[:] = 1
