"""A second solver, of another kind: nodal equations, dense Newton, loads brought in by degrees.

It shares nothing with the solver it is held against but the physical laws, written here again.
Branch currents are functions of the volts across with their slopes, negative slopes included; the
loads grow from nothing to their full amount, each step starting from the one before, which
follows the upper branch that a real load walks down.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tests.circuit.sample import THERMAL_V, Drawn, Sample, Supply, Valve, held

Array = NDArray[np.float64]
TIE_S = 1e-14
"""Ties every node to node 0, so that floating ones do not make the matrix singular."""
LIMIT_S = 1e-6
"""Slope of a supply at its limit."""
OFF_S = 1e-9
"""Slope of a supply pushed above its own volts, so that an unloaded one finds its way back."""
HIGHEST_JUNCTION_V = 1.6
REST_A = 1e-12
ROUNDING = 1e-15
"""What is left over may be this part of the largest currents, as rounding leaves it."""


def supply_amps(s: Supply, volts: float) -> tuple[float, float]:
    """Amperes out of plus at ``volts``, and their slope."""
    if not s.on:
        return 0.0, 0.0
    if volts >= s.volt:
        return OFF_S * (s.volt - volts), -OFF_S
    knee = s.volt - s.ohm * s.limit_a
    if volts >= knee:
        return (s.volt - volts) / s.ohm, -1.0 / s.ohm
    slope = (s.limit_a - s.at_zero_a) / knee if 0.0 < volts < knee else 0.0
    at_limit = s.at_zero_a + (s.limit_a - s.at_zero_a) * min(max(volts / knee, 0.0), 1.0)
    return at_limit + LIMIT_S * (knee - volts), slope - LIMIT_S


def load_amps(d: Drawn, volts: float, share: float) -> tuple[float, float]:
    """Amperes into plus of ``share`` of the load at ``volts``, and their slope."""
    if not d.on or volts <= 0.0:
        return 0.0, 0.0
    amount = share * d.amount
    if volts < d.floor_v:
        siemens = amount / d.floor_v ** (2 if d.power else 1)
        return siemens * volts, siemens
    return (amount / volts, -amount / volts**2) if d.power else (amount, 0.0)


def diode_amps(d: Valve, volts: float) -> tuple[float, float]:
    """Amperes from anode to cathode and their slope; a straight line on past 1.6 V."""
    scale = d.ideality * THERMAL_V
    grown = math.exp(min(volts, HIGHEST_JUNCTION_V) / scale)
    amps = d.saturation_a * (grown - 1.0)
    slope = d.saturation_a / scale * grown
    return amps + slope * max(volts - HIGHEST_JUNCTION_V, 0.0), slope


def linear_part(sample: Sample) -> tuple[Array, Array]:
    matrix = TIE_S * np.eye(sample.nodes)
    injected = np.zeros(sample.nodes)
    for r in sample.resistances:
        stamp(matrix, r.a, r.b, 0.0 if math.isinf(r.ohm) else 1.0 / r.ohm)
    for p in sample.pulls:
        stamp(matrix, p.plus, p.minus, 1.0 / p.ohm)
        injected[p.plus] += p.volt / p.ohm
        injected[p.minus] -= p.volt / p.ohm
    return matrix, injected


def stamp(matrix: Array, a: int, b: int, siemens: float) -> None:
    matrix[a, a] += siemens
    matrix[b, b] += siemens
    matrix[a, b] -= siemens
    matrix[b, a] -= siemens


def left_over(sample: Sample, linear: tuple[Array, Array], volts: Array, share: float) -> Array:
    """Amperes that do not add up at each node."""
    matrix, injected = linear
    out = matrix @ volts - injected
    for s in sample.supplies:
        amps, _ = supply_amps(s, volts[s.plus] - volts[s.minus])
        out[s.plus] -= amps
        out[s.minus] += amps
    for d in sample.loads:
        amps, _ = load_amps(d, volts[d.plus] - volts[d.minus], share)
        out[d.plus] += amps
        out[d.minus] -= amps
    for v in sample.diodes:
        amps, _ = diode_amps(v, volts[v.anode] - volts[v.cathode])
        out[v.anode] += amps
        out[v.cathode] -= amps
    out[0] = 0.0
    return out


def slopes(sample: Sample, linear: tuple[Array, Array], volts: Array, share: float) -> Array:
    matrix = linear[0].copy()
    for s in sample.supplies:
        stamp(matrix, s.plus, s.minus, -supply_amps(s, volts[s.plus] - volts[s.minus])[1])
    for d in sample.loads:
        stamp(matrix, d.plus, d.minus, load_amps(d, volts[d.plus] - volts[d.minus], share)[1])
    for v in sample.diodes:
        stamp(matrix, v.anode, v.cathode, diode_amps(v, volts[v.anode] - volts[v.cathode])[1])
    matrix[0] = 0.0
    matrix[:, 0] = 0.0
    matrix[0, 0] = 1.0
    return matrix


def newton(
    sample: Sample, linear: tuple[Array, Array], begin: Array, share: float = 1.0
) -> Array | None:
    """The volts that leave no current over, from ``begin``; None where it does not get there."""
    volts = begin
    for _ in range(60):
        over = left_over(sample, linear, volts, share)
        noise = ROUNDING * float(np.abs(linear[0]).max() * np.abs(volts).max())
        if np.abs(over).max() < REST_A + noise:
            return volts
        try:
            way = np.linalg.solve(slopes(sample, linear, volts, share), -over)
        except np.linalg.LinAlgError:
            return None
        size, worst = 1.0, float(np.abs(over).sum())
        while size > 1e-6:
            tried = volts + size * way
            if float(np.abs(left_over(sample, linear, tried, share)).sum()) < worst:
                break
            size *= 0.5
        volts = tried
    return None


def dense(sample: Sample) -> Array | None:
    """Volts of every node; None where Newton's way fails or there is more than one answer.

    Once with the loads growing from nothing, once straight from full loads at zero volts.
    """
    linear = linear_part(sample)
    unlimited = replace(
        sample, supplies=tuple(replace(s, limit_a=1e12, fold_a=None) for s in sample.supplies)
    )
    begin = newton(unlimited, linear, np.zeros(sample.nodes), 0.0)
    if begin is None:
        return None
    volts = begin
    for share in np.linspace(0.0, 1.0, 6):
        fresh = newton(sample, linear, volts, float(share))
        if fresh is None:
            return None
        volts = fresh
    most = sum(s.volt for s in sample.supplies) + sum(p.volt for p in sample.pulls)
    if np.abs(volts).max() > most + 1.0:
        return None  # a load that takes next to nothing at megavolts, on a node that nothing holds
    other = newton(sample, linear, np.zeros(sample.nodes))
    if other is not None and np.abs(volts - other)[held(sample, list(volts))].max() > 1e-3:
        return None
    return volts
