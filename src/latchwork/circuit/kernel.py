"""One column solved by compiled code: what ``solve`` does, in the same order of operations, so that
the volts are the same to the bit.

Needs numba. Nothing here explains a rule: see ``eliminate`` and ``walk``, which it follows.
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
NONE, ONE, TWO = np.uint64(0), np.uint64(1), np.uint64(2)


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


class Lean(NamedTuple):
    """The steps of a level for one member, without what conducts in none of its positions, as most
    places for faults do.

    ``steps``: eight numbers of each node. Most have two neighbours or fewer: the node; 0; the slots
    to them; the two; the slot that grows (the reference, and slots that hold nothing, where there
    are fewer). Of others: the node; how many neighbours; where those begin in ``neighbour`` and
    ``slot``; where their pairs begin in ``pair_slot``. ``whole``: which of the level's they are.
    """

    steps: Array
    neighbour: Array
    slot: Array
    whole: Array
    pair_slot: Array


STEP = np.uint64(3)
"""A step's numbers begin at its own number shifted up by so much."""
NODE, MANY, SLOT, OTHER_SLOT, NEIGHBOUR, OTHER, PAIR = map(np.uint64, range(7))


class Leans(NamedTuple):
    """Both levels of one member. ``there``: which slots ever conduct; ``read``: those of them that
    the second level reads; ``gated``: which branches that are switched ever conduct; ``counts``:
    how many there are of either, by the names below."""

    first: Lean
    second: Lean
    there: Array
    read: Array
    gated: Array
    counts: Array


READ, GATED = range(2)


class Branches(NamedTuple):
    """Non-linear branches in the order of a bank: the two nodes, the slot (or that for what goes
    nowhere); how many sources, diodes, loads and curves; which loads are of power; slots that the
    second level reads."""

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
    """Room to solve a column in. Conductances by slot, then one for what goes nowhere and one that
    holds nothing, and currents by node; what a step leaves; to which later node each of the first
    and of the second level is joined (itself: to none); the island of each node; room for one step.
    """

    siemens: Array
    amps: Array
    ratios: Array
    own: Array
    leads: Array
    joined: Array
    island: Array
    given: Array
    shares: Array
    fresh: Array
    law_s: Array
    law_a: Array
    next_regions: Array


@kernel
def lean_one(level: Level, there: Array, lean: Lean) -> None:
    """The steps of a level where only the slots that are ``there`` conduct; those that grow are
    then there too."""
    nodes, begins, neighbours, its_slots, pair_begins, pair_slots = level
    steps, neighbour, slot, whole, pair_slot = lean
    nowhere, nothing = uint64(len(there)), uint64(len(there)) + ONE
    at, pair = NONE, NONE
    for k in range(uint64(len(nodes))):
        first, its = at, k << STEP
        for n in range(begins[k], begins[k + ONE]):
            if there[its_slots[n]]:
                neighbour[at], slot[at], whole[at] = neighbours[n], its_slots[n], n
                at += ONE
        many, last = at - first, at - ONE
        steps[its + NODE] = nodes[k]
        if many > TWO:
            steps[its + MANY], steps[its + SLOT], steps[its + PAIR] = many, first, pair
            for q in range(first, at):
                for p in range(q + ONE, at):
                    grows = pair_slots[pair_begins[whole[q]] + whole[p]]
                    pair_slot[pair] = grows
                    there[grows] = True
                    pair += ONE
            continue
        steps[its + MANY] = NONE
        steps[its + SLOT] = slot[first] if many == TWO else nothing
        steps[its + NEIGHBOUR] = neighbour[first] if many == TWO else NONE
        steps[its + OTHER_SLOT] = slot[last] if many != NONE else nothing
        steps[its + OTHER] = neighbour[last] if many != NONE else NONE
        steps[its + PAIR] = nowhere
        if many == TWO:
            grows = pair_slots[pair_begins[whole[first]] + whole[last]]
            steps[its + PAIR] = grows
            there[grows] = True
        at = first


