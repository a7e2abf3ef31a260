"""The circuit of a network with its contacts in given positions."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from latchwork.behaviour.shape import (
    CURRENT_LOAD,
    CURVE,
    POWER_LOAD,
    SOURCE,
    Array,
    Compiled,
    Values,
)
from latchwork.behaviour.state import Batch
from latchwork.circuit import (
    APART,
    ZERO,
    CurveRow,
    Device,
    DiodeRow,
    Injection,
    LoadRow,
    Row,
    Solution,
    SourceRow,
    Start,
    Work,
    solve,
    some,
)

Bools = NDArray[np.bool_]
POLYMER_OHM = 100.0
"""A tripped polymer fuse: about a watt at 12 V keeps it hot (common practice, no source)."""


def conductance_rows(compiled: Compiled, values: Values, flags: Bools) -> list[Row | None]:
    """Siemens of each linear branch, then each rail; None where it conducts in no column."""
    siemens = 1.0 / values.ohm
    there: list[bool] = np.any(siemens, axis=1).tolist()
    closed = [row if some else None for row, some in zip(siemens, there, strict=True)]
    return _switched(compiled, closed, 1.0 / values.rail_ohm, flags)


def _switched(
    compiled: Compiled, closed: list[Row | None], rails: Array, flags: Bools
) -> list[Row | None]:
    """Siemens of each branch and rail as ``flags`` switch them, given what they are closed."""
    rows: list[Row | None] = [
        row if on else None for row, on in zip(closed, compiled.always, strict=True)
    ]
    polymers = {branch for branch, _, resets in compiled.shape.fuses if resets}
    for n, gate in compiled.gates:
        rows[n] = _gated(closed[n], gate(flags), 1.0 / POLYMER_OHM if n in polymers else 0.0)
    for siemens, on in zip(rails, compiled.rail_on, strict=True):
        rows.append(_gated(siemens, on(flags), 0.0))
    return rows


def _gated(siemens: Row | None, closed: Bools, open_s: float) -> Row | None:
    """Siemens where it is closed and where it is not; None: nothing in any column."""
    shut = np.count_nonzero(closed)
    if shut == len(closed):
        return siemens
    if not shut and not open_s:
        return None
    return np.where(closed, ZERO if siemens is None else siemens, open_s)


def device_rows(compiled: Compiled, values: Values, flags: Bools) -> list[Device]:
    """The non-linear branches with their numbers for these flags."""
    rows: list[Device] = []
    source = load = diode = 0
    for n, (kind, _, _, _, _) in enumerate(compiled.shape.devices):
        on = compiled.device_on[n](flags).astype(float)
        if kind == SOURCE:
            low = compiled.device_low[n](flags)
            volt = np.where(low, values.source_low_volt[source], values.source_volt[source])
            rows.append(
                SourceRow(
                    volt,
                    values.source_ohm[source],
                    values.source_limit_a[source],
                    values.source_fold_a[source],
                    on,
                )
            )
            source += 1
        elif kind in (POWER_LOAD, CURRENT_LOAD):
            rows.append(
                LoadRow(kind == POWER_LOAD, values.load_amount[load], values.load_floor_v[load], on)
            )
            load += 1
        elif kind == CURVE:
            rows.append(CurveRow(values.curve_v, values.curve_a))
        else:
            rows.append(DiodeRow(values.diode_a[diode], values.diode_scale_v[diode]))
            diode += 1
    return rows


def solve_at(batch: Batch, flags: Bools, start: Start | None, work: Work | None = None) -> Solution:
    """The volts with every contact as ``flags`` says."""
    compiled, values, shape = batch.compiled, batch.values, batch.compiled.shape
    rows = _switched(compiled, batch.siemens(), 1.0 / values.rail_ohm, flags)
    injections = []
    for n, (plus, minus, _) in enumerate(shape.rails):
        row = rows[len(shape.linear) + n]
        if row is not None:
            injections.append(Injection(plus, minus, row * values.rail_volt[n]))
    return solve(
        compiled.order,
        shape.nodes,
        compiled.device_branches,
        rows,
        injections,
        device_rows(compiled, values, flags),
        batch.columns,
        start,
        work,
        tuple((s.a, s.b) for s in (*shape.senses, *shape.bolts)),
    )


def gate_bits(compiled: Compiled, flags: Bools, columns: int) -> Bools:
    """What the circuit hangs on: one row for each branch or device that flags switch."""
    bits = np.empty((compiled.gate_count, columns), dtype=bool)
    for n, gate in enumerate(compiled.every_gate):
        bits[n] = gate(flags)
    return bits


def watched_volts(compiled: Compiled, volts: Array, bonds: NDArray[np.int8]) -> Array:
    """Volts across each sense and then each bolt, signed, from the volts of the nodes; nothing
    between ends that nothing joins."""
    a, b = compiled.watched
    across = volts[a] - volts[b]
    if some(bonds):
        across[(bonds & APART) > 0] = 0.0
    return across
