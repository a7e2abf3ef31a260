"""The direct-current solution of one topology over columns of what-ifs.

Linear nodes are eliminated once; on the few nodes left the non-linear branches are followed by
iteration, each step with positive conductances only. A column that does not come to rest within
``MAX_STEPS`` is returned as not solved, never dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from latchwork.circuit.devices import (
    GIVING,
    CurveRow,
    DiodeRow,
    LoadRow,
    Region,
    SourceRow,
    curve_current,
    curve_law,
    diode_current,
    diode_law,
    limited_step,
    load_law,
    source_current,
    source_law,
    source_region,
)
from latchwork.circuit.eliminate import ZERO, Row, Work, eliminate
from latchwork.circuit.topology import Order

MAX_STEPS = 200
REST_V = 1e-8
"""A column rests when no device's volts move by more than this in a step."""

Device = SourceRow | LoadRow | DiodeRow | CurveRow


@dataclass(frozen=True, slots=True)
class Injection:
    """A linear source as its conductance's current: ``amps`` into ``plus``, out of ``minus``."""

    plus: int
    minus: int
    amps: Row


@dataclass(frozen=True, slots=True)
class Start:
    """Where the iteration begins: volts across each device and, for sources, the region."""

    volts: tuple[Row, ...]
    regions: tuple[Region, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """Volts of every node against the reference, and the devices' own.

    ``volts`` by node (nodes x columns); a node held by nothing reads 0 (see ``floating``).
    ``solved`` False where the iteration did not come to rest.
    """

    volts: NDArray[np.float64]
    device_volts: tuple[Row, ...]
    regions: tuple[Region, ...]
    solved: NDArray[np.bool_]
    steps: int


def cold_start(devices: Sequence[Device], columns: int) -> Start:
    """Sources giving, loads at the highest volts of any source, diodes off."""
    high = max((float(np.max(d.volt)) for d in devices if isinstance(d, SourceRow)), default=0.0)
    volts, regions = [], []
    for device in devices:
        regions.append(np.full(columns, GIVING, dtype=np.int8))
        volts.append(np.full(columns, 0.0 if isinstance(device, DiodeRow) else high))
    return Start(tuple(volts), tuple(regions))


def device_current(device: Device, volts: Row, region: Region) -> Row:
    """Amperes into the plus terminal of a load, curve or diode; out of a source's plus."""
    match device:
        case SourceRow():
            return source_current(device, volts, region)
        case LoadRow():
            conductance, _ = load_law(device, volts)
            return conductance * volts
        case DiodeRow():
            return diode_current(device, volts)
        case CurveRow():
            amps: Row = np.where(volts > 0.0, curve_current(device, volts), 0.0)
            return amps


def _law(device: Device, volts: Row, region: Region) -> tuple[Row, Row]:
    match device:
        case SourceRow():
            return source_law(device, volts, region)
        case LoadRow():
            return load_law(device, volts)
        case DiodeRow():
            return diode_law(device, volts)
        case CurveRow():
            return curve_law(device, volts)


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
) -> Solution:
    """Solve one topology.

    ``conductances`` (siemens) follow the topology's linear branches (None: not there in any
    column), ``devices`` its non-linear ones, whose nodes are ``branches``.
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
    work.reductions += columns
    work.eliminations += columns * len(order.first)

    begin = start or cold_start(devices, columns)
    across = list(begin.volts)
    regions = list(begin.regions)
    moving = np.ones(columns, dtype=bool)
    volts: list[Row] = [ZERO] * nodes
    steps = 0
    while True:
        steps += 1
        now = list(slots)
        amps = list(injected)
        for n, device in enumerate(devices):
            slot = order.nonlinear_slot[n]
            if slot < 0:
                continue
            conductance, current = _law(device, across[n], regions[n])
            before = now[slot]
            now[slot] = conductance if before is None else before + conductance
            if isinstance(device, SourceRow | DiodeRow):
                plus, minus = branches[n]
                amps[plus] = amps[plus] + current
                amps[minus] = amps[minus] - current
        second = eliminate(order.second, now, amps)
        second.substitute(volts)
        work.newton_steps += columns
        work.eliminations += columns * len(order.second)
        moving = np.zeros(columns, dtype=bool)
        for n, device in enumerate(devices):
            plus, minus = branches[n]
            fresh = volts[plus] - volts[minus]
            if isinstance(device, DiodeRow):
                fresh = limited_step(device, fresh, across[n])
            elif isinstance(device, SourceRow):
                region = source_region(device, fresh, regions[n])
                moving = moving | (region != regions[n])
                regions[n] = region
            moving = moving | (np.abs(fresh - across[n]) > REST_V)
            across[n] = fresh
        if not moving.any() or steps >= MAX_STEPS:
            break
    first.substitute(volts)
    every = np.empty((nodes, columns))
    for n, row in enumerate(volts):
        every[n] = row
    return Solution(
        every,
        tuple(_whole(row, columns) for row in across),
        tuple(_whole(row, columns) for row in regions),
        ~moving,
        steps,
    )


def _whole(row: NDArray[Any], columns: int) -> NDArray[Any]:
    """``row`` for every column."""
    return row if len(row) == columns else np.broadcast_to(row, (columns,))


def floating(
    nodes: int, links: Sequence[tuple[int, int, NDArray[np.bool_]]], columns: int
) -> NDArray[np.bool_]:
    """Which nodes nothing ties to the reference, (nodes x columns), by graph search.

    ``links``: the two nodes of each branch and in which columns it conducts.
    """
    held = np.zeros((nodes, columns), dtype=bool)
    held[0] = True
    while True:
        before = int(held.sum())
        for a, b, on in links:
            either = (held[a] | held[b]) & on
            held[a] |= either
            held[b] |= either
        if int(held.sum()) == before:
            return ~held
