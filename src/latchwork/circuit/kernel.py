"""One column solved by compiled code: what ``solve`` does, in the same order of operations, so that
the volts are the same to the bit.

Needs numba. Nothing here explains a rule: see ``eliminate``, ``walk``, ``bank`` and ``devices``,
which it follows. A conductance of 0 is passed over, which alters no bit.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from latchwork.circuit.bank import REST_A
from latchwork.circuit.devices import (
    DEAD_BAND_V,
    DEAD_V,
    GIVING,
    HAIR,
    LIMIT_S,
    LIMITING,
    OFF,
    REVERSED_V,
)
from latchwork.circuit.exponential import LN_2_HIGH, LN_2_LOW, PER_LN_2
from latchwork.circuit.jit import inlined, kernel
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
POWERS = 2.0 ** np.arange(-1021, 1024, dtype=float)
"""2 to the power of -1021 and more."""


class Level(NamedTuple):
    """Elimination steps as arrays: node; where its neighbours begin; the neighbours and their
    slots; where its pairs begin; for each pair of neighbours the slot that grows."""

    node: Array
    begin: Array
    neighbour: Array
    slot: Array
    pair_begin: Array
    pair_slot: Array


class Branches(NamedTuple):
    """Non-linear branches in the order of a bank: the two nodes, the slot (-1: none); how many
    sources, diodes, loads and curves; which loads are of power; slots that the second level reads.

    Their numbers are rows: of a source volt, ohm, limit, fold, on, knee; of a diode saturation,
    scale, steep; of a load amount, floor, on.
    """

    plus: Array
    minus: Array
    into: Array
    counts: Array
    power: Array
    second_slots: Array


@kernel
def eliminate_one(
    nodes: Array,
    begins: Array,
    neighbours: Array,
    its_slots: Array,
    pair_begins: Array,
    pair_slots: Array,
    siemens: Array,
    amps: Array,
    ratios: Array,
    own: Array,
    shares: Array,
    present: Array,
) -> float:
    """As ``eliminate``; the least pivot."""
    least = 0.0
    for k in range(len(nodes)):
        begin, end = begins[k], begins[k + 1]
        degree = end - begin
        total = 0.0
        there = 0
        for n in range(degree):
            g = siemens[its_slots[begin + n]]
            ratios[begin + n] = 0.0
            if g != 0.0:
                total = total + g
                present[there] = n
                there += 1
        own[k] = 0.0
        least = min(least, total)
        current = amps[nodes[k]]
        if total == 0.0:
            if there == 0:
                continue
            total = 1.0
        else:
            own[k] = current / total
        for p in range(there):
            n = present[p]
            neighbour = neighbours[begin + n]
            if neighbour != 0:
                share = siemens[its_slots[begin + n]] / total
                shares[p] = share
                ratios[begin + n] = share
                amps[neighbour] = amps[neighbour] + current * share
        pairs = pair_begins[k]
        for q in range(there):
            i = present[q]
            other = siemens[its_slots[begin + i]]
            row = pairs + i * (2 * degree - i - 1) // 2 - i - 1
            for p in range(q + 1, there):
                slot = pair_slots[row + present[p]]
                siemens[slot] = siemens[slot] + shares[p] * other
    return least


@kernel
def substitute_one(
    nodes: Array, begins: Array, neighbours: Array, ratios: Array, own: Array, volts: Array
) -> None:
    """As ``Eliminated.substitute``."""
    for k in range(len(nodes) - 1, -1, -1):
        value = own[k]
        for n in range(begins[k], begins[k + 1]):
            ratio = ratios[n]
            if ratio != 0.0:
                value = value + ratio * volts[neighbours[n]]
        volts[nodes[k]] = value


@kernel
def _exponential(x: float) -> float:
    k = np.rint(x * PER_LN_2)
    r = (x - k * LN_2_HIGH) - k * LN_2_LOW
    t = r * r
    even = 1.0 + t * (1.0 / 9.0 + t * (1.0 / 1008.0))
    odd = r * (0.5 + t * (1.0 / 72.0 + t * (1.0 / 30240.0)))
    return float((even + odd) / (even - odd) * POWERS[int(k) + 1021])


@kernel
def diode_amps(volts: float, saturation_a: float, scale_v: float) -> float:
    """As ``diode_current``."""
    x = min(max(volts / scale_v, -700.0), 200.0)
    return float(saturation_a * (_exponential(x) - 1.0))


@kernel
def source_conductance(source: Array, volts: float, region: int, keen: bool) -> tuple[float, float]:
    """As ``source_law``."""
    if region == GIVING:
        return 1.0 / source[1], source[0] / source[1]
    if region != LIMITING:
        return 0.0, 0.0
    knee = max(source[5], 1e-9)
    slope = (source[2] - source[3]) / knee
    folding = keen and volts > 0.0 and volts < knee
    at_limit = source[3] + (0.0 if folding else slope * min(max(volts, 0.0), knee))
    return LIMIT_S - (slope if folding else 0.0), at_limit + LIMIT_S * knee


@kernel
def load_secant(load: Array, power: bool, volts: float) -> float:
    """As ``load_conductance``."""
    above = max(volts, load[1])
    secant = load[0] * load[2] / (above * (above if power else 1.0))
    return float(secant) if volts > REVERSED_V else 0.0


@kernel
def _piece(curve: Array, volts: float) -> int:
    low, high = 0, curve.shape[1]
    while low < high:
        middle = (low + high) // 2
        if curve[0, middle] < volts:
            low = middle + 1
        else:
            high = middle
    return int(min(max(low - 1, 0), curve.shape[1] - 2))


@kernel
def curve_at(curve: Array, volts: float) -> tuple[float, float]:
    """As ``devices._on_curve``; ``curve``: points' volts, and amperes."""
    at, last = _piece(curve, volts), curve.shape[1] - 1
    begin_v, begin_a = curve[0, at], curve[1, at]
    slope = (curve[1, at + 1] - begin_a) / (curve[0, at + 1] - begin_v)
    inside = min(max(volts, curve[0, 0]), curve[0, last])
    return begin_a + (inside - begin_v) * slope, slope if volts == inside else 0.0


