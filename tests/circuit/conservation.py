"""Currents at every node and power in against power out: held after every solve in tests.

Kirchhoff's current law, and Tellegen's theorem for the power; both from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit import Solution, device_current
from tests.circuit.sample import Sample

Array = NDArray[np.float64]

REST_A = 1e-7
"""What a branch may still be off by where the iteration has come to rest."""


@dataclass(frozen=True)
class Flow:
    """``amps`` through one branch from node ``a`` to node ``b``, by column; ``watts`` it takes in
    (negative where it gives)."""

    name: str
    a: int
    b: int
    amps: Array
    watts: Array


def resistor_flow(name: str, a: int, b: int, volts: Array, siemens: Array) -> Flow:
    """The flow through a resistance; its heat by I squared R, not by the volts across."""
    amps = siemens * (volts[a] - volts[b])
    ohm = np.where(siemens > 0.0, 1.0 / np.where(siemens > 0.0, siemens, 1.0), 0.0)
    return Flow(name, a, b, amps, amps * amps * ohm)


def rail_flow(name: str, plus: int, minus: int, volts: Array, volt: Array, siemens: Array) -> Flow:
    """The flow through a stiff voltage behind a resistance: what it gives less its own heat."""
    amps = -siemens * (volt - volts[plus] + volts[minus])
    ohm = np.where(siemens > 0.0, 1.0 / np.where(siemens > 0.0, siemens, 1.0), 0.0)
    return Flow(name, plus, minus, amps, volt * amps + amps * amps * ohm)


def branch_flow(name: str, a: int, b: int, volts: Array, amps: Array) -> Flow:
    """The flow through any other branch, ``amps`` from ``a`` to ``b``."""
    return Flow(name, a, b, amps, amps * (volts[a] - volts[b]))


def assert_conserved(
    volts: Array, flows: Sequence[Flow], where: NDArray[np.bool_], rest_a: float = REST_A
) -> None:
    """Currents add up at each node, to ``rest_a``, and power over all, in the columns ``where``."""
    nodes, columns = volts.shape
    over = np.zeros((nodes, columns))
    whole = np.zeros((nodes, columns))
    taken = np.zeros(columns)
    turned = np.zeros(columns)
    for flow in flows:
        over[flow.a] += flow.amps
        over[flow.b] -= flow.amps
        whole[flow.a] += np.abs(flow.amps)
        whole[flow.b] += np.abs(flow.amps)
        taken += flow.watts
        turned += np.abs(flow.watts)
    off = np.abs(over) > 1e-11 * whole + rest_a
    assert not (off & where).any(), f"currents at nodes {np.flatnonzero((off & where).any(axis=1))}"
    high = np.abs(volts).max(axis=0)
    lost = np.abs(taken) > 1e-10 * turned + rest_a * high * len(flows)
    assert not (lost & where).any(), f"power lost in columns {np.flatnonzero(lost & where)}"


def sample_flows(sample: Sample, solution: Solution) -> list[Flow]:
    """The flows of a sample's one column."""
    volts = solution.volts
    flows = [
        resistor_flow("resistance", r.a, r.b, volts, np.array([1.0 / r.ohm]))
        for r in sample.resistances
    ]
    flows += [
        rail_flow("pull", p.plus, p.minus, volts, np.array([p.volt]), np.array([1.0 / p.ohm]))
        for p in sample.pulls
    ]
    devices = sample.devices()
    for n, (plus, minus) in enumerate(sample.topology.nonlinear):
        across = volts[plus] - volts[minus]
        amps = device_current(devices[n], across, solution.regions[n])
        if n < len(sample.supplies):
            amps = -amps
        flows.append(branch_flow("device", plus, minus, volts, amps))
    return flows


def assert_sample_conserved(sample: Sample, solution: Solution) -> None:
    """A sample's solution conserves currents and power; it must have come to rest."""
    assert solution.solved.all()
    assert_conserved(solution.volts, sample_flows(sample, solution), solution.solved)
