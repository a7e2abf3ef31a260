"""The laws of sources, diodes, loads and curves in one column, compiled: what ``bank`` and
``devices`` do, to the bit.

Needs numba. Nothing here explains a rule: see those, which it follows.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import uint64

from latchwork.circuit.bank import LAW_A, REST_A
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
from latchwork.circuit.jit import kernel, placed

Array = np.ndarray[Any, Any]
ONE = np.uint64(1)
POWERS = 2.0 ** np.arange(-1021, 1024, dtype=float)
"""2 to the power of -1021 and more."""


class Devices(NamedTuple):
    """The numbers of the branches, one row each: of a source volt, ohm, limit, fold, on, knee; of a
    diode saturation, scale, steep; of a load amount, floor, on; and the points of the curve: volts,
    amperes."""

    sources: Array
    diodes: Array
    loads: Array
    curve: Array


@kernel
def _exponential(x: float) -> float:
    k = np.rint(x * PER_LN_2)
    r = (x - k * LN_2_HIGH) - k * LN_2_LOW
    t = r * r
    even = 1.0 + t * (1.0 / 9.0 + t * (1.0 / 1008.0))
    odd = r * (0.5 + t * (1.0 / 72.0 + t * (1.0 / 30240.0)))
    return float((even + odd) / (even - odd) * POWERS[uint64(int(k) + 1021)])


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
def _piece(curve: Array, volts: float) -> Any:
    low, high = uint64(0), uint64(curve.shape[1])
    while low < high:
        middle = (low + high) >> ONE
        if curve[0, middle] < volts:
            low = middle + ONE
        else:
            high = middle
    last = uint64(curve.shape[1] - 2)
    return min(low - ONE if low > ONE else low - low, last)


@kernel
def curve_at(curve: Array, volts: float) -> tuple[float, float]:
    """As ``devices._on_curve``; ``curve``: points' volts, and amperes."""
    at, last = _piece(curve, volts), uint64(curve.shape[1] - 1)
    begin_v, begin_a = curve[0, at], curve[1, at]
    slope = (curve[1, at + ONE] - begin_a) / (curve[0, at + ONE] - begin_v)
    inside = min(max(volts, curve[0, 0]), curve[0, last])
    return begin_a + (inside - begin_v) * slope, slope if volts == inside else 0.0


@kernel
def _curve_step(curve: Array, new: float, old: float) -> float:
    if abs(new) < DEAD_V:
        return new
    at, top = _piece(curve, old), curve[0, uint64(curve.shape[1] - 1)]
    low = (top if old > top else curve[0, at] if at > 0 else -np.inf) + REVERSED_V
    above = curve[0, at + ONE]
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


@placed
def laws(
    devices: Devices,
    power: Array,
    across: Array,
    regions: Array,
    keen: bool,
    law_s: Array,
    law_a: Array,
) -> None:
    """As ``Bank.laws``: the conductance and current of each branch at these volts."""
    sources, diodes, loads, curve = devices
    d, a = uint64(len(sources)), uint64(len(sources) + len(diodes))
    c = a + uint64(len(loads))
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
    for n in range(c, uint64(len(across))):
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
def strayed(
    sources: Array, loads: Array, first_load: int, fresh: Array, across: Array, regions: Array
) -> bool:
    """As ``Bank.strayed``: whether a keen step left the piece that its slope was for."""
    for n in range(uint64(len(loads))):
        floor_v, at = loads[n, 1], uint64(first_load) + n
        drawing = loads[n, 2] > 0.0 and across[at] > floor_v
        if drawing and fresh[at] < floor_v:
            return True
    for n in range(len(sources)):
        folding = sources[n, 3] != sources[n, 2] and regions[n] == LIMITING
        if folding and (fresh[n] < 0.0 or fresh[n] > sources[n, 5]):
            return True
    return False


@kernel
def _off(drawn: float, siemens: float, amps: float, volts: float) -> bool:
    """As ``bank._off``."""
    return bool(abs(drawn - (siemens * volts - amps)) > LAW_A)


@placed
def follow(
    devices: Devices,
    power: Array,
    law_s: Array,
    law_a: Array,
    across: Array,
    regions: Array,
    rest_v: float,
    fresh: Array,
    next_regions: Array,
) -> bool:
    """As ``Bank.follow``: ``fresh`` and ``next_regions`` are changed; what still moves."""
    sources, diodes, loads, curve = devices
    d, a = uint64(len(sources)), uint64(len(sources) + len(diodes))
    c = a + uint64(len(loads))
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
        if loads[n - a, 2] > 0.0 and abs(fresh[n] - across[n]) > rest_v:
            v = fresh[n]
            drawn = load_secant(loads[n - a], power[n - a], v) * v
            turned = (v > REVERSED_V) != (across[n] > REVERSED_V)
            moving = moving or turned or _off(drawn, law_s[n], law_a[n], v)
    for n in range(c, uint64(len(across))):
        goal = fresh[n]
        fresh[n] = _curve_step(curve, goal, across[n])
        at_point = fresh[n] < goal and fresh[n] - across[n] <= rest_v
        if abs(goal - across[n]) > rest_v and not at_point:
            amps, _ = curve_at(curve, goal)
            drawn = amps if goal > 0.0 else 0.0
            turned = (goal > -REVERSED_V) != (across[n] > -REVERSED_V)
            off = _off(drawn, law_s[n], law_a[n], goal)
            moving = moving or fresh[n] != goal or turned or off
    return moving