@kernel
def _curve_step(curve: Array, new: float, old: float) -> float:
    if abs(new) < DEAD_V:
        return new
    at, top = _piece(curve, old), curve[0, curve.shape[1] - 1]
    low = (top if old > top else curve[0, at] if at > 0 else -np.inf) + REVERSED_V
    above = curve[0, at + 1]
    high = above if old < above and old > above + 2.0 * REVERSED_V else np.inf
    return float(min(max(new, low), high))


@kernel
def _region(source: Array, volts: float, region: int) -> int:
    if not source[4] > 0.0:
        return OFF
    if region == GIVING:
        if volts > source[0] + DEAD_BAND_V:
            return OFF
        return LIMITING if volts < source[5] - DEAD_BAND_V else GIVING
    if region == OFF:
        return GIVING if volts < source[0] - DEAD_BAND_V else OFF
    return GIVING if volts > source[5] + DEAD_BAND_V else LIMITING


@kernel
def _laws(
    sources: Array,
    diodes: Array,
    loads: Array,
    power: Array,
    curve: Array,
    across: Array,
    regions: Array,
    keen: bool,
    law_s: Array,
    law_a: Array,
) -> None:
    d, a = len(sources), len(sources) + len(diodes)
    c = a + len(loads)
    for n in range(d):
        law_s[n], law_a[n] = source_conductance(sources[n], across[n], regions[n], keen)
    for n in range(d, a):
        saturation_a, scale_v = diodes[n - d, 0], diodes[n - d, 1]
        v = across[n]
        amps = diode_amps(v, saturation_a, scale_v)
        if v < -DEAD_BAND_V:
            law_s[n], law_a[n] = amps / v, 0.0
        else:
            tangent = (amps + saturation_a) / scale_v
            law_s[n], law_a[n] = tangent, tangent * v - amps
    for n in range(a, c):
        v = across[n]
        secant = load_secant(loads[n - a], power[n - a], v)
        law_s[n], law_a[n] = secant, 0.0
        if keen and v > loads[n - a, 1]:
            falls = (1.0 if power[n - a] else 0.0) + HAIR
            law_s[n], law_a[n] = -(secant * falls), -(secant * v) * (1.0 + falls)
    for n in range(c, len(across)):
        v = across[n]
        amps, slope = curve_at(curve, v)
        forward = v > -REVERSED_V
        secant = amps / v if forward else 0.0
        slope = slope - HAIR * secant
        if forward and (keen or slope > secant):
            law_s[n], law_a[n] = slope, slope * v - amps
        else:
            law_s[n], law_a[n] = secant, 0.0


@kernel
def _strayed(
    sources: Array, loads: Array, first_load: int, fresh: Array, across: Array, regions: Array
) -> bool:
    for n in range(len(loads)):
        floor_v = loads[n, 1]
        drawing = loads[n, 2] > 0.0 and across[first_load + n] > floor_v
        if drawing and fresh[first_load + n] < floor_v:
            return True
    for n in range(len(sources)):
        folding = sources[n, 3] != sources[n, 2] and regions[n] == LIMITING
        if folding and (fresh[n] < 0.0 or fresh[n] > sources[n, 5]):
            return True
    return False


