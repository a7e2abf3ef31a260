"""One column solved by compiled code: what ``solve`` does, in the same order of operations, so that
the volts are the same to the bit.

Needs numba. Nothing here explains a rule: see ``eliminate`` and ``walk``, which it follows. A
conductance of 0 is passed over, which alters no bit.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import uint64

from latchwork.circuit.devices import GIVING, OFF
from latchwork.circuit.jit import inlined, kernel, placed
from latchwork.circuit.kernel_laws import Devices, follow, laws, strayed
from latchwork.circuit.solve import MAX_STEPS
from latchwork.circuit.walk import (
    NEWTON_REST_V,
    NEWTON_STEPS,
    PATIENT_STEPS,
    REST_V,
    WEARY_STEPS,
    WEARY_V,
)

Array = np.ndarray[Any, Any]
NONE, ONE = np.uint64(0), np.uint64(1)


class Level(NamedTuple):
    """Elimination steps as arrays: node; where its neighbours begin; the neighbours and their
    slots; for each neighbour where its pairs begin, less the place of the first; for each pair of
    neighbours the slot that grows. Unsigned: an index that may be negative costs more."""

    node: Array
    begin: Array
    neighbour: Array
    slot: Array
    pair_begin: Array
    pair_slot: Array


class Branches(NamedTuple):
    """Non-linear branches in the order of a bank: the two nodes, the slot (one too many: none); how
    many sources, diodes, loads and curves; which loads are of power; slots that the second level
    reads."""

    plus: Array
    minus: Array
    into: Array
    counts: Array
    power: Array
    second_slots: Array


class Stand(NamedTuple):
    """Where a column stands: volts across each branch, regions of sources, volts by node."""

    across: Array
    regions: Array
    volts: Array


class Desk(NamedTuple):
    """Room to solve a column in. Conductances by slot and currents by node; what a step leaves; to
    which later node each of the first and of the second level is joined (itself: to none); the
    island of each node; room for one step."""

    siemens: Array
    amps: Array
    ratios: Array
    own: Array
    leads: Array
    joined: Array
    island: Array
    given: Array
    shares: Array
    present: Array
    fresh: Array
    law_s: Array
    law_a: Array
    next_regions: Array


@placed
def eliminate_one(
    level: Level,
    siemens: Array,
    amps: Array,
    ratios: Array,
    own: Array,
    joined: Array,
    given: Array,
    shares: Array,
    present: Array,
) -> float:
    """As ``eliminate``; the least pivot. ``joined``: for each node one that it is joined to and
    that goes later; itself where it floats."""
    nodes, begins, neighbours, its_slots, pair_begins, pair_slots = level
    least = 0.0
    for k in range(len(nodes)):
        total = 0.0
        there = NONE
        for n in range(begins[k], begins[k + 1]):
            g = siemens[its_slots[n]]
            ratios[n] = 0.0
            if g != 0.0:
                total = total + g
                present[there] = n
                given[there] = g
                there += ONE
        own[k] = 0.0
        least = min(least, total)
        node = nodes[k]
        current = amps[node]
        if total == 0.0:
            total = 1.0
            joined[node] = node
        else:
            own[k] = current / total
            joined[node] = neighbours[present[0]]
        for p in range(there):
            n = present[p]
            neighbour = neighbours[n]
            if neighbour != NONE:
                share = given[p] / total
                shares[p] = share
                ratios[n] = share
                amps[neighbour] = amps[neighbour] + current * share
        for q in range(there):
            row, other = pair_begins[present[q]], given[q]
            for p in range(q + ONE, there):
                slot = pair_slots[row + present[p]]
                siemens[slot] = siemens[slot] + shares[p] * other
    return least


@kernel
def substitute_one(
    nodes: Array, begins: Array, neighbours: Array, ratios: Array, own: Array, volts: Array
) -> None:
    """As ``Eliminated.substitute``."""
    for back in range(len(nodes)):
        k = uint64(len(nodes) - 1 - back)
        value = own[k]
        for n in range(begins[k], begins[k + ONE]):
            value = value + ratios[n] * volts[neighbours[n]]
        volts[nodes[k]] = value


@kernel
def part_one(nodes: Array, joined: Array, island: Array) -> None:
    """As ``Eliminated.part``, by what each node is joined to."""
    for back in range(len(nodes)):
        node = nodes[uint64(len(nodes) - 1 - back)]
        island[node] = island[joined[node]] if joined[node] != node else node


@inlined
def walk_one(
    level: Level,
    branches: Branches,
    devices: Devices,
    kept_s: Array,
    kept_a: Array,
    stand: Stand,
    desk: Desk,
) -> tuple[bool, int]:
    """As ``Walk`` on one column, until it rests: whether it does, and how many steps it took.

    ``level``: the second one; ``kept_s`` and ``kept_a`` are what the first left of slots and nodes
    that the second one reads. Where the branches stand is changed in place, and the volts of the
    second level's nodes are filled in.
    """
    sources, loads = devices.sources, devices.loads
    across, regions, next_regions = stand.across, stand.regions, desk.next_regions
    first_load, count = len(sources) + len(devices.diodes), len(across)
    high = highest(sources)
    fed = high > 0.0 or len(sources) == 0
    lifted_once, keen, solved = False, True, False
    taken = 0
    while taken < MAX_STEPS and not solved:
        if taken % NEWTON_STEPS == 0:
            keen = fed and taken // NEWTON_STEPS % 2 == 0
        taken += 1
        laws(devices, branches.power, across, regions, keen, desk.law_s, desk.law_a)
        _stamp(level, branches, kept_s, kept_a, desk)
        least = eliminate_one(
            level,
            desk.siemens,
            desk.amps,
            desk.ratios,
            desk.own,
            desk.joined,
            desk.given,
            desk.shares,
            desk.present,
        )
        substitute_one(level.node, level.begin, level.neighbour, desk.ratios, desk.own, stand.volts)
        for n in range(count):
            desk.fresh[n] = stand.volts[branches.plus[n]] - stand.volts[branches.minus[n]]
        lost = keen and (
            least < 0.0 or strayed(sources, loads, first_load, desk.fresh, across, regions)
        )
        rest_v = WEARY_V if taken > WEARY_STEPS else NEWTON_REST_V if keen else REST_V
        moving = follow(
            devices,
            branches.power,
            desk.law_s,
            desk.law_a,
            across,
            regions,
            rest_v,
            desk.fresh,
            next_regions,
        )
        lifted = False
        if lost:
            keen = False
            moving = True
        else:
            changing, sinking = _changes(regions, next_regions)
            if taken > PATIENT_STEPS:
                if changing and not moving:
                    lifted = True
                    _change_one(regions, next_regions)
            elif changing:
                came = _change(sinking, regions, next_regions)
                lifted = came and not lifted_once
                lifted_once = lifted_once or came
            if not sinking or taken > PATIENT_STEPS:
                for n in range(count):
                    across[n] = desk.fresh[n]
            moving = moving or changing
        if lifted:
            for n in range(uint64(first_load), uint64(count)):
                across[n] = max(across[n], high)
            keen = True
        solved = not moving
    return solved, taken


@inlined
def highest(sources: Array) -> float:
    """The highest volts of a source that is on; 0 without one."""
    high = 0.0
    for n in range(len(sources)):
        if sources[n, 4] > 0.0:
            high = max(high, sources[n, 0])
    return high


@inlined
def _stamp(level: Level, branches: Branches, kept_s: Array, kept_a: Array, desk: Desk) -> None:
    """What the first level left, with the branches' laws upon it."""
    siemens, amps, law_a = desk.siemens, desk.amps, desk.law_a
    plus, minus, into = branches.plus, branches.minus, branches.into
    for slot in branches.second_slots:
        siemens[slot] = kept_s[slot]
    for node in level.node:
        amps[node] = kept_a[node]
    for n in range(len(into)):
        if into[n] < len(siemens):
            siemens[into[n]] = siemens[into[n]] + desk.law_s[n]
        amps[plus[n]] = amps[plus[n]] + law_a[n]
        amps[minus[n]] = amps[minus[n]] - law_a[n]


@inlined
def _changes(regions: Array, next_regions: Array) -> tuple[bool, bool]:
    """Whether a source changes its region, and whether one goes off."""
    changing, sinking = False, False
    for n in range(len(regions)):
        if next_regions[n] != regions[n]:
            changing = True
            sinking = sinking or next_regions[n] == OFF
    return changing, sinking


@inlined
def _change_one(regions: Array, next_regions: Array) -> None:
    """Let the first source that would change do so."""
    for n in range(len(regions)):
        if next_regions[n] != regions[n]:
            regions[n] = next_regions[n]
            break


@inlined
def _change(sinking: bool, regions: Array, next_regions: Array) -> bool:
    """Let all sources change, or where some go off only those; whether one came on."""
    came = False
    for n in range(len(regions)):
        if not sinking or next_regions[n] == OFF:
            came = came or (regions[n] == OFF and next_regions[n] == GIVING)
            regions[n] = next_regions[n]
    return came