@placed
def eliminate_one(
    lean: Lean,
    siemens: Array,
    amps: Array,
    ratios: Array,
    own: Array,
    joined: Array,
    given: Array,
    shares: Array,
) -> float:
    """As ``eliminate``; the least pivot. ``joined``: for each node one that it is joined to and
    that goes later; itself where it floats. What goes to the reference goes nowhere: ``amps`` of
    it are not read, and its volts are 0."""
    steps = lean.steps
    count = uint64(len(own))
    least = 0.0
    for k in range(count):
        its = k << STEP
        node = steps[its + NODE]
        current = amps[node]
        many = steps[its + MANY]
        if many == NONE:
            g, h = siemens[steps[its + SLOT]], siemens[steps[its + OTHER_SLOT]]
            one, other, grows = steps[its + NEIGHBOUR], steps[its + OTHER], steps[its + PAIR]
            total = g + h
            least = min(least, total)
            leads = one if g != 0.0 else other
            floats = total == 0.0
            own[k] = 0.0 if floats else current / total
            joined[node] = node if floats else leads
            total = 1.0 if floats else total
            share = h / total
            siemens[grows] = siemens[grows] + share * g
            amps[other] = amps[other] + current * share
            ratios[k + k + ONE] = share
            share = g / total
            amps[one] = amps[one] + current * share
            ratios[k + k] = share
        else:
            begin = steps[its + SLOT]
            total, leads = 0.0, node
            for n in range(many):
                g = siemens[lean.slot[begin + n]]
                given[n] = g
                if leads == node and g != 0.0:
                    leads = lean.neighbour[begin + n]
                total = total + g
            least = min(least, total)
            floats = total == 0.0
            own[k] = 0.0 if floats else current / total
            joined[node] = node if floats else leads
            total = 1.0 if floats else total
            for n in range(many):
                share = given[n] / total
                shares[n] = share
                ratios[count + count + begin + n] = share
                other = lean.neighbour[begin + n]
                amps[other] = amps[other] + current * share
            pair = steps[its + PAIR]
            for q in range(many):
                for p in range(q + ONE, many):
                    grows = lean.pair_slot[pair]
                    siemens[grows] = siemens[grows] + shares[p] * given[q]
                    pair += ONE
    return least


@placed
def substitute_one(lean: Lean, ratios: Array, own: Array, volts: Array) -> None:
    """As ``Eliminated.substitute``."""
    steps = lean.steps
    count = uint64(len(own))
    volts[0] = 0.0
    for back in range(count):
        k = count - ONE - back
        its = k << STEP
        many = steps[its + MANY]
        value = own[k]
        if many == NONE:
            value = value + ratios[k + k] * volts[steps[its + NEIGHBOUR]]
            value = value + ratios[k + k + ONE] * volts[steps[its + OTHER]]
        else:
            begin = steps[its + SLOT]
            for n in range(begin, begin + many):
                value = value + ratios[count + count + n] * volts[lean.neighbour[n]]
        volts[steps[its + NODE]] = value


@kernel
def part_one(nodes: Array, joined: Array, island: Array) -> None:
    """As ``Eliminated.part``, by what each node is joined to."""
    for back in range(len(nodes)):
        node = nodes[uint64(len(nodes) - 1 - back)]
        island[node] = island[joined[node]] if joined[node] != node else node


@inlined
def walk_one(
    nodes: Array,
    leans: Leans,
    branches: Branches,
    devices: Devices,
    kept_s: Array,
    kept_a: Array,
    stand: Stand,
    desk: Desk,
) -> tuple[bool, int]:
    """As ``Walk`` on one column, until it rests: whether it does, and how many steps it took.

    ``nodes``: those of the second level; ``kept_s`` and ``kept_a`` are what the first left of slots
    and nodes that the second one reads. Where the branches stand is changed in place, and the volts
    of the second level's nodes are filled in.
    """
    sources, loads, lean = devices.sources, devices.loads, leans.second
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
        _stamp(nodes, leans, branches, kept_s, kept_a, desk)
        least = eliminate_one(
            lean,
            desk.siemens,
            desk.amps,
            desk.ratios,
            desk.own,
            desk.joined,
            desk.given,
            desk.shares,
        )
        substitute_one(lean, desk.ratios, desk.own, stand.volts)
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
def _stamp(
    nodes: Array, leans: Leans, branches: Branches, kept_s: Array, kept_a: Array, desk: Desk
) -> None:
    """What the first level left, with the branches' laws upon it."""
    siemens, amps, law_a = desk.siemens, desk.amps, desk.law_a
    plus, minus, into = branches.plus, branches.minus, branches.into
    for slot in leans.read[: leans.counts[READ]]:
        siemens[slot] = kept_s[slot]
    for node in nodes:
        amps[node] = kept_a[node]
    for n in range(len(into)):
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