@kernel
def _follow(
    sources: Array,
    diodes: Array,
    loads: Array,
    curve: Array,
    law_s: Array,
    across: Array,
    regions: Array,
    rest_v: float,
    fresh: Array,
    next_regions: Array,
) -> bool:
    """As ``Bank.follow``: ``fresh`` and ``next_regions`` are changed; what still moves."""
    d, a = len(sources), len(sources) + len(diodes)
    c = a + len(loads)
    moving = False
    for n in range(d):
        next_regions[n] = _region(sources[n], fresh[n], regions[n])
        if sources[n, 3] != sources[n, 2] and next_regions[n] == LIMITING:
            moving = moving or abs(fresh[n] - across[n]) > rest_v
    for n in range(d, a):
        scale_v, steep = diodes[n - d, 1], diodes[n - d, 2]
        fresh[n] = min(fresh[n], max(across[n], steep) + 2.0 * scale_v)
        moved = abs(fresh[n] - across[n])
        moving = moving or (moved > rest_v and moved * law_s[n] > REST_A)
    for n in range(a, c):
        if loads[n - a, 2] > 0.0:
            moving = moving or abs(fresh[n] - across[n]) > rest_v
    for n in range(c, len(across)):
        goal = fresh[n]
        fresh[n] = _curve_step(curve, goal, across[n])
        at_point = fresh[n] < goal and fresh[n] - across[n] <= rest_v
        moving = moving or (abs(goal - across[n]) > rest_v and not at_point)
    return moving


@inlined
def walk_one(
    nodes: Array,
    begins: Array,
    neighbours: Array,
    its_slots: Array,
    pair_begins: Array,
    pair_slots: Array,
    plus: Array,
    minus: Array,
    into: Array,
    power: Array,
    second_slots: Array,
    sources: Array,
    diodes: Array,
    loads: Array,
    curve: Array,
    kept_s: Array,
    kept_a: Array,
    across: Array,
    regions: Array,
    volts: Array,
    siemens: Array,
    amps: Array,
    ratios: Array,
    own: Array,
    shares: Array,
    present: Array,
    fresh: Array,
    law_s: Array,
    law_a: Array,
    next_regions: Array,
) -> tuple[bool, int]:
    """As ``Walk`` on one column, until it rests: whether it does, and how many steps it took.

    The second level as a ``Level``, the branches as ``Branches``; ``kept_s`` and ``kept_a``
    are what the first level left of slots and nodes that the second one reads;
    ``across`` and ``regions`` are changed in place, ``volts`` of the second level's nodes filled
    in; from ``siemens`` on there is room to work in.
    """
    first_load, count = len(sources) + len(diodes), len(across)
    high = 0.0
    for n in range(len(sources)):
        high = sources[n, 0] if n == 0 else max(high, sources[n, 0])
    lifted_once, keen, solved = False, True, False
    taken = 0
    while taken < MAX_STEPS and not solved:
        if taken % NEWTON_STEPS == 0:
            keen = taken // NEWTON_STEPS % 2 == 0
        taken += 1
        _laws(
            sources,
            diodes,
            loads,
            power,
            curve,
            across,
            regions,
            keen,
            law_s,
            law_a,
        )
        for slot in second_slots:
            siemens[slot] = kept_s[slot]
        for node in nodes:
            amps[node] = kept_a[node]
        for n in range(count):
            if into[n] >= 0:
                siemens[into[n]] = siemens[into[n]] + law_s[n]
            amps[plus[n]] = amps[plus[n]] + law_a[n]
            amps[minus[n]] = amps[minus[n]] - law_a[n]
        least = eliminate_one(
            nodes,
            begins,
            neighbours,
            its_slots,
            pair_begins,
            pair_slots,
            siemens,
            amps,
            ratios,
            own,
            shares,
            present,
        )
        substitute_one(nodes, begins, neighbours, ratios, own, volts)
        for n in range(count):
            fresh[n] = volts[plus[n]] - volts[minus[n]]
        lost = keen and (
            least < 0.0 or _strayed(sources, loads, first_load, fresh, across, regions)
        )
        rest_v = WEARY_V if taken > WEARY_STEPS else NEWTON_REST_V if keen else REST_V
        moving = _follow(
            sources, diodes, loads, curve, law_s, across, regions, rest_v, fresh, next_regions
        )
        lifted = False
        if lost:
            keen = False
            moving = True
        else:
            changing, sinking = False, False
            for n in range(len(sources)):
                if next_regions[n] != regions[n]:
                    changing = True
                    sinking = sinking or next_regions[n] == OFF
            if taken > PATIENT_STEPS:
                if changing and not moving:
                    lifted = True
                    for n in range(len(sources)):
                        if next_regions[n] != regions[n]:
                            regions[n] = next_regions[n]
                            break
            elif changing:
                came = False
                for n in range(len(sources)):
                    if not sinking or next_regions[n] == OFF:
                        came = came or (regions[n] == OFF and next_regions[n] == GIVING)
                        regions[n] = next_regions[n]
                lifted = came and not lifted_once
                lifted_once = lifted_once or came
            if not sinking or taken > PATIENT_STEPS:
                for n in range(count):
                    across[n] = fresh[n]
            moving = moving or changing
        if lifted:
            for n in range(first_load, count):
                across[n] = max(across[n], high)
            keen = True
        solved = not moving
    return solved, taken
